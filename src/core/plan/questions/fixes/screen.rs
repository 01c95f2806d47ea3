//! Trying changes without samples: quick enough for hundreds of them.
//!
//! What the samples require is put in as a share on all use still ahead: the share with which the plain recursion needs
//! just what the plan at its success target needs, found once for the plan as it is and once for turning back from
//! dry fuel stops. The fuel stops that those rely on are relied on. So a change is judged by one choice of cans with
//! every input at its best estimate. It may err by some litres where a change alters how certain its fuel stops are;
//! every fix that is shown was planned in full afterwards.

use crate::model::Trip;
use crate::model::route::FuelStop;
use crate::quantity::{Hours, Litres, Share};

use super::as_share::{as_share, reliance};
use super::kinds::{self, Try};
use super::{Seeming, changed, first, gap, way_of};

use crate::plan::facts::TripFacts;
use crate::plan::parts::Plan;
use crate::plan::policy::{Basis, Policy};
use crate::plan::search::{Budget, choose};
use crate::plan::trial::Trial;
use crate::plan::under_way::UnderWay;

/// A gap is closed when it is no more than this, litres and kilograms added up.
pub(in crate::plan) const CLOSED: f64 = 1e-6;
/// Sets of cans that are solved for one change at most.
const MOST_SOLVED: usize = 60;
/// Sets of cans and their arrangements that are looked at for one change at most.
const MOST_LISTED: usize = 300;
/// Sets of cans that are solved in all, at least and at most, and the legs of all of them together.
const SOLVED: (usize, usize) = (60, 900);
const LEGS_SOLVED: usize = 60_000;
/// Where a limited fuel stop is met again and its fuel is shared out among the meetings, a set is as dear as so many.
const SHARING: usize = 10;

/// Which fuel stops are relied on, and what the samples require then.
struct Reliance {
    /// Whether the fuel stop of each place is relied on.
    relied_on: Vec<bool>,
    /// The share on all use still ahead that represents what the samples require.
    share: Share,
}

/// The screen of one plan.
pub(in crate::plan) struct Screen<'a> {
    plan: &'a Plan,
    is_wanted: &'a dyn Fn() -> bool,
    reliance: Reliance,
    /// What the trip relies on if it turns back from dry fuel stops; `None` without simulated trips.
    turning_back: Option<Reliance>,
    /// Sets of cans that may still be solved.
    left: usize,
    untried: usize,
    needed: Litres,
    gap: f64,
}

impl<'a> Screen<'a> {
    /// The screen of a plan; the plan itself is what others are held against.
    pub(crate) fn new(plan: &'a Plan, is_wanted: &'a dyn Fn() -> bool) -> Self {
        let (least, most) = SOLVED;
        let mut screen = Self {
            is_wanted,
            reliance: Reliance {
                relied_on: relied_on(plan),
                share: plan.doubt.as_ref().map_or(Share::ZERO, as_share),
            },
            turning_back: None,
            left: (LEGS_SOLVED / plan.legs.len().max(1)).clamp(least, most),
            untried: 0,
            needed: Litres::ZERO,
            gap: 0.0,
            plan,
        };
        let before = screen.tried_whole(&plan.trip);
        if before.problem.meets_again() {
            screen.left = (screen.left / SHARING).max(least);
        }
        screen.turning_back = screen.with_turning_back();
        screen.needed = before.need.in_cans;
        screen.gap = gap_of(&before);
        screen
    }

    /// How far the plan itself is from going through within its limits, as the screen sees it.
    pub(crate) fn before(&self) -> f64 {
        self.gap
    }

    /// Changes that were not tried, or not with every set of cans.
    pub(crate) fn untried(&self) -> usize {
        self.untried
    }

    /// Some tries together as a fix with its cans, and how far it is from going through within its limits then. Nothing
    /// where they do not fit the trip or each other, or where the search has come to its bound.
    pub(crate) fn tried<'b>(&mut self, tries: Vec<&'b Try>) -> Option<(Seeming<'b>, f64)> {
        if self.left == 0 || !(self.is_wanted)() {
            self.untried += 1;
            return None;
        }
        let (changes, trip) = changed(&self.plan.trip, &tries)?;
        let trial = self.tried_whole(&trip);
        let gap = gap_of(&trial);
        let mut fix = way_of(&self.plan.trip, &tries, changes, &trial.loadout.cans);
        if gap <= CLOSED {
            fix.litres = self.needed - trial.need.in_cans;
            fix.time += driving(&trial) - self.plan.totals.driving;
        }
        let seeming = Seeming {
            fix,
            tries,
            cans: trial.loadout.cans,
        };
        Some((seeming, gap))
    }

    /// What is relied on where turning back from dry fuel stops is counted on, by one plan with simulated trips of the
    /// trip changed so.
    fn with_turning_back(&self) -> Option<Reliance> {
        let effort = self.plan.doubt.as_ref()?.effort();
        let turn = kinds::turn_back_if_dry(&self.plan.trip)?;
        let (_, trip) = changed(&self.plan.trip, &[&turn])?;
        let (relied_on, share) = reliance(&trip, first(effort), self.plan.in_cans.cans.clone())?;
        Some(Reliance { relied_on, share })
    }

    /// A trip with its cans chosen.
    fn tried_whole(&mut self, trip: &Trip) -> Trial {
        let under_way = UnderWay::from_log(trip);
        let facts = TripFacts::new(trip, under_way.as_ref());
        let basis = self.basis(trip);
        let budget = Budget {
            solved: MOST_SOLVED.min(self.left),
            listed: MOST_LISTED,
            confirmed: 0,
            roughly: true,
        };
        let choice = choose(&facts, Policy::BestEstimate(&basis), budget);
        self.left = self.left.saturating_sub(choice.solved);
        self.untried += usize::from(choice.cut_in_limits);
        choice.trial
    }

    /// What a changed trip relies on and holds back: what the plan does, new fuel stops besides.
    fn basis(&self, trip: &Trip) -> Basis {
        let rules = trip.rules();
        let is_changed = rules.unconfirmed_stops() != self.plan.trip.rules().unconfirmed_stops();
        let changed = self.turning_back.as_ref().filter(|_| is_changed);
        let reliance = changed.unwrap_or(&self.reliance);
        let places = trip.places().zip(self.plan.trip.places());
        let is_new = |fuel: Option<&FuelStop>| fuel.is_some_and(FuelStop::is_counted);
        Basis {
            relied_on: places
                .zip(&reliance.relied_on)
                .map(|((place, before), &relied_on)| {
                    relied_on || before.fuel.is_none() && is_new(place.fuel)
                })
                .collect(),
            contingency: reliance.share.max(rules.contingency()),
        }
    }
}

/// Whether a plan relies on the fuel stop of each place.
fn relied_on(plan: &Plan) -> Vec<bool> {
    let mut relied_on = vec![false; plan.trip.legs.len() + 1];
    for stop in &plan.stops {
        relied_on[stop.place_number] = stop.counted;
    }
    relied_on
}

/// How far a trial is from going through within its limits.
fn gap_of(trial: &Trial) -> f64 {
    let carried = trial.loadout.fill;
    let needed = if trial.covers() {
        carried
    } else {
        trial.need.in_cans
    };
    gap(needed, carried, trial.short_at_start, &trial.bars)
}

fn driving(trial: &Trial) -> Hours {
    let legs = trial.loadout.legs.iter().zip(&trial.problem.legs);
    legs.zip(&trial.run.legs)
        .map(|((formula, usage), run)| {
            let guess = usage.mean_on_board(run.start);
            formula.driving(formula.steady_on_board(run.used, guess))
        })
        .sum()
}
