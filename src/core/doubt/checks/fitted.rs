//! The figures of the fuel checks, fitted to simulated trips: with how much to continue and with how much to return.
//!
//! While a return from the next check is possible, nothing is gained by turning back, so a check requires the smaller
//! of what leads to the next refuge and what leads to the next check and back. It does so up to the last check from
//! which returning takes no more than going on; there, at the decision point, it requires litres that lead through.

use std::num::NonZeroUsize;

use super::conditional::{Conditional, LEAST_KEPT, Thirsty};
use super::dry::DryMetAgain;
use super::in_trouble::Action;
use super::route::{AtChecks, CheckRoute, Course, KeptLane, Looking};
use crate::doubt::required::MOST_REQUIRED;
use crate::doubt::returns::Point;
use crate::doubt::study::{Drawn, FITTED_BLOCKS, SKETCH_BLOCKS};
use crate::doubt::threads::for_each;
use crate::doubt::world::{Block, LegDoubt};
use crate::doubt::{BLOCK, Lane};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::{Need, Problem, ROUNDING};

/// Numbers that are kept at most for the fits: 64 MB.
const MOST_KEPT: usize = 16 << 20;
/// Numbers kept for each check and trip.
const LANES: usize = 4;

/// What a check is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CheckKind {
    /// A return from the next check is still possible.
    Check,
    /// The last check of a stage from which a return takes no more than continuing.
    Decision,
    /// After it: its figures are advice.
    After,
}

impl CheckKind {
    /// Whether it may turn a trip back.
    pub const fn decides(self) -> bool {
        matches!(self, Self::Check | Self::Decision)
    }
}

/// One fuel check, fitted.
#[derive(Clone, Debug)]
pub(super) struct Fitted {
    pub(crate) kind: CheckKind,
    /// Litres to the next refuge without fuel here, given those used.
    pub(crate) finish: Option<Conditional>,
    /// Litres to the next refuge if a fuel stop that is visited again has no fuel then either.
    pub(crate) finish_if_dry: Option<Conditional>,
    pub(crate) back: Option<Conditional>,
    pub(crate) ahead: Option<Conditional>,
    /// Litres that were on board or taken since the last full fill, on the simple course.
    pub(crate) departed: Litres,
    /// What the plan takes here, if the fuel stop is relied on; infinite if it is unlimited.
    pub(crate) filled: Litres,
    /// What one way to that stop takes, if it is off the route.
    pub(crate) detour: Litres,
    /// What must be left at the refuge behind.
    pub(crate) reserve_behind: Litres,
    /// Whether a return from the next check is still possible, so that nothing is gained by turning back here.
    pub(crate) may_look_ahead: bool,
}

/// The fuel checks of one policy, fitted to its simulated trips.
#[derive(Clone, Debug)]
pub struct FuelChecks {
    pub(super) route: CheckRoute,
    pub(super) rows: Vec<Fitted>,
    /// Whether a plan must leave so much more that a gauge which is off turns few back.
    for_gauge: bool,
}

impl FuelChecks {
    /// Fits the checks of a policy to the first `blocks` blocks.
    pub fn fitted(
        drawn: &Drawn,
        (problem, need): (&Problem, &Need),
        route: CheckRoute,
        blocks: usize,
    ) -> Self {
        let route = (route, Looking::Ahead);
        Self::fitted_over(drawn, (problem, need), &drawn.world().legs, route, blocks)
    }

    /// The checks fitted again, to a few trips, whose legs take other litres.
    #[must_use]
    pub(crate) fn refitted(
        &self,
        drawn: &Drawn,
        driving: (&Problem, &Need),
        legs: &[LegDoubt],
    ) -> Self {
        let route = (self.route.clone(), Looking::Ahead);
        Self::fitted_over(drawn, driving, legs, route, SKETCH_BLOCKS).for_gauge(self.for_gauge)
    }

