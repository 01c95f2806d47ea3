//! Which sets of cans there are to carry, and which of two is preferred.
//!
//! A set is how many cans of which kind are where. Sets without fuel on the roof come first, then the fewest cans,
//! the fewest to buy, the lightest, those in the places that the trip lists first, the largest. Fuel is never carried
//! among the passengers, and the roof is the last of its places wherever the trip lists it: fuel up there raises the
//! centre of gravity and the drag.
//!
//! How many of which kind are on board, and on the roof, decides what a trip needs and how it goes; where the others
//! are only what the places carry. So sets are looked for in two steps: `Stock::batches` gives the `Batch`es, equal
//! cans counted, and `Batch::laid` the ways to lay one out.

use std::cmp::Ordering;

use crate::model::load::CanKind;
use crate::model::vocabulary::CarryingPlace;
use crate::quantity::{Kilograms, KilogramsPerLitre, Litres, Share};

use super::filling;
use super::load::EQUAL_MASS;

/// Equal cans in one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChosenCans {
    /// Nominal size of one can.
    pub size: Litres,
    /// Litres of fuel in one can.
    pub fill: Litres,
    /// Mass of one, empty.
    pub empty: Kilograms,
    /// Number of cans.
    pub count: u32,
    /// Where the cans are carried.
    pub place: CarryingPlace,
    /// How many of them must be bought.
    pub to_buy: u32,
    /// How many places the trip lists before that place for this kind; the roof comes after all others.
    pub rank: u32,
}

/// A set of cans to carry: groups of equal cans, largest fill first.
pub(crate) type CanSet = Vec<ChosenCans>;

/// One can of a set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Can {
    pub(crate) size: Litres,
    /// Fuel in it when filled.
    pub(crate) fill: Litres,
    pub(crate) place: CarryingPlace,
}

/// Litres in the cans of a set when all are filled.
pub(crate) fn fill(set: &[ChosenCans]) -> Litres {
    set.iter()
        .map(|cans| cans.fill * f64::from(cans.count))
        .sum()
}

/// Mass of the empty cans of a set.
pub(crate) fn empty_mass(set: &[ChosenCans]) -> Kilograms {
    set.iter()
        .map(|cans| cans.empty * f64::from(cans.count))
        .sum()
}

/// How many cans a set has.
pub(crate) fn count(set: &[ChosenCans]) -> u32 {
    set.iter().map(|cans| cans.count).sum()
}

/// The cans of a set one by one, largest fill first.
pub(crate) fn each(set: &[ChosenCans]) -> Vec<Can> {
    let mut cans: Vec<Can> = set
        .iter()
        .flat_map(|group| {
            (0..group.count).map(|_| Can {
                size: group.size,
                fill: group.fill,
                place: group.place,
            })
        })
        .collect();
    cans.sort_by(|a, b| b.fill.get().total_cmp(&a.fill.get()));
    cans
}

/// Beginnings of batches that cost as much as a batch.
const VISITS_OF_BATCH: usize = 64;

/// The rank of the roof among the places of a kind.
const ROOF_RANK: u32 = 3;

/// How many places the trip lists before those that the cans of a set are in, added up.
pub(crate) fn rank_of(set: &[ChosenCans]) -> u32 {
    set.iter().map(|cans| cans.count * cans.rank).sum()
}

/// How many cans of a set must be bought.
pub(crate) fn to_buy(set: &[ChosenCans]) -> u32 {
    set.iter().map(|cans| cans.to_buy).sum()
}

/// Whether any can of a set is on the roof.
pub fn is_on_roof(set: &[ChosenCans]) -> bool {
    set.iter().any(|cans| cans.place == CarryingPlace::Roof)
}

/// The order of preference, the better set first.
pub(crate) fn preference(a: &[ChosenCans], b: &[ChosenCans]) -> Ordering {
    let key = |set: &[ChosenCans]| (is_on_roof(set), count(set), to_buy(set));
    key(a)
        .cmp(&key(b))
        .then(by_mass(empty_mass(a), empty_mass(b)))
        .then(rank_of(a).cmp(&rank_of(b)))
        .then(by_litres(fill(b), fill(a)))
}

/// Compares whole thousandths, so that what sums of decimals round off decides nothing.
fn by_thousandths(a: f64, b: f64) -> Ordering {
    (a * 1000.0).round().total_cmp(&(b * 1000.0).round())
}

