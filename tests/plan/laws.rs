//! What must hold for every plan of every legal trip, on random trips.

use crate::kept;

use drystage::consumption::leg::{Burden, Formula};
use drystage::consumption::terrain;
use drystage::model::{Trip, check};
use drystage::plan::{CheckKind, Effort, LoadLimit, Plan, Verdict};
use drystage::quantity::{Kilograms, Litres, SquareMetres};
use proptest::prelude::*;
use serde_json::{Value, json};

fn word(words: &'static [&'static str]) -> impl Strategy<Value = &'static str> {
    prop::sample::select(words)
}

/// Petrol and diesel, with and without turbocharger, from frugal to thirsty.
fn vehicles() -> impl Strategy<Value = Value> {
    (
        word(&["petrol", "diesel"]),
        word(&["natural", "turbo"]),
        (1.0..2.0, 5.0..15.0, 30.0..120.0, 900.0..2200.0),
        word(&["road", "all-terrain", "mud"]),
    )
        .prop_map(|(fuel, induction, (litres_per_tonne, base, tank, kerb), tread)| {
            json!({
                "fuel": fuel, "induction": induction, "engine_l": kerb / 1000.0 * litres_per_tonne, "baseline_l_per_100km": base,
                "tank_l": tank, "kerb_mass_kg": kerb, "gvm_kg": kerb * 1.4, "roof_rating_kg": 75,
                "tyres": { "tread": tread }
            })
        })
}

/// A fuel stop that may be limited or doubtful, on the route.
fn fuel_stops() -> impl Strategy<Value = Value> {
    (prop::option::of(1.0..80.0), prop::option::of(0.0..1.0)).prop_map(|(litres, chance)| {
        let mut fuel_stop = json!({});
        if let Some(litres) = litres {
            fuel_stop["litres"] = json!(litres);
        }
        if let Some(chance) = chance {
            fuel_stop["chance"] = json!(chance);
        }
        fuel_stop
    })
}

/// A leg on any ground, climbing at least as much as it falls.
fn legs() -> impl Strategy<Value = Value> {
    (
        prop_oneof![1 => Just(0.0), 9 => 1.0..250.0_f64],
        word(&[
            "sealed",
            "gravel",
            "corrugated",
            "earth",
            "rock",
            "mud",
            "salt",
            "snow",
        ]),
        (0.0..1.0_f64, 0.0..1.0_f64),
        (0.0..0.05_f64, 0.0..1.0_f64),
        (0.0..4500.0, -30.0..40.0),
        (any::<bool>(), any::<bool>(), 0.0..1.0),
        prop::option::weighted(0.4, fuel_stops()),
    )
        .prop_map(
            |(
                km,
                surface,
                (sand, low),
                (climb, fall),
                (height, wind),
                (aircon, soft, idle),
                fuel,
            )| {
                let ascent = km * 1000.0 * climb;
                let mut leg = json!({
                    "to": "somewhere", "distance_km": km, "surface": surface, "sand_share": sand,
                    "low_range_share": low, "ascent_m": ascent, "descent_m": ascent * fall,
                    "mean_altitude_m": height, "headwind_kmh": wind, "aircon": aircon,
                    "aired_down": soft, "idle_h": idle
                });
                if let Some(fuel) = fuel {
                    leg["fuel"] = fuel;
                }
                leg
            },
        )
}

