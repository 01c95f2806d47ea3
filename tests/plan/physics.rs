//! The formula held against published figures and against what must hold for any vehicle.
//!
//! Each check names its source. Where a source measured other vehicles than ours, the check is a bracket, and
//! says how wide and why.

use drystage::consumption::engine::idle_rate;
use drystage::consumption::leg::{Burden, Formula, LegFormula};
use drystage::consumption::surface::roof_drag;
use drystage::consumption::terrain::Terrain;
use drystage::model::route::Leg;
use drystage::model::vehicle::Vehicle;
use drystage::model::vocabulary::{Fuel, RoofShape, Surface};
use drystage::quantity::{
    Celsius, Factor, Hours, Kilograms, Kilometres, KilometresPerHour, Litres, Metres, Share,
    SquareMetres,
};
use serde_json::json;

/// A pound, exactly.
const KG_PER_LB: f64 = 0.453_592_37;
/// Sixty miles an hour, exactly.
const SIXTY_MPH: f64 = 60.0 * 1.609_344;
const LITRES_PER_100KM_AT_1_MPG: f64 = 235.214_583;

fn vehicle(stated: serde_json::Value) -> Vehicle {
    serde_json::from_value(stated).unwrap()
}

/// A small 4x4 as good as any other: 1.8 L, 9.4 L/100 km at 90 km/h, 1320 kg.
fn small_4x4() -> Vehicle {
    vehicle(json!({
        "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9.4, "baseline_speed_kmh": 90,
        "tank_l": 50, "kerb_mass_kg": 1320, "drag_area_m2": 1.05
    }))
}

fn flat() -> Terrain {
    Terrain::level(Kilometres::new(100.0))
}

fn at_speed(kmh: f64) -> Leg {
    Leg {
        speed_kmh: Some(KilometresPerHour::new(kmh)),
        ..Leg::to("anywhere")
    }
}

/// 100 km of a leg with `extra_kg` over the reference mass and a drag area on the roof.
fn hundred_km(
    of: &Vehicle,
    leg: &Leg,
    terrain: &Terrain,
    extra_kg: f64,
    roof: SquareMetres,
) -> LegFormula {
    let burden = Burden {
        dry_mass: of.kerb_mass_kg + Kilograms::new(75.0 + extra_kg),
        roof_drag: roof,
    };
    Formula::from_vehicle(of).leg(leg, terrain, burden)
}

/// The same at the reference mass and with a bare roof.
fn bare(of: &Vehicle, leg: &Leg, terrain: &Terrain) -> LegFormula {
    hundred_km(of, leg, terrain, 0.0, SquareMetres::ZERO)
}

fn litres(leg: &LegFormula) -> f64 {
    leg.litres_at(Litres::ZERO).get()
}

/// L/100 km on the level sealed road.
fn on_the_road(of: &Vehicle, kmh: f64, extra_kg: f64, roof: SquareMetres) -> f64 {
    litres(&hundred_km(of, &at_speed(kmh), &flat(), extra_kg, roof))
}

/// The baseline consumption is the model in the reference condition, so there the model must return it.
#[test]
fn the_base_figure_comes_back_in_its_own_condition() {
    assert!((on_the_road(&small_4x4(), 90.0, 0.0, SquareMetres::ZERO) - 9.4).abs() < 1e-9);
}

/// The odometer is right on the standard tyres, whatever is fitted later; on the fitted ones each kilometre that it
/// shows is as much longer as the tyre is larger (true distance = shown · fitted / standard diameter).
#[test]
fn an_odometer_tells_the_truth_on_the_tyres_it_was_made_for() {
    let reference = |tyres: &str| {
        let stated = json!({
            "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9.4, "tank_l": 50, "kerb_mass_kg": 1320,
            "baseline_conditions": { "tyres": tyres, "odometer": "shown" },
            "tyres": { "standard": "205/70R15", "fitted": "215/75R15" }
        });
        Formula::from_vehicle(&vehicle(stated)).base()
    };
    let standard = reference("standard").reference.get();
    assert!((standard - 9.4).abs() < 1e-9, "{standard}");
    // On the fitted tyres the figure was 9.4 / 1.0531 for each true 100 km, at the lower revs of a larger wheel.
    let fitted = reference("fitted");
    let revs_alone = fitted.k / reference("standard").k;
    assert!((0.95..0.98).contains(&revs_alone), "{revs_alone}");
}

