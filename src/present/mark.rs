//! The markers of the strip: where to decant a can, the turn-back points, where the fuel falls below the minimum, and
//! where it runs out.

use super::number::{Toward, Units};
use super::strip::end_of;
use crate::plan::{Plan, Span, TurnBack};
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
    RunsDry,
    BelowReserve,
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
            Self::BelowReserve => 1,
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
            Self::BelowReserve => "below minimum",
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
            MarkKind::BelowReserve => "below minimum".to_owned(),
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
            // A point at the very end forbids nothing: from all of the stage one can go back.
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

/// Where the fuel falls below the minimum, and where it runs out.
fn falls(plan: &Plan) -> Vec<Mark> {
    let mut marks = Vec::new();
    let (mut was_below, mut was_dry) = (false, false);
    for span in &plan.course {
        let margin = |far| end_of(span, far).margin();
        let (below, dry) = (margin(true) < -ROUNDING, span.tank_to < -ROUNDING);
        let starts_below = margin(false) < -ROUNDING;
        if (below || starts_below) && !was_below {
            marks.push(Mark {
                at: crossing(span, margin(false), margin(true)),
                kind: MarkKind::BelowReserve,
            });
        }
        if dry && !was_dry {
            marks.push(Mark {
                at: crossing(span, span.tank_from, span.tank_to),
                kind: MarkKind::RunsDry,
            });
        }
        (was_below, was_dry) = (below, dry);
    }
    marks
}

/// Where on a span something that goes evenly from `from` to `to` passes 0 on its way down.
fn crossing(span: &Span, from: Litres, to: Litres) -> Kilometres {
    let fall = from - to;
    if from <= Litres::ZERO || fall <= Litres::ZERO {
        return span.from_km;
    }
    span.from_km + (span.to_km - span.from_km) * (from / fall).clamp(0.0, 1.0)
}
