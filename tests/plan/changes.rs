//! Every change and its inverse, on random trips; what follows a leg that moves; what a cut conserves.

use crate::kept;
use crate::legal;
use crate::wishes;

use drystage::model::change::{Change, ChangeError, History, Step, stated};
use drystage::model::route::Leg;
use drystage::model::{Trip, check};
use drystage::plan::Plan;
use drystage::quantity::{Hours, Kilometres};
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::TestCaseError;
use serde_json::{Value, json};

use wishes::{change, wishes};

fn example() -> Trip {
    let text = include_str!("../data/example-trip.json");
    check::read(serde_json::from_str(text).unwrap()).unwrap()
}

proptest! {
    #![proptest_config(kept::cases("changes", 128))]

    /// Applied and undone, any change gives the equal trip; done again it gives what it gave. In between stands a
    /// sound trip, and the change is the same after it was written and read.
    #[test]
    fn a_change_and_its_inverse_leave_the_trip_as_it_was(
        document in legal::documents(),
        wishes in prop::collection::vec(wishes(), 1..6),
    ) {
        let mut trip = check::read(document).unwrap();
        let mut history = History::new(trip.clone());
        let mut states = vec![trip.clone()];
        for wish in &wishes {
            let Ok(change) = change(&trip, wish) else { continue };
            let written = serde_json::to_string(&change).unwrap();
            let read: Change = serde_json::from_str(&written).unwrap();
            let Ok((changed, inverse)) = change.apply(&trip) else {
                prop_assert!(history.clone().make(&change).is_err());
                continue;
            };
            prop_assert_eq!(check::problems(&changed.to_document()), vec![], "{:?}", change);
            prop_assert_eq!(&check::read(changed.to_document()).unwrap(), &changed);
            prop_assert_eq!(&read.apply(&trip).unwrap().0, &changed, "after writing and reading {}", written);
            let (back, again) = inverse.apply(&changed).map_err(|e| TestCaseError::fail(format!("{e}: {inverse:?}")))?;
            prop_assert_eq!(&back, &trip, "{:?} undone by {:?}", change, inverse);
            prop_assert_eq!(&again.apply(&back).unwrap().0, &changed);
            history.make(&change).unwrap();
            for what_if in changed.what_ifs() {
                // However it is done, it gives what the patched document is.
                let mut document = changed.to_document();
                if let (Ok(with), Ok(())) = (
                    changed.with_what_if(&what_if.name),
                    json_patch::patch(&mut document, &what_if.change),
                ) {
                    prop_assert_eq!(check::read(document).unwrap(), with);
                }
            }
            trip = changed;
            states.push(trip.clone());
        }
        for state in states.iter().rev().skip(1) {
            prop_assert!(history.is_changed());
            prop_assert!(history.undo().is_some());
            prop_assert_eq!(&**history.trip(), state);
        }
        prop_assert!(!history.is_changed());
        prop_assert_eq!(history.undo(), None);
        for state in states.iter().skip(1) {
            prop_assert!(history.redo().is_some());
            prop_assert_eq!(&**history.trip(), state);
        }
        prop_assert_eq!(history.redo(), None);
    }

    /// What a cut or a join does to a leg leaves way, climb, descent and idle hours of the trip as they were.
    #[test]
    fn a_cut_and_a_join_conserve_what_adds_up(
        document in legal::documents(),
        at in any::<Index>(),
        share in 0.01..0.99,
        join in any::<bool>(),
    ) {
        let mut trip = check::read(document).unwrap();
        // What was driven is shared out over the legs by what they take, which a cut changes.
        trip.log = None;
        let at = at.index(trip.legs.len());
        if join && at + 1 < trip.legs.len() {
            // Alike in what must be the same; the rest differs as it comes.
            trip.legs[at].fuel = None;
            let (day, first) = (trip.days()[at], trip.legs[at].clone());
            let second = &mut trip.legs[at + 1];
            (second.surface, second.speed_kmh) = (first.surface, first.speed_kmh);
            (second.aired_down, second.aircon) = (first.aired_down, first.aircon);
            second.day = Some(day);
        }
        let before = Plan::best_estimate(trip.clone());
        let change = if join {
            Change::join_legs(&trip, at)
        } else {
            Change::split_leg(&trip, at, before.legs[at].distance * share, "a new place")
        };
        let Ok((changed, _)) = change.and_then(|change| change.apply(&trip)) else { return Ok(()) };
        let after = Plan::best_estimate(changed.clone());
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-6 * a.abs().max(1.0);
        prop_assert!(near(before.totals.distance.get(), after.totals.distance.get()), "{:?} {:?}", before.totals, after.totals);
        prop_assert!(near(before.totals.ascent.get(), after.totals.ascent.get()), "{:?} {:?}", before.totals, after.totals);
        let descent = |plan: &Plan| plan.legs.iter().map(|leg| leg.descent.get()).sum::<f64>();
        prop_assert!(near(descent(&before), descent(&after)));
        let idle = |trip: &Trip| trip.legs.iter().filter_map(|leg| leg.idle_h).map(Hours::get).sum::<f64>();
        prop_assert!(near(idle(&trip), idle(&changed)));
        let sand = |trip: &Trip, plan: &Plan| trip.legs.iter().zip(&plan.legs)
            .map(|(leg, planned)| leg.sand_share().get() * planned.distance.get()).sum::<f64>();
        prop_assert!(near(sand(&trip, &before), sand(&changed, &after)));
        prop_assert_eq!(before.stops.len(), after.stops.len());
    }
}

