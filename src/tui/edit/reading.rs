//! Readings of the way: proposed as it is planned there, typed over, put right.

use std::sync::Arc;

use super::super::editor::{Editor, Refused};
use super::super::state::State;
use super::{begin, made, table};
use crate::model::Trip;
use crate::model::change::Change;
use crate::model::log::Reading;
use crate::plan::Plan;
use crate::quantity::{Kilometres, Litres};

/// A reading as it was planned, in which nothing was typed yet.
#[derive(Clone, Debug)]
pub(crate) struct Proposal {
    /// The plan by which it is proposed.
    plan: Arc<Plan>,
    reading: Reading,
}

/// Puts in the reading that comes next, as planned there, so that only what differs need be typed: the departure where
/// none was written down, else an arrival at the next place. At the finish the last one is to be put right.
pub(super) fn add(state: &mut State) {
    let trip = state.trip();
    let log = trip.log();
    let departed = |first: &Reading| first.place_number == 0 && first.to_next_km.is_none();
    let place_number = match (log.first(), log.last()) {
        (Some(first), Some(last)) if departed(first) => last.place_number as usize + 1,
        _ => 0,
    };
    if place_number > trip.legs.len() {
        go_to(state, trip.legs.len());
        state.status = Some("the finish already has a reading: edit it here".into());
        return;
    }
    let came_late = place_number == 0 && !log.is_empty();
    let plan = Arc::clone(&state.settled_picture().plan);
    let reading = proposed(&plan, trip, place_number);
    // Whoever asks for another one has come to another place.
    if made(state, Ok(Change::read_off(trip, &reading, true))) {
        go_to(state, place_number);
        state.row = state.row.saturating_sub(1);
        state.proposal = Some(Proposal { plan, reading });
        if came_late {
            state.status = Some(
                "no reading at the start yet: enter it here; the planned values are filled in"
                    .into(),
            );
        }
        begin(state, None);
    }
}

/// What a typed field does.
pub(super) struct Typed {
    pub(crate) change: Change,
    /// The place on whose reading to go on.
    goes_on: Option<usize>,
    /// The reading as it is now proposed.
    proposal: Option<Proposal>,
}

impl Typed {
    /// What the typed field does; nothing while it is as it was. Another place in a reading: where it is still as proposed
    /// it is proposed anew for that place, and where that place has a reading already, that one is put right instead.
    ///
    /// # Errors
    /// What is wrong with the text.
    pub(crate) fn of(state: &State, editor: &Editor) -> Result<Option<Self>, Refused> {
        let trip = state.history.trip();
        let Some((at, place_number)) = other_place(trip, editor) else {
            let change = if state.is_table_open() {
                table::change(state, editor)?
            } else {
                editor.change(trip)?
            };
            return Ok(change.map(|change| Self {
                change,
                goes_on: None,
                proposal: None,
            }));
        };
        let stated = &trip.log()[at];
        let proposal = state
            .proposal
            .as_ref()
            .filter(|proposal| proposal.reading == *stated);
        let mut others = Trip::clone(trip);
        others.log.get_or_insert_default().remove(at);
        let is_taken = reading_at(&others, place_number).is_some();
        let reading = match proposal {
            Some(proposal) => proposed(&proposal.plan, &others, place_number),
            None => Reading {
                place_number: u32::try_from(place_number).unwrap_or(u32::MAX),
                ..stated.clone()
            },
        };
        let change = if proposal.is_some() && is_taken {
            Change::remove_item(trip, "/log", at)
        } else {
            Change::read_off_instead(trip, at, &reading)?
        };
        let proposal = proposal.filter(|_| !is_taken);
        Ok(Some(Self {
            change,
            goes_on: Some(place_number),
            proposal: proposal.map(|proposal| Proposal {
                plan: Arc::clone(&proposal.plan),
                reading,
            }),
        }))
    }

    /// Chooses the row to go on with once the change is made, and whether it was another than the next.
    pub(crate) fn goes_on(self, state: &mut State) -> bool {
        if self.proposal.is_some() {
            state.proposal = self.proposal;
        }
        if let Some(place_number) = self.goes_on {
            go_to(state, place_number);
        }
        self.goes_on.is_some()
    }
}

/// The reading, and the place of the trip, that the typed field gives it; nothing where something else is typed.
fn other_place(trip: &Trip, editor: &Editor) -> Option<(usize, usize)> {
    let at = editor.row.item("/log")?;
    let is_place = editor.row.field.key() == "place_number" && editor.is_changed();
    let place_number = editor.parsed().ok()??.as_u64()?;
    let place_number = usize::try_from(place_number)
        .ok()
        .filter(|place_number| *place_number <= trip.legs.len())?;
    (is_place && at < trip.log().len()).then_some((at, place_number))
}

/// Number of the reading that was taken at a place of the plan.
fn reading_at(trip: &Trip, place_number: usize) -> Option<usize> {
    let at = |reading: &Reading| {
        reading.place_number as usize == place_number && reading.to_next_km.is_none()
    };
    trip.log().iter().rposition(at)
}

/// Chooses the odometer of the reading at a place.
fn go_to(state: &mut State, place_number: usize) {
    let number = reading_at(state.trip(), place_number);
    let at = number.map(|number| format!("/log/{number}/odometer_km"));
    let row = state
        .rows()
        .iter()
        .position(|row| Some(&row.at) == at.as_ref());
    state.row = row.unwrap_or_default();
}

/// The reading at a place as `plan` has it there, between the readings of the trip.
fn proposed(plan: &Plan, trip: &Trip, place_number: usize) -> Reading {
    let arriving = place_number
        .checked_sub(1)
        .and_then(|leg| plan.legs.get(leg));
    let at = arriving.map_or(Kilometres::ZERO, |leg| leg.from_km + leg.distance);
    let log = trip.log();
    let later = log.partition_point(|reading| (reading.place_number as usize) < place_number);
    let odometer_of = |reading: &Reading| reading.odometer_km;
    let before = log[..later].last().map(odometer_of).unwrap_or_default();
    let odometer = plan.odometer_at(at).unwrap_or(before).max(before);
    let [tank, cans] = arriving.map_or_else(
        || {
            let set_out = plan.as_planned().map_or(plan, Arc::as_ref);
            let leaving = set_out.on_board_at(at);
            [leaving.tank + trip.vehicle.unusable(), leaving.cans]
        },
        |leg| [leg.end_tank_gauge, leg.end_cans],
    );
    // Nobody reads more off an odometer or a gauge.
    let rounded = |value: f64, step: f64| (value / step).round() * step;
    let odometer = Kilometres::new(rounded(odometer.get(), 1.0)).max(before);
    Reading {
        place_number: u32::try_from(place_number).unwrap_or(u32::MAX),
        odometer_km: log
            .get(later)
            .map_or(odometer, |after| odometer.min(after.odometer_km)),
        tank_left_l: Litres::new(rounded(tank.get(), 0.5))
            .max(Litres::ZERO)
            .min(trip.vehicle.tank_l),
        cans_left_l: Some(Litres::new(rounded(cans.get(), 0.1)).max(Litres::ZERO)),
        how: None,
        filled_l: None,
        dry: None,
        to_next_km: None,
        place: None,
    }
}
