//! The strip: the route unrolled from left to right, as kilometres, litres and marks.
//!
//! One description that a terminal and an SVG both draw: the ground under the wheels, places and
//! day borders, tank and cans along the way with the reserve that must be left, and the marks where
//! something happens. It knows no cells and no pixels. Everything is asked for a run of kilometres
//! and found by bisection.

use std::ops::Range;
use std::sync::Arc;

use super::heights::Heights;
use super::levels::at_target;
use super::mark::{Mark, marks};
use crate::model::vocabulary::Surface;
use crate::plan::{OnBoard, Plan, PlannedLeg, Span};
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::fuel::ROUNDING;

/// A plan, ready to be drawn as a strip.
#[derive(Clone, Debug)]
pub struct Strip {
    plan: Arc<Plan>,
    length: Kilometres,
    top: Litres,
    days: Vec<DayBorder>,
    marks: Vec<Mark>,
    heights: Option<Heights>,
}

/// The ground of one leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ground {
    /// Leg number, from 1.
    pub(crate) leg: usize,
    /// Where it starts, from the start of the trip.
    pub(crate) from: Kilometres,
    pub(crate) to: Kilometres,
    /// What it is made of.
    pub(crate) surface: Surface,
    /// Share of its length in soft sand, dunes included.
    pub(crate) sand: Share,
    /// Share of its length in dunes.
    pub(crate) dunes: Share,
    /// Share of its length in low range.
    pub(crate) low_range: Share,
    /// Share of its length in low range and in sand, counted in both of the others.
    pub(crate) both: Share,
}

/// A place on the route.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaceMark<'a> {
    /// Its number, 0 for the start.
    pub place_number: usize,
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
    /// There is no fuel, as far as the trip states.
    None,
    /// There may be some, but the plan does not rely on it.
    NotCounted,
    /// The plan relies on it.
    Counted,
}

/// The border at which a day begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct DayBorder {
    /// Number of the day.
    pub(crate) day: u32,
    /// From the start of the trip.
    pub(crate) at: Kilometres,
}

/// The fuel at the worst point of a run of kilometres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Level {
    /// The point, from the start of the trip.
    pub(crate) at: Kilometres,
    /// What is on board there.
    pub(crate) on_board: OnBoard,
}

impl Level {
    /// Litres over the reserve; below 0 is what is missing.
    pub(crate) fn margin(&self) -> Litres {
        self.on_board.tank + self.on_board.cans - self.on_board.reserve
    }

    /// Whether the tank is dry.
    pub(crate) fn is_dry(&self) -> bool {
        self.on_board.tank <= Litres::ZERO && self.on_board.cans <= Litres::ZERO
    }
}

impl Strip {
    /// The strip of a plan.
    pub fn from_plan(plan: impl Into<Arc<Plan>>) -> Self {
        let plan = plan.into();
        let fullest = plan
            .course
            .iter()
            .map(|span| span.tank_from.max(span.tank_to) + span.cans)
            .fold(plan.trip.vehicle.usable_tank(), Litres::max);
        let days = plan.legs.chunk_by(|leg, next| leg.day == next.day);
        let border = |leg: &PlannedLeg| DayBorder {
            day: leg.day,
            at: leg.from_km,
        };
        Self {
            length: plan
                .legs
                .last()
                .map_or(Kilometres::ZERO, |leg| leg.from_km + leg.distance),
            top: fullest,
            days: days.map(|legs| border(&legs[0])).collect(),
            marks: marks(&plan),
            heights: Heights::from_plan(&plan),
            plan,
        }
    }

    /// The plan that is drawn.
    pub(crate) fn plan(&self) -> &Plan {
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
    pub(crate) fn leg_at(&self, km: Kilometres) -> usize {
        let legs = &self.plan.legs;
        legs.partition_point(|leg| leg.from_km <= km).max(1)
    }

    /// The ground of leg number `leg`, from 1.
    ///
    /// # Panics
    /// When there is no such leg.
    pub(crate) fn ground_of(&self, leg: usize) -> Ground {
        let planned = &self.plan.legs[leg - 1];
        let stated = &self.plan.trip.legs[leg - 1];
        Ground {
            leg,
            from: planned.from_km,
            to: planned.from_km + planned.distance,
            surface: planned.surface,
            sand: stated.soft_share(),
            dunes: stated.dune_share(),
            low_range: stated.low_range_share(),
            both: stated.both_share(),
        }
    }

    /// The ground between two kilometres, leg by leg.
    pub(crate) fn ground(&self, run: Range<Kilometres>) -> impl Iterator<Item = Ground> + '_ {
        (self.leg_at(run.start)..=self.plan.legs.len())
            .map(|leg| self.ground_of(leg))
            .take_while(move |ground| ground.from < run.end)
    }

    /// Place number `place_number`.
    ///
    /// # Panics
    /// When there is no such place.
    pub fn place(&self, place_number: usize) -> PlaceMark<'_> {
        let stops = &self.plan.stops;
        let found = stops.binary_search_by_key(&place_number, |stop| stop.place_number);
        let stop = found.map(|found| &stops[found]);
        let stated = self.plan.trip.place(place_number);
        PlaceMark {
            place_number,
            at: self
                .plan
                .legs
                .get(place_number)
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
    pub(crate) fn places(
        &self,
        run: Range<Kilometres>,
    ) -> impl Iterator<Item = PlaceMark<'_>> + '_ {
        let legs = &self.plan.legs;
        let first = legs.partition_point(|leg| leg.from_km < run.start);
        (first..=legs.len())
            .map(|place_number| self.place(place_number))
            .skip_while(move |place| place.at < run.start)
            .take_while(move |place| place.at < run.end)
    }

    /// The first place with fuel from `run.start` on and before `run.end`.
    pub(crate) fn first_stop(&self, run: Range<Kilometres>) -> Option<PlaceMark<'_>> {
        let stops = &self.plan.stops;
        let first = stops.partition_point(|stop| stop.at_km < run.start);
        let stop = stops.get(first).filter(|stop| stop.at_km < run.end)?;
        Some(self.place(stop.place_number))
    }