/// US DOE Fact #861 (Argonne): 0.16 US gal/h for a 2.0 L petrol engine, 1.476 L/h for 4.6 L, 0.644 L/h for a
/// 2.0 L diesel. Our rate adds 0.3 kW of accessories and knows the swept volume only; it carries a spread of
/// 20 % in the plan, and must be within a quarter.
#[test]
fn idling_takes_what_was_measured() {
    for (fuel, swept, measured) in [
        ("petrol", 2.0, 0.16 * 3.785_411_784),
        ("petrol", 4.6, 1.476),
        ("diesel", 2.0, 0.644),
    ] {
        let idling = idle_rate(&vehicle(json!({
            "fuel": fuel, "engine_l": swept, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1400
        })));
        let ratio = idling.get() / measured;
        assert!((0.8..1.25).contains(&ratio), "{fuel} {swept}: {ratio}");
    }
}

/// Thomas, Huff, West (Oak Ridge), SAE 2014, at 60 mph: a roof box took an SUV from 24.9 to 22.9 mpg and a
/// compact car from 42.5 to 33. The drag areas that were computed from it, 0.2 and 0.4 m², and the vehicles'
/// masses and engines are assumed, so our rise must be within a third of the measured one.
#[test]
fn a_roof_box_costs_what_was_measured() {
    let cases = [
        (3.0, 1850, 1.1, 0.2, 24.9, 22.9),
        (1.6, 1250, 0.65, 0.4, 42.5, 33.0),
    ];
    for (swept, kerb, area, box_area, bare_mpg, box_mpg) in cases {
        let car = vehicle(json!({
            "fuel": "petrol", "engine_l": swept, "baseline_l_per_100km": LITRES_PER_100KM_AT_1_MPG / bare_mpg,
            "baseline_speed_kmh": SIXTY_MPH, "tank_l": 60, "kerb_mass_kg": kerb, "drag_area_m2": area
        }));
        let bare = on_the_road(&car, SIXTY_MPH, 0.0, SquareMetres::ZERO);
        let boxed = on_the_road(&car, SIXTY_MPH, 0.0, SquareMetres::new(box_area));
        let (rise, measured) = (boxed / bare - 1.0, bare_mpg / box_mpg - 1.0);
        let off = (rise / measured - 1.0).abs();
        assert!(off < 1.0 / 3.0, "{rise}, measured {measured}");
    }
}

/// US DOE: a large roof box takes 6 to 17 % of the mpg on the highway and 10 to 25 % at 65 to 75 mph; Chen and
/// Meier, Energy Policy 2016: 0 to 25 % for any roof load. A boxy 4x4 has more drag of its own than the cars
/// behind these brackets, so its box belongs in the lower half of them.
#[test]
fn roof_loads_stay_within_the_published_brackets_and_rise_with_speed() {
    let mpg_lost = |shape, kmh| {
        let bare = on_the_road(&small_4x4(), kmh, 0.0, SquareMetres::ZERO);
        1.0 - bare / on_the_road(&small_4x4(), kmh, 0.0, roof_drag(shape))
    };
    assert!((0.06..=0.17).contains(&mpg_lost(RoofShape::Box, 88.0)));
    assert!((0.09..=0.25).contains(&mpg_lost(RoofShape::Box, 70.0 * 1.609_344)));
    for &shape in RoofShape::ALL {
        let lost = [60.0, 80.0, 100.0, 120.0].map(|kmh| mpg_lost(shape, kmh));
        let is_within = lost.iter().all(|lost| (0.0..=0.25).contains(lost));
        assert!(is_within && lost.is_sorted(), "{shape}: {lost:?}");
    }
}

/// US DOE/EPA: 100 lb take about 1 % of the mpg.
#[test]
fn a_hundred_pounds_cost_about_one_per_cent() {
    for kmh in [60.0, 80.0, 100.0, 120.0] {
        let rate = |extra| on_the_road(&small_4x4(), kmh, extra, SquareMetres::ZERO);
        let rise = rate(100.0 * KG_PER_LB) / rate(0.0) - 1.0;
        assert!((0.007..0.014).contains(&rise), "{kmh} km/h: {rise}");
    }
}

