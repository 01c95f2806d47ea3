//! The driven part of a trip under way.

use std::collections::BTreeMap;

use crate::calibrate::Factors;
use crate::model::calibration::Component;
use crate::plan::Plan;
use crate::plan::progress::{self, Advice, Progress, Worth};
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
        /// Way to the next place, where the plan begins between two or off the plan.
        to_next_km: Option<Kilometres> = progress.to_next,
        /// Usable, tank and cans.
        on_board_l: Litres = progress.on_board,
        /// How far that may be off: a standard deviation. Nothing is to be deducted: the figures below allow for it.
        error_l: Litres = progress.error,
        /// `continue`, `fill`, `turn-back` or `neither`; `null` at the finish.
        advice: Option<&'static str> = now.map(|now| advice(now.advice)),
        /// Continue with this read off, without filling here.
        continue_l: Option<Litres> = now.and_then(|now| now.continue_with),
        /// The same before filling here as planned; `null` where nothing can be had.
        continue_filling_l: Option<Litres> = now.and_then(|now| now.continue_filling),
        /// The refuge, and the fuel reading needed to return to it; `null` if no return is possible.
        return_to: Option<String> = back.map(|(refuge, _)| plan.trip.place(refuge).name.to_owned()),
        return_l: Option<Litres> = back.map(|(_, litres)| litres),
        /// The turn-back point ahead, from the trip's start.
        turn_back_km: Option<Kilometres> = now.and_then(|now| now.turn_back),
        /// Whether fewer than one trip in a hundred was expected there with this reading.
        unexpected: Option<bool> = now.map(|now| now.unexpected),
        intervals: Vec<DrivenInterval> = progress.intervals.iter().map(|interval| DrivenInterval::new(plan, interval)).collect(),
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
        /// `null` where no departure was written down, or the readings contradict one another so that it would be less than
        /// nothing.
        used_l: Option<Litres> = interval.used,
        used_sd_l: Option<Litres> = interval.used.map(|_| interval.spread),
        /// Whether the fuel readings agree well enough for calibration.
        counts: bool = interval.worth == Worth::Counts,
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

const fn advice(advice: Advice) -> &'static str {
    match advice {
        Advice::Continue => "continue",
        Advice::Fill => "fill",
        Advice::TurnBack => "turn-back",
        Advice::Neither => "neither",
    }
}
