//! The strip: the route unrolled from left to right, as kilometres, litres and marks.
//!
//! One description that a terminal and an SVG both draw: the ground under the wheels, places and
//! day borders, tank and cans along the way with the reserve that must be left, and the marks where
//! something happens. It knows no cells and no pixels. Everything is asked for a run of kilometres
//! and found by bisection, so that a part of a trip of 100,000 legs costs what a trip of ten costs.

use std::ops::Range;
use std::sync::Arc;

use super::lowest::Lowest;
use super::number::{Toward, Units};
use crate::model::vocabulary::Surface;
use crate::plan::{OnBoard, Plan, Span};
use crate::quantity::{Kilometres, Litres, Share};

/// A plan, ready to be drawn as a strip.
#[derive(Clone, Debug)]
pub struct Strip {
    plan: Arc<Plan>,
    length: Kilometres,
    top: Litres,
    days: Vec<DayBorder>,
    marks: Vec<Mark>,
    /// Litres over the reserve at the worse end of each span of the course.
    margins: Lowest,
}

/// The ground of one leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ground {
    /// Leg number, from 1.
    pub leg: usize,
    /// Where it starts, from the start of the trip.
    pub from: Kilometres,
    /// Where it ends.
    pub to: Kilometres,
    /// What it is made of.
    pub surface: Surface,
    /// Share of its length in soft sand.
    pub sand: Share,
    /// Share of its length in low range.
    pub low_range: Share,
    /// Share of its length in low range and in sand, counted in both of the others.
    pub both: Share,
}

/// A place on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaceMark<'a> {
    /// Its number, 0 for the start.
    pub node: usize,
    /// From the start of the trip.
    pub at: Kilometres,
    /// Its name, as the user wrote it.
    pub name: &'a str,
    /// Whether there is fuel.
    pub supply: Supply,
}

/// Whether a place has fuel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Supply {
    /// None.
    None,
    /// There may be some, but the plan does not rely on it.
    NotCounted,
    /// The plan relies on it.
    Counted,
}

/// The border at which a day begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DayBorder {
    /// Number of the day.
    pub day: u32,
    /// From the start of the trip.
    pub at: Kilometres,
}

/// Something that happens on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// From the start of the trip.
    pub at: Kilometres,
    /// What happens.
    pub kind: MarkKind,
}

/// What happens at a mark, gravest first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MarkKind {
    /// The tank runs dry.
    RunsDry,
    /// The fuel falls below the reserve.
    BelowReserve,
    /// Past here the place behind cannot be reached any more.
    TurnBack {
        /// Number of the place behind.
        refuge: usize,
        /// Whether that place may be dry.
        doubtful: bool,
    },
    /// A can is emptied into the tank.
    Pour {
        /// Litres that reach the tank.
        litres: Litres,
    },
}

impl MarkKind {
    /// How grave it is; 0 is gravest.
    pub const fn rank(self) -> u8 {
        match self {
            Self::RunsDry => 0,
            Self::BelowReserve => 1,
            Self::TurnBack { .. } => 2,
            Self::Pour { .. } => 3,
        }
    }

    /// What it is in two or three words, for a legend.
    pub const fn name(self) -> &'static str {
        match self {
            Self::RunsDry => "runs dry",
            Self::BelowReserve => "below the reserve",
            Self::TurnBack { .. } => "turn back before",
            Self::Pour { .. } => "pour a can",
        }
    }
}

impl Mark {
    /// The mark in a few words: `pour 19 L`, `turn back before km 389`.
    pub fn label(&self, units: Units) -> String {
        match self.kind {
            MarkKind::RunsDry => format!("dry at {}", units.at(self.at, Toward::Down)),
            MarkKind::BelowReserve => "below reserve".to_owned(),
            MarkKind::TurnBack { doubtful, .. } => {
                let doubt = if doubtful { " (if it has fuel)" } else { "" };
                let at = units.at(self.at, Toward::Down);
                format!("turn back before {at}{doubt}")
            }
            MarkKind::Pour { litres } => format!("pour {}", units.litres(litres)),
        }
    }
}

/// The fuel at the worst point of a run of kilometres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// The point, from the start of the trip.
    pub at: Kilometres,
    /// What is on board there.
    pub on_board: OnBoard,
}

impl Level {
    /// Litres over the reserve; below 0 is what is missing.
    pub fn margin(&self) -> Litres {
        self.on_board.tank + self.on_board.cans - self.on_board.reserve
    }

    /// Whether the tank is dry.
    pub fn is_dry(&self) -> bool {
        self.on_board.tank <= Litres::ZERO && self.on_board.cans <= Litres::ZERO
    }
}