    /// The day borders from `run.start` on and before `run.end`.
    pub(crate) fn days(&self, run: Range<Kilometres>) -> &[DayBorder] {
        within(&self.days, &run, |border| border.at)
    }

    /// The marks from `run.start` on and before `run.end`, by kilometre.
    pub(crate) fn marks(&self, run: Range<Kilometres>) -> &[Mark] {
        within(&self.marks, &run, |mark| mark.at)
    }

    /// All marks, by kilometre.
    pub fn all_marks(&self) -> &[Mark] {
        &self.marks
    }

    /// Altitude of the route; `None` if the trip does not state the altitude of its start.
    pub(crate) const fn heights(&self) -> Option<&Heights> {
        self.heights.as_ref()
    }

    /// The line that the fuel must stay above: at the target the reserve, by the best estimate the minimum.
    pub(crate) fn line_name(&self) -> &'static str {
        if self.plan.doubt.is_some() {
            "reserve"
        } else {
            "minimum"
        }
    }

    /// Litres of that line at a kilometre.
    pub(crate) fn line_at(&self, km: Kilometres) -> Litres {
        let leg = self.plan.legs.get(self.leg_at(km) - 1);
        match leg.filter(|_| self.plan.doubt.is_some()) {
            Some(leg) => leg.fixed_reserve,
            None => self.plan.on_board_at(km).reserve,
        }
    }

    /// Whether the fuel falls below that line anywhere in a run: at the target where trips were simulated, so that a plan
    /// that may go has no such run.
    pub(crate) fn is_short(&self, run: Range<Kilometres>) -> bool {
        if self.plan.doubt.is_none() {
            let worst = self.worst(run);
            return worst.is_some_and(|level| level.margin() < -ROUNDING);
        }
        let legs = self.ground(run.clone());
        legs.filter_map(|ground| at_target(&self.plan, ground.leg))
            .any(|leg| leg.least_in(&run) < -ROUNDING)
    }

    /// Between which litres the fuel on board is in nine of ten samples at a kilometre; `None` if no chances were
    /// computed.
    pub fn band(&self, km: Kilometres) -> Option<[Litres; 2]> {
        let doubt = self.plan.doubt.as_ref()?;
        let n = self.leg_at(km);
        let (leg, band) = (self.plan.legs.get(n - 1)?, doubt.bands.get(n - 1)?);
        let part = (km - leg.from_km)
            .part_of(leg.distance)
            .map_or(1.0, |part| part.clamp(0.0, 1.0));
        Some([
            band.start.low + (band.end.low - band.start.low) * part,
            band.start.high + (band.end.high - band.start.high) * part,
        ])
    }

    /// Tank and cans between two kilometres, span by span: a span that ends where the run starts is left out, one
    /// without length is not.
    pub(crate) fn spans(&self, run: Range<Kilometres>) -> &[Span] {
        let course = &self.plan.course;
        let reaching = course.partition_point(|span| span.to_km < run.start);
        let ends_here = |span: &&Span| span.to_km == run.start && span.from_km < run.start;
        let first = reaching + course[reaching..].iter().take_while(ends_here).count();
        let last = if run.end >= self.length {
            course.len()
        } else {
            course.partition_point(|span| span.from_km < run.end)
        };
        &course[first.min(last)..last]
    }

    /// The point between two kilometres at which least is left over the reserve. A span is taken as
    /// straight; that a lighter vehicle burns less bends it by some hundredths of a litre.
    pub(crate) fn worst(&self, run: Range<Kilometres>) -> Option<Level> {
        let ends = self.spans(run.clone()).iter().flat_map(|span| {
            let ends = [run.start.max(span.from_km), run.end.min(span.to_km)];
            ends.map(|at| level_in(span, at))
        });
        ends.reduce(|worst, level| {
            if level.margin() < worst.margin() {
                level
            } else {
                worst
            }
        })
    }
}

/// The part of a list in order of kilometres that is in a run.
fn within<'a, T>(
    items: &'a [T],
    run: &Range<Kilometres>,
    at: impl Fn(&T) -> Kilometres,
) -> &'a [T] {
    let first = items.partition_point(|item| at(item) < run.start);
    let last = items.partition_point(|item| at(item) < run.end);
    &items[first..last.max(first)]
}

/// A point of a span; of one without length its far end.
fn level_in(span: &Span, at: Kilometres) -> Level {
    let part = if at < span.to_km {
        ((at - span.from_km) / (span.to_km - span.from_km)).max(0.0)
    } else {
        1.0
    };
    let between = |from: Litres, to: Litres| from + (to - from) * part;
    Level {
        at,
        on_board: OnBoard {
            tank: between(span.tank_from, span.tank_to),
            cans: span.cans,
            reserve: between(span.reserve_from, span.reserve_to),
        },
    }
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
        Strip::from_plan(Plan::best_estimate(trip))
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
                .map(|place| (place.place_number, place.at))
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
        let below = short.plan().on_board_at(at(MarkKind::BelowMinimum));
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
        let nearly_flat = example(|trip| {
            for leg in &mut trip.legs {
                (leg.ascent_m, leg.descent_m) = (None, None);
            }
        });
        assert!(nearly_flat.heights().is_none());
    }
}
