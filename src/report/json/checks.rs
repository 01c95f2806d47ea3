//! Fuel checks of the JSON report, and the stages in which they decide.

use schemars::JsonSchema;
use serde::Serialize;

use crate::plan::{self, CheckKind, Plan};
use crate::present;
use crate::quantity::{Kilometres, Litres, Share};

/// A place or point of the route where the fuel on board is compared with what it takes to continue and to return.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FuelCheck {
    at_km: Kilometres,
    /// `null` en route.
    place_number: Option<usize>,
    /// The place, or the one to which the leg leads.
    place: String,
    kind: Kind,
    /// Best estimate of the fuel on arrival.
    expected_l: Litres,
    /// Percentiles of the fuel on arrival in the simulated trips, none of them turned back before.
    expected_p05_l: Litres,
    expected_p50_l: Litres,
    expected_p95_l: Litres,
    /// Continue with this or more. `null` where no return is possible.
    continue_l: Option<Litres>,
    /// With less than `continue_l`, return with this or more.
    return_l: Option<Litres>,
    return_to: Option<String>,
    return_to_place_number: Option<usize>,
    /// With less than `continue_l` and `return_l`, what runs out less often: `continue` or `return`. `null` where nothing is
    /// decided.
    if_neither: Option<&'static str>,
    /// Of all simulated trips, those turned back here.
    share_turned_back: Share,
    /// With this, 95 of 100 reach the next sure fuel.
    finish_l: Option<Litres>,
    /// At a fuel stop that is relied on, instead of `continue_l` if it has no fuel. `null` also where no amount is enough.
    continue_if_dry_l: Option<Litres>,
    /// The same instead of `return_l`.
    return_if_dry_l: Option<Litres>,
    /// The same instead of `if_neither`. `null` where the plan relies on no fuel.
    if_neither_and_dry: Option<&'static str>,
    /// How much `continue_l` rises for each litre from stops that are not relied on, since a stop was last left as planned.
    rises_per_litre: Option<Share>,
    /// What the litres pumped say at an unlimited stop, in rising order; with more than the last, turn back.
    pumped: Vec<Pumped>,
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

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Pumped {
    /// Litres pumped to fill as planned, at most.
    up_to_l: Litres,
    /// Usable fuel to leave with; in the first of several rows about what trips leave with that fill as planned.
    leave_with_l: Litres,
}

/// The run between two fuel stops that the plan relies on.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Stage {
    from: String,
    from_place_number: usize,
    to: String,
    to_place_number: usize,
    distance_km: Kilometres,
    /// Leave with this.
    required_l: Litres,
    tank_l: Litres,
    in_cans_l: Litres,
    /// Turn-back point at the success target, from the trip's start.
    turn_back_km: Option<Kilometres>,
    /// The same at best estimates.
    turn_back_best_estimate_km: Option<Kilometres>,
    /// Where it is decided whether to continue.
    decision_km: Option<Kilometres>,
    /// From where both directions take as many hours of driving, from the trip's start.
    equal_time_km: Option<Kilometres>,
    refuge: Option<String>,
    refuge_place_number: Option<usize>,
    /// An unconfirmed or limited fuel stop behind that is nearer than the refuge.
    unconfirmed: Option<Unconfirmed>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Unconfirmed {
    place: String,
    place_number: usize,
    chance: Share,
    left_l: Option<Litres>,
    /// The last point from which it can be reached, from the trip's start.
    turn_back_km: Kilometres,
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

pub(super) fn fuel_checks(plan: &Plan) -> Vec<FuelCheck> {
    plan.fuel_checks
        .iter()
        .map(|check| fuel_check(plan, check))
        .collect()
}

fn fuel_check(plan: &Plan, check: &plan::FuelCheck) -> FuelCheck {
    let back = check
        .back
        .filter(|back| back.litres.is_some() || check.if_dry.is_some());
    FuelCheck {
        at_km: check.at_km,
        place_number: check.node,
        place: check.place.clone(),
        kind: check.kind.into(),
        expected_l: check.expected,
        expected_p05_l: check.arrivals.p05,
        expected_p50_l: check.arrivals.p50,
        expected_p95_l: check.arrivals.p95,
        continue_l: check.continue_with,
        return_l: back.and_then(|back| back.litres),
        return_to: back.map(|back| plan.trip.place(back.refuge).name.to_owned()),
        return_to_place_number: back.map(|back| back.refuge),
        if_neither: check
            .kind
            .decides()
            .then(|| present::dry::word(check.if_neither)),
        share_turned_back: check.turned_back.share,
        finish_l: check.finish,
        continue_if_dry_l: check.if_dry.and_then(|dry| dry.continue_with),
        return_if_dry_l: check.if_dry.and_then(|dry| dry.return_with),
        if_neither_and_dry: check.if_dry.map(|dry| present::dry::word(dry.if_neither)),
        rises_per_litre: check.rises_per_litre,
        pumped: check
            .pumped
            .iter()
            .map(|row| Pumped {
                up_to_l: row.up_to,
                leave_with_l: row.leave_with,
            })
            .collect(),
    }
}

pub(super) fn stages(plan: &Plan) -> Vec<Stage> {
    let name = |node: usize| plan.trip.place(node).name.to_owned();
    plan.stretches
        .iter()
        .map(|stage| Stage {
            from: name(stage.from),
            from_place_number: stage.from,
            to: name(stage.to),
            to_place_number: stage.to,
            distance_km: stage.distance,
            required_l: stage.leave_with(),
            tank_l: stage.tank,
            in_cans_l: stage.spare,
            turn_back_km: stage
                .turn_back
                .filter(|_| plan.doubt.is_some())
                .map(|point| point.at_km),
            turn_back_best_estimate_km: stage.turn_back_best_estimate.map(|point| point.at_km),
            decision_km: decision_of(plan, stage),
            equal_time_km: plan.equal_time(stage),
            refuge: stage.turn_back.map(|point| name(point.refuge)),
            refuge_place_number: stage.turn_back.map(|point| point.refuge),
            unconfirmed: stage.doubtful_turn_back.map(|point| Unconfirmed {
                place: name(point.refuge),
                place_number: point.refuge,
                chance: point.chance,
                left_l: point.left,
                turn_back_km: point.at_km,
            }),
        })
        .collect()
}

/// Where it is decided on a stage whether to continue; a check on arrival at its end belongs to it.
fn decision_of(plan: &Plan, stage: &plan::Stretch) -> Option<Kilometres> {
    let (from, to) = (stage.from_km, stage.from_km + stage.distance);
    let mut checks = plan.fuel_checks.iter();
    let decision = checks
        .find(|check| check.kind == CheckKind::Decision && check.at_km > from && check.at_km <= to);
    decision.map(|check| check.at_km)
}
