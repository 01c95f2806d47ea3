//! An unbroken run of points that is shared, and measured once.

use std::sync::{Arc, OnceLock};

use super::climb::THRESHOLD;
use super::survey::Profile;
use super::track::Point;

/// Points in the order in which they are passed. Clones share them.
#[derive(Clone, Debug)]
pub struct Polyline(Arc<Measured>);

#[derive(Debug)]
struct Measured {
    points: Vec<Point>,
    profile: OnceLock<Profile>,
}

impl Polyline {
    /// The line from its other end.
    #[must_use]
    pub(crate) fn reversed(&self) -> Self {
        Self::new(self.points().iter().rev().copied().collect())
    }

    /// A line through `points`.
    pub fn new(points: Vec<Point>) -> Self {
        Self(Arc::new(Measured {
            points,
            profile: OnceLock::new(),
        }))
    }

    /// The points, in the order in which they are passed.
    pub fn points(&self) -> &[Point] {
        &self.0.points
    }

    /// What was measured along the line; done when first asked for.
    pub fn profile(&self) -> &Profile {
        self.0
            .profile
            .get_or_init(|| Profile::from_points(&self.0.points, THRESHOLD))
    }
}

impl PartialEq for Polyline {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0) || self.0.points == other.0.points
    }
}
