//! The forward simulation itself, held to the printed shares of the samples.

use std::fs;
use std::path::Path;

use drystage::model::Trip;
use drystage::plan::{Effort, Plan};
use drystage::report::{Case, json};
use serde_json::Value;

use super::draws::Spreads;
use super::drive::{Course, Ending, Manner};
use super::ground::Ground;
use super::instructions::Instructions;
use super::laws::EFFORT;
use super::shares::{Share, Shares};
use super::trips::random;

pub const SAMPLES: [&str; 5] = [
    "tests/data/example-trip.json",
    "sample-routes/plateau-loop.json",
    "sample-routes/dune-coast.json",
    "sample-routes/forest-weekend.json",
    "sample-routes/long-dry-stage.json",
];

pub fn sample(name: &str) -> Trip {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(name);
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

pub fn report(trip: &Trip, effort: Effort) -> Value {
    let plan = Plan::at_target(trip.clone(), effort);
    serde_json::from_str(&json::report(Case::as_stated(&plan))).unwrap()
}

/// A trip, its report and all that driving it by the report takes.
pub struct Subject {
    pub trip: Trip,
    pub report: Value,
    pub ground: Ground,
    pub instructions: Instructions,
    pub spreads: Spreads,
}

impl Subject {
    pub fn new(trip: Trip, effort: Effort) -> Self {
        let report = report(&trip, effort);
        Self {
            ground: Ground::new(&trip, &report),
            instructions: Instructions::new(&report),
            spreads: Spreads::new(&trip),
            report,
            trip,
        }
    }

    pub fn drive(&self, manner: Manner, series: u64, count: u64) -> Shares {
        let course = Course {
            ground: &self.ground,
            instructions: &self.instructions,
            manner,
        };
        Shares::new(&course, &self.spreads, series, count)
    }
}

/// Litres of the legs and reserves, against the formula.
fn has_its_litres(subject: &Subject) {
    let number = |value: &Value| value.as_f64().unwrap();
    for (at, leg) in subject.report["legs"]
        .as_array()
        .unwrap()
        .iter()
        .enumerate()
    {
        let usage = subject.ground.legs[at].out.usage;
        for (printed, own) in [
            (&leg["use_empty_l"], usage.empty().get()),
            (&leg["use_slope"], usage.slope().get()),
            (&leg["fixed_reserve_l"], subject.ground.reserve[at + 1]),
        ] {
            assert!((number(printed) - own).abs() < 1e-9, "{own}, {leg}");
        }
    }
}

pub const ENDINGS: [(Ending, &str); 5] = [
    (Ending::FinishReserveIntact, "finish_reserve_intact"),
    (Ending::FinishUsingReserve, "finish_using_reserve"),
    (
        Ending::TurnedBackReserveIntact,
        "turned_back_reserve_intact",
    ),
    (Ending::TurnedBackUsingReserve, "turned_back_using_reserve"),
    (Ending::RanOut, "ran_out"),
];

#[test]
fn samples_end_as_printed() {
    for name in SAMPLES {
        let subject = Subject::new(sample(name), Effort::FIRST);
        has_its_litres(&subject);
        compare(name, &subject, 20_000);
    }
}

#[expect(clippy::print_stdout, reason = "both shares are to be seen")]
fn compare(name: &str, subject: &Subject, count: u64) {
    let outcomes = &subject.report["outcomes"];
    let of = |key: &str| Share {
        share: outcomes[key]["share"].as_f64().unwrap_or_default(),
        se: outcomes[key]["se"].as_f64().unwrap_or_default(),
    };
    let own = subject.drive(Manner::AS_PRINTED, 7, count);
    for (ending, key) in ENDINGS {
        let (own, printed) = (own.of(ending), of(key));
        println!(
            "| {name} | {key} | {:.1} % printed | {:.1} % driven |",
            100.0 * printed.share,
            100.0 * own.share
        );
        let far = (own.share - printed.share).abs() - 3.0 * own.se.hypot(printed.se);
        assert!(far < 0.01, "{name}: {key} {own:?}, printed {printed:?}");
    }
}

#[test]
fn random_trips_end_as_printed() {
    for (name, trip) in random(0, 16) {
        let subject = Subject::new(trip, EFFORT);
        has_its_litres(&subject);
        compare(&name, &subject, 4096);
    }
}