    /// Fits checks to trips over some legs, with the way to the next check and back or without.
    pub(super) fn fitted_over(
        drawn: &Drawn,
        (problem, need): (&Problem, &Need),
        legs: &[LegDoubt],
        (route, looking): (CheckRoute, Looking),
        blocks: usize,
    ) -> Self {
        let course = Course {
            problem,
            need,
            legs,
            route: &route,
        };
        let blocks = at_checks(&course, looking, drawn, blocks);
        let rows = for_each(0..route.points.len(), drawn.effort().threads, |check| {
            fit(&course, &blocks, check)
        });
        Self {
            rows: decided(rows, route.full),
            route,
            for_gauge: false,
        }
    }

    /// The checks with figures that allow for a reading error at other points; only there they are fitted again.
    #[must_use]
    pub(crate) fn allowing_for_gauge(
        &self,
        drawn: &Drawn,
        (problem, need): (&Problem, &Need),
        by_gauge: Vec<Point>,
    ) -> Self {
        let route = CheckRoute {
            by_gauge,
            ..self.route.clone()
        };
        let course = Course {
            problem,
            need,
            legs: &drawn.world().legs,
            route: &route,
        };
        let is_known = |check: usize| {
            let point = &route.points[check];
            route.by_gauge.contains(point) == self.route.by_gauge.contains(point)
        };
        let checks = 0..route.points.len();
        let blocks = if checks.clone().all(is_known) {
            Vec::new()
        } else {
            at_checks(&course, Looking::Ahead, drawn, FITTED_BLOCKS)
        };
        let rows = for_each(checks, drawn.effort().threads, |check| {
            if is_known(check) {
                self.rows[check].clone()
            } else {
                fit(&course, &blocks, check)
            }
        });
        Self {
            rows: decided(rows, route.full),
            route,
            ..*self
        }
    }

    /// The checks for a plan that carries enough more for a gauge error to turn few trips back.
    #[must_use]
    pub(crate) fn for_gauge(self, for_gauge: bool) -> Self {
        Self { for_gauge, ..self }
    }

    /// Whether a plan must leave so much more.
    pub(crate) fn is_for_gauge(&self) -> bool {
        self.for_gauge
    }

    /// The checks, as points of the route.
    pub(crate) fn route(&self) -> &CheckRoute {
        &self.route
    }

    /// Whether tank and cans can be filled at any check.
    pub(crate) fn has_full_fill(&self) -> bool {
        self.rows.iter().any(Fitted::is_full_fill)
    }

    /// The number of the check on arrival at a place.
    pub(in crate::doubt) fn at_place(&self, place_number: usize) -> Option<usize> {
        let leg = place_number.checked_sub(1)?;
        let after = self.route.points.partition_point(|point| point.0 <= leg);
        let check = after.checked_sub(1)?;
        let (at, part) = self.route.points[check];
        (at == leg && part.get() >= 1.0).then_some(check)
    }

    /// What each check requires of the trips of a block, check by check.
    pub(in crate::doubt) fn floors(
        &self,
        problem: &Problem,
        need: &Need,
        legs: &[LegDoubt],
        block: &Block,
    ) -> Vec<Floor> {
        let course = Course {
            problem,
            need,
            legs,
            route: &self.route,
        };
        let mut floors = Vec::with_capacity(self.rows.len());
        course.forward(block, |check, on_board, _| {
            let row = &self.rows[check];
            let decides = row.kind.decides();
            // On leaving a fuel stop, tank and cans must also be able to hold that much.
            let leaves_filled = row.is_full_fill() || decides && row.filled > Litres::ZERO;
            let of_use = || row.asks_on_leaving(on_board);
            let arrival = decides.then(|| {
                let mut floor = if self.for_gauge {
                    // Who reads more than there is thinks that less was used.
                    let off = self.route.off(block);
                    let mut seen = *on_board;
                    for (seen, off) in seen.iter_mut().zip(&off) {
                        *seen += off;
                    }
                    let mut floor = row.asks_on_leaving(&seen);
                    for (floor, off) in floor.iter_mut().zip(&off) {
                        *floor -= off;
                    }
                    floor
                } else {
                    of_use()
                };
                for litres in floor.iter_mut() {
                    *litres = row.asks(*litres);
                }
                floor
            });
            floors.push(Floor {
                arrival,
                departure: leaves_filled.then(|| {
                    let mut floor = of_use();
                    for litres in floor.iter_mut() {
                        *litres = enough_or_none(*litres);
                    }
                    floor
                }),
            });
        });
        floors
    }
}

