//! How simulated trips end whose drivers obey the fuel checks.
//!
//! A trip is driven once as if nobody ever turned back; then its checks are gone through in their order. At the first
//! that it fails the driver returns with what is on board there, over the same legs.

use std::num::NonZeroUsize;
use std::sync::Arc;

use super::fitted::{CheckFigures, CheckKind, FuelChecks};
use super::in_trouble::Action;
use super::route::{CheckRoute, Course, KeptLane, Looking, kept};
use crate::consumption::usage::Usage;
use crate::doubt::driven::{Driven, Instructions, Outcome};
use crate::doubt::returns::Point;
use crate::doubt::study::{Drawn, FITTED_BLOCKS, SKETCH_BLOCKS};
use crate::doubt::tally::{Odds, SURELY, UnsortedSamples, quantiles_of};
use crate::doubt::threads::for_each;
use crate::doubt::world::Block;
use crate::doubt::{BLOCK, Lane};
use crate::quantity::{Factor, Kilometres, Litres, Share};
use crate::solver::fuel::{Need, Problem, ROUNDING};

/// How a trip ends whose driver obeys.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Obeyed {
    /// At the finish, the reserve intact all along.
    FinishIntact,
    /// At the finish, having used some of it.
    FinishUsing,
    /// Back at a refuge, the reserve intact all along.
    TurnedBackIntact,
    /// Back at a refuge, having used some of it.
    TurnedBackUsing,
    /// Out of fuel, on the route there or back.
    RanOut,
}

impl Obeyed {
    /// All ends, in the order in which they are reported.
    pub const ALL: [Self; 5] = [
        Self::FinishIntact,
        Self::FinishUsing,
        Self::TurnedBackIntact,
        Self::TurnedBackUsing,
        Self::RanOut,
    ];
}

/// The checks of a plan with their figures.
#[derive(Clone, Debug)]
pub struct CheckCard {
    checks: Arc<FuelChecks>,
    figures: Vec<CheckFigures>,
    /// Litres that were on board or taken since the last full fill, as the plan is driven.
    departed: Vec<Litres>,
    /// What decanting will lose.
    lost: Vec<Litres>,
    /// What the plan leaves the fuel stop there with, if it is relied on and unlimited.
    left_with: Vec<Option<Litres>>,
    /// What is on board on arrival with fuel at every stop that is relied on, nobody turned back and no luck.
    arrivals: Vec<Arrivals>,
}

/// Litres on arrival at a check, trip by trip.
#[derive(Clone, Debug)]
struct Arrivals(Vec<f32>);

impl Arrivals {
    fn quantiles<const N: usize>(&self, shares: [Share; N]) -> [Litres; N] {
        quantiles_of(&mut self.0.clone(), shares)
    }

    /// The share of the trips in which a gauge reads less than a figure; `spread` is the standard deviation of a
    /// reading.
    fn share_read_below(&self, figure: Litres, spread: Litres) -> Share {
        let litres = self.0.iter().map(|&litres| Litres::new(litres.into()));
        let chances = litres.map(|litres| chance_read_below(figure - litres, spread));
        Share::new(chances.sum::<f64>() / self.0.len().max(1) as f64)
    }
}

/// The chance that a gauge reads less than a figure; `short` is by how much less than the figure is on board, negative
/// if there is more.
fn chance_read_below(short: Litres, spread: Litres) -> f64 {
    0.5 * libm::erfc(-(short / spread) / std::f64::consts::SQRT_2)
}

/// Checks that are farther apart may have one more between them. Chosen, no source: a quarter of an hour's driving.
const FAR_APART: Kilometres = Kilometres::new(15.0);
/// Parts between two checks at which it may be best decided.
const TRIED: u32 = 8;
/// A return must save so much where it is decided, so that more simulated trips will find the same.
const SAVES_SURELY: Litres = Litres::new(0.3);
/// The share of the trips that left with no more than a figure of a check takes them to have left with.
const THIRSTY: Share = Share::new(0.002);

