//! `--set POINTER=VALUE`, `--what-if NAME` and `--seed N`: what is changed before planning.

use serde_json::{Value, json};

use super::args::{Changes, Common, Setting};
use super::failure::Failure;
use crate::model::Trip;
use crate::model::change::Change;
use crate::model::check::{Problem, named};
use crate::model::field::{self, percent_text};
use crate::model::what_if::SetError;

const SEED: &str = "/rules/seed";

/// The seed and every setting, in order.
fn values<'a>(changes: &'a Changes, common: &Common) -> Vec<(&'a str, Value)> {
    let seed = common.seed.map(|seed| (SEED, json!(seed)));
    let settings = changes.set.iter();
    let settings = settings.map(|Setting { pointer, value }| (pointer.as_str(), value.clone()));
    seed.into_iter().chain(settings).collect()
}

/// The trip with the seed and every setting, in order.
pub(crate) fn with_settings(
    trip: Trip,
    changes: &Changes,
    common: &Common,
) -> Result<Trip, Failure> {
    let mut values = values(changes, common);
    if values.is_empty() {
        return Ok(trip);
    }
    let wrong = |pointer: &str, reason: String| Failure::Set(vec![Problem::new(pointer, reason)]);
    for (pointer, value) in &mut values {
        let kind = field::at_pointer(pointer).map(|field| field.kind);
        let text = value
            .as_str()
            .filter(|_| kind.is_some_and(|kind| kind.is_fraction()));
        if let Some(fraction) = text.and_then(percent_text) {
            *value = json!(fraction.get());
        }
    }
    trip.with_values(&values).map_err(|error| match error {
        SetError::Unsound(problems) => Failure::Set(with_names(problems, &trip)),
        SetError::Pointer { pointer, reason } => wrong(&pointer, reason.to_string()),
    })
}

/// The problems with the names of the trip's parts. Whatever is set may be what another part is held to.
fn with_names(problems: Vec<Problem>, trip: &Trip) -> Vec<Problem> {
    let document = trip.to_document();
    let named = |problem: Problem| Problem {
        named: named(&problem.pointer, &document),
        ..problem
    };
    problems.into_iter().map(named).collect()
}

/// The trip with the settings and the one what-if that may be given.
pub(crate) fn with_changes(
    trip: Trip,
    changes: &Changes,
    common: &Common,
) -> Result<Trip, Failure> {
    let trip = with_settings(trip, changes, common)?;
    match one_what_if(changes)? {
        Some(name) => with_what_if(&trip, name),
        None => Ok(trip),
    }
}

/// The trip with a what-if. Of the saved what-ifs it keeps only those that do not fit the trip either: one may well not
/// fit what another makes of it.
pub(crate) fn with_what_if(trip: &Trip, name: &str) -> Result<Trip, Failure> {
    let mut changed = trip
        .with_what_if(name)
        .map_err(|error| Failure::Failed(error.into()))?;
    if let Some(stored) = &mut changed.what_ifs {
        *stored = trip
            .unfit_what_ifs()
            .map(|(unfit, _)| unfit.clone())
            .collect();
    }
    Ok(changed)
}

fn one_what_if(changes: &Changes) -> Result<Option<&String>, Failure> {
    match changes.what_if.as_slice() {
        [] => Ok(None),
        [name] => Ok(Some(name)),
        _ => Err(Failure::Wrong(
            "only report compares several what-ifs; give --what-if once here".to_owned(),
        )),
    }
}

/// The changes as edits of the trip, one after the other.
pub(crate) fn as_edits(
    trip: &Trip,
    changes: &Changes,
    common: &Common,
) -> Result<Vec<Change>, Failure> {
    // Errors are the same as without a terminal.
    let _ = with_changes(trip.clone(), changes, common)?;
    let mut edits = Vec::new();
    let mut now = trip.clone();
    let what_if = one_what_if(changes)?;
    for (pointer, value) in values(changes, common) {
        let edit = Change::set(&now, pointer, Some(value));
        now = made(&edit, &now)?;
        edits.push(edit);
    }
    let kept = |name: &String| now.what_ifs().iter().find(|kept| kept.name == *name);
    if let Some(what_if) = what_if.and_then(kept) {
        let edit = Change::of_operations(&what_if.name, &what_if.change);
        made(&edit, &now)?;
        edits.push(edit);
    }
    Ok(edits)
}

fn made(edit: &Change, trip: &Trip) -> Result<Trip, Failure> {
    let (trip, _) = edit.apply(trip).map_err(|error| {
        Failure::Wrong(format!(
            "--set cannot be applied in the terminal interface: {error}"
        ))
    })?;
    Ok(trip)
}
