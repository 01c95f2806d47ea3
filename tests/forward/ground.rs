//! The trip as the driver finds it: litres of its legs in both directions, reserves and fuel stops.

use std::collections::HashMap;

use drystage::consumption::leg::{Formula, LegFormula};
use drystage::consumption::response::{Answer, Response};
use drystage::consumption::spread::Drawn;
use drystage::consumption::terrain;
use drystage::consumption::usage::Usage;
use drystage::model::Trip;
use drystage::model::vocabulary::{CarryingPlace, Surface};
use drystage::quantity::{Degrees, Litres, Share};
use drystage::solver::cans::ChosenCans;
use drystage::solver::load;
use serde_json::Value;

/// Uncertain inputs of a leg whose effect is a curve.
pub const INPUTS: usize = Drawn::ALL.len();

/// A trip as the driver finds it.
pub struct Ground {
    /// Usable litres of a full tank.
    pub tank: f64,
    pub unusable: f64,
    /// Usable litres in the tank and in cans before the start.
    pub start: [f64; 2],
    pub legs: Vec<Leg>,
    /// Fixed reserve at each place.
    pub reserve: Vec<f64>,
    /// Fuel stop of each place.
    pub stops: Vec<Option<FuelStop>>,
    /// Chance of fuel of each fuel stop; the stops of one name are one.
    pub chances: Vec<f64>,
    /// Stock of each fuel stop.
    pub stocks: Vec<Option<f64>>,
}

/// A leg, driven both ways.
pub struct Leg {
    pub from_km: f64,
    pub to_km: f64,
    pub day: u32,
    pub surface: Surface,
    /// Degrees clockwise from north, where known.
    pub bearing: Option<f64>,
    /// Whether it is sand, mud, rock, low range or steeper than 10 %.
    pub rough: bool,
    pub out: Way,
    /// `None` if it cannot be driven the other way.
    pub back: Option<Way>,
}

/// A leg in one direction: its best estimate, and how its litres answer to what is uncertain.
pub struct Way {
    pub usage: Usage,
    answers: [Answer; INPUTS],
    /// Shares of the driving litres: sand, low range, roof.
    pub parts: [f64; 3],
    pub idle: f64,
    /// Likely litres, idling included, with half of all fuel on board.
    pub likely: f64,
}

/// A fuel stop at a place.
#[derive(Clone, Copy, Debug)]
pub struct FuelStop {
    /// The stops of one name have one number.
    pub number: usize,
    /// From the route to it.
    pub detour: Usage,
    pub off_route: bool,
}

impl Way {
    fn new(formula: &LegFormula, full: Litres) -> Self {
        let response = formula.response(full);
        let parts = response.components;
        let driving = parts.total() - parts.idle;
        let of_driving = |litres: Litres| {
            if driving > Litres::ZERO {
                litres / driving
            } else {
                0.0
            }
        };
        Self {
            usage: response.usage,
            answers: Drawn::ALL.map(|input| *Response::answer(&response, input)),
            parts: [parts.sand, parts.low_range, parts.roof].map(of_driving),
            idle: parts.idle.get(),
            likely: parts.total().get(),
        }
    }

    /// How the litres answer to an input, `None` if not at all.
    pub fn answer(&self, input: Drawn) -> Option<&Answer> {
        Some(&self.answers[input as usize]).filter(|answer| !answer.is_flat())
    }
}

/// The cans of a report.
fn chosen(report: &Value, trip: &Trip) -> Vec<ChosenCans> {
    let kinds = report["cans"]["chosen"].as_array().unwrap().iter();
    kinds
        .map(|kind| {
            let litres = |key: &str| Litres::new(kind[key].as_f64().unwrap());
            let (size, fill) = (litres("size_l"), litres("fill_l"));
            let place: CarryingPlace = serde_json::from_value(kind["place"].clone()).unwrap();
            let stated = trip.load().cans().iter().find(|stated| {
                (stated.size_l - size).abs() < Litres::new(1e-9) && stated.places().contains(&place)
            });
            ChosenCans {
                size,
                fill,
                empty: stated.unwrap().empty_kg,
                count: u32::try_from(kind["count"].as_u64().unwrap()).unwrap(),
                place,
                to_buy: 0,
                rank: 0,
            }
        })
        .collect()
}

