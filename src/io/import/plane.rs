//! A plane that touches the Earth at a point, for what is near it.

use crate::model::geodesic::longitude_between;
use crate::model::route::Position;
use crate::model::track::Point;
use crate::quantity::Metres;

/// Metres in a degree of latitude, on a sphere; wrong by at most 0.6 %, and so is what follows from it.
pub(super) const METRES_PER_DEGREE: f64 = 111_194.93;

#[derive(Clone, Copy)]
pub(super) struct Plane {
    origin: Position,
    /// Metres in a degree of longitude.
    east: f64,
}

impl Plane {
    /// The plane at a position.
    pub(super) fn at(origin: Position) -> Self {
        Self {
            origin,
            east: METRES_PER_DEGREE * origin.lat.get().to_radians().cos(),
        }
    }

    /// Metres east and north of the origin.
    pub(super) fn project(&self, point: &Point) -> (f64, f64) {
        (
            longitude_between(self.origin.lon, point.lon).get() * self.east,
            (point.lat - self.origin.lat).get() * METRES_PER_DEGREE,
        )
    }

    /// How far a point is from the origin.
    pub(super) fn off(&self, point: &Point) -> Metres {
        let (x, y) = self.project(point);
        Metres::new(x.hypot(y))
    }
}
