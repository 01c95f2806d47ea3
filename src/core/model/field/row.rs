//! What the rows of the tables are written with: kinds that several fields share, and short builders.

use super::{Field, IfAbsent, Kind, MOST_CHOICES};
use crate::quantity::{
    Celsius, Degrees, Kilograms, Kilometres, KilometresPerHour, Litres, Metres, Share,
};

/// Latitude on WGS 84.
pub const LATITUDE: Kind = number(Degrees::UNIT, -90.0, 90.0);
/// Longitude on WGS 84.
pub const LONGITUDE: Kind = number(Degrees::UNIT, -180.0, 180.0);
/// Height of a point of a track. Wider than any road, since receivers err.
pub const TRACK_HEIGHT: Kind = number(Metres::UNIT, -1000.0, 10_000.0);

/// A name, on one line.
pub(super) const NAME: Kind = text(200);
pub(super) const NOTE: Kind = Kind::Text {
    longest: 4000,
    lines: true,
};
/// A part of a whole.
pub const SHARE: Kind = number(Share::UNIT, 0.0, 1.0);
/// From the lowest road (the Dead Sea's shore, −430 m) to above the highest.
pub(super) const ALTITUDE: Kind = number(Metres::UNIT, -430.0, 6000.0);
/// Air temperature, beyond all that was measured where people drive.
pub(super) const TEMPERATURE: Kind = number(Celsius::UNIT, -60.0, 60.0);
/// What an odometer may show.
pub(super) const ODOMETER: Kind = number(Kilometres::UNIT, 0.0, 3_000_000.0);
/// Speed outside sand and low range.
pub(super) const SPEED: Kind = number(KilometresPerHour::UNIT, 1.0, 130.0);
/// Fuel in the tank.
pub(super) const TANK: Kind = number(Litres::UNIT, 0.0, 400.0);
pub(super) const CANS: Kind = number(Litres::UNIT, 0.0, 2000.0);

/// Text on one line.
pub(super) const fn text(longest: usize) -> Kind {
    Kind::Text {
        longest,
        lines: false,
    }
}

/// A number of `unit`, both ends of the range included.
pub(super) const fn number(unit: &'static str, min: f64, max: f64) -> Kind {
    Kind::Number { unit, min, max }
}

pub(super) const fn kg(min: f64, max: f64) -> Kind {
    number(Kilograms::UNIT, min, max)
}

/// A whole number, both ends of the range included.
pub(super) const fn whole(min: u64, max: u64) -> Kind {
    Kind::Whole { min, max }
}

/// A list of items that are carried or chosen from.
pub(super) const CHOICES: Kind = list(0, MOST_CHOICES);

/// A list of `at_least` items and more.
pub(super) const fn list(at_least: usize, at_most: usize) -> Kind {
    Kind::List { at_least, at_most }
}

/// A field without which the trip cannot be read.
pub(super) const fn must(path: &'static str, kind: Kind, help: &'static str) -> Field {
    may(path, kind, IfAbsent::Refused, help)
}

/// A field that may be left out.
pub(super) const fn may(
    path: &'static str,
    kind: Kind,
    if_absent: IfAbsent,
    help: &'static str,
) -> Field {
    Field {
        path,
        kind,
        if_absent,
        help,
    }
}

/// A default that is a share of the tank, in words.
pub(super) fn of_tank(share: Share) -> String {
    format!("{} % of the tank", share.get() * 100.0)
}

/// The default of an object that is absent.
pub(super) const BY_PARTS: &str = "the defaults of its parts";