/// The lighter first; masses of as many grams are equal.
pub(crate) fn by_mass(a: Kilograms, b: Kilograms) -> Ordering {
    by_thousandths(a.get(), b.get())
}

/// The smaller first; amounts of as many millilitres are equal.
pub(crate) fn by_litres(a: Litres, b: Litres) -> Ordering {
    by_thousandths(a.get(), b.get())
}

/// A kind of can as far as the choice is concerned.
#[derive(Clone, Debug, PartialEq)]
struct Kind {
    size: Litres,
    fill: Litres,
    empty: Kilograms,
    owned: u32,
    available: u32,
    /// Where it may be, in the order of the trip, the roof left out.
    low: Vec<CarryingPlace>,
    /// Whether it may be on the roof.
    roof: bool,
}

/// The cans to choose from.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Stock {
    kinds: Vec<Kind>,
}

/// How many cans of which kind, and how many of each on the roof.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Batch {
    /// For each kind: in all, and on the roof.
    counts: Vec<[u32; 2]>,
}

/// Batches of one size.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Batches {
    /// The batches, those that are equally many to buy and equally light together, the best first.
    pub(crate) ranked: Vec<Vec<Batch>>,
    /// What they cost, in batches that were looked at.
    pub(crate) looked_at: usize,
    /// Whether there were more than could be listed.
    pub(crate) cut: bool,
}

/// What a set of cans must hold to be of interest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Holding {
    pub(crate) least: Litres,
    /// At most this, where there is a limit.
    pub(crate) most: Option<Litres>,
}

impl Kind {
    /// Whether it can be carried, on the roof or not.
    fn can_lie(&self, on_roof: bool) -> bool {
        on_roof || !self.low.is_empty()
    }
}

/// Batches that are being listed.
struct Listing<'a> {
    stock: &'a Stock,
    on_roof: bool,
    wanted: Holding,
    /// No more are listed than this.
    most: usize,
    /// How many beginnings of batches may still be looked at.
    visits_left: usize,
    /// What the rest of the stock can hold, as in [`Stock::rest`].
    rest: Vec<(u32, Litres)>,
    /// The batch that is begun.
    counts: Vec<[u32; 2]>,
    listed: Vec<Batch>,
}

impl Listing<'_> {
    /// Lists every batch that goes on from the one that is begun, which holds so much, with `left` cans more. False
    /// when there are too many.
    fn list(&mut self, left: u32, held: Litres) -> bool {
        if self.visits_left == 0 {
            return false;
        }
        self.visits_left -= 1;
        let at = self.counts.len();
        let (available, largest) = self.rest[at];
        // A trillionth of room for what sums round off; who solves the batch looks again.
        let too_little = held + largest * f64::from(left) < self.wanted.least * (1.0 - 1e-12);
        if available < left || too_little || self.wanted.most.is_some_and(|most| held > most) {
            return true;
        }
        let Some(kind) = self.stock.kinds.get(at) else {
            self.listed.push(Batch {
                counts: self.counts.clone(),
            });
            return self.listed.len() < self.most;
        };
        let most = if kind.can_lie(self.on_roof) {
            kind.available.min(left)
        } else {
            0
        };
        let least = left.saturating_sub(self.rest[at + 1].0);
        for count in least..=most {
            let least_on_roof = if kind.low.is_empty() { count } else { 0 };
            let most_on_roof = if self.on_roof && kind.roof { count } else { 0 };
            for roof in least_on_roof..=most_on_roof {
                self.counts.push([count, roof]);
                let all = self.list(left - count, held + kind.fill * f64::from(count));
                self.counts.pop();
                if !all {
                    return false;
                }
            }
        }
        true
    }
}

impl Stock {
    /// The cans of some kinds of which each fits whole into `room` litres of tank, filled no more than `most_full`.
    pub(crate) fn new(kinds: &[CanKind], room: Litres, most_full: Share) -> Self {
        let kinds = kinds.iter().map(|kind| {
            let mut low: Vec<CarryingPlace> = Vec::new();
            for &place in kind.places() {
                let is_low = !matches!(place, CarryingPlace::Cabin | CarryingPlace::Roof);
                if is_low && !low.contains(&place) {
                    low.push(place);
                }
            }
            Kind {
                size: kind.size_l,
                fill: filling::fill(kind, most_full),
                empty: kind.empty_kg,
                owned: kind.owned(),
                available: kind.owned().saturating_add(kind.may_buy()),
                low,
                roof: kind.places().contains(&CarryingPlace::Roof),
            }
        });
        let usable = |kind: &Kind| kind.fill <= room && (kind.roof || !kind.low.is_empty());
        Self {
            kinds: kinds.filter(usable).collect(),
        }
    }