impl CheckCard {
    /// The figures of the checks for trips as they were driven, by blocks, with fuel at every stop that is relied on,
    /// nobody turned back and no luck.
    pub(in crate::doubt) fn new(
        checks: Arc<FuelChecks>,
        instructions: Instructions<'_>,
        driven: &[(&Block, &Driven)],
        threads: NonZeroUsize,
    ) -> Self {
        let course = course(&checks, instructions);
        let rows = checks.rows.len();
        // What is on board, check by check.
        let blocks: Vec<Vec<KeptLane>> = for_each(driven.iter(), threads, |(block, driven)| {
            let there = |check| kept(&on_board_at(instructions, &checks, check, block, driven));
            (0..rows).map(there).collect()
        });
        // What the simple course leaves out is much the same in all trips: a few of them show it.
        let few = &driven[..driven.len().min(FITTED_BLOCKS)];
        let simple: Vec<Vec<KeptLane>> = for_each(few.iter(), threads, |(block, _)| {
            let mut lanes = Vec::with_capacity(rows);
            course.forward(block, |_, lane, _| lanes.push(kept(lane)));
            lanes
        });
        let rows: Vec<AtRow> = for_each(0..rows, threads, |check| {
            let leg = checks.route().points[check].0;
            let mut litres = Vec::with_capacity(blocks.len() * BLOCK);
            for block in &blocks {
                litres.extend_from_slice(&block[check][..]);
            }
            let (mut offs, mut with_cans) = (Vec::new(), Vec::new());
            for ((block, simple), (_, driven)) in blocks.iter().zip(&simple).zip(few) {
                let (there, simple) = (&block[check], &simple[check]);
                let in_cans = driven
                    .in_cans(leg)
                    .filter(|_| !instructions.problem.cans.is_empty());
                for trip in 0..BLOCK {
                    if there[trip].is_finite() {
                        offs.push(there[trip] - simple[trip]);
                        with_cans.extend(in_cans.map(|lane| (there[trip], lane[trip])));
                    }
                }
            }
            let [off] = quantiles_of(&mut offs, [THIRSTY]);
            AtRow {
                // Trips that were thrifty leave a fuel stop with more in cans; near a threshold are those that were
                // not.
                off,
                lost: lost_by_thirsty(with_cans, instructions.problem),
                left_with: left_with(&checks, check, driven),
                litres,
            }
        });
        let departed: Vec<Litres> = rows
            .iter()
            .zip(&checks.rows)
            .map(|(row, fitted)| fitted.departed + row.off)
            .collect();
        let lost: Vec<Litres> = rows.iter().map(|row| row.lost).collect();
        let left_with: Vec<Option<Litres>> = rows.iter().map(|row| row.left_with).collect();
        let arrivals = rows.into_iter().map(|row| Arrivals(row.litres));
        Self {
            figures: checks.all_figures(&departed, &lost, &left_with, threads),
            departed,
            lost,
            left_with,
            arrivals: arrivals.collect(),
            checks,
        }
    }

    /// Litres on board on arrival at each check than which some rising shares of the trips have less, with fuel at
    /// every stop that is relied on, nobody turned back before and no luck.
    pub(crate) fn quantiles<const N: usize>(
        &self,
        shares: [Share; N],
        threads: NonZeroUsize,
    ) -> Vec<[Litres; N]> {
        for_each(self.arrivals.iter(), threads, |arrivals| {
            let mut quantiles = arrivals.quantiles(shares);
            for litres in &mut quantiles {
                *litres = litres.max(Litres::ZERO);
            }
            quantiles
        })
    }

    /// The checks fitted anew where more of their figures must allow for a gauge: elsewhere it turns back no more than
    /// `most` of the trips. `None` if those that allow for it do.
    pub(crate) fn too_fine(
        &self,
        drawn: &Drawn,
        driving: (&Problem, &Need),
        most: Share,
    ) -> Option<FuelChecks> {
        let mut fitted: Option<FuelChecks> = None;
        let mut figures = self.figures.clone();
        loop {
            let checks = fitted.as_ref().unwrap_or(&self.checks);
            let route = checks.route();
            let points = route.points.iter().zip(&figures).enumerate();
            let decide = points.filter(|(_, (_, figures))| figures.kind.decides());
            let too_fine = decide.filter(|(check, (point, figures))| {
                !route.by_gauge.contains(point) && self.is_too_fine(*check, figures, most)
            });
            let new: Vec<Point> = too_fine.map(|(_, (point, _))| *point).collect();
            if new.is_empty() {
                return fitted;
            }
            let by_gauge = [&route.by_gauge[..], &new].concat();
            let checks = checks.allowing_for_gauge(drawn, driving, by_gauge);
            let threads = drawn.effort().threads;
            figures = checks.all_figures(&self.departed, &self.lost, &self.left_with, threads);
            fitted = Some(checks);
        }
    }

