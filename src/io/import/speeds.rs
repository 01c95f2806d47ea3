//! What the time stamps of the lines say of the trip's legs: their speeds, and where the vehicle stood.
//!
//! A leg states the mean speed of what was driven between halts, where that can be a vehicle's and covers
//! most of the leg. Nothing is stated of halts: nobody knows whether the engine ran.

use serde_json::{Map, Value};

use super::line::put;
use super::notes::{Notes, counted, listed};
use super::pace::{SLOWEST, Timed};
use crate::present::number::{Toward, Units};
use crate::quantity::{Hours, Kilometres, KilometresPerHour, Metres, Minutes};

/// Faster than this is no small 4x4; also the most that a leg may state.
const FASTEST: KilometresPerHour = KilometresPerHour::new(130.0);
/// Part of a leg's way that the stamps have to tell of.
const COVERED: f64 = 0.5;
/// Nearer to a place than this, a halt is told to be there.
const AT_PLACE: Metres = Metres::new(250.0);

/// Halts that are told one by one.
const MOST_HALTS: usize = 12;

/// What was found of all lines.
#[derive(Default)]
pub(super) struct Speeds {
    /// Legs whose speed is stated.
    stated: Vec<(usize, KilometresPerHour)>,
    /// Legs whose speed cannot be that of a vehicle.
    implausible: Vec<(usize, KilometresPerHour)>,
    halts: Vec<Stood>,
    strayed: Metres,
    backward: usize,
}

/// A halt: how long, and where.
struct Stood {
    minutes: Minutes,
    place: Place,
}

enum Place {
    At(String),
    /// In a leg, so far before its end.
    Before(Metres, usize, String),
}

/// The part of a line that is a leg.
pub(super) struct Part<'a> {
    /// Its ends, along the line.
    pub(super) from: Metres,
    pub(super) to: Metres,
    pub(super) length: Metres,
    /// Number of the leg, and the places between which it lies.
    pub(super) leg: usize,
    pub(super) begins: &'a str,
    pub(super) ends: &'a str,
}

impl Speeds {
    pub(super) fn take_line(&mut self, timed: &Timed) {
        self.strayed += timed.strayed;
        self.backward += timed.backward;
    }

    /// Takes what the stamps say of a leg, and states its speed.
    pub(super) fn take_leg(&mut self, timed: &Timed, part: &Part, stated: &mut Map<String, Value>) {
        let &Part {
            from, to, length, ..
        } = part;
        for halt in timed.halts_between(from, to) {
            let after = Metres::from(halt.km) - from;
            let before = length - after;
            let place = if before <= AT_PLACE {
                Place::At(part.ends.to_owned())
            } else if after <= AT_PLACE {
                Place::At(part.begins.to_owned())
            } else {
                Place::Before(before, part.leg, part.ends.to_owned())
            };
            self.halts.push(Stood {
                minutes: halt.minutes,
                place,
            });
        }
        let driven = timed.driven(from, to);
        let Some(speed) = driven.speed() else { return };
        if driven.way < length * COVERED {
            return;
        }
        let speed = KilometresPerHour::new(speed.get().round());
        if (SLOWEST..=FASTEST).contains(&speed) {
            put(stated, "speed_kmh", speed);
            self.stated.push((part.leg, speed));
        } else {
            self.implausible.push((part.leg, speed));
        }
    }

    /// Tells what was found.
    pub(super) fn tell(self, units: Units, notes: &mut Notes) {
        let legs =
            |legs: &[(usize, KilometresPerHour)]| {
                listed(legs.iter().map(|(leg, speed)| {
                    format!("leg {leg} {}", units.speed(*speed, Toward::Nearest))
                }))
            };
        if !self.stated.is_empty() {
            notes.add(format!(
                "speeds between halts, from the time stamps, stand as `speed_kmh`: {}; take them out where the track was not driven in a vehicle like yours",
                legs(&self.stated)
            ));
        }
        if !self.implausible.is_empty() {
            notes.add(format!(
                "speeds from the time stamps that are not {} to {} are not stated: {}",
                units.speed(SLOWEST, Toward::Nearest).number,
                units.speed(FASTEST, Toward::Nearest),
                legs(&self.implausible)
            ));
        }
        if !self.halts.is_empty() {
            let told: Vec<String> = self
                .halts
                .iter()
                .take(MOST_HALTS)
                .map(|halt| halt.told(units))
                .collect();
            let more = match self.halts.len() - told.len() {
                0 => String::new(),
                more => format!("; and {more} more"),
            };
            notes.add(format!(
                "{} by the time stamps: {}{more} (state `idle_h` where the engine ran)",
                counted(self.halts.len(), "halt", "halts"),
                told.join("; ")
            ));
        }
        if self.strayed >= Metres::new(100.0) {
            notes.add(format!(
                "while it stood the receiver strayed over {}, which are in no leg",
                units.distance(Kilometres::from(self.strayed), Toward::Nearest)
            ));
        }
        if self.backward > 0 {
            notes.add(format!(
                "{} not go forward and {} passed over",
                counted(self.backward, "time stamp does", "time stamps do"),
                if self.backward == 1 { "was" } else { "were" }
            ));
        }
    }
}

impl Stood {
    fn told(&self, units: Units) -> String {
        let minutes = self.minutes.get().round();
        let time = if minutes < 60.0 {
            format!("{minutes} min")
        } else {
            units.time(Hours::new(minutes / 60.0)).to_string()
        };
        match &self.place {
            Place::At(place) => format!("{time} at `{place}`"),
            Place::Before(way, leg, place) => {
                let way = units.distance(Kilometres::from(*way), Toward::Nearest);
                format!("{time} in leg {leg}, {way} before `{place}`")
            }
        }
    }
}
