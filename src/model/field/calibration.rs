//! Fields of what was fitted to the vehicle.

use super::IfAbsent::Nothing;
use super::row::{NAME, list, may, must, number, whole};
use super::{Field, Kind, MOST_ITEMS};
use crate::model::calibration::COMPONENTS;
use crate::quantity::{Factor, Kilometres, Litres, LitresPer100Km, Share};

/// A factor of the vehicle. Beyond these ends the figures do not belong to it.
const FACTOR: Kind = number(Factor::UNIT, 0.05, 20.0);
/// A covariance of two factors.
const COVARIANCE: Kind = number(Factor::UNIT, -4.0, 4.0);

/// Litres of one way from brim to brim.
const LITRES: Kind = number(Litres::UNIT, 0.0, 10_000.0);

#[rustfmt::skip] // A row is a field.
pub(super) static FIELDS: &[Field] = &[
    may("/vehicle/calibration", Kind::Object, Nothing,
        "Factors of this vehicle from its own fill-ups; they scale the parts of every leg."),
    must("/vehicle/calibration/base", FACTOR, "Factor on driving off the sand and in high range."),
    must("/vehicle/calibration/sand", FACTOR, "Factor on driving in sand in high range."),
    must("/vehicle/calibration/low_range", FACTOR, "Factor on driving in low range."),
    must("/vehicle/calibration/roof", FACTOR, "Factor on what the drag on the roof adds."),
    must("/vehicle/calibration/idle", FACTOR, "Factor on idling."),
    must("/vehicle/calibration/covariance", list(COMPONENTS, COMPONENTS),
        "Covariance of the factors base, sand, low range, roof, idle: five rows of five."),
    may("/vehicle/calibration/covariance/*", list(COMPONENTS, COMPONENTS), Nothing, "A row of the covariance."),
    may("/vehicle/calibration/covariance/*/*", COVARIANCE, Nothing, "Covariance of two factors."),
    must("/vehicle/calibration/residual_share", number(Share::UNIT, 0.0, 1.0),
        "Spread of one fill-up about its fitted litres, as a share of them."),
    may("/vehicle/calibration/road_day_share", number(Share::UNIT, 0.0, 1.0), Nothing,
        "Spread of a day on sealed roads, its wind and ground included; absent where the log has too few dated fills there."),
    may("/vehicle/calibration/off_road_day_share", number(Share::UNIT, 0.0, 1.0), Nothing,
        "Spread of a day off sealed roads; absent where the log has too few dated fills there."),
    may("/vehicle/calibration/tank_share", number(Share::UNIT, 0.0, 1.0), Nothing,
        "Spread of a tank that its number of days does not change; not stated in files that know nothing of days."),
    must("/vehicle/calibration/intervals", whole(0, 1_000_000), "How many ways from brim to brim it was fitted from."),
    must("/vehicle/calibration/distance_km", number(Kilometres::UNIT, 0.0, 3_000_000.0), "Their true distance."),
    must("/vehicle/calibration/litres", number(Litres::UNIT, 0.0, 3_000_000.0), "Their litres."),
    must("/vehicle/calibration/baseline_l_per_100km", number(LitresPer100Km::UNIT, 3.0, 40.0),
        "The base figure that the factors were fitted to; with another one they do not hold."),
    may("/vehicle/calibration/from", NAME, Nothing, "Where the fill-ups came from."),
    may("/vehicle/calibration/predictions", list(0, MOST_ITEMS), Nothing,
        "Each way from brim to brim with what a fit to all the others predicted of it."),
    may("/vehicle/calibration/predictions/*", Kind::Object, Nothing, "One way."),
    must("/vehicle/calibration/predictions/*/used_l", LITRES, "What was used."),
    must("/vehicle/calibration/predictions/*/predicted_l", LITRES, "What was predicted."),
    must("/vehicle/calibration/predictions/*/predicted_sd_l", LITRES, "How far that may be off: a standard deviation."),
];
