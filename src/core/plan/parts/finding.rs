//! What the plan must report: each finding carries its numbers; the sentences are in `present::finding`.

use crate::model::vocabulary::{CarryingPlace, Hazard};
use crate::quantity::{
    Bar, Celsius, Days, Factor, Grade, Hours, Kilograms, Kilometres, KilometresPerHour, Litres,
    Metres, MoneyPerLitre, Share,
};
use crate::solver::carriage::Broken;

use super::carrying::{Elsewhere, NoMoreCans};

use crate::plan::policy::NotLeast;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Do not set out like this.
    Stop,
    /// A danger or a doubtful assumption; the trip may set out.
    Caution,
    /// Worth knowing, nothing to do.
    Note,
}

impl Severity {
    /// The word for it in the JSON report.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Stop => "no-go",
            Self::Caution => "caution",
            Self::Note => "note",
        }
    }
}

/// Where a finding belongs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Where {
    /// The trip as a whole.
    Trip,
    /// The vehicle, on no leg or place in particular.
    Vehicle,
    /// The load, on no leg or place in particular.
    Load,
    /// A place by number.
    Place(usize),
    /// A leg by number, from 1.
    Leg(usize),
}

/// Why a fuel stop is not relied on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NotReliedOn {
    /// Together with those that are relied on it leaves too few trips that may fail for other reasons.
    TooFewMayFail {
        /// The chance that all of them have fuel.
        with_others: Share,
        /// The success target.
        target: Share,
    },
    /// To be able to turn back from it where it has no fuel takes more than to do without it.
    TurningBackTakesMore,
}

