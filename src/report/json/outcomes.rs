//! How the simulated trips of the JSON report end.

use schemars::JsonSchema;
use serde::Serialize;

use crate::plan::{self, Odds, Plan};
use crate::quantity::Share;

/// Shares of the simulated trips, each driven under all instructions.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Outcomes {
    finish_reserve_intact: WithError,
    finish_using_reserve: WithError,
    /// Turned back to a refuge.
    turned_back_reserve_intact: WithError,
    turned_back_using_reserve: WithError,
    /// Out of fuel, on the way there or on the return.
    ran_out: WithError,
    /// Not an outcome: at some check there was fuel enough neither to continue nor to return.
    neither_advised: WithError,
    /// Not an outcome: on rough or steep ground with less in the tank than the fuel pickup needs, the cans empty.
    below_lowest_tank_level: WithError,
    simulated_trips: usize,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WithError {
    share: Share,
    /// Sampling error: one standard error.
    se: Share,
}

impl From<Odds> for WithError {
    fn from(odds: Odds) -> Self {
        Self {
            share: odds.share,
            se: odds.error,
        }
    }
}

impl From<&plan::Outcomes> for Outcomes {
    fn from(of: &plan::Outcomes) -> Self {
        Self {
            finish_reserve_intact: of.finish_reserve_intact.into(),
            finish_using_reserve: of.finish_using_reserve.into(),
            turned_back_reserve_intact: of.turned_back_reserve_intact.into(),
            turned_back_using_reserve: of.turned_back_using_reserve.into(),
            ran_out: of.ran_out.into(),
            neither_advised: of.neither_advised.into(),
            below_lowest_tank_level: of.below_lowest_tank_level.into(),
            simulated_trips: of.trips,
        }
    }
}

pub(super) fn outcomes(plan: &Plan) -> Option<Outcomes> {
    Some((&plan.doubt.as_ref()?.outcomes).into())
}

/// The same with no fuel at any stop that the plan does not rely on.
pub(super) fn outcomes_without_luck(plan: &Plan) -> Option<Outcomes> {
    Some((&plan.doubt.as_ref()?.outcomes_without_luck).into())
}