/// Trips of up to seven legs between places of different names; their cans can be left out.
fn trips(with_cans: bool) -> impl Strategy<Value = Trip> {
    let roof = word(&["none", "bars", "open-rack", "box"]);
    let reserve = (0.0..10.0, 0.0..40.0, 0.0..25.0);
    let cans = prop::collection::vec((prop::sample::select(&[5.0, 10.0, 20.0][..]), 0..4), 1..4);
    (
        vehicles(),
        prop::collection::vec(legs(), 1..8),
        (0.0..150.0, roof, cans),
        reserve,
        0.3..1.0_f64,
    )
        .prop_map(
            move |(vehicle, mut legs, (cargo, roof, cans), (litres, km, percent), start)| {
                for (n, leg) in legs.iter_mut().enumerate() {
                    leg["to"] = json!(format!("place {n}"));
                    leg["day"] = json!(n / 2 + 1);
                }
                let cans: Vec<Value> = cans
                    .iter()
                    .filter(|_| with_cans)
                    .map(|(size, owned)| {
                        json!({
                            "size_l": size, "empty_kg": size * 0.2, "owned": owned,
                            "places": ["rear", "roof"]
                        })
                    })
                    .collect();
                let start_l = vehicle["tank_l"].as_f64().unwrap_or_default() * start;
                let document = json!({
                    "drystage": 1, "vehicle": vehicle,
                    "load": {
                        "people": [{ "name": "driver", "mass_kg": 75 }],
                        "gear": [{ "name": "cargo", "mass_kg": cargo }, { "name": "tent", "mass_kg": 12 }],
                        "roof": { "shape": roof, "mass_kg": 10 }, "cans": cans
                    },
                    "rules": {
                        "reserve": { "litres": litres, "km": km }, "contingency_percent": percent, "start_l": start_l
                    },
                    "start": { "name": "start" }, "legs": legs
                });
                check::read(document).unwrap_or_else(|problems| panic!("{problems:?}"))
            },
        )
}

/// Those trips with a fuel stop at the start, a price at each fuel stop, some fuel stops off the route, and the least cost
/// asked for.
fn priced(trips: impl Strategy<Value = Trip>) -> impl Strategy<Value = Trip> {
    let fuel_stop = (0.5..3.0_f64, prop::option::weighted(0.3, 1.0..60.0_f64));
    (trips, prop::collection::vec(fuel_stop, 9)).prop_map(|(trip, fuel_stops)| {
        let mut document = json!(trip);
        document["start"]["fuel"] = json!({ "price_per_l": fuel_stops[8].0 });
        for (leg, (price, detour)) in trip
            .legs
            .iter()
            .zip(fuel_stops)
            .enumerate()
            .filter_map(|(n, (leg, fuel_stop))| leg.fuel.as_ref().map(|_| (n, fuel_stop)))
        {
            let fuel = &mut document["legs"][leg]["fuel"];
            fuel["price_per_l"] = json!(price);
            if let Some(detour) = detour {
                fuel["detour_km"] = json!(detour);
            }
        }
        document["rules"]["objective"] = json!("least-cost");
        check::read(document).unwrap_or_else(|problems| panic!("{problems:?}"))
    })
}

proptest! {
    #![proptest_config(kept::cases("laws", 300))]

    /// Buying for least costs no more than filling the tank at every fuel stop, carries the same cans, and goes through
    /// whenever that does, with the reserve untouched and what is bought conserved.
    #[test]
    fn the_least_cost_is_never_more(trip in priced(trips(true))) {
        let mut full = trip.clone();
        if let Some(rules) = &mut full.rules {
            rules.objective = None;
        }
        let (least, full) = (Plan::best_estimate(trip.clone()), Plan::best_estimate(full));
        prop_assert_eq!(&least.in_cans.cans, &full.in_cans.cans);
        if let Verdict::FuelShort(_) = full.verdict() {
            prop_assert_eq!(least.totals.cost, full.totals.cost);
            prop_assert!(least.findings.iter().any(|found| found.code() == "cost-not-least"));
            return Ok(());
        }
        prop_assert!(!matches!(least.verdict(), Verdict::FuelShort(_)));
        let cost = |plan: &Plan| plan.totals.cost.map_or(0.0, drystage::quantity::Money::get);
        prop_assert!(cost(&least) <= cost(&full) + 1e-9, "{} of {}", cost(&least), cost(&full));
        let hair = Litres::new(1e-6);
        for leg in &least.legs {
            prop_assert!(!leg.below_reserve && leg.end >= leg.reserve - hair, "{leg:?}");
        }
        for span in &least.course {
            prop_assert!(span.tank_to >= -hair && span.tank_from <= trip.vehicle.usable_tank() + hair);
            prop_assert!(span.cans <= least.in_cans.carried + hair);
        }
        let on_board = (trip.rules().start(&trip.vehicle) - trip.vehicle.unusable()).max(Litres::ZERO);
        let filled: Litres = least.stops.iter().map(|stop| stop.tank + stop.cans).sum();
        let spilt: Litres = least.decants.iter().map(|decant| decant.lost).sum();
        let left = least.legs.last().map_or(Litres::ZERO, |leg| leg.end);
        let gap = on_board + filled - least.totals.fuel - spilt - left;
        prop_assert!(gap.abs() < hair, "{gap:?}");
    }
}

