//! How far it is from one position to the next on WGS 84.
//!
//! Steps longer than [`LONGEST_SHORT_STEP`] are geodesics by Karney's method (`geo`). Shorter ones, the
//! steps of a recorded track, take a closed formula that costs a tenth of that: the chord between
//! the two points, built from differences so that no digits cancel, then bent to the arc of the
//! ellipsoid's curvature in the direction of the step. Its error falls with at least the square of
//! the step; the tests hold it below 1e-12 of the step.
//!
//! Heights do not lengthen a step: a grade of 10 % would add half a per cent.

use geo::{Distance, Geodesic, InterpolatePoint, Point as GeoPoint};

use super::route::Position;
use crate::quantity::{Degrees, Metres, Share};

/// Equatorial radius of WGS 84 in metres.
const A: f64 = 6_378_137.0;
/// Flattening of WGS 84.
const F: f64 = 1.0 / 298.257_223_563;
/// Square of the first eccentricity.
const E2: f64 = F * (2.0 - F);
/// Steps up to this length take the closed formula.
pub const LONGEST_SHORT_STEP: Metres = Metres::new(1000.0);
/// The closed formula needs meridians that are nearly parallel: at most so many radians between
/// the two, which 1 km exceeds only within 100 km of a pole.
const WIDEST_SHORT_STEP: f64 = 0.01;

/// A position with what the closed formula needs to know of it, so that a walk computes it once.
#[derive(Clone, Copy, Debug)]
pub struct Fix {
    at: Position,
    /// Sine of the latitude, squared.
    sin2: f64,
    /// Radius of curvature along the meridian, m.
    meridian: f64,
    /// Radius of curvature across the meridian, m.
    normal: f64,
    /// Distance from the axis of the Earth, m.
    axis: f64,
}

impl Fix {
    /// The fix at a position.
    #[inline]
    pub fn new(at: Position) -> Self {
        let (sin, cos) = at.lat.get().to_radians().sin_cos();
        let sin2 = sin * sin;
        let w = 1.0 - E2 * sin2;
        let normal = A / w.sqrt();
        Self {
            at,
            sin2,
            meridian: normal * (1.0 - E2) / w,
            normal,
            axis: normal * cos,
        }
    }

    /// The position itself.
    pub fn position(&self) -> Position {
        self.at
    }

    /// The length of the geodesic to another fix, to 1e-12 of it or 15 nm, whichever is more.
    #[inline]
    pub fn distance(&self, to: &Self) -> Metres {
        self.short_distance(to)
            .unwrap_or_else(|| Metres::new(Geodesic.distance(geo_point(self.at), geo_point(to.at))))
    }

    /// The closed formula, where it holds.
    fn short_distance(&self, to: &Self) -> Option<Metres> {
        let chord = self.short_step(to)?;
        (chord <= LONGEST_SHORT_STEP.get()).then_some(Metres::new(chord))
    }

    /// The closed formula for meridians that are nearly parallel, however long the step.
    #[inline]
    fn short_step(&self, to: &Self) -> Option<f64> {
        let turn = longitude_between(self.at.lon, to.at.lon).get().to_radians();
        if turn.abs() > WIDEST_SHORT_STEP {
            return None;
        }
        // Radians of a difference, not a difference of radians: the last digits matter.
        let rise = (to.at.lat.get() - self.at.lat.get()).to_radians();
        // Along the meridian: the integral of the radius of curvature from the radii at both ends,
        // with the second derivative's leading term 3 e² cos 2φ for the curve between them.
        let radius = f64::midpoint(self.meridian, to.meridian);
        let cos_double = 1.0 - (self.sin2 + to.sin2);
        let arc = rise * radius * (1.0 - 0.25 * E2 * cos_double * rise * rise);
        let meridian_chord2 = arc * arc * (1.0 - rise * rise / 12.0);
        // Across it: 2 sin(turn / 2) of the two distances from the axis.
        let turn2 = turn * turn;
        let parallel_chord2 =
            self.axis * to.axis * turn2 * (1.0 - turn2 / 12.0 + turn2 * turn2 / 360.0);
        let chord2 = meridian_chord2 + parallel_chord2;
        if chord2 == 0.0 {
            return Some(0.0);
        }
        // Euler's radius of curvature in the direction of the step bends the chord to the arc.
        let normal = f64::midpoint(self.normal, to.normal);
        let curvature = (meridian_chord2 / radius + parallel_chord2 / normal) / chord2;
        Some(chord2.sqrt() * (1.0 + chord2 * curvature * curvature / 24.0))
    }
}

/// The length of the geodesic between two positions.
pub fn distance(from: Position, to: Position) -> Metres {
    Fix::new(from).distance(&Fix::new(to))
}

