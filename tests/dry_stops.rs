//! Dry stops: against cases worked by hand, trips planned anew without the pump, and driving on and back kilometre by
//! kilometre.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod kept;

use drystage::consumption::usage::Usage;
use drystage::model::{Trip, check};
use drystage::plan::Plan;
use drystage::plan::dry::{DryAt, Open, WayOut};
use drystage::quantity::{Factor, Kilometres, Litres};
use proptest::prelude::*;
use serde_json::{Value, json};

fn plan(document: Value) -> Plan {
    Plan::of(check::read(document).unwrap_or_else(|problems| panic!("{problems:?}")))
}

/// A trip whose vehicle takes 10 L/100 km on its level sealed legs, half a tank aboard and the driver alone in it; a full
/// tank makes it 0.3 % more and an empty one as much less. 50 L in the tank at the start, where there is more.
fn by_hand(reserve: f64, legs: &[Value]) -> Value {
    json!({
        "drystage": 1,
        "vehicle": {
            "fuel": "petrol", "engine_l": 1.8, "base_l_per_100km": 10, "tank_l": 50, "kerb_mass_kg": 1300,
            "gvm_kg": 2000, "unusable_l": 0
        },
        "load": { "crew": [{ "name": "driver", "mass_kg": 75 }] },
        "rules": { "reserve": { "litres": reserve, "percent": 0 } },
        "start": { "name": "A", "fuel": {} },
        "legs": legs
    })
}

fn leg(to: &str, km: f64) -> Value {
    json!({ "to": to, "distance_km": km, "surface": "sealed" })
}

fn with_pump(to: &str, km: f64, fuel: Value) -> Value {
    let mut leg = leg(to, km);
    leg["fuel"] = fuel;
    leg
}

/// 0.3 % of 60 L, and what the fuel that is carried on the way adds.
const NEAR: f64 = 0.5;

fn near(litres: Litres, by_hand: f64) {
    assert!(
        (litres.get() - by_hand).abs() < NEAR,
        "{litres:?}, by hand {by_hand}"
    );
}

fn is(way: WayOut, to: usize, open: Open, margin: f64) {
    assert_eq!((way.to, way.open), (to, open), "{way:?}");
    near(way.margin, margin);
}

/// By hand: 50 L less 20 L to B leave 30 L. On to D take 40 L and 5 L are to be left: 15 L are missing. Back to A take
/// 20 L and 5 L are to be left: 5 L to spare. Without B 60 + 5 L must be aboard at the start, 15 L over the tank: a can of
/// 20 L holds 19 L of it. The 30 L are burnt at km 500.
#[test]
fn a_dry_pump_halfway() {
    let mut document = by_hand(
        5.0,
        &[
            with_pump("B", 200.0, json!({})),
            leg("C", 200.0),
            leg("D", 200.0),
        ],
    );
    document["load"]["cans"] =
        json!([{ "size_l": 20, "empty_kg": 4, "owned": 2, "places": ["rear"] }]);
    let plan = plan(document);
    assert!(plan.spare.cans.is_empty());
    let dry = plan.dry();
    let [stop] = &dry.stops[..] else {
        panic!("{dry:?}")
    };
    assert_eq!(stop.at.nodes, [1]);
    is(stop.at.go_on, 3, Open::No, -15.0);
    is(stop.at.turn_back.unwrap(), 0, Open::Yes, 5.0);
    assert!((stop.at.empty_at.unwrap() - Kilometres::new(500.0)).abs() < Kilometres::new(5.0));
    near(stop.spare, 15.0);
    assert_eq!(stop.more.map(|more| more.count), Some(1));
    assert_eq!(dry.hangs_on, Some(0));
    assert!(!stop.at.strands());
    assert_eq!((plan.dry_pair(), &dry.can_lost), (None, &None));
}