/// What was found. Variants are in the order in which they are listed within a severity.
#[derive(Clone, Debug, PartialEq)]
#[expect(missing_docs, reason = "each variant says what its numbers are")]
pub enum What {
    /// No number of cans helps: the start itself has too little.
    ShortAtStart { short: Litres },
    /// The success target is missed: these stops, on which the trip is set to rely, have fuel less often than it
    /// requires; or, with none, too few simulated trips end as it requires.
    TargetMissed {
        stops: Vec<usize>,
        chance: Share,
        target: Share,
    },
    /// No allowed set of cans holds the fuel in cans that is needed.
    CansShort {
        needed: Litres,
        most: Litres,
        why: NoMoreCans,
    },
    /// The fixed reserve is more than a full tank can give.
    ReserveOverTank { reserve: Litres, tank: Litres },
    /// The fuel falls below the reserve on this leg. Where filling more helps, the first and last of the legs that are
    /// short of it; reported on the leg that lacks most.
    BelowReserve {
        left: Litres,
        reserve: Litres,
        covers: Option<[usize; 2]>,
    },
    /// The fuel runs out on this leg; `covers` as before.
    RunsDry {
        short: Litres,
        reserve: Litres,
        covers: Option<[usize; 2]>,
    },
    /// The tank alone falls below its floor on rough or steep ground.
    TankLowOnRough { tank: Litres, floor: Litres },
    /// No refuge behind can be reached from anywhere on the stage that begins here.
    NoTurnBack { to: usize },
    /// Heavier than the vehicle may be.
    OverGvm { mass: Kilograms, limit: Kilograms },
    /// The limit on total mass is not stated.
    GvmUnknown,
    /// More on an axle than it may carry.
    OverAxle {
        front: bool,
        mass: Kilograms,
        limit: Kilograms,
    },
    /// An axle's limit is stated, and not what it takes to know its load.
    AxlesUnknown,
    /// More on the roof than it may carry.
    OverRoof {
        mass: Kilograms,
        limit: Kilograms,
        off_road: bool,
    },
    /// There is a load on the roof and no rating stated.
    RoofRatingUnknown { mass: Kilograms },
    /// More on a carrying place than it may carry.
    OverPlace {
        place: CarryingPlace,
        mass: Kilograms,
        limit: Kilograms,
    },
    /// Fuel is carried on the roof.
    FuelOnRoof { litres: Litres },
    /// Cans are not in the place that is listed first for them.
    CansElsewhere(Elsewhere),
    /// Cans are listed for the place of the passengers, where the plan never puts them.
    FuelInCabin { litres: Litres },
    /// The cans break a published limit on what a private person may carry.
    OverCarriage(Broken),
    /// Heat leaves less of the cans to be filled than their fill share.
    HeatFill { share: Share, air: Celsius },
    /// More is stated in cans at the start than the cans hold.
    StartCansOver { stated: Litres, held: Litres },
    /// More fuel in cans than the rules or usual law allow.
    OverMostInCans { litres: Litres, limit: Litres },
    /// A handbook kerb mass does not hold the rack or the accessories.
    KerbFromBook,
    /// The engine cannot hold the speed on these legs, by number, from 1; the lowest speed, and what is wanted there.
    EngineLimit {
        legs: Vec<usize>,
        slowest: usize,
        speed: KilometresPerHour,
        wanted: KilometresPerHour,
    },
    /// Fast on tyres that are let down.
    AiredDownFast { speed: KilometresPerHour },
    /// Tyres are let down to a pressure that is not below the road's.
    NotSofter { soft: Bar, road: Bar },
    /// The road pressure is below what an axle's tyres need for their heaviest load.
    PressureLow {
        front: bool,
        load: Kilograms,
        needed: Bar,
        road: Bar,
    },
    /// The leg's wind has a direction, and the leg has no bearing: its places have no coordinates, or they are one
    /// place.
    WindIgnored,
    /// So cold that engine, oil and fuel suffer: the coldest leg's temperature, and what it adds to the leg's litres.
    Cold { temperature: Celsius, more: Share },
    /// The engine cannot hold the base speed in the base condition.
    BaselineSpeedNotReached {
        speed: KilometresPerHour,
        wanted: KilometresPerHour,
    },
    /// The baseline consumption does not fit the vehicle.
    FactorOdd { k: Factor },
    /// A baseline consumption from fill-ups without the conditions of those fill-ups.
    BaselineConditionsMissing,
    /// The baseline consumption is a guess: by how much more one vehicle in twenty uses, and with figures from fill-ups.
    BaselineGuessed {
        /// More than the guess.
        more: Share,
        /// More than a figure from fill-ups.
        of_fills: Share,
    },
    /// The length of the leg was taken from the straight line.
    DistanceGuessed {
        straight: Kilometres,
        factor: Factor,
    },
    /// The file of a leg's track is missing; whether climb or descent is set beside the distance.
    TrackUnread { path: String, with_climb: bool },
    /// The surface of a part of the leg is not known: the share that is.
    SurfaceUnknown { known: Share },
    /// Something may stop or endanger the vehicle on the leg, or costs money.
    Hazard(Hazard),
    /// A stated value differs from the track's.
    TrackDiffers(OfTrack),
    /// More driving time than wanted in one day.
    LongDay {
        day: u32,
        hours: Hours,
        limit: Hours,
    },
    /// A day ends after the end of civil twilight, or on a day without any light; hours since its midnight.
    DayAfterDark {
        day: u32,
        arrival: Hours,
        dusk: Option<Hours>,
        latest_departure: Option<Hours>,
    },
    /// A day ends less than an hour before sunset, or after it, and a camp is to be found.
    CampSearch {
        day: u32,
        arrival: Hours,
        sunset: Hours,
        latest_departure: Option<Hours>,
    },
    /// A night high up, much higher than the one before.
    SleepAltitude { altitude: Metres, before: Metres },
    /// Less water than the stated need.
    WaterShort { days_covered: Days, days: Days },
    /// Fuel is carried where water is missing.
    WaterTraded { fuel: Litres, water: Litres },
    /// At the last turn-back point there is less water than the way back takes days.
    WaterShortAtTurnBack {
        at: Kilometres,
        lasts: Days,
        back: Days,
    },
    /// The stated need of water is less than people drink in the heat of the trip.
    WaterHeat { stated: Litres, in_heat: Litres },
    /// Gear that is used up lasts less than the trip.
    SupplyShort {
        name: String,
        lasts: Days,
        days: Days,
    },
    /// No water is listed in the load.
    WaterUnstated,
    /// A stop that may well be dry is relied on.
    UnconfirmedStop { chance: Share },
    /// An unconfirmed fuel stop that is relied on: if it has no fuel, more than one in twenty of the simulated trips
    /// run out whatever is done. The shares that do if they continue and, where a return is possible, if they return.
    StopStrands {
        on_to: usize,
        run_out: Share,
        back: Option<(usize, Share)>,
    },
    /// A stop is not relied on although its chance reaches the success target, or although the trip is set to rely on
    /// it.
    StopNotReliedOn { chance: Share, why: NotReliedOn },
    /// A what-if no longer fits the trip.
    WhatIfStale { name: String, why: String },
    /// Two readings of the log contradict one another or the way, so the factors ignore them.
    LogContradicts { places: [String; 2] },
    /// No departure was written down, so the factors ignore the way to the first reading.
    LogNoDeparture { places: [String; 2] },
    /// Least cost is asked for, and the plan may cost more.
    CostNotLeast { why: NotLeast },
    /// Least cost is asked for, and a stop that is relied on has no price.
    PriceMissing { counted_as: MoneyPerLitre },
    /// More can sets than could be tried.
    CanSetsCut { tried: usize },
    /// More ways to share the stock of a limited fuel stop out among its visits than could be tried.
    SharingCut,
}