    /// Whether a gauge surely turns back no more than `most` of the trips at any check that does not allow for it,
    /// however many more trips are asked.
    pub(crate) fn is_surely_not_too_fine(&self, most: Share) -> bool {
        let route = self.checks.route();
        let mut figures = self.figures.iter().zip(&route.points).enumerate();
        figures.all(|(check, (figures, point))| {
            let trips = self.arrivals[check].0.len().max(1) as f64;
            let error = (most.get() * (1.0 - most.get()) / trips).sqrt();
            let surely = Share::new(most.get() - SURELY * error);
            !figures.kind.decides()
                || route.by_gauge.contains(point)
                || !self.is_too_fine(check, figures, surely)
        })
    }

    /// Whether a gauge turns back more than `most` of the trips at a check with these figures.
    fn is_too_fine(&self, check: usize, figures: &CheckFigures, most: Share) -> bool {
        let Some(figure) = figures.continue_with else {
            return true;
        };
        let spread = self.checks.route().gauge;
        let arrivals = &self.arrivals[check];
        // Half of those may be turned back for what they have, and of the others as many by the gauge.
        let half = Share::new(most.get() / 2.0);
        let [low] = arrivals.quantiles([half]);
        let is_clear = chance_read_below(figure - low, spread) <= half.get();
        !is_clear && arrivals.share_read_below(figure, spread) > most
    }

    /// Where it is best decided: in each stage the last point between its last check that decides and the next one from
    /// which returning takes no more than continuing, where the two are far apart. `length` gives the kilometres of a
    /// leg.
    pub(crate) fn best_decisions(
        &self,
        drawn: &Drawn,
        driving: (&Problem, &Need),
        length: impl Fn(usize) -> Kilometres,
    ) -> Vec<Point> {
        let route = self.checks.route();
        let decisions = (0..route.points.len().saturating_sub(1))
            .filter(|&check| self.figures[check].kind == CheckKind::Decision);
        let mut tried: Vec<(usize, Point)> = Vec::new();
        for check in decisions {
            let ((leg, part), (next, to)) = (route.points[check], route.points[check + 1]);
            let from = if next == leg { part.get() } else { 0.0 };
            let adjoins = next == leg || next == leg + 1 && part.get() >= 1.0;
            if !adjoins || length(next) * (to.get() - from) <= FAR_APART {
                continue;
            }
            tried.extend((1..TRIED).map(|nth| {
                let share = f64::from(nth) / f64::from(TRIED);
                (check, (next, Share::new(from + (to.get() - from) * share)))
            }));
        }
        if tried.is_empty() {
            return Vec::new();
        }
        let there = CheckRoute {
            points: tried.iter().map(|(_, point)| *point).collect(),
            by_gauge: Vec::new(),
            ..route.clone()
        };
        let there = (there, Looking::Back);
        let legs = &drawn.world().legs;
        let there = FuelChecks::fitted_over(drawn, driving, legs, there, SKETCH_BLOCKS);
        let mut best: Vec<(usize, Point)> = Vec::new();
        let mut over = None;
        for ((check, point), row) in tried.into_iter().zip(&there.rows) {
            // What is on board or taken until the next check is what is until there.
            let saves = row.return_saves(self.departed[check + 1]);
            if over == Some(check) || saves.is_none_or(|saves| saves < SAVES_SURELY) {
                over = Some(check);
            } else {
                best.retain(|(before, _)| *before != check);
                best.push((check, point));
            }
        }
        best.into_iter().map(|(_, point)| point).collect()
    }

