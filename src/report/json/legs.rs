//! Legs of the JSON report.

use std::collections::BTreeMap;

use crate::model::vocabulary::SurfaceFrom;
use crate::plan::{Plan, PlannedLeg};
use crate::quantity::{Factor, Kilometres, KilometresPerHour, Litres, LitresPer100Km, Share};

object! {
    pub(super) struct Leg(
        plan: &Plan, leg: &PlannedLeg;
        doubt = plan.doubt.as_ref(),
        band = doubt.map(|doubt| doubt.bands[leg.n - 1].end),
        causes = plan.attribution(leg.n).causes.iter()
    ) {
        n: usize = leg.n,
        from: String = leg.from.clone(),
        to: String = leg.to.clone(),
        day: u32 = leg.day,
        distance_km: Kilometres = leg.distance,
        /// Share of the distance whose surface is known.
        surface_known_share: Share = plan.trip.legs[leg.n - 1].surface_known_share(),
        /// `own`, `map` or `invented-map`.
        surface_from: &'static str = plan.trip.legs[leg.n - 1].surface_from.unwrap_or(SurfaceFrom::Own).word(),
        /// What may stop or endanger the vehicle, or costs money.
        hazards: Vec<&'static str> = plan.trip.legs[leg.n - 1].hazards().iter().map(|hazard| hazard.word()).collect(),
        /// Speed on the leg's fastest part: as in the leg, else the trip's, else the usual one on its surface.
        speed_kmh: KilometresPerHour = leg.speed,
        fuel_l: Litres = leg.fuel,
        l_per_100km: Option<LitresPer100Km> = leg.rate,
        /// Factor of each cause over the baseline; their product times the baseline is the leg's consumption, for a driven leg
        /// the one that the formula gives.
        multipliers: Option<BTreeMap<&'static str, Factor>> =
            causes.clone().map(|share| Some((share.cause.key(), share.multiplier?))).collect(),
        /// Litres of the leg without each cause.
        without_l: BTreeMap<&'static str, Litres> = causes.map(|share| (share.cause.key(), share.without)).collect(),
        start_l: Litres = leg.start,
        end_l: Litres = leg.end,
        /// Gauge reading on arrival, unusable fuel included.
        end_tank_l: Litres = leg.end_tank_gauge,
        end_cans_l: Litres = leg.end_cans,
        /// Minimum on arrival: reserve and contingency.
        reserve_l: Litres = leg.reserve,
        /// Reserve on arrival, without the contingency: outcomes are judged by it.
        fixed_reserve_l: Litres = leg.fixed_reserve,
        below_reserve: bool = leg.below_reserve,
        /// Share of simulated trips that use the reserve for the first time on this leg.
        share_first_below_reserve: Option<Share> = doubt.map(|doubt| doubt.first_below[leg.n - 1].share),
        /// Percentiles of the fuel on arrival in the simulated trips that find fuel at every stop relied on, as in
        /// `fuel_checks`.
        end_l_p05: Option<Litres> = band.map(|band| band.low),
        end_l_p50: Option<Litres> = band.map(|band| band.middle),
        end_l_p95: Option<Litres> = band.map(|band| band.high),
        /// The leg's litres are `use_empty_l + use_slope * usable litres at its start`.
        use_empty_l: Litres = leg.use_empty,
        use_slope: Share = leg.use_slope,
    }
}