/// A figure that a leg states and its track gives too: stated, then the track's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OfTrack {
    /// Length of the leg.
    Distance(Kilometres, Kilometres),
    /// Metres climbed on the leg.
    Ascent(Metres, Metres),
    /// Metres descended on the leg.
    Descent(Metres, Metres),
    /// Mean grade of the climbing.
    AscentGrade(Grade, Grade),
    /// Mean grade of the descending.
    DescentGrade(Grade, Grade),
}

/// A finding with its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Place, leg or part of the trip that it is about.
    pub at: Where,
    /// Kind of the finding, with its figures.
    pub what: What,
}

impl What {
    /// The finding about a place, a leg or a part of the trip.
    pub(crate) fn at(self, at: Where) -> Finding {
        Finding { at, what: self }
    }
}

impl Finding {
    /// No-go, caution or note.
    pub fn severity(&self) -> Severity {
        match &self.what {
            What::ShortAtStart { .. }
            | What::TargetMissed { .. }
            | What::CansShort { .. }
            | What::ReserveOverTank { .. }
            | What::BelowReserve { .. }
            | What::RunsDry { .. }
            | What::OverGvm { .. }
            | What::OverAxle { .. }
            | What::OverRoof { .. }
            | What::OverPlace { .. }
            | What::OverMostInCans { .. }
            | What::WaterShort { .. }
            | What::AiredDownFast { .. }
            | What::Hazard(Hazard::NoAccess | Hazard::Impassable) => Severity::Stop,
            What::TankLowOnRough { .. }
            | What::NoTurnBack { .. }
            | What::GvmUnknown
            | What::AxlesUnknown
            | What::RoofRatingUnknown { .. }
            | What::FuelOnRoof { .. }
            | What::FuelInCabin { .. }
            | What::OverCarriage(_)
            | What::WaterTraded { .. }
            | What::WaterShortAtTurnBack { .. }
            | What::WaterHeat { .. }
            | What::SupplyShort { .. }
            | What::WaterUnstated
            | What::KerbFromBook
            | What::EngineLimit { .. }
            | What::NotSofter { .. }
            | What::PressureLow { .. }
            | What::WindIgnored
            | What::Cold { .. }
            | What::StartCansOver { .. }
            | What::BaselineSpeedNotReached { .. }
            | What::FactorOdd { .. }
            | What::TrackDiffers(_)
            | What::TrackUnread { .. }
            | What::SurfaceUnknown { .. }
            | What::Hazard(
                Hazard::FourWheelOnly
                | Hazard::Ford
                | Hazard::Seasonal
                | Hazard::Private
                | Hazard::Rough
                | Hazard::VeryRough
                | Hazard::Extreme,
            )
            | What::LongDay { .. }
            | What::DayAfterDark { .. }
            | What::CampSearch { .. }
            | What::UnconfirmedStop { .. }
            | What::StopStrands { .. }
            | What::WhatIfStale { .. }
            | What::CostNotLeast { .. }
            | What::PriceMissing { .. }
            | What::LogContradicts { .. }
            | What::BaselineGuessed { .. }
            | What::LogNoDeparture { .. } => Severity::Caution,
            What::BaselineConditionsMissing
            | What::SleepAltitude { .. }
            | What::StopNotReliedOn { .. }
            | What::CansElsewhere(_)
            | What::DistanceGuessed { .. }
            | What::Hazard(Hazard::Toll | Hazard::Ferry)
            | What::HeatFill { .. }
            | What::CanSetsCut { .. }
            | What::SharingCut => Severity::Note,
        }
    }

