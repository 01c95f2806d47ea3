//! Moments as track files write them (ISO 8601, as in `xsd:dateTime`).
//!
//! A moment without a zone is taken for UTC: only the time between two of a file is ever asked for. A blank
//! may represent the `T`, as some programs write it. A leap second is the second before it.

use std::num::NonZeroU64;

use jiff::fmt::temporal::Pieces;
use jiff::tz::Offset;
use jiff::{Timestamp, ToSpan};

use crate::quantity::Hours;

const MILLISECONDS_PER_HOUR: u64 = 3_600_000;

/// A moment of the years −9999 to 9999.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment(
    /// Milliseconds since shortly before the first moment there is: as small as can be where none is stated, too.
    NonZeroU64,
);

impl Moment {
    /// Reads `2020-02-29T23:59:60.5+01:00`; `None` if that is no moment.
    pub(crate) fn parse(text: &str) -> Option<Self> {
        let moment = text.parse().ok().or_else(|| unusual(text))?;
        let since_first = moment.as_millisecond() - Timestamp::MIN.as_millisecond();
        NonZeroU64::new(u64::try_from(since_first).ok()? + 1).map(Self)
    }

    /// The time since an earlier moment; negative for a later one.
    pub(crate) fn since(self, earlier: Self) -> Hours {
        let (now, then) = (self.0.get(), earlier.0.get());
        let hours = now.abs_diff(then) as f64 / MILLISECONDS_PER_HOUR as f64;
        Hours::new(if now < then { -hours } else { hours })
    }
}

/// A moment without a zone, or the end of a day as such, which `xsd:dateTime` knows and the library does not.
fn unusual(text: &str) -> Option<Timestamp> {
    if let Some((date, zone)) = text.split_once("T24:00:00") {
        let begin: Timestamp = format!("{date}T00:00:00{zone}").parse().ok()?;
        return begin.checked_add(24.hours()).ok();
    }
    let pieces = Pieces::parse(text).ok()?;
    let has_zone = pieces.to_numeric_offset().is_some() || pieces.time_zone_annotation().is_some();
    let local = pieces.date().to_datetime(pieces.time()?);
    Offset::UTC.to_timestamp(local).ok().filter(|_| !has_zone)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seconds(from: &str, to: &str) -> f64 {
        let moment = |text| Moment::parse(text).expect(text);
        moment(to).since(moment(from)).get() * 3600.0
    }

    /// Seconds by hand: a day has 86,400 of them, 2000 had a 29 February and 1900 had none.
    #[test]
    fn the_time_between_two_moments() {
        for (from, to, expected) in [
            ("2020-01-01T00:00:00Z", "2020-01-01T00:00:01Z", 1.0),
            ("2000-02-28T12:00:00Z", "2000-03-01T12:00:00Z", 172_800.0),
            ("1900-02-28T12:00:00Z", "1900-03-01T12:00:00Z", 86_400.0),
            ("2019-12-31T23:59:59.5Z", "2020-01-01T00:00:00.250Z", 0.75),
            ("2020-06-01T12:00:00+05:30", "2020-06-01T06:30:00Z", 0.0),
            ("2020-06-01T12:00:00-0800", "2020-06-01T20:00:00", 0.0),
            ("2020-06-01 12:00:00", "2020-06-01T11:00:00Z", -3600.0),
            ("1970-01-01T00:00:00Z", "2001-09-09T01:46:40Z", 1e9),
            ("2020-12-31T24:00:00Z", "2021-01-01T00:00:00Z", 0.0),
            ("2016-12-31T23:59:60Z", "2017-01-01T00:00:00Z", 1.0),
            (
                "2020-01-01T00:00:00.1234567Z",
                "2020-01-01T00:00:00Z",
                -0.123,
            ),
            ("2020-01-01T00:00:00-00:00", "2020-01-01t00:00:00z", 0.0),
        ] {
            let found = seconds(from, to);
            assert!((found - expected).abs() < 1e-6, "{from} {to} {found}");
        }
    }

    #[test]
    fn what_is_no_moment() {
        for text in [
            "",
            "never",
            "2020-13-01T00:00:00Z",
            "2019-02-29T00:00:00Z",
            "2020-01-01",
            "2020-01-01T25:00:00Z",
            "2020-01-01T00:00:00.Z",
            "2020-01-01T00:00:00+1",
            "2020-01-01T00:00:00Zulu",
            "12020-01-01T00:00:00Z",
            "-0044-03-15T12:00:00Z",
            "2020-01-01T24:30:00Z",
            "2020-01-01T00:00:00[Africa/Cairo]",
            "2020-01-01T00:00:00+99:99",
            "２020-01-01T00:00:00Z",
        ] {
            assert_eq!(Moment::parse(text), None, "{text}");
        }
    }
}
