//! How the simulated trips of the JSON report end.

use crate::plan::{self, Odds};
use crate::quantity::Share;

object! {
    /// Shares of the simulated trips, each driven by all instructions of the plan.
    pub(super) struct Outcomes(of: &plan::Outcomes) {
        finish_reserve_intact: WithError = WithError::new(of.finish_reserve_intact),
        finish_using_reserve: WithError = WithError::new(of.finish_using_reserve),
        /// Turned back to a fuel stop.
        turned_back_reserve_intact: WithError = WithError::new(of.turned_back_reserve_intact),
        turned_back_using_reserve: WithError = WithError::new(of.turned_back_using_reserve),
        /// Ran out of fuel, outbound or on the return.
        ran_out: WithError = WithError::new(of.ran_out),
        /// Not an outcome: at some check there was fuel enough neither to continue nor to return.
        neither_advised: WithError = WithError::new(of.neither_advised),
        /// Not an outcome: on rough or steep ground with less in the tank than the fuel pickup needs, the cans empty.
        below_lowest_tank_level: WithError = WithError::new(of.below_lowest_tank_level),
        simulated_trips: usize = of.trips,
    }
}

object! {
    struct WithError(odds: Odds) {
        share: Share = odds.share,
        /// Sampling error: one standard error.
        se: Share = odds.error,
    }
}
