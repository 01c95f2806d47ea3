//! In one word, whether to set out.

use crate::quantity::Litres;
use crate::solver::fuel::ROUNDING;
use crate::solver::load::LoadBar;

use super::Plan;

/// In one word, whether to set out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// The tank alone does it.
    TankDoes,
    /// It goes through with the chosen cans, within every limit.
    CansDo,
    /// The fuel goes through, but a load limit is broken.
    Overloaded,
    /// The fuel does not go through.
    FuelShort(Litres),
}

impl Plan {
    /// In one word, whether to set out.
    pub fn verdict(&self) -> Verdict {
        let spare = &self.spare;
        if spare.short_at_start > ROUNDING {
            return Verdict::FuelShort(spare.short_at_start);
        }
        if !spare.covers {
            return Verdict::FuelShort(spare.needed - spare.carried);
        }
        if self.load.bars.iter().any(LoadBar::is_over) {
            return Verdict::Overloaded;
        }
        if spare.cans.is_empty() {
            Verdict::TankDoes
        } else {
            Verdict::CansDo
        }
    }
}
