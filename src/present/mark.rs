//! The markers of the strip: where to decant a can, the turn-back points, where the fuel falls below the minimum, and
//! where it runs out.

use std::ops::Range;

use super::levels::{Run, margins};
use super::number::{Toward, Units};
use crate::plan::{Plan, TurnBack};
use crate::quantity::{Kilometres, Litres};
use crate::solver::fuel::ROUNDING;

/// A marker on the route.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// From the start of the trip.
    pub at: Kilometres,
    pub kind: MarkKind,
}

/// What a marker shows, gravest first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MarkKind {
    /// Runs out of fuel, by the best estimate.
    RunsDry,
    /// At the success target the fuel falls below the reserve.
    BelowReserve,
    /// By the best estimate it falls below the minimum.
    BelowMinimum,
    /// Beyond this point the fuel stop to return to is out of reach.
    TurnBack {
        /// Number of the place to return to.
        refuge: usize,
        /// Whether its fuel is unconfirmed.
        unconfirmed: bool,
    },
    Decant {
        /// Litres that reach the tank.
        litres: Litres,
    },
}

impl MarkKind {
    /// Rank of the kind; 0 is the gravest.
    pub(crate) const fn rank(self) -> u8 {
        match self {
            Self::RunsDry => 0,
            Self::BelowReserve | Self::BelowMinimum => 1,
            Self::TurnBack { .. } => 2,
            Self::Decant { .. } => 3,
        }
    }

    /// Whether the driver has a decision to make there.
    pub(crate) const fn is_decision(self) -> bool {
        matches!(self, Self::TurnBack { .. })
    }

    /// Name in a legend.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::RunsDry => "runs out of fuel",
            Self::BelowReserve => "below reserve",
            Self::BelowMinimum => "below minimum",
            Self::TurnBack { .. } => "turn-back point",
            Self::Decant { .. } => "decant a can",
        }
    }
}

impl Mark {
    /// The marker in a few words: `decant 19 L`, `turn back before km 389`.
    pub(crate) fn label(&self, units: Units) -> String {
        match self.kind {
            MarkKind::RunsDry => format!("out of fuel at {}", units.at(self.at, Toward::Down)),
            MarkKind::BelowReserve | MarkKind::BelowMinimum => {
                format!(
                    "{} from {}",
                    self.kind.name(),
                    units.at(self.at, Toward::Down)
                )
            }
            MarkKind::TurnBack { unconfirmed, .. } => {
                let doubt = if unconfirmed { " (unconfirmed)" } else { "" };
                let at = units.at(self.at, Toward::Down);
                format!("turn back before {at}{doubt}")
            }
            MarkKind::Decant { litres } => format!("decant {}", units.litres(litres)),
        }
    }
}

/// All markers of a plan by kilometre; of several at one kilometre the gravest first.
pub(super) fn marks(plan: &Plan) -> Vec<Mark> {
    let decants = plan.decants.iter().map(|decant| Mark {
        at: decant.at_km,
        kind: MarkKind::Decant {
            litres: decant.litres,
        },
    });
    let turns = plan.stages.iter().flat_map(|stage| {
        let end = stage.from_km + stage.distance;
        let of = move |turn: &TurnBack, unconfirmed| {
            // A point at the very end forbids nothing: a return is possible from all of the stage.
            (turn.at_km < end).then_some(Mark {
                at: turn.at_km,
                kind: MarkKind::TurnBack {
                    refuge: turn.refuge,
                    unconfirmed,
                },
            })
        };
        let sure = stage.turn_back.as_ref().and_then(|turn| of(turn, false));
        let unconfirmed = stage
            .unconfirmed_turn_back
            .as_ref()
            .and_then(|turn| of(turn, true));
        [sure, unconfirmed].into_iter().flatten()
    });
    let mut marks: Vec<Mark> = decants.chain(turns).chain(falls(plan)).collect();
    marks.sort_by(|a, b| {
        a.at.get()
            .total_cmp(&b.at.get())
            .then(a.kind.rank().cmp(&b.kind.rank()))
    });
    marks
}

/// Where the fuel falls below the line that it must stay above, and where by the best estimate it runs out.
fn falls(plan: &Plan) -> Vec<Mark> {
    let kind = if plan.doubt.is_some() {
        MarkKind::BelowReserve
    } else {
        MarkKind::BelowMinimum
    };
    let below = falls_below(margins(plan));
    let mut marks: Vec<Mark> = below.into_iter().map(|at| Mark { at, kind }).collect();
    let mut was_dry = false;
    for span in &plan.course {
        let is_dry = span.tank_to < -ROUNDING;
        if is_dry && !was_dry {
            marks.push(Mark {
                at: crossing(span.from_km..span.to_km, [span.tank_from, span.tank_to]),
                kind: MarkKind::RunsDry,
            });
        }
        was_dry = is_dry;
    }
    marks
}

/// Where margins that go evenly from one value to the other on each run fall below 0.
fn falls_below(margins: Vec<Run>) -> Vec<Kilometres> {
    let mut falls = Vec::new();
    let mut was_below = false;
    for Run { km, litres } in margins {
        let [starts_below, is_below] = litres.map(|margin| margin < -ROUNDING);
        if (is_below || starts_below) && !was_below {
            falls.push(crossing(km, litres));
        }
        was_below = is_below;
    }
    falls
}

/// Where on a run something that goes evenly from one value to the other passes 0 on its way down.
fn crossing(run: Range<Kilometres>, [from, to]: [Litres; 2]) -> Kilometres {
    let fall = from - to;
    if from <= Litres::ZERO || fall <= Litres::ZERO {
        return run.start;
    }
    run.start + (run.end - run.start) * (from / fall).clamp(0.0, 1.0)
}
