//! What driving would teach of the vehicle.

use crate::quantity::{Kilometres, Litres};

/// A kind of driving.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// On a sealed road with nothing on the roof.
    Road,
    /// On a sealed road with the roof as on the trip.
    RoadWithRoof,
    /// In soft sand.
    Sand,
    /// In low range.
    LowRange,
}

impl Kind {
    pub(crate) const ALL: [Self; 4] = [Self::Road, Self::RoadWithRoof, Self::Sand, Self::LowRange];

    /// A way of it that a fill measures well: 200 km of road, or a day of slow ground. Chosen, no source.
    pub(crate) const fn distance(self) -> Kilometres {
        Kilometres::new(match self {
            Self::Road | Self::RoadWithRoof => 200.0,
            Self::Sand => 60.0,
            Self::LowRange => 30.0,
        })
    }
}

/// What a way would do for the trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lesson {
    /// The kind of driving.
    pub kind: Kind,
    /// Length of the drive.
    pub distance: Kilometres,
    /// Litres in cans at the success target as it is, and as it would be.
    pub in_cans: [Litres; 2],
}
