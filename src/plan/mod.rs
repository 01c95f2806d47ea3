//! A trip and all that follows from it.
//!
//! [`Plan::of`] is the only way to a plan; screen, report and JSON read the same plan and compute
//! nothing of their own. All fuel on board is *usable* fuel unless a field says `gauge`.

mod answers;
mod facts;
mod kept;
mod lay_out;
mod parts;
mod policy;
mod questions;
mod search;
mod under_way;

use std::sync::{Arc, OnceLock};

use crate::consumption::leg::LegFormula;
use crate::consumption::usage::Usage;
use crate::model::Trip;
use crate::model::vocabulary::{CarryingPlace, Surface};
use crate::quantity::{
    Hours, Kilograms, Kilometres, KilometresPerHour, Litres, LitresPer100Km, Metres, Money, Share,
};
pub use answers::dry;
use dry::{DryAt, DryPair, DryStops};
pub use parts::{doubt, finding, supplies};
pub use questions::{ahead, difference, learn, ledger, others, tipping, ways};
pub use under_way::behind;

pub use finding::{Finding, NotLeast, OfTrack, Severity, What, Where};

pub use crate::consumption::base::Base as BaseFigure;
pub use crate::consumption::causes::{Cause, CauseShare};
pub use crate::doubt::drivers::{Driver, Uncertain};
pub use crate::doubt::study::{Band, Effort};
pub use crate::doubt::tally::{Odds, Quantile};
pub use crate::doubt::world::Unknown;
pub use crate::solver::axles::AxleLoads;
pub use crate::solver::cans::ChosenCans;
use crate::solver::fuel::ROUNDING;
pub use crate::solver::load::{Departure, LoadBar, LoadLimit, MadeOf};
pub use doubt::Doubt;
use kept::what_if_dry::WhatIfDry;
use others::Others;
use supplies::Supplies;
use ways::Ways;

/// A plan. The plain one takes everything at its likely value and relies on stops with a chance of a half or more; the
/// one at the confidence is laid out with what the samples ask for, its legs still at their likely litres.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The trip that was planned.
    pub trip: Arc<Trip>,
    /// The figure that everything is scaled to.
    pub base: BaseFigure,
    /// Sums over the trip.
    pub totals: Totals,
    /// The legs in driving order.
    pub legs: Vec<PlannedLeg>,
    /// Every fuel stop in driving order, used or not.
    pub stops: Vec<Stop>,
    /// When to pour which can.
    pub pours: Vec<Pour>,
    /// The go/no-go card: places, and every 50 km off the sealed road, in driving order.
    pub decisions: Vec<Decision>,
    /// The runs of legs between counted fuel stops.
    pub stretches: Vec<Stretch>,
    /// The spare fuel.
    pub spare: Spare,
    /// Masses against their limits.
    pub load: LoadPlan,
    /// Tank and cans along the way.
    pub course: Vec<Span>,
    /// Each pump that is relied on, found dry on arrival; what it costs to do without is in [`Plan::dry`].
    pub found_dry: Vec<DryAt>,
    /// Each pump that the plan does not rely on, found dry by whoever drives there, in driving order.
    pub passed_dry: Vec<DryAt>,
    /// What must be told, gravest first.
    pub findings: Vec<Finding>,
    /// What the samples say, where the plan is one at a confidence.
    pub doubt: Option<Doubt>,
    /// What lies behind, where the trip is under way: legs behind stand as they were driven, and the plan begins at the
    /// last reading of the log.
    pub behind: Option<Box<behind::Behind>>,
    /// The legs as the formula sees them.
    formulas: Vec<LegFormula>,
    /// The legs' use by what is on board.
    usages: Vec<Usage>,
    /// Why each leg costs what it costs, once it was asked for.
    why: Vec<OnceLock<Attribution>>,
    /// Ways to make it fit, once they were asked for.
    ways: OnceLock<Ways>,
    /// Why these cans, once it was asked for.
    other_cans: OnceLock<Option<Others>>,
    /// What is kept to be asked what if a pump is dry, and the answer once it was asked for.
    what_if_dry: WhatIfDry,
    /// What to learn of the vehicle before setting out, once it was asked for.
    lessons: OnceLock<Vec<learn::Lesson>>,
    /// The plan that the trip set out with, once it was asked for.
    set_out: OnceLock<Arc<Plan>>,
    dry: OnceLock<DryStops>,
    dry_pair: OnceLock<Option<DryPair>>,
    /// What is kept to split the spare fuel, and the split once it was asked for.
    books: ledger::Books,
    ledger: OnceLock<ledger::Ledger>,
}