/// By hand as before with 12 L to be left: going back takes 20 L of the 30 L, so 10 L are left, 2 L under the 12 L.
#[test]
fn a_way_back_that_uses_the_reserve() {
    let plan = plan(by_hand(
        12.0,
        &[with_pump("B", 200.0, json!({})), leg("D", 350.0)],
    ));
    let at = &plan.found_dry[0];
    is(at.turn_back.unwrap(), 0, Open::UsingReserve, -2.0);
    // 35 L on to D with 30 L aboard.
    is(at.go_on, 2, Open::No, -17.0);
}

/// By hand: 2 L to a pump 20 km off the route and 2 L back are burnt for nothing.
#[test]
fn the_detour_to_a_dry_pump_is_burnt() {
    let pump = json!({ "detour_km": 40 });
    let plan = plan(by_hand(
        5.0,
        &[with_pump("B", 200.0, pump), leg("D", 400.0)],
    ));
    let at = &plan.found_dry[0];
    is(at.go_on, 2, Open::No, 30.0 - 4.0 - 45.0);
    is(at.turn_back.unwrap(), 0, Open::Yes, 30.0 - 4.0 - 25.0);
}

/// By hand: B is met at km 100 and 300, with 40 L aboard at first. On past it take 30 L to D and 5 L to be left, for the
/// second meeting gives nothing either; counting on that, 30 L to there and back.
#[test]
fn a_pump_met_twice_is_dry_twice() {
    let legs = [
        with_pump("B", 100.0, json!({})),
        leg("C", 100.0),
        with_pump("B", 100.0, json!({})),
        leg("D", 100.0),
    ];
    let plan = plan(by_hand(5.0, &legs));
    let [at] = &plan.found_dry[..] else {
        panic!("{:?}", plan.found_dry)
    };
    assert_eq!(at.nodes, [1, 3]);
    is(at.go_on, 4, Open::Yes, 5.0);
    is(at.turn_back.unwrap(), 0, Open::Yes, 25.0);
    near(plan.dry().stops[0].spare, 0.0);
    assert_eq!(plan.dry().hangs_on, None);
}

/// By hand: no sure pump behind, since the one leg cannot be driven the other way; 40 L on and 5 L to be left with 30 L
/// aboard.
#[test]
fn a_leg_of_no_return_leaves_no_way_back() {
    let mut into = with_pump("B", 200.0, json!({ "chance": 0.9 }));
    into["return"] = json!({ "possible": false });
    let plan = plan(by_hand(5.0, &[into, leg("D", 400.0)]));
    let at = &plan.found_dry[0];
    assert_eq!(at.turn_back, None);
    assert!(at.strands());
    let codes: Vec<&str> = plan
        .findings
        .iter()
        .map(drystage::plan::Finding::code)
        .collect();
    assert!(codes.contains(&"stop-strands"), "{codes:?}");
}

/// By hand: 30 L aboard at B. C, 200 km on, has 10 L and lies 300 km before the finish: with 35 L to be there with, less its
/// 10 L, 25 L must be left on reaching it, not the 5 L of the reserve. 20 L to there: 45 L, so 15 L are missing.
#[test]
fn to_reach_a_limited_stop_is_not_enough() {
    let legs = [
        with_pump("B", 200.0, json!({})),
        with_pump("C", 200.0, json!({ "litres": 10 })),
        leg("D", 300.0),
    ];
    let plan = plan(by_hand(5.0, &legs));
    is(plan.found_dry[0].go_on, 2, Open::No, -15.0);
}