impl Ground {
    pub fn new(trip: &Trip, report: &Value) -> Self {
        let set = chosen(report, trip);
        let held: f64 = set
            .iter()
            .map(|cans| cans.fill.get() * f64::from(cans.count))
            .sum();
        let tank = trip.vehicle.usable_tank();
        let full = tank + Litres::new(held);
        let formula = Formula::of(&trip.vehicle);
        let formulas: Vec<LegFormula> = trip
            .legs
            .iter()
            .zip(terrain::of(trip))
            .zip(trip.days())
            .map(|((leg, terrain), day)| formula.leg(leg, &terrain, load::burden(trip, &set, day)))
            .collect();
        let mut km = 0.0;
        let legs: Vec<Leg> = trip
            .legs
            .iter()
            .zip(&formulas)
            .zip(terrain::of(trip).iter().zip(trip.days()))
            .map(|((leg, formula), (terrain, day))| {
                let from_km = km;
                km += terrain.distance.get();
                Leg {
                    from_km,
                    to_km: km,
                    day,
                    surface: leg.surface(),
                    bearing: terrain.bearing.map(Degrees::get),
                    rough: leg.sand_share().get() > 0.0
                        || leg.dune_share().get() > 0.0
                        || leg.low_range_share().get() > 0.0
                        || matches!(leg.surface(), Surface::Mud | Surface::Rock)
                        || terrain.ascent.get() > 0.0 && terrain.ascent_grade.get() > 0.1
                        || terrain.descent.get() > 0.0 && terrain.descent_grade.get() > 0.1,
                    out: Way::new(formula, full),
                    back: leg
                        .can_return()
                        .then(|| Way::new(&formula.reversed(leg.return_factor()), full)),
                }
            })
            .collect();
        let (stops, chances, stocks) = stops(trip, &formulas, full);
        let rules = trip.rules();
        Self {
            tank: tank.get(),
            unusable: trip.vehicle.unusable().get(),
            start: [
                (rules.start(&trip.vehicle) - trip.vehicle.unusable())
                    .get()
                    .max(0.0),
                rules.start_cans().get().min(held),
            ],
            reserve: reserves(trip, &legs, full),
            legs,
            stops,
            chances,
            stocks,
        }
    }
}

type Stops = (Vec<Option<FuelStop>>, Vec<f64>, Vec<Option<f64>>);

fn stops(trip: &Trip, formulas: &[LegFormula], full: Litres) -> Stops {
    let mut numbers = HashMap::new();
    let (mut chances, mut stocks) = (Vec::new(), Vec::new());
    let stops = trip.places().map(|place| {
        let fuel = place.fuel?;
        let next = numbers.len();
        let number = *numbers.entry(place.name).or_insert(next);
        if number == next {
            chances.push(1.0);
            stocks.push(None);
        }
        chances[number] = fuel.chance().get().min(chances[number]);
        stocks[number] = fuel.litres.map(Litres::get);
        let one_way = fuel.detour() / 2.0;
        let leg = &formulas[place.place_number.saturating_sub(1)];
        let at = |on_board: Litres| leg.level_rate(on_board) * one_way;
        let off_route = fuel.detour().get() > 0.0;
        Some(FuelStop {
            number,
            detour: if off_route {
                Usage::between(at(Litres::ZERO), at(full), full)
            } else {
                Usage::NONE
            },
            off_route,
        })
    });
    let stops = stops.collect();
    (stops, chances, stocks)
}

/// The reserve of the rules: litres, or kilometres at the higher consumption of the legs before and after, whichever is more.
fn reserves(trip: &Trip, legs: &[Leg], full: Litres) -> Vec<f64> {
    let rules = trip.rules();
    let rate = |leg: &Leg| {
        let km = leg.to_km - leg.from_km;
        (km > 0.0).then(|| leg.out.usage.litres(full / 2.0).get() / km)
    };
    let least = rules.reserve_litres(&trip.vehicle).get();
    (0..=legs.len())
        .map(|place| {
            let before = legs[..place].iter().rev().find_map(rate).unwrap_or(0.0);
            let after = legs[place..].iter().find_map(rate).unwrap_or(0.0);
            least.max(rules.reserve_km().get() * before.max(after))
        })
        .collect()
}

/// The first part of a way.
pub fn first(usage: Usage, part: f64) -> Usage {
    usage.part(Share::new(part.clamp(0.0, 1.0)))
}
