//! The terminal is taken and given back: the program runs in a pseudo-terminal.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use drystage::model::check;
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::Plan;
use drystage::present::number::Units;
use drystage::tui::{Options, run};

/// The example trip, planned.
fn example() -> Plan {
    let text = include_str!("data/example-trip.json");
    let trip = check::read(serde_json::from_str(text).unwrap()).unwrap();
    Plan::of(trip)
}

/// Not a test: the screen itself, for the tests that start this file anew in a pseudo-terminal.
#[test]
#[ignore = "needs a terminal"]
fn child_shows_the_screen() {
    let options = Options {
        ascii: std::env::var_os("CHILD_ASCII").is_some(),
        ..Options::of(Units(UnitSystem::Metric))
    };
    run(example(), options).unwrap();
}
