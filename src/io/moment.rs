//! Moments as track files write them (ISO 8601, as in `xsd:dateTime`).
//!
//! A moment without a zone is taken for UTC: only the time between two of a file is ever asked for. A blank
//! may stand for the `T`, as some programs write it.

use std::num::NonZeroU64;

use crate::quantity::Hours;

const MILLISECONDS_PER_HOUR: u64 = 3_600_000;
/// Days of the proleptic Gregorian calendar in 400 years.
const DAYS_PER_400_YEARS: u64 = 146_097;

/// A moment of the years 1 to 9999.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Moment(
    /// Milliseconds since the year 0 began.
    NonZeroU64,
);

impl Moment {
    /// Reads `2020-02-29T23:59:60.5+01:00`; nothing where that is no moment.
    pub fn parse(text: &str) -> Option<Self> {
        let (head, rest) = text.as_bytes().split_first_chunk()?;
        let &[
            ref year @ ..,
            b'-',
            month_1,
            month_2,
            b'-',
            day_1,
            day_2,
            b'T' | b't' | b' ',
            hour_1,
            hour_2,
            b':',
            minute_1,
            minute_2,
            b':',
            second_1,
            second_2,
        ] = head as &[u8; 19]
        else {
            return None;
        };
        let year = digits(year)?;
        let (month, day) = (digits(&[month_1, month_2])?, digits(&[day_1, day_2])?);
        let (hour, minute) = (digits(&[hour_1, hour_2])?, digits(&[minute_1, minute_2])?);
        let second = digits(&[second_1, second_2])?;
        let is_moment = year >= 1
            && (1..=12).contains(&month)
            && (1..=days_in(year, month)).contains(&day)
            && hour <= 24
            && minute < 60
            && second <= 60;
        if !is_moment {
            return None;
        }
        let (thousandths, zone) = fraction(rest)?;
        let seconds = (day_number(year, month, day) * 24 + hour) * 3600 + minute * 60 + second;
        let local = seconds * 1000 + thousandths;
        let shifted = local.checked_add_signed(-offset(zone)? * 60_000)?;
        NonZeroU64::new(shifted).map(Self)
    }

    /// The time since an earlier moment; negative for a later one.
    pub fn since(self, earlier: Self) -> Hours {
        let (now, then) = (self.0.get(), earlier.0.get());
        let hours = now.abs_diff(then) as f64 / MILLISECONDS_PER_HOUR as f64;
        Hours::new(if now < then { -hours } else { hours })
    }
}

fn digits(bytes: &[u8]) -> Option<u64> {
    bytes.iter().try_fold(0_u64, |number, byte| {
        byte.is_ascii_digit()
            .then(|| number * 10 + u64::from(byte - b'0'))
    })
}

/// Thousandths of a second, and what follows them.
fn fraction(rest: &[u8]) -> Option<(u64, &[u8])> {
    let Some(after) = rest.strip_prefix(b".").or_else(|| rest.strip_prefix(b",")) else {
        return Some((0, rest));
    };
    let length = after
        .iter()
        .take_while(|byte| byte.is_ascii_digit())
        .count();
    let kept = &after[..length.min(3)];
    let power = [1000, 100, 10, 1][kept.len()];
    (length > 0).then_some((digits(kept)? * power, &after[length..]))
}

/// Minutes by which a zone is ahead of UTC.
fn offset(zone: &[u8]) -> Option<i64> {
    let ahead = match zone {
        b"" | b"Z" | b"z" => return Some(0),
        [b'+', ..] => 1,
        [b'-', ..] => -1,
        _ => return None,
    };
    let (hours, minutes) = match &zone[1..] {
        [a, b] => (digits(&[*a, *b])?, 0),
        [a, b, b':', c, d] | [a, b, c, d] => (digits(&[*a, *b])?, digits(&[*c, *d])?),
        _ => return None,
    };
    let minutes = i64::try_from(hours * 60 + minutes).ok()?;
    (minutes <= 24 * 60).then_some(ahead * minutes)
}

const fn is_leap(year: u64) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

const fn days_in(year: u64, month: u64) -> u64 {
    match month {
        2 if is_leap(year) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days since the year 0 began, by years that begin in March, so that the leap day is their last.
const fn day_number(year: u64, month: u64, day: u64) -> u64 {
    let year = if month <= 2 { year - 1 } else { year };
    let of_400 = year % 400;
    let since_march = (month + 9) % 12;
    // Months from March on have 31 and 30 days in turn, five of them 153 in all.
    let of_year = (153 * since_march + 2) / 5 + day - 1;
    let days = of_400 * 365 + of_400 / 4 - of_400 / 100 + of_year;
    // The year 0 began 60 days before its March.
    year / 400 * DAYS_PER_400_YEARS + days + 60
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
            "0000-01-01T00:00:00Z",
            "2020-01-01T25:00:00Z",
            "2020-01-01T00:00:00.Z",
            "2020-01-01T00:00:00+1",
            "2020-01-01T00:00:00Zulu",
            "12020-01-01T00:00:00Z",
            "2020-01-01T00:00:00+99:99",
            "２020-01-01T00:00:00Z",
        ] {
            assert_eq!(Moment::parse(text), None, "{text}");
        }
    }
}
