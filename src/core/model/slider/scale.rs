//! A slider's scale on one trip: its steps, what each means, and the trip's own setting.
//!
//! Ranges are what is worth trying, inside what the format admits; strokes are common practice, no source.

use super::turn::{EXTRA, ON_ROOF, extra, lets_down};
use super::{AIRED, NO_STOP, ROOFS, Reading, Slider, SliderStep, TARGETS, TREADS, stops};
use crate::model::Trip;
use crate::model::route::Leg;
use crate::model::vocabulary::Surface;
use crate::quantity::{
    Bar, Celsius, Kilograms, Kilometres, KilometresPerHour, Litres, Percent, Share,
};

pub(super) struct Scale {
    marks: Marks,
    /// Steps of a stroke.
    pub(crate) stroke: u32,
    /// What the trip states.
    pub(crate) stated: Reading,
    /// The trip's own setting, in steps, between two of them as well.
    at: f64,
    /// Whether the trip has this one value, so that turning back to it changes nothing.
    one_value: bool,
}

/// What the steps mean.
enum Marks {
    /// A number each, from `low` on, `grain` apart.
    Even {
        low: f64,
        grain: f64,
        last: u32,
        reading: fn(f64) -> Reading,
    },
    /// A list of settings.
    List(Vec<Reading>),
}

/// Numbers `low` to `high`, `grain` apart.
fn even(low: f64, high: f64, grain: f64, reading: fn(f64) -> Reading) -> Marks {
    Marks::Even {
        low,
        grain,
        last: whole(((high - low) / grain).round()),
        reading,
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "some hundred steps at most; less than 0 and no number become 0"
)]
const fn whole(step: f64) -> u32 {
    step as u32
}

impl Marks {
    fn slider_steps(&self) -> u32 {
        match self {
            Self::Even { last, .. } => last + 1,
            Self::List(list) => u32::try_from(list.len()).unwrap_or(u32::MAX).max(1),
        }
    }

    /// Where a number is, in steps.
    fn place(&self, value: f64) -> f64 {
        match self {
            Self::Even { low, grain, .. } => (value - low) / grain,
            Self::List(_) => value,
        }
    }
}

/// A number on a scale without the noise of its last bits: grains are hundredths or more.
fn clean(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0 + 0.0
}

impl Scale {
    fn numbers(marks: Marks, stroke: u32, stated: f64, one_value: bool) -> Self {
        let Marks::Even { reading, .. } = marks else {
            unreachable!("only even scales are built from numbers")
        };
        Self {
            at: marks.place(stated),
            stated: if one_value {
                reading(stated)
            } else {
                Reading::AsStated
            },
            marks,
            stroke,
            one_value,
        }
    }

    /// Words, of which the trip states one; or none of them.
    fn words(list: Vec<Reading>, stated: Option<usize>) -> Self {
        Self {
            at: stated.map_or(0.0, |at| at as f64),
            stated: stated
                .and_then(|at| list.get(at).cloned())
                .unwrap_or(Reading::AsStated),
            marks: Marks::List(list),
            stroke: 1,
            one_value: stated.is_some(),
        }
    }

    pub(crate) fn new(slider: Slider, trip: &Trip) -> Self {
        match slider {
            Slider::Roof | Slider::RoofLoad | Slider::Cargo | Slider::People => {
                of_load(slider, trip)
            }
            Slider::Tread | Slider::RoadPressure | Slider::AiredDown | Slider::SoftPressure => {
                of_tyres(slider, trip)
            }
            Slider::SealedSpeed
            | Slider::Sand
            | Slider::SandOn(_)
            | Slider::LowRange
            | Slider::LowRangeOn(_)
            | Slider::Headwind
            | Slider::Temperature => of_way(slider, trip),
            Slider::Reserve | Slider::Contingency | Slider::SuccessTarget | Slider::DryStop => {
                of_rules(slider, trip)
            }
        }
    }

    pub(crate) fn slider_steps(&self) -> u32 {
        self.marks.slider_steps()
    }

