//! A trip and all that follows from it.
//!
//! [`Plan::of`] is the only way to a plan; screen, report and JSON read the same plan and compute
//! nothing of their own. All fuel on board is *usable* fuel unless a field says `gauge`.

pub mod finding;

use std::sync::Arc;

use crate::consumption::causes::Cause;
use crate::model::Trip;
use crate::model::vocabulary::{CarryingPlace, Surface};
use crate::quantity::{
    Factor, Hours, Kilograms, Kilometres, KilometresPerHour, Litres, LitresPer100Km, Metres, Money,
    Share,
};
pub use finding::{Finding, Severity, What, Where};

/// The plain plan: everything at its likely value, stops with a chance of a half or more relied on.
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
    /// What must be told, gravest first.
    pub findings: Vec<Finding>,
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

/// The base figure and how the model was scaled to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BaseFigure {
    /// Consumption in the reference condition.
    pub reference: LitresPer100Km,
    /// Litres really burnt for each litre of the unscaled model.
    pub k: Factor,
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
    /// The speed to which the engine's limit holds the leg somewhere, if it does.
    pub held_to: Option<KilometresPerHour>,
}

/// Why a leg costs what it costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Attribution {
    /// Each cause with its factor over base (nothing on a leg of no length) and the litres of the leg without it.
    pub causes: Vec<CauseShare>,
}

/// One cause's part in a leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CauseShare {
    /// The cause.
    pub cause: Cause,
    /// Its factor; the product of all times base is the leg's consumption.
    pub multiplier: Option<Factor>,
    /// Litres of the leg without the cause.
    pub without: Litres,
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
    /// With this much or more, go on (after filling the tank, where there is fuel). Nothing when
    /// a full tank alone is never enough.
    pub go_on: Option<Litres>,
    /// With this much or more, go on after filling the cans too. Nothing where cans cannot be filled or change nothing.
    pub fill_cans: Option<Litres>,
    /// With less than this, turn back.
    pub turn_back: Litres,
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
}

/// The spare fuel.
#[derive(Clone, Debug, PartialEq)]
pub struct Spare {
    /// Spare litres that the plain plan needs with the chosen cans aboard.
    pub plain: Litres,
    /// Fill of the chosen cans.
    pub carried: Litres,
    /// Whether what is carried covers what is needed, pouring losses included.
    pub covers: bool,
    /// The chosen cans, equal ones together.
    pub cans: Vec<ChosenCans>,
}

/// Equal cans in one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChosenCans {
    /// Size of one.
    pub size: Litres,
    /// Fuel in one.
    pub fill: Litres,
    /// Mass of one, empty.
    pub empty: Kilograms,
    /// How many.
    pub count: u32,
    /// Where.
    pub place: CarryingPlace,
    /// How many of them must be bought.
    pub to_buy: u32,
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
}

/// One limit and what it bears at its worst departure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoadBar {
    /// What is limited.
    pub what: LoadLimit,
    /// Place number of the worst departure.
    pub node: usize,
    /// Mass there.
    pub mass: Kilograms,
    /// The limit; nothing when none is stated.
    pub limit: Option<Kilograms>,
}

/// What a load limit is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadLimit {
    /// Total mass.
    Gvm,
    /// The roof; `off_road` when the limit off sealed roads is the one that binds.
    Roof {
        /// Whether the limit off sealed roads applies.
        off_road: bool,
    },
    /// A carrying place.
    Place(CarryingPlace),
}

/// Masses at one departure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Departure {
    /// Place number.
    pub node: usize,
    /// Total mass.
    pub mass: Kilograms,
    /// Carrier, items and cans on the roof.
    pub roof: Kilograms,
    /// Items and cans on the rear carrier.
    pub rear: Kilograms,
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
    /// Share of the reserve line: what must be left at its start.
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
    /// Plans the trip.
    pub fn of(trip: impl Into<Arc<Trip>>) -> Self {
        placeholder::plan(trip.into())
    }

    /// In one word, whether to set out.
    pub fn verdict(&self) -> Verdict {
        Verdict::TankDoes
    }

    /// Why leg number `n` (from 1) costs what it costs; computed when first asked for.
    ///
    /// # Panics
    /// When there is no such leg.
    pub fn attribution(&self, n: usize) -> Attribution {
        let leg = &self.legs[n - 1];
        Attribution {
            causes: Cause::ALL
                .iter()
                .map(|&cause| CauseShare {
                    cause,
                    multiplier: leg.rate.map(|_| Factor::new(1.05)),
                    without: leg.fuel / 1.05,
                })
                .collect(),
        }
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
        let length = span.to_km - span.from_km;
        let part = if length > Kilometres::ZERO {
            ((km - span.from_km) / length).clamp(0.0, 1.0)
        } else {
            1.0
        };
        OnBoard {
            tank: span.tank_from + (span.tank_to - span.tank_from) * part,
            cans: span.cans,
            reserve: span.reserve_from + (span.reserve_to - span.reserve_from) * part,
        }
    }
}