/// Koffler and Rohde-Brandenburger, Int. J. LCA 15:128 (2010): 0.15 L/100 km for 100 kg, petrol, engine
/// unchanged, on the European test cycle. Ours stands a third higher, because the reference road here rolls at
/// 0.014 and is driven unsteadily: within 0.1 L.
#[test]
fn a_hundred_kilograms_cost_some_tenths_of_a_litre() {
    for kmh in [60.0, 80.0, 100.0] {
        let rate = |extra| on_the_road(&small_4x4(), kmh, extra, SquareMetres::ZERO);
        let rise = rate(100.0) - rate(0.0);
        assert!((rise - 0.15).abs() < 0.1, "{kmh} km/h: {rise}");
    }
}

/// Sullivan, Lewis, Keoleian 2018: 10 % of a light truck's mass are 2 % of its fuel, in mixed driving with
/// an unchanged engine; steady driving on the road must lie within half and double.
#[test]
fn a_tenth_of_the_mass_costs_some_per_cent() {
    let rate = |extra| on_the_road(&small_4x4(), 80.0, extra, SquareMetres::ZERO);
    let rise = rate(139.5) / rate(0.0) - 1.0;
    assert!((0.01..0.04).contains(&rise), "{rise}");
}

/// Lifting a mass by h takes m·g·h at the wheels. No engine turns more than half of its extra fuel into work
/// (the slope of the published lines stays under 0.53 and falls with load), and none in this range less than a sixth.
#[test]
fn a_climb_costs_at_least_the_work_of_lifting() {
    let vehicle = small_4x4();
    let climb = Terrain {
        ascent: Metres::new(1500.0),
        ..flat()
    };
    let gravel = Leg {
        surface: Some(Surface::Gravel),
        ..at_speed(50.0)
    };
    let run = |terrain: &Terrain| litres(&bare(&vehicle, &gravel, terrain));
    let k = Formula::from_vehicle(&vehicle).base().k.get();
    let extra_joules = (run(&climb) - run(&flat())) / k * 32e6;
    let work = 1395.0 * 9.806_65 * 1500.0 / 0.865;
    let efficiency = work / extra_joules;
    assert!((1.0 / 6.0..0.53).contains(&efficiency), "{efficiency}");
}

/// Against a wind w the mean drag out and back is ½ρA(v² + w²): always dearer than calm air.
#[test]
fn wind_out_and_back_is_dearer_than_calm_air() {
    let vehicle = small_4x4();
    for wind in [5.0, 15.0, 30.0] {
        let windy = Leg {
            headwind_kmh: Some(KilometresPerHour::new(wind)),
            ..at_speed(80.0)
        };
        let out = bare(&vehicle, &windy, &flat());
        let back = out.reversed(Factor::new(1.0));
        let calm = on_the_road(&vehicle, 80.0, 0.0, SquareMetres::ZERO);
        assert!(litres(&out) > calm && litres(&back) < calm);
        assert!(litres(&out) + litres(&back) > 2.0 * calm, "{wind} km/h");
    }
}

/// Thin air has less drag: ISO 2533 gives 0.7423 of the density at 3000 m. A tenth off the litres at 90 km/h is
/// what the drag's share of the forces allows; an engine that breathes freely gains nothing below its limits.
#[test]
fn height_saves_drag_and_no_more_than_drag() {
    let high = Terrain {
        altitude: Metres::new(3000.0),
        ..flat()
    };
    let vehicle = small_4x4();
    let run = |terrain: &Terrain| litres(&bare(&vehicle, &at_speed(90.0), terrain));
    let ratio = run(&high) / run(&flat());
    assert!((0.7423..1.0).contains(&ratio), "{ratio}");
    let no_drag = on_the_road(&vehicle, 90.0, 0.0, SquareMetres::new(-1.05));
    let expected = (no_drag + 0.7423 * (run(&flat()) - no_drag)) / run(&flat());
    assert!((ratio / expected - 1.0).abs() < 0.01, "{ratio}, {expected}");
}

