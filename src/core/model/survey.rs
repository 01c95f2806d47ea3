//! What follows from the points of a track: length, climb, mean altitude and grades, extent.
//!
//! A `Survey` takes points one by one and keeps none, so a track of any length can be measured.
//! Lengths are geodesic on WGS 84 and level: heights count as climb, never as way.

use serde::Serialize;

use super::climb::{Climb, Climbed};
use super::geodesic::{distance, longitude_between};
use super::track::Point;
use crate::quantity::{Degrees, Grade, Metres};

/// What was measured along a track.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Profile {
    /// Points, both ends included.
    pub points: usize,
    /// Length along the points, on the ellipsoid.
    pub length: Metres,
    /// Climb and descent, where any height is known.
    pub climbed: Option<Climbed>,
    /// Mean of the height over the way, where any height is known.
    pub mean_altitude: Option<Metres>,
    /// The extent, where there is a point.
    pub extent: Option<Extent>,
}

/// West, south, east and north ends; west is the larger number when the date line lies between.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Extent(pub Degrees, pub Degrees, pub Degrees, pub Degrees);

/// Measures a track point by point.
#[derive(Clone, Debug)]
pub struct Survey {
    last: Option<Point>,
    along: Metres,
    climb: Climb,
    stage: Stage,
}

/// Sums since the survey was last cut.
#[derive(Clone, Copy, Debug, Default)]
struct Stage {
    points: usize,
    length: Metres,
    /// Way between known heights, and the same times the mean of the two, in m and m².
    known_way: f64,
    height_times_way: f64,
    /// Sum and number of known heights, for a stage of no length.
    heights: f64,
    known: usize,
    spread: Option<Spread>,
}

/// Ends so far. Which is farther east is reported by longitudes that count on past ±180 from the first
/// point; beside each is the longitude as it was given, to the last digit.
#[derive(Clone, Copy, Debug)]
struct Spread {
    west: (f64, Degrees),
    east: (f64, Degrees),
    south: Degrees,
    north: Degrees,
    /// Longitude of the last point, counted on past ±180, and as it was given.
    last: (f64, Degrees),
}

impl Profile {
    /// This and another line taken together, as one way with a gap in it.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        let length = self.length + other.length;
        let weighed = |a: Metres, b: Metres| {
            if length > Metres::ZERO {
                a * (self.length / length) + b * (other.length / length)
            } else {
                (a + b) / 2.0
            }
        };
        Self {
            points: self.points + other.points,
            length,
            climbed: match (self.climbed, other.climbed) {
                (Some(a), Some(b)) => Some(a.and(b)),
                (a, b) => a.or(b),
            },
            mean_altitude: match (self.mean_altitude, other.mean_altitude) {
                (Some(a), Some(b)) => Some(weighed(a, b)),
                (a, b) => a.or(b),
            },
            extent: None,
        }
    }

    /// Measures `points` as one unbroken run.
    pub fn from_points(points: &[Point], climb_threshold: Metres) -> Self {
        let mut survey = Survey::new(climb_threshold);
        for point in points {
            survey.push(point);
        }
        survey.cut()
    }

    /// Mean grade of the climbing. Steep enough that all climbs and descents fit the length.
    pub fn ascent_grade(&self) -> Option<Grade> {
        let climbed = self.climbed?;
        Some(climbed.ascent_grade()? * self.crowding(&climbed))
    }

    /// Mean grade of the descending. Steep enough that all climbs and descents fit the length.
    pub fn descent_grade(&self) -> Option<Grade> {
        let climbed = self.climbed?;
        Some(climbed.descent_grade()? * self.crowding(&climbed))
    }

    /// By how much the climbs outgrow a stage into which only their ends fell; else 1.
    fn crowding(&self, climbed: &Climbed) -> f64 {
        let way = climbed.ascending + climbed.descending;
        if self.length > Metres::ZERO {
            (way / self.length).max(1.0)
        } else {
            1.0
        }
    }
}

impl Survey {
    /// A survey without a point yet.
    pub fn new(climb_threshold: Metres) -> Self {
        Self {
            last: None,
            along: Metres::ZERO,
            climb: Climb::new(climb_threshold),
            stage: Stage::default(),
        }
    }

    /// Takes the next point; gives the distance from the first.
    pub fn push(&mut self, point: &Point) -> Metres {
        if let Some(last) = &self.last {
            let step = distance(last.position(), point.position());
            self.along += step;
            self.stage.length += step;
            if let (Some(from), Some(to)) = (last.height, point.height) {
                self.stage.known_way += step.get();
                self.stage.height_times_way += step.get() * f64::midpoint(from.get(), to.get());
            }
        }
        if let Some(height) = point.height {
            self.climb.push(height, self.along);
        }
        self.stage.take(point);
        self.last = Some(*point);
        self.along
    }

    /// What was measured since the last cut, or since the start. The next stage begins at the
    /// point last taken, and the sums of all stages are those of the whole.
    pub fn cut(&mut self) -> Profile {
        let mut next = Stage::default();
        if let Some(last) = &self.last {
            next.take(last);
        }
        let done = std::mem::replace(&mut self.stage, next);
        let climbed = self.climb.take();
        Profile {
            points: done.points,
            length: done.length,
            climbed: (done.known > 0).then_some(climbed),
            mean_altitude: done.mean_altitude(),
            extent: done.spread.map(Spread::extent),
        }
    }
}

