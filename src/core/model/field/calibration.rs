//! Fields of the calibration.

use super::IfAbsent::Nothing;
use super::row::{NAME, list, may, must, number, whole};
use super::{Field, Kind, MOST_ITEMS};
use crate::model::calibration::COMPONENTS;
use crate::model::vocabulary::Surface;
use crate::quantity::{Factor, Kilometres, Litres, LitresPer100Km, Share};

/// A calibration factor. Beyond these ends the log is not the vehicle's.
const FACTOR: Kind = number(Factor::UNIT, 0.05, 20.0);
/// A covariance of two factors.
const COVARIANCE: Kind = number(Factor::UNIT, -4.0, 4.0);

/// Fuel of one brim-to-brim interval.
const LITRES: Kind = number(Litres::UNIT, 0.0, 10_000.0);

#[rustfmt::skip] // A row is a field.
pub(super) static FIELDS: &[Field] = &[
    may("/vehicle/calibration", Kind::Object, Nothing,
        "Calibration: factors from the fill-ups, which scale the components of the consumption."),
    must("/vehicle/calibration/base", FACTOR, "Factor for driving outside sand in high range."),
    must("/vehicle/calibration/sand", FACTOR, "Factor for sand in high range."),
    must("/vehicle/calibration/low_range", FACTOR, "Factor for low range."),
    must("/vehicle/calibration/roof", FACTOR, "Factor for the drag of the roof load."),
    must("/vehicle/calibration/idle", FACTOR, "Factor for idling."),
    must("/vehicle/calibration/covariance", list(COMPONENTS, COMPONENTS),
        "Covariance matrix of the factors, in the order base, sand, low range, roof, idle."),
    may("/vehicle/calibration/covariance/*", list(COMPONENTS, COMPONENTS), Nothing, "One row of the covariance matrix."),
    may("/vehicle/calibration/covariance/*/*", COVARIANCE, Nothing, "Covariance of two factors."),
    must("/vehicle/calibration/residual_share", number(Share::UNIT, 0.0, 1.0),
        "Residual standard deviation of an interval, as a share of its calibrated litres."),
    may("/vehicle/calibration/road_day_share", number(Share::UNIT, 0.0, 1.0), Nothing,
        "Day-to-day standard deviation on sealed roads, including wind; absent if too few fills there have a date."),
    may("/vehicle/calibration/off_road_day_share", number(Share::UNIT, 0.0, 1.0), Nothing,
        "Day-to-day standard deviation off sealed roads; absent if too few fills there have a date."),
    may("/vehicle/calibration/tank_share", number(Share::UNIT, 0.0, 1.0), Nothing,
        "Standard deviation of a tank of fuel, however many days it lasts; absent without dates."),
    may("/vehicle/calibration/surface", Kind::Choice(Surface::WORDS), Nothing,
        "Surface of nearly all intervals, whose resistance the factors include; absent if they are on several."),
    must("/vehicle/calibration/intervals", whole(0, 1_000_000), "Number of brim-to-brim intervals used."),
    must("/vehicle/calibration/distance_km", number(Kilometres::UNIT, 0.0, 3_000_000.0), "True distance of the intervals, added up."),
    must("/vehicle/calibration/litres", number(Litres::UNIT, 0.0, 3_000_000.0), "Fuel of the intervals, added up."),
    must("/vehicle/calibration/baseline_l_per_100km", number(LitresPer100Km::UNIT, 3.0, 40.0),
        "Baseline consumption that the factors belong to; they are not valid for any other."),
    may("/vehicle/calibration/from", NAME, Nothing, "Name of the fill-up log."),
    may("/vehicle/calibration/predictions", list(0, MOST_ITEMS), Nothing,
        "Each brim-to-brim interval as predicted from the other intervals."),
    may("/vehicle/calibration/predictions/*", Kind::Object, Nothing, "One interval."),
    must("/vehicle/calibration/predictions/*/used_l", LITRES, "Fuel used."),
    must("/vehicle/calibration/predictions/*/predicted_l", LITRES, "Fuel predicted from the other intervals."),
    must("/vehicle/calibration/predictions/*/predicted_sd_l", LITRES, "Standard deviation of the prediction."),
];
