//! Fill-ups as they were written down, and the ways from brim to brim that they make.
//!
//! Between two fills to the brim the litres are known for sure: all that was put in after the first, the second
//! included. Partial fills in between are added; a way on which the odometer goes back, or does not move, is left out.

use jiff::civil::Date;
use serde::Deserialize;

use super::route;
use super::vocabulary::{RoofShape, Surface};
use crate::quantity::{Hours, Kilograms, Kilometres, Litres, Share};

/// One fill, and the way since the fill before.
#[derive(Clone, Debug, PartialEq)]
pub struct Fill {
    /// Line of the file of the entry, from 1.
    pub row: u64,
    /// The day; `None` if none is stated.
    pub date: Option<Date>,
    /// What the odometer showed.
    pub odometer: Kilometres,
    /// Litres that were filled.
    pub litres: Litres,
    /// Whether the tank was full then.
    pub to_brim: bool,
    /// The way since the fill before.
    pub conditions: Conditions,
}

/// The conditions of the way to a fill, from a log of fill-ups.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(default)]
pub struct Conditions {
    /// Surface of the distance.
    pub surface: Surface,
    /// Share of it in soft sand.
    #[serde(rename = "sand_share")]
    pub sand: Share,
    /// Share of it in low range.
    #[serde(rename = "low_range_share")]
    pub low_range: Share,
    /// Mass over that of the baseline conditions.
    #[serde(rename = "load_kg")]
    pub load: Kilograms,
    /// Type of the roof load, by its drag.
    pub roof: RoofShape,
    /// Time at rest with the engine running.
    #[serde(rename = "idle_h")]
    pub idle: Hours,
}

impl Default for Conditions {
    fn default() -> Self {
        Self {
            surface: route::SURFACE,
            sand: Share::ZERO,
            low_range: Share::ZERO,
            load: Kilograms::ZERO,
            roof: RoofShape::None,
            idle: Hours::ZERO,
        }
    }
}

/// A way from one full tank to the next.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Interval {
    /// Row of the fill that ends it.
    pub(crate) row: u64,
    /// Its parts, one for each fill, with their length as the odometer shows it.
    pub(crate) parts: Vec<(Kilometres, Conditions)>,
    /// All that was put in on it.
    pub(crate) litres: Litres,
    /// The most that was put in at once.
    pub(crate) most_at_once: Litres,
    /// The days of the fills at its two ends.
    pub(crate) dates: [Option<Date>; 2],
}

impl Interval {
    /// Its length as the odometer shows it.
    pub(crate) fn shown(&self) -> Kilometres {
        self.parts.iter().map(|(shown, _)| *shown).sum()
    }
}

/// A way from which nothing can be calculated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Broken {
    /// Row of the fill that ends it.
    pub(crate) row: u64,
    pub(crate) why: Break,
}

/// Why nothing can be calculated from a way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Break {
    /// The odometer showed less than before: it was reset or replaced, or a reading is wrong.
    WentBack {
        /// Odometer at the fill before.
        from: Kilometres,
        /// Odometer at this fill.
        to: Kilometres,
    },
    /// The odometer showed the same as before.
    StoodStill,
}

/// The ways from brim to brim, in the order of the fills. What was put in before the first full tank, and after the
/// last, is in none.
pub(crate) fn intervals(fills: &[Fill]) -> (Vec<Interval>, Vec<Broken>) {
    let (mut intervals, mut broken) = (Vec::new(), Vec::new());
    let mut open: Option<Interval> = None;
    let mut failed: Option<Break> = None;
    let mut last: Option<Kilometres> = None;
    for fill in fills {
        if let (Some(open), Some(last)) = (&mut open, last) {
            if fill.odometer < last {
                failed = Some(Break::WentBack {
                    from: last,
                    to: fill.odometer,
                });
            }
            open.parts.push((fill.odometer - last, fill.conditions));
            open.litres += fill.litres;
            open.most_at_once = open.most_at_once.max(fill.litres);
        }
        if fill.to_brim {
            let row = fill.row;
            let next = Interval {
                row,
                parts: Vec::new(),
                litres: Litres::ZERO,
                most_at_once: Litres::ZERO,
                dates: [fill.date, None],
            };
            if let Some(mut interval) = open.replace(next) {
                interval.dates[1] = fill.date;
                match failed.take() {
                    Some(why) => broken.push(Broken { row, why }),
                    None if interval.shown() <= Kilometres::ZERO => broken.push(Broken {
                        row,
                        why: Break::StoodStill,
                    }),
                    None => intervals.push(Interval { row, ..interval }),
                }
            }
        }
        last = Some(fill.odometer);
    }
    (intervals, broken)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fill(row: u64, odometer: f64, litres: f64, to_brim: bool) -> Fill {
        Fill {
            row,
            date: None,
            odometer: Kilometres::new(odometer),
            litres: Litres::new(litres),
            to_brim,
            conditions: Conditions::default(),
        }
    }

    #[test]
    fn partial_fills_are_added_to_the_next_full_one() {
        let (intervals, broken) = intervals(&[
            fill(2, 900.0, 31.0, false),
            fill(3, 1000.0, 20.0, true),
            fill(4, 1200.0, 15.0, false),
            fill(5, 1500.0, 36.0, true),
            fill(6, 1600.0, 9.0, false),
        ]);
        let [interval] = &intervals[..] else {
            panic!("{intervals:?}");
        };
        assert!(broken.is_empty());
        assert_eq!((interval.row, interval.litres), (5, Litres::new(51.0)));
        assert_eq!(interval.shown(), Kilometres::new(500.0));
        assert_eq!(interval.parts.len(), 2);
        assert_eq!(interval.most_at_once, Litres::new(36.0));
    }

    #[test]
    fn a_reset_takes_only_the_way_on_which_it_happened() {
        let (intervals, broken) = intervals(&[
            fill(2, 1000.0, 20.0, true),
            fill(3, 1400.0, 40.0, true),
            fill(4, 120.0, 30.0, true),
            fill(5, 120.0, 1.0, true),
            fill(6, 500.0, 38.0, true),
        ]);
        let rows: Vec<u64> = intervals.iter().map(|interval| interval.row).collect();
        assert_eq!(rows, [3, 6]);
        let (from, to) = (Kilometres::new(1400.0), Kilometres::new(120.0));
        assert_eq!(
            broken,
            [
                Broken {
                    row: 4,
                    why: Break::WentBack { from, to }
                },
                Broken {
                    row: 5,
                    why: Break::StoodStill
                },
            ]
        );
    }
}