impl Stage {
    fn take(&mut self, point: &Point) {
        self.points += 1;
        if let Some(height) = point.height {
            self.heights += height.get();
            self.known += 1;
        }
        match &mut self.spread {
            Some(spread) => spread.take(point),
            None => self.spread = Some(Spread::at(point)),
        }
    }

    fn mean_altitude(&self) -> Option<Metres> {
        if self.known == 0 {
            None
        } else if self.known_way > 0.0 {
            Some(Metres::new(self.height_times_way / self.known_way))
        } else {
            Some(Metres::new(self.heights / self.known as f64))
        }
    }
}

impl Spread {
    fn at(point: &Point) -> Self {
        let lon = (point.lon.get(), point.lon);
        Self {
            west: lon,
            east: lon,
            south: point.lat,
            north: point.lat,
            last: lon,
        }
    }

    fn take(&mut self, point: &Point) {
        let (before, given) = self.last;
        let lon = (
            before + longitude_between(given, point.lon).get(),
            point.lon,
        );
        if lon.0 < self.west.0 {
            self.west = lon;
        }
        if lon.0 > self.east.0 {
            self.east = lon;
        }
        self.south = self.south.min(point.lat);
        self.north = self.north.max(point.lat);
        self.last = lon;
    }

    fn extent(self) -> Extent {
        let (west, east) = if self.east.0 - self.west.0 >= 360.0 {
            (Degrees::new(-180.0), Degrees::new(180.0))
        } else {
            (self.west.1, self.east.1)
        };
        Extent(west, self.south, east, self.north)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::climb::THRESHOLD;

    fn point(lat: f64, lon: f64, height: impl Into<Option<f64>>) -> Point {
        Point {
            lat: Degrees::new(lat),
            lon: Degrees::new(lon),
            height: height.into().map(Metres::new),
        }
    }

    #[test]
    fn an_unknown_height_is_not_sea_level() {
        let bare = Profile::from_points(
            &[point(-48.0, -130.0, None), point(-48.1, -130.0, None)],
            THRESHOLD,
        );
        assert_eq!((bare.climbed, bare.mean_altitude), (None, None));
        let gap = Profile::from_points(
            &[
                point(-48.0, -130.0, 1000.0),
                point(-48.1, -130.0, None),
                point(-48.2, -130.0, 1100.0),
            ],
            THRESHOLD,
        );
        assert_eq!(gap.climbed.unwrap().ascent, Metres::new(100.0));
        assert_eq!(gap.mean_altitude, Some(Metres::new(1050.0)));
    }

    #[test]
    fn the_mean_altitude_is_over_the_way_and_not_over_the_points() {
        let profile = Profile::from_points(
            &[
                point(0.0, 0.0, 0.0),
                point(0.0, 0.9, 0.0),
                point(0.0, 0.95, 100.0),
                point(0.0, 1.0, 100.0),
            ],
            THRESHOLD,
        );
        assert!(
            (profile.mean_altitude.unwrap().get() - 7.5).abs() < 1e-6,
            "{profile:?}"
        );
    }

    /// RFC 7946 section 5.2: the west end is the larger number when the date line is between them.
    #[test]
    fn the_extent_crosses_the_date_line() {
        let extent = |lons: &[f64]| {
            let points: Vec<Point> = lons.iter().map(|&lon| point(-48.0, lon, None)).collect();
            let Extent(west, _, east, _) = Profile::from_points(&points, THRESHOLD).extent.unwrap();
            (west.get(), east.get())
        };
        assert_eq!(extent(&[179.0, -179.0, 178.5]), (178.5, -179.0));
        assert_eq!(extent(&[-10.0, 20.0, 5.0]), (-10.0, 20.0));
        assert_eq!(extent(&[-179.0, 179.0, -178.0]), (179.0, -178.0));
        assert_eq!(extent(&[0.0, 100.0, -160.0, -60.0, 10.0]), (-180.0, 180.0));
        assert_eq!(Profile::from_points(&[], THRESHOLD).extent, None);
    }

    #[test]
    fn stages_add_up_to_the_whole() {
        let points: Vec<Point> = (0..50)
            .map(|n| point(-48.0 - 0.001 * f64::from(n), -130.0, f64::from(n * n % 37)))
            .collect();
        let whole = Profile::from_points(&points, THRESHOLD);
        let mut survey = Survey::new(THRESHOLD);
        let mut stages = Vec::new();
        for (n, point) in points.iter().enumerate() {
            survey.push(point);
            if n == 20 || n == 33 {
                stages.push(survey.cut());
            }
        }
        stages.push(survey.cut());
        let length: Metres = stages.iter().map(|s| s.length).sum();
        let ascent: Metres = stages.iter().map(|s| s.climbed.unwrap().ascent).sum();
        assert!((length - whole.length).get().abs() < 1e-6);
        assert!((ascent - whole.climbed.unwrap().ascent).get().abs() < 1e-9);
        assert_eq!(
            stages.iter().map(|s| s.points).sum::<usize>(),
            points.len() + 2
        );
    }
}
