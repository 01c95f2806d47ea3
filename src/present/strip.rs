//! The strip: the route unrolled from left to right, as kilometres, litres and marks.
//!
//! One description that a terminal and an SVG both draw: the ground under the wheels, places and
//! day borders, tank and cans along the way with the reserve that must be left, and the marks where
//! something happens. It knows no cells and no pixels. Everything is asked for a run of kilometres
//! and found by bisection, so that a part of a trip of 100,000 legs costs what a trip of ten costs.

use std::ops::Range;
use std::sync::Arc;

use super::heights::Heights;
use super::lowest::Lowest;
use super::mark::{Mark, marks};
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
    heights: Option<Heights>,
    index: Index,
}

/// Where everything lies that is looked for by kilometre, apart from what it is: a search among a hundred thousand legs
/// then reads a few lines of memory and not as many whole legs.
#[derive(Clone, Debug)]
struct Index {
    /// Where each leg starts.
    legs: Vec<Kilometres>,
    /// Where each fuel stop is, and the number of its place.
    stops: Vec<(Kilometres, usize)>,
    /// Where each span of the course starts and ends.
    spans: [Vec<Kilometres>; 2],
}

impl Index {
    fn of(plan: &Plan) -> Self {
        Self {
            legs: plan.legs.iter().map(|leg| leg.from_km).collect(),
            stops: plan
                .stops
                .iter()
                .map(|stop| (stop.at_km, stop.node))
                .collect(),
            spans: [
                plan.course.iter().map(|span| span.from_km).collect(),
                plan.course.iter().map(|span| span.to_km).collect(),
            ],
        }
    }
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
            heights: Heights::of(&plan),
            index: Index::of(&plan),
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
        self.index.legs.partition_point(|from| *from <= km).max(1)
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
        let found = self.index.stops.binary_search_by_key(&node, |stop| stop.1);
        let stop = found.map(|found| &stops[found]);
        let stated = self.plan.trip.place(node);
        PlaceMark {
            node,
            at: self.index.legs.get(node).copied().unwrap_or(self.length),
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
        let first = self.index.legs.partition_point(|from| *from < run.start);
        (first..=self.plan.legs.len())
            .map(|node| self.place(node))
            .skip_while(move |place| place.at < run.start)
            .take_while(move |place| place.at < run.end)
    }

    /// The first place with fuel from `run.start` on and before `run.end`.
    pub fn first_stop(&self, run: Range<Kilometres>) -> Option<PlaceMark<'_>> {
        let stops = &self.index.stops;
        let first = stops.partition_point(|stop| stop.0 < run.start);
        let (_, node) = stops.get(first).filter(|stop| stop.0 < run.end)?;
        Some(self.place(*node))
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

    /// How high the way lies; nothing where the trip does not say at what height it starts.
    pub const fn heights(&self) -> Option<&Heights> {
        self.heights.as_ref()
    }

    /// Between which litres the fuel on board lies in nine of ten samples at a kilometre; nothing where no chances were
    /// computed.
    pub fn band(&self, km: Kilometres) -> Option<[Litres; 2]> {
        let doubt = self.plan.doubt.as_ref()?;
        let n = self.leg_at(km);
        let (leg, band) = (self.plan.legs.get(n - 1)?, doubt.bands.get(n - 1)?);
        let part = if leg.distance > Kilometres::ZERO {
            ((km - leg.from_km) / leg.distance).clamp(0.0, 1.0)
        } else {
            1.0
        };
        Some([
            band.start.low + (band.end.low - band.start.low) * part,
            band.start.high + (band.end.high - band.start.high) * part,
        ])
    }

    /// Tank and cans between two kilometres, span by span.
    pub fn spans(&self, run: Range<Kilometres>) -> &[Span] {
        &self.plan.course[self.span_indices(&run)]
    }

