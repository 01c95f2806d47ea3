//! A fuel stop without fuel, in words: each stop, the worst pair, a can lost, and the critical fuel stop.

use super::finding::place_name;
use super::number::{Toward, Units, outcome};
use super::verdict::counted;
use crate::plan::dry::{CanLost, Choices, DryPair, DryStop, MoreCans, Open};
use crate::plan::{Action, Ends, Plan};
use crate::quantity::{Litres, Share};
use crate::solver::fuel::ROUNDING;

/// The title of the lines.
pub(crate) const TITLE: &str = "If a fuel stop is dry";

/// How the lines are read.
pub(crate) const HOW_TO_READ: &str = "Shares of the simulated trips that arrive there, if they continue to the next confirmed \
                               fuel stop or the finish, and if they return over the same legs. Decide by the fuel check \
                               there.";

/// `62 % arrive with the reserve, 17 % using it, 21 % run out`.
fn shares(ends: Ends) -> String {
    format!(
        "{} arrive with the reserve intact, {} using it, {} run out of fuel",
        outcome(ends.reserve_intact.share),
        outcome(ends.using_reserve.share),
        outcome(ends.ran_out.share),
    )
}

/// Both choices, as sentences.
fn choices(choices: &Choices, plan: &Plan) -> String {
    let on = format!(
        "Continue to {}: {}.",
        place_name(plan, choices.on_to),
        shares(choices.shares.on)
    );
    let back = match (choices.shares.back, choices.back_to) {
        (Some(back), Some(to)) => format!("Return to {}: {}.", place_name(plan, to), shares(back)),
        _ => "No return is possible.".to_owned(),
    };
    format!("{on} {back} Recommended: {}.", recommended(choices))
}

/// What is recommended, in one word.
pub(crate) fn recommended(choices: &Choices) -> &'static str {
    word(choices.shares.recommended())
}

/// What to do, in one word.
pub(crate) const fn word(action: Action) -> &'static str {
    match action {
        Action::Continue => "continue",
        Action::Return => "return",
    }
}

/// `, 2 more 20 L cans than planned`; empty if none is needed.
fn more(cans: Option<MoreCans>) -> String {
    match cans {
        Some(MoreCans { count, size }) if count > 0 => {
            let can = format!("more {} can", Units::can_size(size));
            let cans = format!("{can}s");
            format!(", {} than planned", counted(count as usize, &can, &cans))
        }
        _ => String::new(),
    }
}

/// `55.1 L in cans`, or none.
fn in_cans(litres: Litres, units: Units) -> String {
    if litres > ROUNDING {
        format!("{} in cans", units.fuel_tenths(litres, Toward::Up))
    } else {
        "no fuel in cans".to_owned()
    }
}

/// What the trip needs if it is planned without a stop.
fn without(stop: &DryStop, units: Units) -> Option<String> {
    let needed = in_cans(stop.needed_without?, units);
    Some(format!(
        "Planned without it, the trip needs {needed}{}.",
        more(stop.more)
    ))
}

/// Where only pairs of neighbours were tried.
const NEIGHBOURS: &str = "Only neighbouring stops were tried; other pairs may be worse.";

/// A fuel stop without fuel as sentences.
fn stop_sentence(stop: &DryStop, plan: &Plan, units: Units) -> String {
    let again = match stop.place_numbers.len() {
        1 => String::new(),
        times => format!(", at all {times} visits"),
    };
    let without = without(stop, units).map_or_else(String::new, |sentence| format!(" {sentence}"));
    format!(
        "{} has no fuel ({}{again}). {}{without}",
        place_name(plan, stop.place_number()),
        units.at(plan.legs[stop.place_number()].from_km, Toward::Nearest),
        choices(&stop.choices, plan),
    )
}

/// The worst pair as sentences.
fn pair_sentence(pair: &DryPair, plan: &Plan) -> String {
    let [one, other] = pair
        .place_numbers
        .map(|place_number| place_name(plan, place_number));
    let tried = if pair.of_all {
        String::new()
    } else {
        format!(" {NEIGHBOURS}")
    };
    let then = pair.choices.as_ref().map_or_else(
        || format!("No trip reaches {other} without fuel at {one}."),
        |pair| choices(pair, plan),
    );
    format!("Worst pair: {one} and {other} have no fuel. From {other}: {then}{tried}")
}

/// A can lost as sentences.
fn can_sentence(lost: &CanLost, plan: &Plan, units: Units) -> String {
    format!(
        "A can of {} is lost at the worst moment ({}). {}",
        units.fuel_tenths(lost.litres, Toward::Nearest),
        units.at(lost.at_km, Toward::Nearest),
        choices(&lost.choices, plan),
    )
}

/// The critical fuel stop, as a sentence and in few words; `None` if there is none, unless the plan relies on confirmed
/// fuel only.
pub(crate) fn critical(plan: &Plan, units: Units) -> Option<[String; 2]> {
    let Some(stop) = plan.dry().critical_stop() else {
        return confirmed_only(plan);
    };
    let name = place_name(plan, stop.place_number());
    if stop.choices.strands() {
        let run_out = outcome(stop.choices.least_run_out());
        return Some([
            format!(
                "Depends on {name}: if it has no fuel, at least {run_out} of trips run out of fuel."
            ),
            format!("Depends on {name}: {run_out} run out if it is dry."),
        ]);
    }
    let without = stop.needed_without?;
    let without = units.fuel_tenths(without, Toward::Up);
    Some([
        format!("Depends on {name}: planned without it, the trip needs {without} in cans."),
        format!("Depends on {name}: {without} in cans without it."),
    ])
}