/// What is in the document at a pointer after a change.
fn after(change: Result<Change, ChangeError>, trip: &Trip, at: &str) -> Value {
    let (changed, _) = change.and_then(|change| change.apply(trip)).unwrap();
    stated(&changed, at).unwrap_or_default()
}

/// The example's second what-if speaks of leg 4, `/legs/3`.
#[test]
fn a_stored_what_if_follows_its_leg() {
    let trip = example();
    let guard = "/what_ifs/1/change/0/path";
    let change = "/what_ifs/1/change/1/path";
    let followed = |made: Result<Change, ChangeError>| {
        (
            after(made.clone(), &trip, guard),
            after(made, &trip, change),
        )
    };
    let both = |number: &str| {
        (
            json!(format!("/legs/{number}/to")),
            json!(format!("/legs/{number}/sand_share")),
        )
    };
    let mut new = Leg::to("Half Way");
    new.distance_km = Some(Kilometres::new(10.0));
    assert_eq!(
        followed(Ok(Change::insert_leg(&trip, 0, new.clone()))),
        both("4")
    );
    assert_eq!(followed(Ok(Change::insert_leg(&trip, 4, new))), both("3"));
    assert_eq!(followed(Change::delete_legs(&trip, 0, 2)), both("1"));
    assert_eq!(followed(Change::move_legs(&trip, 3, 1, 0)), both("0"));
    assert_eq!(followed(Change::move_legs(&trip, 0, 1, 3)), both("2"));
    // Of a leg that is gone it speaks no more, whatever leg now has the number.
    assert_eq!(followed(Change::delete_legs(&trip, 3, 1)), both("-"));
    let (without, _) = Change::delete_legs(&trip, 3, 1)
        .unwrap()
        .apply(&trip)
        .unwrap();
    assert_eq!(
        without
            .with_what_if("twice the sand")
            .unwrap_err()
            .to_string(),
        "what-if `twice the sand` no longer fits the trip: /legs/-/to: must be \"Dune Gate\", got nothing"
    );
    // A place that is renamed is still the same place.
    let renamed = Change::set(&trip, "/legs/3/to", Some(json!("Dune Wall")));
    assert_eq!(
        after(Ok(renamed), &trip, "/what_ifs/1/change/0/value"),
        json!("Dune Wall")
    );
}

/// A what-if that itself takes legs out and puts legs in counts on from there.
/// What-ifs may speak of one another, and follow one another when one goes, moves or is renamed; undone, all is as it
/// was.
#[test]
fn what_ifs_that_speak_of_one_another_come_back() {
    let mut trip = example();
    trip.what_ifs = serde_json::from_value(json!([
        { "name": "first", "change": [] },
        { "name": "second", "change": [{ "op": "add", "path": "/rules", "value": {} }] },
        { "name": "third", "change": [
            { "op": "test", "path": "/what_ifs/1/name", "value": "second" },
            { "op": "replace", "path": "/what_ifs/1/change/0/value", "value": { "seed": 5 } }
        ] }
    ]))
    .unwrap();
    let renamed = Change::set(&trip, "/what_ifs/1/name", Some(json!("another")));
    for change in [Change::remove_item(&trip, "/what_ifs", 0), renamed] {
        let (changed, inverse) = change.apply(&trip).unwrap();
        assert_ne!(
            changed.what_ifs().last(),
            trip.what_ifs().last(),
            "{change:?}"
        );
        assert_eq!(inverse.apply(&changed).unwrap().0, trip, "{change:?}");
    }
}

