//! Five answers at a glance: GO or not, litres in which cans, where it is tightest, whether the load is legal, and where to
//! decide to turn back, in the first three rows at 80x24 and without a key.

use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, check};
use drystage::plan::{Effort, Plan};
use drystage::present::number::Units;
use drystage::tui::state::State;
use drystage::tui::theme::{Depth, Theme};
use drystage::tui::view::Look;
use serde_json::{Value, json};

use super::{drawn, screen, text};

fn sample(name: &str, change: impl FnOnce(&mut Value)) -> Trip {
    let path = format!("{}/sample-routes/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let mut document = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    change(&mut document);
    check::read(document).unwrap()
}

/// The first three rows of the target plan.
fn head(trip: Trip) -> Vec<String> {
    let plan = Plan::at_target(trip, Effort::FIRST);
    let state = State::new(plan, Units(UnitSystem::Metric));
    let shown = screen(&state, 80, 24);
    shown.lines().take(3).map(str::to_owned).collect()
}

/// The row of keys begins with that of the fixes where there is something to fix, and has none of it otherwise.
#[test]
fn a_no_go_names_the_key_of_its_fixes() {
    for (name, begins) in [
        ("dune-coast", true),
        ("long-dry-stage", true),
        ("plateau-loop", false),
    ] {
        let plan = Plan::at_target(sample(name, |_| ()), Effort::FIRST);
        let state = State::new(plan, Units(UnitSystem::Metric));
        for (columns, rows) in [(80, 24), (120, 40), (60, 20)] {
            let shown = screen(&state, columns, rows);
            let keys = shown.lines().last().unwrap();
            assert_eq!(keys.starts_with("f try a fix"), begins, "{name}: {keys}");
            assert_eq!(keys.contains("fix"), begins, "{name}: {keys}");
        }
    }
}

/// In ASCII, where signs are two letters, all four have room as well.
#[test]
fn every_sample_is_answered_in_ascii() {
    for name in [
        "plateau-loop",
        "forest-weekend",
        "dune-coast",
        "long-dry-stage",
    ] {
        let plan = Plan::at_target(sample(name, |_| ()), Effort::FIRST);
        let state = State::new(plan, Units(UnitSystem::Metric));
        let look = Look {
            theme: Theme::new(Depth::None).ascii(true),
            ascii: true,
        };
        let shown = text(&drawn(&state, look, 80, 24));
        let four = shown.lines().nth(2).unwrap();
        for part in ["fuel ", " L, leg ", "load ", "finish ", "decide at km "] {
            assert!(four.contains(part), "{name}: {four}");
        }
    }
}

/// Whether a row has words after a name, `load ✓ +4 kg`.
fn has(row: &str, name: &str, signs: &[char], unit: &str) -> bool {
    let Some((_, rest)) = row.split_once(name) else {
        return false;
    };
    rest.trim_start().starts_with(signs) && rest.contains(unit)
}

/// The four answers, and that none is cut.
fn assert_answered(name: &str, rows: &[String], badge: &str) {
    let [title, cans, four] = rows else {
        panic!("three rows")
    };
    assert!(title.contains(" km · "), "{name}: {title}");
    assert!(cans.starts_with(&format!(" {badge} ")), "{name}: {cans}");
    assert!(
        has(four, "fuel ", &['✓', '■'], " L, leg "),
        "{name}: {four}"
    );
    assert!(has(four, "load ", &['✓', '■'], " kg"), "{name}: {four}");
    assert!(four.contains("finish "), "{name}: {four}");
    let decides = [
        "decide at km ",
        "return possible",
        "return not possible",
        "turn back now",
    ];
    assert!(
        decides.iter().any(|words| four.contains(words)),
        "{name}: {four}"
    );
    assert!(
        !cans.contains('…') && !four.contains('…'),
        "{name}: {cans}\n{four}"
    );
}

#[test]
fn every_sample_is_answered() {
    for (name, badge) in [
        ("plateau-loop", "GO"),
        ("forest-weekend", "GO"),
        ("dune-coast", "NO-GO"),
        ("long-dry-stage", "NO-GO"),
    ] {
        let rows = head(sample(name, |_| ()));
        assert_answered(name, &rows, badge);
        let cans = &rows[1];
        assert!(
            cans.contains(" L in ") || cans.contains("the tank alone"),
            "{name}: {cans}"
        );
    }
}

/// A NO-GO for fuel begins with the litres that are short, one for load has the kilograms over, and under way the badge is
/// what to do now.
#[test]
fn each_kind_of_no_go_is_answered() {
    let fuel = head(sample("plateau-loop", |trip| {
        trip["vehicle"]["tank_l"] = json!(25);
        trip["load"]["cans"] = json!([]);
        trip["rules"]["start_l"] = json!(25);
    }));
    assert_answered("fuel", &fuel, "NO-GO");
    assert!(
        fuel[1].contains(" L short at 95 %") && fuel[2].contains("fuel ■ -"),
        "{fuel:?}"
    );

    let load = head(sample("long-dry-stage", |_| ()));
    assert!(load[2].contains("load ■ 64 kg over, roof"), "{load:?}");

    let back = head(sample("plateau-loop", |trip| {
        trip["log"] = json!([
            { "place_number": 0, "odometer_km": 88210, "tank_left_l": 40, "how": "brim" },
            { "place_number": 1, "odometer_km": 88282, "tank_left_l": 16, "how": "brim" }
        ]);
    }));
    assert_answered("turn back", &back, "TURN BACK");
    assert!(back[1].contains("At High Pens you have "), "{back:?}");
}

/// The cursor on the strip has the range that is left there, in kilometres of the route ahead, once that is calculated.
#[test]
fn the_cursor_has_the_range_that_is_left() {
    let plan = Plan::at_target(sample("plateau-loop", |_| {}), Effort::FIRST);
    let shown = |plan: Plan| screen(&State::new(plan, Units(UnitSystem::Metric)), 80, 24);
    assert!(!shown(plan.clone()).contains("range >465"));
    plan.range_left();
    let shown = shown(plan);
    assert!(shown.contains("▲km 0, range >465 km"), "{shown}");
}
