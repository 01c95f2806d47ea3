//! Why each leg burns what it burns, as a table: a row a leg, a column a cause that acts anywhere.

use super::number::{Units, factor};
use crate::model::vocabulary::UnitSystem;
use crate::plan::{Cause, Plan};
use crate::quantity::Factor;

/// A factor nearer to 1 than this shows as 1.
const SHOWS: f64 = 0.005;

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct WhyTable {
    /// How to read the table.
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
    /// The place where it ends.
    pub(crate) to: String,
    pub(crate) rate: String,
    /// The factor of each cause of the table; `.` where it is 1.
    pub(crate) factors: Vec<String>,
}

/// The name of a cause.
pub(crate) const fn name(cause: Cause) -> &'static str {
    match cause {
        Cause::Surface => "surface",
        Cause::Pace => "speed",
        Cause::Sand => "sand",
        Cause::LowRange => "low range",
        Cause::Roof => "roof",
        Cause::Load => "load",
        Cause::Climb => "climb",
        Cause::Air => "air density and wind",
        Cause::Cold => "cold",
        Cause::Tyres => "tyres",
        Cause::Extras => "air-con and idling",
    }
}

/// The name of a cause in at most nine letters.
pub(crate) const fn brief(cause: Cause) -> &'static str {
    match cause {
        Cause::Air => "air, wind",
        Cause::Extras => "A/C, idle",
        other => name(other),
    }
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
    let mut explanation = format!(
        "{} on a level sealed road, times the factors, is the leg's consumption. A dot: no effect (1.00).",
        units.rate(plan.base.reference)
    );
    if matches!(
        units.0,
        UnitSystem::Us | UnitSystem::Imperial | UnitSystem::KmPerL
    ) {
        explanation += " The factors multiply the fuel burnt, so mpg and km/L are divided by them.";
    }
    WhyTable {
        says: explanation,
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
