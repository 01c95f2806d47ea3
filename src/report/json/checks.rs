//! Fuel checks of the JSON report, and the stages in which they decide.

use schemars::JsonSchema;
use serde::Serialize;

use crate::plan::{self, CheckKind, Plan, Stage, TurnBack};
use crate::present::dry::word;
use crate::quantity::{Kilometres, Litres, Share};

object! {
    /// A place or point of the route where the fuel on board is compared with what it takes to continue and to return.
    pub(super) struct FuelCheck(
        plan: &Plan, n: usize, check: &plan::FuelCheck;
        left = plan.range_left().get(n).copied(),
        back = check.back.filter(|back| back.litres.is_some() || check.if_dry.is_some())
    ) {
        at_km: Kilometres = check.at_km,
        /// `null` en route.
        place_number: Option<usize> = check.place_number,
        /// The place, or the one to which the leg leads.
        place: String = check.place.clone(),
        kind: Kind = check.kind.into(),
        /// Best estimate of the fuel on arrival.
        expected_l: Litres = check.expected,
        /// Percentiles of the fuel on arrival in the simulated trips, none of them turned back before.
        expected_p05_l: Litres = check.arrivals.p05,
        expected_p50_l: Litres = check.arrivals.p50,
        expected_p95_l: Litres = check.arrivals.p95,
        /// How far the fuel on board leads along the route from here without another fill: to the minimum on arrival, at the
        /// success target. `null` beyond the finish, as for the next three.
        range_left_km: Option<Kilometres> = left.and_then(|left| left.to_minimum),
        /// The same with the expected litres, by the best estimate.
        range_left_best_estimate_km: Option<Kilometres> = left.and_then(|left| left.to_minimum_best_estimate),
        /// Until the usable fuel is gone, at the success target.
        range_left_until_empty_km: Option<Kilometres> = left.and_then(|left| left.until_empty),
        range_left_until_empty_best_estimate_km: Option<Kilometres> = left.and_then(|left| left.until_empty_best_estimate),
        /// Continue with this or more. `null` if no return is possible.
        continue_l: Option<Litres> = check.continue_with,
        /// With less than `continue_l`, return with this or more.
        return_l: Option<Litres> = back.and_then(|back| back.litres),
        return_to: Option<String> = back.map(|back| plan.trip.place(back.refuge).name.to_owned()),
        return_to_place_number: Option<usize> = back.map(|back| back.refuge),
        /// With less than `continue_l` and `return_l`, what runs out less often: `continue` or `return`. `null` if
        /// nothing is decided.
        if_neither: Option<&'static str> = check.kind.decides().then(|| word(check.if_neither)),
        /// Of all simulated trips, those turned back here.
        share_turned_back: Share = check.turned_back.share,
        /// With this or more, 95 of 100 reach the next confirmed fuel stop that the plan relies on, or the finish.
        finish_l: Option<Litres> = check.finish,
        /// At a fuel stop that is relied on, instead of `continue_l` if it has no fuel. `null` also if no amount is
        /// enough.
        continue_if_dry_l: Option<Litres> = check.if_dry.and_then(|dry| dry.continue_with),
        /// Instead of `return_l` if the fuel stop has no fuel.
        return_if_dry_l: Option<Litres> = check.if_dry.and_then(|dry| dry.return_with),
        /// Instead of `if_neither` if the fuel stop has no fuel. `null` at a place whose fuel the plan does not rely
        /// on.
        if_neither_and_dry: Option<&'static str> = check.if_dry.map(|dry| word(dry.if_neither)),
        /// How much `continue_l` rises for each litre from stops that are not relied on, since a stop was last left as
        /// planned.
        rises_per_litre: Option<Share> = check.rises_per_litre,
        /// What to do at an unlimited stop by the litres that it takes to fill, in rising order; with more than the
        /// last, turn back.
        pumped: Vec<Pumped> = check.pumped.iter().map(Pumped::new).collect(),
    }
}

/// What a fuel check is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
enum Kind {
    /// The return is still possible from a later check.
    Check,
    /// The last of a stage with a decision.
    Decision,
    /// No return: its litres are advice.
    After,
}

impl From<CheckKind> for Kind {
    fn from(kind: CheckKind) -> Self {
        match kind {
            CheckKind::Check => Self::Check,
            CheckKind::Decision => Self::Decision,
            CheckKind::After => Self::After,
        }
    }
}

object! {
    struct Pumped(row: &plan::Pumped) {
        /// Litres pumped to fill as planned, at most.
        up_to_l: Litres = row.up_to,
        /// Usable fuel to leave with; in the first of several rows about what trips leave with that fill as planned.
        leave_with_l: Litres = row.leave_with,
    }
}

object! {
    /// The part of the route between two fuel stops that the plan relies on.
    pub(super) struct StageReport(
        plan: &Plan, stage: &Stage;
        name = |place_number: usize| plan.trip.place(place_number).name.to_owned(),
        refuge = stage.turn_back.map(|point| point.refuge)
    ) {
        from: String = name(stage.from),
        from_place_number: usize = stage.from,
        to: String = name(stage.to),
        to_place_number: usize = stage.to,
        distance_km: Kilometres = stage.distance,
        /// Usable fuel to leave with, tank and cans together.
        required_l: Litres = stage.leave_with(),
        tank_l: Litres = stage.tank,
        in_cans_l: Litres = stage.in_cans,
        /// Turn-back point at the success target, from the trip's start.
        turn_back_km: Option<Kilometres> =
            stage.turn_back.filter(|_| plan.doubt.is_some()).map(|point| point.at_km),
        /// Turn-back point by the best estimate.
        turn_back_best_estimate_km: Option<Kilometres> = stage.turn_back_best_estimate.map(|point| point.at_km),
        /// Decision point: where to decide whether to continue.
        decision_km: Option<Kilometres> = plan.decision_point(stage),
        /// Equal-time point: driving on takes as long as driving back. From the trip's start.
        equal_time_km: Option<Kilometres> = plan.equal_time(stage),
        return_to: Option<String> = refuge.map(name),
        return_to_place_number: Option<usize> = refuge,
        /// An unconfirmed or limited fuel stop already passed that is nearer than that one.
        unconfirmed: Option<Unconfirmed> = stage.unconfirmed_turn_back.map(|point| Unconfirmed::new(plan, point)),
    }
}

object! {
    struct Unconfirmed(plan: &Plan, point: TurnBack) {
        place: String = plan.trip.place(point.refuge).name.to_owned(),
        place_number: usize = point.refuge,
        chance: Share = point.chance,
        left_l: Option<Litres> = point.left,
        /// The last point from which that fuel stop can be reached, from the trip's start.
        turn_back_km: Kilometres = point.at_km,
    }
}