proptest! {
    #![proptest_config(kept::cases("laws", 300))]

    #[test]
    fn every_legal_trip_has_a_finite_plan(trip in trips(true)) {
        let plan = Plan::best_estimate(trip);
        prop_assert!(plan.totals.fuel.get().is_finite() && plan.totals.fuel > Litres::ZERO || plan.totals.distance.get() == 0.0);
        for leg in &plan.legs {
            prop_assert!(leg.fuel.get().is_finite() && leg.fuel >= Litres::ZERO);
            prop_assert!(leg.driving.get().is_finite() && leg.end.get().is_finite());
        }
        prop_assert!(plan.in_cans.without_losses.get().is_finite() && plan.in_cans.without_losses >= Litres::ZERO);
    }

    /// What is on board at the start and what is filled is burnt, spilt in decanting, or left.
    #[test]
    fn fuel_is_conserved(trip in trips(true)) {
        let on_board = trip.rules().start(&trip.vehicle) - trip.vehicle.unusable();
        let plan = Plan::best_estimate(trip);
        let filled: Litres = plan.stops.iter().map(|stop| stop.tank + stop.cans).sum();
        let burnt: Litres = plan.legs.iter().map(|leg| leg.fuel).sum();
        let spilt: Litres = plan.decants.iter().map(|decant| decant.lost).sum();
        let left = plan.legs.last().map_or(Litres::ZERO, |leg| leg.end);
        let gap = on_board.max(Litres::ZERO) + filled - burnt - spilt - left;
        prop_assert!(gap.abs() < Litres::new(1e-6), "{gap:?}");
        prop_assert!((burnt - plan.totals.fuel).abs() < Litres::new(1e-9));
    }

    /// A plan that says it goes through keeps the reserve on every leg, never draws on an empty tank, and never
    /// has more on board than tank and cans hold.
    #[test]
    fn a_plan_that_goes_through_keeps_the_reserve(trip in trips(true)) {
        let tank = trip.vehicle.usable_tank();
        let plan = Plan::best_estimate(trip);
        let hair = Litres::new(1e-6);
        for span in &plan.course {
            prop_assert!(span.tank_from <= tank + hair && span.cans <= plan.in_cans.carried + hair);
        }
        if matches!(plan.verdict(), Verdict::TankDoes | Verdict::CansDo | Verdict::Overloaded) {
            for leg in &plan.legs {
                prop_assert!(!leg.below_reserve && leg.end >= leg.reserve - hair, "{leg:?}");
            }
            for span in &plan.course {
                prop_assert!(span.tank_to >= -hair, "{span:?}");
            }
        }
        if plan.verdict() == Verdict::TankDoes {
            prop_assert!(plan.in_cans.cans.is_empty());
        }
    }

    /// The multipliers of all causes take the baseline consumption to the leg's. A leg that runs dry is driven on less
    /// than no fuel and is left out.
    #[test]
    fn multipliers_lead_from_the_base_to_the_leg(trip in trips(true)) {
        let plan = Plan::best_estimate(trip);
        for leg in &plan.legs {
            let causes = &plan.attribution(leg.n).causes;
            let Some(rate) = leg.rate else {
                prop_assert!(causes.iter().all(|cause| cause.multiplier.is_none()));
                continue;
            };
            let product: f64 = causes
                .iter()
                .map(|cause| cause.multiplier.map_or(f64::NAN, drystage::quantity::Factor::get))
                .product();
            let predicted = plan.base.reference.get() * product;
            let dry = leg.end < Litres::ZERO;
            prop_assert!(dry || (predicted / rate.get() - 1.0).abs() < 1e-6, "{predicted}, leg {rate:?}");
        }
    }

    /// The order in which cans and things are listed means nothing.
    #[test]
    fn the_order_of_lists_means_nothing(trip in trips(true)) {
        let mut turned = trip.clone();
        if let Some(load) = &mut turned.load {
            load.gear.iter_mut().for_each(|items| items.reverse());
            load.cans.iter_mut().for_each(|cans| cans.reverse());
        }
        let (one, other) = (Plan::best_estimate(trip), Plan::best_estimate(turned));
        prop_assert!((one.totals.fuel - other.totals.fuel).abs() < Litres::new(1e-6));
        prop_assert!((one.in_cans.without_losses - other.in_cans.without_losses).abs() < Litres::new(1e-6));
        prop_assert!((one.in_cans.carried - other.in_cans.carried).abs() < Litres::new(1e-6));
    }

    /// With the tank alone, since a greater reserve may ask for more cans, which then serve on the route back too.
    #[test]
    fn more_reserve_never_moves_a_turn_back_point_outward(trip in trips(false), more in 0.0..10.0_f64) {
        let mut wary = trip.clone();
        if let Some(reserve) = wary.rules.as_mut().and_then(|rules| rules.reserve.as_mut()) {
            reserve.litres = reserve.litres.map(|litres| litres + Litres::new(more));
        }
        let (bold, wary) = (Plan::best_estimate(trip), Plan::best_estimate(wary));
        for (one, other) in bold.stages.iter().zip(&wary.stages) {
            let (Some(far), Some(near)) = (one.turn_back, other.turn_back) else {
                prop_assert!(one.turn_back.is_some() || other.turn_back.is_none());
                continue;
            };
            prop_assert!(near.at_km.get() <= far.at_km.get() + 1e-6, "{near:?}, {far:?}");
        }
    }

    /// A fuel stop more on the route, with whatever it has, can only help.
    #[test]
    fn another_fuel_stop_never_raises_the_fuel_in_cans(trip in trips(false), at in 0_usize..7, litres in 1.0..80.0_f64) {
        let mut richer = trip.clone();
        let at = at % richer.legs.len();
        if richer.legs[at].fuel.is_none() {
            richer.legs[at].fuel = serde_json::from_value(json!({ "litres": litres })).ok();
        }
        let (poor, rich) = (Plan::best_estimate(trip).in_cans.without_losses, Plan::best_estimate(richer).in_cans.without_losses);
        prop_assert!(rich <= poor + Litres::new(1e-6), "{rich:?}, without {poor:?}");
    }
}