/// Where no amount is enough, the fuel stop that is in the way requires more than can be had.
fn enough_or_none(litres: f64) -> f64 {
    if litres.is_finite() {
        litres.min(MOST_REQUIRED)
    } else {
        0.0
    }
}

/// What a check requires of the trips of a block.
pub(in crate::doubt) struct Floor {
    pub(crate) arrival: Option<Box<Lane>>,
    /// Litres on leaving a fuel stop that is relied on, by what was used until there.
    pub(crate) departure: Option<Box<Lane>>,
}

impl Fitted {
    /// Whether tank and cans can be filled here: fuel that is relied on, without limit.
    pub(crate) fn is_full_fill(&self) -> bool {
        self.filled.get().is_infinite()
    }

    /// Litres to continue with, on arrival, where so many are asked for on leaving.
    fn asks(&self, on_leaving: f64) -> f64 {
        enough_or_none(on_leaving + self.detour.get() - self.filled.get())
    }

    /// Litres to continue with, on leaving, for the trips of a block that have so many on board on the simple course.
    fn asks_on_leaving(&self, on_board: &Lane) -> Box<Lane> {
        let used = on_board.map(|on_board| {
            #[expect(clippy::cast_possible_truncation, reason = "litres")]
            let litres = (self.departed.get() - on_board) as f32;
            litres.max(LEAST_KEPT).ln()
        });
        let ahead = self.ahead.as_ref().filter(|_| self.may_look_ahead);
        let fits = [self.finish.as_ref(), ahead];
        let least = fits.into_iter().flatten().map(|fit| fit.logs_given(&used));
        let least = least.reduce(|mut one, other| {
            for (one, other) in one.iter_mut().zip(other) {
                *one = one.min(other);
            }
            one
        });
        let least = least.unwrap_or_else(|| vec![f32::INFINITY; BLOCK]);
        Box::new(std::array::from_fn(|sample| f64::from(least[sample].exp())))
    }
}

/// Whether a return from the check after each is still possible: from a check that decides, but the last of them, and
/// from a full fill before one that decides.
fn may_look_ahead(rows: &[Fitted], kinds: &[CheckKind], check: usize) -> bool {
    kinds[check] == CheckKind::Check
        || rows[check].is_full_fill() && kinds.get(check + 1).is_some_and(|&next| next.decides())
}

/// What each check is about in the trips of the first `blocks` blocks.
fn at_checks(course: &Course<'_>, looking: Looking, drawn: &Drawn, blocks: usize) -> Vec<AtChecks> {
    let checks = course.route.points.len();
    let most = MOST_KEPT / (LANES * checks.max(1) * BLOCK);
    let met_again = DryMetAgain::all(course);
    drawn.over(blocks.min(most).max(2), |_, block| {
        course.at_checks(&met_again, looking, block)
    })
}

/// Says of each check what it is for.
fn decided(rows: Vec<Fitted>, full: Litres) -> Vec<Fitted> {
    let kinds = kinds(&rows, full, |check| [rows[check].departed, Litres::ZERO]);
    let ahead: Vec<bool> = (0..rows.len())
        .map(|check| may_look_ahead(&rows, &kinds, check))
        .collect();
    rows.into_iter()
        .zip(kinds.into_iter().zip(ahead))
        .map(|(row, (kind, may_look_ahead))| Fitted {
            kind,
            may_look_ahead,
            ..row
        })
        .collect()
}

/// Litres on board at the last full fill before a check, or where the plan begins.
fn base_of(course: &Course<'_>, check: usize) -> f64 {
    let (leg, _) = course.route.points[check];
    let full = (course.route.from..=leg).any(|place_number| course.is_full_fill(place_number));
    if full {
        course.route.full.get()
    } else {
        course.route.at_start.get()
    }
}

