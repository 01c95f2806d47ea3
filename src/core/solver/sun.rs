//! When the sun rises and sets, and civil twilight begins and ends: the solar position algorithm of NREL (Reda and Andreas
//! 2003) by a library, for a level horizon and standard refraction.
//!
//! A day is that around the noon of the sun which falls on a date of local time. Left out: hills, which make a valley dark
//! earlier, and the altitude of the place, which shows the sun a little longer.

use solar_positioning::{Events, Horizon, Location, SolarEvents, delta_t};

use crate::model::calendar::{Date, UtcOffset};
use crate::model::route::Position;
use crate::quantity::Hours;

/// Julian date of 1 January 1970, 0 h.
const JULIAN_1970: f64 = 2_440_587.5;

/// The light of a day, in hours of local time since midnight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sun {
    /// Sunrise and sunset.
    pub day: Light,
    /// Begin and end of civil twilight, with the sun 6 degrees below the horizon.
    pub twilight: Light,
}

/// When the sun is above some height.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Light {
    /// From and until.
    Between(Hours, Hours),
    /// Above it all day long.
    Always,
    /// Not on that day.
    Never,
}

impl Light {
    /// Its begin, if it has one.
    pub fn begin(self) -> Option<Hours> {
        match self {
            Self::Between(begin, _) => Some(begin),
            Self::Always | Self::Never => None,
        }
    }

    /// Its end, if it has one.
    pub fn end(self) -> Option<Hours> {
        match self {
            Self::Between(_, end) => Some(end),
            Self::Always | Self::Never => None,
        }
    }
}

/// The sun of a date at a position; `None` where the library has no answer.
pub fn sun(date: Date, offset: UtcOffset, at: Position) -> Option<Sun> {
    let midnight = JULIAN_1970 + f64::from(date.days_since_1970()) - offset.hours().get() / 24.0;
    let (year, month) = date.year_and_month();
    let delta_t = delta_t::estimate_from_date(year.into(), u32::from(month.unsigned_abs())).ok()?;
    let location = Location {
        latitude: at.lat.get(),
        longitude: at.lon.get(),
    };
    let events = SolarEvents::new();
    let noon = events.next_transit_from_julian(midnight, midnight + 1.0, at.lon.get(), delta_t);
    // A day of the sun may be longer than one of the clock by half a minute.
    let noon = noon.ok()?.unwrap_or(midnight + 0.5);
    let light = |horizon| {
        let (from, to) = (noon - 0.5, noon + 0.5);
        let found = events.for_interval_from_julian(from, to, location, delta_t, horizon);
        Some(light(&found.ok()?, noon, midnight))
    };
    Some(Sun {
        day: light(Horizon::SunriseSunset)?,
        twilight: light(Horizon::CivilTwilight)?,
    })
}

fn light(events: &Events<f64>, noon: f64, midnight: f64) -> Light {
    if events.always_above() {
        return Light::Always;
    }
    let rise = events.rises.iter().rfind(|&&rise| rise <= noon);
    let set = events.sets.iter().find(|&&set| set >= noon);
    if rise.is_none() && set.is_none() {
        return Light::Never;
    }
    let hours = |julian: f64| Hours::new((julian - midnight) * 24.0);
    // At the ends of a polar day only one of the two may fall into the day.
    let [rise, set] = [rise.unwrap_or(&events.start), set.unwrap_or(&events.end)];
    Light::Between(hours(*rise), hours(*set))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Degrees;

    fn at(lat: f64, lon: f64) -> Position {
        Position {
            lat: Degrees::new(lat),
            lon: Degrees::new(lon),
        }
    }

    fn on(date: &str, offset: &str, at: Position) -> Sun {
        let date = Date::parse(date).unwrap();
        sun(date, UtcOffset::parse(offset).unwrap(), at).unwrap()
    }

    fn near(found: Hours, hours: u32, minutes: u32, seconds: u32) {
        let by_print = f64::from(hours) + f64::from(minutes) / 60.0 + f64::from(seconds) / 3600.0;
        let apart = (found.get() - by_print).abs() * 60.0;
        assert!(apart < 1.0, "{found:?}, in print {by_print}");
    }

    /// NREL/TP-560-34302, worked example: 17 October 2003, 39.742476 N, 105.1786 W, seven hours behind UTC; its program
    /// prints sunrise 06:12:43 and sunset 17:20:19. It takes the events of a day in UTC, so its sunset, at 00:20 UTC of
    /// 17 October, is that of 16 October by local time.
    #[test]
    fn the_worked_example_of_the_report() {
        let at = at(39.742_476, -105.178_6);
        let found = on("2003-10-17", "-07:00", at);
        near(found.day.begin().unwrap(), 6, 12, 43);
        let day_before = on("2003-10-16", "-07:00", at);
        near(day_before.day.end().unwrap(), 17, 20, 19);
        assert!(found.twilight.begin() < found.day.begin());
        assert!(found.twilight.end() > found.day.end());
    }

    /// At 78 degrees north the sun does not set in June and does not rise in December, when even twilight is missing; at
    /// 66.7 degrees in December it does not rise, and there is twilight around noon.
    #[test]
    fn days_without_sunrise_or_sunset() {
        let north = at(78.2, 15.6);
        let june = on("2026-06-21", "+02:00", north);
        assert_eq!((june.day, june.twilight), (Light::Always, Light::Always));
        let december = on("2026-12-21", "+01:00", north);
        assert_eq!(
            (december.day, december.twilight),
            (Light::Never, Light::Never)
        );
        let circle = on("2026-12-21", "+02:00", at(67.9, 25.0));
        assert_eq!(circle.day, Light::Never);
        assert!(matches!(circle.twilight, Light::Between(..)));
    }

    /// Local time may be far from the sun's, as on a trip that keeps the time of home. The day is then still the one around
    /// the sun's noon of that date.
    #[test]
    fn an_offset_far_from_the_sun_moves_the_clock_alone() {
        let place = at(-30.0, 120.0);
        let near = on("2026-03-20", "+08:00", place);
        let far = on("2026-03-20", "+02:00", place);
        let moved = near.day.begin().unwrap() - far.day.begin().unwrap();
        assert!((moved.get() - 6.0).abs() < 0.05, "{moved:?}");
    }
}
