//! Dates, times of day and offsets from UTC, as they are written in a trip file.
//!
//! The local time of a trip has one offset from UTC: a trip that crosses a border of time zones, or the day on which clocks
//! change, keeps the time that it set out with.

use std::fmt;

use jiff::civil;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::Hours;

/// A text of one form, read into a value.
macro_rules! read_from_text {
    ($($(#[$doc:meta])* $name:ident($value:ty), $error:ident: $form:literal;)+) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize, JsonSchema)]
        #[serde(try_from = "String", into = "String")]
        #[schemars(with = "String", inline)]
        pub struct $name($value);

        /// Why a text is none.
        #[derive(Clone, Debug, PartialEq, Eq)]
        pub struct $error(String);

        impl std::error::Error for $error {}

        impl fmt::Display for $error {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "must be {}, got `{}`", $form, self.0)
            }
        }

        impl TryFrom<String> for $name {
            type Error = $error;
            fn try_from(text: String) -> Result<Self, $error> {
                Self::parse(&text).ok_or($error(text))
            }
        }

        impl From<$name> for String {
            fn from(value: $name) -> Self {
                value.to_string()
            }
        }
    )+};
}

read_from_text! {
    /// A day of the calendar, `2026-07-14`.
    Date(civil::Date), DateError: "a date such as 2026-07-14";
    /// What local time is ahead of UTC, `+05:30`.
    UtcOffset(i16), UtcOffsetError: "a UTC offset such as +05:30";
    /// A time of day, `07:30`.
    ClockTime(u16), ClockTimeError: "a time such as 07:30";
}

/// Two numbers of two digits on both sides of a colon.
fn hours_and_minutes(text: &str) -> Option<[u8; 2]> {
    let (hours, minutes) = text.split_once(':')?;
    let number = |part: &str| {
        let is_written = part.len() == 2 && part.bytes().all(|byte| byte.is_ascii_digit());
        is_written.then(|| part.parse().ok()).flatten()
    };
    Some([
        number(hours)?,
        number(minutes).filter(|&minutes| minutes < 60)?,
    ])
}

impl Date {
    /// The first year for which the sun is calculated, and the last.
    const YEARS: std::ops::RangeInclusive<i16> = 1950..=2150;

    /// Reads a date such as `2026-07-14`; `None` for any other text.
    pub(crate) fn parse(text: &str) -> Option<Self> {
        let parts: Vec<&str> = text.split('-').collect();
        let is_written = text
            .bytes()
            .all(|byte| byte.is_ascii_digit() || byte == b'-');
        let [year, month, day] = parts[..] else {
            return None;
        };
        if !is_written || [year.len(), month.len(), day.len()] != [4, 2, 2] {
            return None;
        }
        let date = civil::Date::new(year.parse().ok()?, month.parse().ok()?, day.parse().ok()?);
        date.ok()
            .filter(|date| Self::YEARS.contains(&date.year()))
            .map(Self)
    }

    /// The date some days later.
    pub(crate) fn plus_days(self, days: u32) -> Option<Self> {
        let date = self.0.checked_add(jiff::Span::new().try_days(days).ok()?);
        date.ok().map(Self)
    }

    /// Days since 1 January 1970.
    pub(crate) fn days_since_1970(self) -> i32 {
        let epoch = civil::date(1970, 1, 1);
        self.0.since(epoch).map_or(0, |span| span.get_days())
    }

    /// Year and month.
    pub(crate) fn year_and_month(self) -> (i16, i8) {
        (self.0.year(), self.0.month())
    }

    /// The day of the week, in three letters.
    pub fn weekday(self) -> &'static str {
        match self.0.weekday() {
            civil::Weekday::Monday => "Mon",
            civil::Weekday::Tuesday => "Tue",
            civil::Weekday::Wednesday => "Wed",
            civil::Weekday::Thursday => "Thu",
            civil::Weekday::Friday => "Fri",
            civil::Weekday::Saturday => "Sat",
            civil::Weekday::Sunday => "Sun",
        }
    }
}

impl UtcOffset {
    /// Reads `+05:30` or `-08:00`.
    pub(crate) fn parse(text: &str) -> Option<Self> {
        let sign = match text.get(..1)? {
            "+" => 1,
            "-" => -1,
            _ => return None,
        };
        let [hours, minutes] = hours_and_minutes(&text[1..])?.map(i16::from);
        let all = hours * 60 + minutes;
        // The widest in use are -12 and +14 hours.
        let is_used = if sign > 0 {
            all <= 14 * 60
        } else {
            all <= 12 * 60
        };
        is_used.then_some(Self(sign * all))
    }

    /// The offset in hours.
    pub(crate) fn hours(self) -> Hours {
        Hours::new(f64::from(self.0) / 60.0)
    }
}

impl ClockTime {
    /// Reads a time such as `07:30`; `None` for any other text.
    pub(crate) fn parse(text: &str) -> Option<Self> {
        let [hours, minutes] = hours_and_minutes(text)?.map(u16::from);
        (hours < 24).then_some(Self(hours * 60 + minutes))
    }

    /// Hours since midnight.
    pub(crate) fn hours(self) -> Hours {
        Hours::new(f64::from(self.0) / 60.0)
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Display for UtcOffset {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { '-' } else { '+' };
        let minutes = self.0.unsigned_abs();
        write!(f, "{sign}{:02}:{:02}", minutes / 60, minutes % 60)
    }
}

impl fmt::Display for ClockTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:02}:{:02}", self.0 / 60, self.0 % 60)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_read_is_written_again() {
        for text in ["2026-07-14", "2024-02-29", "1950-01-01"] {
            assert_eq!(Date::parse(text).unwrap().to_string(), text);
        }
        for text in ["+05:30", "-12:00", "+14:00", "+00:00", "-03:30"] {
            assert_eq!(UtcOffset::parse(text).unwrap().to_string(), text);
        }
        for text in ["07:30", "00:00", "23:59"] {
            assert_eq!(ClockTime::parse(text).unwrap().to_string(), text);
        }
    }

    #[test]
    fn other_forms_are_refused() {
        for text in [
            "2026-7-14",
            "2026-02-29",
            "26-07-14",
            "2026-07-14T00",
            "1949-12-31",
            "+026-07-14",
            "",
        ] {
            assert_eq!(Date::parse(text), None, "{text}");
        }
        for text in [
            "05:30",
            "+5:30",
            "+14:01",
            "-12:30",
            "+05:60",
            "+0530",
            "\u{2212}05:30",
            "",
        ] {
            assert_eq!(UtcOffset::parse(text), None, "{text}");
        }
        for text in ["24:00", "7:30", "07:60", "+7:30", "07:30:00", ""] {
            assert_eq!(ClockTime::parse(text), None, "{text}");
        }
    }

    #[test]
    fn days_follow_one_another() {
        let date = Date::parse("2024-02-28").unwrap();
        assert_eq!(date.plus_days(2).unwrap().to_string(), "2024-03-01");
        assert_eq!(Date::parse("1970-01-11").unwrap().days_since_1970(), 10);
        assert_eq!(Date::parse("2000-01-01").unwrap().days_since_1970(), 10_957);
    }
}
