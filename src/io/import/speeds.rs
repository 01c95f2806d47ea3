//! What is known of the trip's legs from the time stamps of the lines: speeds, and where the vehicle halted.
//!
//! A leg states the mean speed of what was driven between halts, where that can be a vehicle's and covers
//! most of the leg. Nothing is stated of halts: nobody knows whether the engine ran.

use super::notes::{Notes, counted};
use super::pace::{SLOWEST, Timed};
use crate::model::route::Leg;
use crate::present::number::{Toward, Units};
use crate::quantity::{Hours, Kilometres, KilometresPerHour, Metres};

/// Faster than this is no small 4x4; also the most that a leg may state.
const FASTEST: KilometresPerHour = KilometresPerHour::new(130.0);
/// Part of a leg's way that the stamps have to cover.
const COVERED: f64 = 0.5;
/// Nearer to a place than this, a halt is reported to be there.
const AT_PLACE: Metres = Metres::new(250.0);

/// Halts that are reported one by one.
const MOST_HALTS: usize = 12;

/// What was found of all lines, in the form that is printed.
#[derive(Default)]
pub(super) struct Speeds {
    /// Legs whose speed is stated.
    stated: Vec<String>,
    /// Legs whose speed cannot be that of a vehicle.
    implausible: Vec<String>,
    halts: Vec<String>,
    strayed: Metres,
    backward: usize,
}

/// The part of a line that is a leg.
pub(super) struct LegSpan<'a> {
    /// Its ends, along the line.
    pub(super) from: Metres,
    pub(super) to: Metres,
    pub(super) length: Metres,
    /// Number of the leg, and the places between which it is.
    pub(super) leg: usize,
    pub(super) begins: &'a str,
    pub(super) ends: &'a str,
}

impl Speeds {
    pub(super) fn take_line(&mut self, timed: &Timed) {
        self.strayed += timed.strayed;
        self.backward += timed.backward;
    }

    /// Takes what is known of a leg from the stamps, and states its speed.
    pub(super) fn take_leg(&mut self, timed: &Timed, part: &LegSpan, leg: &mut Leg, units: Units) {
        let &LegSpan {
            from, to, length, ..
        } = part;
        for halt in timed.halts_between(from, to) {
            let after = Metres::from(halt.km) - from;
            let before = length - after;
            let place = if before <= AT_PLACE {
                format!("at `{}`", part.ends)
            } else if after <= AT_PLACE {
                format!("at `{}`", part.begins)
            } else {
                let before = units.distance(Kilometres::from(before), Toward::Nearest);
                format!("in leg {}, {before} before `{}`", part.leg, part.ends)
            };
            let minutes = halt.minutes.get().round();
            self.halts.push(if minutes < 60.0 {
                format!("{minutes} min {place}")
            } else {
                format!("{} {place}", units.time(Hours::new(minutes / 60.0)))
            });
        }
        let driven = timed.driven(from, to);
        let Some(speed) = driven.speed().filter(|_| driven.way >= length * COVERED) else {
            return;
        };
        let speed = KilometresPerHour::new(speed.get().round());
        let noted = format!("leg {} {}", part.leg, units.speed(speed, Toward::Nearest));
        if (SLOWEST..=FASTEST).contains(&speed) {
            leg.speed_kmh = Some(speed);
            self.stated.push(noted);
        } else {
            self.implausible.push(noted);
        }
    }

    /// Adds what was found to the notes.
    pub(super) fn add_notes(self, units: Units, notes: &mut Notes) {
        notes.add_of(&self.stated, |_, legs| format!(
            "Speeds were set from the time stamps, without halts: {legs}. Remove `speed_kmh` if the track was not driven in a vehicle like yours"
        ));
        notes.add_of(&self.implausible, |_, legs| {
            format!(
                "Speeds from the time stamps outside {} to {} were ignored: {legs}",
                units.speed(SLOWEST, Toward::Nearest).number,
                units.speed(FASTEST, Toward::Nearest),
            )
        });
        if !self.halts.is_empty() {
            let listed = &self.halts[..self.halts.len().min(MOST_HALTS)];
            let more = match self.halts.len() - listed.len() {
                0 => String::new(),
                more => format!("; and {more} more"),
            };
            notes.add(format!(
                "{} in the time stamps: {}{more}. Set `idle_h` where the engine was running",
                counted(self.halts.len(), "halt", "halts"),
                listed.join("; ")
            ));
        }
        if self.strayed >= Metres::new(100.0) {
            notes.add(format!(
                "{} of GPS drift while parked were ignored",
                units.distance(Kilometres::from(self.strayed), Toward::Nearest)
            ));
        }
        if self.backward > 0 {
            notes.add(format!(
                "{} backwards in time and {} ignored",
                counted(self.backward, "time stamp goes", "time stamps go"),
                if self.backward == 1 { "was" } else { "were" }
            ));
        }
    }
}
