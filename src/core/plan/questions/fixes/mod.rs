//! Fixes to make it fit: what could be changed so that the trip goes through within every limit.
//!
//! Changes of every kind (`kinds`) and pairs of them are tried on the trip itself: each is a JSON Patch. They are
//! screened without samples (`screen`); those that seem to do are ranked by how little they change, and the first of
//! them are planned in full, with as many samples as a first answer has, drawn as the plan's were. Kept is what leaves
//! nothing that forbids setting out but what had nothing to do with fuel and load before; dropped is what another fix
//! does with less.
//!
//! The work is bounded: so many sets of cans are solved in screening, and so many fixes planned in full, fewer on a
//! trip of many legs. What that left untried is counted and reported.
//!
//! Left out: more changes at once while fewer do, other routes than the stated one, and what the gear is worth to
//! their owner. Water is never left behind, nor is anybody.

mod as_share;
mod judged;
mod kinds;
mod screen;

use std::sync::Arc;

use json_patch::PatchOperation;

use crate::doubt::study::{Effort, FIRST_BLOCKS};
use crate::model::Trip;
use crate::model::change::guarded;
use crate::quantity::{Hours, Kilograms, Litres, Percent};
use crate::solver::cans::CanSet;

use crate::plan::answers::fixes::{Fix, Fixes, Remedy, Spared};
use crate::plan::parts::Plan;
use crate::plan::parts::doubt::Doubt;
use crate::plan::parts::finding::{Severity, What};
use crate::plan::search::Budget;
use crate::solver::cans::ChosenCans;
use crate::solver::load::LoadBar;
use kinds::Try;
use screen::Screen;

/// Single changes that are paired.
const MOST_PAIRED: usize = 10;
/// Of one kind at most so many are paired.
const MOST_PAIRED_OF_A_KIND: usize = 3;
/// Sets of changes that one more change is tried with, where no pair does.
const MOST_WIDENED: usize = 5;
/// Fixes that are planned in full at most, and the legs of all of them together.
const MOST_CONFIRMED: (usize, usize) = (20, 800);
/// What the choice of cans of one of them is worth.
const CONFIRMING: Budget = Budget {
    solved: 60,
    listed: 1_000,
    confirmed: 6,
    roughly: true,
};
/// Fixes that are shown at most.
const MOST_SHOWN: usize = 6;

impl Plan {
    /// Fixes to make it fit, the least change first; none where the fuel is enough and the load within its limits.
    /// Computed when first asked for, which takes as long as hundreds of plans.
    pub fn fixes(&self) -> &Fixes {
        let all = || search(self, &|| true).unwrap_or_default();
        self.answers.fixes.get_or_init(all)
    }

    /// Whether fuel is short or the load too heavy, so that there is something to make fit.
    pub fn needs_fixes(&self) -> bool {
        forbidding(self).any(is_gap)
    }

    /// Fixes to make it fit, if they were searched for.
    pub fn known_fixes(&self) -> Option<&Fixes> {
        self.answers.fixes.get()
    }

    /// Searches for fixes as long as `is_wanted` returns that somebody waits for them; whether they are known now.
    pub fn search_fixes(&self, is_wanted: &dyn Fn() -> bool) -> bool {
        if self.answers.fixes.get().is_none()
            && let Some(found) = search(self, is_wanted)
        {
            // Where another thread was quicker, it found the same.
            let _ = self.answers.fixes.set(found);
        }
        self.answers.fixes.get().is_some()
    }
}

/// Rank by what a fix gives up: a lower rank comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Concession {
    /// Nothing is given up that is not set to be dispensable.
    None,
    /// Gear stays at home for which it is not set whether lives may depend on it.
    Unknown,
    /// The reserve is smaller.
    Reserve,
    /// Safety gear stays at home.
    Safety,
}

impl Fix {
    /// How much it changes: 10 kg, 10 minutes, half a per cent of reserve and a fiftieth of the probabilities count
    /// alike, and each change as much again, so that simple fixes come first. Our own scale, no source.
    fn change(&self) -> f64 {
        let weight = self.kg.get() / 10.0;
        let minutes = self.time.get().max(0.0) * 6.0;
        let odds = self
            .odds_through
            .map_or(0.0, |odds| (1.0 - odds.get()) * 50.0);
        weight + minutes + self.reserve.get() * 2.0 + odds + self.remedies.len() as f64
    }

