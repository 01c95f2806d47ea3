//! What the vehicle carries.

use crate::plan::supplies::Water as PlannedWater;
use crate::plan::{Departure, LoadBar, LoadLimit, Plan, Room};
use crate::present::load::{at_heaviest, name};
use crate::present::payload::parts;
use crate::quantity::{Days, Kilograms, Kilometres, Litres};

object! {
    pub(super) struct Load(
        plan: &Plan;
        load = &plan.load,
        roof = bar(plan, |what| matches!(what, LoadLimit::Roof { .. })),
        front = bar(plan, |what| what == LoadLimit::FrontAxle),
        rear = bar(plan, |what| what == LoadLimit::RearAxle)
    ) {
        heaviest_at: String = plan.trip.place(load.heaviest_at).name.to_owned(),
        heaviest_at_place_number: usize = load.heaviest_at,
        mass_kg: Kilograms = load.mass,
        gvm_kg: Option<Kilograms> = load.gvm,
        left_kg: Option<Kilograms> = load.gvm.map(|limit| limit - load.mass),
        roof_kg: Option<Kilograms> = roof.map(|bar| bar.mass),
        roof_limit_kg: Option<Kilograms> = roof.and_then(|bar| bar.limit),
        /// The highest front axle load of any departure; `null` if unknown.
        front_axle_kg: Option<Kilograms> = front.map(|bar| bar.mass),
        front_axle_limit_kg: Option<Kilograms> = front.and_then(|bar| bar.limit),
        rear_axle_kg: Option<Kilograms> = rear.map(|bar| bar.mass),
        rear_axle_limit_kg: Option<Kilograms> = rear.and_then(|bar| bar.limit),
        /// What the mass at the heaviest departure is made of; empty on a trip that is over.
        made_of: Vec<MassPart> = MassPart::all(plan),
        /// The largest mass and the smallest margins of each day.
        by_day: Vec<DayMargins> = DayMargins::all(plan),
        /// What can still be loaded in each place.
        room: Vec<RoomReport> = load.room.iter().map(|room| RoomReport::new(plan, room)).collect(),
        /// `null` if nobody is on board or no water is listed.
        water: Option<Water> = load.supplies.water.map(|water| Water::new(&water, load.supplies.days)),
    }
}

object! {
    pub(super) struct Water(water: &PlannedWater, trip: Days; point = water.at_turn_back) {
        on_board_l: Litres = water.on_board,
        person_day_l: Litres = water.person_day,
        lasts_days: Days = water.lasts,
        trip_days: Days = trip,
        /// At the last turn-back point: days that the water lasts from there, and days that the return takes.
        turn_back_km: Option<Kilometres> = point.map(|point| point.at_km),
        lasts_at_turn_back_days: Option<Days> = point.map(|point| point.lasts),
        way_back_days: Option<Days> = point.map(|point| point.back),
    }
}

fn bar(plan: &Plan, of: fn(LoadLimit) -> bool) -> Option<&LoadBar> {
    plan.load.bars.iter().find(|bar| of(bar.what))
}

object! {
    struct MassPart(part: &'static str, mass: Kilograms) {
        /// `empty vehicle`, `people`, `gear` (without the water), `roof rack`, `water`, `empty cans` or `fuel`.
        part: &'static str = part,
        kg: Kilograms = mass,
    }
}

impl MassPart {
    fn all(plan: &Plan) -> Vec<Self> {
        let departure = at_heaviest(plan).into_iter();
        let parts = departure.flat_map(|at| parts(&at.made_of));
        parts.map(|(part, mass)| Self::new(part, mass)).collect()
    }
}

object! {
    struct DayMargins(plan: &Plan, departures: &[Departure]; bars = plan.bars_of(departures)) {
        day: u32 = departures[0].day,
        /// The largest mass of the day.
        mass_kg: Kilograms = departures.iter().map(|at| at.mass).reduce(Kilograms::max).unwrap_or_default(),
        margins: Vec<MarginReport> = bars.iter().filter(|bar| bar.limit.is_some()).map(MarginReport::new).collect(),
    }
}

impl DayMargins {
    fn all(plan: &Plan) -> Vec<Self> {
        let days = plan.load.departures.chunk_by(|a, b| a.day == b.day);
        days.map(|day| Self::new(plan, day)).collect()
    }
}

object! {
    struct MarginReport(bar: &LoadBar) {
        limit: &'static str = name(bar.what),
        margin_kg: Option<Kilograms> = bar.left(),
    }
}

object! {
    struct RoomReport(plan: &Plan, room: &Room) {
        place: String = room.place.to_string(),
        /// Below 0 if a limit is exceeded.
        kg: Kilograms = room.mass,
        /// The limit that leaves no more.
        limit: &'static str = name(room.limit),
        /// The place of the departure at which that is so.
        at: String = plan.trip.place(room.place_number).name.to_owned(),
    }
}
