//! Which sets of cans there are to carry, in order of preference.
//!
//! A set says how many cans of which kind lie where. Sets without fuel on the roof come first, then the fewest
//! cans, the fewest to buy, the lightest, the lowest. Fuel is never carried among the passengers.

use std::cmp::Ordering;

use crate::model::load::CanKind;
use crate::model::vocabulary::CarryingPlace;
use crate::quantity::{Kilograms, Litres};

/// More sets than this are not listed.
pub const MOST_SETS: usize = 20_000;
/// More sets than this are not tried, so that a plan stays quick.
pub const MOST_TRIED: usize = 1_000;

/// Equal cans in one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChosenCans {
    /// Size of one.
    pub size: Litres,
    /// Fuel in one.
    pub fill: Litres,
    /// Mass of one, empty.
    pub empty: Kilograms,
    /// How many.
    pub count: u32,
    /// Where.
    pub place: CarryingPlace,
    /// How many of them must be bought.
    pub to_buy: u32,
}

/// A set of cans to carry: groups of equal cans, largest fill first.
pub type CanSet = Vec<ChosenCans>;

/// All sets in order of preference, the empty set first.
#[derive(Clone, Debug, PartialEq)]
pub struct CanSets {
    /// The sets.
    pub sets: Vec<CanSet>,
    /// Whether there were more than could be listed.
    pub cut: bool,
}

/// One can of a set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Can {
    /// Size.
    pub size: Litres,
    /// Fuel in it when filled.
    pub fill: Litres,
    /// Where it lies.
    pub place: CarryingPlace,
}

/// Litres in the cans of a set when all are filled.
pub fn fill(set: &[ChosenCans]) -> Litres {
    set.iter()
        .map(|cans| cans.fill * f64::from(cans.count))
        .sum()
}

/// Mass of the empty cans of a set.
pub fn empty_mass(set: &[ChosenCans]) -> Kilograms {
    set.iter()
        .map(|cans| cans.empty * f64::from(cans.count))
        .sum()
}

/// How many cans a set has.
pub fn count(set: &[ChosenCans]) -> u32 {
    set.iter().map(|cans| cans.count).sum()
}