    /// The figures of each check.
    pub(crate) fn figures(&self) -> &[CheckFigures] {
        &self.figures
    }

    /// The places at which everything is filled on arrival with less than so much.
    pub(crate) fn fill_all_below(&self) -> impl Iterator<Item = (usize, Litres)> {
        let points = &self.checks.route().points;
        points
            .iter()
            .zip(&self.figures)
            .filter_map(|(point, figures)| {
                let leaving = figures
                    .leaving
                    .filter(|leaving| leaving.all_full_from.is_some())?;
                Some((point.0 + 1, leaving.as_planned_from))
            })
    }

    /// What the plan leaves the fuel stop at a check with, if it is relied on and unlimited.
    pub(crate) fn left_with(&self, check: usize) -> Option<Litres> {
        self.left_with[check]
    }

    pub(crate) fn checks(&self) -> &Arc<FuelChecks> {
        &self.checks
    }
}

/// What is found out about one check.
struct AtRow {
    /// Litres on board, trip by trip.
    litres: Vec<f32>,
    /// By how much the trips near a threshold have more than on the simple course.
    off: Litres,
    /// What they will lose in decanting.
    lost: Litres,
    /// What the plan leaves the fuel stop there with, if it is relied on and unlimited.
    left_with: Option<Litres>,
}

/// What the tenth of the trips will lose in decanting that have the least on board: they come near a threshold. Trips
/// are given by what they have on board and in cans.
fn lost_by_thirsty(mut trips: Vec<(f32, f64)>, problem: &Problem) -> Litres {
    let tenth = trips.len() / 10;
    if tenth == 0 {
        return Litres::ZERO;
    }
    trips.select_nth_unstable_by(tenth, |a, b| a.0.total_cmp(&b.0));
    let in_cans = trips[..tenth].iter().map(|trip| Litres::new(trip.1));
    let lost: Litres = in_cans
        .map(|litres| problem.lost_in_decanting(litres))
        .sum();
    lost / tenth as f64
}

/// What the plan leaves the fuel stop at a check with: the middle of the trips that find fuel there.
fn left_with(checks: &FuelChecks, check: usize, driven: &[(&Block, &Driven)]) -> Option<Litres> {
    if !checks.rows[check].is_full_fill() {
        return None;
    }
    let leg = checks.route().points[check].0 + 1;
    let starts = driven.iter().flat_map(|(_, driven)| driven.starts(leg));
    let starts: Vec<f64> = starts
        .copied()
        .filter(|litres| litres.is_finite())
        .collect();
    Some(UnsortedSamples::from_parts([&starts[..]]).quantile(Share::new(0.5)))
}

fn course<'a>(checks: &'a FuelChecks, instructions: Instructions<'a>) -> Course<'a> {
    Course {
        problem: instructions.problem,
        need: instructions.need,
        legs: instructions.legs,
        route: checks.route(),
    }
}

/// Usable litres on board at a check; not a finite number for a trip that does not come there.
pub(in crate::doubt) fn on_board_at(
    instructions: Instructions<'_>,
    checks: &FuelChecks,
    check: usize,
    block: &Block,
    driven: &Driven,
) -> Lane {
    on_board_at_point(instructions, checks.route().points[check], block, driven)
}

/// Litres on board of the trips of a block at any point of a leg.
pub(in crate::doubt) fn on_board_at_point(
    instructions: Instructions<'_>,
    (leg, part): Point,
    block: &Block,
    driven: &Driven,
) -> Lane {
    let mut lane = [0.0; BLOCK];
    if part.get() >= 1.0 {
        lane.copy_from_slice(driven.ends(leg));
        return lane;
    }
    let usage = instructions.problem.legs[leg];
    let (starts, ends) = (driven.starts(leg), driven.ends(leg));
    for (trip, litres) in lane.iter_mut().enumerate() {
        let start = Litres::new(starts[trip]);
        if !start.get().is_finite() {
            *litres = starts[trip];
            continue;
        }
        let whole = instructions.scaled(usage, leg, block, trip);
        // What decanting on this leg loses is not there to burn.
        let lost = if ends[trip].is_finite() {
            (start - whole.litres(start)).get() - ends[trip]
        } else {
            0.0
        };
        *litres = (start - whole.part(part).litres(start)).get() - lost.max(0.0);
    }
    lane
}

