//! The JSON report: a public interface.
//!
//! Numbers are full doubles in metric units that the keys name; litres of fuel on board are usable
//! litres, tank and cans, unless the key has another unit. A figure that is not computed is `null`,
//! never 0. Non-finite numbers cannot occur in JSON and would be `null` too.
//!
//! Compatibility: within `drystage_report: 2` and `drystage_compare: 2` keys may be added, and a
//! `null` may become a number; no key is removed, renamed, or changes its unit or meaning, and no
//! code of a finding changes its meaning. A reader must ignore keys that it does not know.
//! [`schemas`] describe exactly what this version of the program writes.

mod cans;
mod checks;
mod daylight;
mod if_dry;
mod legs;
mod load;
mod log;
mod outcomes;
mod range;
mod stops;

use std::fmt::Write as _;

use json_patch::PatchOperation;
use serde::Serialize;

use crate::model::Trip;
use crate::model::check::Problem;
use crate::model::vocabulary::UnitSystem;
use crate::plan::range::Ranges;
use crate::plan::{self, Plan, Where};
use crate::present::number::Units;
use crate::present::{finding, fixes, name, verdict};
use crate::quantity::{
    Hours, Kilograms, Kilometres, Litres, LitresPer100Km, Metres, Minutes, Money, Share,
};
use crate::report::Case;
use crate::report::ledger::Ledger;

use cans::{CalibrationDrive, FuelInCans, UncertainInput};
use checks::{FuelCheck, StageReport};
use daylight::DaylightReport;
use if_dry::{CanLost, DependsOn, IfDry, IfDryPair, depends_on};
use legs::Leg;
use load::Load;
use log::Log;
use outcomes::Outcomes;
use range::{RangeReport, RangesReport};
use stops::{DecantReport, Stop};