impl Strip {
    /// The strip of a plan.
    pub fn of(plan: impl Into<Arc<Plan>>) -> Self {
        let plan = plan.into();
        let fullest = plan
            .course
            .iter()
            .map(|span| span.tank_from.max(span.tank_to) + span.cans)
            .fold(plan.trip.vehicle.usable_tank(), Litres::max);
        let worse_end = |span: &Span| {
            let ends = [end_of(span, false), end_of(span, true)];
            ends.map(|level| level.margin().get())
                .into_iter()
                .fold(f64::INFINITY, f64::min)
        };
        Self {
            length: plan
                .legs
                .last()
                .map_or(Kilometres::ZERO, |leg| leg.from_km + leg.distance),
            top: fullest,
            days: day_borders(&plan),
            marks: marks(&plan),
            margins: Lowest::of(plan.course.iter().map(worse_end).collect()),
            plan,
        }
    }

    /// The plan that is drawn.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Length of the trip.
    pub const fn length(&self) -> Kilometres {
        self.length
    }

    /// The most that is on board at any point, and at least a full tank: the top of the height scale.
    pub const fn top(&self) -> Litres {
        self.top
    }

    /// Number of the leg under a kilometre, from 1; at a place, the leg that departs from it.
    pub fn leg_at(&self, km: Kilometres) -> usize {
        self.plan
            .legs
            .partition_point(|leg| leg.from_km <= km)
            .max(1)
    }

    /// The ground of leg number `leg`, from 1.
    ///
    /// # Panics
    /// When there is no such leg.
    pub fn ground_of(&self, leg: usize) -> Ground {
        let planned = &self.plan.legs[leg - 1];
        let stated = &self.plan.trip.legs[leg - 1];
        Ground {
            leg,
            from: planned.from_km,
            to: planned.from_km + planned.distance,
            surface: planned.surface,
            sand: stated.sand_share(),
            low_range: stated.low_range_share(),
            both: stated.both_share(),
        }
    }

    /// The ground between two kilometres, leg by leg.
    pub fn ground(&self, run: Range<Kilometres>) -> impl Iterator<Item = Ground> + '_ {
        (self.leg_at(run.start)..=self.plan.legs.len())
            .map(|leg| self.ground_of(leg))
            .take_while(move |ground| ground.from < run.end)
    }

    /// Place number `node`.
    ///
    /// # Panics
    /// When there is no such place.
    pub fn place(&self, node: usize) -> PlaceMark<'_> {
        let stops = &self.plan.stops;
        let stop = stops
            .binary_search_by_key(&node, |stop| stop.node)
            .map(|found| &stops[found]);
        let stated = self.plan.trip.place(node);
        PlaceMark {
            node,
            at: self
                .plan
                .legs
                .get(node)
                .map_or(self.length, |leg| leg.from_km),
            name: stated.name,
            supply: match (stop, stated.fuel) {
                (Ok(stop), _) if stop.counted => Supply::Counted,
                (Err(_), Some(fuel)) if fuel.is_counted() => Supply::Counted,
                (Ok(_), _) | (Err(_), Some(_)) => Supply::NotCounted,
                (Err(_), None) => Supply::None,
            },
        }
    }

    /// The places from `run.start` on and before `run.end`.
    pub fn places(&self, run: Range<Kilometres>) -> impl Iterator<Item = PlaceMark<'_>> + '_ {
        let first = self
            .plan
            .legs
            .partition_point(|leg| leg.from_km < run.start);
        (first..=self.plan.legs.len())
            .map(|node| self.place(node))
            .skip_while(move |place| place.at < run.start)
            .take_while(move |place| place.at < run.end)
    }

    /// The first place with fuel from `run.start` on and before `run.end`.
    pub fn first_stop(&self, run: Range<Kilometres>) -> Option<PlaceMark<'_>> {
        let stops = &self.plan.stops;
        let first = stops.partition_point(|stop| stop.at_km < run.start);
        let stop = stops.get(first).filter(|stop| stop.at_km < run.end)?;
        Some(self.place(stop.node))
    }

    /// The day borders from `run.start` on and before `run.end`.
    pub fn days(&self, run: Range<Kilometres>) -> &[DayBorder] {
        within(&self.days, &run, |border| border.at)
    }

    /// The marks from `run.start` on and before `run.end`, by kilometre.
    pub fn marks(&self, run: Range<Kilometres>) -> &[Mark] {
        within(&self.marks, &run, |mark| mark.at)
    }

    /// All marks, by kilometre.
    pub fn all_marks(&self) -> &[Mark] {
        &self.marks
    }

    /// Tank and cans between two kilometres, span by span.
    pub fn spans(&self, run: Range<Kilometres>) -> &[Span] {
        &self.plan.course[self.span_indices(&run)]
    }

    /// The point between two kilometres at which least is left over the reserve.
    pub fn worst(&self, run: Range<Kilometres>) -> Option<Level> {
        let spans = self.span_indices(&run);
        if spans.is_empty() {
            return None;
        }
        let course = &self.plan.course;
        let clipped = |index: usize| {
            let span = &course[index];
            [
                level_in(span, run.start.max(span.from_km)),
                level_in(span, run.end.min(span.to_km)),
            ]
        };
        let inner = spans.start + 1..spans.end.saturating_sub(1);
        let lowest_inner = self.margins.index_in(inner).map(|index| {
            let span = &course[index];
            [end_of(span, false), end_of(span, true)]
        });
        clipped(spans.start)
            .into_iter()
            .chain(lowest_inner.into_iter().flatten())
            .chain(clipped(spans.end - 1))
            .reduce(|worst, level| {
                if level.margin() < worst.margin() {
                    level
                } else {
                    worst
                }
            })
    }

    /// The spans that reach into a run. A span that ends where the run starts is left out, one
    /// without length is not.
    fn span_indices(&self, run: &Range<Kilometres>) -> Range<usize> {
        let course = &self.plan.course;
        let first = course.partition_point(|span| {
            span.to_km < run.start || (span.to_km == run.start && span.from_km < run.start)
        });
        let last = if run.end >= self.length {
            course.len()
        } else {
            course.partition_point(|span| span.from_km < run.end)
        };
        first.min(last)..last
    }
}