fn fit(course: &Course<'_>, blocks: &[AtChecks], check: usize) -> Fitted {
    let route = course.route;
    let (leg, part) = route.points[check];
    let taken: f64 = blocks.iter().map(|block| block.taken[check]).sum();
    let trips = (blocks.len() * BLOCK) as f64;
    let departed = Litres::new(base_of(course, check) + taken / trips);
    let stop = (part.get() >= 1.0).then(|| course.stop(leg + 1)).flatten();
    let filled = stop.map_or(Litres::ZERO, |_| {
        course.need.allowance[leg + 1].unwrap_or(Litres::new(f64::INFINITY))
    });
    let detour = stop.map_or(Litres::ZERO, |stop| stop.detour.litres(route.full / 2.0));
    #[expect(clippy::cast_possible_truncation, reason = "litres")]
    let left_with = departed.get() as f32;
    let by_gauge = route.by_gauge.contains(&route.points[check]);
    let used: Vec<f32> = blocks
        .iter()
        .flat_map(|block| {
            let there = block.on_board[check].iter().zip(block.off.iter());
            there.map(|(on_board, off)| left_with - on_board - if by_gauge { *off } else { 0.0 })
        })
        .collect();
    let thirsty = Thirsty::from_use(&used);
    let fitted = |lane: fn(&AtChecks, usize) -> Option<&KeptLane>| {
        let lanes: Option<Vec<&KeptLane>> = blocks.iter().map(|block| lane(block, check)).collect();
        let lanes = lanes?;
        Conditional::fit(thirsty.as_ref()?, |trip| lanes[trip / BLOCK][trip % BLOCK])
    };
    Fitted {
        kind: CheckKind::After,
        finish: fitted(|block, check| Some(&block.need[check])),
        finish_if_dry: fitted(|block, check| block.need_if_dry[check].as_ref()),
        back: fitted(|block, check| Some(&block.back[check])),
        ahead: fitted(|block, check| block.ahead.get(check)),
        departed,
        filled,
        detour,
        reserve_behind: (0..=leg)
            .rfind(|&place| route.refuge[place])
            .map_or(Litres::ZERO, |place| course.problem.reserve[place]),
        may_look_ahead: false,
    }
}

/// Says which checks decide, for trips that had so much on board or took it since the last full fill, and will lose so
/// much in decanting: in each run between full fills those up to the last from which returning takes no more than going
/// on, or from which no amount leads on.
fn kinds(rows: &[Fitted], full: Litres, at: impl Fn(usize) -> [Litres; 2]) -> Vec<CheckKind> {
    let mut kinds = vec![CheckKind::After; rows.len()];
    let mut last: Option<usize> = None;
    let mut decides = true;
    for (check, row) in rows.iter().enumerate() {
        if row.is_full_fill() {
            // Fuel for sure as far as the plan goes: a new run begins.
            (last, decides) = (None, true);
            continue;
        }
        let [departed, lost] = at(check);
        let of = |fit: &Option<Conditional>, filled: Litres| {
            fit.as_ref()
                .and_then(|fit| fit.threshold(departed, filled - lost))
        };
        let back = of(&row.back, Litres::ZERO);
        let finish = of(&row.finish, row.filled - row.detour);
        decides &= back.is_some_and(|back| finish.is_none_or(|finish| back <= finish));
        if !decides {
            continue;
        }
        if let Some(before) = last {
            kinds[before] = CheckKind::Check;
        }
        kinds[check] = CheckKind::Decision;
        last = Some(check);
        // Where no amount that can be had leads on, nothing is left to decide.
        let is_enough = |litres: Litres| litres <= full + ROUNDING;
        let ahead = of(&row.ahead, row.filled - row.detour);
        decides = finish.is_some_and(is_enough) || ahead.is_some_and(is_enough);
    }
    kinds
}