object! {
    /// Several plans side by side.
    struct Comparison(cases: &[Case<'_>]) {
        drystage_compare: u32 = 2,
        /// A report for each plan; the first is the trip without what-ifs.
        plans: Vec<Report> = cases.iter().copied().map(Report::new).collect(),
    }
}

object! {
    /// One plan.
    struct Report(case: Case<'_>; plan = case.plan, doubt = plan.doubt.as_ref(), dry = plan.dry()) {
        #[serde(rename = "drystage_report")]
        version: u32 = 2,
        /// Name of the trip.
        trip: Option<String> = plan.trip.name.clone(),
        /// Notice that goes with data of others in the trip.
        notice: Option<String> = plan.trip.notice.clone(),
        /// Names of the what-ifs that were applied, in their order.
        what_ifs: Vec<String> = case.what_ifs.to_vec(),
        /// Single values that were set before, as `POINTER=VALUE`, in their order.
        set: Vec<String> = case.set.to_vec(),
        verdict: VerdictReport = VerdictReport::new(plan),
        totals: Totals = Totals::new(&plan.totals),
        legs: Vec<Leg> = plan.legs.iter().map(|leg| Leg::new(plan, leg)).collect(),
        stops: Vec<Stop> = plan.stops.iter().map(|stop| Stop::new(plan, stop)).collect(),
        /// When to empty which can into the tank.
        decants: Vec<DecantReport> = plan.decants.iter().map(|decant| DecantReport::new(plan, decant)).collect(),
        /// Where to compare the fuel on board with what it takes, in driving order.
        fuel_checks: Vec<FuelCheck> =
            plan.fuel_checks.iter().enumerate().map(|(n, check)| FuelCheck::new(plan, n, check)).collect(),
        /// The route between the fuel stops that the plan relies on.
        stages: Vec<StageReport> = plan.stages.iter().map(|stage| StageReport::new(plan, stage)).collect(),
        /// Fuel in cans.
        cans: FuelInCans = FuelInCans::new(plan),
        /// How the simulated trips end under these instructions; `null` for a best-estimate plan.
        outcomes: Option<Outcomes> = doubt.map(|doubt| Outcomes::new(&doubt.outcomes)),
        /// `outcomes` with no fuel at any stop that the plan does not rely on.
        outcomes_without_luck: Option<Outcomes> = doubt.map(|doubt| Outcomes::new(&doubt.outcomes_without_luck)),
        /// What the fuel in cans is needed for; `null` if none is needed.
        ledger: Option<Ledger> = Ledger::from_plan(plan),
        /// Each fuel stop on the route without fuel, on arrival with what the plan has on board.
        if_dry: Vec<IfDry> = dry.stops.iter().map(|stop| IfDry::new(plan, stop)).collect(),
        /// Whether there were more fuel stops than could be calculated.
        if_dry_cut: bool = dry.cut,
        /// The two fuel stops that cost most when both have no fuel.
        if_dry_pair: Option<IfDryPair> = dry.pair.as_ref().map(|pair| IfDryPair::new(plan, pair)),
        /// The fullest can lost at the worst moment.
        can_lost: Option<CanLost> = dry.can_lost.as_ref().map(CanLost::new),
        /// The critical fuel stop; `null` if the trip depends on none.
        depends_on: Option<DependsOn> = depends_on(plan),
        /// What each uncertain input does to the fuel in cans, the largest effect first.
        uncertain_inputs: Option<Vec<UncertainInput>> =
            doubt.map(|doubt| doubt.drivers().iter().map(UncertainInput::new).collect()),
        /// Drives before setting out that would reduce the fuel in cans, the most useful kind first.
        #[serde(skip_serializing_if = "Option::is_none")]
        calibration_drives: Option<Vec<CalibrationDrive>> = (!plan.lessons().is_empty())
            .then(|| plan.lessons().iter().map(CalibrationDrive::new).collect()),
        load: Load = Load::new(plan),
        /// Sunrise, sunset and arrivals; `null` if the trip sets no date, UTC offset or coordinates.
        daylight: Option<DaylightReport> = plan.daylight.as_ref().map(DaylightReport::new),
        /// How far the vehicle goes on one surface, from a full tank and with cans.
        range: RangesReport = RangesReport::new(&plan.range()),
        /// The part already driven of a trip under way: legs up to `place_number` are as driven, and the plan begins at
        /// the last fuel reading.
        #[serde(skip_serializing_if = "Option::is_none")]
        log: Option<Log> = plan.progress.as_deref().map(|progress| Log::new(plan, progress)),
        /// The plan of the return, if the trip under way is to turn back now: a report of its own, from the last fuel
        /// reading to the fuel stop to return to. It takes the place of everything after that reading here.
        #[serde(skip_serializing_if = "Option::is_none")]
        return_plan: Option<Box<Report>> =
            plan.return_plan().map(|plan| Box::new(Report::new(Case { plan, ..case }))),
        /// Changes that turn NO-GO into GO, the smallest first; empty for GO, or if nothing that was tried is enough.
        fixes: Vec<Fix> = plan.fixes().found.iter().map(|fix| Fix::new(plan, fix)).collect(),
        /// Changes and sets of them that the search left out, because its work is bounded.
        fixes_left_out: usize = plan.fixes().untried + plan.fixes().unconfirmed,
        findings: Vec<Finding> = findings(plan),
    }
}

object! {
    struct VerdictReport(plan: &Plan) {
        /// `tank-enough`, `cans-enough`, `overloaded` or `fuel-short`.
        code: &'static str = verdict::code(plan.verdict()),
        /// Whether no finding forbids departure.
        go: bool = verdict::may_go(plan),
        message: String = verdict::sentence(plan, METRIC),
    }
}

object! {
    struct Totals(totals: &plan::Totals) {
        distance_km: Kilometres = totals.distance,
        fuel_l: Litres = totals.fuel,
        l_per_100km: Option<LitresPer100Km> = totals.rate,
        ascent_m: Metres = totals.ascent,
        driving_h: Hours = totals.driving,
        cost: Option<Money> = totals.cost,
    }
}

object! {
    struct Fix(plan: &Plan, fix: &crate::plan::fixes::Fix) {
        message: String = fixes::sentence(fix, plan, METRIC),
        /// Operations of RFC 6902 on the trip.
        #[schemars(with = "Vec<serde_json::Map<String, serde_json::Value>>")]
        changes: Vec<PatchOperation> = fix.changes.clone(),
        /// Litres less in cans; below 0 if more are needed.
        litres: Litres = fix.litres,
        /// Mass moved or left at home.
        kg: Kilograms = fix.kg,
        /// Driving time added.
        minutes: Minutes = fix.time.into(),
        /// Probability of finishing with the reserve intact.
        probability_finish: Option<Share> = fix.odds_through,
        /// Probability of turning back to a fuel stop, where the fix allows it.
        probability_turned_back: Option<Share> = fix.odds_back,
    }
}

object! {
    struct Finding(plan: &Plan, found: &plan::Finding) {
        /// `no-go`, `caution` or `note`.
        severity: &'static str = found.severity().word(),
        code: &'static str = found.code(),
        /// `trip`, `vehicle`, `load`, `place 2` or `leg 4`.
        r#where: String = match found.at {
            Where::Place(place_number) => format!("place {place_number}"),
            at => finding::place(at, plan),
        },
        message: String = finding::sentence(found, plan, METRIC),
    }
}

