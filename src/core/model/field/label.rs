//! Plain names of fields, where the words of the key do not make one.

/// End of a field's path, and the field's name; its unit is printed beside its value.
const NAMES: [(&str, &str); 56] = [
    ("/legs/*/to", "place"),
    ("/lat", "latitude"),
    ("/lon", "longitude"),
    ("/low_range_share", "low range"),
    ("/sand_share", "sand"),
    ("/dune_share", "dunes"),
    ("/both_share", "sand and low range"),
    ("/ascent_m", "climb"),
    ("/descent_m", "descent"),
    ("/ascent_grade", "climb grade"),
    ("/descent_grade", "descent grade"),
    ("/mean_altitude_m", "average altitude"),
    ("/idle_h", "idling"),
    ("/camp_l_per_day", "camp fuel per day"),
    ("/aircon", "air-con"),
    ("/fuel/litres", "stock"),
    ("/fuel/price_per_l", "price per litre"),
    ("/fuel/chance", "chance"),
    ("/fuel/rely", "relied on"),
    ("/fuel/detour_km", "detour"),
    ("/engine_l", "engine displacement"),
    ("/baseline_l_per_100km", "baseline consumption"),
    ("/baseline_from", "baseline source"),
    ("/tank_l", "tank capacity"),
    ("/unusable_l", "unusable fuel"),
    ("/revs_per_km", "revolutions per km"),
    ("/kerb_from", "kerb mass source"),
    ("/kerb_includes/tank_share", "fuel"),
    ("/gvm_kg", "gross vehicle mass"),
    ("/roof_rating_kg", "roof limit, sealed"),
    ("/roof_rating_offroad_kg", "roof limit, off-road"),
    ("/front_kerb_kg", "front at kerb mass"),
    ("/place_x_m", "position"),
    ("/tyres/road_bar", "road pressure"),
    ("/tyres/soft_bar", "aired-down pressure"),
    ("/load_rating_kg", "load rating"),
    ("/load_rating_bar", "at a pressure of"),
    ("/odometer_factor", "odometer correction"),
    ("/use_per_day_kg", "used per day"),
    ("/safety", "safety gear"),
    ("/roof/rating_kg", "rack load rating"),
    ("/roof/mass_kg", "rack mass"),
    ("/size_l", "nominal size"),
    ("/empty_kg", "empty mass"),
    ("/may_buy", "can buy"),
    ("/fill_share", "fill limit"),
    ("/contingency_percent", "contingency"),
    ("/start_l", "tank at the start"),
    ("/start_cans_l", "cans at the start"),
    ("/speeds_kmh", "speed"),
    ("/water_l_per_person_day", "water per person, day"),
    ("/log/*/tank_left_l", "in the tank"),
    ("/log/*/cans_left_l", "in cans"),
    ("/log/*/how", "measured by"),
    ("/log/*/dry", "no fuel here"),
    ("/log/*/to_next_km", "distance to next place"),
];

/// The name of the field at a path of the table; `None` where its key is one.
pub(super) fn name(path: &str) -> Option<&'static str> {
    NAMES
        .iter()
        .find(|(end, _)| path.ends_with(end))
        .map(|(_, name)| *name)
}
