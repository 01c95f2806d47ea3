//! What differs between two plans of one trip, in the figures that decide; and whether it is decided
//! otherwise.

use crate::plan::parts::Plan;
use crate::plan::parts::finding::Severity;
use crate::plan::parts::verdict::Verdict;
use crate::quantity::{Hours, Kilograms, Litres};

/// How one plan differs from another: what it has more.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Difference {
    /// Litres burnt on the whole trip.
    pub fuel: Litres,
    /// Litres that must be in cans.
    pub in_cans: Litres,
    /// Cans on board before and after.
    pub cans: [u32; 2],
    /// Mass at the heaviest departure.
    pub mass: Kilograms,
    /// Driving time of the whole trip.
    pub driving: Hours,
}

impl Difference {
    /// From one plan to another.
    pub fn between(before: &Plan, after: &Plan) -> Self {
        Self {
            fuel: after.totals.fuel - before.totals.fuel,
            in_cans: after.in_cans.needed - before.in_cans.needed,
            cans: [before, after].map(Plan::cans),
            mass: after.load.mass - before.load.mass,
            driving: after.totals.driving - before.totals.driving,
        }
    }
}

/// What a plan decides: whether to set out, and with how many cans.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Decided {
    /// Whether the trip may set out.
    pub outcome: Outcome,
    /// Cans on board.
    pub cans: u32,
}

/// Whether the trip may set out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Outcome {
    /// No finding forbids departure.
    Go,
    /// Fuel and load allow it, but a finding does not.
    Settle,
    /// The load breaks a limit.
    Overloaded,
    /// The fuel does not go through.
    Short,
}

impl Plan {
    /// How many cans are taken along.
    pub fn cans(&self) -> u32 {
        self.in_cans.cans.iter().map(|kind| kind.count).sum()
    }

    /// What the plan decides.
    pub fn decided(&self) -> Decided {
        let forbidden = || {
            self.findings
                .iter()
                .any(|finding| finding.severity() == Severity::Stop)
        };
        Decided {
            outcome: match self.verdict() {
                Verdict::FuelShort(_) => Outcome::Short,
                Verdict::Overloaded => Outcome::Overloaded,
                Verdict::TankDoes | Verdict::CansDo if forbidden() => Outcome::Settle,
                Verdict::TankDoes | Verdict::CansDo => Outcome::Go,
            },
            cans: self.cans(),
        }
    }
}