    /// How many cans there are, with any on the roof or with none.
    pub(crate) fn count(&self, on_roof: bool) -> u32 {
        self.rest(on_roof)[0].0
    }

    /// What all cans hold together, with any on the roof or with none.
    pub(crate) fn holds(&self, on_roof: bool) -> Litres {
        let usable = self.kinds.iter().filter(|kind| kind.can_lie(on_roof));
        usable
            .map(|kind| kind.fill * f64::from(kind.available))
            .sum()
    }

    /// One can of each kind that a set leaves at home, in each of its places.
    pub(crate) fn left(&self, set: &[ChosenCans]) -> Vec<ChosenCans> {
        let mut carried: Vec<ChosenCans> = set.to_vec();
        let kinds = self.kinds.iter().filter(|kind| {
            // Kinds that are alike share what is carried of them.
            let mut available = kind.available;
            for cans in &mut carried {
                let is_of_kind = cans.size == kind.size && cans.empty == kind.empty;
                if is_of_kind && cans.fill == kind.fill {
                    let taken = available.min(cans.count);
                    cans.count -= taken;
                    available -= taken;
                }
            }
            available > 0
        });
        let of_kind = kinds.flat_map(|kind| {
            let low = (0..kind.low.len()).map(|place| {
                let mut counts = vec![0; kind.low.len()];
                counts[place] = 1;
                groups(kind, &counts, 0)
            });
            let on_roof = kind.roof.then(|| groups(kind, &[], 1));
            low.chain(on_roof).flatten().collect::<Vec<_>>()
        });
        of_kind.collect()
    }

    /// The batches of exactly `count` cans that hold what is wanted, either with some on the roof or with none.
    /// No more than `most` are listed.
    pub(crate) fn batches(
        &self,
        count: u32,
        on_roof: bool,
        wanted: Holding,
        most: usize,
    ) -> Batches {
        let mut listing = Listing {
            stock: self,
            on_roof,
            wanted,
            most,
            visits_left: most.saturating_mul(VISITS_OF_BATCH),
            rest: self.rest(on_roof),
            counts: Vec::new(),
            listed: Vec::new(),
        };
        let cut = !listing.list(count, Litres::ZERO);
        let visits = most.saturating_mul(VISITS_OF_BATCH) - listing.visits_left;
        let mut listed = listing.listed;
        let looked_at = listed.len().max(visits / VISITS_OF_BATCH);
        listed.retain(|batch: &Batch| batch.counts.iter().any(|&[_, roof]| roof > 0) == on_roof);
        let order = |a: &Batch, b: &Batch| {
            let buying = self.to_buy(a).cmp(&self.to_buy(b));
            buying.then(by_mass(self.empty_mass(a), self.empty_mass(b)))
        };
        listed.sort_by(order);
        let ranked = listed
            .chunk_by(|a, b| order(a, b).is_eq())
            .map(<[_]>::to_vec);
        Batches {
            ranked: ranked.collect(),
            looked_at,
            cut,
        }
    }

    /// Of the kinds from each on: how many cans there are, and what the largest holds.
    fn rest(&self, on_roof: bool) -> Vec<(u32, Litres)> {
        let mut rest = vec![(0_u32, Litres::ZERO)];
        for kind in self.kinds.iter().rev() {
            let (available, largest) = rest[rest.len() - 1];
            rest.push(if kind.can_lie(on_roof) {
                (
                    available.saturating_add(kind.available),
                    largest.max(kind.fill),
                )
            } else {
                (available, largest)
            });
        }
        rest.reverse();
        rest
    }

