//! Fuel stops without fuel, against cases worked by hand: the margins are so large that all of the simulated trips end
//! in one way, or none do. And what it takes to plan without a stop, against the trip that is planned so.

use crate::{EFFORT, kept};

use drystage::model::check;
use drystage::plan::dry::{Choices, DryStop, Open};
use drystage::plan::{Action, Ends, Plan};
use drystage::quantity::{Kilometres, Litres, Share};
use proptest::prelude::*;
use serde_json::{Value, json};

fn plan(document: Value) -> Plan {
    let trip = check::read(document).unwrap_or_else(|problems| panic!("{problems:?}"));
    Plan::at_target(trip, EFFORT)
}

/// A trip whose vehicle takes about 10 L/100 km on its level sealed legs, give or take a tenth. 50 L in the tank at the
/// start, where there is more.
fn by_hand(reserve: f64, legs: &[Value]) -> Value {
    json!({
        "drystage": 1,
        "vehicle": {
            "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 10, "baseline_from": "fills", "tank_l": 50,
            "kerb_mass_kg": 1300, "gvm_kg": 2000, "unusable_l": 0
        },
        "load": { "people": [{ "name": "driver", "mass_kg": 75 }] },
        "rules": { "reserve": { "litres": reserve }, "contingency_percent": 0 },
        "start": { "name": "A", "fuel": {} },
        "legs": legs
    })
}

fn leg(to: &str, km: f64) -> Value {
    json!({ "to": to, "distance_km": km, "surface": "sealed" })
}

fn stop(to: &str, km: f64, fuel: Value) -> Value {
    let mut leg = leg(to, km);
    leg["fuel"] = fuel;
    leg
}

/// How all trips end, but for a few in a hundred.
#[derive(Clone, Copy, Debug)]
enum All {
    Intact,
    Using,
    RunOut,
}

fn end(ends: Ends, as_all: All) {
    let share = match as_all {
        All::Intact => ends.reserve_intact,
        All::Using => ends.using_reserve,
        All::RunOut => ends.ran_out,
    };
    assert!(share.share.get() > 0.97, "{as_all:?}: {ends:?}");
    let sum = ends.reserve_intact.share.get() + ends.using_reserve.share.get();
    assert!((sum + ends.ran_out.share.get() - 1.0).abs() < 1e-9);
}

fn only(plan: &Plan) -> &DryStop {
    let [stop] = &plan.dry().stops[..] else {
        panic!("{:?}", plan.dry())
    };
    stop
}

fn ends(choices: &Choices) -> (Ends, Ends) {
    (choices.shares.on, choices.shares.back.unwrap())
}

/// One stop that has fuel for sure, so many kilometres from the start and from the finish.
fn one_stop(reserve: f64, before: f64, after: f64) -> Plan {
    plan(by_hand(
        reserve,
        &[stop("B", before, json!({})), leg("C", after)],
    ))
}

/// By hand: 40 L on board at B. On to C takes 10 L, or 60 L, of the 40 L; back to A 10 L; 5 L are the reserve.
#[test]
fn with_much_on_board_both_are_open() {
    let near = one_stop(5.0, 100.0, 100.0);
    let at = only(&near);
    assert_eq!(
        (&at.place_numbers[..], at.place_number(), at.chance.get()),
        (&[1][..], 1, 1.0)
    );
    assert_eq!((at.choices.on_to, at.choices.back_to), (2, Some(0)));
    let (on, back) = ends(&at.choices);
    end(on, All::Intact);
    end(back, All::Intact);
    assert_eq!((at.choices.on(), at.choices.back()), (Open::Yes, Open::Yes));
    assert_eq!(at.choices.shares.recommended(), Action::Continue);
    assert!(at.needed_without == Some(Litres::ZERO) && near.dry().critical.is_none());

    let far = one_stop(5.0, 100.0, 600.0);
    let (on, back) = ends(&only(&far).choices);
    end(on, All::RunOut);
    end(back, All::Intact);
    assert_eq!(only(&far).choices.on(), Open::No);
    assert_eq!(only(&far).choices.shares.recommended(), Action::Return);
    assert!(!only(&far).choices.strands());
}

