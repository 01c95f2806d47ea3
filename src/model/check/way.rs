//! The rules that bind legs: within a leg, from one to the next, and between places of one name.
//!
//! They speak of few fields ([`Link`]), taken out of a document, where a value may be unsound by itself, or out of a
//! trip, where none is. So a trip that was read or changed is looked at as it is, and not written out for it.

use std::collections::HashMap;

use super::Found;
use super::across::{Part, ROUNDING};
use crate::model::Trip;
use crate::model::field::Kind;
use crate::model::field::route::GRADE;
use crate::model::route::{self, FuelStop, Leg, Start};
use crate::quantity::{Degrees, Grade, Kilometres, Litres, Metres, MoneyPerLitre, Share};

/// Two positions of one place may differ by this many degrees, about a kilometre.
const SAME_PLACE_DEGREES: f64 = 0.01;

/// Where a way comes from.
pub(super) trait Way<'a> {
    /// The start, if there is one.
    fn start(&self) -> Option<Link<'a>>;
    /// The legs in driving order.
    fn legs(&self) -> impl Iterator<Item = Link<'a>>;
}

impl<'a> Way<'a> for &'a Trip {
    fn start(&self) -> Option<Link<'a>> {
        Some(Link::of_start(&self.start))
    }

    fn legs(&self) -> impl Iterator<Item = Link<'a>> {
        let legs = self.legs.iter().enumerate();
        legs.map(|(number, leg)| Link::of_leg(number, leg))
    }
}

impl<'a> Way<'a> for Part<'a> {
    fn start(&self) -> Option<Link<'a>> {
        self.part("start")
            .map(|start| Link::of_part(&start, "name"))
    }

    fn legs(&self) -> impl Iterator<Item = Link<'a>> {
        self.items("legs").map(|leg| Link::of_part(&leg, "to"))
    }
}

/// A value as far as it can be used.
#[derive(Clone, Copy)]
enum Stated<T> {
    Absent,
    /// It breaks the range of its own field, which is told elsewhere.
    Unsound,
    Sound(T),
}

impl<T> Stated<T> {
    const fn is_there(&self) -> bool {
        !matches!(self, Self::Absent)
    }

    fn sound(self) -> Option<T> {
        match self {
            Self::Sound(value) => Some(value),
            _ => None,
        }
    }

    /// The value, or what its absence means; nothing where it is unsound.
    fn or(self, absent: T) -> Option<T> {
        match self {
            Self::Absent => Some(absent),
            stated => stated.sound(),
        }
    }
}

impl<T> From<Option<T>> for Stated<T> {
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Absent, Self::Sound)
    }
}

/// What the rules ask of a leg and the place at its end, or of the start.
pub(super) struct Link<'a> {
    /// Number of the leg; nothing for the start.
    leg: Option<usize>,
    name: Option<&'a str>,
    lat: Stated<f64>,
    lon: Stated<f64>,
    fuel: Option<Pump>,
    day: Stated<f64>,
    distance_km: Stated<f64>,
    has_track: bool,
    sand_share: Stated<f64>,
    low_range_share: Stated<f64>,
    both_share: Stated<f64>,
    ascent_m: Stated<f64>,
    descent_m: Stated<f64>,
    ascent_grade: Stated<f64>,
    descent_grade: Stated<f64>,
}