/// In one word, whether to set out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// The tank alone does it.
    TankDoes,
    /// It goes through with the chosen cans, within every limit.
    CansDo,
    /// The fuel goes through, but a load limit is broken.
    Overloaded,
    /// The fuel does not go through.
    FuelShort(Litres),
}

/// Sums over the trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Totals {
    /// All legs, without detours to pumps.
    pub distance: Kilometres,
    /// Litres burnt.
    pub fuel: Litres,
    /// Consumption over all; nothing when nothing is driven.
    pub rate: Option<LitresPer100Km>,
    /// Metres climbed.
    pub ascent: Metres,
    /// Hours at the wheel.
    pub driving: Hours,
    /// What the fuel costs, where every stop that is used has a price.
    pub cost: Option<Money>,
}

/// One leg as planned.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedLeg {
    /// Number, from 1.
    pub n: usize,
    /// Name of the place it starts from.
    pub from: String,
    /// Name of the place it ends at.
    pub to: String,
    /// Day of the trip.
    pub day: u32,
    /// Ground.
    pub surface: Surface,
    /// Where it starts, from the start of the trip.
    pub from_km: Kilometres,
    /// Its length.
    pub distance: Kilometres,
    /// Metres climbed.
    pub ascent: Metres,
    /// Metres descended.
    pub descent: Metres,
    /// Hours at the wheel.
    pub driving: Hours,
    /// Litres burnt.
    pub fuel: Litres,
    /// Consumption; nothing for a leg of no length.
    pub rate: Option<LitresPer100Km>,
    /// Usable litres on departure, cans included.
    pub start: Litres,
    /// Usable litres on arrival, cans included, before any filling.
    pub end: Litres,
    /// What the gauge shows on arrival, unusable litres included.
    pub end_tank_gauge: Litres,
    /// Litres in cans on arrival.
    pub end_cans: Litres,
    /// What must be left on arrival: the fixed part and the share of all use to the next counted stop.
    pub reserve: Litres,
    /// Whether less than that is left.
    pub below_reserve: bool,
    /// Litres of the leg with nothing on board, and litres more for each litre on board at its start.
    pub use_empty: Litres,
    /// See `use_empty`.
    pub use_slope: Share,
    /// Where the engine's limit holds the leg somewhere, the lowest speed there, and the one that was wanted.
    pub held: Option<(KilometresPerHour, KilometresPerHour)>,
    /// Litres on board that, held steady, give the leg its litres; hours, causes and printed working are taken there.
    pub steady: Litres,
}

/// Why a leg costs what it costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Attribution {
    /// Each cause with its factor over base (nothing on a leg of no length) and the litres of the leg without it.
    pub causes: Vec<CauseShare>,
}

/// What is done at a fuel stop.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// Place number.
    pub node: usize,
    /// Name.
    pub place: String,
    /// From the start of the trip.
    pub at_km: Kilometres,
    /// Whether the plan relies on it.
    pub counted: bool,
    /// Chance of having fuel.
    pub chance: Share,
    /// Litres it has, nothing when unlimited.
    pub supply: Option<Litres>,
    /// How often the trip comes to it; all visits share what it has.
    pub visits: usize,
    /// Litres put in the tank.
    pub tank: Litres,
    /// Litres put in cans.
    pub cans: Litres,
    /// How many cans are filled.
    pub cans_filled: u32,
    /// Usable litres on leaving.
    pub after: Litres,
    /// Extra way that is driven to use it; 0 when it is not used.
    pub detour: Kilometres,
    /// Whether it takes an extra way to come to it.
    pub off_route: bool,
    /// What it costs, where a price is stated.
    pub cost: Option<Money>,
}

