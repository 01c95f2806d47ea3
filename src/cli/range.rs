//! `drystage range`: how far the vehicle goes, from vehicle, load and rules alone.

use super::args::{Format, Range};
use super::failure::Failure;
use super::{Common, DONE, files, set, units};
use crate::plan::Effort;
use crate::plan::range::Ranges;
use crate::report::{json, range};

/// Prints the ranges of a trip, which may have no legs.
pub(crate) fn run(asked: &Range, common: &Common) -> Result<u8, Failure> {
    let trip = files::read_with_or_without_legs(&asked.trip)?;
    let trip = set::with_changes(trip, &asked.changes, common)?;
    let ranges = Ranges::of(&trip, Effort::refined().threads);
    files::print(&match asked.format {
        Format::Text => range::report(&trip, &ranges, units(&trip, common)),
        Format::Json => json::range(&trip, &ranges),
    })?;
    Ok(DONE)
}