/// The ledger's rows add up to the fuel in cans fuel, its legs to their rows, and no cause taken away leaves less than
/// none.
fn balanced(plan: &Plan) -> Result<(), TestCaseError> {
    let ledger = plan.ledger();
    let needed = plan.in_cans.needed;
    let hair = Litres::new(1e-6);
    prop_assert!(
        (ledger.in_cans - needed).abs() < hair,
        "{:?} of {needed:?}",
        ledger.in_cans
    );
    let rows: Litres = ledger.rows.iter().map(|row| row.litres).sum();
    prop_assert!(
        (rows - needed).abs() < hair,
        "{rows:?} of {needed:?}: {ledger:?}"
    );
    for row in &ledger.rows {
        let legs: Litres = row.legs.iter().map(|(_, litres)| *litres).sum();
        prop_assert!(
            row.legs.is_empty() || (legs - row.litres).abs() < hair,
            "{row:?}"
        );
        prop_assert!(
            row.without
                .is_none_or(|without| without >= Litres::ZERO && without.get().is_finite())
        );
    }
    let in_cans: Litres = ledger
        .cans
        .iter()
        .flat_map(|can| &can.parts)
        .map(|part| part.2)
        .sum();
    prop_assert!(
        (in_cans - needed.min(plan.in_cans.carried)).abs() < hair,
        "{in_cans:?}"
    );
    Ok(())
}