    /// The stable code, which begins with what the finding concerns.
    pub fn code(&self) -> &'static str {
        match &self.what {
            What::ShortAtStart { .. } => "start-short",
            What::TargetMissed { .. } => "target-missed",
            What::CansShort { .. } => "cans-short",
            What::ReserveOverTank { .. } => "reserve-over-tank",
            What::BelowReserve { .. } => "reserve-broken",
            What::RunsDry { .. } => "reserve-runs-dry",
            What::TankLowOnRough { .. } => "reserve-tank-on-rough",
            What::NoTurnBack { .. } => "turn-back-none",
            What::OverGvm { .. } => "gvm-over",
            What::GvmUnknown => "gvm-unknown",
            What::OverAxle { .. } => "axle-over",
            What::AxlesUnknown => "axle-load-unknown",
            What::OverRoof { .. } => "roof-over",
            What::RoofRatingUnknown { .. } => "roof-rating-unknown",
            What::OverPlace { .. } => "place-over",
            What::FuelOnRoof { .. } => "roof-fuel",
            What::CansElsewhere(_) => "cans-elsewhere",
            What::FuelInCabin { .. } => "cabin-fuel",
            What::OverMostInCans { .. } => "cans-over-limit",
            What::KerbFromBook => "kerb-from-book",
            What::EngineLimit { .. } => "engine-limit",
            What::AiredDownFast { .. } => "tyres-soft-and-fast",
            What::NotSofter { .. } => "tyres-not-softer",
            What::PressureLow { .. } => "tyres-pressure-low",
            What::WindIgnored => "wind-ignored",
            What::Cold { .. } => "cold",
            What::StartCansOver { .. } => "start-cans-over",
            What::BaselineSpeedNotReached { .. } => "baseline-speed-not-reached",
            What::FactorOdd { .. } => "baseline-factor-odd",
            What::BaselineConditionsMissing => "baseline-conditions-missing",
            What::BaselineGuessed { .. } => "baseline-guessed",
            What::DistanceGuessed { .. } => "distance-guessed",
            What::TrackDiffers(_) => "track-differs",
            What::TrackUnread { .. } => "track-unread",
            What::SurfaceUnknown { .. } => "surface-unknown",
            What::Hazard(hazard) => match hazard {
                Hazard::FourWheelOnly => "hazard-4wd-only",
                Hazard::Ford => "hazard-ford",
                Hazard::Seasonal => "hazard-seasonal",
                Hazard::NoAccess => "hazard-no-access",
                Hazard::Private => "hazard-private",
                Hazard::Toll => "hazard-toll",
                Hazard::Ferry => "hazard-ferry",
                Hazard::Rough => "hazard-rough",
                Hazard::VeryRough => "hazard-very-rough",
                Hazard::Extreme => "hazard-extreme",
                Hazard::Impassable => "hazard-impassable",
            },
            What::LongDay { .. } => "day-long",
            What::DayAfterDark { .. } => "day-after-dark",
            What::CampSearch { .. } => "camp-search",
            What::SleepAltitude { .. } => "sleep-altitude",
            What::WaterShort { .. } => "water-short",
            What::OverCarriage(_) => "carriage-over",
            What::HeatFill { .. } => "cans-fill-in-heat",
            What::WaterTraded { .. } => "water-traded-for-fuel",
            What::WaterShortAtTurnBack { .. } => "water-short-at-turn-back",
            What::WaterHeat { .. } => "water-need-in-heat",
            What::SupplyShort { .. } => "supplies-short",
            What::WaterUnstated => "water-unstated",
            What::UnconfirmedStop { .. } => "stop-unconfirmed",
            What::StopStrands { .. } => "stop-strands",
            What::StopNotReliedOn { .. } => "stop-not-relied-on",
            What::WhatIfStale { .. } => "what-if-stale",
            What::LogContradicts { .. } => "log-contradicts",
            What::LogNoDeparture { .. } => "log-no-departure",
            What::CostNotLeast { .. } => "cost-not-least",
            What::PriceMissing { .. } => "cost-price-missing",
            What::CanSetsCut { .. } => "cans-not-all-tried",
            What::SharingCut => "stop-shares-not-all-tried",
        }
    }
}
