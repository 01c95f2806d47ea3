//! `--set POINTER=VALUE`: single values changed before planning.

use super::args::Setting;
use super::failure::Failure;
use crate::model::Trip;
use crate::model::what_if::SetError;

/// The trip with every setting applied, in order.
pub fn with_settings(trip: Trip, settings: &[Setting]) -> Result<Trip, Failure> {
    if settings.is_empty() {
        return Ok(trip);
    }
    let values = settings
        .iter()
        .map(|Setting { pointer, value }| (pointer.as_str(), value.clone()));
    trip.with_values(values).map_err(|error| match error {
        SetError::Unsound(problems) => Failure::Unusable {
            file: "the trip with --set".to_owned(),
            problems,
        },
        nowhere @ SetError::Pointer { .. } => Failure::Wrong(nowhere.to_string()),
    })
}
