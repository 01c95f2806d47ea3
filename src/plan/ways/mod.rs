//! Ways to make it fit: what could be changed so that the trip goes through within every limit.
//!
//! Changes of every kind (`kinds`) and pairs of them are tried on the trip itself: each is a JSON Patch, and the trip
//! that comes out is planned like any other. They are screened with few samples (or with none where the plan has none),
//! the least of them first confirmed with as many as a first answer has, drawn as the plan's were. Kept is what
//! leaves nothing that forbids setting out but what had nothing to do with fuel and load before; dropped is what
//! another way does with less. Ranked by how little they change.
//!
//! A trip whose cans are dear to choose is tried less often, so that ways are told in seconds; some are missed then.
//!
//! Left out: more changes at once while fewer do, other routes than the stated one, and what the things are worth to their owner.

mod kinds;

use std::cell::Cell;
use std::sync::Arc;

use json_patch::PatchOperation;

use crate::doubt::study::{Effort, FIRST_BLOCKS};
use crate::model::Trip;
use crate::model::change::guarded;
use crate::quantity::{Hours, Kilograms, Litres, Percent, Share};

use super::solve::Groundwork;
use super::{Plan, Severity, What};
pub use kinds::Doing;
use kinds::Try;

/// Single changes that are paired.
const MOST_PAIRED: usize = 10;
/// Of one kind at most so many are paired.
const MOST_PAIRED_OF_A_KIND: usize = 3;
/// Pairs that a third change is tried with, where no pair does.
const MOST_WIDENED: usize = 5;
/// Legs that are solved in all, over all tries, about; with samples each counts three times.
const MOST_LEGS_SOLVED: usize = 60_000;
/// A choice of cans that solves more than this is tried seldom.
const DEAR_CHOICE: usize = 300;
/// Tries that are made at least, and at most.
const TRIES: (usize, usize) = (8, 400);
/// Ways that are confirmed with samples at most.
const MOST_CONFIRMED: usize = 20;
/// Ways that are told at most.
const MOST_TOLD: usize = 6;
/// Samples to screen with.
const SCREENING: usize = 2;

/// A way to make it fit.
#[derive(Clone, Debug)]
pub struct Way {
    /// What is to be done, mostly one or two things.
    pub doing: Vec<Doing>,
    /// The same as operations on the trip, each index guarded.
    pub changes: Vec<PatchOperation>,
    /// Litres that need no longer be in cans; negative when more must be.
    pub litres: Litres,
    /// What is moved, and what is left at home.
    pub kg: Kilograms,
    /// Time added.
    pub time: Hours,
    /// What the reserve on all use still ahead is lowered by.
    pub reserve: Percent,
    /// The odds of getting through, where they are known.
    pub odds_through: Option<Share>,
}

impl Way {
    /// How much it changes: 10 kg, 10 minutes, half a per cent of reserve and a fiftieth of the odds count alike, and each
    /// change as much again, so that simple ways come first. Our own scale, no source.
    fn change(&self) -> f64 {
        let weight = self.kg.get() / 10.0;
        let minutes = self.time.get().max(0.0) * 6.0;
        let odds = self
            .odds_through
            .map_or(0.0, |odds| (1.0 - odds.get()) * 50.0);
        weight + minutes + self.reserve.get() * 2.0 + odds + self.doing.len() as f64
    }

    /// Whether this way, of which as much is the same as of another, asks for no more of anything.
    fn beats(&self, other: &Self) -> bool {
        let parts = |way: &Self| {
            [
                way.kg.get(),
                way.time.get().max(0.0),
                way.reserve.get(),
                way.doing.len() as f64,
            ]
        };
        let kinds =
            |way: &Self| -> Vec<_> { way.doing.iter().map(std::mem::discriminant).collect() };
        let theirs = kinds(other);
        let same_kinds = kinds(self).iter().all(|kind| theirs.contains(kind));
        let same_end = (self.litres - other.litres).abs() < Litres::new(1.0);
        let no_more = parts(self).into_iter().zip(parts(other));
        (same_kinds || same_end)
            && no_more
                .into_iter()
                .all(|(ours, theirs)| ours <= theirs + 1e-9)
    }
}