/// By hand: 40 L at B. On to C takes 15 L and leaves 25 L of the 40 L that are the reserve. From B at km 150, with 35
/// L, back to A takes 15 L and leaves 20 L of it.
#[test]
fn the_reserve_is_used_and_said_to_be() {
    let plan = one_stop(40.0, 100.0, 150.0);
    end(only(&plan).choices.shares.on, All::Using);
    assert_eq!(only(&plan).choices.on(), Open::UsingReserve);
    assert_eq!(only(&plan).choices.shares.recommended(), Action::Continue);

    let plan = one_stop(40.0, 150.0, 600.0);
    let (on, back) = ends(&only(&plan).choices);
    end(on, All::RunOut);
    end(back, All::Using);
    assert_eq!(only(&plan).choices.back(), Open::UsingReserve);
    assert_eq!(only(&plan).choices.shares.recommended(), Action::Return);
}

/// By hand: 15 L at B. Back to A takes 35 L. On to C takes 1 L; then 15 L, which about half of the trips have; then 40
/// L.
#[test]
fn the_recommended_action_is_the_one_after_which_fewer_run_out() {
    let [near, even, far] = [10.0, 150.0, 400.0].map(|after| one_stop(1.0, 350.0, after));
    end(only(&near).choices.shares.on, All::Intact);
    let (on, back) = ends(&only(&even).choices);
    assert!((0.2..0.8).contains(&on.ran_out.share.get()), "{on:?}");
    end(back, All::RunOut);
    for (plan, recommended, strands) in [
        (&near, Action::Continue, false),
        (&even, Action::Continue, true),
        // As many run out either way.
        (&far, Action::Return, true),
    ] {
        let choices = &only(plan).choices;
        assert_eq!(
            (choices.shares.recommended(), choices.strands()),
            (recommended, strands)
        );
        // It is the critical fuel stop if it strands.
        assert_eq!(plan.dry().critical_stop().is_some(), strands);
    }
}

/// By hand: 32 L at B, and the stop is 160 km off the route, so 32 L are driven to no avail. Without the detour 18 L
/// back are far less than there is.
#[test]
fn the_detour_to_a_dry_stop_is_driven_whatever_is_done() {
    let fuel = json!({ "detour_km": 320 });
    let off_route = plan(by_hand(0.0, &[stop("B", 180.0, fuel), leg("C", 270.0)]));
    let (on, back) = ends(&only(&off_route).choices);
    end(on, All::RunOut);
    end(back, All::RunOut);
    end(
        ends(&only(&one_stop(0.0, 180.0, 270.0)).choices).1,
        All::Intact,
    );
}

/// By hand: B is met at km 100 and 300. On past it takes 75 L to the finish, since the second visit gives nothing
/// either; with fuel there it would be 30 L to it and 45 L after it.
#[test]
fn a_stop_met_twice_is_dry_twice() {
    let legs = [
        stop("B", 100.0, json!({})),
        leg("C", 100.0),
        stop("B", 100.0, json!({})),
        leg("D", 450.0),
    ];
    let plan = plan(by_hand(2.0, &legs));
    let at = only(&plan);
    assert_eq!((&at.place_numbers[..], at.choices.on_to), (&[1, 3][..], 4));
    end(at.choices.shares.on, All::RunOut);
    end(at.choices.shares.back.unwrap(), All::Intact);
}

/// By hand: no sure fuel behind, since the leg cannot be driven the other way; 60 L on to C with 40 L on board. A stop
/// that may be dry and strands is reported, one that surely has fuel is not.
#[test]
fn over_a_leg_of_no_return_nobody_returns() {
    for chance in [0.97, 1.0] {
        let mut into = stop("B", 100.0, json!({ "chance": chance }));
        into["return"] = json!({ "possible": false });
        let mut document = by_hand(2.0, &[into, leg("C", 600.0)]);
        document["load"]["cans"] =
            json!([{ "size_l": 20, "empty_kg": 4, "owned": 2, "places": ["rear"] }]);
        let plan = plan(document);
        let at = only(&plan);
        assert_eq!((at.choices.shares.back, at.choices.back_to), (None, None));
        end(at.choices.shares.on, All::RunOut);
        assert_eq!(at.choices.shares.recommended(), Action::Continue);
        let is_found = plan
            .findings
            .iter()
            .any(|found| found.code() == "stop-strands");
        assert_eq!(is_found, chance < 1.0);
    }
}