#[test]
fn a_what_if_that_moves_legs_counts_them_as_it_goes() {
    let mut trip = example();
    trip.what_ifs = serde_json::from_value(json!([{ "name": "by the coast", "change": [
        { "op": "remove", "path": "/legs/1" },
        { "op": "add", "path": "/legs/2", "value": { "to": "Cove", "distance_km": 20 } },
        { "op": "replace", "path": "/legs/2/distance_km", "value": 25 },
        { "op": "replace", "path": "/legs/4/sand_share", "value": 0.2 },
        { "op": "move", "from": "/legs/0", "path": "/legs/3" },
        { "op": "add", "path": "/legs/-", "value": { "to": "End", "distance_km": 1 } }
    ] }]))
    .unwrap();
    // Leg 1 (Cold Spring) goes to the end of the list: 1 2 3 4 5 0.
    let change = Change::move_legs(&trip, 0, 1, 5).unwrap();
    let (changed, _) = change.apply(&trip).unwrap();
    let pointers: Vec<String> = changed.what_ifs()[0]
        .change
        .iter()
        .map(|operation| operation.path().to_string())
        .collect();
    // Without leg 2 the list was 0 2 3 4 5 and is 2 3 4 5 0. Cove came before 3: 0 2 C 3 4 5 and 2 C 3 4 5 0.
    // Number 4 was leg 4, which is 3 now. Leg 0 then went before 4: 2 C 3 0 4 5, and before 4 it is put: number 3.
    assert_eq!(
        pointers,
        [
            "/legs/0",
            "/legs/1",
            "/legs/1/distance_km",
            "/legs/3/sand_share",
            "/legs/3",
            "/legs/-"
        ]
    );
}

#[test]
fn what_is_said_of_a_leg_is_said_of_both_halves() {
    let trip = example();
    let split = Change::split_leg(&trip, 3, Kilometres::new(18.5), "Gap").unwrap();
    let (changed, _) = split.apply(&trip).unwrap();
    assert_eq!(split.name, "split leg 4 at 18.5 km");
    let sandy = changed.with_what_if("twice the sand").unwrap();
    assert_eq!(json!(sandy.legs[3].sand_share), json!(0.8));
    assert_eq!(json!(sandy.legs[4].sand_share), json!(0.8));
    assert_eq!(json!(changed.legs[3].distance_km), json!(18.5));
    assert_eq!(json!(changed.legs[4].distance_km), json!(55.5));
    assert_eq!(changed.legs[4].to, "Dune Gate");
    // A quarter of 260 m up; the stop, the position and the remark stay with the place.
    assert_eq!(json!(changed.legs[3].ascent_m), json!(65));
    assert_eq!((&changed.legs[3].note, changed.legs[3].lat), (&None, None));
    assert_eq!(changed.legs[4].note, trip.legs[3].note);
    // Joined again it is the leg that it was.
    let (joined, _) = Change::join_legs(&changed, 3)
        .unwrap()
        .apply(&changed)
        .unwrap();
    assert_eq!(joined.legs[3], trip.legs[3]);
}