/// How far a plan is from going through within its limits: litres and kilograms that are too much or too little.
fn gap(plan: &Plan) -> f64 {
    let litres = plan.spare.needed - plan.spare.carried;
    let fuel = litres.max(Litres::ZERO) + plan.spare.short_at_start;
    let over = plan.load.bars.iter().filter_map(super::LoadBar::left);
    let over: Kilograms = over.map(|left| (-left).max(Kilograms::ZERO)).sum();
    fuel.get() + over.get()
}

/// Whether a finding is about fuel that is short or load that is too much.
fn is_gap(what: &What) -> bool {
    matches!(
        what,
        What::ShortAtStart { .. }
            | What::CansShort { .. }
            | What::BelowReserve { .. }
            | What::RunsDry { .. }
            | What::OverMostSpare { .. }
            | What::OverGvm { .. }
            | What::OverAxle { .. }
            | What::OverRoof { .. }
            | What::OverPlace { .. }
    )
}

fn forbidding(plan: &Plan) -> impl Iterator<Item = &What> {
    let stops = plan.findings.iter();
    stops
        .filter(|found| found.severity() == Severity::Stop)
        .map(|found| &found.what)
}

/// Whether nothing forbids setting out but what did before and is no matter of fuel or load.
fn closes(plan: &Plan, before: &Plan) -> bool {
    let other = |plan: &Plan| forbidding(plan).filter(|what| !is_gap(what)).count();
    !forbidding(plan).any(is_gap) && other(plan) <= other(before) && gap(plan) <= 1e-6
}

/// How many trips may be planned in search of ways, so that they are found in seconds.
fn most_tries(plan: &Plan) -> usize {
    let choice = Groundwork::of(&plan.trip).cost_of_choice();
    let times = if plan.doubt.is_some() { 3 } else { 1 };
    let affordable = MOST_LEGS_SOLVED / (choice * plan.legs.len().max(1) * times);
    if choice > DEAR_CHOICE {
        TRIES.0
    } else {
        affordable.clamp(TRIES.0, TRIES.1)
    }
}

/// Whether the cans hold what is needed also where the samples strayed: by twice the standard error.
fn is_sure(plan: &Plan) -> bool {
    let error = plan
        .doubt
        .as_ref()
        .map_or(Litres::ZERO, |doubt| doubt.spare.error);
    plan.spare.needed + error * 2.0 <= plan.spare.carried || plan.spare.cans.is_empty()
}

/// The trip with a change made, and planned with so many samples.
fn planned(trip: &Trip, changes: &[PatchOperation], effort: Option<Effort>) -> Option<Plan> {
    let changed = Arc::new(trip.with_operations(changes).ok()?);
    Some(match effort {
        Some(effort) => Plan::at_confidence(changed, effort),
        None => Plan::of(changed),
    })
}

/// Some tries together as a way, planned.
fn tried(before: &Plan, tries: &[&Try], effort: Option<Effort>) -> Option<(Way, Plan)> {
    let trip = &before.trip;
    let operations = tries.iter().flat_map(|one| one.operations.clone());
    let changes = guarded(trip, operations.collect());
    let plan = planned(trip, &changes, effort)?;
    let away: Kilograms = tries.iter().map(|one| one.kg).sum();
    let listed = |size: Litres, place| {
        let mut kinds = trip.load().cans().iter();
        kinds.any(|kind| kind.size_l == size && kind.places().contains(&place))
    };
    let density = crate::consumption::engine::fuel_density(trip.vehicle.fuel);
    let elsewhere: Kilograms = plan
        .spare
        .cans
        .iter()
        .filter(|cans| !listed(cans.size, cans.place))
        .map(|cans| (cans.empty + cans.fill * density) * f64::from(cans.count))
        .sum();
    let way = Way {
        doing: tries.iter().map(|one| one.doing.clone()).collect(),
        changes,
        litres: before.spare.needed - plan.spare.needed,
        kg: away + elsewhere,
        time: plan.totals.driving - before.totals.driving
            + tries.iter().map(|one| one.time).sum::<Hours>(),
        reserve: Percent::new(tries.iter().map(|one| one.reserve.get()).sum()),
        odds_through: plan.doubt.as_ref().map(|doubt| doubt.through.share),
    };
    Some((way, plan))
}

type Found<'a> = Vec<(Way, Vec<&'a Try>)>;

