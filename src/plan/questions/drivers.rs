//! What each uncertain input does to the fuel in cans.

use crate::doubt::drivers::{Driver, drivers};
use crate::doubt::study::Effort;

use crate::plan::parts::doubt::Doubt;

impl Doubt {
    /// What [`Doubt::drivers`] gives, if it was asked before.
    pub fn known_drivers(&self) -> Option<&[Driver]> {
        self.study.drivers.get().map(Vec::as_slice)
    }

    /// What each unknown does to the spare litres, what the fuel checks cost left out, those that do most first; computed when
    /// first asked for.
    pub fn drivers(&self) -> &[Driver] {
        let study = &self.study;
        study.drivers.get_or_init(|| {
            let effort = Effort::of_question(study.world.legs.len(), study.effort.threads);
            let policy = study.policy.unchecked();
            drivers(&study.world, &policy, &study.doubtful, effort)
        })
    }
}
