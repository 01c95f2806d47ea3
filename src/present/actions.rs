//! What to do on the route, by kilometre: fill, decant, decide, turn back. The first panel of the screen lists it.

use super::card::{self, all_along, at_most_gauge, level, put};
use super::finding::place_name;
use super::name::plain;
use super::number::{Toward, Units, percent};
use crate::plan::{CheckKind, Decant, FuelCheck, Plan, Stage, Stop, TurnBack};
use crate::quantity::{Litres, Share};

/// The place of what is done between two places.
const EN_ROUTE: &str = "en route";

/// What an action is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ActionKind {
    /// Fill at a fuel stop that the plan relies on.
    Fill,
    /// Fill at one that it does not rely on, if there is fuel.
    FillIfFuel,
    Decant,
    /// Compare the fuel on board, then continue or turn back.
    Decide,
    /// The last point from which the return is possible.
    TurnBackPoint,
}

/// One action.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Action {
    pub(crate) kind: ActionKind,
    /// The kilometre, without the word.
    pub(crate) km: String,
    pub(crate) place: String,
    pub(crate) text: String,
}

/// All actions that are still ahead, by kilometre.
pub(crate) fn actions(plan: &Plan, units: Units) -> Vec<Action> {
    let stops = plan
        .stops
        .iter()
        .map(|stop| (stop.at_km, fill(stop, plan, units)));
    let decants = plan.decants.iter();
    let decants = decants.map(|decant| (decant.at_km, self::decant(decant, plan, units)));
    let checks = plan.fuel_checks.iter();
    let decisions = checks
        .filter(|check| check.kind == CheckKind::Decision)
        .filter_map(|check| Some((check.at_km, decide(check, plan, units)?)));
    let points = plan.stages.iter().filter_map(|stage| {
        let point = stage.turn_back.as_ref()?;
        Some((point.at_km, turn_back_point(stage, point, plan, units)?))
    });
    let here = plan.here().unwrap_or_default();
    let all = stops.chain(decants).chain(decisions).chain(points);
    let mut ahead: Vec<_> = all.filter(|(at, _)| *at >= here).collect();
    ahead.sort_by(|a, b| a.0.get().total_cmp(&b.0.get()));
    ahead.into_iter().map(|(_, action)| action).collect()
}

fn fill(stop: &Stop, plan: &Plan, units: Units) -> Action {
    let text = if stop.chance <= Share::ZERO {
        "no fuel".to_owned()
    } else {
        let after = (stop.tank + stop.cans > Litres::ZERO)
            .then(|| format!("{} on board", units.fuel_tenths(stop.after, Toward::Down)));
        let chance = (stop.chance < Share::new(1.0))
            .then(|| format!("chance of fuel {}", percent(stop.chance)));
        let parts = [Some(put(stop, plan, units)), after, chance];
        parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
    };
    Action {
        kind: if stop.counted {
            ActionKind::Fill
        } else {
            ActionKind::FillIfFuel
        },
        km: units.at_number(stop.at_km, Toward::Nearest),
        place: plain(&stop.place).into_owned(),
        text,
    }
}

fn decant(decant: &Decant, plan: &Plan, units: Units) -> Action {
    let place = decant
        .place_number
        .map_or_else(|| EN_ROUTE.to_owned(), |node| place_name(plan, node));
    let latest = units.at(decant.latest_km.max(decant.earliest_km), Toward::Down);
    Action {
        kind: ActionKind::Decant,
        km: units.at_number(decant.at_km, Toward::Nearest),
        place,
        text: format!(
            "decant the {} can once the gauge shows {}, at the latest at {latest}",
            Units::can_size(decant.can_size),
            at_most_gauge(decant, plan),
        ),
    }
}

fn decide(check: &FuelCheck, plan: &Plan, units: Units) -> Option<Action> {
    let level = |litres| level(plan, check, litres, units, Toward::Up);
    let text = format!("DECIDE: {}", card::decide(check, plan, level)?);
    Some(Action {
        kind: ActionKind::Decide,
        km: units.at_number(check.at_km, Toward::Nearest),
        place: match check.place_number {
            Some(_) => plain(&check.place).into_owned(),
            None => EN_ROUTE.to_owned(),
        },
        text,
    })
}

/// The turn-back point; `None` where a return is possible on the whole stage.
fn turn_back_point(stage: &Stage, point: &TurnBack, plan: &Plan, units: Units) -> Option<Action> {
    (!all_along(point, stage)).then(|| Action {
        kind: ActionKind::TurnBackPoint,
        km: units.at_number(point.at_km, Toward::Down),
        place: EN_ROUTE.to_owned(),
        text: format!(
            "turn-back point: past here the reserve is not enough to return to {}",
            place_name(plan, point.refuge)
        ),
    })
}
