//! Shares of simulated trips, and how far two of them may be apart.

use super::draws::{Draw, Spreads};
use super::drive::{Course, Driven, Ending, drive};

/// Many trips of one plan, driven in one manner.
pub struct Shares {
    pub trips: Vec<Driven>,
}

/// A share of trips with its standard error.
#[derive(Clone, Copy, Debug)]
pub struct Share {
    pub share: f64,
    pub se: f64,
}

impl Share {
    /// So many of all; never counts as once more, so that no share has an error of 0.
    pub fn of(count: usize, all: usize) -> Self {
        let (count, all) = (count as f64, all as f64);
        let careful = (count + 1.0) / (all + 2.0);
        Self {
            share: count / all,
            se: (careful * (1.0 - careful) / (all + 2.0)).sqrt(),
        }
    }
}

impl Shares {
    /// Drives `count` trips of a series of draws.
    pub fn new(course: &Course<'_>, spreads: &Spreads, series: u64, count: u64) -> Self {
        let trips = (0..count).map(|number| {
            let draw = Draw::new(course.ground, spreads, series, number);
            drive(course, &draw)
        });
        Self {
            trips: trips.collect(),
        }
    }

    pub fn of(&self, ending: Ending) -> Share {
        self.that(|trip| trip.ending == ending)
    }

    pub fn that(&self, is: impl Fn(&Driven) -> bool) -> Share {
        let count = self.trips.iter().filter(|trip| is(trip)).count();
        Share::of(count, self.trips.len())
    }
}