/// One can emptied into the tank.
#[derive(Clone, Debug, PartialEq)]
pub struct Pour {
    /// Where it is done, from the start of the trip.
    pub at_km: Kilometres,
    /// The leg on which, or before which, it is done, from 1.
    pub leg: usize,
    /// The place, unless it is done on the road.
    pub node: Option<usize>,
    /// Litres that reach the tank.
    pub litres: Litres,
    /// Litres spilt and left in the can.
    pub lost: Litres,
    /// Size of the can.
    pub can_size: Litres,
    /// Where the can was carried.
    pub from: CarryingPlace,
    /// The can fits once the gauge shows no more than this, unusable litres included.
    pub when_tank_at_most_gauge: Litres,
    /// The first kilometre at which it fits.
    pub earliest_km: Kilometres,
    /// The last kilometre at which the tank alone still holds what it must.
    pub latest_km: Kilometres,
}

/// A line of the go/no-go card: litres on arrival, tank and cans together, usable.
#[derive(Clone, Debug, PartialEq)]
pub struct Decision {
    /// Place number; nothing for a point on the road.
    pub node: Option<usize>,
    /// Name of the place, or of the place that the leg leads to.
    pub place: String,
    /// From the start of the trip.
    pub at_km: Kilometres,
    /// With this much or more, go on, whether or not anything can be had here. Nothing where tank and cans
    /// together never hold so much.
    pub go_on: Option<Litres>,
    /// With this much or more, go on after filling tank and cans here as the stops say. Nothing where the plan
    /// relies on no fuel.
    pub fill_cans: Option<Litres>,
    /// With less than this, turn back.
    pub turn_back: Litres,
    /// The way back from here. Nothing where no sure pump lies behind, where a leg cannot be driven the other way,
    /// or where tank and cans together never hold what that takes.
    pub back: Option<WayBack>,
}

/// What going back takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WayBack {
    /// The nearest sure pump behind, as a place number.
    pub refuge: usize,
    /// With this much aboard it is reached with the fixed reserve untouched; what pouring the cans loses is
    /// counted.
    pub needed: Litres,
}

/// A run of legs from one counted fuel stop to the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Place number where it starts.
    pub from: usize,
    /// Place number where it ends.
    pub to: usize,
    /// Where it starts, from the start of the trip.
    pub from_km: Kilometres,
    /// Its length.
    pub distance: Kilometres,
    /// Usable litres needed on departure.
    pub required: Litres,
    /// What a full tank can give.
    pub tank: Litres,
    /// What must be in cans.
    pub spare: Litres,
    /// The last point from which a refuge behind can be reached.
    pub turn_back: Option<TurnBack>,
    /// The last point from which a doubtful stop behind, nearer than the refuge, can be reached.
    pub doubtful_turn_back: Option<TurnBack>,
}

/// The last point from which a place behind can still be reached with the fixed reserve untouched.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TurnBack {
    /// From the start of the trip.
    pub at_km: Kilometres,
    /// The place behind.
    pub refuge: usize,
    /// The chance that it has fuel.
    pub chance: Share,
    /// Usable litres on board at the point.
    pub on_board: Litres,
    /// Way back to the place.
    pub way_back: Kilometres,
    /// Litres that the way back takes.
    pub needs: Litres,
    /// What was left in a limited stop; nothing for a refuge.
    pub left: Option<Litres>,
}