/// The figures of a check, as they are printed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CheckFigures {
    /// Whether it is a check, the decision, or after the decision.
    pub(crate) kind: CheckKind,
    /// Continue with so much or more on arrival; `None` if no amount is enough, or if nothing is asked.
    pub(crate) continue_with: Option<Litres>,
    /// With less, return with so much or more; `None` if there is no return.
    pub(crate) return_with: Option<Litres>,
    /// What leads to the next refuge; `None` if no amount is enough.
    pub(crate) finish: Option<Litres>,
    /// With less than either requires, what runs out less often.
    pub(crate) if_neither: Action,
    /// What to do instead where the plan takes fuel and there is none.
    pub(crate) if_dry: Option<IfDry>,
    /// How much more each litre requires that was taken from a fuel stop that is not relied on.
    pub(crate) rise: Option<Share>,
    /// At unlimited fuel that is relied on: what to leave with, by the litres on arrival.
    pub(crate) leaving: Option<Leaving>,
}

/// What to do at a fuel stop that is relied on and has no fuel. Litres are those at the stop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct IfDry {
    /// Continue with so much or more; `None` if no amount is enough.
    pub continue_with: Option<Litres>,
    /// With less, return with so much or more; `None` if there is no return or no amount is enough.
    pub return_with: Option<Litres>,
    /// With less than either, what runs out less often.
    pub if_neither: Action,
}

/// What to leave a fuel stop with: who arrives with little drives a thirsty vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leaving {
    /// As planned on arrival with so much or more.
    pub(crate) as_planned_from: Litres,
    /// Everything full on arrival with so much or more, if tank and cans hold more than is planned.
    pub(crate) all_full_from: Option<Litres>,
    /// Whether to turn back on arrival with less than both.
    pub(crate) may_return: bool,
    /// What the detour to the stop and back takes: it is pumped besides.
    pub(crate) detour: Litres,
}

/// The smaller of two figures, one of which may be no amount at all.
fn smaller_of(one: Option<Litres>, other: Option<Litres>) -> Option<Litres> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.min(other)),
        (one, other) => one.or(other),
    }
}

impl Fitted {
    /// What runs out less often for trips with less than `least`, the smaller of the figures to continue and to return
    /// with. Given is what continuing needs, with what is filled here.
    fn if_neither(
        &self,
        (on, filled): (Option<&Conditional>, Litres),
        departed: Litres,
        least: Option<Litres>,
    ) -> Action {
        let Some(back) = &self.back else {
            return Action::Continue;
        };
        let Some(on) = on else {
            return Action::Return;
        };
        // Where no amount is enough for either, about half of what was on board is taken instead.
        let litres = least.unwrap_or(departed / 2.0);
        let used = (departed - litres).get();
        // Who returns may use the reserve too.
        let returning = back.chance_short(used, (litres + self.reserve_behind).get());
        if returning < on.chance_short(used, (litres + filled).get()) {
            Action::Return
        } else {
            Action::Continue
        }
    }

    /// By how much continuing from here takes more than returning, for trips that had so much on board or took it since
    /// the last full fill; `None` if one of both is not possible.
    pub(crate) fn return_saves(&self, departed: Litres) -> Option<Litres> {
        let back = self.back.as_ref()?.threshold(departed, Litres::ZERO)?;
        let finish = self.finish.as_ref()?;
        let finish = finish.threshold(departed, self.filled - self.detour)?;
        Some(finish - back)
    }
}

impl FuelChecks {
    /// The figures of every check; `departed` is what was on board or taken since the last full fill, `lost` what
    /// decanting will lose, `planned` what the plan leaves a fuel stop with.
    pub(super) fn all_figures(
        &self,
        departed: &[Litres],
        lost: &[Litres],
        planned: &[Option<Litres>],
        threads: NonZeroUsize,
    ) -> Vec<CheckFigures> {
        let at = |check: usize| [departed[check], lost[check]];
        let kinds = kinds(&self.rows, self.route.full, at);
        for_each(0..self.rows.len(), threads, |check| {
            self.figures(check, &kinds, at(check), planned[check])
        })
    }

