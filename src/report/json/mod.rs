//! The JSON report: a public interface.
//!
//! Numbers are full doubles in metric units that the keys name; litres of fuel on board are usable
//! litres, tank and cans, unless the key says otherwise. A figure that is not computed is `null`,
//! never 0. Non-finite numbers cannot occur in JSON and would be `null` too.
//!
//! Compatibility: within `drystage_report: 1` and `drystage_compare: 1` keys may be added, and a
//! `null` may become a number; no key is removed, renamed, or changes its unit or meaning, and no
//! code of a finding changes its meaning. A reader must pass over keys that it does not know.
//! [`schemas`] describe exactly what this version of the program writes.

mod dry;
mod fuel;
mod load;
mod log;
mod way;

use std::fmt::Write as _;

use json_patch::PatchOperation;
use schemars::JsonSchema;
use serde::Serialize;

use crate::model::check::Problem;
use crate::model::vocabulary::UnitSystem;
use crate::plan::{Plan, Where};
use crate::present::number::Units;
use crate::present::{finding, name, verdict, ways};
use crate::quantity::{
    Hours, Kilograms, Kilometres, Litres, LitresPer100Km, Metres, Minutes, Money, Share,
};
use crate::report::Case;

use dry::{CanLost, DryPair, DryStop, can_lost, dry_pair, dry_stops};
use fuel::{Driver, HangsOn, Lesson, Spare, drivers, hangs_on, learn, spare};
use load::{Load, load};
use log::{Log, log};
use way::{Decision, Leg, Pour, Stop, Stretch, decisions, legs, pours, stops, stretches};

/// Several plans side by side.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Comparison {
    drystage_compare: u32,
    /// Each is a report of its own; the first is the trip as stated.
    plans: Vec<Report>,
}

