//! Turned sliders together: the trip that they make, the patch that keeps it, and the way back from a patch.

use json_patch::jsonptr::PointerBuf;
use json_patch::{PatchOperation, diff};

use super::turn::{EXTRA, ON_ROOF, extra};
use super::{Slider, SliderStep};
use crate::model::Trip;
use crate::model::change::guarded;
use crate::model::route::Leg;
use crate::model::what_if::{WhatIf, WhatIfError};
use crate::quantity::Share;

/// Sliders that were turned, each with its step.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sliders(Vec<(Slider, SliderStep)>);

/// A stored what-if, taken up by the sliders.
#[derive(Clone, Debug, PartialEq)]
pub enum Recalled {
    /// The sliders alone make the same trip.
    AsSliders(Sliders),
    /// It changes what no slider changes, so the sliders start from the trip that it makes.
    AsBaseTrip(Box<Trip>),
}

impl Sliders {
    /// The step of a slider; `None` if the trip states it.
    pub fn at(&self, slider: Slider) -> Option<SliderStep> {
        let found = self.0.iter().find(|(turned, _)| *turned == slider);
        found.map(|(_, slider_step)| *slider_step)
    }

    /// Turns a slider, or lets it go.
    pub fn set(&mut self, slider: Slider, slider_step: Option<SliderStep>) {
        self.0.retain(|(turned, _)| *turned != slider);
        if let Some(slider_step) = slider_step {
            self.0.push((slider, slider_step));
            // All sand is turned before the sand of one leg, whichever was touched last.
            self.0.sort_unstable();
        }
    }

    /// Whether none is turned.
    pub const fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// How many are turned.
    pub const fn len(&self) -> usize {
        self.0.len()
    }

    /// Each slider that is turned, and its step.
    pub fn iter(&self) -> impl Iterator<Item = (Slider, SliderStep)> + '_ {
        self.0.iter().copied()
    }

    /// The trip with all sliders applied.
    #[must_use]
    pub fn trip(&self, stated: &Trip) -> Trip {
        let mut turned = stated.clone();
        for &(slider, slider_step) in &self.0 {
            slider.put(stated, slider_step, &mut turned);
        }
        turned
    }

    /// The trip with one slider elsewhere.
    #[must_use]
    pub fn trip_with(
        &self,
        stated: &Trip,
        slider: Slider,
        slider_step: Option<SliderStep>,
    ) -> Trip {
        let mut others = self.clone();
        others.set(slider, slider_step);
        others.trip(stated)
    }

    /// The what-if of that name, taken up: by the sliders where they can, else laid beneath them.
    ///
    /// # Errors
    /// When it does not fit the trip any more.
    pub fn of_what_if(stated: &Trip, name: &str) -> Result<Recalled, WhatIfError> {
        let wanted = stated.with_what_if(name)?;
        let mut sliders = Self::default();
        // The sliders of single legs come first: a leg with its own slider does not belong to that of all legs.
        let only = |share: fn(&Leg) -> Share| {
            let pairs = stated.legs.iter().zip(&wanted.legs).zip(1..);
            let mut differ = pairs.filter(|((a, b), _)| share(a) != share(b));
            let first = differ.next().map(|(_, leg)| leg);
            first.filter(|_| differ.next().is_none())
        };
        let sand = only(Leg::sand_share).map(Slider::SandOn);
        let low_range = only(Leg::low_range_share).map(Slider::LowRangeOn);
        let legs = sand.into_iter().chain(low_range);
        let common = Slider::all(stated, 0);
        for slider in common.into_iter().chain(legs) {
            // The nearest that gets closer to the wanted trip.
            let reached = (0..slider.slider_steps(stated))
                .map(SliderStep)
                .find(|&slider_step| {
                    agrees_on(
                        slider,
                        &sliders.trip_with(stated, slider, Some(slider_step)),
                        &wanted,
                    )
                });
            if let Some(slider_step) = reached
                && !agrees_on(slider, stated, &wanted)
            {
                sliders.set(slider, Some(slider_step));
            }
        }
        Ok(if sliders.trip(stated) == wanted {
            Recalled::AsSliders(sliders)
        } else {
            Recalled::AsBaseTrip(Box::new(wanted))
        })
    }
}

/// Whether two trips agree in what a slider is about.
fn agrees_on(slider: Slider, one: &Trip, other: &Trip) -> bool {
    let legs = |alike: fn(&Leg, &Leg) -> bool| {
        one.legs.len() == other.legs.len()
            && one.legs.iter().zip(&other.legs).all(|(a, b)| alike(a, b))
    };
    match slider {
        Slider::Roof => one.load().roof == other.load().roof,
        Slider::RoofLoad => extra(one, ON_ROOF) == extra(other, ON_ROOF),
        Slider::Cargo => extra(one, EXTRA) == extra(other, EXTRA),
        Slider::People => one.load().people() == other.load().people(),
        Slider::Tread => one.vehicle.tread() == other.vehicle.tread(),
        Slider::RoadPressure => one.vehicle.road_pressure() == other.vehicle.road_pressure(),
        Slider::SoftPressure => one.vehicle.soft_pressure() == other.vehicle.soft_pressure(),
        Slider::AiredDown => legs(|a, b| a.is_aired_down() == b.is_aired_down()),
        Slider::SealedSpeed => legs(|a, b| a.speed_kmh == b.speed_kmh),
        Slider::Sand | Slider::SandOn(_) => legs(|a, b| a.sand_share == b.sand_share),
        Slider::LowRange | Slider::LowRangeOn(_) => {
            legs(|a, b| a.low_range_share == b.low_range_share)
        }
        Slider::Headwind => legs(|a, b| a.headwind_kmh == b.headwind_kmh),
        Slider::Temperature => legs(|a, b| a.temperature_c == b.temperature_c),
        Slider::Reserve => {
            one.rules().reserve_litres(&one.vehicle) == other.rules().reserve_litres(&other.vehicle)
        }
        Slider::Contingency => one.rules().contingency() == other.rules().contingency(),
        Slider::SuccessTarget => one.rules().success_target() == other.rules().success_target(),
        Slider::DryStop => legs(|a, b| a.fuel == b.fuel),
    }
}

/// What makes one trip of another, to be kept under a name: every index is guarded, and what is added to a
/// list is added at its end.
pub fn what_if(name: impl Into<String>, from: &Trip, to: &Trip) -> WhatIf {
    let (before, after) = (from.to_document(), to.to_document());
    let mut operations = diff(&before, &after).0;
    for operation in &mut operations {
        if let PatchOperation::Add(add) = operation
            && let Some((list, _)) = add.path.split_back()
            && before
                .pointer(list.as_str())
                .is_some_and(serde_json::Value::is_array)
        {
            let end = format!("{list}/-");
            if let Ok(end) = PointerBuf::parse(end) {
                add.path = end;
            }
        }
    }
    operations.retain(|operation| !operation.path().as_str().starts_with("/what_ifs"));
    WhatIf {
        name: name.into(),
        change: guarded(from, operations),
    }
}
