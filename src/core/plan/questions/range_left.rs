//! How far the fuel on board leads along the route ahead, at each fuel check and without another fill.

use crate::doubt::range_left::Reached;
use crate::plan::answers::range::RangeLeft;
use crate::plan::parts::Plan;
use crate::plan::parts::fuel_check::FuelCheck;
use crate::quantity::{Kilometres, Litres, Share};

impl Plan {
    /// How far the fuel on board leads from each of the fuel checks; computed when first asked for.
    pub fn range_left(&self) -> &[RangeLeft] {
        let (Some(doubt), Some(driving)) = (&self.doubt, &self.kept.driving) else {
            return &[];
        };
        self.answers.range_left.get_or_init(|| {
            let (drawn, driven) = driving.again();
            let instructions = driving.instructions().with_all_fuel();
            let at_target = drawn.range_left(&driven, instructions, doubt.success_target);
            let checks = self.fuel_checks.iter().zip(at_target);
            checks
                .map(|(check, reached)| self.range_left_at(check, reached))
                .collect()
        })
    }

    /// How far the fuel on board leads from each of the fuel checks, if that was asked for already.
    pub fn known_range_left(&self) -> &[RangeLeft] {
        self.answers.range_left.get().map_or(&[], Vec::as_slice)
    }

    /// What is reached at the target, and never more than by the best estimate.
    fn range_left_at(&self, check: &FuelCheck, at_target: Reached) -> RangeLeft {
        let contingency = 1.0 + self.trip.rules().contingency().get();
        let to_minimum = self.reached(check, |reserve| {
            let to_burn = (check.expected - reserve).max(Litres::ZERO) / contingency;
            check.expected - to_burn
        });
        let until_empty = self.reached(check, |_| Litres::ZERO);
        RangeLeft {
            to_minimum: nearer(at_target.on_reserve, to_minimum),
            to_minimum_best_estimate: to_minimum,
            until_empty: nearer(at_target.until_empty, until_empty),
            until_empty_best_estimate: until_empty,
        }
    }

    /// Kilometres from a fuel check until the expected litres have fallen to a level, which may follow the reserve.
    fn reached(&self, check: &FuelCheck, level: impl Fn(Litres) -> Litres) -> Option<Kilometres> {
        let mut on_board = check.expected;
        if on_board <= Litres::ZERO {
            return Some(Kilometres::ZERO);
        }
        let mut km = Kilometres::ZERO;
        for (leg, usage) in self.legs.iter().zip(&self.kept.usages).skip(check.leg - 1) {
            let end = leg.from_km + leg.distance;
            let length = end - check.at_km.max(leg.from_km);
            let part = if leg.distance > Kilometres::ZERO {
                Share::new(length / leg.distance)
            } else {
                Share::new(f64::from(u8::from(check.place_number != Some(leg.n))))
            };
            let usage = usage.part(part);
            let level = level(self.reserve_at(leg.n)).min(on_board);
            if let Some(part) = usage.part_until(on_board, level) {
                return Some(km + length * part.get());
            }
            on_board -= usage.litres(on_board);
            km += length;
        }
        None
    }

    /// The reserve at a place.
    fn reserve_at(&self, place_number: usize) -> Litres {
        let driving = self.kept.driving.as_ref();
        driving.map_or(Litres::ZERO, |driving| {
            driving.problem.reserve[place_number]
        })
    }
}

/// The smaller of two distances, of which those beyond the finish are larger than any other.
fn nearer(a: Option<Kilometres>, b: Option<Kilometres>) -> Option<Kilometres> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}