/// A track of several lines is cut where its length says, in a line or between two; the gaps stay gaps.
#[test]
fn a_leg_with_several_lines_of_track_is_cut() {
    let mut document = serde_json::to_value(example()).unwrap();
    let leg = &mut document["legs"][3];
    leg.as_object_mut().unwrap().remove("distance_km");
    // Three lines, each a hundredth of a degree of longitude long, with gaps of as much.
    leg["track"] = json!([
        [[10.00, 0], [10.01, 0]],
        [[10.02, 0], [10.03, 0]],
        [[10.04, 0], [10.05, 0]]
    ]);
    let trip = drystage::model::check::read(document).unwrap();
    let length =
        |leg: &Leg| Kilometres::from(leg.track.as_ref().unwrap().profile().unwrap().length);
    let whole = length(&trip.legs[3]);
    for (share, lines) in [
        (0.2, [1, 3]),
        (1.0 / 3.0, [1, 2]),
        (0.5, [2, 2]),
        (0.9, [3, 1]),
    ] {
        // A little past a third, so that rounding does not decide.
        let km = whole * (share + 1e-12);
        let split = Change::split_leg(&trip, 3, km, "Gap").unwrap();
        let (changed, undo) = split.apply(&trip).unwrap();
        let halves = [&changed.legs[3], &changed.legs[4]];
        let counts = halves.map(|leg| leg.track.as_ref().unwrap().lines().len());
        assert!(
            counts == lines || (share - 1.0 / 3.0).abs() < 1e-9 && counts == [2, 2],
            "{share}: {counts:?}"
        );
        let [one, two] = halves.map(length);
        assert!(
            (one - km).abs() < Kilometres::new(1e-6),
            "{share}: {one:?} of {km:?}"
        );
        assert!((one + two - whole).abs() < Kilometres::new(1e-6));
        let (joined, _) = Change::join_legs(&changed, 3)
            .unwrap()
            .apply(&changed)
            .unwrap();
        assert!((length(&joined.legs[3]) - whole).abs() < Kilometres::new(1e-6));
        assert_eq!(undo.apply(&changed).unwrap().0, trip);
        let text = serde_json::to_string(&changed).unwrap();
        let read = drystage::model::check::read(serde_json::from_str(&text).unwrap()).unwrap();
        assert_eq!(read, changed);
    }
}

#[test]
fn changes_are_named_for_who_undoes_them() {
    let trip = example();
    let named = |at: &str, to: Value| Change::set(&trip, at, Some(to)).name;
    assert_eq!(
        named("/legs/3/distance_km", json!(80)),
        "leg 4: distance 74 -> 80 km"
    );
    assert_eq!(
        named("/legs/0/headwind_kmh", json!(20)),
        "leg 1: headwind not set -> 20 km/h"
    );
    assert_eq!(
        named("/load/gear/1/mass_kg", json!(20)),
        "food and stove: mass 22 -> 20 kg"
    );
    assert_eq!(
        named("/vehicle/baseline_l_per_100km", json!(9)),
        "vehicle: baseline consumption 9.4 -> 9 L/100 km"
    );
    assert_eq!(
        named("/name", json!("x")),
        "trip: name Four days to the salt edge (invented) -> x"
    );
    assert_eq!(
        Change::set(&trip, "/legs/5/fuel", None).name,
        "leg 6: fuel set -> not set"
    );
    assert_eq!(
        Change::delete_legs(&trip, 1, 2).unwrap().name,
        "delete legs 2 to 3"
    );
    assert_eq!(
        Change::remove_item(&trip, "/load/gear", 0).name,
        "delete drinking water"
    );
}

/// Each of two tracks knows one height, so neither shows a climb; joined they would show 900 m.
#[test]
fn a_join_makes_no_climb() {
    let mut document = serde_json::to_value(example()).unwrap();
    let track = |from: Value, to: Value| json!([from, to]);
    document["legs"] = json!([
        { "to": "x", "distance_km": 10, "track": track(json!([0, 0]), json!([0, 0.1, 100])) },
        { "to": "y", "distance_km": 10, "track": track(json!([0, 0.1]), json!([0, 0.2, 1000])) },
    ]);
    document.as_object_mut().unwrap().remove("what_if");
    let trip = check::read(document).unwrap();
    let (joined, _) = Change::join_legs(&trip, 0).unwrap().apply(&trip).unwrap();
    let ascent = |trip: &Trip| Plan::best_estimate(trip.clone()).totals.ascent;
    assert_eq!(ascent(&joined), ascent(&trip));
}

