//! The JSON report: a public interface.
//!
//! Numbers are full doubles in metric units that the keys name; litres of fuel on board are usable
//! litres, tank and cans, unless the key says otherwise. A figure that is not computed is `null`,
//! never 0. Non-finite numbers cannot occur in JSON and would be `null` too.
//!
//! Compatibility: within `drystage_report: 2` and `drystage_compare: 2` keys may be added, and a
//! `null` may become a number; no key is removed, renamed, or changes its unit or meaning, and no
//! code of a finding changes its meaning. A reader must ignore keys that it does not know.
//! [`schemas`] describe exactly what this version of the program writes.

mod cans;
mod checks;
mod if_dry;
mod legs;
mod load;
mod log;
mod outcomes;
mod stops;

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

use cans::{
    CalibrationDrive, FuelInCans, UncertainInput, calibration_drives, cans, uncertain_inputs,
};
use checks::{FuelCheck, Stage, fuel_checks, stages};
use if_dry::{CanLost, DependsOn, IfDry, IfDryPair, can_lost, depends_on, if_dry, if_dry_pair};
use legs::{Leg, legs};
use load::{Load, load};
use log::{Log, log};
use outcomes::{Outcomes, outcomes, outcomes_without_luck};
use stops::{Decant, Stop, decants, stops};

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
    /// When to empty which can into the tank.
    decants: Vec<Decant>,
    /// Where to compare the fuel on board with what it takes, in driving order.
    fuel_checks: Vec<FuelCheck>,
    /// The route between the fuel stops that the plan relies on.
    stages: Vec<Stage>,
    /// Fuel in cans.
    cans: FuelInCans,
    /// How the simulated trips end under these instructions; `null` for a best-estimate plan.
    outcomes: Option<Outcomes>,
    /// The same with no fuel at any stop that the plan does not rely on.
    outcomes_without_luck: Option<Outcomes>,
    /// What the fuel in cans is needed for; `null` if none is needed.
    ledger: Option<crate::report::ledger::Ledger>,
    /// Each fuel stop on the route without fuel, on arrival with what the plan has on board.
    if_dry: Vec<IfDry>,
    /// Whether there were more of them than could be calculated.
    if_dry_cut: bool,
    /// The two fuel stops that cost most when both have no fuel.
    if_dry_pair: Option<IfDryPair>,
    /// The fullest can lost at the worst moment.
    can_lost: Option<CanLost>,
    /// The critical fuel stop; `null` if the trip depends on none.
    depends_on: Option<DependsOn>,
    /// What each uncertain input does to the fuel in cans, the largest effect first.
    uncertain_inputs: Option<Vec<UncertainInput>>,
    /// Drives before setting out that would reduce the fuel in cans, the most useful kind first.
    #[serde(skip_serializing_if = "Option::is_none")]
    calibration_drives: Option<Vec<CalibrationDrive>>,
    load: Load,
    /// The part already driven of a trip under way: legs up to `place_number` are as driven, and the plan begins at the last
    /// fuel reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    log: Option<Log>,
    /// The plan of the return, if the trip under way is to turn back now: a report of its own, from the last fuel reading to
    /// the refuge. It takes the place of everything after that reading here.
    #[serde(skip_serializing_if = "Option::is_none")]
    return_plan: Option<Box<Report>>,
    /// Changes that turn NO-GO into GO, the smallest first; empty for GO, or if nothing that was tried is enough.
    fixes: Vec<Fix>,
    /// Changes and sets of them that the search left out, because its work is bounded.
    fixes_left_out: usize,
    findings: Vec<Finding>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct VerdictReport {
    /// `tank-does`, `cans-do`, `overloaded` or `fuel-short`.
    code: &'static str,
    /// Whether no finding forbids departure.
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
struct Fix {
    says: String,
    /// Operations of RFC 6902 on the trip.
    #[schemars(with = "Vec<serde_json::Map<String, serde_json::Value>>")]
    changes: Vec<PatchOperation>,
    /// Litres less in cans; below 0 if more are needed.
    litres: Litres,
    /// Moved or left at home.
    kg: Kilograms,
    /// Driving time added.
    minutes: Minutes,
    /// Probability of finishing with the reserve intact.
    probability_finish: Option<Share>,
    /// Probability of turning back to a refuge, where the fix allows it.
    probability_turned_back: Option<Share>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Finding {
    /// `no-go`, `caution` or `note`.
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
        drystage_compare: 2,
        plans: cases.iter().copied().map(plan_report).collect(),
    })
}

/// The answer of `check`: what keeps a file from being planned, or what its plan must tell.
pub fn check(problems: &[Problem], plan: Option<&Plan>) -> String {
    written(&Check {
        version: 2,
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
        version: 2,
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
        decants: decants(plan),
        fuel_checks: fuel_checks(plan),
        stages: stages(plan),
        cans: cans(plan),
        outcomes: outcomes(plan),
        outcomes_without_luck: outcomes_without_luck(plan),
        ledger: crate::report::ledger::Ledger::of(plan),
        if_dry: if_dry(plan),
        if_dry_cut: plan.dry().cut,
        if_dry_pair: if_dry_pair(plan),
        can_lost: can_lost(plan),
        depends_on: depends_on(plan),
        uncertain_inputs: plan.doubt.as_ref().map(uncertain_inputs),
        calibration_drives: Some(calibration_drives(plan)).filter(|drives| !drives.is_empty()),
        load: load(plan),
        log: plan.behind.as_deref().map(|behind| log(plan, behind)),
        return_plan: plan.return_plan().map(|plan| {
            Box::new(plan_report(Case {
                plan,
                what_ifs,
                set,
            }))
        }),
        fixes: fixes(plan),
        fixes_left_out: plan.ways().untried + plan.ways().unconfirmed,
        findings: findings_of(plan),
    }
}

/// Sentences in the report keep to its metric keys.
const METRIC: Units = Units(UnitSystem::Metric);

fn fixes(plan: &Plan) -> Vec<Fix> {
    let found = plan.ways().found.iter();
    found
        .map(|way| Fix {
            says: ways::sentence(way, plan, METRIC),
            changes: way.changes.clone(),
            litres: way.litres,
            kg: way.kg,
            minutes: way.time.into(),
            probability_finish: way.odds_through,
            probability_turned_back: way.odds_back,
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
