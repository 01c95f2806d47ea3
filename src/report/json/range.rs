//! How far the vehicle goes.

use crate::model::Trip;
use crate::plan::ChosenCans;
use crate::plan::range::{Changed, Loaded, Range, Ranges, TypicalSurface, WithCans};
use crate::present::range;
use crate::quantity::{Kilograms, Kilometres, KilometresPerHour, Litres, LitresPer100Km, Share};

use super::METRIC;

object! {
    /// What `range` answers.
    pub(super) struct RangeReport(trip: &Trip, ranges: &Ranges) {
        #[serde(rename = "drystage_range")]
        version: u32 = 1,
        /// Name of the trip.
        trip: Option<String> = trip.name.clone(),
        range: RangesReport = RangesReport::new(ranges),
    }
}

object! {
    pub(super) struct RangesReport(ranges: &Ranges) {
        /// The share of simulated trips that get as far as the figures at the target.
        success_target: Share = ranges.success_target,
        /// With the first person alone, from the tank.
        empty: LoadedReport = LoadedReport::new(&ranges.empty),
        /// Loaded as in the trip without the roof rack, its load inside; from the tank.
        without_roof: LoadedReport = LoadedReport::new(&ranges.without_roof),
        /// Loaded as in the trip, from the tank.
        as_in_trip: LoadedReport = LoadedReport::new(&ranges.as_stated),
        /// Loaded as in the trip with one can, two cans and so on, as far as the limits allow.
        with_cans: Vec<WithCansReport> = ranges.with_cans.iter().map(WithCansReport::new).collect(),
        /// Why there is no larger number of cans.
        end_of_cans: String = range::end_of_cans(ranges, METRIC),
        /// What single changes do, from the tank alone and loaded as in the trip.
        changes: Vec<ChangeReport> = ranges.changes.iter().map(ChangeReport::new).collect(),
    }
}

object! {
    struct LoadedReport(loaded: &Loaded) {
        /// Usable fuel at the start, without what decanting loses.
        fuel_l: Litres = loaded.fuel,
        /// Mass at the start.
        mass_kg: Kilograms = loaded.mass,
        surfaces: Vec<RangeOn> = TypicalSurface::ALL
            .iter()
            .zip(&loaded.by_surface)
            .map(|(surface, range)| RangeOn::new(*surface, range))
            .collect(),
    }
}

object! {
    struct RangeOn(surface: TypicalSurface, range: &Range) {
        /// `sealed`, `gravel`, `corrugated`, `sandy-track`, `dunes` or `rock-in-low-range`.
        surface: &'static str = range::code(surface),
        /// To the minimum on arrival, at the success target.
        to_minimum_km: Kilometres = range.to_minimum.at_target,
        to_minimum_best_estimate_km: Kilometres = range.to_minimum.best_estimate,
        /// Until the usable fuel is gone, at the success target.
        until_empty_km: Kilometres = range.until_empty.at_target,
        until_empty_best_estimate_km: Kilometres = range.until_empty.best_estimate,
        /// Mean consumption until then, by the best estimate.
        l_per_100km: LitresPer100Km = range.rate,
        speed_kmh: KilometresPerHour = range.speed,
    }
}

object! {
    struct WithCansReport(with: &WithCans) {
        cans: Vec<CansReport> = with.cans.iter().map(CansReport::new).collect(),
        range: LoadedReport = LoadedReport::new(&with.loaded),
    }
}

object! {
    struct CansReport(cans: &ChosenCans) {
        size_l: Litres = cans.size,
        /// Fuel in one.
        fill_l: Litres = cans.fill,
        count: u32 = cans.count,
        place: String = cans.place.to_string(),
    }
}

object! {
    struct ChangeReport(changed: &Changed) {
        /// `one-more-can`, `one-more-person`, `more-gear`, `without-roof`, `with-rack`, `slower`, `faster` or `aired-down`.
        change: &'static str = range::change_code(changed.what),
        /// Mass that it adds.
        kg: Kilograms = changed.mass,
        surfaces: Vec<KilometresOn> = TypicalSurface::ALL
            .iter()
            .zip(changed.by_surface)
            .map(|(surface, km)| KilometresOn::new(*surface, km))
            .collect(),
    }
}

object! {
    struct KilometresOn(surface: TypicalSurface, added: Option<Kilometres>) {
        surface: &'static str = range::code(surface),
        /// Distance that it adds to the minimum on arrival, at the success target; `null` if it does nothing there or cannot
        /// be done.
        km: Option<Kilometres> = added,
    }
}
