//! The trip: the document that is saved.

use std::collections::HashMap;
use std::sync::LazyLock;

use serde_json::Value;

use super::load::Load;
use super::log::Reading;
use super::route::{FIRST_DAY, Leg, Place, Start};
use super::rules::Rules;
use super::track::Track;
use super::vehicle::Vehicle;
use super::what_if::WhatIf;

/// The version of the format that this program reads and writes.
pub const FORMAT_VERSION: u32 = 1;

stated! {
    /// A trip as it was stated: vehicle, load, rules, route, what-ifs, and the log of the way.
    pub struct Trip {
        pub drystage: u32,
        pub name: Option<String>,
        pub notice: Option<String>,
        pub vehicle: Vehicle,
        pub load: Option<Load>,
        pub rules: Option<Rules>,
        pub start: Start,
        pub legs: Vec<Leg>,
        pub what_ifs: Option<Vec<WhatIf>>,
        pub log: Option<Vec<Reading>>,
    }
}

impl Trip {
    /// The load; default nothing.
    pub fn load(&self) -> &Load {
        static NOTHING: LazyLock<Load> = LazyLock::new(Load::default);
        self.load.as_ref().unwrap_or(&NOTHING)
    }

    /// The rules; default those documented for each field.
    pub fn rules(&self) -> &Rules {
        static DEFAULTS: LazyLock<Rules> = LazyLock::new(Rules::default);
        self.rules.as_ref().unwrap_or(&DEFAULTS)
    }

    /// The what-ifs that are kept with the trip.
    pub fn what_ifs(&self) -> &[WhatIf] {
        self.what_ifs.as_deref().unwrap_or_default()
    }

    /// The readings taken on the route.
    pub fn log(&self) -> &[Reading] {
        self.log.as_deref().unwrap_or_default()
    }

    /// Place number `place_number`, where 0 is the start and `legs.len()` the finish.
    ///
    /// # Panics
    /// When there is no such place.
    pub fn place(&self, place_number: usize) -> Place<'_> {
        match place_number.checked_sub(1) {
            None => Place::from(&self.start),
            Some(leg) => Place::end_of(&self.legs[leg], leg),
        }
    }

    /// All places in driving order, one more than there are legs.
    #[expect(
        clippy::range_plus_one,
        reason = "an inclusive range does not know its length"
    )]
    pub fn places(&self) -> impl ExactSizeIterator<Item = Place<'_>> {
        (0..self.legs.len() + 1).map(|place_number| self.place(place_number))
    }

    /// The trip with vehicle, load and rules of another one.
    #[must_use]
    pub fn with_vehicle_of(self, other: &Self) -> Self {
        Self {
            vehicle: other.vehicle.clone(),
            load: other.load.clone(),
            rules: other.rules.clone(),
            ..self
        }
    }

    /// The day of each leg; a leg that states none belongs to the day of the leg before, the first to day 1.
    pub fn days(&self) -> Vec<u32> {
        self.legs
            .iter()
            .scan(FIRST_DAY, |day, leg| {
                *day = leg.day.unwrap_or(*day);
                Some(*day)
            })
            .collect()
    }

    /// The trip as a JSON document.
    ///
    /// # Panics
    /// Never: a trip has text keys and finite numbers only.
    pub fn to_document(&self) -> Value {
        serde_json::to_value(self).expect("text keys and finite numbers")
    }
}

/// Gives legs that came out of a document, which holds only the paths of track files, what was read of those files for
/// others.
pub(super) fn keep_read_tracks(legs: &mut [Leg], others: &[Leg]) {
    let read: HashMap<&str, _> = others
        .iter()
        .filter_map(|leg| match &leg.track {
            Some(Track::File {
                path,
                lines: Some(lines),
            }) => Some((path.as_str(), lines)),
            _ => None,
        })
        .collect();
    for leg in legs {
        if let Some(Track::File { path, lines }) = &mut leg.track {
            *lines = read.get(path.as_str()).map(|&lines| lines.clone());
        }
    }
}
