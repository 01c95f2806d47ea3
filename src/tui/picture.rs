//! A plan with all that is made of it for the screen, once: made by whoever planned, so that showing it costs nothing.

use std::sync::{Arc, OnceLock};

use super::chart::Chart;
use super::told::Told;
use crate::plan::Plan;
use crate::present::number::Units;
use crate::present::strip::Strip;

/// A plan, its strip, and what is told about it.
#[derive(Debug)]
pub struct Picture {
    pub(super) plan: Arc<Plan>,
    pub(super) strip: Strip,
    pub(super) told: Told,
    chart: OnceLock<Option<Chart>>,
}

impl Picture {
    /// The picture of a plan.
    pub fn of(plan: impl Into<Arc<Plan>>, units: Units) -> Arc<Self> {
        let plan = plan.into();
        Arc::new(Self {
            told: Told::of(&plan, units),
            strip: Strip::of(Arc::clone(&plan)),
            chart: OnceLock::new(),
            plan,
        })
    }

    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The map; nothing without coordinates. Made when first looked at.
    pub fn chart(&self) -> Option<&Chart> {
        self.chart.get_or_init(|| Chart::of(&self.strip)).as_ref()
    }

    /// The strip.
    pub const fn strip(&self) -> &Strip {
        &self.strip
    }
}
