//! Where on a stretch going on takes as long as going back: what one asks when somebody is hurt, not when fuel is short.

use crate::quantity::{Hours, Kilometres};
use crate::solver::turn_back;

use crate::plan::parts::Plan;
use crate::plan::parts::stages::Stretch;

impl Plan {
    /// The kilometre of a stretch from which its end takes as many hours at the wheel as the refuge behind it. Nothing
    /// without a refuge, past a leg that cannot be driven the other way, or where going on is quicker all along.
    pub fn equal_time(&self, stretch: &Stretch) -> Option<Kilometres> {
        let refuge = stretch.turn_back?.refuge;
        let legs: Vec<(Hours, Option<Hours>)> = (refuge..stretch.to)
            .map(|leg| {
                let (stated, planned) = (&self.trip.legs[leg], &self.legs[leg]);
                let back = stated.can_return().then(|| {
                    let formula = self.formula(leg + 1).reversed(stated.return_factor());
                    formula.driving(planned.steady)
                });
                (planned.driving, back)
            })
            .collect();
        let (leg, part) = turn_back::equal_time(&legs)?;
        let leg = &self.legs[refuge + leg];
        let km = leg.from_km + leg.distance * part.get();
        (km >= stretch.from_km).then_some(km)
    }
}
