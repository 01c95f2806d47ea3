//! The one table of columns.

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Holds {
    Text,
    Number,
    Whole,
    YesNo,
    Surface,
    /// A number of litres, or `any`.
    Litres,
}

/// A column, and where its value stands in a leg of the trip file (RFC 6901).
pub(super) struct Column {
    pub(super) name: &'static str,
    pub(super) pointer: &'static str,
    pub(super) holds: Holds,
}

const fn column(name: &'static str, pointer: &'static str, holds: Holds) -> Column {
    Column {
        name,
        pointer,
        holds,
    }
}

/// Columns of a leg.
pub(super) const LEG: [Column; 28] = [
    column("to", "/to", Holds::Text),
    column("lat", "/lat", Holds::Number),
    column("lon", "/lon", Holds::Number),
    column("day", "/day", Holds::Whole),
    column("distance_km", "/distance_km", Holds::Number),
    column("surface", "/surface", Holds::Surface),
    column("sand_share", "/sand_share", Holds::Number),
    column("low_range_share", "/low_range_share", Holds::Number),
    column("both_share", "/both_share", Holds::Number),
    column("aired_down", "/aired_down", Holds::YesNo),
    column("speed_kmh", "/speed_kmh", Holds::Number),
    column("ascent_m", "/ascent_m", Holds::Number),
    column("descent_m", "/descent_m", Holds::Number),
    column("ascent_grade", "/ascent_grade", Holds::Number),
    column("descent_grade", "/descent_grade", Holds::Number),
    column("mean_altitude_m", "/mean_altitude_m", Holds::Number),
    column("temperature_c", "/temperature_c", Holds::Number),
    column("headwind_kmh", "/headwind_kmh", Holds::Number),
    column("idle_h", "/idle_h", Holds::Number),
    column("aircon", "/aircon", Holds::YesNo),
    column("return_possible", "/return/possible", Holds::YesNo),
    column("return_factor", "/return/factor", Holds::Number),
    column("fuel_litres", "/fuel/litres", Holds::Litres),
    column("fuel_price_per_l", "/fuel/price_per_l", Holds::Number),
    column("fuel_chance", "/fuel/chance", Holds::Number),
    column("fuel_detour_km", "/fuel/detour_km", Holds::Number),
    column("fuel_note", "/fuel/note", Holds::Text),
    column("note", "/note", Holds::Text),
];

/// Columns of the place where a leg begins.
pub(super) const FROM: [Column; 4] = [
    column("from", "/name", Holds::Text),
    column("from_lat", "/lat", Holds::Number),
    column("from_lon", "/lon", Holds::Number),
    column("from_altitude_m", "/altitude_m", Holds::Number),
];

pub(super) fn find(name: &str) -> Option<&'static Column> {
    let name = name.trim().to_ascii_lowercase();
    LEG.iter().chain(&FROM).find(|column| column.name == name)
}

pub(super) fn known() -> String {
    let names: Vec<&str> = FROM.iter().chain(&LEG).map(|column| column.name).collect();
    format!("the columns are {}", names.join(", "))
}

pub(super) fn nearest(name: &str) -> String {
    LEG.iter()
        .chain(&FROM)
        .map(|column| {
            (
                strsim::jaro_winkler(column.name, &name.to_ascii_lowercase()),
                column.name,
            )
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(likeness, _)| *likeness > 0.8)
        .map_or_else(String::new, |(_, name)| format!("; `{name}` is near"))
}
