//! Numbers with their unit.
//!
//! A quantity is one number and its unit, and it has only the arithmetic that means something:
//! `Kilometres * LitresPerKm = Litres`. Ranges belong to the fields that hold a quantity
//! (`model::field`), not to the quantity: a tank, a margin and a sampled use are all [`Litres`].
//! Numbers read from a file are finite, because JSON has no other.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// Writes a whole number without a decimal point and every other number in full.
fn serialize_number<S: Serializer>(value: f64, serializer: S) -> Result<S::Ok, S::Error> {
    if value.fract() == 0.0 && value.abs() < 1e15 {
        #[expect(
            clippy::cast_possible_truncation,
            reason = "whole and below 1e15, so exact"
        )]
        serializer.serialize_i64(value as i64)
    } else {
        serializer.serialize_f64(value)
    }
}

/// What every quantity can do.
pub(crate) trait Quantity:
    Copy + Sub<Output = Self> + Mul<f64, Output = Self> + Sum
{
}

macro_rules! quantity {
    ($($(#[$doc:meta])* $name:ident = $unit:literal;)+) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// The unit, as it is printed.
            pub const UNIT: &'static str = $unit;
            /// Zero of the unit.
            pub const ZERO: Self = Self(0.0);

            /// The quantity of `value` units.
            #[inline]
            pub const fn new(value: f64) -> Self {
                Self(value)
            }

            /// The bare number of units.
            #[inline]
            pub const fn get(self) -> f64 {
                self.0
            }

            /// The larger of the two.
            #[must_use]
            #[inline]
            pub fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }

            /// The smaller of the two.
            #[must_use]
            #[inline]
            pub fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            /// How large a part of a whole it is; `None` of a whole that is not above zero.
            #[inline]
            pub fn part_of(self, whole: Self) -> Option<f64> {
                (whole > Self::ZERO).then(|| self / whole)
            }

            /// The quantity without its sign.
            #[must_use]
            #[inline]
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }
        }

        impl Quantity for $name {}

        impl Add for $name {
            type Output = Self;
            #[inline]
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl AddAssign for $name {
            #[inline]
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }

        impl Sub for $name {
            type Output = Self;
            #[inline]
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl SubAssign for $name {
            #[inline]
            fn sub_assign(&mut self, other: Self) {
                self.0 -= other.0;
            }
        }

        impl Neg for $name {
            type Output = Self;
            #[inline]
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            #[inline]
            fn mul(self, times: f64) -> Self {
                Self(self.0 * times)
            }
        }

        impl Div<f64> for $name {
            type Output = Self;
            #[inline]
            fn div(self, by: f64) -> Self {
                Self(self.0 / by)
            }
        }

        impl Div for $name {
            type Output = f64;
            #[inline]
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }

        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(values: I) -> Self {
                // The sum of no floats is negative zero; adding zero makes it a plain one.
                Self(values.map(|value| value.0).sum::<f64>() + 0.0)
            }
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serialize_number(self.0, serializer)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                // Nothing is as much with a sign as without: adding zero makes a negative zero a plain one.
                f64::deserialize(deserializer).map(|value| Self(value + 0.0))
            }
        }

        impl JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(generator: &mut SchemaGenerator) -> Schema {
                f64::json_schema(generator)
            }
        }
    )+};
}

