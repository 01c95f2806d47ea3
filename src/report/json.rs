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

use std::collections::BTreeMap;
use std::fmt::Write as _;

use json_patch::PatchOperation;
use schemars::JsonSchema;
use serde::Serialize;

use super::Case;
use crate::consumption::causes::Cause;
use crate::model::check::Problem;
use crate::model::fitted::Component;
use crate::model::vocabulary::{CarryingPlace, UnitSystem};
use crate::plan::behind::{Advice, Behind, Worth};
use crate::plan::dry::{self, Open, WayOut};
use crate::plan::{self, doubt::Doubt};
use crate::plan::{LoadLimit, Odds, Plan, Quantile, Uncertain, Where};
use crate::present::number::Units;
use crate::present::{self, finding, name, odds, verdict, ways};
use crate::quantity::{
    Days, Factor, Hours, Kilograms, Kilometres, Litres, LitresPer100Km, Metres, Minutes, Money,
    Share,
};

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
    ledger: Option<super::ledger::Ledger>,
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
struct Leg {
    n: usize,
    from: String,
    to: String,
    day: u32,
    distance_km: Kilometres,
    fuel_l: Litres,
    l_per_100km: Option<LitresPer100Km>,
    /// Factor of each cause over base; their product times base is the leg's consumption.
    multipliers: Option<BTreeMap<&'static str, Factor>>,
    /// Litres of the leg without each cause.
    without_l: BTreeMap<&'static str, Litres>,
    start_l: Litres,
    end_l: Litres,
    /// What the gauge shows on arrival, unusable litres included.
    end_tank_l: Litres,
    end_cans_l: Litres,
    reserve_l: Litres,
    below_reserve: bool,
    /// The odds that the fixed reserve is broken here first.
    odds_first_below_reserve: Option<Share>,
    /// Percentiles of what is on board on arrival.
    end_l_p05: Option<Litres>,
    end_l_p50: Option<Litres>,
    end_l_p95: Option<Litres>,
    /// The leg's litres are `use_empty_l + use_slope * usable litres at its start`.
    use_empty_l: Litres,
    use_slope: Share,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Stop {
    node: usize,
    place: String,
    at_km: Kilometres,
    counted: bool,
    chance: Share,
    /// What it has; `null` when that is as much as one likes.
    supply_l: Option<Litres>,
    /// Extra way that is driven to use it.
    detour_km: Kilometres,
    /// Put in the tank.
    tank_l: Litres,
    /// Put in cans.
    cans_l: Litres,
    after_l: Litres,
    cost: Option<Money>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Pour {
    at_km: Kilometres,
    leg: usize,
    place: Option<String>,
    litres: Litres,
    /// On the gauge, unusable litres included.
    when_tank_at_most_l: Litres,
    can_size_l: Litres,
    from: CarryingPlace,
    earliest_km: Kilometres,
    latest_km: Kilometres,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Decision {
    node: Option<usize>,
    place: String,
    at_km: Kilometres,
    go_on_l: Option<Litres>,
    fill_cans_l: Option<Litres>,
    turn_back_l: Litres,
    /// The same in the plain plan, everything at its likely value.
    plain_go_on_l: Option<Litres>,
    plain_turn_back_l: Option<Litres>,
    /// With this much aboard `back_to` is reached with the fixed reserve untouched; `null` where that is more than tank
    /// and cans hold or where there is no way back.
    back_l: Option<Litres>,
    /// The nearest sure pump behind.
    back_to: Option<String>,
    back_to_node: Option<usize>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Stretch {
    from: String,
    from_node: usize,
    to: String,
    to_node: usize,
    distance_km: Kilometres,
    required_l: Litres,
    tank_l: Litres,
    spare_l: Litres,
    /// From the trip's start.
    turn_back_km: Option<Kilometres>,
    /// The same at the confidence.
    turn_back_sure_km: Option<Kilometres>,
    /// From where the end takes as many hours at the wheel as the refuge, from the trip's start.
    equal_time_km: Option<Kilometres>,
    refuge: Option<String>,
    refuge_node: Option<usize>,
    /// A doubtful or limited stop behind that lies nearer than the refuge.
    doubtful: Option<Doubtful>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Doubtful {
    place: String,
    node: usize,
    chance: Share,
    left_l: Option<Litres>,
    /// The last point from which it can be reached, from the trip's start.
    turn_back_km: Kilometres,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Spare {
    /// What must be in cans at the confidence: the larger of what the samples ask for and of what the likely litres with
    /// the per-cent reserve do.
    litres: Option<Litres>,
    /// What the plain plan needs in the tank, everything at its likely value.
    plain_l: Litres,
    /// The same with what is lost in pouring.
    plain_needed_l: Litres,
    /// This much must be in cans for this plan.
    needed_l: Litres,
    carried_l: Litres,
    covers: bool,
    /// Why these cans and no others; `null` where none are carried.
    why_these_cans: Option<String>,
    /// How surely the whole trip shall go through, as the rules ask for it.
    confidence: Share,
    /// Litres in cans that are enough, by confidence.
    by_confidence: Option<BTreeMap<String, Litres>>,
    /// Their standard errors.
    by_confidence_se: Option<BTreeMap<String, Litres>>,
    /// At the finish with the fixed reserve untouched all the way.
    odds_through: Option<Share>,
    odds_through_se: Option<Share>,
    /// At the finish with less.
    odds_on_reserve: Option<Share>,
    odds_on_reserve_se: Option<Share>,
    /// Back at a pump behind, from one that was dry.
    odds_turned_back: Option<Share>,
    odds_turned_back_se: Option<Share>,
    /// Out of fuel.
    odds_stranded: Option<Share>,
    odds_stranded_se: Option<Share>,
    samples: Option<usize>,
    litres_se: Option<Litres>,
    cans: Vec<Can>,
    /// The cans of the plain plan.
    plain_cans: Option<Vec<Can>>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Driver {
    /// What is not known; `pump` for whether there is fuel at `node`.
    cause: &'static str,
    /// The place of the pump.
    node: Option<usize>,
    /// Spare litres with the cause at its 5th percentile and all others at their medians; of a pump, if it surely had fuel.
    low_l: Litres,
    /// The same at its 95th; of a pump, if it were surely dry.
    high_l: Litres,
    /// The share of the variance that goes when it is known; `null` for a pump, on which the plan does not hang.
    of_variance: Option<Share>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Can {
    size_l: Litres,
    fill_l: Litres,
    count: u32,
    place: CarryingPlace,
    to_buy: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DryStop {
    /// The first place at which it is met after the start.
    node: usize,
    place: String,
    /// All places at which it is met after the start; it is dry at each.
    nodes: Vec<usize>,
    chance: Share,
    /// Whether the plan relies on it; where not, doing without it costs nothing more.
    relied_on: bool,
    /// Spare litres that the trip needs without it, counted like `spare.plain_l`; `null` where it is not relied on.
    spare_l: Option<Litres>,
    /// What that is in more cans of the largest kind in the load, their own mass left out.
    more_cans: Option<MoreCans>,
    /// `yes`: on to the next stop that is relied on, or to the finish, with the fixed reserve untouched;
    /// `using-reserve`: one arrives with something over nothing; `no`.
    can_go_on: &'static str,
    /// Litres aboard over what a `yes` takes; below 0 is what is missing.
    go_on_margin_l: Litres,
    go_on_to_node: usize,
    /// The same for the way back over the same legs to the nearest sure pump behind; `no` where there is none.
    can_turn_back: &'static str,
    /// `null` where no sure pump can be gone back to.
    turn_back_margin_l: Option<Litres>,
    turn_back_to_node: Option<usize>,
    /// Where the last drop is burnt when one goes on and does not get there.
    empty_at_km: Option<Kilometres>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct MoreCans {
    count: u32,
    size_l: Litres,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DryPair {
    nodes: [usize; 2],
    places: [String; 2],
    spare_l: Litres,
    more_cans: Option<MoreCans>,
    /// Whether it is the worst of all pairs; else only neighbours were tried.
    of_all_pairs: bool,
    /// Whether what is aboard at the first, found dry, is enough to come to the second; what follows is on arrival there.
    reaches_second: bool,
    can_go_on: &'static str,
    go_on_margin_l: Option<Litres>,
    go_on_to_node: Option<usize>,
    can_turn_back: &'static str,
    turn_back_margin_l: Option<Litres>,
    turn_back_to_node: Option<usize>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CanLost {
    /// What was in it.
    litres: Litres,
    at_km: Kilometres,
    leg: usize,
    /// Spare litres with which the trip goes through whenever it is lost.
    spare_l: Litres,
    can_go_on: &'static str,
    go_on_margin_l: Litres,
    go_on_to_node: usize,
    can_turn_back: &'static str,
    turn_back_margin_l: Option<Litres>,
    turn_back_to_node: Option<usize>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct HangsOn {
    node: usize,
    place: String,
    /// Whether its dryness leaves neither way out.
    strands: bool,
    says: String,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Load {
    heaviest_at: String,
    heaviest_at_node: usize,
    mass_kg: Kilograms,
    gvm_kg: Option<Kilograms>,
    left_kg: Option<Kilograms>,
    roof_kg: Option<Kilograms>,
    roof_limit_kg: Option<Kilograms>,
    /// The most that stands on the front axle at any departure; `null` where that cannot be known.
    front_axle_kg: Option<Kilograms>,
    front_axle_limit_kg: Option<Kilograms>,
    rear_axle_kg: Option<Kilograms>,
    rear_axle_limit_kg: Option<Kilograms>,
    /// `null` when nobody is aboard or no water is listed.
    water: Option<Water>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Water {
    aboard_l: Litres,
    person_day_l: Litres,
    lasts_days: Days,
    trip_days: Days,
    /// At the last turn-back point: days that the water lasts from there, and days that the way back takes.
    turn_back_km: Option<Kilometres>,
    lasts_at_turn_back_days: Option<Days>,
    way_back_days: Option<Days>,
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

/// What lies behind.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Log {
    /// Number of the place at which the plan begins, or of the last one passed.
    node: usize,
    place: String,
    /// Way to the next place, where the plan begins between two or off the plan.
    to_next_km: Option<Kilometres>,
    /// Usable, tank and cans.
    aboard_l: Litres,
    /// What of it the plan counts on.
    counted_l: Litres,
    /// `go-on`, `fill`, `turn-back` or `stay`; `null` at the finish.
    advice: Option<&'static str>,
    /// With so much aboard go on from here.
    go_on_l: Option<Litres>,
    /// The nearest sure pump behind, and what going back to it takes; `null` where there is none.
    back_to: Option<String>,
    back_l: Option<Litres>,
    /// The last kilometre of the trip from which that can be done.
    back_until_km: Option<Kilometres>,
    ways: Vec<DrivenWay>,
    factors: BTreeMap<&'static str, LogFactor>,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DrivenWay {
    from: String,
    to: String,
    distance_km: Kilometres,
    driven_km: Kilometres,
    planned_l: Litres,
    /// `null` where no departure was written down, or the readings contradict one another so that it would be less than
    /// nothing.
    used_l: Option<Litres>,
    used_sd_l: Option<Litres>,
    /// Whether the readings fit one another well enough to learn from them.
    counts: bool,
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LogFactor {
    before: Factor,
    before_sd: Factor,
    value: Factor,
    sd: Factor,
}

const fn advice(advice: Advice) -> &'static str {
    match advice {
        Advice::GoOn => "go-on",
        Advice::Fill => "fill",
        Advice::TurnBack => "turn-back",
        Advice::Stay => "stay",
    }
}

fn log(plan: &Plan, behind: &Behind) -> Log {
    let [before, after] = &behind.factors;
    let now = plan.now();
    let back = now.as_ref().and_then(|now| now.back);
    Log {
        node: behind.node,
        place: behind.place.clone(),
        aboard_l: behind.aboard,
        counted_l: behind.counted,
        to_next_km: behind.to_next,
        advice: now.as_ref().map(|now| advice(now.advice)),
        go_on_l: now.as_ref().map(|now| now.go_on),
        back_to: back.map(|(refuge, _)| plan.trip.place(refuge).name.to_owned()),
        back_l: back.map(|(_, litres)| litres),
        back_until_km: now.and_then(|now| now.last).map(|point| point.at_km),
        ways: behind
            .ways
            .iter()
            .map(|way| DrivenWay {
                from: way.places[0].clone(),
                to: way.places[1].clone(),
                distance_km: way.distance[0],
                driven_km: way.distance[1],
                planned_l: plan.planned_for(way),
                used_l: way.used,
                used_sd_l: way.used.map(|_| way.spread),
                counts: way.worth == Worth::Counts,
            })
            .collect(),
        factors: Component::ALL
            .into_iter()
            .map(|each| {
                let factor = LogFactor {
                    before: before.value(each),
                    before_sd: before.spread(each),
                    value: after.value(each),
                    sd: after.spread(each),
                };
                (each.key(), factor)
            })
            .collect(),
    }
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
        ledger: super::ledger::Ledger::of(plan),
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

fn legs(plan: &Plan) -> Vec<Leg> {
    let doubt = plan.doubt.as_ref();
    plan.legs
        .iter()
        .map(|leg| {
            let band = doubt.map(|doubt| doubt.bands[leg.n - 1].end);
            let causes = &plan.attribution(leg.n).causes;
            let multipliers = causes
                .iter()
                .map(|share| Some((share.cause.key(), share.multiplier?)))
                .collect();
            Leg {
                n: leg.n,
                from: leg.from.clone(),
                to: leg.to.clone(),
                day: leg.day,
                distance_km: leg.distance,
                fuel_l: leg.fuel,
                l_per_100km: leg.rate,
                multipliers,
                without_l: causes
                    .iter()
                    .map(|share| (Cause::key(share.cause), share.without))
                    .collect(),
                start_l: leg.start,
                end_l: leg.end,
                end_tank_l: leg.end_tank_gauge,
                end_cans_l: leg.end_cans,
                reserve_l: leg.reserve,
                below_reserve: leg.below_reserve,
                odds_first_below_reserve: doubt.map(|doubt| doubt.first_below[leg.n - 1].share),
                end_l_p05: band.map(|band| band.low),
                end_l_p50: band.map(|band| band.middle),
                end_l_p95: band.map(|band| band.high),
                use_empty_l: leg.use_empty,
                use_slope: leg.use_slope,
            }
        })
        .collect()
}

fn stops(plan: &Plan) -> Vec<Stop> {
    plan.stops
        .iter()
        .map(|stop| Stop {
            node: stop.node,
            place: stop.place.clone(),
            at_km: stop.at_km,
            counted: stop.counted,
            chance: stop.chance,
            supply_l: stop.supply,
            detour_km: stop.detour,
            tank_l: stop.tank,
            cans_l: stop.cans,
            after_l: stop.after,
            cost: stop.cost,
        })
        .collect()
}

fn pours(plan: &Plan) -> Vec<Pour> {
    plan.pours
        .iter()
        .map(|pour| Pour {
            at_km: pour.at_km,
            leg: pour.leg,
            place: pour.node.map(|node| plan.trip.place(node).name.to_owned()),
            litres: pour.litres,
            when_tank_at_most_l: pour.when_tank_at_most_gauge,
            can_size_l: pour.can_size,
            from: pour.from,
            earliest_km: pour.earliest_km,
            latest_km: pour.latest_km,
        })
        .collect()
}

fn decisions(plan: &Plan) -> Vec<Decision> {
    let name = |node: usize| plan.trip.place(node).name.to_owned();
    // Lines of the card stand at places and marks of the route, whatever the plan.
    let plain = |decision: &plan::Decision| {
        let doubt = plan.doubt.as_ref()?;
        let mut lines = doubt.plain.decisions.iter();
        lines.find(|line| line.at_km == decision.at_km && line.node == decision.node)
    };
    plan.decisions
        .iter()
        .map(|decision| Decision {
            node: decision.node,
            place: decision.place.clone(),
            at_km: decision.at_km,
            go_on_l: decision.go_on,
            fill_cans_l: decision.fill_cans,
            turn_back_l: decision.turn_back,
            plain_go_on_l: plain(decision).and_then(|plain| plain.go_on),
            plain_turn_back_l: plain(decision).map(|plain| plain.turn_back),
            back_l: decision.back.map(|back| back.needed),
            back_to: decision.back.map(|back| name(back.refuge)),
            back_to_node: decision.back.map(|back| back.refuge),
        })
        .collect()
}

fn stretches(plan: &Plan) -> Vec<Stretch> {
    let name = |node: usize| plan.trip.place(node).name.to_owned();
    plan.stretches
        .iter()
        .enumerate()
        .map(|(nth, stretch)| Stretch {
            from: name(stretch.from),
            from_node: stretch.from,
            to: name(stretch.to),
            to_node: stretch.to,
            distance_km: stretch.distance,
            required_l: stretch.required,
            tank_l: stretch.tank,
            spare_l: stretch.spare,
            turn_back_km: stretch.turn_back.map(|point| point.at_km),
            turn_back_sure_km: plan
                .doubt
                .as_ref()
                .and_then(|doubt| doubt.turn_backs.get(nth).copied().flatten()),
            equal_time_km: plan.equal_time(stretch),
            refuge: stretch.turn_back.map(|point| name(point.refuge)),
            refuge_node: stretch.turn_back.map(|point| point.refuge),
            doubtful: stretch.doubtful_turn_back.map(|point| Doubtful {
                place: name(point.refuge),
                node: point.refuge,
                chance: point.chance,
                left_l: point.left,
                turn_back_km: point.at_km,
            }),
        })
        .collect()
}

fn spare(plan: &Plan) -> Spare {
    let doubt = plan.doubt.as_ref();
    let plain = doubt.map_or(plan, |doubt| doubt.plain.as_ref());
    let by_confidence = |litres: fn(&Quantile) -> Litres| {
        doubt.map(|doubt| {
            let rows = doubt.by_confidence.iter();
            rows.map(|(share, spare)| (format!("{:.2}", share.get()), litres(spare)))
                .collect()
        })
    };
    let odds = |of: fn(&Doubt) -> Odds| {
        let odds = doubt.map(of);
        (odds.map(|odds| odds.share), odds.map(|odds| odds.error))
    };
    let (odds_through, odds_through_se) = odds(|doubt| doubt.through);
    let (odds_on_reserve, odds_on_reserve_se) = odds(|doubt| doubt.on_reserve);
    let (odds_turned_back, odds_turned_back_se) = odds(|doubt| doubt.turned_back);
    let (odds_stranded, odds_stranded_se) = odds(|doubt| doubt.stranded);
    Spare {
        litres: doubt.map(|_| plan.spare.needed),
        plain_l: plain.spare.plain,
        plain_needed_l: plain.spare.needed,
        needed_l: plan.spare.needed,
        carried_l: plan.spare.carried,
        covers: plan.spare.covers,
        why_these_cans: present::load::why_these_cans(plan),
        confidence: plan.trip.rules().confidence(),
        by_confidence: by_confidence(|spare| spare.litres),
        by_confidence_se: by_confidence(|spare| spare.error),
        odds_through,
        odds_through_se,
        odds_on_reserve,
        odds_on_reserve_se,
        odds_turned_back,
        odds_turned_back_se,
        odds_stranded,
        odds_stranded_se,
        samples: doubt.map(|doubt| doubt.samples),
        litres_se: doubt.map(|doubt| doubt.spare.error),
        cans: cans(plan),
        plain_cans: doubt.map(|doubt| cans(&doubt.plain)),
    }
}

/// Whether a way that may not be there at all is open.
fn open(way: Option<WayOut>) -> &'static str {
    way.map_or(Open::No, |way| way.open).word()
}

fn more_cans(more: Option<dry::MoreCans>) -> Option<MoreCans> {
    more.map(|more| MoreCans {
        count: more.count,
        size_l: more.size,
    })
}

fn dry_stops(plan: &Plan) -> Vec<DryStop> {
    let relied = plan.dry().stops.iter();
    let relied = relied.map(|stop| dry_stop(plan, &stop.at, Some(stop)));
    let passed = plan.passed_dry.iter().map(|at| dry_stop(plan, at, None));
    let mut stops: Vec<DryStop> = relied.chain(passed).collect();
    stops.sort_by_key(|stop| stop.node);
    stops
}

fn dry_stop(plan: &Plan, at: &dry::DryAt, relied: Option<&dry::DryStop>) -> DryStop {
    DryStop {
        node: at.node(),
        place: plan.trip.place(at.node()).name.to_owned(),
        nodes: at.nodes.clone(),
        chance: at.chance,
        relied_on: relied.is_some(),
        spare_l: relied.map(|stop| stop.spare),
        more_cans: more_cans(relied.and_then(|stop| stop.more)),
        can_go_on: at.go_on.open.word(),
        go_on_margin_l: at.go_on.margin,
        go_on_to_node: at.go_on.to,
        can_turn_back: open(at.turn_back),
        turn_back_margin_l: at.turn_back.map(|back| back.margin),
        turn_back_to_node: at.turn_back.map(|back| back.to),
        empty_at_km: at.empty_at,
    }
}

fn dry_pair(plan: &Plan) -> Option<DryPair> {
    plan.dry_pair().map(|pair| {
        let (go_on, back) = pair.at_second.unzip();
        let back = back.flatten();
        DryPair {
            nodes: pair.nodes,
            places: pair.nodes.map(|node| plan.trip.place(node).name.to_owned()),
            spare_l: pair.spare,
            more_cans: more_cans(pair.more),
            of_all_pairs: pair.of_all,
            reaches_second: go_on.is_some(),
            can_go_on: open(go_on),
            go_on_margin_l: go_on.map(|on| on.margin),
            go_on_to_node: go_on.map(|on| on.to),
            can_turn_back: open(back),
            turn_back_margin_l: back.map(|back| back.margin),
            turn_back_to_node: back.map(|back| back.to),
        }
    })
}

fn can_lost(plan: &Plan) -> Option<CanLost> {
    let lost = plan.dry().can_lost.as_ref();
    lost.map(|lost| CanLost {
        litres: lost.litres,
        at_km: lost.at_km,
        leg: lost.leg,
        spare_l: lost.spare,
        can_go_on: lost.go_on.open.word(),
        go_on_margin_l: lost.go_on.margin,
        go_on_to_node: lost.go_on.to,
        can_turn_back: open(lost.turn_back),
        turn_back_margin_l: lost.turn_back.map(|back| back.margin),
        turn_back_to_node: lost.turn_back.map(|back| back.to),
    })
}

fn hangs_on(plan: &Plan) -> Option<HangsOn> {
    let [says, _] = present::dry::hinge(plan, METRIC)?;
    plan.dry().hinge().map(|stop| HangsOn {
        node: stop.at.node(),
        place: plan.trip.place(stop.at.node()).name.to_owned(),
        strands: stop.at.strands(),
        says,
    })
}

fn cans(plan: &Plan) -> Vec<Can> {
    plan.spare
        .cans
        .iter()
        .map(|kind| Can {
            size_l: kind.size,
            fill_l: kind.fill,
            count: kind.count,
            place: kind.place,
            to_buy: kind.to_buy,
        })
        .collect()
}

#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Lesson {
    /// `road`, `road_with_roof`, `sand` or `low_range`.
    kind: &'static str,
    distance_km: Kilometres,
    /// The spare litres at the confidence as they are.
    spare_l: Litres,
    /// The same once that way was driven, on the mean over what it may find; what the way to and from such ground takes in
    /// the same fill is not counted.
    spare_then_l: Litres,
}

fn learn(plan: &Plan) -> Vec<Lesson> {
    let lessons = plan.lessons().iter();
    lessons
        .map(|lesson| Lesson {
            kind: present::learn::key(lesson.kind),
            distance_km: lesson.distance,
            spare_l: lesson.spare[0],
            spare_then_l: lesson.spare[1],
        })
        .collect()
}

fn drivers(doubt: &Doubt) -> Vec<Driver> {
    doubt
        .drivers()
        .iter()
        .map(|driver| Driver {
            cause: match driver.of {
                Uncertain::Unknown(unknown) => odds::unknown_key(unknown),
                Uncertain::Pump(_) => "pump",
            },
            node: match driver.of {
                Uncertain::Unknown(_) => None,
                Uncertain::Pump(node) => Some(node),
            },
            low_l: driver.low,
            high_l: driver.high,
            of_variance: driver.of_variance,
        })
        .collect()
}

fn load(plan: &Plan) -> Load {
    let load = &plan.load;
    let find = |matches: fn(LoadLimit) -> bool| load.bars.iter().find(|bar| matches(bar.what));
    let roof = find(|what| matches!(what, LoadLimit::Roof { .. }));
    let front = find(|what| what == LoadLimit::FrontAxle);
    let rear = find(|what| what == LoadLimit::RearAxle);
    Load {
        heaviest_at: plan.trip.place(load.heaviest_at).name.to_owned(),
        heaviest_at_node: load.heaviest_at,
        mass_kg: load.mass,
        gvm_kg: load.gvm,
        left_kg: load.gvm.map(|limit| limit - load.mass),
        roof_kg: roof.map(|bar| bar.mass),
        roof_limit_kg: roof.and_then(|bar| bar.limit),
        front_axle_kg: front.map(|bar| bar.mass),
        front_axle_limit_kg: front.and_then(|bar| bar.limit),
        rear_axle_kg: rear.map(|bar| bar.mass),
        rear_axle_limit_kg: rear.and_then(|bar| bar.limit),
        water: load.supplies.water.map(|water| Water {
            aboard_l: water.aboard,
            person_day_l: water.person_day,
            lasts_days: water.lasts,
            trip_days: load.supplies.days,
            turn_back_km: water.at_turn_back.map(|point| point.at_km),
            lasts_at_turn_back_days: water.at_turn_back.map(|point| point.lasts),
            way_back_days: water.at_turn_back.map(|point| point.back),
        }),
    }
}

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