proptest! {
    #![proptest_config(kept::cases("laws", 300))]

    #[test]
    fn the_ledger_adds_up_to_the_fuel_in_cans(trip in trips(true)) {
        balanced(&Plan::best_estimate(trip))?;
    }

    #[test]
    fn the_ledger_of_the_least_cost_adds_up_too(trip in priced(trips(true))) {
        balanced(&Plan::best_estimate(trip))?;
    }
}

proptest! {
    #![proptest_config(kept::cases("laws", 12))]

    #[test]
    fn the_ledger_adds_up_at_the_confidence(trip in trips(true)) {
        balanced(&Plan::at_target(trip, Effort::FIRST))?;
    }

    /// From one full fill to the next the fuel checks ask for little as long as one can return from the next one, then
    /// decide once, then advise; what decides says where to return to, and no figure is more than tank and cans hold.
    #[test]
    fn fuel_checks_look_ahead_then_decide_once(trip in trips(true)) {
        let plan = Plan::at_target(trip, Effort::FIRST);
        let hair = Litres::new(1e-6);
        let full = plan.trip.vehicle.usable_tank() + plan.in_cans.carried + hair;
        let mut before = CheckKind::Check;
        for check in &plan.fuel_checks {
            let stop = plan.stops.iter().find(|stop| Some(stop.place_number) == check.place_number);
            if stop.is_some_and(|stop| stop.counted && stop.supply.is_none()) {
                prop_assert_eq!(check.kind, CheckKind::After);
                before = CheckKind::Check;
                continue;
            }
            let may_follow = match before {
                CheckKind::Check => true,
                CheckKind::Decision | CheckKind::After => check.kind == CheckKind::After,
            };
            prop_assert!(may_follow, "{:?} after {before:?}: {check:?}", check.kind);
            before = check.kind;
            let back = check.back.and_then(|back| back.litres);
            for litres in [check.continue_with, check.finish, check.if_dry.and_then(|dry| dry.continue_with), back].into_iter().flatten() {
                prop_assert!(litres >= Litres::ZERO && litres <= full, "{check:?}");
            }
            prop_assert!(check.continue_with.is_none() || back.is_some(), "{check:?}");
            match check.kind {
                CheckKind::After => prop_assert_eq!(check.continue_with, None),
                CheckKind::Decision => prop_assert!(check.continue_with.is_none_or(|litres| Some(litres) == check.finish)),
                CheckKind::Check => {
                    let asked = check.continue_with.zip(check.finish);
                    prop_assert!(asked.is_none_or(|(asked, finish)| asked <= finish), "{check:?}");
                }
            }
            prop_assert!(check.arrivals.p01 <= check.arrivals.p05 && check.arrivals.p05 <= check.arrivals.p50);
        }
    }

    /// Of the trips of a plan that goes through no more are turned back than miss the target, and of those that are at
    /// most one in twenty runs out; bounds are three sampling errors.
    #[test]
    fn checks_turn_few_back_and_those_return(trip in trips(true)) {
        let plan = Plan::at_target(trip, Effort::FIRST);
        let doubt = plan.doubt.as_ref().unwrap_or_else(|| panic!("no simulated trips"));
        let outcomes = doubt.outcomes_without_luck;
        let sum: f64 = outcomes.ends().iter().map(|odds| odds.share.get()).sum();
        prop_assert!((sum - 1.0).abs() < 1e-9);
        let turned_back: f64 = plan.fuel_checks.iter().map(|check| check.turned_back.share.get()).sum();
        let [turned, ran_out] = doubt.turned_back_and_ran_out.map(|trips| trips as f64);
        prop_assert!((turned_back * outcomes.trips as f64 - turned).abs() < 0.5, "{turned_back} of {turned}");
        let allowed = 0.05 * turned;
        prop_assert!(ran_out <= allowed + 3.0 * allowed.sqrt() + 3.0, "{ran_out} of {turned}");
        if matches!(plan.verdict(), Verdict::TankDoes | Verdict::CansDo | Verdict::Overloaded) {
            let missed = 1.0 - doubt.success_target.get();
            prop_assert!(turned_back <= missed + 3.0 * (missed / outcomes.trips as f64).sqrt(), "{turned_back}: {outcomes:?}");
        }
    }
}