    pub(crate) fn reading(&self, slider_step: SliderStep) -> Reading {
        let number = slider_step.0.min(self.slider_steps() - 1);
        match &self.marks {
            Marks::Even {
                low,
                grain,
                reading,
                ..
            } => reading(clean(low + grain * f64::from(number))),
            Marks::List(list) => list
                .get(number as usize)
                .cloned()
                .unwrap_or(Reading::AsStated),
        }
    }

    pub fn resting(&self) -> SliderStep {
        let below = whole((self.at + 1e-9).floor());
        SliderStep(below.min(self.slider_steps() - 1))
    }

    pub(crate) fn turned(
        &self,
        from: Option<SliderStep>,
        on: bool,
        fine: bool,
    ) -> Option<SliderStep> {
        let stroke = if fine { 1.0 } else { f64::from(self.stroke) };
        let here = from.map_or(self.at, |slider_step| f64::from(slider_step.0));
        let last = f64::from(self.slider_steps() - 1);
        // Strokes end on multiples of a stroke, so that round values are met whatever the trip's own setting is.
        let wanted = if on {
            ((here + 1e-9) / stroke).floor() * stroke + stroke
        } else {
            ((here - 1e-9) / stroke).ceil() * stroke - stroke
        };
        // Several values without one between them begin at the nearest step whichever way it is turned.
        let wanted = if from.is_none() && !self.one_value && matches!(self.marks, Marks::List(_)) {
            if on { 0.0 } else { last }
        } else {
            wanted.clamp(0.0, last)
        };
        let passes_rest = self.one_value
            && from.is_some()
            && ((here < self.at && self.at < wanted) || (wanted < self.at && self.at < here));
        if passes_rest || (self.one_value && (wanted - self.at).abs() < 1e-9) {
            return None;
        }
        if from.is_none() && self.one_value && (on && wanted < self.at || !on && wanted > self.at) {
            // The trip states more than the scale has.
            return None;
        }
        Some(SliderStep(whole(wanted)))
    }
}

fn of_load(slider: Slider, trip: &Trip) -> Scale {
    let load = trip.load();
    let kilograms = |most, stroke, name| {
        let marks = even(0.0, most, 1.0, |kg| Reading::Mass(Kilograms::new(kg)));
        Scale::numbers(marks, stroke, extra(trip, name).get(), true)
    };
    match slider {
        Slider::RoofLoad => kilograms(150.0, 5, ON_ROOF),
        Slider::Cargo => kilograms(400.0, 10, EXTRA),
        Slider::People => {
            let on_board = load.people().len();
            let list = (0..=on_board.max(5))
                .skip(usize::from(on_board > 0))
                .map(|count| Reading::Count(u32::try_from(count).unwrap_or(u32::MAX)));
            Scale::words(list.collect(), Some(on_board.saturating_sub(1)))
        }
        _ => {
            let words = ROOFS.iter().map(|shape| Reading::Word(shape.word()));
            let stated = ROOFS.iter().position(|&shape| shape == load.roof_shape());
            Scale::words(words.collect(), stated)
        }
    }
}

fn of_tyres(slider: Slider, trip: &Trip) -> Scale {
    let vehicle = &trip.vehicle;
    let bar = |most, stated: Bar| {
        let marks = even(0.8, most, 0.1, |bar| Reading::Pressure(Bar::new(bar)));
        Scale::numbers(marks, 1, stated.get(), true)
    };
    match slider {
        Slider::RoadPressure => bar(4.0, vehicle.road_pressure()),
        Slider::SoftPressure => bar(vehicle.road_pressure().get(), vehicle.soft_pressure()),
        Slider::AiredDown => {
            let fits = |choice: usize| {
                trip.legs
                    .iter()
                    .all(|leg| leg.is_aired_down() == lets_down(choice, leg))
            };
            let words = AIRED.map(Reading::Word).to_vec();
            Scale::words(words, (0..AIRED.len()).find(|&choice| fits(choice)))
        }
        _ => {
            let words = TREADS.iter().map(|tread| Reading::Word(tread.word()));
            let stated = TREADS.iter().position(|&tread| tread == vehicle.tread());
            Scale::words(words.collect(), stated)
        }
    }
}

