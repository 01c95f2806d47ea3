//! The driven part of a trip under way.

use std::collections::BTreeMap;

use crate::calibrate::{Factors, LikelyOff};
use crate::model::calibration::Component;
use crate::plan::progress::{self, Advice, Progress, Worth};
use crate::plan::{Plan, PlannedLeg};
use crate::present::{under_way, verdict};
use crate::quantity::{Factor, Kilometres, Litres};

object! {
    /// The driven part.
    pub(super) struct Log(
        plan: &Plan, progress: &Progress;
        now = plan.now(),
        now = now.as_ref(),
        back = now.and_then(|now| now.back)
    ) {
        /// Number of the place at which the plan begins, or of the last one passed.
        place_number: usize = progress.place_number,
        place: String = progress.place.clone(),
        /// Distance to the next place, if the plan begins between two or off the plan.
        to_next_km: Option<Kilometres> = progress.to_next,
        /// Usable, tank and cans.
        on_board_l: Litres = progress.on_board,
        /// Standard deviation of that. Nothing is to be deducted: the figures below allow for it.
        error_l: Litres = progress.error,
        /// `continue`, `fill`, `turn-back` or `neither`; `null` at the finish.
        advice: Option<&'static str> = now.map(|now| advice(now.advice)),
        /// Continue with this fuel reading, without filling here.
        continue_l: Option<Litres> = now.and_then(|now| now.continue_with),
        /// Continue with this fuel reading after filling here as planned; `null` if there is no fuel here.
        continue_filling_l: Option<Litres> = now.and_then(|now| now.continue_filling),
        /// The fuel stop to return to, and the fuel reading needed to return to it; `null` if no return is possible.
        return_to: Option<String> = back.map(|(refuge, _)| plan.trip.place(refuge).name.to_owned()),
        return_l: Option<Litres> = back.map(|(_, litres)| litres),
        /// The turn-back point ahead, from the trip's start.
        turn_back_km: Option<Kilometres> = now.and_then(|now| now.turn_back),
        /// Whether fewer than one trip in a hundred was expected there with this reading.
        unexpected: Option<bool> = now.map(|now| now.unexpected),
        intervals: Vec<DrivenInterval> = progress.intervals.iter().map(|interval| DrivenInterval::new(plan, interval)).collect(),
        /// Litres planned at the start of the trip and used by leg, shared out between two fuel readings; `null` before
        /// the finish.
        legs: Option<Vec<LegUsed>> = plan.as_planned().filter(|_| verdict::is_finished(plan)).map(|planned| {
            planned.legs.iter().zip(&plan.legs).map(|(before, after)| LegUsed::new(before, after)).collect()
        }),
        factors: BTreeMap<&'static str, LogFactor> = {
            let factor = |each: Component| (each.key(), LogFactor::new(&progress.factors, each));
            Component::ALL.into_iter().map(factor).collect()
        },
    }
}

object! {
    pub(super) struct DrivenInterval(plan: &Plan, interval: &progress::DrivenInterval) {
        from: String = interval.places[0].clone(),
        to: String = interval.places[1].clone(),
        distance_km: Kilometres = interval.distance[0],
        driven_km: Kilometres = interval.distance[1],
        planned_l: Litres = plan.planned_for(interval),
        /// `null` if there is no departure reading, or if the readings conflict so that it would be less than
        /// nothing.
        used_l: Option<Litres> = interval.used,
        used_sd_l: Option<Litres> = interval.used.map(|_| interval.spread),
        /// What most probably makes the difference: a calibration factor, `days` or `readings`; `null` if it is small or
        /// does not count.
        likely_off: Option<&'static str> = under_way::likely_off(plan, interval).map(likely_off),
        /// Whether the fuel readings agree well enough for calibration.
        counts: bool = interval.worth == Worth::Counts,
    }
}

object! {
    pub(super) struct LegUsed(before: &PlannedLeg, after: &PlannedLeg) {
        n: usize = before.n,
        planned_l: Litres = before.fuel,
        used_l: Litres = after.fuel,
    }
}

object! {
    pub(super) struct LogFactor(factors: &[Factors; 2], of: Component; [before, after] = factors) {
        before: Factor = before.value(of),
        before_sd: Factor = before.spread(of),
        value: Factor = after.value(of),
        sd: Factor = after.spread(of),
    }
}

const fn likely_off(likely: LikelyOff) -> &'static str {
    match likely {
        LikelyOff::Factor(component) => component.key(),
        LikelyOff::Days => "days",
        LikelyOff::Readings => "readings",
    }
}

const fn advice(advice: Advice) -> &'static str {
    match advice {
        Advice::Continue => "continue",
        Advice::Fill => "fill",
        Advice::TurnBack => "turn-back",
        Advice::Neither => "neither",
    }
}