/// Where unconfirmed fuel stops are on the route and the plan relies on none of them; nothing under a NO-GO.
fn confirmed_only(plan: &Plan) -> Option<[String; 2]> {
    let unconfirmed = || {
        let on_the_way = plan
            .stops
            .iter()
            .filter(|stop| stop.place_number > 0 && stop.place_number < plan.legs.len());
        on_the_way.filter(|stop| stop.chance < Share::new(1.0))
    };
    let relies = unconfirmed().any(|stop| stop.counted);
    let is_go = super::verdict::may_go(plan) && plan.doubt.is_some();
    (unconfirmed().next().is_some() && !relies && is_go).then(|| {
        let sentence = "Relies on confirmed fuel only.".to_owned();
        [sentence.clone(), sentence]
    })
}

/// The lines of the panel and the report.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum DryLine<'a> {
    Stop(&'a DryStop),
    Pair(&'a DryPair),
    Can(&'a CanLost),
    LeftOut(&'static str),
}

impl DryLine<'_> {
    /// The line as sentences.
    pub(crate) fn sentence(self, plan: &Plan, units: Units) -> String {
        match self {
            Self::Stop(stop) => stop_sentence(stop, plan, units),
            Self::Pair(pair) => pair_sentence(pair, plan),
            Self::Can(lost) => can_sentence(lost, plan, units),
            Self::LeftOut(sentence) => sentence.to_owned(),
        }
    }

    /// Whether the better of both choices arrives; `None` for what was left out.
    pub(crate) fn open(self) -> Option<Open> {
        let better = |choices: &Choices| choices.on().max(choices.back());
        match self {
            Self::Stop(stop) => Some(better(&stop.choices)),
            Self::Can(lost) => Some(better(&lost.choices)),
            Self::Pair(pair) => Some(pair.choices.as_ref().map_or(Open::No, better)),
            Self::LeftOut(_) => None,
        }
    }
}

/// A line as a row of a table.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct DryRow {
    /// What happens where.
    pub(crate) what: String,
    /// What comes of continuing; `None` if no trip gets there.
    pub(crate) on: Option<Outcome>,
    /// What comes of returning; `None` if no return is possible.
    pub(crate) back: Option<Outcome>,
    pub(crate) recommended: Option<&'static str>,
    /// What the trip needs without the stop, or what was not tried.
    pub(crate) note: Option<String>,
}

/// Where a driver in trouble goes, and the shares of how that ends.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Outcome {
    pub(crate) to: String,
    /// With the reserve intact, using it, out of fuel.
    pub(crate) shares: [String; 3],
}

fn outcome_of(to: usize, ends: Ends, plan: &Plan) -> Outcome {
    Outcome {
        to: place_name(plan, to),
        shares: [ends.reserve_intact, ends.using_reserve, ends.ran_out]
            .map(|odds| outcome(odds.share)),
    }
}

fn row(what: String, choices: Option<&Choices>, note: Option<String>, plan: &Plan) -> DryRow {
    DryRow {
        what,
        on: choices.map(|choices| outcome_of(choices.on_to, choices.shares.on, plan)),
        back: choices
            .and_then(|choices| Some(outcome_of(choices.back_to?, choices.shares.back?, plan))),
        recommended: choices.map(recommended),
        note,
    }
}

/// The lines as rows of a table.
pub(crate) fn rows(plan: &Plan, units: Units) -> Vec<DryRow> {
    let at = |km| units.at(km, Toward::Nearest);
    lines(plan)
        .map(|line| match line {
            DryLine::Stop(stop) => {
                let place = at(plan.legs[stop.place_number()].from_km);
                let what = format!(
                    "{} has no fuel ({place})",
                    place_name(plan, stop.place_number())
                );
                row(what, Some(&stop.choices), without(stop, units), plan)
            }
            DryLine::Pair(pair) => {
                let [one, other] = pair.place_numbers.map(|node| place_name(plan, node));
                let what = format!("worst pair: {one} and {other} have no fuel");
                let note = if pair.choices.is_none() {
                    Some(format!("No trip reaches {other} without fuel at {one}."))
                } else {
                    (!pair.of_all).then(|| NEIGHBOURS.to_owned())
                };
                row(what, pair.choices.as_ref(), note, plan)
            }
            DryLine::Can(lost) => {
                let litres = units.fuel_tenths(lost.litres, Toward::Nearest);
                let what = format!(
                    "a can of {litres} is lost at the worst moment ({})",
                    at(lost.at_km)
                );
                row(what, Some(&lost.choices), None, plan)
            }
            DryLine::LeftOut(sentence) => row(sentence.to_owned(), None, None, plan),
        })
        .collect()
}

/// Whether the results are known; what must not wait checks first.
pub(crate) fn are_known(plan: &Plan) -> bool {
    plan.doubt.is_none() || plan.known_dry().is_some()
}

/// Every line there is: the stops, the pair, the can, what was left out.
pub(crate) fn lines(plan: &Plan) -> impl Iterator<Item = DryLine<'_>> {
    let dry = plan.dry();
    let stops = dry.stops.iter().map(DryLine::Stop);
    let pair = dry.pair.as_ref().map(DryLine::Pair);
    let can = dry.can_lost.as_ref().map(DryLine::Can);
    let cut = dry.cut.then_some(DryLine::LeftOut(
        "There are more fuel stops than could be checked; the others are not listed.",
    ));
    stops.chain(pair).chain(can).chain(cut)
}
