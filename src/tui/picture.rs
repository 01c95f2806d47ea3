//! A plan with all that is made of it for the screen, once: made by the thread that planned, so that showing it costs
//! nothing.

use std::sync::{Arc, OnceLock};

use super::chart::Chart;
use crate::plan::Plan;
use crate::present::actions::{Action, actions};
use crate::present::answers::Answers;
use crate::present::card::{self, CheckLine};
use crate::present::load::{self, Places};
use crate::present::number::Units;
use crate::present::story::Story;
use crate::present::strip::Strip;
use crate::present::{dry, finding, payload, verdict};
use crate::quantity::Hours;

/// A plan, its strip, and what is reported about it.
#[derive(Debug)]
pub struct Picture {
    pub(super) plan: Arc<Plan>,
    pub(super) strip: Strip,
    pub(super) texts: Texts,
    chart: OnceLock<Option<Chart>>,
    story: OnceLock<Option<Story>>,
    is_certain: bool,
    is_refined: bool,
    /// Filled once everything that the panels show of a simulated plan is worked out.
    worked_out: OnceLock<()>,
    /// The plan of the same trip by its first simulated trips.
    first: OnceLock<Arc<Plan>>,
}

impl Picture {
    /// The picture of a plan.
    pub fn of(plan: impl Into<Arc<Plan>>, units: Units) -> Arc<Self> {
        Self::from_plan(plan.into(), units, false)
    }

    /// The picture of a plan for which no more trips will be simulated.
    pub(crate) fn of_refined(plan: impl Into<Arc<Plan>>, units: Units) -> Arc<Self> {
        Self::from_plan(plan.into(), units, true)
    }

    fn from_plan(plan: Arc<Plan>, units: Units, is_refined: bool) -> Arc<Self> {
        let picture = Self {
            texts: Texts::of(&plan, units),
            strip: Strip::from_plan(Arc::clone(&plan)),
            chart: OnceLock::new(),
            story: OnceLock::new(),
            is_certain: is_refined || plan.verdict_is_certain(),
            is_refined,
            worked_out: OnceLock::new(),
            first: OnceLock::new(),
            plan,
        };
        if picture.plan.known_ledger().is_some() {
            picture.mark_worked_out();
        }
        Arc::new(picture)
    }

    /// The plan that is shown.
    pub(crate) fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The map; `None` without coordinates. Made when first looked at.
    pub(crate) fn chart(&self) -> Option<&Chart> {
        self.chart.get_or_init(|| Chart::of(&self.strip)).as_ref()
    }

    /// The readings of the log against the plan; `None` without a log. Made when first looked at.
    pub(crate) fn story(&self) -> Option<&Story> {
        self.story
            .get_or_init(|| Story::from_plan(&self.plan))
            .as_ref()
    }

    /// Whether no further simulated trips turn the verdict round.
    pub(crate) const fn is_certain(&self) -> bool {
        self.is_certain
    }

    /// The strip of that plan.
    pub(crate) const fn strip(&self) -> &Strip {
        &self.strip
    }

    /// Whether the plan rests on simulated trips.
    pub(crate) fn is_simulated(&self) -> bool {
        self.plan.doubt.is_some()
    }

    /// Whether no more trips will be simulated for the plan.
    pub(crate) const fn is_refined(&self) -> bool {
        self.is_refined
    }

    /// Whether what moves the litres needed, and what would teach most about them, can be shown without working it out.
    pub(crate) fn is_worked_out(&self) -> bool {
        self.worked_out.get().is_some()
    }

    pub(super) fn mark_worked_out(&self) {
        self.worked_out.get_or_init(|| ());
    }

    /// The plan by the first simulated trips; `None` if there is only a best estimate, or if they are not known.
    pub(super) fn first_simulated(&self) -> Option<&Arc<Plan>> {
        let own = || (self.is_simulated() && !self.is_refined()).then_some(&self.plan);
        self.first.get().or_else(own)
    }

    /// Takes over the first simulated trips of the picture that this one replaces.
    pub(super) fn follow(&self, before: &Self) {
        if let Some(first) = before.first_simulated().filter(|_| self.is_refined()) {
            // A picture that is shown again knows them already.
            let _ = self.first.set(Arc::clone(first));
        }
    }
}

/// What is reported about a plan.
#[derive(Clone, Debug)]
pub(crate) struct Texts {
    /// Verdict, fuel in cans, and the four answers.
    pub(crate) answers: Answers,
    /// The fuel stop on which the trip depends, as a sentence, and in few words; empty where there is none.
    pub(crate) critical: [String; 2],
    /// What to do, by kilometre.
    pub(crate) actions: Vec<Action>,
    /// The fuel checks of a simulated plan.
    pub(crate) checks: Vec<CheckLine>,
    /// Hours driving before each leg.
    pub(crate) hours: Vec<Hours>,
    /// Every finding in a sentence.
    pub(crate) findings: Vec<String>,
    /// Cans, masses over the days, what is used up, and why it is so, each in a sentence.
    pub(crate) load: Vec<String>,
    /// What the places of the vehicle carry.
    pub(crate) places: Option<Places>,
}

impl Texts {
    /// What is to be shown about a plan.
    pub(crate) fn of(plan: &Plan, units: Units) -> Self {
        Self {
            answers: Answers::new(plan, units),
            // It takes a plan without each fuel stop, for which no verdict waits.
            critical: if dry::are_known(plan) {
                dry::critical(plan, units).unwrap_or_default()
            } else {
                Default::default()
            },
            actions: actions(plan, units),
            checks: card::check_lines(plan, units),
            hours: plan
                .legs
                .iter()
                .scan(Hours::ZERO, |sum, leg| {
                    let before = *sum;
                    *sum += leg.driving;
                    Some(before)
                })
                .collect(),
            findings: plan
                .findings
                .iter()
                .map(|found| finding::sentence(found, plan, units))
                .collect(),
            load: [verdict::cans(&plan.in_cans.cans)]
                .into_iter()
                .chain(load::by_day(plan, units))
                .chain(load::supplies(plan, units))
                .chain(load::heaviest(plan, units))
                .chain(load::why_these_cans(plan))
                .chain([payload::still(&plan.load.room, units)])
                .collect(),
            places: load::places(plan, units),
        }
    }
}
