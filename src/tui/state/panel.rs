//! The panels under the strip: how far each is scrolled, and what it shows that is worked out when it is looked at.

use super::State;
use crate::plan::CauseShare;
use crate::plan::ledger::Ledger;
use crate::tui::chart::Chart;
use crate::tui::view::panels;

/// The ledger of a best estimate of so many legs is worked out between two keys.
const LEDGER_OF: usize = 1_000;

/// What can be shown under the strip, each with a number that is its key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Panel {
    /// What to do, and where.
    Do,
    /// What is in the way, and the fixes.
    Findings,
    /// The fuel checks of the route.
    Checks,
    /// Masses against their limits, and cans.
    Load,
    /// The legs as a table.
    Legs,
    /// How sure the plan is, and what the fuel in cans is for.
    Sure,
    /// A fuel stop without fuel, or a can lost.
    Dry,
    /// The chosen leg and why it costs what it costs, with the map.
    Leg,
    /// Fuel readings and calibration.
    Log,
}

impl Panel {
    /// Every panel, in the order of their numbers.
    pub const ALL: [Self; 9] = [
        Self::Do,
        Self::Findings,
        Self::Checks,
        Self::Load,
        Self::Legs,
        Self::Sure,
        Self::Dry,
        Self::Leg,
        Self::Log,
    ];

    /// Its number, which is its key.
    pub(crate) const fn number(self) -> usize {
        self as usize + 1
    }

    /// Its name where all are listed.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Do => "do",
            Self::Findings => "findings",
            Self::Checks => "checks",
            Self::Load => "load",
            Self::Legs => "legs",
            Self::Sure => "sure",
            Self::Dry => "dry",
            Self::Leg => "leg",
            Self::Log => "log",
        }
    }

    /// The title over the panel.
    pub(crate) const fn title(self) -> &'static str {
        match self {
            Self::Do => "what to do",
            Self::Findings => "findings and fixes",
            Self::Checks => "fuel checks",
            Self::Load => "load, cans, range",
            Self::Legs => "leg table",
            Self::Sure => "how sure",
            Self::Dry => "if a fuel stop is dry",
            Self::Leg => "this leg",
            Self::Log => "trip log and calibration",
        }
    }

    /// Whether it shows the verdict, or what follows from it.
    pub const fn is_of_verdict(self) -> bool {
        !matches!(self, Self::Leg | Self::Legs)
    }

    /// The panel `steps` further, round and round.
    #[must_use]
    pub(crate) fn moved(self, steps: usize) -> Self {
        Self::ALL[(self as usize + steps) % Self::ALL.len()]
    }
}

impl State {
    /// The map of the plan that is shown; `None` without coordinates. Made when first looked at.
    pub fn chart(&self) -> Option<&Chart> {
        self.shown.chart()
    }

    /// Lines that a panel is scrolled by.
    pub const fn scroll_of(&self, panel: Panel) -> usize {
        self.scroll[panel as usize]
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
        if self.focus == Panel::Sure && is_quick {
            self.plan().ledger();
        }
    }

    /// Scrolls a panel by a row, up to its last full page; of lists it chooses the next entry.
    pub(in crate::tui) fn scroll_panel(&mut self, panel: Panel, down: bool) {
        if panel == Panel::Legs {
            let leg = self.leg();
            self.choose(if down { leg + 1 } else { leg.saturating_sub(1) });
            return;
        }
        let last = match panel {
            Panel::Findings => {
                let findings = &self.judged_or_shown().plan().findings;
                findings.len().saturating_sub(1)
            }
            _ => panels::last_scroll(self, panel),
        };
        let scroll = &mut self.scroll[panel as usize];
        let at = (*scroll).min(last);
        *scroll = if down {
            (at + 1).min(last)
        } else {
            at.saturating_sub(1)
        };
    }
}

/// How far a cause moves what its leg burns.
pub(in crate::tui) fn strength(share: &CauseShare) -> f64 {
    let moved = share.multiplier.map(|factor| factor.get().ln().abs());
    moved.unwrap_or_default()
}