/// Puts every set of tries together with each try of another kind: what makes it fit is added to `found`, the others
/// are given back, those that come nearest first.
fn wider<'a>(
    plan: &Plan,
    sets: &[Vec<&'a Try>],
    paired: &[&'a Try],
    screen: &impl Fn(&[&Try]) -> Option<(Way, Plan)>,
    found: &mut Found<'a>,
) -> Vec<Vec<&'a Try>> {
    let mut nearest: Vec<(f64, Vec<&Try>)> = Vec::new();
    let number = |one: &Try| paired.iter().position(|other| std::ptr::eq(*other, one));
    let mut seen: Vec<Vec<Option<usize>>> = Vec::new();
    for set in sets {
        for one in paired {
            if set.iter().any(|other| other.is_like(one)) {
                continue;
            }
            let both = [set.as_slice(), &[*one]].concat();
            let mut key: Vec<_> = both.iter().map(|one| number(one)).collect();
            key.sort_unstable();
            if seen.contains(&key) {
                continue;
            }
            seen.push(key);
            match screen(&both) {
                Some((way, after)) if closes(&after, plan) => found.push((way, both)),
                Some((_, after)) => nearest.push((gap(&after), both)),
                None => {}
            }
        }
    }
    nearest.sort_by(|a, b| a.0.total_cmp(&b.0));
    nearest.into_iter().map(|(_, set)| set).collect()
}

/// Every way that was found, the least change first; none where nothing is to be made to fit.
pub(super) fn all(plan: &Plan) -> Vec<Way> {
    if !forbidding(plan).any(is_gap) {
        return Vec::new();
    }
    let full = plan.doubt.as_ref().map(super::Doubt::effort);
    let full = full.map(|effort| Effort {
        blocks: effort.blocks.min(FIRST_BLOCKS),
        ..effort
    });
    let screening = full.map(|effort| Effort {
        blocks: SCREENING,
        ..effort
    });
    let before = gap(plan);
    let tries = kinds::tries(plan);
    let left = Cell::new(most_tries(plan));
    let screen = |tries: &[&Try]| {
        left.set(left.get().checked_sub(1)?);
        tried(plan, tries, screening)
    };
    let mut found: Found<'_> = Vec::new();
    // What helps, and how far it is then.
    let mut helpful: Vec<(f64, &Try)> = Vec::new();
    for one in &tries {
        let Some((way, after)) = screen(&[one]) else {
            continue;
        };
        if closes(&after, plan) {
            found.push((way, vec![one]));
        } else if gap(&after) < before - 1e-6 || one.pairs_unseen() {
            helpful.push((gap(&after), one));
        }
    }
    helpful.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut paired: Vec<&Try> = Vec::new();
    for (_, one) in helpful {
        let alike = paired.iter().filter(|other| other.is_like(one)).count();
        if alike < MOST_PAIRED_OF_A_KIND && paired.len() < MOST_PAIRED {
            paired.push(one);
        }
    }
    let singles: Vec<Vec<&Try>> = paired.iter().map(|one| vec![*one]).collect();
    let mut nearest = wider(plan, &singles, &paired, &screen, &mut found);
    // Only where no pair does, a third and a fourth change on top of the pairs that come nearest.
    for _ in 0..2 {
        if !found.is_empty() {
            break;
        }
        nearest.truncate(MOST_WIDENED);
        nearest = wider(plan, &nearest, &paired, &screen, &mut found);
    }
    found.sort_by(|a, b| {
        let (ours, theirs) = (a.0.change(), b.0.change());
        ours.total_cmp(&theirs)
            .then(a.0.changes.len().cmp(&b.0.changes.len()))
    });
    let mut ways: Vec<Way> = Vec::new();
    let mut confirmed = 0;
    for (way, tries) in found {
        if ways.iter().any(|better| better.beats(&way)) {
            continue;
        }
        if ways.len() == MOST_TOLD || confirmed == MOST_CONFIRMED {
            break;
        }
        if full.is_none() {
            ways.push(way);
            continue;
        }
        confirmed += 1;
        if let Some((way, after)) = tried(plan, &tries, full)
            && closes(&after, plan)
            && is_sure(&after)
        {
            ways.push(way);
        }
    }
    ways.sort_by(|a, b| a.change().total_cmp(&b.change()));
    ways
}
