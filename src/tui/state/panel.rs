//! The panels under the strip: how far each is scrolled, and what it shows that is worked out when it is looked at.

use super::State;
use crate::consumption::causes::Cause;
use crate::plan::CauseShare;
use crate::plan::ledger::Ledger;
use crate::plan::progress::Advice;
use crate::present::{dry, ledger, odds};
use crate::tui::chart::Chart;

/// The ledger of a best estimate of so many legs is worked out between two keys.
const LEDGER_OF: usize = 1_000;

/// What can stand under the strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Panel {
    /// The chosen leg and why it costs what it costs.
    Leg,
    /// What must be told.
    Findings,
    /// What is done at the fuel stops and on the way.
    Stops,
    /// The litres with which to go on or turn back.
    Card,
    /// How sure the plan is.
    Odds,
    /// Masses against their limits.
    Load,
    /// What the fuel in cans is for.
    Ledger,
    /// Where the way runs.
    Map,
    /// What if a fuel stop is dry or a can is lost.
    Dry,
    /// What if: the sliders.
    Sliders,
    /// What was read off on the way.
    Log,
    /// The fitted factors of the vehicle.
    Calibration,
}

impl Panel {
    /// Every panel, in the order in which room is given.
    pub const ALL: [Self; 12] = [
        Self::Leg,
        Self::Findings,
        Self::Stops,
        Self::Card,
        Self::Odds,
        Self::Load,
        Self::Ledger,
        Self::Map,
        Self::Dry,
        Self::Sliders,
        Self::Log,
        Self::Calibration,
    ];

    /// Whether it shows the verdict, or what follows from it.
    pub const fn is_of_verdict(self) -> bool {
        match self {
            Self::Findings
            | Self::Stops
            | Self::Card
            | Self::Odds
            | Self::Load
            | Self::Ledger
            | Self::Dry
            | Self::Log => true,
            Self::Leg | Self::Map | Self::Sliders | Self::Calibration => false,
        }
    }

    /// The panel `steps` further, round and round.
    #[must_use]
    pub(crate) fn moved(self, steps: usize) -> Self {
        Self::ALL[(self as usize + steps) % Self::ALL.len()]
    }
}

impl State {
    /// The map of the plan that is shown; nothing without coordinates. Made when first looked at.
    pub fn chart(&self) -> Option<&Chart> {
        self.shown.chart()
    }

    /// Lines that a panel is scrolled by.
    pub const fn scroll_of(&self, panel: Panel) -> usize {
        self.scroll[panel as usize]
    }

    /// How many entries a panel has to scroll through.
    pub fn entries(&self, panel: Panel) -> usize {
        let plan = self.judged_or_shown().plan();
        match panel {
            Panel::Leg => 1 + Cause::ALL.len(),
            Panel::Findings => plan.findings.len(),
            Panel::Stops => {
                let safely = usize::from(!plan.decants.is_empty());
                plan.stops.len() + plan.decants.len() + safely
            }
            Panel::Card => plan.fuel_checks.len(),
            Panel::Load => crate::tui::view::load::entry_count(self),
            Panel::Dry if !dry::are_known(plan) => 0,
            Panel::Dry => dry::line_count(plan),
            Panel::Odds => plan.doubt.as_ref().map_or(0, odds::line_count),
            Panel::Ledger => self.ledger().map_or(0, ledger::line_count),
            Panel::Log => plan.progress.as_deref().map_or(1, |progress| {
                let returns = plan.now().is_some_and(|now| now.advice == Advice::TurnBack);
                progress.intervals.len() + 2 + usize::from(returns)
            }),
            Panel::Calibration => crate::model::calibration::COMPONENTS,
            Panel::Sliders => self.slider_list().len(),
            Panel::Map => 0,
        }
    }

    /// What the fuel in cans is for, where it is worked out: after the simulation, or when it is looked at.
    pub(crate) fn ledger(&self) -> Option<&Ledger> {
        self.judged_or_shown().plan().known_ledger()
    }

    /// The causes of the chosen leg, the strongest first; only of the leg that is looked at they are worked out.
    pub(crate) fn causes(&self) -> Vec<&CauseShare> {
        let Some(leg) = self.chosen() else {
            return Vec::new();
        };
        let mut causes: Vec<_> = self.plan().attribution(leg.n).causes.iter().collect();
        causes.sort_by(|a, b| strength(b).total_cmp(&strength(a)));
        causes
    }

    /// Works out the ledger where that is quick; with simulated trips it comes from the thread that simulates.
    pub(in crate::tui) fn work_out_ledger(&self) {
        let is_quick = self.basis().is_best_estimate() && self.plan().legs.len() <= LEDGER_OF;
        if self.focus == Panel::Ledger && is_quick {
            self.plan().ledger();
        }
    }

    /// Scrolls a panel, but never past its last entry.
    pub(in crate::tui) fn scroll_panel(&mut self, panel: Panel, down: bool) {
        let last = self.entries(panel).saturating_sub(1);
        let scroll = &mut self.scroll[panel as usize];
        *scroll = if down {
            (*scroll + 1).min(last)
        } else {
            scroll.saturating_sub(1)
        };
    }
}

/// How far a cause moves what its leg burns.
pub(in crate::tui) fn strength(share: &CauseShare) -> f64 {
    let moved = share.multiplier.map(|factor| factor.get().ln().abs());
    moved.unwrap_or_default()
}