/// What becomes of the trips of a block.
pub(in crate::doubt) struct BlockObeyed {
    pub(crate) ends: Vec<Obeyed>,
    pub(crate) neither_advised: Vec<bool>,
    /// Number of the check at which a driver turned back.
    pub(crate) turned_at: Vec<Option<usize>>,
}

/// Ends the trips of a block as drivers do who obey the checks.
pub(in crate::doubt) fn obeyed(
    card: &CheckCard,
    instructions: Instructions<'_>,
    (block, driven): (&Block, &Driven),
) -> BlockObeyed {
    let mut result = BlockObeyed {
        ends: driven
            .outcomes
            .iter()
            .map(|outcome| match outcome {
                Outcome::Through => Obeyed::FinishIntact,
                Outcome::OnReserve => Obeyed::FinishUsing,
                Outcome::Stranded => Obeyed::RanOut,
            })
            .collect(),
        neither_advised: vec![false; BLOCK],
        turned_at: vec![None; BLOCK],
    };
    for check in 0..card.figures.len() {
        let at = AtCheck {
            card,
            instructions,
            block,
            driven,
            check,
        };
        at.decide(&mut result);
    }
    result
}

/// The chance that a gauge which may be off turns back each trip of a block, with fuel at every stop and no luck. It is
/// off by as much at every check, so the check with the least litres over its figure decides.
pub(in crate::doubt) fn chances_by_gauge(
    card: &CheckCard,
    instructions: Instructions<'_>,
    (block, driven): (&Block, &Driven),
) -> Lane {
    let route = card.checks.route();
    let mut over = [f64::INFINITY; BLOCK];
    for (check, figures) in card.figures.iter().enumerate() {
        let leaving = figures.leaving.filter(|leaving| leaving.may_return);
        if !figures.kind.decides() && leaving.is_none() {
            continue;
        }
        let on_board = on_board_at(instructions, &card.checks, check, block, driven);
        // What is pumped is no reading of a gauge.
        let (figure, by_gauge) = match leaving {
            Some(leaving) => (
                leaving.all_full_from.or(Some(leaving.as_planned_from)),
                false,
            ),
            None => (figures.continue_with, true),
        };
        for (over, litres) in over.iter_mut().zip(on_board) {
            if !litres.is_finite() || litres < 0.0 {
                continue;
            }
            let here = figure.map_or(f64::NEG_INFINITY, |figure| litres - figure.get());
            if by_gauge || here < -ROUNDING.get() {
                *over = over.min(if by_gauge { here } else { f64::NEG_INFINITY });
            }
        }
    }
    for over in &mut over {
        *over = chance_read_below(Litres::new(-*over), route.gauge);
    }
    over
}

/// One check of one block.
struct AtCheck<'a> {
    card: &'a CheckCard,
    instructions: Instructions<'a>,
    block: &'a Block,
    driven: &'a Driven,
    check: usize,
}

