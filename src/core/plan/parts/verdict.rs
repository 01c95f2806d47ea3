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
        let in_cans = &self.in_cans;
        if in_cans.short_at_start > ROUNDING {
            return Verdict::FuelShort(in_cans.short_at_start);
        }
        if !in_cans.covers {
            return Verdict::FuelShort(in_cans.needed - in_cans.carried);
        }
        if self.load.bars.iter().any(LoadBar::is_over) {
            return Verdict::Overloaded;
        }
        if in_cans.cans.is_empty() {
            Verdict::TankDoes
        } else {
            Verdict::CansDo
        }
    }
}
