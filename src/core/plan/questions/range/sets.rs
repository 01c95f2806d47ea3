//! For each number of cans the set that holds most, everything full, within every limit on unsealed ground; numbers that hold
//! no more than a smaller one are left out.

use crate::model::Trip;
use crate::plan::answers::range::EndOfCans;
use crate::plan::search::stock;
use crate::quantity::{Kilograms, Litres};
use crate::solver::cans::{self, CanSet, Holding, by_litres, preference};
use crate::solver::load::{self, LoadBar};

use super::all_full;

/// Numbers of cans that are shown at most.
const MOST_COUNTS: u32 = 8;
/// Sets of as many cans that are looked at, and ways to lay one out; the fullest come with the heaviest, so a search that is
/// cut short may miss some.
const MOST_SETS: usize = 500;
const MOST_LAID: usize = 50;

/// The sets of one can, two cans and so on, and why there are no more.
pub(super) fn by_count(trip: &Trip) -> (Vec<CanSet>, EndOfCans) {
    let stock = stock(trip);
    let wanted = Holding {
        least: Litres::ZERO,
        most: trip.rules().most_in_cans_l,
    };
    let mut sets = Vec::new();
    for count in 1..=stock.count(true) {
        if count > MOST_COUNTS {
            return (sets, EndOfCans::NotShown);
        }
        let laid = [false, true].map(|on_roof| {
            let batches = stock.batches(count, on_roof, wanted, MOST_SETS);
            let batches = batches.ranked.into_iter().flatten();
            let laid = batches.flat_map(|batch| stock.laid(&batch, MOST_LAID).0);
            laid.collect::<Vec<CanSet>>()
        });
        let allowed = laid.iter().find_map(|laid| fullest(trip, laid));
        let Some(allowed) = allowed else {
            let nearest = laid.iter().flatten().filter_map(|set| excess(trip, set));
            let nearest = nearest.min_by(|a, b| a.1.get().total_cmp(&b.1.get()));
            let end = match (nearest, wanted.most) {
                (Some((bar, excess)), _) => EndOfCans::Limit(bar.what, excess),
                (None, Some(most)) => EndOfCans::Rule(most),
                (None, None) => EndOfCans::AllListed,
            };
            return (sets, end);
        };
        // Where a limit leaves room only for smaller ones, more cans may hold less.
        let most = sets.last().map(|set: &CanSet| cans::fill(set));
        if most.is_none_or(|most| cans::fill(&allowed) > most) {
            sets.push(allowed);
        }
    }
    (sets, EndOfCans::AllListed)
}

/// The set that holds most within the limits, the preferred of those that hold as much.
fn fullest(trip: &Trip, laid: &[CanSet]) -> Option<CanSet> {
    let allowed = laid.iter().filter(|set| excess(trip, set).is_none());
    let best = allowed
        .min_by(|a, b| by_litres(cans::fill(b), cans::fill(a)).then_with(|| preference(a, b)));
    best.cloned()
}

/// The limit that is exceeded most with everything full, and by how much.
fn excess(trip: &Trip, set: &CanSet) -> Option<(LoadBar, Kilograms)> {
    let departure = load::departure(trip, set, 0, all_full(trip, set));
    let bars = load::bars(trip, &[departure]).into_iter();
    let over = bars.filter(LoadBar::is_over);
    let over = over.filter_map(|bar| Some((bar, -bar.left()?)));
    over.max_by(|a, b| a.1.get().total_cmp(&b.1.get()))
}