impl AtCheck<'_> {
    fn decide(&self, result: &mut BlockObeyed) {
        let figures = self.card.figures[self.check];
        let (leg, part) = self.card.checks.route().points[self.check];
        let stop = (part.get() >= 1.0)
            .then(|| {
                self.instructions
                    .problem
                    .fuel_stops
                    .get(leg + 1)
                    .copied()
                    .flatten()
            })
            .flatten();
        let dry = stop.map(|stop| self.instructions.dry_lane(self.block, stop.number));
        let may_be_dry = dry.is_some_and(|dry| dry.contains(&true)) && figures.if_dry.is_some();
        if !figures.kind.decides() && !may_be_dry && figures.leaving.is_none() {
            return;
        }
        let mut on_board = on_board_at(
            self.instructions,
            &self.card.checks,
            self.check,
            self.block,
            self.driven,
        );
        if let (Some(dry), Some(stop)) = (dry, stop) {
            // That there is no fuel one sees at the stop.
            for (trip, litres) in on_board
                .iter_mut()
                .enumerate()
                .filter(|(trip, _)| dry[*trip])
            {
                let there = Litres::new(*litres);
                *litres -= self.one_way(stop.detour, trip).litres(there).get();
            }
        }
        for trip in 0..BLOCK {
            let litres = on_board[trip];
            if result.turned_at[trip].is_some() || !litres.is_finite() || litres < 0.0 {
                continue;
            }
            let is_dry = dry.is_some_and(|dry| dry[trip]);
            if let Some(leaving) = figures.leaving.filter(|_| !is_dry) {
                let enough = leaving.all_full_from.unwrap_or(leaving.as_planned_from);
                if leaving.may_return && litres < enough.get() - ROUNDING.get() {
                    // At fuel already, which is a refuge for now.
                    let used = self.driven.first_below[trip].is_some_and(|below| below <= leg);
                    result.turned_at[trip] = Some(self.check);
                    result.ends[trip] = if used {
                        Obeyed::TurnedBackUsing
                    } else {
                        Obeyed::TurnedBackIntact
                    };
                }
                continue;
            }
            let if_dry = figures.if_dry.filter(|_| is_dry);
            if if_dry.is_none() && !figures.kind.decides() {
                continue;
            }
            let asked = if_dry.map_or(figures.continue_with, |dry| dry.continue_with);
            let taken = self.driven.luck(leg, trip).get();
            let rise = figures.rise.map_or(0.0, Share::get) * taken;
            if asked.is_some_and(|asked| litres >= asked.get() + rise - ROUNDING.get()) {
                continue;
            }
            let back = if_dry.map_or(figures.return_with, |dry| dry.return_with);
            let may_return = back.is_some_and(|back| litres >= back.get() - ROUNDING.get());
            if !may_return {
                result.neither_advised[trip] = true;
                let safer = if_dry.map_or(figures.if_neither, |dry| dry.if_neither);
                if safer == Action::Continue {
                    continue;
                }
            }
            result.turned_at[trip] = Some(self.check);
            let mut left = Litres::new(litres);
            if let Some(stop) = stop.filter(|_| is_dry) {
                left -= self.one_way(stop.detour, trip).litres(left);
            }
            result.ends[trip] = self.back_from(trip, left);
        }
    }

    /// One way to the fuel stop of a check.
    fn one_way(&self, detour: Usage, trip: usize) -> Usage {
        let leg = self.card.checks.route().points[self.check].0;
        let factor = self.block.driving(leg, trip);
        detour.scaled(factor, Litres::ZERO, factor)
    }

    /// Drives back from the check to the nearest refuge behind it.
    fn back_from(&self, trip: usize, on_board: Litres) -> Obeyed {
        let (instructions, route) = (self.instructions, self.card.checks.route());
        let (leg, part) = route.points[self.check];
        let in_cans = self.driven.in_cans(leg).map_or(0.0, |lane| lane[trip]);
        let below = self.driven.first_below[trip];
        let mut used = below.is_some_and(|below| below < leg || below == leg && part.get() >= 1.0);
        let mut left = on_board - instructions.problem.lost_in_decanting(Litres::new(in_cans));
        let mut here = part;
        for leg in (0..=leg).rev() {
            let Some(back) = route.back[leg] else {
                return Obeyed::RanOut;
            };
            let idle = instructions.legs[leg].idle();
            let factor = Factor::new(self.block.back[leg][trip]);
            let idling = Factor::new(self.block.idling[trip]);
            left -= back.scaled(factor, idle, idling).part(here).litres(left);
            here = Share::new(1.0);
            if let Some((place, way)) = route.aside
                && place == leg
            {
                let factor = self.block.driving(leg, trip);
                left -= way.scaled(factor, Litres::ZERO, factor).litres(left);
            }
            if route.refuge[leg] {
                let factor = self.block.driving(leg.saturating_sub(1), trip);
                let to_fuel = route.to_fuel[leg].scaled(factor, Litres::ZERO, factor);
                left -= to_fuel.litres(left);
                used |= left < instructions.problem.reserve[leg] - ROUNDING;
                break;
            }
        }
        if left < -ROUNDING {
            Obeyed::RanOut
        } else if used {
            Obeyed::TurnedBackUsing
        } else {
            Obeyed::TurnedBackIntact
        }
    }
}

