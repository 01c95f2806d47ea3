//! Daylight along the trip.

use crate::plan::daylight::{Arrival, DayInLight, Daylight};
use crate::quantity::Hours;
use crate::solver::sun::{Light, Sun};

object! {
    pub(super) struct DaylightReport(light: &Daylight) {
        /// The days that have not begun.
        days: Vec<DayReport> = light.days.iter().map(DayReport::new).collect(),
    }
}

object! {
    /// One day. Times are hours of local time since its midnight; more than 24 is on the next day.
    struct DayReport(day: &DayInLight) {
        day: u32 = day.day,
        date: String = day.date.to_string(),
        departure_h: Hours = day.depart,
        /// The sun where the day begins.
        sun_at_start: SunReport = SunReport::new(&day.sun_at_start),
        /// The sun where it ends.
        sun_at_end: SunReport = SunReport::new(&day.sun_at_end),
        arrivals: Vec<ArrivalReport> = day.arrivals.iter().map(ArrivalReport::new).collect(),
        /// The latest departure with which the day ends before sunset, at the success target. Below 0 if that is before
        /// midnight; `null` if there is no sunset.
        latest_departure_h: Option<Hours> = day.latest_departure,
    }
}

object! {
    struct SunReport(sun: &Sun) {
        /// `between`, `always` or `never`: when the sun is above the horizon.
        daylight: &'static str = word(sun.day),
        sunrise_h: Option<Hours> = sun.day.begin(),
        sunset_h: Option<Hours> = sun.day.end(),
        /// The same for civil twilight.
        twilight: &'static str = word(sun.twilight),
        dawn_h: Option<Hours> = sun.twilight.begin(),
        dusk_h: Option<Hours> = sun.twilight.end(),
    }
}

object! {
    struct ArrivalReport(arrival: &Arrival; simulated = arrival.simulated) {
        place_number: usize = arrival.place_number,
        /// By the best estimate.
        expected_h: Hours = arrival.expected,
        /// 5 % of the simulated trips arrive earlier; `null` for a best-estimate plan, as the next two.
        earliest_h: Option<Hours> = simulated.map(|simulated| simulated.earliest),
        /// The success target: as many have arrived.
        at_target_h: Option<Hours> = simulated.map(|simulated| simulated.at_target),
        /// 99 % have arrived.
        nearly_all_h: Option<Hours> = simulated.map(|simulated| simulated.nearly_all),
    }
}

const fn word(light: Light) -> &'static str {
    match light {
        Light::Between(..) => "between",
        Light::Always => "always",
        Light::Never => "never",
    }
}