/// By hand, 20 L each to B and C, 25 L to D, 21 L to E, and 5 L to be left. B dry: 45 L from A. C dry: 50 L from B. D dry:
/// 51 L from C, 1 L over the tank. B and C dry: 70 L from A. C and D dry: 71 L from B, 21 L over the tank. B and D dry: C
/// between them parts the trip in two, so no more than the dearer alone.
#[test]
fn the_worst_pair_are_neighbours() {
    let sure = |to, km| with_pump(to, km, json!({}));
    let legs = [
        sure("B", 200.0),
        sure("C", 200.0),
        sure("D", 250.0),
        leg("E", 210.0),
    ];
    let plan = plan(by_hand(5.0, &legs));
    let stops = &plan.dry().stops;
    assert_eq!(stops.len(), 3);
    for (stop, by_hand) in stops.iter().zip([0.0, 0.0, 1.0]) {
        near(stop.spare, by_hand);
    }
    let pair = plan.dry_pair().unwrap();
    assert_eq!((pair.nodes, pair.of_all), ([2, 3], true));
    near(pair.spare, 21.0);
    // 50 L less 20 L to C and 25 L to D leave 5 L there. On to E take 21 L and 5 L are to be left; back past C, which is dry
    // too, to B 45 L and 5 L.
    let (on, back) = pair.at_second.unwrap();
    is(on, 4, Open::No, -21.0);
    is(back.unwrap(), 1, Open::No, -45.0);
}

/// By hand: 30 L at B, which may as well be dry and is not relied on; 10 L on to C with 5 L to be left, 15 L to spare; back
/// to A 20 L, 5 L to spare. Doing without it costs nothing, so the trip does not hang on it.
#[test]
fn a_pump_that_is_not_relied_on_is_told_too() {
    let plan = plan(by_hand(
        5.0,
        &[
            with_pump("B", 200.0, json!({ "chance": 0.3 })),
            leg("C", 100.0),
        ],
    ));
    let [at] = &plan.passed_dry[..] else {
        panic!("{:?}", plan.passed_dry)
    };
    assert_eq!((at.node(), at.chance.get()), (1, 0.3));
    is(at.go_on, 2, Open::Yes, 15.0);
    is(at.turn_back.unwrap(), 0, Open::Yes, 5.0);
    assert!(plan.found_dry.is_empty() && plan.dry().hinge().is_none());
}

/// The same 10 km off the route, to which the plan does not drive; who does takes 2 L more for it on either way.
#[test]
fn trying_a_pump_off_the_route_is_told_with_what_it_takes() {
    let plan = plan(by_hand(
        5.0,
        &[
            with_pump("B", 200.0, json!({ "chance": 0.3, "detour_km": 20 })),
            leg("C", 100.0),
        ],
    ));
    let [at] = &plan.passed_dry[..] else {
        panic!("{:?}", plan.passed_dry)
    };
    is(at.go_on, 2, Open::Yes, 13.0);
    is(at.turn_back.unwrap(), 0, Open::Yes, 3.0);
}

/// By hand, 600 km on a tank of 50 L with 5 L to be left: 15 L over the tank, so one can of 19 L, poured at the halt at
/// km 200, where 30 L are in the tank. Just before it is lost: 40 + 5 L on, 15 L missing; 20 + 5 L back, 5 L to spare. At the
/// start one would simply stay. To go through with it lost takes its 19 L more.
#[test]
fn a_can_lost_just_before_it_is_poured() {
    let mut document = by_hand(5.0, &[leg("B", 200.0), leg("C", 200.0), leg("D", 200.0)]);
    document["load"]["cans"] =
        json!([{ "size_l": 20, "empty_kg": 0, "owned": 1, "places": ["rear"] }]);
    let plan = plan(document);
    let lost = plan.dry().can_lost.clone().unwrap();
    assert_eq!(lost.litres, Litres::new(19.0));
    assert!((lost.at_km - Kilometres::new(200.0)).abs() < Kilometres::new(1e-6));
    is(lost.go_on, 3, Open::No, -15.0);
    is(lost.turn_back.unwrap(), 0, Open::Yes, 5.0);
    near(lost.spare, 34.0);
}

/// A hand trial of the example, no source: 55.1 L of spare fuel with the doubtful pump dry. The trial rounded its steps.
#[test]
fn the_example_hangs_on_its_doubtful_pump() {
    let plan = plan(serde_json::from_str(include_str!("data/example-trip.json")).unwrap());
    let dry = plan.dry();
    let hinge = dry.hinge().unwrap();
    assert_eq!(plan.trip.place(hinge.at.node()).name, "Two Cairns");
    assert!((hinge.spare.get() / 55.1 - 1.0).abs() < 0.03, "{hinge:?}");
}

