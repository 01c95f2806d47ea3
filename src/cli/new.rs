//! `drystage new`: a small sound trip to begin with.

use super::args::New;
use super::failure::Failure;
use super::{Common, DONE, files};
use crate::model::starter;

/// Writes the trip, with vehicle, load and rules of another where one is named.
pub(crate) fn run(asked: &New, common: &Common) -> Result<u8, Failure> {
    let mut trip = starter::trip();
    if let Some(path) = &asked.vehicle_from {
        trip = trip.with_vehicle_of(&files::read_lender(path)?);
    }
    files::write_trip(&asked.output, &trip, common.force)?;
    Ok(DONE)
}