quantity! {
    /// Length of road.
    Kilometres = "km";
    /// Height, climb, and the steps of a track.
    Metres = "m";
    /// Stroke of an engine.
    Millimetres = "mm";
    /// Fuel or swept volume.
    Litres = "L";
    /// Mass in kilograms.
    Kilograms = "kg";
    /// Driving time, and other times of a day.
    Hours = "h";
    /// Time added to a way.
    Minutes = "min";
    /// Days of a trip.
    Days = "days";
    /// Speed of a vehicle or of the wind.
    KilometresPerHour = "km/h";
    /// Speed of a piston.
    MetresPerSecond = "m/s";
    /// Tractive force.
    Newtons = "N";
    /// Acceleration, such as that of gravity.
    MetresPerSecond2 = "m/s²";
    /// Temperature of the air.
    Celsius = "°C";
    /// Tyre pressure or mean effective pressure.
    Bar = "bar";
    /// Drag area, the drag coefficient times the frontal area.
    SquareMetres = "m²";
    /// Density of air.
    KilogramsPerCubicMetre = "kg/m³";
    /// Density of a fuel.
    KilogramsPerLitre = "kg/L";
    /// Energy in a fuel.
    MegajoulesPerLitre = "MJ/L";
    /// Consumption as it is quoted.
    LitresPer100Km = "L/100 km";
    /// Consumption as it is computed with.
    LitresPerKm = "L/km";
    /// Consumption at rest.
    LitresPerHour = "L/h";
    /// Power of an engine.
    Kilowatts = "kW";
    /// Engine turns for each kilometre in the highest gear.
    RevsPerKm = "1/km";
    /// Speed of an engine.
    RevsPerMinute = "1/min";
    /// A part of a whole, 0 to 1.
    Share = "";
    /// Metres up for each metre along.
    Grade = "";
    /// A number that multiplies.
    Factor = "";
    /// Natural logarithm of a number that multiplies.
    LogFactor = "";
    /// Latitude or longitude on WGS 84.
    Degrees = "°";
    /// Standard deviations of a standard normal.
    Deviations = "σ";
    /// Money in the trip's own currency.
    Money = "";
    /// Money for a litre.
    MoneyPerLitre = "/L";
    /// A part of a hundred.
    Percent = "%";
}

/// `$a * $b = $c`, in either order, and the two divisions that undo it.
macro_rules! product {
    ($($a:ident * $b:ident = $c:ident;)+) => {$(
        impl Mul<$b> for $a {
            type Output = $c;
            #[inline]
            fn mul(self, other: $b) -> $c {
                $c(self.0 * other.0)
            }
        }
        impl Mul<$a> for $b {
            type Output = $c;
            #[inline]
            fn mul(self, other: $a) -> $c {
                $c(self.0 * other.0)
            }
        }
        impl Div<$a> for $c {
            type Output = $b;
            #[inline]
            fn div(self, other: $a) -> $b {
                $b(self.0 / other.0)
            }
        }
        impl Div<$b> for $c {
            type Output = $a;
            #[inline]
            fn div(self, other: $b) -> $a {
                $a(self.0 / other.0)
            }
        }
    )+};
}

product! {
    Kilometres * LitresPerKm = Litres;
    Hours * LitresPerHour = Litres;
    Hours * KilometresPerHour = Kilometres;
    Litres * KilogramsPerLitre = Kilograms;
    Litres * MoneyPerLitre = Money;
}

impl Kilometres {
    /// The distance as an odometer with this factor (true over shown) will show it.
    #[must_use]
    pub fn shown(self, odometer_factor: Factor) -> Self {
        self / odometer_factor.get()
    }
}

macro_rules! conversions {
    ($($from:ident => $to:ident: |$value:ident| $made:expr;)+) => {$(
        impl From<$from> for $to {
            fn from($from($value): $from) -> Self {
                Self($made)
            }
        }
    )+};
}

conversions! {
    Hours => Minutes: |hours| hours * 60.0;
    LitresPerKm => LitresPer100Km: |rate| rate * 100.0;
    LitresPer100Km => LitresPerKm: |rate| rate / 100.0;
    Metres => Kilometres: |length| length / 1000.0;
    Kilometres => Metres: |length| length * 1000.0;
    Percent => Share: |percent| percent / 100.0;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn litres_follow_from_way_and_rate() {
        let rate = LitresPerKm::from(LitresPer100Km::new(12.0));
        let litres: Litres = Kilometres::new(250.0) * rate;
        assert!((litres.get() - 30.0).abs() < 1e-12);
        assert_eq!(litres / rate, Kilometres::new(250.0));
    }

    #[test]
    fn numbers_are_written_as_short_as_they_are_exact() {
        let text = |value: f64| serde_json::to_string(&Litres::new(value)).unwrap();
        assert_eq!(text(55.0), "55");
        assert_eq!(text(-130.4), "-130.4");
        assert_eq!(text(-0.0), "0");
        assert_eq!(text(0.1 + 0.2), "0.30000000000000004");
        let read: Litres = serde_json::from_str("-0.0").unwrap();
        assert!(read.get().is_sign_positive());
    }
}
