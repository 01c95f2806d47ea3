//! How far it is from one position to the next on WGS 84: geodesics by Karney's method (`geo`), right to 15 nm (Karney,
//! Algorithms for geodesics, 2013).
//!
//! Heights do not lengthen a step: a grade of 10 % would add half a per cent.

use geo::{Bearing, Distance, Geodesic, InterpolatePoint, Point as GeoPoint};

use super::route::Position;
use crate::quantity::{Degrees, Metres, Share};

/// The length of the geodesic between two positions.
pub fn distance(from: Position, to: Position) -> Metres {
    Metres::new(Geodesic.distance(geo_point(from), geo_point(to)))
}

/// The direction in which the geodesic from one position to another begins, clockwise from north; `None` if they are
/// one.
pub fn bearing(from: Position, to: Position) -> Option<Degrees> {
    let bearing = Geodesic.bearing(geo_point(from), geo_point(to));
    (from != to).then_some(Degrees::new(bearing))
}

/// The position at a share of the way from one position to another along their geodesic.
pub fn between(from: Position, to: Position, share: Share) -> Position {
    let point = Geodesic.point_at_ratio_between(geo_point(from), geo_point(to), share.get());
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
    fn steps_are_karneys_geodesics() {
        let vectors = vectors(include_str!("../../../tests/data/geodesics.csv"));
        assert_eq!(vectors.len(), 20);
        for [lat1, lon1, lat2, lon2, metres] in vectors {
            let found = distance(position(lat1, lon1), position(lat2, lon2)).get();
            assert!((found - metres).abs() < 1e-7, "{found} {metres}");
        }
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