    /// The point between two kilometres at which least is left over the reserve. A span is taken as
    /// straight; that a lighter vehicle burns less bends it by some hundredths of a litre.
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
        let [from, to] = &self.index.spans;
        let reaching = to.partition_point(|to| *to < run.start);
        let ends_here = |&nth: &usize| to[nth] == run.start && from[nth] < run.start;
        let first = (reaching..to.len())
            .find(|nth| !ends_here(nth))
            .unwrap_or(to.len());
        let last = if run.end >= self.length {
            to.len()
        } else {
            from.partition_point(|from| *from < run.end)
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
pub(super) fn end_of(span: &Span, far: bool) -> Level {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::check;
    use crate::present::mark::MarkKind;

    fn example(change: impl FnOnce(&mut crate::model::Trip)) -> Strip {
        let text = include_str!("../../tests/data/example-trip.json");
        let mut trip = check::read(serde_json::from_str(text).unwrap()).unwrap();
        change(&mut trip);
        Strip::of(Plan::of(trip))
    }

    /// Litres by which a span may differ from a straight line.
    const BEND: f64 = 0.05;

    const fn km(km: f64) -> Kilometres {
        Kilometres::new(km)
    }

    /// Against looking at the fuel every hundred metres.
    #[test]
    fn the_worst_point_is_not_missed() {
        let strip = example(|trip| trip.legs[1].fuel = None);
        for (from, to) in [
            (0.0, 722.0),
            (0.0, 10.0),
            (141.0, 143.0),
            (200.0, 490.0),
            (700.0, 722.0),
        ] {
            let worst = strip.worst(km(from)..km(to)).unwrap();
            let mut sampled = f64::INFINITY;
            let mut at = from;
            while at < to {
                let fuel = strip.plan().on_board_at(km(at));
                sampled = sampled.min((fuel.tank + fuel.cans - fuel.reserve).get());
                at += 0.1;
            }
            let margin = worst.margin().get();
            assert!(
                margin <= sampled + BEND && sampled - margin < 0.2,
                "{from} to {to}: {margin} {sampled}"
            );
            assert!(km(from) <= worst.at && worst.at <= km(to));
        }
    }

    #[test]
    fn what_is_asked_for_a_part_is_a_part_of_the_whole() {
        let strip = example(|_| ());
        let all = km(0.0)..strip.length() + km(1.0);
        let part = km(142.0)..km(373.0);
        let inside = |at: Kilometres| part.start <= at && at < part.end;
        let places = |run| {
            strip
                .places(run)
                .map(|place| (place.node, place.at))
                .collect::<Vec<_>>()
        };
        let expected: Vec<_> = places(all.clone())
            .into_iter()
            .filter(|place| inside(place.1))
            .collect();
        assert_eq!(places(part.clone()), expected);
        assert_eq!(places(all.clone()).len(), 7);
        let marks: Vec<_> = strip
            .marks(all.clone())
            .iter()
            .filter(|mark| inside(mark.at))
            .collect();
        assert_eq!(strip.marks(part.clone()).iter().collect::<Vec<_>>(), marks);
        assert_eq!(strip.marks(all.clone()), strip.all_marks());
        let days: Vec<u32> = strip.days(all).iter().map(|border| border.day).collect();
        assert_eq!(days, [1, 2, 3, 4]);
        let legs: Vec<usize> = strip
            .ground(part.clone())
            .map(|ground| ground.leg)
            .collect();
        assert_eq!(legs, [2, 3, 4]);
        assert!(
            strip
                .spans(part)
                .iter()
                .all(|span| (2..=4).contains(&span.leg))
        );
    }

    #[test]
    fn falls_are_marked_where_they_begin() {
        let fine = example(|_| ());
        let grave = |strip: &Strip| {
            strip
                .all_marks()
                .iter()
                .filter(|mark| mark.kind.rank() < 2)
                .count()
        };
        assert_eq!(grave(&fine), 0);
        let short = example(|trip| {
            trip.load.as_mut().unwrap().cans = None;
            trip.legs[1].fuel = None;
        });
        assert_eq!(grave(&short), 2);
        let at = |kind: MarkKind| {
            short
                .all_marks()
                .iter()
                .find(|mark| mark.kind == kind)
                .unwrap()
                .at
        };
        let below = short.plan().on_board_at(at(MarkKind::BelowReserve));
        assert!((below.tank + below.cans - below.reserve).abs() < Litres::new(BEND));
        assert!(short.plan().on_board_at(at(MarkKind::RunsDry)).tank.abs() < Litres::new(BEND));
    }

    /// 1850 m at the start, then the stated climbs and descents.
    #[test]
    fn heights_follow_the_stated_climbs() {
        let strip = example(|_| ());
        let heights = strip.heights().unwrap();
        assert!((heights.at(km(0.0)).get() - 1850.0).abs() < 1e-9);
        assert!((heights.at(km(142.0)).get() - 2450.0).abs() < 1e-9);
        assert!((heights.at(km(71.0)).get() - 2150.0).abs() < 1e-9);
        assert!(
            example(|trip| trip.start.altitude_m = None)
                .heights()
                .is_none()
        );
    }
}