/// Random trips without cans on any ground. Places have one of a few names, so some pumps are met again.
fn trips(met_again: bool, limited: f64) -> impl Strategy<Value = Value> {
    let pump = (
        prop::option::weighted(limited, 5.0..60.0_f64),
        prop::option::weighted(0.3, 0.0..60.0_f64),
    );
    let leg = (
        10.0..250.0_f64,
        prop::sample::select(&["sealed", "gravel", "earth", "rock", "mud"][..]),
        (0.0..0.4_f64, 0.0..3000.0_f64, 0.0..1.0_f64),
        prop::option::weighted(0.6, pump),
        0_usize..4,
        prop::bool::weighted(0.1),
    );
    (
        prop::collection::vec(leg, 1..8),
        (35.0..90.0_f64, 0.0..10.0_f64, 0.0..30.0_f64, 0.0..20.0_f64),
        (0.4..1.0_f64, any::<bool>()),
    )
        .prop_map(
            move |(legs, (tank, litres, km, percent), (start, sure_start))| {
                let mut known: Vec<Option<Value>> = vec![None; 4];
                let legs: Vec<Value> = legs
                    .into_iter()
                    .enumerate()
                    .map(|(n, (km, surface, (sand, up, down), pump, name, one_way))| {
                        let mut leg = json!({
                            "to": format!("place {n}"), "distance_km": km, "surface": surface,
                            "ascent_m": up, "descent_m": up * down
                        });
                        if surface == "earth" {
                            leg["sand_share"] = json!(sand);
                        }
                        if one_way {
                            leg["return"] = json!({ "possible": false });
                        }
                        let pump = pump.map(|(litres, detour)| {
                            let mut pump = json!({});
                            if let Some(litres) = litres {
                                pump["litres"] = json!(litres);
                            }
                            // Detours only where pumps are not held against plans without them.
                            if let Some(detour) = detour.filter(|_| met_again) {
                                pump["detour_km"] = json!(detour);
                            }
                            pump
                        });
                        if met_again && name < 2 {
                            leg["to"] = json!(format!("met {name}"));
                            let pump = known[name].get_or_insert(pump.unwrap_or_else(|| json!({})));
                            leg["fuel"] = pump.clone();
                        } else if let Some(pump) = pump {
                            leg["fuel"] = pump;
                        }
                        leg
                    })
                    .collect();
                let mut start_place = json!({ "name": "start" });
                if sure_start {
                    start_place["fuel"] = json!({});
                }
                json!({
                    "drystage": 1,
                    "vehicle": {
                        "fuel": "petrol", "engine_l": 1.8, "base_l_per_100km": 10, "tank_l": tank,
                        "kerb_mass_kg": 1300, "gvm_kg": 2000
                    },
                    "rules": {
                        "reserve": { "litres": litres, "km": km, "percent": percent }, "start_l": tank * start
                    },
                    "start": start_place, "legs": legs
                })
            },
        )
}

/// The trip without the pumps at some places.
fn without(document: &Value, nodes: &[usize]) -> Plan {
    let mut document = document.clone();
    for node in nodes {
        document["legs"][node - 1]
            .as_object_mut()
            .unwrap()
            .remove("fuel");
    }
    plan(document)
}

fn nodes<'a>(stops: impl IntoIterator<Item = &'a DryAt>) -> Vec<usize> {
    let mut nodes: Vec<usize> = stops
        .into_iter()
        .flat_map(|stop| stop.nodes.clone())
        .collect();
    nodes.sort_unstable();
    nodes
}

/// Litres left after a leg that is driven kilometre by kilometre, the mass aboard falling.
fn driven(usage: Usage, length: Kilometres, aboard: f64) -> f64 {
    let steps = length.get().ceil().max(1.0);
    let rate = |left: f64| (usage.at_empty().get() + usage.growth().get() * left) / steps;
    let mut left = aboard;
    let mut step = 0.0;
    while step < steps {
        left -= rate(left - rate(left) / 2.0);
        step += 1.0;
    }
    left
}