    /// The batch of exactly `count` cans that holds most, those on the roof that can be nowhere else; `None` if
    /// there are fewer, or where it is not one of those with some on the roof or with none.
    pub(crate) fn fullest(&self, count: u32, on_roof: bool) -> Option<Batch> {
        let mut order: Vec<usize> = (0..self.kinds.len()).collect();
        order.sort_by(|&a, &b| by_litres(self.kinds[b].fill, self.kinds[a].fill));
        let mut counts = vec![[0, 0]; self.kinds.len()];
        let mut left = count;
        for at in order {
            let kind = &self.kinds[at];
            if kind.can_lie(on_roof) {
                let taken = kind.available.min(left);
                counts[at] = [taken, if kind.low.is_empty() { taken } else { 0 }];
                left -= taken;
            }
        }
        let has_roof = counts.iter().any(|&[_, roof]| roof > 0);
        (left == 0 && has_roof == on_roof).then_some(Batch { counts })
    }

    fn fill_of(&self, counts: &[[u32; 2]]) -> Litres {
        let kinds = self.kinds.iter().zip(counts);
        kinds
            .map(|(kind, &[count, _])| kind.fill * f64::from(count))
            .sum()
    }

    /// What a batch holds.
    pub(crate) fn fill(&self, batch: &Batch) -> Litres {
        self.fill_of(&batch.counts)
    }

    /// What the cans of a batch weigh, empty.
    pub(crate) fn empty_mass(&self, batch: &Batch) -> Kilograms {
        let kinds = self.kinds.iter().zip(&batch.counts);
        kinds
            .map(|(kind, &[count, _])| kind.empty * f64::from(count))
            .sum()
    }

    /// How many cans of a batch must be bought.
    fn to_buy(&self, batch: &Batch) -> u32 {
        let kinds = self.kinds.iter().zip(&batch.counts);
        kinds
            .map(|(kind, &[count, _])| count.saturating_sub(kind.owned))
            .sum()
    }

    /// Whether the places may have room for a batch when no more than `litres` need be in it, by what `room` returns
    /// that each place has; nothing is no limit. False only where no way to lay it out is within the places.
    pub(crate) fn may_lie(
        &self,
        batch: &Batch,
        litres: Litres,
        density: KilogramsPerLitre,
        room: impl Fn(CarryingPlace) -> Option<Kilograms>,
    ) -> bool {
        let kinds = || self.kinds.iter().zip(&batch.counts);
        let mass = |laid: &dyn Fn(&[u32; 2]) -> u32| {
            let many = |counts| f64::from(laid(counts));
            let empty: Kilograms = kinds()
                .map(|(kind, counts)| kind.empty * many(counts))
                .sum();
            let fill: Litres = kinds().map(|(kind, counts)| kind.fill * many(counts)).sum();
            empty + fill.min(litres) * density
        };
        let fits = |mass: Kilograms, room: Option<Kilograms>| {
            room.is_none_or(|room| mass <= room + EQUAL_MASS * 2.0)
        };
        let low = || kinds().filter(|(_, [count, roof])| count > roof);
        let one_fits = low().all(|(kind, _)| {
            let one = kind.empty + kind.fill.min(litres) * density;
            kind.low.iter().any(|&place| fits(one, room(place)))
        });
        let takes = |&place: &CarryingPlace| low().any(|(kind, _)| kind.low.contains(&place));
        let in_all: Option<Kilograms> = [CarryingPlace::Cargo, CarryingPlace::Rear]
            .into_iter()
            .filter(takes)
            .map(|place| room(place).map(|room| room.max(Kilograms::ZERO)))
            .sum();
        one_fits
            && fits(mass(&|[count, roof]| count - roof), in_all)
            && (kinds().all(|(_, [_, roof])| *roof == 0)
                || fits(mass(&|[_, roof]| *roof), room(CarryingPlace::Roof)))
    }

    /// A batch with each can in the first of its places, those on the roof left there.
    pub(crate) fn in_first_places(&self, batch: &Batch) -> CanSet {
        let laid = self.kinds.iter().zip(&batch.counts);
        let groups = laid.flat_map(|(kind, &[count, roof])| {
            let mut counts = vec![0; kind.low.len()];
            if let Some(first) = counts.first_mut() {
                *first = count - roof;
            }
            groups(kind, &counts, roof)
        });
        let mut set: CanSet = groups.collect();
        set.sort_by(|a, b| b.fill.get().total_cmp(&a.fill.get()));
        set
    }