/// How the trips end whose drivers obey, counted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ObeyedOutcomes {
    trips: usize,
    ends: [usize; 5],
    neither_advised: usize,
    below_lowest: usize,
    first_below: Vec<usize>,
    turned_at: Vec<usize>,
    /// Of those that turned back, how many ran out.
    turned_and_ran_out: usize,
}

impl ObeyedOutcomes {
    pub(in crate::doubt) fn new(legs: usize, checks: usize) -> Self {
        Self {
            trips: 0,
            ends: [0; 5],
            neither_advised: 0,
            below_lowest: 0,
            first_below: vec![0; legs],
            turned_at: vec![0; checks],
            turned_and_ran_out: 0,
        }
    }

    /// Counts the trips of a block; with `reaching` only those that come to that place, not the start.
    pub(in crate::doubt) fn from_block(
        card: &CheckCard,
        instructions: Instructions<'_>,
        block: &Block,
        driven: &Driven,
        reaching: Option<usize>,
    ) -> Self {
        let done = obeyed(card, instructions, (block, driven));
        let mut counted = Self::new(driven.legs(), card.figures.len());
        for trip in 0..BLOCK {
            let (end, turned) = (done.ends[trip], done.turned_at[trip]);
            let until = turned.map_or(driven.legs(), |check| {
                card.checks.route().points[check].0 + 1
            });
            let reaches = |place_number: usize| {
                until >= place_number && driven.ends(place_number - 1)[trip] >= 0.0
            };
            if reaching.is_some_and(|place_number| !reaches(place_number)) {
                continue;
            }
            counted.trips += 1;
            counted.ends[end as usize] += 1;
            counted.neither_advised += usize::from(done.neither_advised[trip]);
            if let Some(check) = turned {
                counted.turned_at[check] += 1;
                counted.turned_and_ran_out += usize::from(end == Obeyed::RanOut);
            }
            if let Some(leg) = driven.first_below[trip].filter(|&leg| leg < until) {
                counted.first_below[leg] += 1;
            }
            let low = driven.first_low[trip];
            counted.below_lowest += usize::from(low.is_some_and(|leg| leg < until));
        }
        counted
    }

    #[must_use]
    pub(in crate::doubt) fn and(mut self, other: &Self) -> Self {
        let add = |all: &mut [usize], more: &[usize]| {
            for (count, more) in all.iter_mut().zip(more) {
                *count += more;
            }
        };
        self.trips += other.trips;
        self.neither_advised += other.neither_advised;
        self.below_lowest += other.below_lowest;
        self.turned_and_ran_out += other.turned_and_ran_out;
        add(&mut self.ends, &other.ends);
        add(&mut self.first_below, &other.first_below);
        add(&mut self.turned_at, &other.turned_at);
        self
    }

    /// Number of simulated trips.
    pub fn trips(&self) -> usize {
        self.trips
    }

    /// How often trips end so.
    pub fn odds(&self, end: Obeyed) -> Odds {
        Odds::from_count(self.ends[end as usize], self.trips)
    }

    /// How often neither continuing nor returning was advised at some check.
    pub(crate) fn neither_advised(&self) -> Odds {
        Odds::from_count(self.neither_advised, self.trips)
    }

    /// How often the tank falls below its lowest level on rough or steep ground, the cans empty.
    pub(crate) fn below_lowest_tank_level(&self) -> Odds {
        Odds::from_count(self.below_lowest, self.trips)
    }

    /// How often the reserve is used for the first time on a leg (from 0).
    pub(crate) fn first_below(&self, leg: usize) -> Odds {
        Odds::from_count(self.first_below[leg], self.trips)
    }

    /// How often trips are turned back at a check.
    pub(crate) fn turned_back_at(&self, check: usize) -> Odds {
        Odds::from_count(self.turned_at[check], self.trips)
    }

    /// Trips that checks turned back, and how many of those ran out on the return.
    pub(crate) fn turned_back(&self) -> (usize, usize) {
        (self.turned_at.iter().sum(), self.turned_and_ran_out)
    }
}