    /// The most that it gives up.
    fn concession(&self) -> Concession {
        let of = |remedies: &Remedy| match remedies {
            Remedy::SmallerReserve { .. } => Concession::Reserve,
            Remedy::LeftBehind { spared, .. } => match spared {
                Spared::Dispensable => Concession::None,
                Spared::Unknown => Concession::Unknown,
                Spared::SafetyGear => Concession::Safety,
            },
            _ => Concession::None,
        };
        self.remedies
            .iter()
            .map(of)
            .max()
            .unwrap_or(Concession::None)
    }

    /// The order in which fixes are shown.
    fn order(&self, other: &Self) -> std::cmp::Ordering {
        self.concession()
            .cmp(&other.concession())
            .then(self.change().total_cmp(&other.change()))
            .then(self.changes.len().cmp(&other.changes.len()))
    }

    /// Whether this fix does nothing of another kind than the other one, and requires no more of anything.
    fn beats(&self, other: &Self) -> bool {
        let parts = |fix: &Self| {
            [
                fix.kg.get(),
                fix.time.get().max(0.0),
                fix.reserve.get(),
                fix.remedies.len() as f64,
            ]
        };
        let kinds =
            |fix: &Self| -> Vec<_> { fix.remedies.iter().map(std::mem::discriminant).collect() };
        let theirs = kinds(other);
        let no_other_kinds = kinds(self).iter().all(|kind| theirs.contains(kind));
        let no_more = parts(self).into_iter().zip(parts(other));
        no_other_kinds
            && self.concession() <= other.concession()
            && no_more
                .into_iter()
                .all(|(ours, theirs)| ours <= theirs + 1e-9)
    }
}

/// How far a plan is from going through within its limits: litres and kilograms that are too much or too little.
fn gap(needed: Litres, carried: Litres, short_at_start: Litres, bars: &[LoadBar]) -> f64 {
    let fuel = (needed - carried).max(Litres::ZERO) + short_at_start;
    let over = bars.iter().filter_map(LoadBar::left);
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
            | What::OverMostInCans { .. }
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
    let (in_cans, bars) = (&plan.in_cans, &plan.load.bars);
    let gap = gap(
        in_cans.needed,
        in_cans.carried,
        in_cans.short_at_start,
        bars,
    );
    !forbidding(plan).any(is_gap) && other(plan) <= other(before) && gap <= 1e-6
}

/// Whether the cans hold what is needed also where the samples strayed: by twice the standard error.
fn is_sure(plan: &Plan, error: Litres) -> bool {
    plan.in_cans.needed + error * 2.0 <= plan.in_cans.carried || plan.in_cans.cans.is_empty()
}

/// The operations of some tries together on a trip, and the trip that comes out.
fn changed(trip: &Trip, tries: &[&Try]) -> Option<(Vec<PatchOperation>, Arc<Trip>)> {
    let operations = tries.iter().flat_map(|one| one.operations.clone());
    let changes = guarded(trip, operations.collect());
    let trip = Arc::new(trip.with_operations(&changes).ok()?);
    Some((changes, trip))
}

/// Some tries together as a fix, with the cans that it takes.
fn way_of(trip: &Trip, tries: &[&Try], changes: Vec<PatchOperation>, cans: &[ChosenCans]) -> Fix {
    let listed = |size: Litres, place| {
        let mut kinds = trip.load().cans().iter();
        kinds.any(|kind| kind.size_l == size && kind.places().contains(&place))
    };
    let density = crate::consumption::engine::fuel_density(trip.vehicle.fuel);
    let elsewhere: Kilograms = cans
        .iter()
        .filter(|cans| !listed(cans.size, cans.place))
        .map(|cans| (cans.empty + cans.fill * density) * f64::from(cans.count))
        .sum();
    let away: Kilograms = tries.iter().map(|one| one.kg).sum();
    Fix {
        remedies: tries.iter().map(|one| one.remedies.clone()).collect(),
        changes,
        litres: Litres::ZERO,
        kg: away + elsewhere,
        time: tries.iter().map(|one| one.time).sum::<Hours>(),
        reserve: Percent::new(tries.iter().map(|one| one.reserve.get()).sum()),
        odds_through: None,
        odds_back: None,
    }
}