/// The spare fuel.
#[derive(Clone, Debug, PartialEq)]
pub struct Spare {
    /// Spare litres that the plain plan needs in the tank, with the chosen cans aboard.
    pub plain: Litres,
    /// The same with what is lost in pouring; this much must be in cans.
    pub needed: Litres,
    /// Fill of the chosen cans.
    pub carried: Litres,
    /// Whether what is carried covers what is needed, pouring losses included.
    pub covers: bool,
    /// What the start itself lacks; no can cures it.
    pub short_at_start: Litres,
    /// The chosen cans, equal ones together.
    pub cans: Vec<ChosenCans>,
}

/// Masses against their limits.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadPlan {
    /// Place number of the heaviest departure.
    pub heaviest_at: usize,
    /// Mass there.
    pub mass: Kilograms,
    /// Gross vehicle mass limit, where stated.
    pub gvm: Option<Kilograms>,
    /// Each limit with what it bears at its worst departure, total mass first.
    pub bars: Vec<LoadBar>,
    /// Mass at every departure.
    pub departures: Vec<Departure>,
    /// Water and what else is used up.
    pub supplies: Supplies,
}

/// Tank and cans between two events on one leg; the cans do not change within it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Span {
    /// Leg number, from 1.
    pub leg: usize,
    /// Where it starts, from the start of the trip.
    pub from_km: Kilometres,
    /// Where it ends.
    pub to_km: Kilometres,
    /// Usable litres in the tank at its start.
    pub tank_from: Litres,
    /// Usable litres in the tank at its end; below 0 is what is missing.
    pub tank_to: Litres,
    /// Litres in cans.
    pub cans: Litres,
    /// What must be left at its start, on a straight line from one end of its leg to the other.
    pub reserve_from: Litres,
    /// What must be left at its end.
    pub reserve_to: Litres,
}

/// Fuel on board at a point of the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnBoard {
    /// Usable litres in the tank; below 0 is what is missing.
    pub tank: Litres,
    /// Litres in cans.
    pub cans: Litres,
    /// What must be left.
    pub reserve: Litres,
}

impl Plan {
    /// Plans the trip with everything at its likely value; from the last reading of its log on, where it has one.
    pub fn of(trip: impl Into<Arc<Trip>>) -> Self {
        lay_out::plan(&trip.into())
    }

    /// The same at the confidence that its rules ask for.
    pub fn at_confidence(trip: impl Into<Arc<Trip>>, effort: Effort) -> Self {
        doubt::plan(&trip.into(), effort)
    }

    /// In one word, whether to set out.
    pub fn verdict(&self) -> Verdict {
        let spare = &self.spare;
        if spare.short_at_start > ROUNDING {
            return Verdict::FuelShort(spare.short_at_start);
        }
        if !spare.covers {
            return Verdict::FuelShort(spare.needed - spare.carried);
        }
        if self.load.bars.iter().any(LoadBar::is_over) {
            return Verdict::Overloaded;
        }
        if spare.cans.is_empty() {
            Verdict::TankDoes
        } else {
            Verdict::CansDo
        }
    }

    /// Why leg number `n` (from 1) costs what it costs; computed when first asked for.
    ///
    /// # Panics
    /// When there is no such leg.
    pub fn attribution(&self, n: usize) -> &Attribution {
        self.why[n - 1].get_or_init(|| Attribution {
            causes: self.formulas[n - 1].causes(self.legs[n - 1].steady),
        })
    }

    /// What if a pump is dry or a can is lost; computed when first asked for.
    pub fn dry(&self) -> &DryStops {
        self.dry
            .get_or_init(|| self.what_if_dry.each(&self.found_dry))
    }

    /// What if two pumps are dry: the pair that costs most, where there are two; computed when first asked for.
    pub fn dry_pair(&self) -> Option<&DryPair> {
        self.dry_pair
            .get_or_init(|| self.what_if_dry.worst_pair(&self.dry().stops))
            .as_ref()
    }

    /// What the spare fuel is carried for; computed when first asked for.
    pub fn ledger(&self) -> &ledger::Ledger {
        self.ledger.get_or_init(|| self.books.ledger(self))
    }

