//! Where a dial tips the plan: the nearest notch, up and down, at which it is decided otherwise, be it
//! whether to set out or the number of cans.
//!
//! By strokes outward until it is decided otherwise, then by bisection between the last two. What changes and
//! changes back within one stroke is not seen. Each try is a whole target plan, so this is work for a thread of
//! its own; it asks between two plans whether anybody still wants the answer.

use super::difference::Decided;
use crate::doubt::study::Effort;
use crate::model::Trip;
use crate::model::dial::{Dial, Dials, Notch};
use crate::plan::parts::Plan;

/// A notch at which it is decided otherwise than where the dial stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tip {
    /// The last notch that is decided as where the dial stands; nothing if that is between two notches.
    pub holds: Option<Notch>,
    /// The first at which it is decided otherwise.
    pub at: Notch,
    /// What is decided there.
    pub becomes: Decided,
}

/// The nearest tips of a dial.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tips {
    /// What is decided where the dial stands.
    pub here: Decided,
    /// Toward its lowest notch.
    pub below: Option<Tip>,
    /// Toward its highest.
    pub above: Option<Tip>,
}

/// The tips of a dial, the others standing where they are, by target plans that are worth `effort` each. `None` when
/// `wanted` has become false.
pub fn tips(
    stated: &Trip,
    dials: &Dials,
    dial: Dial,
    effort: Effort,
    wanted: &dyn Fn() -> bool,
) -> Option<Tips> {
    let decide = |notch: Option<Notch>| {
        let plan = || Plan::at_target(dials.trip_with(stated, dial, notch), effort);
        wanted().then(|| plan().decided())
    };
    let standing = dials.at(dial);
    let here = decide(standing)?;
    let last = dial.notches(stated) - 1;
    let from = standing.map_or(0, Notch::number);
    let stroke = dial.stroke(stated).max(1);
    let search = |on: bool| -> Option<Option<Tip>> {
        // At rest the trip may stand between two notches.
        let mut holds = standing.map(Notch::number);
        let first = match standing {
            None => dial.turned(stated, None, on, true).map(Notch::number),
            Some(_) if on => Some(from + 1).filter(|&next| next <= last),
            Some(_) => from.checked_sub(1),
        };
        let Some(mut next) = first else {
            return Some(None);
        };
        loop {
            let decided = decide(Some(Notch::new(next)))?;
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

/// The border between a notch that is decided as `here` and one that is not.
fn bisect(
    holds: Option<u32>,
    tips: u32,
    becomes: Decided,
    here: Decided,
    decide: &dyn Fn(Option<Notch>) -> Option<Decided>,
) -> Option<Tip> {
    let Some(mut holds) = holds else {
        return Some(Tip {
            holds: None,
            at: Notch::new(tips),
            becomes,
        });
    };
    let (mut tips, mut becomes) = (tips, becomes);
    while holds.abs_diff(tips) > 1 {
        let middle = holds.midpoint(tips);
        let decided = decide(Some(Notch::new(middle)))?;
        if decided == here {
            holds = middle;
        } else {
            (tips, becomes) = (middle, decided);
        }
    }
    Some(Tip {
        holds: Some(Notch::new(holds)),
        at: Notch::new(tips),
        becomes,
    })
}
