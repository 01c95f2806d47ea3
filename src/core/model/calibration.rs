//! What fitting the vehicle to its own fill-ups gave: a factor for each component of consumption, how far each may
//! be wrong, and from how much that follows.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::vocabulary::Surface;
use crate::quantity::{Factor, Kilometres, Litres, LitresPer100Km, Share};

/// How many components there are.
pub const COMPONENTS: usize = Component::ALL.len();

/// A part of consumption that has a factor of the vehicle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Component {
    /// Driving outside sand in high range.
    Base,
    /// Driving in sand in high range.
    Sand,
    /// Driving in low range, in sand or not.
    LowRange,
    /// The drag of the roof load.
    Roof,
    /// Idling with the vehicle at rest.
    Idle,
}

impl Component {
    /// Every one of them, in the order of factors and covariances.
    pub const ALL: [Self; 5] = [
        Self::Base,
        Self::Sand,
        Self::LowRange,
        Self::Roof,
        Self::Idle,
    ];

    /// The key that represents it in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Base => "base",
            Self::Sand => "sand",
            Self::LowRange => "low_range",
            Self::Roof => "roof",
            Self::Idle => "idle",
        }
    }
}

stated! {
    /// Calibration factors of one vehicle with their covariance, and the intervals behind them.
    pub struct Calibration {
        pub base: Factor,
        pub sand: Factor,
        pub low_range: Factor,
        pub roof: Factor,
        pub idle: Factor,
        pub covariance: [[Factor; COMPONENTS]; COMPONENTS],
        pub residual_share: Share,
        pub road_day_share: Option<Share>,
        pub off_road_day_share: Option<Share>,
        pub tank_share: Option<Share>,
        pub surface: Option<Surface>,
        pub intervals: u32,
        pub distance_km: Kilometres,
        pub litres: Litres,
        pub baseline_l_per_100km: LitresPer100Km,
        pub from: Option<String>,
        pub predictions: Option<Vec<Predicted>>,
    }
}

/// A brim-to-brim interval as predicted from the other intervals.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[expect(
    missing_docs,
    reason = "each field is documented once, in model::field"
)]
pub struct Predicted {
    pub used_l: Litres,
    pub predicted_l: Litres,
    pub predicted_sd_l: Litres,
}

impl Calibration {
    /// The factors, in the order of [`Component::ALL`].
    pub fn factors(&self) -> [Factor; COMPONENTS] {
        [self.base, self.sand, self.low_range, self.roof, self.idle]
    }

    /// Covariance of two factors.
    pub fn covariance(&self, a: Component, b: Component) -> Factor {
        self.covariance[a as usize][b as usize]
    }
}