/// One plan.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Report {
    #[serde(rename = "drystage_report")]
    version: u32,
    /// Name of the trip.
    trip: Option<String>,
    /// Names of the what-ifs that were applied, in their order.
    what_ifs: Vec<String>,
    /// Single values that were set before, as `POINTER=VALUE`, in their order.
    set: Vec<String>,
    verdict: VerdictReport,
    totals: Totals,
    legs: Vec<Leg>,
    stops: Vec<Stop>,
    pours: Vec<Pour>,
    decisions: Vec<Decision>,
    stretches: Vec<Stretch>,
    spare: Spare,
    /// What the spare fuel is carried for; `null` when none is needed.
    ledger: Option<crate::report::ledger::Ledger>,
    /// Each stop that is relied on, dry on arrival with what the plan has aboard.
    dry_stops: Vec<DryStop>,
    /// Whether there were more of them than could be worked out.
    dry_stops_cut: bool,
    /// The two stops that cost most when both are dry.
    dry_pair: Option<DryPair>,
    /// The fullest can lost at the worst moment.
    can_lost: Option<CanLost>,
    /// The stop whose dryness leaves neither way out, or else costs most spare fuel; `null` where none costs any.
    hangs_on: Option<HangsOn>,
    /// What each unknown does to the spare litres, those that do most first.
    drivers: Option<Vec<Driver>>,
    /// What driving from brim to brim before setting out would make of the spare litres, the most telling kind first.
    #[serde(skip_serializing_if = "Option::is_none")]
    learn: Option<Vec<Lesson>>,
    load: Load,
    /// What lies behind, where the trip is under way: legs up to `node` stand as they were driven, and the plan begins at the
    /// last reading of the log.
    #[serde(skip_serializing_if = "Option::is_none")]
    log: Option<Log>,
    /// What would make it fit, the least change first; empty where it fits or nothing that was tried does.
    ways: Vec<Way>,
    /// Changes and sets of them that the search for ways left out, because its work is bounded.
    ways_left_out: usize,
    findings: Vec<Finding>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct VerdictReport {
    /// `tank-does`, `cans-do`, `overloaded` or `fuel-short`.
    code: &'static str,
    /// Whether nothing that was found forbids setting out.
    go: bool,
    says: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Totals {
    distance_km: Kilometres,
    fuel_l: Litres,
    l_per_100km: Option<LitresPer100Km>,
    ascent_m: Metres,
    driving_h: Hours,
    cost: Option<Money>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Way {
    says: String,
    /// Operations of RFC 6902 on the trip.
    #[schemars(with = "Vec<serde_json::Map<String, serde_json::Value>>")]
    changes: Vec<PatchOperation>,
    /// Litres that need no longer be in cans; below 0 when more must be.
    litres: Litres,
    /// Moved or left at home.
    kg: Kilograms,
    /// Added on the way.
    minutes: Minutes,
    odds_through: Option<Share>,
    /// The odds of turning back from a dry stop and being safe, where the way counts on that.
    odds_turned_back: Option<Share>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Finding {
    /// `stop`, `caution` or `note`.
    severity: &'static str,
    code: &'static str,
    /// `trip`, `vehicle`, `load`, `place 2` or `leg 4`.
    r#where: String,
    says: String,
}

/// What `check` answers.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Check {
    #[serde(rename = "drystage_check")]
    version: u32,
    /// What keeps the file from being planned; empty when it can be.
    problems: Vec<FileProblem>,
    /// What the plan must tell; `null` when there is no plan.
    findings: Option<Vec<Finding>>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct FileProblem {
    /// JSON Pointer (RFC 6901) into the trip.
    at: String,
    says: String,
}

/// The report of one plan, as a JSON document that ends with a line end.
pub fn report(case: Case<'_>) -> String {
    written(&plan_report(case))
}

/// The reports of several plans in one document.
pub fn comparison(cases: &[Case<'_>]) -> String {
    written(&Comparison {
        drystage_compare: 1,
        plans: cases.iter().copied().map(plan_report).collect(),
    })
}

/// The answer of `check`: what keeps a file from being planned, or what its plan must tell.
pub fn check(problems: &[Problem], plan: Option<&Plan>) -> String {
    written(&Check {
        version: 1,
        problems: problems
            .iter()
            .map(|problem| FileProblem {
                at: problem.at.clone(),
                says: problem.says.clone(),
            })
            .collect(),
        findings: plan.map(findings_of),
    })
}

/// JSON Schemas of one report, of a comparison, and of the answer of `check`.
pub fn schemas() -> [serde_json::Value; 3] {
    [
        schemars::schema_for!(Report).to_value(),
        schemars::schema_for!(Comparison).to_value(),
        schemars::schema_for!(Check).to_value(),
    ]
}

/// An indented document that ends with a line end.
///
/// # Panics
/// When a map in it has keys that are no text; no document of ours has.
pub fn written<T: Serialize>(document: &T) -> String {
    let text = serde_json::to_string_pretty(document)
        .expect("reports are made of plain values under text keys");
    harmless(&text) + "\n"
}

/// The JSON text with `\u` escapes for what JSON itself leaves as it is and a terminal acts on
/// (delete, C1 controls, marks that turn the direction of writing). Such characters can stand
/// nowhere but inside strings.
pub fn harmless(text: &str) -> String {
    let mut safe = String::with_capacity(text.len() + 1);
    for c in text.chars() {
        if c != '\n' && name::acts(c) {
            let _ = write!(safe, "\\u{:04x}", u32::from(c));
        } else {
            safe.push(c);
        }
    }
    safe
}

fn plan_report(
    Case {
        plan,
        what_ifs,
        set,
    }: Case<'_>,
) -> Report {
    Report {
        version: 1,
        trip: plan.trip.name.clone(),
        what_ifs: what_ifs.to_vec(),
        set: set.to_vec(),
        verdict: VerdictReport {
            code: verdict::code(plan.verdict()),
            go: verdict::may_go(plan),
            says: verdict::sentence(plan, METRIC),
        },
        totals: Totals {
            distance_km: plan.totals.distance,
            fuel_l: plan.totals.fuel,
            l_per_100km: plan.totals.rate,
            ascent_m: plan.totals.ascent,
            driving_h: plan.totals.driving,
            cost: plan.totals.cost,
        },
        legs: legs(plan),
        stops: stops(plan),
        pours: pours(plan),
        decisions: decisions(plan),
        stretches: stretches(plan),
        spare: spare(plan),
        ledger: crate::report::ledger::Ledger::of(plan),
        dry_stops: dry_stops(plan),
        dry_stops_cut: plan.dry().cut,
        dry_pair: dry_pair(plan),
        can_lost: can_lost(plan),
        hangs_on: hangs_on(plan),
        drivers: plan.doubt.as_ref().map(drivers),
        learn: Some(learn(plan)).filter(|lessons| !lessons.is_empty()),
        load: load(plan),
        log: plan.behind.as_deref().map(|behind| log(plan, behind)),
        ways: ways(plan),
        ways_left_out: plan.ways().untried + plan.ways().unconfirmed,
        findings: findings_of(plan),
    }
}

/// Sentences in the report keep to its metric keys.
const METRIC: Units = Units(UnitSystem::Metric);

fn ways(plan: &Plan) -> Vec<Way> {
    let ways = plan.ways().found.iter();
    ways.map(|way| Way {
        says: ways::sentence(way, plan, METRIC),
        changes: way.changes.clone(),
        litres: way.litres,
        kg: way.kg,
        minutes: way.time.into(),
        odds_through: way.odds_through,
        odds_turned_back: way.odds_back,
    })
    .collect()
}

fn findings_of(plan: &Plan) -> Vec<Finding> {
    plan.findings
        .iter()
        .map(|found| Finding {
            severity: found.severity().word(),
            code: found.code(),
            r#where: match found.at {
                Where::Trip => "trip".to_owned(),
                Where::Vehicle => "vehicle".to_owned(),
                Where::Load => "load".to_owned(),
                Where::Node(node) => format!("place {node}"),
                Where::Leg(n) => format!("leg {n}"),
            },
            says: finding::sentence(found, plan, METRIC),
        })
        .collect()
}