/// The position at a share of the way from one position to another along their geodesic.
pub fn between(from: Position, to: Position, share: Share) -> Position {
    let share = share.get();
    let near = longitude_between(from.lon, to.lon).get().abs() < 0.01
        && (to.lat - from.lat).get().abs() < 0.01;
    if near {
        // Within a kilometre or so the straight line in degrees strays by millimetres.
        return Position {
            lat: from.lat + (to.lat - from.lat) * share,
            lon: wrapped(from.lon + longitude_between(from.lon, to.lon) * share),
        };
    }
    let point = Geodesic.point_at_ratio_between(geo_point(from), geo_point(to), share);
    Position {
        lat: Degrees::new(point.y()),
        lon: wrapped(Degrees::new(point.x())),
    }
}

/// Degrees of longitude from one meridian to another the shorter way round, east positive.
pub fn longitude_between(from: Degrees, to: Degrees) -> Degrees {
    let turn = to.get() - from.get();
    Degrees::new(if turn > 180.0 {
        turn - 360.0
    } else if turn < -180.0 {
        turn + 360.0
    } else {
        turn
    })
}

/// A longitude brought into −180…180.
pub fn wrapped(lon: Degrees) -> Degrees {
    let degrees = lon.get();
    if (-180.0..=180.0).contains(&degrees) {
        lon
    } else {
        Degrees::new((degrees + 180.0).rem_euclid(360.0) - 180.0)
    }
}

fn geo_point(at: Position) -> GeoPoint {
    GeoPoint::new(at.lon.get(), at.lat.get())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Degrees;

    fn position(lat: f64, lon: f64) -> Position {
        Position {
            lat: Degrees::new(lat),
            lon: Degrees::new(lon),
        }
    }

    fn vectors(text: &str) -> Vec<[f64; 5]> {
        text.lines()
            .filter(|line| line.starts_with(|c: char| c == '-' || c.is_ascii_digit()))
            .map(|line| {
                let numbers: Vec<f64> = line.split(',').map(|n| n.parse().unwrap()).collect();
                numbers.try_into().unwrap()
            })
            .collect()
    }

    /// Vectors of the crate geographiclib-rs 0.2.7, a part of Karney's geodesic test set.
    #[test]
    fn long_steps_are_karneys_geodesics() {
        let vectors = vectors(include_str!("../../tests/data/geodesics.csv"));
        assert_eq!(vectors.len(), 20);
        for [lat1, lon1, lat2, lon2, metres] in vectors {
            let found = distance(position(lat1, lon1), position(lat2, lon2)).get();
            assert!((found - metres).abs() < 1e-7, "{found} {metres}");
        }
    }

    /// Geodesics of 0.2 m to 1 km, integrated with 40 digits from dφ/ds = cos α / M,
    /// dλ/ds = sin α / (N cos φ), dα/ds = sin α tan φ / N.
    #[test]
    fn short_steps_are_right_to_a_part_in_a_million_million() {
        let vectors = vectors(include_str!("../../tests/data/short-geodesics.csv"));
        assert_eq!(vectors.len(), 10);
        for [lat1, lon1, lat2, lon2, metres] in vectors {
            let (from, to) = (
                Fix::new(position(lat1, lon1)),
                Fix::new(position(lat2, lon2)),
            );
            let found = from.short_distance(&to).expect("short").get();
            assert!((found / metres - 1.0).abs() < 1e-12, "{found} {metres}");
        }
    }

    /// The formula's error falls with at least the square of the step, so 1e-10 at ten times the
    /// longest short step means 1e-12 at the longest. (At 10 km the geodesic itself is sure to 2e-12.)
    #[test]
    fn the_error_of_the_closed_formula_is_bounded_everywhere() {
        let mut worst: f64 = 0.0;
        for lat in [
            -89.0, -80.0, -66.0, -48.0, -30.0, -11.0, 0.0, 7.0, 35.0, 45.0, 61.0, 75.0, 85.0,
        ] {
            for bearing in (0..360).step_by(15) {
                let from = position(lat, -130.4);
                let end = geo::Destination::destination(
                    &Geodesic,
                    geo_point(from),
                    f64::from(bearing),
                    10_000.0,
                );
                let to = position(end.y(), end.x());
                let Some(found) = Fix::new(from).short_step(&Fix::new(to)) else {
                    continue;
                };
                let geodesic = Geodesic.distance(geo_point(from), geo_point(to));
                worst = worst.max((found / geodesic - 1.0).abs());
            }
        }
        assert!(worst > 0.0 && worst < 1e-10, "{worst:e}");
    }

    #[test]
    fn the_date_line_is_no_wall() {
        let step = distance(position(-48.0, 179.999), position(-48.0, -179.999)).get();
        let same = distance(position(-48.0, 10.0), position(-48.0, 10.002)).get();
        assert!((step - same).abs() < 1e-6, "{step} {same}");
        let middle = between(
            position(-48.0, 179.0),
            position(-48.0, -177.0),
            Share::new(0.5),
        );
        assert!((middle.lon.get() + 179.0).abs() < 1e-9);
        assert_eq!(wrapped(Degrees::new(190.0)), Degrees::new(-170.0));
    }
}
