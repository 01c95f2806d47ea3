//! Why these cans and not other ones that would do as well: what comes of every other set of as many cans that holds
//! what is needed. It looks at sets in their first places, and does not solve them again.

use crate::model::Trip;
use crate::quantity::Litres;
use crate::solver::cans::{self, ChosenCans, Holding};

use crate::plan::answers::others::Others;
use crate::plan::parts::Plan;
use crate::plan::search::stock;

/// Of more cans than this to choose from the sets are not counted.
const MOST_CANS: u32 = 30;
/// Nor are more sets than this.
const MOST_SETS: usize = 5_000;

impl Plan {
    /// Why the chosen cans and not others of as many; `None` if there are none, or too many others. Computed when first
    /// asked for.
    pub fn other_cans(&self) -> Option<Others> {
        let in_cans = &self.in_cans;
        let others = || Others::find(&self.trip, &in_cans.cans, in_cans.needed);
        *self.answers.other_cans.get_or_init(others)
    }
}

impl Others {
    /// What comes of the other sets; `None` if there are too many to count.
    fn find(trip: &Trip, chosen: &[ChosenCans], needed: Litres) -> Option<Self> {
        let stock = stock(trip);
        if chosen.is_empty() || stock.count(true) > MOST_CANS {
            return None;
        }
        let on_roof = cans::is_on_roof(chosen);
        let wanted = Holding {
            least: needed,
            most: trip.rules().most_in_cans_l,
        };
        let batches = stock.batches(cans::count(chosen), on_roof, wanted, MOST_SETS);
        if batches.cut {
            return None;
        }
        let mut others = Self::default();
        // A set is which cans are on the roof and which are not; the chosen one is met once, perhaps laid out
        // otherwise.
        let same = |set: &[ChosenCans]| sizes(set) == sizes(chosen);
        for batch in batches.ranked.iter().flatten() {
            let set = stock.in_first_places(batch);
            if !same(&set) {
                *others.count_of(&set, chosen) += 1;
            }
        }
        Some(others)
    }

    fn count_of(&mut self, set: &[ChosenCans], chosen: &[ChosenCans]) -> &mut usize {
        let by_buying = cans::to_buy(set).cmp(&cans::to_buy(chosen));
        let by_mass = cans::by_mass(cans::empty_mass(set), cans::empty_mass(chosen));
        let by_rank = cans::rank_of(set).cmp(&cans::rank_of(chosen));
        let by_fill = cans::by_litres(cans::fill(chosen), cans::fill(set));
        if cans::preference(set, chosen).is_lt() {
            &mut self.barred
        } else if by_buying.is_gt() {
            &mut self.more_to_buy
        } else if by_mass.is_gt() {
            &mut self.heavier
        } else if by_rank.is_gt() {
            &mut self.listed_later
        } else if by_fill.is_gt() {
            &mut self.hold_less
        } else {
            &mut self.equal
        }
    }
}

/// How many cans of which size and mass, and how many of them on the roof.
fn sizes(set: &[ChosenCans]) -> Vec<(u64, u64, bool, u32)> {
    let mut sizes: Vec<(u64, u64, bool, u32)> = Vec::new();
    for cans in set {
        let key = (
            cans.fill.get().to_bits(),
            cans.empty.get().to_bits(),
            cans::is_on_roof(std::slice::from_ref(cans)),
        );
        match sizes.iter_mut().find(|of| (of.0, of.1, of.2) == key) {
            Some(of) => of.3 += cans.count,
            None => sizes.push((key.0, key.1, key.2, cans.count)),
        }
    }
    sizes.sort_unstable();
    sizes
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    /// By hand: 540 km at 9 L/100 km and 5 L to be left take a few litres over a tank of 50 L, which any one can holds.
    /// The owned can of 10 L is taken: that of 20 L is heavier, the lightest one would have to be bought; another can
    /// like the one that is taken makes the same set.
    #[test]
    fn every_other_set_is_counted_by_what_decides_against_it() {
        let can = |size: f64, empty: f64, owned: u32| json!({ "size_l": size, "empty_kg": empty, "owned": owned, "may_buy": 1 - owned, "places": ["rear"] });
        let trip: Trip = serde_json::from_value(json!({
            "drystage": 1,
            "vehicle": {
                "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "tank_l": 50, "kerb_mass_kg": 1300
            },
            "load": { "cans": [can(10.0, 2.0, 1), can(20.0, 4.0, 1), can(10.0, 1.0, 0), can(10.0, 2.0, 1)] },
            "rules": { "reserve": { "litres": 5, "km": 0 }, "contingency_percent": 0 },
            "start": { "name": "a", "fuel": {} },
            "legs": [{ "to": "b", "distance_km": 540, "fuel": {} }]
        }))
        .unwrap();
        let plan = Plan::best_estimate(trip);
        let of = &plan.in_cans.cans[..];
        assert!(
            matches!(of, [cans] if cans.count == 1 && cans.size == Litres::new(10.0)),
            "{of:?} for {:?}",
            plan.in_cans.needed
        );
        let others = plan.other_cans().unwrap();
        assert_eq!(
            (others.heavier, others.more_to_buy, others.all()),
            (1, 1, 2),
            "{others:?}"
        );
    }
}