object! {
    /// What `check` answers.
    struct Check(problems: &[Problem], plan: Option<&Plan>) {
        #[serde(rename = "drystage_check")]
        version: u32 = 3,
        /// What keeps the file from being planned; empty when it can be.
        problems: Vec<FileProblem> = problems.iter().map(FileProblem::new).collect(),
        /// The findings of the plan; `null` if there is no plan.
        findings: Option<Vec<Finding>> = plan.map(findings),
    }
}

object! {
    struct FileProblem(problem: &Problem) {
        /// JSON Pointer (RFC 6901) into the trip.
        pointer: String = problem.pointer.clone(),
        /// What would be right, and what was found.
        message: String = problem.message.clone(),
    }
}

/// Sentences in the report keep to its metric keys.
const METRIC: Units = Units(UnitSystem::Metric);

fn findings(plan: &Plan) -> Vec<Finding> {
    let found = plan.findings.iter();
    found.map(|found| Finding::new(plan, found)).collect()
}

/// The report of one plan, as a JSON document that ends with a line end.
pub fn report(case: Case<'_>) -> String {
    written(&Report::new(case))
}

/// The reports of several plans in one document.
pub fn comparison(cases: &[Case<'_>]) -> String {
    written(&Comparison::new(cases))
}

/// The result of `check`: what prevents planning, or the findings of the plan.
pub fn check(problems: &[Problem], plan: Option<&Plan>) -> String {
    written(&Check::new(problems, plan))
}

/// How far the vehicle of a trip goes.
pub(crate) fn range(trip: &Trip, ranges: &Ranges) -> String {
    written(&RangeReport::new(trip, ranges))
}

/// JSON Schemas of one report, of a comparison, of the answer of `check`, and of the ranges.
pub fn schemas() -> [serde_json::Value; 4] {
    [
        schemars::schema_for!(Report).to_value(),
        schemars::schema_for!(Comparison).to_value(),
        schemars::schema_for!(Check).to_value(),
        schemars::schema_for!(RangeReport).to_value(),
    ]
}

/// An indented document that ends with a line end.
///
/// # Panics
/// When a map in it has keys that are no text; no document of ours has.
pub(crate) fn written<T: Serialize>(document: &T) -> String {
    let text = serde_json::to_string_pretty(document)
        .expect("reports are made of plain values under text keys");
    harmless(&text) + "\n"
}

/// The JSON text with `\u` escapes for what JSON itself leaves as it is and a terminal acts on
/// (delete, C1 controls, marks that turn the direction of writing). Such characters can be
/// nowhere but inside strings.
pub(crate) fn harmless(text: &str) -> String {
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