    /// The ways to lay out a batch, the one in the first places first, no more than `most`, and whether there were
    /// more.
    pub(crate) fn laid(&self, batch: &Batch, most: usize) -> (Vec<CanSet>, bool) {
        let mut sets: Vec<CanSet> = vec![vec![]];
        let mut cut = false;
        for (kind, &[count, roof]) in self.kinds.iter().zip(&batch.counts) {
            let spread = spreads(count - roof, kind.low.len());
            let mut wider: Vec<CanSet> = sets
                .iter()
                .flat_map(|set| {
                    let groups = spread.iter().map(|low| groups(kind, low, roof));
                    groups.map(|groups| [set.clone(), groups].concat())
                })
                .take(most + 1)
                .collect();
            if wider.len() > most {
                cut = true;
                wider.truncate(most);
            }
            sets = wider;
        }
        for set in &mut sets {
            set.sort_by(|a, b| b.fill.get().total_cmp(&a.fill.get()));
        }
        sets.sort_by_key(|set| rank_of(set));
        (sets, cut)
    }
}

/// The groups of cans of one kind with `low` of them in its low places and some on the roof; owned ones are used before
/// bought ones.
fn groups(kind: &Kind, low: &[u32], roof: u32) -> Vec<ChosenCans> {
    let mut owned = kind.owned;
    let places = kind.low.iter().copied().zip(0..).zip(low);
    let low = places.map(|((place, rank), &count)| (place, rank, count));
    let all = low.chain([(CarryingPlace::Roof, ROOF_RANK, roof)]);
    all.filter(|&(_, _, count)| count > 0)
        .map(|(place, rank, count)| {
            let from_owned = count.min(owned);
            owned -= from_owned;
            ChosenCans {
                size: kind.size,
                fill: kind.fill,
                empty: kind.empty,
                count,
                place,
                to_buy: count - from_owned,
                rank,
            }
        })
        .collect()
}

