//! What-ifs as sliders: one thing about a trip that can be turned, from its stated value to others.
//!
//! A [`Slider`] is what can be changed, a [`SliderStep`] is its setting, a [`Reading`] what that means with its
//! unit. A slider that nobody turned changes nothing, so that a trip with all sliders at rest is the trip as
//! stated, to the last bit. Turned sliders together are [`Sliders`]: a trip in, the turned trip out, and the same
//! as a JSON Patch (RFC 6902) to keep. What follows from the changed trip is calculated by the plan.

mod scale;
mod set;
mod turn;

use super::Trip;
use super::route::FuelStop;
use super::vocabulary::{RoofShape, Surface, Tread};
use crate::quantity::{Bar, Celsius, Kilograms, KilometresPerHour, Litres, Percent, Share};
use scale::Scale;
pub use set::{Recalled, Sliders, what_if};

/// One thing about a trip that can be turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Slider {
    /// Type of the roof load, by its drag.
    Roof,
    /// Kilograms more on the roof.
    RoofLoad,
    /// Kilograms more in the cargo area.
    Cargo,
    /// How many people are on board.
    People,
    /// Tread of the tyres.
    Tread,
    /// Pressure on the road.
    RoadPressure,
    /// Where the tyres are let down.
    AiredDown,
    /// Pressure of tyres that are let down.
    SoftPressure,
    /// Speed on sealed roads.
    SealedSpeed,
    /// All sand, as a part of what is stated.
    Sand,
    /// Sand on one leg, counted from 1.
    SandOn(usize),
    /// All low range, as a part of what is stated.
    LowRange,
    /// Low range on one leg, counted from 1.
    LowRangeOn(usize),
    /// Wind against the way on every leg, beside what is stated.
    Headwind,
    /// Temperature on every leg.
    Temperature,
    /// Litres of the fixed reserve.
    Reserve,
    /// Reserve on top of all use still ahead.
    Contingency,
    /// How surely the whole trip shall go through.
    SuccessTarget,
    /// A fuel stop that has none.
    DryStop,
}

/// The step of a slider, counted from its lowest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SliderStep(u32);

impl SliderStep {
    /// Step number `number`, from 0.
    pub const fn new(number: u32) -> Self {
        Self(number)
    }

    /// Its number, from 0.
    pub const fn number(self) -> u32 {
        self.0
    }
}

/// What a step of a slider means.
#[derive(Clone, Debug, PartialEq)]
pub enum Reading {
    /// A word of the format.
    Word(&'static str),
    /// The name of a place.
    Place(String),
    /// A number of people.
    Count(u32),
    /// A mass of what is carried.
    Mass(Kilograms),
    /// A tyre pressure.
    Pressure(Bar),
    /// A driving speed.
    Speed(KilometresPerHour),
    /// Wind more than stated; below 0 is less.
    MoreWind(KilometresPerHour),
    /// A part of the leg, or a probability.
    Share(Share),
    /// A part of what is stated.
    OfStated(Share),
    /// A temperature of the air.
    Temperature(Celsius),
    /// A volume of fuel.
    Fuel(Litres),
    /// A part of a hundred.
    Percent(Percent),
    /// Legs differ, so there is no one value.
    AsStated,
}

impl Slider {
    /// Every slider that would change something about a trip; the two about one leg are about `leg`, from 1.
    pub fn all(trip: &Trip, leg: usize) -> Vec<Self> {
        let every = [
            Self::Roof,
            Self::RoofLoad,
            Self::Cargo,
            Self::People,
            Self::Tread,
            Self::RoadPressure,
            Self::AiredDown,
            Self::SoftPressure,
            Self::SealedSpeed,
            Self::Sand,
            Self::SandOn(leg),
            Self::LowRange,
            Self::LowRangeOn(leg),
            Self::Headwind,
            Self::Temperature,
            Self::Reserve,
            Self::Contingency,
            Self::SuccessTarget,
            Self::DryStop,
        ];
        every
            .into_iter()
            .filter(|slider| slider.is_about(trip))
            .collect()
    }

    /// Whether turning it would change anything.
    fn is_about(self, trip: &Trip) -> bool {
        let driven = |leg: usize| {
            let length = trip.legs.get(leg - 1).and_then(|leg| leg.distance_km);
            leg <= trip.legs.len() && length.is_none_or(|length| length.get() > 0.0)
        };
        match self {
            Self::SealedSpeed => trip.legs.iter().any(|leg| leg.surface() == Surface::Sealed),
            Self::SoftPressure => trip.legs.iter().any(super::route::Leg::is_aired_down),
            Self::Sand => trip.legs.iter().any(|leg| leg.sand_share() > Share::ZERO),
            Self::LowRange => trip
                .legs
                .iter()
                .any(|leg| leg.low_range_share() > Share::ZERO),
            Self::SandOn(leg) | Self::LowRangeOn(leg) => leg > 0 && driven(leg),
            Self::DryStop => !stops(trip).is_empty(),
            _ => true,
        }
    }

    /// How many steps it has on a trip, at least one.
    pub fn slider_steps(self, trip: &Trip) -> u32 {
        Scale::new(self, trip).slider_steps()
    }

    /// What a step means on a trip; one past the last is taken for the last.
    pub fn reading(self, trip: &Trip, slider_step: SliderStep) -> Reading {
        Scale::new(self, trip).reading(slider_step)
    }

    /// What the trip states.
    pub fn stated(self, trip: &Trip) -> Reading {
        Scale::new(self, trip).stated
    }

    /// The step of the trip's own value, or the one below it; for placing it on a scale.
    pub fn resting(self, trip: &Trip) -> SliderStep {
        Scale::new(self, trip).resting()
    }

    /// The slider turned on by a stroke, or back, from its step; nothing is where the trip states it.
    /// A fine stroke is one step. At its end it stays.
    pub fn turned(
        self,
        trip: &Trip,
        from: Option<SliderStep>,
        on: bool,
        fine: bool,
    ) -> Option<SliderStep> {
        Scale::new(self, trip).turned(from, on, fine)
    }

    /// Steps of one stroke.
    pub(crate) fn stroke(self, trip: &Trip) -> u32 {
        Scale::new(self, trip).stroke
    }
}

/// The fuel stops that can be taken for dry: each place once, the start's left out.
fn stops(trip: &Trip) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for leg in &trip.legs {
        let may_have = leg
            .fuel
            .as_ref()
            .is_some_and(|stop: &FuelStop| stop.chance() > Share::ZERO);
        if may_have && leg.to != trip.start.name && !names.contains(&leg.to.as_str()) {
            names.push(&leg.to);
        }
    }
    names
}

/// The words of the roof and tread sliders are those of the trip file.
const ROOFS: &[RoofShape] = RoofShape::ALL;
const TREADS: &[Tread] = Tread::ALL;
/// Where tyres are aired down.
const AIRED: [&str; 3] = ["never", "sand and mud", "off sealed roads"];
/// The reading for no dry fuel stop.
const NO_STOP: &str = "none";
/// The success targets of the slider.
const TARGETS: [Share; 5] = [
    Share::new(0.5),
    Share::new(0.8),
    Share::new(0.9),
    Share::new(0.95),
    Share::new(0.99),
];