/// What must be the same of every stop at one pump, by its key.
type Pump = [(&'static str, Option<f64>); 3];

fn pump(litres: Option<f64>, chance: Option<f64>, price: Option<f64>) -> Pump {
    [
        ("litres", litres),
        ("chance", chance.or(Some(route::CHANCE.get()))),
        ("price_per_l", price),
    ]
}

fn pump_of(stop: &FuelStop) -> Pump {
    pump(
        stop.litres.map(Litres::get),
        stop.chance.map(Share::get),
        stop.price_per_l.map(MoneyPerLitre::get),
    )
}

impl<'a> Link<'a> {
    fn of_start(start: &'a Start) -> Self {
        use Stated::Absent;
        Self {
            leg: None,
            name: Some(&start.name),
            lat: start.lat.map(Degrees::get).into(),
            lon: start.lon.map(Degrees::get).into(),
            fuel: start.fuel.as_ref().map(pump_of),
            day: Absent,
            distance_km: Absent,
            has_track: false,
            sand_share: Absent,
            low_range_share: Absent,
            both_share: Absent,
            ascent_m: Absent,
            descent_m: Absent,
            ascent_grade: Absent,
            descent_grade: Absent,
        }
    }

    pub(super) fn of_leg(number: usize, leg: &'a Leg) -> Self {
        Self {
            leg: Some(number),
            name: Some(&leg.to),
            lat: leg.lat.map(Degrees::get).into(),
            lon: leg.lon.map(Degrees::get).into(),
            fuel: leg.fuel.as_ref().map(pump_of),
            day: leg.day.map(f64::from).into(),
            distance_km: leg.distance_km.map(Kilometres::get).into(),
            has_track: leg.track.is_some(),
            sand_share: leg.sand_share.map(Share::get).into(),
            low_range_share: leg.low_range_share.map(Share::get).into(),
            both_share: leg.both_share.map(Share::get).into(),
            ascent_m: leg.ascent_m.map(Metres::get).into(),
            descent_m: leg.descent_m.map(Metres::get).into(),
            ascent_grade: leg.ascent_grade.map(Grade::get).into(),
            descent_grade: leg.descent_grade.map(Grade::get).into(),
        }
    }

    fn of_part(part: &Part<'a>, name: &str) -> Self {
        let stated = |key| match part.number(key) {
            Some(number) => Stated::Sound(number),
            None if part.has(key) => Stated::Unsound,
            None => Stated::Absent,
        };
        let supply = |key| part.inside("fuel", key);
        Self {
            leg: part.index,
            name: part.text(name),
            lat: stated("lat"),
            lon: stated("lon"),
            fuel: part
                .has("fuel")
                .then(|| pump(supply("litres"), supply("chance"), supply("price_per_l"))),
            day: stated("day"),
            distance_km: stated("distance_km"),
            has_track: part.has("track"),
            sand_share: stated("sand_share"),
            low_range_share: stated("low_range_share"),
            both_share: stated("both_share"),
            ascent_m: stated("ascent_m"),
            descent_m: stated("descent_m"),
            ascent_grade: stated("ascent_grade"),
            descent_grade: stated("descent_grade"),
        }
    }

    fn pointer(&self, key: &str) -> String {
        pointer(self.leg, key)
    }

    fn tell(&self, key: &str, says: String, found: &mut Found) {
        found.add(self.pointer(key), says);
    }

    /// Where it lies, if that is stated at all.
    fn is_located(&self) -> bool {
        self.lat.is_there() && self.lon.is_there()
    }
}

fn pointer(leg: Option<usize>, key: &str) -> String {
    match leg {
        Some(leg) => format!("/legs/{leg}/{key}"),
        None => format!("/start/{key}"),
    }
}

/// Tells what is wrong with legs, from one to the next and between places of one name.
pub(super) fn between<'a>(way: &impl Way<'a>, found: &mut Found) {
    let mut day = f64::from(route::FIRST_DAY);
    let mut located = way.start().is_some_and(|start| {
        position(&start, found);
        start.is_located()
    });
    for leg in way.legs() {
        if let Some(stated) = leg.day.sound() {
            if stated < day {
                let says = format!("must be {day} or more, as on the leg before, got {stated}");
                leg.tell("day", says, found);
            }
            day = stated.max(day);
        }
        position(&leg, found);
        let was_located = located;
        located = leg.is_located();
        let measurable = leg.distance_km.is_there() || leg.has_track || (was_located && located);
        if !measurable {
            let says =
                "is missing; needed unless the leg has a track or both its places have lat and lon";
            leg.tell("distance_km", says.to_owned(), found);
        }
        shares(&leg, found);
        climbs(&leg, found);
    }
    same_places(way, found);
}

/// Tells what is wrong within one leg.
pub(super) fn within(leg: &Link<'_>, found: &mut Found) {
    position(leg, found);
    shares(leg, found);
    climbs(leg, found);
}

/// Tells of a latitude without a longitude and the reverse.
fn position(place: &Link<'_>, found: &mut Found) {
    let (lat, lon) = (("lat", &place.lat), ("lon", &place.lon));
    for ((there, stated), (missing, other)) in [(lat, lon), (lon, lat)] {
        if stated.is_there() && !other.is_there() {
            let says = format!("is missing; needed beside `{there}`");
            place.tell(missing, says, found);
        }
    }
}

/// Sand and low range overlap at least by what their sum is over 1, at most by the smaller of them.
fn shares(leg: &Link<'_>, found: &mut Found) {
    let (Some(sand), Some(low), Some(both)) = (
        leg.sand_share.or(0.0),
        leg.low_range_share.or(0.0),
        leg.both_share.sound(),
    ) else {
        return;
    };
    let (least, most) = ((sand + low - 1.0).max(0.0), sand.min(low));
    if !(least - ROUNDING..=most + ROUNDING).contains(&both) {
        let range = if least < most {
            format!("{} to {most}", short(least))
        } else {
            most.to_string()
        };
        let says = format!(
            "must be {range} with a sand share of {sand} and a low-range share of {low}, got {both}"
        );
        leg.tell("both_share", says, found);
    }
}

/// A sum of decimals without the noise of its last bits.
fn short(sum: f64) -> f64 {
    (sum * 1e6).round() / 1e6
}

/// Climbs and descents at their grades must fit into the length of the leg.
fn climbs(leg: &Link<'_>, found: &mut Found) {
    // What is not stated is as steep as can be.
    let Kind::Number { max: steepest, .. } = GRADE else {
        return;
    };
    let (Some(km), Some(up), Some(down), Some(up_grade), Some(down_grade)) = (
        leg.distance_km.sound(),
        leg.ascent_m.or(0.0),
        leg.descent_m.or(0.0),
        leg.ascent_grade.or(steepest),
        leg.descent_grade.or(steepest),
    ) else {
        return;
    };
    let needed_km = (up / up_grade + down / down_grade) / 1000.0;
    if needed_km > km * (1.0 + ROUNDING) {
        let key = if leg.ascent_m.is_there() {
            "ascent_m"
        } else {
            "descent_m"
        };
        let says = format!(
            "must fit into the leg's {km} km, got {up} m up at a grade of {up_grade} and {down} m down at {down_grade}, which take {needed_km:.1} km"
        );
        leg.tell(key, says, found);
    }
}

/// Two places of one name are one place: one position, one pump.
fn same_places<'a>(way: &impl Way<'a>, found: &mut Found) {
    /// Where a thing was first stated, and what.
    type First<T> = (Option<usize>, T);
    let mut positions: HashMap<&str, First<[(&str, f64); 2]>> = HashMap::new();
    let mut pumps: HashMap<&str, First<Pump>> = HashMap::new();
    for place in way.start().into_iter().chain(way.legs()) {
        let Some(name) = place.name else {
            continue;
        };
        if let (Some(lat), Some(lon)) = (place.lat.sound(), place.lon.sound()) {
            let here = [("lat", lat), ("lon", lon)];
            let (first, there) = positions.entry(name).or_insert((place.leg, here));
            for ((key, there), (_, here)) in there.iter().zip(here) {
                if (there - here).abs() > SAME_PLACE_DEGREES {
                    let says = format!(
                        "must be as at {}, since both are `{name}`: {there} there, got {here}",
                        pointer(*first, key)
                    );
                    place.tell(key, says, found);
                }
            }
        }
        if let Some(here) = place.fuel {
            let (first, there) = pumps.entry(name).or_insert((place.leg, here));
            for ((key, there), (_, here)) in there.iter().zip(here) {
                // A price that is not stated is unknown; litres that are not stated are without end.
                let unknown = *key == "price_per_l" && (there.is_none() || here.is_none());
                if *there != here && !unknown {
                    let told = |value: Option<f64>| {
                        value.map_or("as much as one likes".to_owned(), |v| v.to_string())
                    };
                    let says = format!(
                        "must be as at {}, since both are `{name}`: `{key}` is {} there, got {}",
                        pointer(*first, "fuel"),
                        told(*there),
                        told(here)
                    );
                    place.tell("fuel", says, found);
                }
            }
        }
    }
}