/// All ways to put exactly `count` equal items into `places` places.
fn spreads(count: u32, places: usize) -> Vec<Vec<u32>> {
    match places {
        0 if count > 0 => vec![],
        0 => vec![vec![]],
        1 => vec![vec![count]],
        _ => (0..=count)
            .flat_map(|here| {
                spreads(count - here, places - 1)
                    .into_iter()
                    .map(move |rest| [vec![here], rest].concat())
            })
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const REAR: CarryingPlace = CarryingPlace::Rear;
    const CARGO: CarryingPlace = CarryingPlace::Cargo;
    const ROOF: CarryingPlace = CarryingPlace::Roof;

    fn kind(size: f64, owned: u32, may_buy: u32, places: &[CarryingPlace]) -> CanKind {
        CanKind {
            size_l: Litres::new(size),
            empty_kg: Kilograms::new(size / 5.0),
            owned: Some(owned),
            may_buy: Some(may_buy),
            places: Some(places.to_vec()),
            fill_share: None,
        }
    }

    fn stock(kinds: &[CanKind], room: f64) -> Stock {
        Stock::new(kinds, Litres::new(room), Share::new(1.0))
    }

    const ANY: Holding = Holding {
        least: Litres::ZERO,
        most: None,
    };

    /// Every set of a stock, the empty one left out, in the order in which they are found.
    fn every(stock: &Stock, wanted: Holding) -> Vec<CanSet> {
        let mut sets = Vec::new();
        for on_roof in [false, true] {
            for count in 1..=stock.count(on_roof) {
                let batches = stock.batches(count, on_roof, wanted, usize::MAX);
                assert!(!batches.cut);
                for batch in batches.ranked.into_iter().flatten() {
                    sets.extend(stock.laid(&batch, 10_000).0);
                }
            }
        }
        sets
    }

    #[test]
    fn sets_come_fewest_first_and_the_roof_last() {
        let kinds = [kind(20.0, 2, 0, &[REAR, ROOF]), kind(10.0, 0, 1, &[REAR])];
        let sets = every(&stock(&kinds, 50.0), ANY);
        // 20 L cans: none, one or two over two places (1 + 2 + 3 ways), with or without the 10 L can, less no can at
        // all.
        assert_eq!(sets.len(), 11);
        assert!(sets.iter().map(|set| is_on_roof(set)).is_sorted());
        assert_eq!(count(&sets[0]), 1);
        assert_eq!(to_buy(&sets[0]), 0, "an owned can before one to buy");
        assert!(sets.is_sorted_by(|a, b| preference(a, b).is_le()));
    }

    #[test]
    fn fuel_is_never_among_the_passengers() {
        let kinds = [kind(20.0, 3, 0, &[CarryingPlace::Cabin])];
        assert_eq!(stock(&kinds, 50.0).count(true), 0);
    }

    #[test]
    fn too_many_batches_are_cut_and_said_to_be() {
        let kinds: Vec<CanKind> = (1..=12)
            .map(|n| kind(f64::from(n) * 2.5, 9, 9, &[CARGO, REAR, ROOF]))
            .collect();
        assert!(stock(&kinds, 50.0).batches(9, true, ANY, 20_000).cut);
        assert!(!stock(&kinds, 50.0).batches(2, false, ANY, 20_000).cut);
    }

    /// Of sets of as many cans the lightest comes first, then the one in the place listed first, then the one that
    /// holds most.
    #[test]
    fn light_cans_come_before_heavy_ones_and_places_in_their_order() {
        let plastic = CanKind {
            empty_kg: Kilograms::new(1.5),
            ..kind(20.0, 1, 0, &[ROOF, REAR, CARGO])
        };
        let steel = kind(20.0, 1, 0, &[CARGO, REAR]);
        let sets = every(&stock(&[steel, plastic], 50.0), ANY);
        let first: Vec<_> = sets[..4]
            .iter()
            .map(|set| (set[0].empty.get(), set[0].place))
            .collect();
        assert_eq!(
            first,
            [(1.5, REAR), (1.5, CARGO), (4.0, CARGO), (4.0, REAR)]
        );
    }

    /// By hand: 2 x 2.7 + 3 x 2.7 and 5 x 2.7 are the same mass and not the same double, which sent cans to the roof.
    #[test]
    fn what_sums_round_off_decides_nothing() {
        let cans = |count: u32, place: CarryingPlace, rank: u32| ChosenCans {
            size: Litres::new(5.0),
            fill: Litres::new(4.75),
            empty: Kilograms::new(2.7),
            count,
            place,
            to_buy: 0,
            rank,
        };
        let on_roof = vec![cans(5, ROOF, ROOF_RANK)];
        let one_low = vec![cans(2, REAR, 0), cans(3, ROOF, ROOF_RANK)];
        assert!(empty_mass(&on_roof) < empty_mass(&one_low));
        assert!(preference(&one_low, &on_roof).is_lt());
        let kilogram = Kilograms::new(1.0);
        assert!(by_mass(kilogram, kilogram * 1.0004).is_eq());
        assert!(by_mass(kilogram, kilogram * 1.002).is_lt());
        let litre = Litres::new(1.0);
        assert!(by_litres(litre * 1.0004, litre).is_eq());
        assert!(by_litres(litre * 1.002, litre).is_gt());
    }

    /// A can that never fits whole into the tank cannot be decanted, and no set holds more than is allowed or less than
    /// is wanted.
    #[test]
    fn no_set_holds_what_cannot_be_decanted_or_is_not_allowed() {
        let kinds = [kind(20.0, 3, 0, &[REAR]), kind(5.0, 2, 0, &[REAR])];
        let held = |room: f64, wanted: Holding| {
            let sets = every(&stock(&kinds, room), wanted);
            let mut held: Vec<f64> = sets.iter().map(|set| fill(set).get()).collect();
            held.sort_by(f64::total_cmp);
            held
        };
        assert_eq!(held(19.0, ANY).last(), Some(&66.5));
        assert_eq!(held(18.9, ANY), [4.75, 9.5]);
        let within = Holding {
            least: Litres::new(20.0),
            most: Some(Litres::new(43.0)),
        };
        assert_eq!(held(50.0, within), [23.75, 28.5, 38.0, 42.75]);
    }

    /// Heat leaves less of a can to be filled, and never more than its own fill share.
    #[test]
    fn heat_makes_cans_hold_less() {
        let kinds = [kind(20.0, 1, 0, &[REAR])];
        let held =
            |most_full| Stock::new(&kinds, Litres::new(50.0), Share::new(most_full)).holds(false);
        assert_eq!(held(0.9), Litres::new(18.0));
        assert_eq!(held(0.99), Litres::new(19.0));
    }
}