/// By hand: 40 L at B. C, 100 km on, has 10 L and lies 600 km before the finish: all reach C, and none the finish.
#[test]
fn to_reach_a_limited_stop_is_not_enough() {
    let legs = [
        stop("B", 100.0, json!({})),
        stop("C", 100.0, json!({ "litres": 10 })),
        leg("D", 650.0),
    ];
    let plan = plan(by_hand(2.0, &legs));
    let at = &plan.dry().stops[0];
    assert_eq!(at.choices.on_to, 3);
    end(at.choices.shares.on, All::RunOut);
}

/// By hand, 16 L to each place. B or C or D dry: 32 L in one go. Two neighbours dry: 48 L, which about half of the
/// trips have at the start. B and D dry: C lies between. With 46 L to each place no trip gets past two.
#[test]
fn the_worst_pair_are_neighbours() {
    let four = |km: f64| {
        let sure = |to| stop(to, km, json!({}));
        plan(by_hand(
            1.0,
            &[sure("B"), sure("C"), sure("D"), leg("E", km)],
        ))
    };
    let near = four(160.0);
    for at in &near.dry().stops {
        end(at.choices.shares.on, All::Intact);
    }
    let pair = near.dry().pair.clone().unwrap();
    assert!(
        [[1, 2], [2, 3]].contains(&pair.place_numbers) && pair.of_all,
        "{pair:?}"
    );
    let choices = pair.choices.unwrap();
    assert!(
        (0.1..0.9).contains(&choices.shares.on.ran_out.share.get()),
        "{choices:?}"
    );
    end(choices.shares.back.unwrap(), All::RunOut);

    let far = four(460.0).dry().pair.clone().unwrap();
    assert_eq!(far.choices, None);
}

/// By hand: with more stops than are tried two by two only neighbours are, and that is said.
#[test]
fn of_many_stops_only_neighbours_are_tried() {
    let legs: Vec<Value> = (0..8)
        .map(|n| stop(&format!("place {n}"), 60.0, json!({})))
        .collect();
    let plan = plan(by_hand(1.0, &legs));
    assert_eq!(plan.dry().stops.len(), 7);
    let pair = plan.dry().pair.clone().unwrap();
    assert!(!pair.of_all);
    end(pair.choices.unwrap().shares.on, All::Intact);
}

/// By hand, 750 km on a tank of 50 L: one can of 47.5 L. It is lost just before it is decanted at the halt at km 200,
/// with 30 L in the tank: 55 L on to the finish, 20 L back. At the finish it is missed by nobody.
#[test]
fn a_can_is_lost_where_that_hurts_most_and_never_at_the_finish() {
    let with_can = |legs: &[Value]| {
        let mut document = by_hand(1.0, legs);
        document["load"]["cans"] =
            json!([{ "size_l": 50, "empty_kg": 0, "owned": 1, "places": ["rear"] }]);
        plan(document)
    };
    let far = with_can(&[leg("B", 200.0), leg("C", 550.0)]);
    let lost = far.dry().can_lost.clone().unwrap();
    assert_eq!(lost.litres, Litres::new(47.5));
    assert!(lost.at_km < Kilometres::new(750.0));
    end(lost.choices.shares.on, All::RunOut);
    assert_eq!((lost.choices.on_to, lost.choices.back_to), (2, Some(0)));
    assert_eq!(with_can(&[leg("B", 100.0)]).dry().can_lost, None);
}

/// By hand: C and D are 45 L apart from one another but for the stop between, B and C 10 L. Without D the trip takes
/// the most, and without B nothing.
#[test]
fn the_dearest_stop_is_critical_where_none_strands() {
    let legs = [
        stop("B", 50.0, json!({})),
        stop("C", 50.0, json!({})),
        stop("D", 225.0, json!({})),
        leg("E", 225.0),
    ];
    let mut document = by_hand(1.0, &legs);
    document["load"]["cans"] =
        json!([{ "size_l": 20, "empty_kg": 4, "owned": 2, "places": ["rear"] }]);
    let plan = plan(document);
    let critical = plan.dry().critical_stop().unwrap();
    assert_eq!(critical.place_number(), 3);
    let needed = |at: usize| plan.dry().stops[at].needed_without.unwrap();
    assert!(needed(2) > needed(0) && needed(0) == Litres::ZERO);
    let more = critical.more.unwrap();
    assert!(
        more.size == Litres::new(20.0) && more.count >= 1,
        "{more:?}"
    );
}