/// The cans of a set one by one, largest fill first.
pub fn each(set: &[ChosenCans]) -> Vec<Can> {
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

/// How high a place is, for the order of preference.
fn height(place: CarryingPlace) -> u32 {
    match place {
        CarryingPlace::Cargo => 0,
        CarryingPlace::Rear => 1,
        CarryingPlace::Cabin => 2,
        CarryingPlace::Roof => 3,
    }
}

fn preference(a: &CanSet, b: &CanSet) -> Ordering {
    let on_roof = |set: &CanSet| set.iter().any(|cans| cans.place == CarryingPlace::Roof);
    let to_buy = |set: &CanSet| set.iter().map(|cans| cans.to_buy).sum::<u32>();
    let heights = |set: &CanSet| {
        set.iter()
            .map(|cans| cans.count * height(cans.place))
            .sum::<u32>()
    };
    (on_roof(a), count(a), to_buy(a))
        .cmp(&(on_roof(b), count(b), to_buy(b)))
        .then(empty_mass(a).get().total_cmp(&empty_mass(b).get()))
        .then(heights(a).cmp(&heights(b)))
        .then(fill(b).get().total_cmp(&fill(a).get()))
}

impl CanSets {
    /// All sets of the given kinds that hold no more than `most` litres, of cans of which each fits whole into
    /// `room` litres of tank.
    pub fn of(kinds: &[CanKind], room: Litres, most: Option<Litres>) -> Self {
        let mut sets: Vec<CanSet> = vec![vec![]];
        let mut cut = false;
        for kind in kinds.iter().filter(|kind| kind.fill() <= room) {
            let mut places: Vec<CarryingPlace> = kind
                .places()
                .iter()
                .copied()
                .filter(|&place| place != CarryingPlace::Cabin)
                .collect();
            places.sort_by_key(|&place| height(place));
            places.dedup();
            let spreads = spreads(kind.owned().saturating_add(kind.may_buy()), places.len());
            let wider = sets.iter().flat_map(|set| {
                let places = &places;
                spreads
                    .iter()
                    .map(move |counts| [set.clone(), groups(kind, places, counts)].concat())
            });
            let mut more: Vec<CanSet> = wider
                .filter(|set| most.is_none_or(|most| fill(set) <= most))
                .take(MOST_SETS + 1)
                .collect();
            if more.len() > MOST_SETS {
                cut = true;
                more.truncate(MOST_SETS);
            }
            sets = more;
        }
        for set in &mut sets {
            set.sort_by(|a, b| b.fill.get().total_cmp(&a.fill.get()));
        }
        sets.sort_by(preference);
        Self { sets, cut }
    }
}

/// The groups of cans of one kind when `counts` of them lie in `places`; owned ones are used before bought ones.
fn groups(kind: &CanKind, places: &[CarryingPlace], counts: &[u32]) -> Vec<ChosenCans> {
    let mut owned = kind.owned();
    let laid = places.iter().zip(counts).filter(|&(_, &count)| count > 0);
    laid.map(|(&place, &count)| {
        let from_owned = count.min(owned);
        owned -= from_owned;
        ChosenCans {
            size: kind.size_l,
            fill: kind.fill(),
            empty: kind.empty_kg,
            count,
            place,
            to_buy: count - from_owned,
        }
    })
    .collect()
}

/// All ways to put up to `most` equal things into `places` places, fewest first.
fn spreads(most: u32, places: usize) -> Vec<Vec<u32>> {
    let mut all = vec![vec![]];
    for _ in 0..places {
        all = all
            .into_iter()
            .flat_map(|counts: Vec<u32>| {
                let used: u32 = counts.iter().sum();
                (0..=most - used).map(move |count| [counts.clone(), vec![count]].concat())
            })
            .take(MOST_SETS)
            .collect();
    }
    all.sort_by_key(|counts| counts.iter().sum::<u32>());
    all
}

#[cfg(test)]
mod tests {
    use super::*;

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

    #[test]
    fn sets_come_fewest_first_and_the_roof_last() {
        let kinds = [
            kind(20.0, 2, 0, &[CarryingPlace::Rear, CarryingPlace::Roof]),
            kind(10.0, 0, 1, &[CarryingPlace::Rear]),
        ];
        let sets = CanSets::of(&kinds, Litres::new(50.0), None);
        assert!(!sets.cut);
        // 20 L cans: none, one or two over two places (1 + 2 + 3 ways), with or without the 10 L can.
        assert_eq!(sets.sets.len(), 12);
        assert!(sets.sets[0].is_empty());
        let on_roof = |set: &CanSet| set.iter().any(|cans| cans.place == CarryingPlace::Roof);
        assert!(sets.sets.iter().map(on_roof).is_sorted());
        assert_eq!(count(&sets.sets[1]), 1);
        assert_eq!(sets.sets[1][0].to_buy, 0, "an owned can before one to buy");
    }

    #[test]
    fn fuel_is_never_among_the_passengers() {
        let sets = CanSets::of(
            &[kind(20.0, 3, 0, &[CarryingPlace::Cabin])],
            Litres::new(50.0),
            None,
        );
        assert_eq!(sets.sets, vec![CanSet::new()]);
    }

    #[test]
    fn many_kinds_are_cut_and_said_to_be() {
        let places = [
            CarryingPlace::Cargo,
            CarryingPlace::Rear,
            CarryingPlace::Roof,
        ];
        let kinds: Vec<CanKind> = (1..=8)
            .map(|n| kind(f64::from(n) * 2.5, 3, 3, &places))
            .collect();
        let sets = CanSets::of(&kinds, Litres::new(50.0), None);
        assert!(sets.cut && sets.sets.len() == MOST_SETS);
    }

    fn places(set: &CanSet) -> Vec<CarryingPlace> {
        set.iter().map(|cans| cans.place).collect()
    }

    /// Of sets of as many cans the lightest comes first, then the lowest, then the one that holds most.
    #[test]
    fn light_cans_come_before_heavy_ones_and_low_places_before_high_ones() {
        let rear_and_cargo = [CarryingPlace::Rear, CarryingPlace::Cargo];
        let (plastic, steel) = (
            CanKind {
                empty_kg: Kilograms::new(1.5),
                ..kind(20.0, 1, 0, &rear_and_cargo)
            },
            kind(20.0, 1, 0, &rear_and_cargo),
        );
        let sets = CanSets::of(&[steel, plastic], Litres::new(50.0), None).sets;
        let first: Vec<_> = sets[1..5]
            .iter()
            .map(|set| (set[0].empty.get(), set[0].place))
            .collect();
        let expected = [
            (1.5, CarryingPlace::Cargo),
            (1.5, CarryingPlace::Rear),
            (4.0, CarryingPlace::Cargo),
            (4.0, CarryingPlace::Rear),
        ];
        assert_eq!(first, expected);

        let small = CanKind {
            empty_kg: Kilograms::new(4.0),
            ..kind(10.0, 1, 0, &rear_and_cargo[..1])
        };
        let large = kind(20.0, 1, 0, &rear_and_cargo[..1]);
        let sets = CanSets::of(&[small, large], Litres::new(50.0), None).sets;
        assert_eq!(sets[1][0].size, Litres::new(20.0));
        assert_eq!(places(&sets[1]), [CarryingPlace::Rear]);
    }

    /// A can that never fits whole into the tank cannot be poured, and no set holds more than is allowed.
    #[test]
    fn no_set_holds_what_cannot_be_poured_or_is_not_allowed() {
        let kinds = [
            kind(20.0, 3, 0, &[CarryingPlace::Rear]),
            kind(5.0, 2, 0, &[CarryingPlace::Rear]),
        ];
        let most = |room, most| {
            let sets = CanSets::of(&kinds, Litres::new(room), most).sets;
            sets.iter()
                .map(|set| fill(set))
                .fold(Litres::ZERO, Litres::max)
        };
        assert_eq!(most(19.0, None), Litres::new(3.0 * 19.0 + 2.0 * 4.75));
        assert_eq!(most(18.9, None), Litres::new(2.0 * 4.75));
        assert_eq!(
            most(50.0, Some(Litres::new(43.0))),
            Litres::new(2.0 * 19.0 + 4.75)
        );
    }
}