fn of_way(slider: Slider, trip: &Trip) -> Scale {
    let share = |stated: Option<Share>| {
        let marks = even(0.0, 100.0, 1.0, |part| {
            Reading::Share(Share::new(part / 100.0))
        });
        Scale::numbers(marks, 5, stated.unwrap_or_default().get() * 100.0, true)
    };
    let of_stated = || {
        let marks = even(0.0, 300.0, 1.0, |part| {
            Reading::OfStated(Share::new(part / 100.0))
        });
        Scale::numbers(marks, 10, 100.0, true)
    };
    match slider {
        Slider::Sand | Slider::LowRange => of_stated(),
        Slider::SandOn(leg) => share(trip.legs.get(leg.wrapping_sub(1)).map(Leg::sand_share)),
        Slider::LowRangeOn(leg) => {
            share(trip.legs.get(leg.wrapping_sub(1)).map(Leg::low_range_share))
        }
        Slider::Headwind => {
            let marks = even(-60.0, 60.0, 1.0, |wind| {
                Reading::MoreWind(KilometresPerHour::new(wind))
            });
            Scale::numbers(marks, 5, 0.0, true)
        }
        Slider::Temperature => {
            let stated: Vec<Option<Celsius>> =
                trip.legs.iter().map(|leg| leg.temperature_c).collect();
            let known: Vec<f64> = stated.iter().flatten().map(|t| t.get()).collect();
            let mean = if known.is_empty() {
                crate::model::vehicle::REFERENCE_TEMPERATURE.get()
            } else {
                known.iter().sum::<f64>() / known.len() as f64
            };
            let one = stated
                .first()
                .is_some_and(|first| first.is_some() && stated.iter().all(|other| other == first));
            let marks = even(-30.0, 50.0, 1.0, |t| Reading::Temperature(Celsius::new(t)));
            Scale::numbers(marks, 5, mean, one)
        }
        _ => {
            let sealed = || {
                trip.legs
                    .iter()
                    .filter(|leg| leg.surface() == Surface::Sealed)
            };
            let base = trip.vehicle.baseline_speed();
            let speed = |leg: &Leg| leg.speed_kmh.unwrap_or(base);
            let length = |leg: &Leg| {
                leg.distance_km
                    .unwrap_or(Kilometres::new(1.0))
                    .get()
                    .max(1e-3)
            };
            let all: f64 = sealed().map(length).sum();
            let first = sealed().next().map_or(base, speed);
            let one = sealed().all(|leg| speed(leg) == first);
            let mean = if one {
                first.get()
            } else {
                sealed()
                    .map(|leg| speed(leg).get() * length(leg))
                    .sum::<f64>()
                    / all
            };
            let marks = even(40.0, 130.0, 1.0, |speed| {
                Reading::Speed(KilometresPerHour::new(speed))
            });
            Scale::numbers(marks, 5, mean, one)
        }
    }
}

fn of_rules(slider: Slider, trip: &Trip) -> Scale {
    let rules = trip.rules();
    match slider {
        Slider::Reserve => {
            let most = trip.vehicle.usable_tank().get().floor().max(1.0);
            let marks = even(0.0, most, 0.5, |litres| Reading::Fuel(Litres::new(litres)));
            Scale::numbers(marks, 2, rules.reserve_litres(&trip.vehicle).get(), true)
        }
        Slider::Contingency => {
            let marks = even(0.0, 100.0, 1.0, |part| Reading::Percent(Percent::new(part)));
            Scale::numbers(marks, 5, rules.contingency().get() * 100.0, true)
        }
        Slider::SuccessTarget => {
            let stated = TARGETS
                .iter()
                .position(|&share| share == rules.success_target());
            let mut scale = Scale::words(TARGETS.map(Reading::Share).to_vec(), stated);
            scale.stated = Reading::Share(rules.success_target());
            scale
        }
        _ => {
            let places = stops(trip).into_iter().map(str::to_owned);
            let list = std::iter::once(Reading::Word(NO_STOP)).chain(places.map(Reading::Place));
            Scale::words(list.collect(), Some(0))
        }
    }
}