    /// The figures of a check for trips that had so much on board, or took it, since the last full fill.
    fn figures(
        &self,
        check: usize,
        kinds: &[CheckKind],
        [departed, lost]: [Litres; 2],
        planned: Option<Litres>,
    ) -> CheckFigures {
        let (row, kind) = (&self.rows[check], kinds[check]);
        // Who departed and filled again may have used more than tank and cans hold at once; nobody arrives with as
        // much.
        let full = self.route.full + ROUNDING;
        let of = |fit: &Option<Conditional>, filled: Litres| {
            // What will be lost in decanting is not there to burn.
            let litres = fit.as_ref()?.threshold(departed, filled - lost);
            litres.filter(|litres| *litres <= full)
        };
        let finish = if row.is_full_fill() {
            None
        } else {
            of(&row.finish, row.filled - row.detour)
        };
        let ahead = of(&row.ahead, row.filled - row.detour);
        let binding = |finish: Option<Litres>| {
            let by_ahead = kind == CheckKind::Check
                && ahead.is_some_and(|ahead| finish.is_none_or(|finish| ahead < finish));
            if by_ahead { &row.ahead } else { &row.finish }
        };
        let continue_with = match kind {
            CheckKind::Check => smaller_of(finish, ahead),
            CheckKind::Decision => finish,
            CheckKind::After => None,
        };
        let return_with = of(&row.back, Litres::ZERO);
        CheckFigures {
            kind,
            continue_with,
            return_with,
            finish,
            if_neither: row.if_neither(
                (row.finish.as_ref(), row.filled - row.detour),
                departed,
                smaller_of(continue_with, return_with),
            ),
            if_dry: self.if_dry(row, [departed, lost]),
            rise: kind
                .decides()
                .then(|| binding(finish).as_ref()?.rise(departed))
                .flatten(),
            leaving: planned.filter(|_| row.is_full_fill()).and_then(|planned| {
                let look_ahead = may_look_ahead(&self.rows, kinds, check);
                self.leaving(row, look_ahead, departed, planned)
            }),
        }
    }

    /// What to do at a check if the fuel stop there has no fuel; `None` where the plan takes none.
    fn if_dry(&self, row: &Fitted, [departed, lost]: [Litres; 2]) -> Option<IfDry> {
        if row.filled <= Litres::ZERO {
            return None;
        }
        let full = self.route.full + ROUNDING;
        let at_stop = |fit: &Conditional| {
            let there = departed - row.detour;
            let litres = fit.threshold(there, Litres::ZERO - lost);
            litres.filter(|litres| *litres <= full)
        };
        let on = row.finish_if_dry.as_ref().or(row.finish.as_ref());
        let continue_with = on.and_then(at_stop);
        let return_with = row.back.as_ref().and_then(at_stop);
        let return_with = return_with.map(|litres| litres + row.detour);
        let least = smaller_of(continue_with, return_with);
        Some(IfDry {
            continue_with,
            return_with,
            if_neither: row.if_neither((on, Litres::ZERO), departed, least),
        })
    }

    /// What to leave a fuel stop with; `None` if what is planned is always enough.
    fn leaving(
        &self,
        row: &Fitted,
        look_ahead: bool,
        departed: Litres,
        planned: Litres,
    ) -> Option<Leaving> {
        let fit = row.finish.as_ref()?;
        let arriving = |used: Litres| (departed - used).max(Litres::ZERO);
        // Who can still return from the next check has no need to turn back here.
        let used_until = |leaving: Litres| {
            let finish = fit.used_until(leaving)?;
            match row.ahead.as_ref().filter(|_| look_ahead) {
                Some(ahead) => ahead.used_until(leaving).map(|ahead| finish.max(ahead)),
                None => Some(finish),
            }
        };
        let full = self.route.full;
        let has_more = full > planned + ROUNDING;
        let as_planned = if has_more {
            fit.used_until(planned)
        } else {
            used_until(planned)
        };
        Some(Leaving {
            as_planned_from: arriving(as_planned?),
            all_full_from: has_more.then(|| used_until(full).map_or(Litres::ZERO, arriving)),
            may_return: row.back.is_some(),
            detour: row.detour * 2.0,
        })
    }
}