/// What a stop that is dry leaves, found by driving: how many litres over nothing, and over the reserve, there are at the
/// worst place on the way on, and at the end of the way back.
struct ByDriving<'a> {
    plan: &'a Plan,
    reserve: Vec<f64>,
}

impl<'a> ByDriving<'a> {
    fn of(plan: &'a Plan) -> Self {
        // With no per cent, what must be left on arrival is the fixed reserve.
        let mut document = serde_json::to_value(&*plan.trip).unwrap();
        document["rules"]["reserve"]["percent"] = json!(0);
        let fixed = Plan::of(check::read(document).unwrap());
        let full = plan.trip.vehicle.usable_tank();
        let rate = plan.formula(1).usage(full).litres(full / 2.0) / plan.legs[0].distance;
        let rules = plan.trip.rules();
        let at_start = rules
            .reserve_litres(&plan.trip.vehicle)
            .max(rules.reserve_km() * rate);
        let reserve = std::iter::once(at_start)
            .chain(fixed.legs.iter().map(|leg| leg.reserve))
            .map(Litres::get)
            .collect();
        Self { plan, reserve }
    }

    /// One way of the detour to the pump of a place.
    fn detour(&self, node: usize, aboard: f64) -> f64 {
        let fuel = self.plan.trip.place(node).fuel.unwrap();
        let one_way = fuel.detour() / 2.0;
        let formula = self.plan.formula(node.max(1));
        let full = self.plan.trip.vehicle.usable_tank();
        let usage = Usage::between(
            formula.level_rate(Litres::ZERO) * one_way,
            formula.level_rate(full) * one_way,
            full,
        );
        if one_way > Kilometres::ZERO {
            driven(usage, one_way, aboard)
        } else {
            aboard
        }
    }

    /// Back on the route from the dry pump with so much more aboard than planned, and the margins there.
    fn at(&self, node: usize, more: f64) -> (f64, [f64; 2]) {
        let there = self.detour(node, self.plan.legs[node - 1].end.get() + more);
        let left = self.detour(node, there);
        (left, [there, there - self.reserve[node]])
    }

    /// On to a place; nothing where the stop there is limited, for then it is not enough to reach it.
    fn on(&self, node: usize, to: usize) -> Option<Driving> {
        Some(Driving {
            least: self.on_with(node, to, 0.0)?.0,
            kept: self.on_with(node, to, 1.0)?.1 - self.on_with(node, to, 0.0)?.1,
        })
    }

    /// The margins, and what is left at the end, with so much more aboard.
    fn on_with(&self, node: usize, to: usize, more: f64) -> Option<([f64; 2], f64)> {
        let full = self.plan.trip.vehicle.usable_tank();
        let (mut left, mut least) = self.at(node, more);
        for leg in node + 1..=to {
            let planned = &self.plan.legs[leg - 1];
            left = driven(self.plan.formula(leg).usage(full), planned.distance, left);
            if leg == to && to < self.plan.legs.len() {
                let fuel = self.plan.trip.place(to).fuel?;
                if fuel.litres.is_some() {
                    return None;
                }
                left = self.detour(to, left);
            }
            least = [least[0].min(left), least[1].min(left - self.reserve[leg])];
        }
        Some((least, left))
    }

    fn back(&self, node: usize, to: usize) -> Driving {
        Driving {
            least: self.back_with(node, to, 0.0).0,
            kept: self.back_with(node, to, 1.0).1 - self.back_with(node, to, 0.0).1,
        }
    }