#[test]
fn what_cannot_be_changed_is_reported() {
    let trip = example();
    let refusal = |change: Result<Change, ChangeError>| {
        change
            .and_then(|change| change.apply(&trip))
            .unwrap_err()
            .to_string()
    };
    let set = |at: &str, to: Value| refusal(Ok(Change::set(&trip, at, Some(to))));
    assert_eq!(
        set("/legs/3/sand_share", json!(1.4)),
        "/legs/3/sand_share: must be 0 to 1, got 1.4 (for 1.4 % write 0.014)"
    );
    assert_eq!(
        set("/legs/3/sand", json!(1)),
        "/legs/3/sand: unknown key; did you mean `sand_share`?"
    );
    assert_eq!(
        set("/legs/9/to", json!("x")),
        "cannot change `/legs/9/to`: there is no such leg; the trip has 6 legs, /legs/0 to /legs/5"
    );
    assert_eq!(
        set("/vehicle/tank_l", json!(40)),
        "/rules/start_l: must be at most 40 L, the tank capacity, got 55"
    );
    assert_eq!(
        refusal(Ok(Change::set(&trip, "/vehicle/tank_l", None))),
        "/vehicle/tank_l: is missing; must be 10 to 400 L"
    );
    assert_eq!(
        refusal(Change::delete_legs(&trip, 0, 6)),
        "a trip must have a leg"
    );
    assert_eq!(
        refusal(Change::join_legs(&trip, 1)),
        "the legs cannot be joined across the fuel stop Two Cairns; remove its fuel first"
    );
    assert_eq!(
        refusal(Change::join_legs(&trip, 2)),
        "legs 3 and 4 can be joined only if both have the same surface, got rock and earth"
    );
    assert_eq!(
        refusal(Change::split_leg(&trip, 0, Kilometres::new(142.0), "x")),
        "leg 1 can be split between 0 and 142 km, got 142"
    );
    assert_eq!(
        refusal(Change::shift_days(&trip, 2, -2)),
        "leg 3 must be on day 1 or later, got 0"
    );
    let mut logged = trip.clone();
    logged.log =
        serde_json::from_value(json!([{ "place_number": 2, "odometer_km": 1, "tank_left_l": 5 }]))
            .unwrap();
    let gone = Change::delete_legs(&logged, 1, 1)
        .unwrap()
        .apply(&logged)
        .unwrap_err();
    assert_eq!(
        gone.to_string(),
        "place 2 has a fuel reading; delete the reading first"
    );
    let (kept, _) = Change::delete_legs(&logged, 0, 1)
        .unwrap()
        .apply(&logged)
        .unwrap();
    assert_eq!(kept.log()[0].place_number, 1);
}

/// Out and back is driven over the same ground, so what is climbed one way is descended the other.
#[test]
fn the_way_back_is_the_way_out_turned_round() {
    let mut trip = example();
    trip.legs.truncate(5);
    trip.what_ifs = None;
    let (there, _) = Change::out_and_back(&trip).unwrap().apply(&trip).unwrap();
    let names: Vec<&str> = there.legs.iter().map(|leg| leg.to.as_str()).collect();
    assert_eq!(
        names,
        [
            "Cold Spring",
            "Two Cairns",
            "Broken Stair",
            "Dune Gate",
            "Salt Edge",
            "Dune Gate",
            "Broken Stair",
            "Two Cairns",
            "Cold Spring",
            "Harrow Cross"
        ]
    );
    assert_eq!(there.days(), [1, 1, 2, 2, 3, 3, 4, 4, 5, 5]);
    assert_eq!(there.legs[9].ascent_m, trip.legs[0].descent_m);
    assert_eq!(
        there.legs[8].headwind_kmh,
        trip.legs[1].headwind_kmh.map(|wind| wind * -1.0)
    );
    assert_eq!(there.legs[7].fuel, trip.legs[1].fuel);
    assert_eq!(there.legs[9].fuel, trip.start.fuel);
    let (back, _) = Change::reverse_trip(&there).unwrap().apply(&there).unwrap();
    let (again, _) = Change::reverse_trip(&back).unwrap().apply(&back).unwrap();
    assert_eq!(json!(back.start.altitude_m), json!(1850));
    let plain = |trip: &Trip| -> Vec<Leg> {
        let without_day = |leg: &Leg| Leg {
            day: None,
            ..leg.clone()
        };
        trip.legs.iter().map(without_day).collect()
    };
    assert_eq!(plain(&again), plain(&there));
    assert_eq!(again.days(), there.days());
}