/// The best estimate alone has no simulated trips to ask.
#[test]
fn without_simulated_trips_nothing_is_said() {
    let document = by_hand(5.0, &[stop("B", 100.0, json!({})), leg("C", 100.0)]);
    let plan = Plan::best_estimate(check::read(document).unwrap());
    assert_eq!(*plan.dry(), drystage::plan::dry::DryStops::default());
    assert!(plan.fuel_checks.is_empty());
}

/// Random trips with unconfirmed and limited stops, some met again, and cans enough for many of them.
fn trips() -> impl Strategy<Value = Value> {
    let fuel = (
        prop::option::weighted(0.25, 5.0..60.0_f64),
        prop::option::weighted(0.7, 0.5..1.0_f64),
    );
    let leg = (
        20.0..260.0_f64,
        prop::sample::select(&["sealed", "gravel", "earth", "rock"][..]),
        prop::option::weighted(0.7, fuel),
        prop::bool::weighted(0.1),
    );
    let rules = (prop::sample::select(&[0.5, 0.8, 0.95][..]), any::<bool>());
    (prop::collection::vec(leg, 2..6), 40.0..80.0_f64, rules).prop_map(
        |(legs, tank, (target, turns_back))| {
            let legs: Vec<Value> = legs
                .into_iter()
                .enumerate()
                .map(|(n, (km, surface, fuel, one_way))| {
                    let mut leg = json!({ "to": format!("place {n}"), "distance_km": km, "surface": surface });
                    if let Some((litres, chance)) = fuel {
                        leg["fuel"] = json!({ "litres": litres, "chance": chance });
                        leg["fuel"].as_object_mut().unwrap().retain(|_, value| !value.is_null());
                    }
                    if one_way {
                        leg["return"] = json!({ "possible": false });
                    }
                    leg
                })
                .collect();
            let mut document = by_hand(5.0, &legs);
            document["vehicle"]["tank_l"] = json!(tank);
            document["load"]["cans"] = json!([
                { "size_l": 20, "empty_kg": 4, "owned": 0, "may_buy": 6, "places": ["rear"] }
            ]);
            document["rules"]["success_target"] = json!(target);
            document["rules"]["unconfirmed_stops"] = json!(if turns_back { "turn-back" } else { "skip" });
            document
        },
    )
}

proptest! {
    #![proptest_config(kept::cases("dry_stops", 6))]

    /// What the trip takes without a stop is what planning it with a chance of 0 there prints, to the digit; without an
    /// unconfirmed one never less than with it.
    #[test]
    fn without_a_stop_it_takes_what_planning_without_it_takes(document in trips()) {
        let with = plan(document.clone());
        for at in &with.dry().stops {
            let mut without = document.clone();
            for place_number in &at.place_numbers {
                without["legs"][place_number - 1]["fuel"]["chance"] = json!(0);
            }
            let without = plan(without).in_cans.needed;
            prop_assert_eq!(at.needed_without, Some(without));
            // Confirmed fuel is always relied on, and who fills there is asked to leave with enough for 95 of 100.
            prop_assert!(at.chance.get() >= 1.0 || without >= with.in_cans.needed, "{without:?} without {}, {:?} with it: {document}", at.place_number(), with.in_cans.needed);
        }
    }

    /// Shares are shares, and the words follow from them.
    #[test]
    fn words_follow_from_shares(document in trips()) {
        let plan = plan(document);
        for at in &plan.dry().stops {
            let choices = at.choices;
            prop_assert_eq!(choices.shares.back.is_some(), choices.back_to.is_some());
            prop_assert!(choices.on_to > at.place_number());
            let target = plan.trip.rules().success_target();
            let ran_out = choices.shares.on.ran_out.share;
            match choices.on() {
                Open::Yes => prop_assert!(choices.shares.on.reserve_intact.share >= target),
                Open::UsingReserve => prop_assert!(ran_out.get() <= 1.0 - target.get()),
                Open::No => prop_assert!(ran_out.get() > 1.0 - target.get()),
            }
            let is_found = plan.findings.iter().any(|found| {
                found.code() == "stop-strands" && found.at == drystage::plan::Where::Place(at.place_number())
            });
            prop_assert_eq!(is_found, choices.strands() && at.chance < Share::new(1.0));
        }
    }
}
