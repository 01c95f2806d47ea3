//! What is near a track, found by cells: a position is near if its cell or one beside it holds a part of the track.

use std::collections::HashSet;

use crate::model::geodesic::{self, wrapped};
use crate::model::route::Position;
use crate::model::track::Point;
use crate::quantity::{Degrees, Kilometres, Metres, Share};
use crate::roads::network::METRES_PER_DEGREE;

/// Ways are looked for at least this far from the track.
const NEAR: Metres = Metres::new(300.0);
/// Cells of a track; a track of 30,000 km has fewer.
const MOST_CELLS: usize = 3_000_000;

/// What is near the lines of a track.
pub struct Corridor {
    near: Cells,
    detour: Cells,
    south: f64,
    north: f64,
}

struct Cells {
    /// Height of a cell in degrees.
    step: f64,
    cells: HashSet<u64>,
}

impl Corridor {
    /// The corridor of some lines, with fuel stops up to a distance from it.
    pub fn new<'a>(
        lines: impl IntoIterator<Item = &'a [Point]>,
        detour_within: Kilometres,
    ) -> Self {
        let detour = Metres::from(detour_within).max(NEAR);
        let mut corridor = Self {
            near: Cells::new(NEAR),
            detour: Cells::new(detour),
            south: 90.0,
            north: -90.0,
        };
        for line in lines {
            corridor.near.take(line, NEAR);
            corridor.detour.take(line, detour);
            for point in line {
                corridor.south = corridor.south.min(point.lat.get());
                corridor.north = corridor.north.max(point.lat.get());
            }
        }
        let margin = 2.0 * detour.get() / METRES_PER_DEGREE;
        corridor.south -= margin;
        corridor.north += margin;
        corridor
    }

    /// Whether a position is so far north or south that nothing else needs to be looked at.
    pub(super) fn may_meet(&self, at: Position) -> bool {
        (self.south..=self.north).contains(&at.lat.get())
    }

    pub(super) fn is_near(&self, at: Position) -> bool {
        self.near.has(at)
    }

    pub(super) fn is_in_detour(&self, at: Position) -> bool {
        self.detour.has(at)
    }
}

impl Cells {
    fn new(size: Metres) -> Self {
        Self {
            step: size.get() / METRES_PER_DEGREE,
            cells: HashSet::new(),
        }
    }

    fn has(&self, at: Position) -> bool {
        self.cells.contains(&self.cell(at))
    }

    /// Rows of equal height; a row is divided so that its cells are as wide as they are high.
    fn cell(&self, at: Position) -> u64 {
        let row = ((at.lat.get() + 90.0) / self.step).floor();
        let middle = (row + 0.5) * self.step - 90.0;
        let width = self.step / middle.to_radians().cos().abs().max(1e-3);
        let column = ((at.lon.get() + 180.0) / width).floor();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "both are below 2^31: a cell is 300 m or larger"
        )]
        let cell = (row.max(0.0) as u64) << 32 | column.max(0.0) as u64;
        cell
    }

    /// Takes the cells of a line and those around them.
    fn take(&mut self, line: &[Point], size: Metres) {
        if let Some(first) = line.first() {
            self.take_around(first.position(), size);
        }
        for pair in line.windows(2) {
            let (from, to) = (pair[0].position(), pair[1].position());
            let parts = (geodesic::distance(from, to) / (size * 0.5))
                .ceil()
                .max(1.0);
            let mut part = 1.0;
            while part <= parts && self.cells.len() < MOST_CELLS {
                let at = if part < parts {
                    geodesic::between(from, to, Share::new(part / parts))
                } else {
                    to
                };
                self.take_around(at, size);
                part += 1.0;
            }
        }
    }

    fn take_around(&mut self, at: Position, size: Metres) {
        let north = size.get() / METRES_PER_DEGREE;
        let east = north / at.lat.get().to_radians().cos().abs().max(1e-3);
        for up in [-1.0, 0.0, 1.0] {
            for right in [-1.0, 0.0, 1.0] {
                let lat = (at.lat.get() + up * north).clamp(-90.0, 90.0);
                let lon = wrapped(at.lon + Degrees::new(right * east));
                self.cells.insert(self.cell(Position {
                    lat: Degrees::new(lat),
                    lon,
                }));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(lat: f64, lon: f64) -> Point {
        Point {
            lat: Degrees::new(lat),
            lon: Degrees::new(lon),
            height: None,
        }
    }

    /// Whatever is within 300 m is found, also over the date line and between far points, and nothing beyond a kilometre.
    #[test]
    fn near_is_near() {
        for (from, to) in [
            (point(-48.0, -130.0), point(-48.3, -129.6)),
            (point(10.0, 179.9), point(10.1, -179.9)),
            (point(69.0, 20.0), point(69.0, 20.5)),
        ] {
            let line = [from, to];
            let corridor = Corridor::new([line.as_slice()], Kilometres::new(5.0));
            for n in 0..200 {
                let share = Share::new(f64::from(n) / 199.0);
                let at = geodesic::between(from.position(), to.position(), share);
                for (off, expected) in [(0.0, true), (295.0, true), (-295.0, true), (1100.0, false)]
                {
                    // Across the line: it leads mostly east or north-east, so to the south-east of it.
                    let bearing = geodesic::bearing(at, to.position()).unwrap_or(Degrees::new(0.0));
                    let across = (bearing.get() + 90.0).to_radians();
                    let north = off * across.cos() / 111_000.0;
                    let east = off * across.sin() / (111_000.0 * at.lat.get().to_radians().cos());
                    let there = Position {
                        lat: at.lat + Degrees::new(north),
                        lon: wrapped(at.lon + Degrees::new(east)),
                    };
                    assert_eq!(corridor.is_near(there), expected, "{there:?} {off}");
                    assert!(corridor.is_in_detour(there) && corridor.may_meet(there));
                }
            }
        }
    }
}
