//! Levels along the strip beside the best estimate: what nearly all trips have, the line that the fuel must stay above, and
//! where it falls below it.

use std::ops::Range;

use super::strip::Strip;
use crate::plan::Plan;
use crate::quantity::{Kilometres, Litres};
use crate::solver::fuel::ROUNDING;

/// A level on a run of kilometres, straight between its ends.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Run {
    pub(crate) km: Range<Kilometres>,
    pub(crate) litres: [Litres; 2],
}

impl Run {
    /// The part of it in some kilometres; `None` if it has no length there.
    fn within(&self, run: &Range<Kilometres>) -> Option<Self> {
        let km = self.km.start.max(run.start)..self.km.end.min(run.end);
        let length = self.km.end - self.km.start;
        let [from, to] = self.litres;
        let at = |km: Kilometres| from + (to - from) * ((km - self.km.start) / length);
        (km.end > km.start).then(|| Self {
            litres: [at(km.start), at(km.end)],
            km,
        })
    }

    /// The least of it in some kilometres, taken as straight between its ends; of a run without length its end.
    pub(super) fn least_in(&self, run: &Range<Kilometres>) -> Litres {
        let length = self.km.end - self.km.start;
        let [from, to] = self.litres;
        let at = |km: Kilometres| {
            let part = (km - self.km.start)
                .part_of(length)
                .map_or(1.0, |part| part.clamp(0.0, 1.0));
            from + (to - from) * part
        };
        at(run.start).min(at(run.end))
    }

    /// The part of it below zero; `None` if it is nowhere more than a rounding below.
    fn below_zero(&self) -> Option<Range<Kilometres>> {
        let [from, to] = self.litres;
        if from.min(to) >= -ROUNDING {
            return None;
        }
        let zero = self.km.start + (self.km.end - self.km.start) * (from / (from - to));
        Some(match (from < Litres::ZERO, to < Litres::ZERO) {
            (true, true) => self.km.clone(),
            (true, false) => self.km.start..zero,
            (false, _) => zero..self.km.end,
        })
    }
}

/// The margin over the reserve on leg number `leg`, from 1, at the success target; `None` if nothing was simulated or there
/// is no such leg.
pub(super) fn at_target(plan: &Plan, leg: usize) -> Option<Run> {
    let (planned, bands) = (plan.legs.get(leg - 1)?, &plan.doubt.as_ref()?.bands);
    let band = bands.get(leg - 1)?;
    Some(Run {
        km: planned.from_km..planned.from_km + planned.distance,
        litres: [band.start_at_target, band.end_at_target]
            .map(|litres| litres - planned.fixed_reserve),
    })
}

/// Margins over the line that the fuel must stay above: at the target leg by leg, by the best estimate span by span.
pub(super) fn margins(plan: &Plan) -> Vec<Run> {
    if plan.doubt.is_some() {
        let legs = 1..=plan.legs.len();
        return legs.filter_map(|leg| at_target(plan, leg)).collect();
    }
    let margins = plan.course.iter().map(|span| Run {
        km: span.from_km..span.to_km,
        litres: [
            span.tank_from + span.cans - span.reserve_from,
            span.tank_to + span.cans - span.reserve_to,
        ],
    });
    margins.collect()
}

impl Strip {
    /// What all but 5 % of the simulated trips have on board, leg by leg; empty without a simulation.
    pub(crate) fn low(&self, run: &Range<Kilometres>) -> Vec<Run> {
        let bands = self.plan().doubt.iter().flat_map(|doubt| &doubt.bands);
        let legs = self.plan().legs.iter().zip(bands);
        let all = legs.map(|(leg, band)| Run {
            km: leg.from_km..leg.from_km + leg.distance,
            litres: [band.start.low, band.end.low],
        });
        all.filter_map(|low| low.within(run)).collect()
    }

    /// The line that the fuel must stay above: at the target the reserve, by the best estimate the minimum.
    pub(crate) fn line(&self, run: &Range<Kilometres>) -> Vec<Run> {
        let plan = self.plan();
        let all: Vec<Run> = if plan.doubt.is_some() {
            let legs = plan.legs.iter().map(|leg| Run {
                km: leg.from_km..leg.from_km + leg.distance,
                litres: [leg.fixed_reserve; 2],
            });
            legs.collect()
        } else {
            let spans = plan.course.iter().map(|span| Run {
                km: span.from_km..span.to_km,
                litres: [span.reserve_from, span.reserve_to],
            });
            spans.collect()
        };
        all.iter().filter_map(|line| line.within(run)).collect()
    }

    /// Where the fuel is below that line.
    pub(crate) fn breaches(&self, run: &Range<Kilometres>) -> Vec<Range<Kilometres>> {
        let margins = margins(self.plan());
        let margins = margins.iter().filter_map(|margin| margin.within(run));
        margins.filter_map(|margin| margin.below_zero()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(from: f64, to: f64, litres: [f64; 2]) -> Run {
        Run {
            km: Kilometres::new(from)..Kilometres::new(to),
            litres: litres.map(Litres::new),
        }
    }

    #[test]
    fn a_breach_begins_where_the_margin_ends() {
        let below = |litres| run(100.0, 200.0, litres).below_zero();
        let km = |from, to| Some(Kilometres::new(from)..Kilometres::new(to));
        assert_eq!(below([5.0, 1.0]), None);
        assert_eq!(below([5.0, 0.0]), None);
        assert_eq!(below([5.0, -5.0]), km(150.0, 200.0));
        assert_eq!(below([-1.0, -5.0]), km(100.0, 200.0));
        assert_eq!(below([-5.0, 15.0]), km(100.0, 125.0));
    }

    #[test]
    fn a_part_of_a_run_is_as_high_there() {
        let part = Kilometres::new(125.0)..Kilometres::new(300.0);
        let of = run(100.0, 200.0, [4.0, 0.0]).within(&part);
        assert_eq!(of, Some(run(125.0, 200.0, [3.0, 0.0])));
        let beyond = Kilometres::new(200.0)..Kilometres::new(300.0);
        assert_eq!(run(100.0, 200.0, [4.0, 0.0]).within(&beyond), None);
    }
}
