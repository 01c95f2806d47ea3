//! The map, made ready to be drawn again and again: made once for a plan, when it is first looked at.
//!
//! The points of each leg are thinned by Ramer, Douglas and Peucker's rule (`geo`) to what can be told apart on the
//! largest screen.

use geo::{Coord, LineString, Simplify};

use crate::present::map::{Map, Spot};
use crate::present::mark::MarkKind;
use crate::present::strip::{Strip, Supply};
use crate::quantity::{Metres, Share};

/// Spots simplified at a time.
const CHUNK: usize = 1_000;

/// Points nearer to the line than this part of the larger side are not drawn: less than a dot of braille at 300
/// columns.
const FINEST: f64 = 1.0 / 1200.0;

/// A plan's map, owned.
#[derive(Debug)]
pub struct Chart {
    /// From the western to the eastern edge.
    pub(crate) width: Metres,
    /// From the southern to the northern edge.
    pub(crate) height: Metres,
    /// The lines of each leg whose way is known, in driving order: its number, from 1, and its points.
    pub(crate) legs: Vec<(usize, Vec<Spot>)>,
    /// Number, supply and position of each place whose position is known.
    pub(crate) places: Vec<(usize, Supply, Spot)>,
    /// The marks.
    pub(crate) marks: Vec<(MarkKind, Spot)>,
    /// How many legs have no line, and how many only a straight one.
    pub(crate) unknown: usize,
    /// See `unknown`.
    pub(crate) straight: usize,
}

impl Chart {
    /// The map of a strip; nothing where too few positions are known.
    pub(crate) fn of(strip: &Strip) -> Option<Self> {
        let map = Map::of(strip)?;
        let finest = map.width.max(map.height) * FINEST;
        let mut known = vec![None; strip.plan().legs.len()];
        for line in &map.lines {
            known[line.leg - 1] = Some(line.is_track);
        }
        Some(Self {
            width: map.width,
            height: map.height,
            places: map
                .places
                .iter()
                .map(|(spot, place)| (place.place_number, place.supply, *spot))
                .collect(),
            marks: map
                .marks
                .iter()
                .map(|(spot, mark)| (mark.kind, *spot))
                .collect(),
            unknown: known.iter().filter(|leg| leg.is_none()).count(),
            straight: known.iter().filter(|leg| **leg == Some(false)).count(),
            legs: map
                .lines
                .into_iter()
                .map(|line| (line.leg, simplified(&line.spots, finest)))
                .collect(),
        })
    }

    /// The places from number `place_number` on, as far as their positions are known, `count` numbers in all.
    pub(crate) fn places_from(
        &self,
        place_number: usize,
        count: usize,
    ) -> &[(usize, Supply, Spot)] {
        let first = self
            .places
            .partition_point(|(other, ..)| *other < place_number);
        let last = self
            .places
            .partition_point(|(other, ..)| *other < place_number + count);
        &self.places[first..last]
    }

    /// The lines of a leg.
    pub(crate) fn lines_of(&self, leg: usize) -> &[(usize, Vec<Spot>)] {
        let first = self.legs.partition_point(|(other, _)| *other < leg);
        let last = self.legs.partition_point(|(other, _)| *other <= leg);
        &self.legs[first..last]
    }

    /// The point of a leg at a part of its length.
    pub(crate) fn point_of(&self, leg: usize, part: Share) -> Option<Spot> {
        let lines = self.lines_of(leg);
        let pairs = || lines.iter().flat_map(|(_, spots)| spots.windows(2));
        let length = |pair: &[Spot]| {
            let (east, north) = (pair[1].east - pair[0].east, pair[1].north - pair[0].north);
            east.get().hypot(north.get())
        };
        let mut left = part.get().clamp(0.0, 1.0) * pairs().map(length).sum::<f64>();
        for pair in pairs() {
            let here = length(pair);
            if left <= here && here > 0.0 {
                let part = left / here;
                return Some(Spot {
                    east: pair[0].east + (pair[1].east - pair[0].east) * part,
                    north: pair[0].north + (pair[1].north - pair[0].north) * part,
                });
            }
            left -= here;
        }
        lines.last()?.1.last().copied()
    }
}

/// The spots that show, chunk by chunk: a line made to be hard would else take a call within a call for each spot.
fn simplified(spots: &[Spot], finest: Metres) -> Vec<Spot> {
    let Some(&first) = spots.first() else {
        return Vec::new();
    };
    let mut kept = vec![first];
    let mut from = 0;
    while from + 1 < spots.len() {
        let to = spots.len().min(from + CHUNK);
        let line: LineString = spots[from..to]
            .iter()
            .map(|spot| Coord {
                x: spot.east.get(),
                y: spot.north.get(),
            })
            .collect();
        let shown = line.simplify(finest.get()).into_iter().skip(1);
        kept.extend(shown.map(|at| Spot {
            east: Metres::new(at.x),
            north: Metres::new(at.y),
        }));
        from = to - 1;
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ever wider to and fro: each spot is the one farthest from the line between the ends of what is left, so that a
    /// recursion goes as deep as there are spots. Nothing that shows is lost.
    #[test]
    fn a_line_made_to_be_hard_is_simplified() {
        let spots: Vec<Spot> = (0..200_000_u32)
            .map(|n| Spot {
                east: Metres::new(f64::from(n)),
                north: Metres::new(f64::from(n) * if n % 2 == 0 { 100.0 } else { -100.0 }),
            })
            .collect();
        assert_eq!(simplified(&spots, Metres::new(1.0)).len(), spots.len());
        let straight = |n: u32| Spot {
            east: Metres::new(f64::from(n)),
            north: Metres::ZERO,
        };
        let straight: Vec<Spot> = (0..2_500).map(straight).collect();
        assert_eq!(simplified(&straight, Metres::new(1.0)).len(), 4);
        assert!(simplified(&[], Metres::new(1.0)).is_empty());
    }
}
