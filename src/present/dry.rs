//! What if the pump is dry, in words: each stop, the worst pair, a can lost, and the stop on which the trip hangs.
//!
//! What one can count on is rounded down and what is missing is rounded up.

use super::finding::node_name;
use super::number::{Toward, Units};
use super::verdict::counted;
use crate::plan::Plan;
use crate::plan::dry::{CanLost, DryAt, DryPair, DryStop, DryStops, MoreCans, Open, WayOut};
use crate::quantity::{Kilometres, Litres, Share};
use crate::solver::fuel::ROUNDING;

/// What the lines are about.
pub const TITLE: &str = "If a pump is dry";

/// How the lines are read.
pub const HOW_TO_READ: &str = "What to do on arriving there with what the plan has aboard; `on` is to the next fuel that \
                               is relied on, `back` over the same legs to a sure pump. Litres over or under the reserve.";

/// `on to Dune Gate: yes, 4.2 L to spare`.
fn way(word: &str, out: WayOut, plan: &Plan, units: Units) -> String {
    let to = node_name(plan, out.to);
    let missing = units.fuel(-out.margin, Toward::Up);
    match out.open {
        Open::Yes => {
            let spare = units.fuel(out.margin.max(Litres::ZERO), Toward::Down);
            format!("{word} to {to}: yes, {spare} to spare")
        }
        Open::UsingReserve => format!("{word} to {to}: only by using {missing} of the reserve"),
        Open::No => format!("{word} to {to}: no, {missing} are missing"),
    }
}

/// Both ways, as one sentence without its point.
fn ways(go_on: WayOut, turn_back: Option<WayOut>, plan: &Plan, units: Units) -> String {
    let back = turn_back.map_or_else(
        || "back: no sure pump can be reached".to_owned(),
        |back| way("back", back, plan, units),
    );
    format!("{}; {back}", way("on", go_on, plan, units))
}

/// `, 2 more 20 L cans than planned`; nothing when none is needed.
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

/// `55.1 L of spare fuel`, or none.
fn spare(litres: Litres, units: Units) -> String {
    if litres > ROUNDING {
        format!("{} of spare fuel", units.spare(litres, Toward::Up))
    } else {
        "no spare fuel".to_owned()
    }
}

/// A pump that is dry, and both ways from there, without the point.
fn found_dry(at: &DryAt, plan: &Plan, units: Units) -> String {
    let again = match at.nodes.len() {
        1 => String::new(),
        times => format!(" and all {times} times"),
    };
    format!(
        "{} dry ({}{again}): {}",
        node_name(plan, at.node()),
        units.at(plan.legs[at.node()].from_km, Toward::Nearest),
        ways(at.go_on, at.turn_back, plan, units),
    )
}

/// A dry stop as a sentence.
fn stop_sentence(stop: &DryStop, plan: &Plan, units: Units) -> String {
    format!(
        "{}. To do without it takes {}{}.",
        found_dry(&stop.at, plan, units),
        spare(stop.spare, units),
        more(stop.more),
    )
}

/// The worst pair as a sentence.
fn pair_sentence(pair: &DryPair, plan: &Plan, units: Units) -> String {
    let [one, other] = pair.nodes.map(|node| node_name(plan, node));
    let tried = if pair.of_all {
        ""
    } else {
        " Only neighbours were tried: other pairs may cost more."
    };
    let then = pair.at_second.map_or_else(
        || format!("with what is aboard at {one} one does not reach {other}"),
        |(go_on, back)| ways(go_on, back, plan, units),
    );
    format!(
        "Worst pair, {one} and {other} dry: {then}. To do without both takes {}{}.{tried}",
        spare(pair.spare, units),
        more(pair.more),
    )
}

/// A can lost as a sentence.
fn can_sentence(lost: &CanLost, plan: &Plan, units: Units) -> String {
    format!(
        "A can of {} lost at the worst moment ({}): {}. To go through all the same takes {}.",
        units.spare(lost.litres, Toward::Nearest),
        units.at(lost.at_km, Toward::Nearest),
        ways(lost.go_on, lost.turn_back, plan, units),
        spare(lost.spare, units),
    )
}

