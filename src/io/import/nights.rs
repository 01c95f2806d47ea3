//! Days of the trip, from time stamps: a halt of [`NIGHT`] or longer ends one.
//!
//! Where such a halt lies between places, a place is made there, since a day begins with a leg. Days are stated
//! only where every line has stamps, in the order in which the lines are driven.

use super::pace::Halt;
use super::ways::Way;
use crate::quantity::{Hours, Metres, Minutes};

/// Shortest halt that is a night. Common practice, no source: a long walk from the vehicle is shorter.
pub(super) const NIGHT: Hours = Hours::new(6.0);

/// Whether a halt is a night.
pub(super) fn is_night(halt: &Halt) -> bool {
    halt.minutes >= Minutes::from(NIGHT)
}

/// For each way the day on which it begins, from 1, and all nights on it, by their distance along it; nothing
/// where stamps are missing, go back from a way to the next, or tell of no night.
pub(super) fn days(ways: &[Way]) -> Option<Vec<(u32, Vec<Metres>)>> {
    let mut day = 1;
    let mut found = Vec::with_capacity(ways.len());
    let mut last = None;
    for way in ways {
        let (begins, ends) = way.span()?;
        if let Some(before) = last.replace(ends) {
            let rest = begins.since(before);
            if rest < Hours::ZERO {
                return None;
            }
            day += u32::from(rest >= NIGHT);
        }
        let halts = way.timed.as_ref()?.halts.iter();
        let nights = halts.filter(|halt| is_night(halt));
        let nights: Vec<Metres> = nights.map(|halt| Metres::from(halt.km)).collect();
        let first = day;
        day += u32::try_from(nights.len()).ok()?;
        found.push((first, nights));
    }
    (day > 1).then_some(found)
}