/// US DOE/EPA (2016): every psi below the right pressure takes 0.2 % of the mpg. The published formula for
/// resistance by pressure on the hard road gives 0.5 %; within a factor of three.
#[test]
fn a_soft_tyre_costs_on_the_hard_road() {
    let bar_per_psi = 0.068_947_57;
    let mut softer = small_4x4();
    let pressures = json!({ "road_bar": 2.0, "soft_bar": 2.0 - bar_per_psi });
    softer.tyres = serde_json::from_value(pressures).unwrap();
    let soft = Leg {
        aired_down: Some(true),
        ..at_speed(60.0)
    };
    let run = |leg: &Leg| litres(&bare(&softer, leg, &flat()));
    let rise = run(&soft) / run(&at_speed(60.0)) - 1.0;
    assert!((0.0007..0.006).contains(&rise), "{rise}");
}

/// What soft tyres add rises with the speed at which they roll (the published formula for resistance by
/// pressure), so in low range it does not depend on how fast the rest of the leg is driven.
#[test]
fn soft_tyres_roll_at_the_speed_of_low_range() {
    let crawl = |kmh| Leg {
        aired_down: Some(true),
        low_range_share: Some(Share::new(1.0)),
        ..at_speed(kmh)
    };
    let run = |leg: &Leg| litres(&bare(&small_4x4(), leg, &flat()));
    let (fast, slow) = (run(&crawl(60.0)), run(&crawl(10.0)));
    assert!((fast / slow - 1.0).abs() < 1e-12, "{fast}, {slow}");
}

/// A road study of 2021: air-conditioning takes 0.9 L/h, nearly whatever the speed. One vehicle in great heat; ours
/// is a likely value, within half and one of it.
#[test]
fn air_conditioning_costs_by_the_hour() {
    let vehicle = small_4x4();
    for kmh in [50.0, 70.0, 90.0] {
        let cool = Leg {
            aircon: Some(true),
            ..at_speed(kmh)
        };
        let run = |leg: &Leg| litres(&bare(&vehicle, leg, &flat()));
        let per_hour = (run(&cool) - run(&at_speed(kmh))) * kmh / 100.0;
        assert!((0.45..=0.9).contains(&per_hour), "{kmh} km/h: {per_hour}");
    }
}

/// EN 590 diesel weighs 0.835 kg a litre, petrol of the EU reference fuel 0.745: ten litres on board cost what as many
/// kilograms of anything else do.
#[test]
fn fuel_on_board_costs_what_its_mass_does() {
    for (fuel, kg_per_l) in [("petrol", 0.745), ("diesel", 0.835)] {
        let of = vehicle(json!({
            "fuel": fuel, "engine_l": 2.0, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1400
        }));
        let leg =
            |extra_kg| hundred_km(&of, &at_speed(80.0), &flat(), extra_kg, SquareMetres::ZERO);
        let fuelled = leg(0.0).litres_at(Litres::new(10.0)).get();
        let laden = litres(&leg(10.0 * kg_per_l));
        assert!((fuelled - laden).abs() < 1e-9, "{fuel}: {fuelled}, {laden}");
    }
}

/// The way back counts its factor on every litre, idling included, and turned twice the leg is what it was.
#[test]
fn the_way_back_counts_its_factor() {
    let stay = Leg {
        idle_h: Some(Hours::new(1.0)),
        headwind_kmh: Some(KilometresPerHour::new(20.0)),
        ..at_speed(60.0)
    };
    let hills = Terrain {
        ascent: Metres::new(900.0),
        descent: Metres::new(300.0),
        ..flat()
    };
    let out = bare(&small_4x4(), &stay, &hills);
    let back = |factor| litres(&out.reversed(Factor::new(factor)));
    assert!((back(1.15) / back(1.0) - 1.15).abs() < 1e-12);
    // Down the hill and before the wind.
    assert!(back(1.0) < litres(&out));
    let one = Factor::new(1.0);
    assert_eq!(out.reversed(one).reversed(one), out);
}