/// The effort of a first answer, on as many threads.
fn first(effort: Effort) -> Effort {
    Effort {
        blocks: effort.blocks.min(FIRST_BLOCKS),
        ..effort
    }
}

/// Tries that together seem to do.
struct Seeming<'a> {
    /// The tries as one fix.
    fix: Fix,
    tries: Vec<&'a Try>,
    /// The cans that it takes.
    cans: CanSet,
}

/// What seems to do, planned in full; `None` if it does not make it fit.
fn confirmed(before: &Plan, seeming: Seeming<'_>) -> Option<Fix> {
    let (changes, trip) = changed(&before.trip, &seeming.tries)?;
    let effort = before.doubt.as_ref().map(Doubt::effort);
    let judged = judged::judged(&trip, effort.map(first), seeming.cans, CONFIRMING);
    let after = judged.plan;
    if judged.cut || !closes(&after, before) || !is_sure(&after, judged.error) {
        return None;
    }
    let fix = way_of(&before.trip, &seeming.tries, changes, &after.in_cans.cans);
    Some(Fix {
        litres: before.in_cans.needed - after.in_cans.needed,
        time: fix.time + after.totals.driving - before.totals.driving,
        odds_through: judged.through,
        odds_back: judged.back,
        ..fix
    })
}

/// Puts every set of tries together with each try of another kind: what seems to make it fit is added to `found`, the
/// others are given back, those that come nearest first.
fn wider<'a>(
    sets: &[Vec<&'a Try>],
    paired: &[&'a Try],
    screen: &mut Screen<'_>,
    found: &mut Vec<Seeming<'a>>,
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
            match screen.tried(both) {
                Some((seeming, gap)) if gap <= screen::CLOSED => found.push(seeming),
                Some((seeming, gap)) => nearest.push((gap, seeming.tries)),
                None => {}
            }
        }
    }
    nearest.sort_by(|a, b| a.0.total_cmp(&b.0));
    nearest.into_iter().map(|(_, set)| set).collect()
}

/// Every set of tries that seems to do, the least change first.
fn screened<'a>(tries: &'a [Try], screen: &mut Screen<'_>) -> Vec<Seeming<'a>> {
    let mut found = Vec::new();
    // What helps, and how far it is then.
    let mut helpful: Vec<(f64, &Try)> = Vec::new();
    for one in tries {
        match screen.tried(vec![one]) {
            Some((seeming, gap)) if gap <= screen::CLOSED => found.push(seeming),
            Some((_, gap)) if gap < screen.before() - screen::CLOSED || one.pairs_unseen() => {
                helpful.push((gap, one));
            }
            _ => {}
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
    let mut nearest = wider(&singles, &paired, screen, &mut found);
    // Only where no pair does, a third and a fourth change on top of the pairs that come nearest.
    for _ in 0..2 {
        if !found.is_empty() {
            break;
        }
        nearest.truncate(MOST_WIDENED);
        nearest = wider(&nearest, &paired, screen, &mut found);
    }
    found.sort_by(|a, b| a.fix.order(&b.fix));
    found
}

/// Searches for fixes, as long as `is_wanted` returns that somebody waits for them; `None` if nobody does any more.
fn search(plan: &Plan, is_wanted: &dyn Fn() -> bool) -> Option<Fixes> {
    if !plan.needs_fixes() {
        return Some(Fixes::default());
    }
    let tries = kinds::tries(plan);
    let mut screen = Screen::new(plan, is_wanted);
    let found = screened(&tries, &mut screen);
    let (most, most_legs) = MOST_CONFIRMED;
    let most = (most_legs / plan.legs.len().max(1)).clamp(1, most);
    let mut fixes = Fixes {
        untried: screen.untried(),
        ..Fixes::default()
    };
    let mut confirmations = 0;
    for seeming in found {
        let known = &fixes.found;
        if known.len() == MOST_SHOWN || known.iter().any(|better| better.beats(&seeming.fix)) {
            continue;
        }
        if confirmations == most {
            fixes.unconfirmed += 1;
            continue;
        }
        if !is_wanted() {
            return None;
        }
        confirmations += 1;
        fixes.found.extend(confirmed(plan, seeming));
    }
    fixes.found.sort_by(Fix::order);
    is_wanted().then_some(fixes)
}
