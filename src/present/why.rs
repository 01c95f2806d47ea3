//! Why each leg costs what it costs, as a table: a row a leg, a column a cause that acts anywhere.

use super::number::{Units, factor};
use crate::model::vocabulary::UnitSystem;
use crate::plan::{Cause, Plan};
use crate::quantity::Factor;

/// A factor nearer to 1 than this shows as 1.
const SHOWS: f64 = 0.005;

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct WhyTable {
    /// How it is read.
    pub(crate) says: String,
    /// The causes that act on any leg.
    pub(crate) causes: Vec<Cause>,
    /// The legs that have a length.
    pub(crate) rows: Vec<WhyRow>,
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct WhyRow {
    /// Its number, from 1.
    pub(crate) leg: usize,
    /// Where it leads.
    pub(crate) to: String,
    pub(crate) rate: String,
    /// The factor of each cause of the table; `.` where it is 1.
    pub(crate) factors: Vec<String>,
}

/// The table of a plan.
pub(crate) fn table(plan: &Plan, units: Units) -> WhyTable {
    let legs: Vec<_> = plan
        .legs
        .iter()
        .filter_map(|leg| {
            let factors: Option<Vec<Factor>> = plan
                .attribution(leg.n)
                .causes
                .iter()
                .map(|share| share.multiplier)
                .collect();
            Some((leg, leg.rate?, factors?))
        })
        .collect();
    let acts: Vec<usize> = (0..Cause::ALL.len())
        .filter(|&cause| {
            legs.iter()
                .any(|(_, _, factors)| (factors[cause].get() - 1.0).abs() >= SHOWS)
        })
        .collect();
    let shown = |of: Factor| match factor(of) {
        one if one == "1.00" => ".".to_owned(),
        other => other,
    };
    let mut says = format!(
        "{} on a level sealed road, times a factor for each cause, is the leg's rate",
        units.rate(plan.base.reference)
    );
    if matches!(
        units.0,
        UnitSystem::Us | UnitSystem::Imperial | UnitSystem::KmPerL
    ) {
        says += "; factors multiply the fuel burnt, so a rate that counts distance for a volume is divided";
    }
    WhyTable {
        says,
        causes: acts.iter().map(|&cause| Cause::ALL[cause]).collect(),
        rows: legs
            .iter()
            .map(|(leg, rate, factors)| WhyRow {
                leg: leg.n,
                to: super::name::plain(&leg.to).into_owned(),
                rate: units.rate(*rate).number,
                factors: acts.iter().map(|&cause| shown(factors[cause])).collect(),
            })
            .collect(),
    }
}