/// Edits are read out of a journal, in which any number may stand.
#[test]
fn steps_out_of_any_list_are_refused() {
    let trip = example();
    let (most, list) = (usize::MAX, || "/legs".to_owned());
    let items = || "/load/gear".to_owned();
    let leg = Box::new(trip.legs[0].clone());
    for step in [
        Step::Remove {
            list: list(),
            at: most,
            count: 2,
        },
        Step::Remove {
            list: items(),
            at: most,
            count: 2,
        },
        Step::Move {
            list: list(),
            from: most,
            count: 2,
            to: 0,
        },
        Step::Move {
            list: items(),
            from: 0,
            count: 2,
            to: most,
        },
        Step::InsertLegs {
            at: most,
            legs: vec![trip.legs[0].clone()],
        },
        Step::ReplaceLeg { at: most, leg },
        Step::Insert {
            list: items(),
            at: most,
            items: vec![json!({ "name": "a", "mass_kg": 1 })],
        },
    ] {
        let change = Change {
            name: String::new(),
            steps: vec![step],
        };
        let error = change.apply(&trip).unwrap_err();
        assert!(matches!(error, ChangeError::Items { .. }), "{error}");
    }
}

/// A reading binds the tank: a trip that could not be read again is no result of a change.
#[test]
fn a_tank_holds_what_was_read_in_it() {
    let mut trip = example();
    trip.log = serde_json::from_value(
        json!([{ "place_number": 0, "odometer_km": 48064, "tank_left_l": 52 }]),
    )
    .unwrap();
    let refusal = |to: u32| {
        let change = Change::set(&trip, "/vehicle/tank_l", Some(to.into()));
        let start = Change::set(&trip, "/rules/start_l", Some(50.into()));
        let (trip, _) = start.apply(&trip).unwrap();
        change.apply(&trip).map_err(|error| error.to_string()).err()
    };
    assert_eq!(refusal(52), None);
    assert_eq!(
        refusal(51).as_deref(),
        Some("/log/0/tank_left_l: must be at most 51 L, the tank capacity, got 52")
    );
}

/// Fields that are cleared are gone with the objects that were made for them; nothing else is.
#[test]
fn undo_takes_away_what_was_made_on_the_way() {
    let mut trip = example();
    trip.rules = None;
    let (changed, inverse) = Change::set(&trip, "/rules/reserve/km", Some(json!(80)))
        .apply(&trip)
        .unwrap();
    assert_eq!(
        stated(&changed, "/rules"),
        Some(json!({ "reserve": { "km": 80 } }))
    );
    assert_eq!(
        inverse.steps,
        [Step::Set {
            at: "/rules".to_owned(),
            to: None
        }]
    );
    assert_eq!(inverse.apply(&changed).unwrap().0, trip);
}

#[test]
fn a_trip_that_was_undone_to_its_file_is_unchanged() {
    let mut history = History::new(example());
    let set = |history: &mut History, km: u32| {
        let change = Change::set(history.trip(), "/legs/0/distance_km", Some(km.into()));
        history.make(&change).unwrap();
    };
    set(&mut history, 150);
    history.mark_saved();
    assert!(!history.is_changed());
    set(&mut history, 160);
    assert_eq!(
        history.since_saved().collect::<Vec<_>>(),
        ["leg 1: distance 150 -> 160 km"]
    );
    assert_eq!(
        history.undo().as_deref(),
        Some("leg 1: distance 150 -> 160 km")
    );
    assert!(!history.is_changed());
    history.undo();
    assert!(history.is_changed(), "the file holds one change more");
    assert_eq!(history.last_undone(), Some("leg 1: distance 142 -> 150 km"));
    set(&mut history, 170);
    history.undo();
    history.undo();
    assert!(
        history.is_changed(),
        "what the file holds can no longer be reached"
    );
}

#[test]
fn a_restated_trip_is_reached_by_one_change_and_left_by_its_inverse() {
    let before = example();
    let mut after = before.clone();
    after.name = Some("another name".to_owned());
    after.notice = Some("data of others".to_owned());
    after.vehicle.tank_l = after.vehicle.tank_l * 1.5;
    after.rules = None;
    after.start.name = "elsewhere".to_owned();
    after.legs[1].speed_kmh = Some(drystage::quantity::KilometresPerHour::new(31.0));
    let change = Change::restated(&before, &after, "restate").unwrap();
    let (made, inverse) = change.apply(&before).unwrap();
    assert_eq!(made, after);
    assert_eq!(inverse.apply(&made).unwrap().0, before);
    let same = Change::restated(&before, &before, "restate").unwrap();
    assert!(same.is_nothing());
    let lines = drystage::model::change::differences(&before, &after);
    let tank = lines.iter().find(|line| line.starts_with("vehicle: "));
    assert!(tank.is_some_and(|line| line.contains("tank")), "{lines:?}");
    after.legs.pop();
    assert!(Change::restated(&before, &after, "restate").is_err());
}
