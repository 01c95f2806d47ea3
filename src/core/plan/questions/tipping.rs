//! Where a slider tips the plan: the nearest step, up and down, at which it is decided otherwise, be it
//! whether to set out or the number of cans.
//!
//! By strokes outward until it is decided otherwise, then by bisection between the last two. What changes and
//! changes back within one stroke is not seen. Each try is a whole target plan, so this is work for a thread of
//! its own; it asks between two plans whether anybody still wants the answer.

use super::difference::Decided;
use crate::doubt::study::Effort;
use crate::model::Trip;
use crate::model::slider::{Slider, SliderStep, Sliders};
use crate::plan::parts::Plan;

/// A step at which it is decided otherwise than at the slider's setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tip {
    /// The last step that is decided as at the slider's setting; `None` if that is between two steps.
    pub holds: Option<SliderStep>,
    /// The first at which it is decided otherwise.
    pub at: SliderStep,
    /// What is decided there.
    pub becomes: Decided,
}

/// The nearest tips of a slider.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tips {
    /// What is decided at the slider's setting.
    pub here: Decided,
    /// Toward its lowest step.
    pub below: Option<Tip>,
    /// The first change of the verdict towards the slider's highest setting.
    pub above: Option<Tip>,
}

/// The tips of a slider, the others as they are, by target plans that are worth `effort` each. `None` when
/// `wanted` has become false.
pub fn tips(
    stated: &Trip,
    sliders: &Sliders,
    slider: Slider,
    effort: Effort,
    wanted: &dyn Fn() -> bool,
) -> Option<Tips> {
    let decide = |slider_step: Option<SliderStep>| {
        let plan = || Plan::at_target(sliders.trip_with(stated, slider, slider_step), effort);
        wanted().then(|| plan().decided())
    };
    let standing = sliders.at(slider);
    let here = decide(standing)?;
    let last = slider.slider_steps(stated) - 1;
    let from = standing.map_or(0, SliderStep::number);
    let stroke = slider.stroke(stated).max(1);
    let search = |on: bool| -> Option<Option<Tip>> {
        // At rest the trip may be between two steps.
        let mut holds = standing.map(SliderStep::number);
        let first = match standing {
            None => slider
                .turned(stated, None, on, true)
                .map(SliderStep::number),
            Some(_) if on => Some(from + 1).filter(|&next| next <= last),
            Some(_) => from.checked_sub(1),
        };
        let Some(mut next) = first else {
            return Some(None);
        };
        loop {
            let decided = decide(Some(SliderStep::new(next)))?;
            if decided != here {
                return bisect(holds, next, decided, here, &decide).map(Some);
            }
            holds = Some(next);
            let step = |from: u32| {
                if on {
                    (from + stroke).min(last)
                } else {
                    from.saturating_sub(stroke)
                }
            };
            if step(next) == next {
                return Some(None);
            }
            next = step(next);
        }
    };
    Some(Tips {
        here,
        below: search(false)?,
        above: search(true)?,
    })
}

/// The border between a step that is decided as `here` and one that is not.
fn bisect(
    holds: Option<u32>,
    tips: u32,
    becomes: Decided,
    here: Decided,
    decide: &dyn Fn(Option<SliderStep>) -> Option<Decided>,
) -> Option<Tip> {
    let Some(mut holds) = holds else {
        return Some(Tip {
            holds: None,
            at: SliderStep::new(tips),
            becomes,
        });
    };
    let (mut tips, mut becomes) = (tips, becomes);
    while holds.abs_diff(tips) > 1 {
        let middle = holds.midpoint(tips);
        let decided = decide(Some(SliderStep::new(middle)))?;
        if decided == here {
            holds = middle;
        } else {
            (tips, becomes) = (middle, decided);
        }
    }
    Some(Tip {
        holds: Some(SliderStep::new(holds)),
        at: SliderStep::new(tips),
        becomes,
    })
}