    fn back_with(&self, node: usize, to: usize, more: f64) -> ([f64; 2], f64) {
        let full = self.plan.trip.vehicle.usable_tank();
        let (mut left, least) = self.at(node, more);
        for leg in (to + 1..=node).rev() {
            let stated = &self.plan.trip.legs[leg - 1];
            assert!(stated.can_return());
            let factor: Factor = stated.return_factor();
            let usage = self.plan.formula(leg).reversed(factor).usage(full);
            left = driven(usage, self.plan.legs[leg - 1].distance, left);
        }
        left = self.detour(to, left);
        (
            [least[0].min(left), least[1].min(left - self.reserve[to])],
            left,
        )
    }
}

/// A way as driven.
struct Driving {
    /// The least anywhere over nothing and over the reserve.
    least: [f64; 2],
    /// What is left at the end of a litre more at its start.
    kept: f64,
}

fn agrees(way: WayOut, driving: &Driving) -> Result<(), TestCaseError> {
    let [over_nothing, over_reserve] = driving.least;
    let expected = if over_reserve >= 0.0 {
        Open::Yes
    } else if over_nothing > 0.0 {
        Open::UsingReserve
    } else {
        Open::No
    };
    // Nearer than the steps of the driving nobody can tell.
    let near = over_reserve.abs().min(over_nothing.abs()) < 0.01;
    prop_assert!(
        near || way.open == expected,
        "{way:?}, by driving {over_nothing} and {over_reserve}"
    );
    // What is missing, or to spare, at the start is what is at the place where it is least, and what carrying it takes.
    let at_start = over_reserve / driving.kept;
    let [low, high] = [over_reserve.min(at_start), over_reserve.max(at_start)];
    let margin = way.margin.get();
    let hair = 0.01 + 1e-4 * at_start.abs();
    prop_assert!(
        (low - hair..high + hair).contains(&margin),
        "{way:?}, by driving {over_reserve}, {} kept of a litre",
        driving.kept
    );
    Ok(())
}