mod placeholder {
    use super::*;
    pub fn plan(trip: Arc<Trip>) -> Plan {
        let days = trip.days();
        let tank_full = trip.vehicle.usable_tank();
        let can = ChosenCans {
            size: Litres::new(20.0),
            fill: Litres::new(19.0),
            empty: Kilograms::new(4.3),
            count: 1,
            place: CarryingPlace::Rear,
            to_buy: 0,
        };
        let (mut km, mut tank, mut cans) = (Kilometres::ZERO, tank_full, can.fill);
        let (mut legs, mut course, mut stops, mut decisions, mut stretches, mut pours) =
            (vec![], vec![], vec![], vec![], vec![], vec![]);
        let mut stretch_from = (0usize, km);
        for (i, leg) in trip.legs.iter().enumerate() {
            let distance = leg.distance_km.unwrap_or(Kilometres::new(50.0));
            let rate = LitresPer100Km::new(11.0 + 2.0 * leg.surface() as u8 as f64);
            let fuel = distance * crate::quantity::LitresPerKm::from(rate);
            let start = tank + cans;
            let mut from = km;
            let mut tank_from = tank;
            let to = km + distance;
            let end_tank = tank - fuel;
            let mut end_tank2 = end_tank;
            if cans > Litres::ZERO && end_tank < Litres::new(8.0) {
                let mid = km + distance * 0.5;
                course.push(Span {
                    leg: i + 1,
                    from_km: km,
                    to_km: mid,
                    tank_from,
                    tank_to: tank_from - fuel * 0.5,
                    cans,
                    reserve_from: Litres::new(9.0),
                    reserve_to: Litres::new(8.0),
                });
                pours.push(Pour {
                    at_km: mid,
                    leg: i + 1,
                    node: None,
                    litres: cans - Litres::new(0.2),
                    lost: Litres::new(0.2),
                    can_size: can.size,
                    from: can.place,
                    when_tank_at_most_gauge: Litres::new(36.0),
                    earliest_km: mid,
                    latest_km: mid + distance * 0.2,
                });
                tank_from = tank_from - fuel * 0.5 + cans - Litres::new(0.2);
                end_tank2 = tank_from - fuel * 0.5;
                from = mid;
                cans = Litres::ZERO;
            }
            course.push(Span {
                leg: i + 1,
                from_km: from,
                to_km: to,
                tank_from,
                tank_to: end_tank2,
                cans,
                reserve_from: Litres::new(9.0),
                reserve_to: Litres::new(6.0),
            });
            tank = end_tank2;
            legs.push(PlannedLeg {
                n: i + 1,
                from: trip.place(i).name.to_owned(),
                to: leg.to.clone(),
                day: days[i],
                surface: leg.surface(),
                from_km: km,
                distance,
                ascent: leg.ascent_m.unwrap_or_default(),
                descent: leg.descent_m.unwrap_or_default(),
                driving: distance / KilometresPerHour::new(50.0),
                fuel,
                rate: Some(rate),
                start,
                end: tank + cans,
                end_tank_gauge: tank + trip.vehicle.unusable(),
                end_cans: cans,
                reserve: Litres::new(6.0),
                below_reserve: tank + cans < Litres::new(6.0),
                use_empty: fuel * 0.95,
                use_slope: Share::new(0.004),
                held_to: None,
            });
            km = to;
            decisions.push(Decision {
                node: Some(i + 1),
                place: leg.to.clone(),
                at_km: km,
                go_on: Some(Litres::new(31.0)),
                fill_cans: leg.fuel.as_ref().map(|_| Litres::new(24.0)),
                turn_back: Litres::new(24.0),
            });
            if let Some(stop) = &leg.fuel {
                let put = tank_full - tank;
                tank = tank_full;
                cans = can.fill;
                stops.push(Stop {
                    node: i + 1,
                    place: leg.to.clone(),
                    at_km: km,
                    counted: true,
                    chance: stop.chance(),
                    supply: stop.litres,
                    tank: put,
                    cans,
                    cans_filled: 1,
                    after: tank + cans,
                    detour: stop.detour(),
                    cost: stop.price_per_l.map(|p| (put + cans) * p),
                });
                stretches.push(Stretch {
                    from: stretch_from.0,
                    to: i + 1,
                    from_km: stretch_from.1,
                    distance: km - stretch_from.1,
                    required: Litres::new(70.0),
                    tank: tank_full,
                    spare: Litres::new(17.0),
                    turn_back: Some(TurnBack {
                        at_km: stretch_from.1 + (km - stretch_from.1) * 0.6,
                        refuge: stretch_from.0,
                        chance: Share::new(1.0),
                        on_board: Litres::new(30.0),
                        way_back: (km - stretch_from.1) * 0.6,
                        needs: Litres::new(24.0),
                    }),
                    doubtful_turn_back: None,
                });
                stretch_from = (i + 1, km);
            }
        }
        let fuel: Litres = legs.iter().map(|l| l.fuel).sum();
        let findings = legs
            .iter()
            .filter(|l| l.below_reserve)
            .map(|l| Finding {
                at: Where::Leg(l.n),
                what: What::BelowReserve {
                    left: l.end,
                    reserve: l.reserve,
                },
            })
            .collect();
        Plan {
            base: BaseFigure {
                reference: trip.vehicle.base_l_per_100km,
                k: Factor::new(1.1),
            },
            totals: Totals {
                distance: km,
                fuel,
                rate: Some((fuel / km).into()),
                ascent: legs.iter().map(|l| l.ascent).sum(),
                driving: legs.iter().map(|l| l.driving).sum(),
                cost: None,
            },
            load: LoadPlan {
                heaviest_at: 0,
                mass: Kilograms::new(1720.0),
                gvm: trip.vehicle.gvm_kg,
                bars: vec![
                    LoadBar {
                        what: LoadLimit::Gvm,
                        node: 0,
                        mass: Kilograms::new(1720.0),
                        limit: trip.vehicle.gvm_kg,
                    },
                    LoadBar {
                        what: LoadLimit::Roof { off_road: true },
                        node: 1,
                        mass: Kilograms::new(25.0),
                        limit: trip.vehicle.roof_rating_off_road(),
                    },
                ],
                departures: vec![],
            },
            spare: Spare {
                plain: Litres::new(17.0),
                carried: can.fill,
                covers: true,
                cans: vec![can],
            },
            trip,
            legs,
            stops,
            pours,
            decisions,
            stretches,
            course,
            findings,
        }
    }
}