    /// What [`Plan::ledger`] gives, if it was asked before.
    pub fn known_ledger(&self) -> Option<&ledger::Ledger> {
        self.ledger.get()
    }

    /// Ways to make it fit, the least change first; none where the fuel is enough and the load within its limits.
    /// Computed when first asked for, which takes as long as hundreds of plans.
    pub fn ways(&self) -> &Ways {
        self.ways
            .get_or_init(|| ways::search(self, &|| true).unwrap_or_default())
    }

    /// Why the chosen cans and not others of as many; nothing where there are none, or too many others. Computed when first
    /// asked for.
    pub fn other_cans(&self) -> Option<Others> {
        let spare = &self.spare;
        let others = || Others::of(&self.trip, &spare.cans, spare.needed);
        *self.other_cans.get_or_init(others)
    }

    /// Whether fuel is short or the load too heavy, so that there is something to make fit.
    pub fn needs_ways(&self) -> bool {
        ways::are_needed(self)
    }

    /// Ways to make it fit, if they were searched for.
    pub fn known_ways(&self) -> Option<&Ways> {
        self.ways.get()
    }

    /// Searches for ways as long as `is_wanted` says that somebody waits for them; whether they are known now.
    pub fn search_ways(&self, is_wanted: &dyn Fn() -> bool) -> bool {
        if self.ways.get().is_none()
            && let Some(found) = ways::search(self, is_wanted)
        {
            // Where another thread was quicker, it found the same.
            let _ = self.ways.set(found);
        }
        self.ways.get().is_some()
    }

    /// Leg number `n` (from 1) as the formula sees it.
    ///
    /// # Panics
    /// When there is no such leg.
    pub fn formula(&self, n: usize) -> &LegFormula {
        &self.formulas[n - 1]
    }

    /// What the odometer will show at a kilometre of the trip, counted from the stated reading at the start, or
    /// from 0 like a trip meter. Nothing when it shows true kilometres and no reading is stated.
    pub fn odometer_at(&self, km: Kilometres) -> Option<Kilometres> {
        let factor = self.trip.vehicle.odometer_factor();
        let start = self.trip.start.odometer_km;
        if let Some(behind) = self.behind.as_deref() {
            let here = self.here().unwrap_or_default();
            if km >= here || start.is_none() {
                let shown = behind.odometer + (km - here).shown(factor);
                return Some(shown.max(Kilometres::ZERO));
            }
        }
        let tells = start.is_some() || (factor.get() - 1.0).abs() > 1e-9;
        tells.then(|| start.unwrap_or_default() + km.shown(factor))
    }

    /// Fuel on board at a kilometre of the trip, after all that is done there.
    pub fn on_board_at(&self, km: Kilometres) -> OnBoard {
        let last = self
            .course
            .partition_point(|span| span.from_km <= km)
            .saturating_sub(1);
        let Some(span) = self.course.get(last) else {
            return OnBoard {
                tank: Litres::ZERO,
                cans: Litres::ZERO,
                reserve: Litres::ZERO,
            };
        };
        let part = |length: Kilometres| {
            if length > Kilometres::ZERO {
                ((km - span.from_km) / length).clamp(0.0, 1.0)
            } else {
                1.0
            }
        };
        let leg = &self.legs[span.leg - 1];
        let driven = (span.to_km - span.from_km).min((km - span.from_km).max(Kilometres::ZERO));
        let of_leg = if leg.distance > Kilometres::ZERO {
            driven / leg.distance
        } else {
            1.0
        };
        let used = self.usages[span.leg - 1]
            .part(Share::new(of_leg))
            .litres(span.tank_from + span.cans);
        OnBoard {
            tank: span.tank_from - used,
            cans: span.cans,
            reserve: span.reserve_from
                + (span.reserve_to - span.reserve_from) * part(span.to_km - span.from_km),
        }
    }
}
