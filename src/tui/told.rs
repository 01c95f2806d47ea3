//! Words about the whole plan that need a look at every leg or finding: put together once for a
//! plan, so that a frame costs the same for a hundred thousand legs as for ten.

use std::sync::OnceLock;

use crate::plan::{Plan, Severity, Verdict};
use crate::present::load::{self, Places};
use crate::present::number::Units;
use crate::present::{dry, finding, margin, verdict};
use crate::quantity::Hours;

/// What is told about a plan.
#[derive(Clone, Debug)]
pub struct Told {
    /// Whether to set out, or what a best-estimate plan says in place of that, as a sentence, and in few words.
    pub verdict: [String; 2],
    /// How it stands with setting out.
    pub outlook: Outlook,
    /// Where it is tightest, as a sentence, and in few words.
    pub tightest: [String; 2],
    /// The stop on which the trip hangs, as a sentence, and in few words; empty where there is none.
    pub hinge: [String; 2],
    /// How many findings there are of each severity, the gravest first.
    pub counts: [(Severity, usize); 3],
    /// Hours at the wheel before each leg.
    pub hours: Vec<Hours>,
    sentences: Vec<OnceLock<String>>,
    load: OnceLock<Load>,
}

/// What is told about the load.
#[derive(Clone, Debug)]
pub struct Load {
    /// Cans, masses over the days, what is used up, and why it is so, each in a sentence.
    pub says: Vec<String>,
    /// What the places of the vehicle bear.
    pub places: Option<Places>,
}

/// How it stands with setting out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outlook {
    /// Nothing forbids it.
    Good,
    /// Nothing forbids it by the best estimate.
    NoVerdict,
    /// Fuel there is enough, but something else forbids it.
    Other,
    /// The fuel does not last.
    Short,
}

impl Told {
    /// What is to be told about a plan.
    pub fn of(plan: &Plan, units: Units) -> Self {
        let count = |severity| {
            let findings = plan.findings.iter();
            let of_it = findings.filter(|finding| finding.severity() == severity);
            (severity, of_it.count())
        };
        Self {
            verdict: if plan.doubt.is_some() {
                [verdict::sentence(plan, units), verdict::brief(plan, units)]
            } else {
                verdict::best_estimate(plan, units)
            },
            outlook: match plan.verdict() {
                _ if verdict::may_go(plan) && plan.doubt.is_none() => Outlook::NoVerdict,
                _ if verdict::may_go(plan) => Outlook::Good,
                Verdict::FuelShort(_) => Outlook::Short,
                _ => Outlook::Other,
            },
            tightest: [
                margin::sentence(plan, units).unwrap_or_default(),
                margin::brief(plan, units).unwrap_or_default(),
            ],
            // It takes a plan without each fuel stop, for which no verdict waits.
            hinge: if dry::are_known(plan) {
                dry::critical(plan, units).unwrap_or_default()
            } else {
                Default::default()
            },
            counts: [Severity::Stop, Severity::Caution, Severity::Note].map(count),
            hours: plan
                .legs
                .iter()
                .scan(Hours::ZERO, |sum, leg| {
                    let before = *sum;
                    *sum += leg.driving;
                    Some(before)
                })
                .collect(),
            sentences: vec![OnceLock::new(); plan.findings.len()],
            load: OnceLock::new(),
        }
    }

    /// What is told about the load; put together when first looked at.
    pub fn load(&self, plan: &Plan, units: Units) -> &Load {
        self.load.get_or_init(|| Load {
            says: [verdict::cans(&plan.spare.cans)]
                .into_iter()
                .chain(load::by_day(plan, units))
                .chain(load::supplies(plan, units))
                .chain(load::heaviest(plan, units))
                .chain(load::why_these_cans(plan))
                .collect(),
            places: load::places(plan, units),
        })
    }

    /// The sentence of finding number `nth`, from 0; worded when first looked at.
    ///
    /// # Panics
    /// When there is no such finding.
    pub fn finding(&self, nth: usize, plan: &Plan, units: Units) -> &str {
        self.sentences[nth].get_or_init(|| finding::sentence(&plan.findings[nth], plan, units))
    }
}