/// A detour to a fuel stop is taken to be level, still and firm: a hundred kilometres of it take what the leg would
/// without its sand, low range, hills, wind and stays.
#[test]
fn a_detour_takes_what_a_plain_level_leg_takes() {
    let gravel = Leg {
        surface: Some(Surface::Gravel),
        ..at_speed(50.0)
    };
    let hard = Leg {
        sand_share: Some(Share::new(0.4)),
        low_range_share: Some(Share::new(0.3)),
        both_share: Some(Share::new(0.3)),
        headwind_kmh: Some(KilometresPerHour::new(25.0)),
        idle_h: Some(Hours::new(2.0)),
        ..gravel.clone()
    };
    let hills = Terrain {
        ascent: Metres::new(900.0),
        descent: Metres::new(900.0),
        ..flat()
    };
    let rate = bare(&small_4x4(), &hard, &hills).level_rate(Litres::ZERO);
    let detour = rate * Kilometres::new(100.0);
    let plain = litres(&bare(&small_4x4(), &gravel, &flat()));
    assert!((detour.get() - plain).abs() < 1e-9, "{detour:?}, {plain}");
}

/// Pistons are not driven over 16 m/s, to which the published line is held: a single of 1.2 L has a stroke of 115 mm
/// and turns no faster than 4170/min, a four of 1.2 L its 5000/min. (Square engine: stroke = (4 V / π)^⅓.)
#[test]
fn an_engine_of_long_stroke_turns_slower() {
    let highest = |cylinders: u32| {
        let of = vehicle(json!({
            "fuel": "petrol", "engine_l": 1.2, "cylinders": cylinders, "baseline_l_per_100km": 9,
            "tank_l": 50, "kerb_mass_kg": 900
        }));
        let formula = bare(&of, &at_speed(60.0), &flat());
        formula.working(Litres::ZERO).engine.highest.get()
    };
    let stroke = (4.0 * 1.2e-3 / std::f64::consts::PI).cbrt();
    assert!((highest(1) - 16.0 / (2.0 * stroke) * 60.0).abs() < 1e-6);
    assert!((highest(4) - 5000.0).abs() < 1e-6);
}

/// A diesel of the same size and task.
fn small_diesel() -> Vehicle {
    vehicle(json!({
        "fuel": "diesel", "induction": "turbo", "engine_l": 2.0, "baseline_l_per_100km": 7.6, "baseline_speed_kmh": 90,
        "tank_l": 60, "kerb_mass_kg": 1450, "drag_area_m2": 1.05
    }))
}

/// *Reports that could not be checked*: trackless dunes take 40 to 80 L/100 km of petrol vehicles and 30 to 40 of
/// diesels, and a sandy track 1.4 to 1.7 times the usual figure. On dunes' likely resistance each is within its range,
/// widened by a quarter, and petrol rises more: its engine turns fast in a gear that is held.
#[test]
fn dunes_are_dearer_than_sandy_tracks_and_dearest_for_petrol() {
    let on = |of: &Vehicle, sand: f64, dunes: f64| {
        let leg = Leg {
            sand_share: Some(Share::new(sand)),
            dune_share: Some(Share::new(dunes)),
            ..Leg::to("anywhere")
        };
        litres(&hundred_km(of, &leg, &flat(), 250.0, SquareMetres::ZERO))
    };
    let rise = [small_4x4(), small_diesel()].map(|of| {
        let (road, track, dunes) = (on(&of, 0.0, 0.0), on(&of, 1.0, 0.0), on(&of, 0.0, 1.0));
        let reported = match of.fuel {
            Fuel::Petrol => 40.0..80.0,
            Fuel::Diesel => 30.0..40.0,
        };
        let widened = reported.start / 1.25..reported.end * 1.25;
        assert!(widened.contains(&dunes), "{:?}: {dunes}", of.fuel);
        assert!(dunes > track && track > road, "{road} {track} {dunes}");
        // A track of which a third is soft.
        let mixed = on(&of, 0.33, 0.0) / road;
        assert!((1.3..1.9).contains(&mixed), "{:?}: {mixed}", of.fuel);
        dunes / road
    });
    assert!(rise[0] > rise[1], "{rise:?}");
}