proptest! {
    #![proptest_config(kept::cases("dry_stops", 400))]

    #[test]
    fn driving_on_and_back_comes_to_the_same(document in trips(true, 0.3)) {
        let plan = plan(document);
        let by_driving = ByDriving::of(&plan);
        for stop in &plan.found_dry {
            if let Some(least) = by_driving.on(stop.node(), stop.go_on.to) {
                agrees(stop.go_on, &least)?;
            }
            if let Some(back) = stop.turn_back {
                agrees(back, &by_driving.back(stop.node(), back.to))?;
                continue;
            }
            let refuge = (0..stop.node()).rev().find(|&node| {
                let place = plan.trip.place(node);
                let name = plan.trip.place(stop.node()).name;
                place.name != name && place.fuel.is_some_and(|fuel| fuel.is_counted() && fuel.is_unlimited())
            });
            let closed = |refuge: usize| plan.trip.legs[refuge..stop.node()].iter().any(|leg| !leg.can_return());
            prop_assert!(refuge.is_none_or(closed), "{stop:?}");
        }
    }

    /// Each stop and each pair costs what the trip costs that is planned without it, in which nothing is as it was.
    #[test]
    fn a_trip_planned_without_the_pump_needs_as_much(document in trips(false, 0.5)) {
        let plan = plan(document.clone());
        let stops = &plan.dry().stops;
        for stop in stops {
            let anew = without(&document, &nodes([&stop.at])).spare.plain;
            prop_assert!((anew - stop.spare).abs() < Litres::new(1e-9), "{anew:?}, {stop:?}");
        }
        let mut worst = None;
        for (at, one) in stops.iter().enumerate() {
            for other in &stops[at + 1..] {
                let spare = without(&document, &nodes([&one.at, &other.at])).spare.plain;
                worst = worst.max(Some(spare.get().to_bits()));
            }
        }
        let told = plan.dry_pair().map(|pair| pair.spare.get());
        let worst = worst.map(f64::from_bits);
        prop_assert!(plan.dry_pair().is_none_or(|pair| pair.of_all));
        prop_assert_eq!(told.is_some(), worst.is_some());
        prop_assert!((told.unwrap_or(0.0) - worst.unwrap_or(0.0)).abs() < 1e-9, "{told:?}, {worst:?}");
    }

    /// With pumps that are met again and shared out, planning anew may rest short of the best, and so may this.
    #[test]
    fn a_pump_met_again_is_dry_each_time(document in trips(true, 0.01)) {
        let mut document = document;
        for leg in document["legs"].as_array_mut().unwrap() {
            if let Some(fuel) = leg.get_mut("fuel") {
                *fuel = json!({});
            }
        }
        let plan = plan(document.clone());
        for stop in &plan.dry().stops {
            let anew = without(&document, &stop.at.nodes).spare.plain;
            prop_assert!((anew - stop.spare).abs() < Litres::new(1e-9), "{anew:?}, {stop:?}");
        }
    }

    /// A dry stop never lowers the spare fuel, and a pair never needs less than either alone.
    #[test]
    fn more_dry_never_needs_less(document in trips(true, 0.5)) {
        let mut document = document;
        for leg in document["legs"].as_array_mut().unwrap() {
            if let Some(fuel) = leg.get_mut("fuel") {
                fuel.as_object_mut().unwrap().remove("detour_km");
            }
        }
        let plan = plan(document);
        let pair = plan.dry_pair();
        for stop in &plan.dry().stops {
            prop_assert!(stop.spare >= plan.spare.plain - Litres::new(1e-9), "{stop:?}");
            prop_assert!(pair.is_none_or(|pair| pair.spare >= stop.spare - Litres::new(1e-9)), "{stop:?}, {pair:?}");
        }
        // With the first dry too there is less aboard at the second, and no easier way.
        if let Some(pair) = pair && let Some((on, back)) = pair.at_second {
            let second = plan.found_dry.iter().find(|at| at.node() == pair.nodes[1]).unwrap();
            let near = Litres::new(1e-9);
            prop_assert!(on.margin <= second.go_on.margin + near, "{pair:?}, {second:?}");
            let alone = second.turn_back.map_or(Litres::new(f64::NEG_INFINITY), |back| back.margin);
            prop_assert!(back.is_none_or(|back| back.margin <= alone + near), "{pair:?}, {second:?}");
        }
    }

    /// More in the tank at the start never closes a way that was open.
    #[test]
    fn more_aboard_never_closes_a_way(document in trips(true, 0.5), more in 0.0..40.0_f64) {
        let mut richer = document.clone();
        let tank = document["vehicle"]["tank_l"].as_f64().unwrap();
        let start = document["rules"]["start_l"].as_f64().unwrap();
        richer["rules"]["start_l"] = json!((start + more).min(tank));
        let (poor, rich) = (plan(document), plan(richer));
        prop_assert_eq!(poor.found_dry.len(), rich.found_dry.len());
        for (poor, rich) in poor.found_dry.iter().zip(&rich.found_dry) {
            prop_assert!(rich.go_on.open >= poor.go_on.open && rich.go_on.margin >= poor.go_on.margin - Litres::new(1e-9));
            prop_assert_eq!(rich.turn_back.is_some(), poor.turn_back.is_some());
            if let (Some(rich), Some(poor)) = (rich.turn_back, poor.turn_back) {
                prop_assert!(rich.open >= poor.open && rich.margin >= poor.margin - Litres::new(1e-9));
            }
        }
    }
}

/// All pairs of fifty limited stops are tried, of more only neighbours, and that is said.
#[test]
fn beyond_fifty_limited_stops_only_neighbours_are_tried() {
    let trip = |stops: usize| -> Trip {
        let legs: Vec<Value> = (0..=stops)
            .map(|n| with_pump(&format!("place {n}"), 60.0, json!({ "litres": 9 })))
            .collect();
        check::read(by_hand(5.0, &legs)).unwrap()
    };
    for (stops, of_all) in [(50, true), (51, false)] {
        let plan = Plan::of(trip(stops));
        assert_eq!(plan.dry().stops.len(), stops);
        let pair = plan.dry_pair().unwrap();
        assert_eq!(pair.of_all, of_all, "{stops}");
    }
}