/// The stop on which the trip hangs, as a sentence and in few words; nothing where none costs anything, unless the plan
/// holds without every pump that may be dry.
pub fn hinge(plan: &Plan, units: Units) -> Option<[String; 2]> {
    let Some(stop) = plan.dry().hinge() else {
        return on_none(plan);
    };
    let name = node_name(plan, stop.at.node());
    let without = units.spare(stop.spare, Toward::Up);
    if !stop.at.strands() {
        return Some([
            format!("It hangs on {name}: to do without it takes {without} of spare fuel."),
            format!("Hangs on {name}: {without} without it."),
        ]);
    }
    let on = units.fuel(-stop.at.go_on.margin, Toward::Up);
    let back = stop.at.turn_back.map_or_else(
        || "and no sure pump lies behind".to_owned(),
        |back| {
            let missing = units.fuel(-back.margin, Toward::Up);
            format!("and {missing} to go back to {}", node_name(plan, back.to))
        },
    );
    Some([
        format!(
            "It hangs on {name}: if that is dry, {on} are missing to go on to {}, {back}.",
            node_name(plan, stop.at.go_on.to)
        ),
        format!("Hangs on {name}: no way on or back if dry."),
    ])
}

/// Where pumps on the way may be dry and the fuel of the plan is enough without them.
fn on_none(plan: &Plan) -> Option<[String; 2]> {
    let one = Share::new(1.0);
    let doubtful = plan.passed_dry.iter().any(|at| at.chance < one);
    let relied = plan.found_dry.iter().any(|at| at.chance < one);
    (doubtful && !relied && plan.spare.covers).then(|| {
        [
            "It hangs on no pump that may be dry: it is laid out to do without them.".to_owned(),
            "Hangs on no doubtful pump.".to_owned(),
        ]
    })
}

/// What the panel and the report tell, line by line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Line<'a> {
    /// A stop that is dry.
    Stop(&'a DryStop),
    /// One that the plan does not rely on.
    Passed(&'a DryAt),
    /// Two that are dry.
    Pair(&'a DryPair),
    /// A can that is lost.
    Can(&'a CanLost),
    /// What was left out.
    LeftOut(&'static str),
}

impl Line<'_> {
    /// The line as a sentence.
    pub fn sentence(self, plan: &Plan, units: Units) -> String {
        match self {
            Self::Stop(stop) => stop_sentence(stop, plan, units),
            Self::Passed(at) => {
                let stop = plan.trip.place(at.node()).fuel;
                let says = if stop.is_some_and(|stop| stop.detour() > Kilometres::ZERO) {
                    "The plan does not drive to it; this is what trying it costs."
                } else {
                    "The plan does not rely on it."
                };
                format!("{}. {says}", found_dry(at, plan, units))
            }
            Self::Pair(pair) => pair_sentence(pair, plan, units),
            Self::Can(lost) => can_sentence(lost, plan, units),
            Self::LeftOut(says) => says.to_owned(),
        }
    }

    /// The easiest way out that it tells of; nothing where it tells of none.
    pub fn open(self) -> Option<Open> {
        let (go_on, back) = match self {
            Self::Stop(stop) => (stop.at.go_on, stop.at.turn_back),
            Self::Passed(at) => (at.go_on, at.turn_back),
            Self::Can(lost) => (lost.go_on, lost.turn_back),
            Self::Pair(pair) => return Some(pair.at_second.map_or(Open::No, easiest)),
            Self::LeftOut(_) => return None,
        };
        Some(easiest((go_on, back)))
    }
}

fn easiest((go_on, back): (WayOut, Option<WayOut>)) -> Open {
    back.map_or(go_on.open, |back| back.open.max(go_on.open))
}

/// Every line there is: the stops, the pair, the can, what was left out.
pub fn lines(plan: &Plan) -> impl Iterator<Item = Line<'_>> {
    let dry = plan.dry();
    let pair = plan.dry_pair().map(Line::Pair);
    let can = dry.can_lost.as_ref().map(Line::Can);
    let mut stops: Vec<(usize, Line<'_>)> = dry
        .stops
        .iter()
        .map(|stop| (stop.at.node(), Line::Stop(stop)))
        .chain(
            plan.passed_dry
                .iter()
                .map(|at| (at.node(), Line::Passed(at))),
        )
        .collect();
    stops.sort_by_key(|(node, _)| *node);
    let stops = stops.into_iter().map(|(_, line)| line);
    stops.chain(pair).chain(can).chain(left_out(dry))
}

/// How many lines there are.
pub fn line_count(plan: &Plan) -> usize {
    let dry = plan.dry();
    dry.stops.len()
        + plan.passed_dry.len()
        + usize::from(plan.dry_pair().is_some())
        + usize::from(dry.can_lost.is_some())
        + left_out(dry).count()
}

fn left_out(dry: &DryStops) -> impl Iterator<Item = Line<'_>> {
    let cut = dry
        .cut
        .then_some("There are more stops than could be worked out; the others are not told.");
    let shared = dry.shared_as_planned.then_some(
        "Pumps that are met again are shared out as the plan does it, so the litres may be more than the least.",
    );
    [cut, shared].into_iter().flatten().map(Line::LeftOut)
}