proptest! {
    #![proptest_config(kept::cases("laws", 500))]

    /// Mass that is added, wherever it lies, frees none of the total mass nor of its own place's rating.
    #[test]
    fn more_mass_never_frees_payload(
        trip in trips(false),
        kg in 0.0..300.0_f64,
        at in prop::sample::select(&["cabin", "cargo", "rear", "roof"][..]),
    ) {
        let mut heavier = serde_json::to_value(&trip).unwrap();
        for place in ["cabin", "cargo", "rear", "roof"] {
            heavier["load"]["place_ratings_kg"][place] = json!(100);
        }
        heavier["vehicle"]["gvm_kg"] = json!(3000);
        let mut document = heavier.clone();
        document["load"]["gear"]
            .as_array_mut()
            .unwrap()
            .push(json!({ "name": "more", "mass_kg": 0, "place": at }));
        heavier["load"]["gear"]
            .as_array_mut()
            .unwrap()
            .push(json!({ "name": "more", "mass_kg": kg, "place": at }));
        let left = |document: Value| {
            let plan = Plan::best_estimate(serde_json::from_value::<Trip>(document).unwrap());
            let bars = plan.load.bars.iter();
            bars.filter_map(|bar| Some((bar.what, bar.left()?))).collect::<Vec<_>>()
        };
        let (before, after) = (left(document), left(heavier));
        prop_assert!(before.len() > 1);
        for (what, left) in before {
            let axle = matches!(what, LoadLimit::FrontAxle | LoadLimit::RearAxle);
            // Behind the rear axle a mass lifts the front one, and before it the rear one bears less than all of it.
            let then = after.iter().find(|(other, _)| *other == what);
            if let Some((_, then)) = then.filter(|_| !axle) {
                prop_assert!(*then <= left + Kilograms::new(1e-9), "{what:?}");
            }
        }
    }

    /// More mass or more drag never burns less on a leg that climbs at least as much as it falls. (Down a long
    /// slope the heavier vehicle does roll better.)
    #[test]
    fn more_load_never_burns_less(trip in trips(false), kg in 0.0..300.0_f64, area in 0.0..0.5_f64) {
        let formula = Formula::from_vehicle(&trip.vehicle);
        for (leg, terrain) in trip.legs.iter().zip(terrain::along(&trip)) {
            let litres = |kg: f64, area: f64| {
                let burden = Burden {
                    dry_mass: trip.vehicle.kerb_mass_kg + Kilograms::new(kg),
                    roof_drag: SquareMetres::new(area),
                };
                formula.leg(leg, &terrain, burden).litres_at(Litres::ZERO)
            };
            prop_assert!(litres(kg, 0.0) >= litres(0.0, 0.0) - Litres::new(1e-9), "mass");
            let tail_wind = leg.headwind_kmh.is_some_and(|wind| wind.get() < 0.0);
            prop_assert!(tail_wind || litres(0.0, area) >= litres(0.0, 0.0) - Litres::new(1e-9), "drag");
        }
    }
}