/// US DOE Fact #818: at −7 °C (20 °F) instead of 25 (77) a car in town takes 13.6 % more (12 % less mpg); trips there
/// are 20 km or so. A log showed 8.5 % from December to February, here trips of 50 km at 0 °C against 20. Each start
/// counts once, so a long leg suffers less.
#[test]
fn cold_costs_what_was_measured_and_short_trips_suffer_most() {
    let rise = |km: f64, [cold, warm]: [f64; 2]| {
        let at = |celsius: f64| {
            let leg = Leg {
                temperature_c: Some(Celsius::new(celsius)),
                ..at_speed(50.0)
            };
            let terrain = Terrain {
                distance: Kilometres::new(km),
                is_first_of_day: true,
                ..flat()
            };
            litres(&bare(&small_4x4(), &leg, &terrain))
        };
        at(cold) / at(warm) - 1.0
    };
    let in_town = rise(20.0, [-7.0, 25.0]);
    assert!((0.10..0.17).contains(&in_town), "{in_town}");
    let in_winter = rise(50.0, [0.0, 20.0]);
    assert!((0.04..0.10).contains(&in_winter), "{in_winter}");
    assert!(rise(400.0, [-7.0, 25.0]) < 0.8 * in_town);
    assert!(rise(50.0, [40.0, 15.0]) < 0.0, "warmth saves");
}

/// In sand the pressure decides: nothing is gained at equal pressures, more with each step down.
#[test]
fn letting_tyres_down_saves_in_sand_by_how_far_they_are_let_down() {
    let at = |soft: f64| {
        let of = vehicle(json!({
            "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9.4, "baseline_speed_kmh": 90, "tank_l": 50,
            "kerb_mass_kg": 1320, "drag_area_m2": 1.05, "tyres": { "road_bar": 2.0, "soft_bar": soft }
        }));
        let leg = |aired_down| Leg {
            sand_share: Some(Share::new(1.0)),
            aired_down: Some(aired_down),
            ..Leg::to("anywhere")
        };
        let [soft, hard] = [true, false].map(|down| litres(&bare(&of, &leg(down), &flat())));
        soft / hard
    };
    assert!((at(2.0) - 1.0).abs() < 1e-12);
    assert!(at(1.5) < at(2.0) && at(1.2) < at(1.5) && at(0.8) < at(1.2));
}

/// Everything from the slowest to the fastest, coldest to warmest, lowest to highest, firmest to softest, a line each:
/// `cargo test --test plan sweeps -- --ignored --nocapture`.
#[test]
#[ignore = "a table to look at"]
fn sweeps() {
    let of = small_4x4();
    let row = |what: &str, leg: &Leg, terrain: &Terrain| {
        let per_100 = litres(&hundred_km(&of, leg, terrain, 250.0, SquareMetres::ZERO));
        println!("| {what} | {per_100:.1} |");
    };
    for kmh in [10, 30, 50, 70, 90, 110, 130] {
        row(&format!("{kmh} km/h"), &at_speed(f64::from(kmh)), &flat());
    }
    for celsius in [-20, -7, 0, 15, 25, 35, 50] {
        let leg = Leg {
            temperature_c: Some(Celsius::new(f64::from(celsius))),
            ..at_speed(80.0)
        };
        row(&format!("{celsius} deg C"), &leg, &flat());
    }
    for metres in [0, 1000, 2000, 3000, 4000] {
        let terrain = Terrain {
            altitude: Metres::new(f64::from(metres)),
            ..flat()
        };
        row(&format!("{metres} m"), &at_speed(80.0), &terrain);
    }
    for &surface in Surface::ALL {
        let leg = Leg {
            surface: Some(surface),
            ..Leg::to("anywhere")
        };
        row(surface.word(), &leg, &flat());
    }
    for tenths in [0, 2, 5, 10] {
        let share = Some(Share::new(f64::from(tenths) / 10.0));
        let [mut sand, mut dunes, mut low] = ["a"; 3].map(Leg::to);
        sand.sand_share = share;
        dunes.dune_share = share;
        low.low_range_share = share;
        for (what, leg) in [("sand", sand), ("dunes", dunes), ("low range", low)] {
            row(&format!("{what} {tenths}/10"), &leg, &flat());
        }
    }
}