/// The part of a list in order of kilometres that lies in a run.
fn within<'a, T>(
    items: &'a [T],
    run: &Range<Kilometres>,
    at: impl Fn(&T) -> Kilometres,
) -> &'a [T] {
    let first = items.partition_point(|item| at(item) < run.start);
    let last = items.partition_point(|item| at(item) < run.end);
    &items[first..last.max(first)]
}

/// One end of a span.
fn end_of(span: &Span, far: bool) -> Level {
    let (at, tank, reserve) = if far {
        (span.to_km, span.tank_to, span.reserve_to)
    } else {
        (span.from_km, span.tank_from, span.reserve_from)
    };
    Level {
        at,
        on_board: OnBoard {
            tank,
            cans: span.cans,
            reserve,
        },
    }
}

/// A point of a span.
fn level_in(span: &Span, at: Kilometres) -> Level {
    let length = span.to_km - span.from_km;
    if length <= Kilometres::ZERO {
        return end_of(span, true);
    }
    let part = ((at - span.from_km) / length).clamp(0.0, 1.0);
    Level {
        at,
        on_board: OnBoard {
            tank: span.tank_from + (span.tank_to - span.tank_from) * part,
            cans: span.cans,
            reserve: span.reserve_from + (span.reserve_to - span.reserve_from) * part,
        },
    }
}

fn day_borders(plan: &Plan) -> Vec<DayBorder> {
    let mut borders: Vec<DayBorder> = Vec::new();
    for leg in &plan.legs {
        if borders.last().is_none_or(|last| last.day != leg.day) {
            borders.push(DayBorder {
                day: leg.day,
                at: leg.from_km,
            });
        }
    }
    borders
}

fn marks(plan: &Plan) -> Vec<Mark> {
    let pours = plan.pours.iter().map(|pour| Mark {
        at: pour.at_km,
        kind: MarkKind::Pour {
            litres: pour.litres,
        },
    });
    let turns = plan.stretches.iter().flat_map(|stretch| {
        let end = stretch.from_km + stretch.distance;
        let of = move |turn: &crate::plan::TurnBack, doubtful| {
            // A point at the very end forbids nothing: from all of the stretch one can go back.
            (turn.at_km < end).then_some(Mark {
                at: turn.at_km,
                kind: MarkKind::TurnBack {
                    refuge: turn.refuge,
                    doubtful,
                },
            })
        };
        let sure = stretch.turn_back.as_ref().and_then(|turn| of(turn, false));
        let doubtful = stretch
            .doubtful_turn_back
            .as_ref()
            .and_then(|turn| of(turn, true));
        [sure, doubtful].into_iter().flatten()
    });
    let mut marks: Vec<Mark> = pours.chain(turns).chain(falls(plan)).collect();
    marks.sort_by(|a, b| {
        a.at.get()
            .total_cmp(&b.at.get())
            .then(a.kind.rank().cmp(&b.kind.rank()))
    });
    marks
}

/// Where the fuel falls below the reserve, and where the tank runs dry.
fn falls(plan: &Plan) -> Vec<Mark> {
    let mut marks = Vec::new();
    let (mut was_below, mut was_dry) = (false, false);
    for span in &plan.course {
        let margin = |far| end_of(span, far).margin();
        let (below, dry) = (margin(true) < Litres::ZERO, span.tank_to < Litres::ZERO);
        let starts_below = margin(false) < Litres::ZERO;
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
