//! An edit of a trip as a value: [`Change`].
//!
//! Keystroke, slider, undo and recovery all go through the one function [`Change::apply`]: a trip in,
//! a sound trip and the change that undoes it out, or an honest error and nothing changed. A change
//! is a name, for anyone who undoes it, and steps. Steps are few and plain ([`Step`]); what a user asks
//! for (split a leg, join two, drive back) is a function that looks at the trip and gives the steps
//! (`legs`, `cut`, `whole`, `fields`, `log`). Applying the inverse gives the equal trip back, whatever the change was.
//!
//! Stored what-ifs and readings of the log follow the legs and items that they refer to, in the same
//! step (`follow`). Points of tracks are shared, never copied by an edit.

mod cut;
mod fields;
mod follow;
mod history;
mod legs;
mod log;
mod replace;
mod restated;
mod value;
mod whole;

use serde::{Deserialize, Serialize};
use serde_json::Value;

pub use fields::{guarded, holder, stated};
pub use history::{Deed, History};
pub use replace::NewRoute;
pub use restated::differences;

use super::Trip;
use super::check::{self, Parts, Problem};
use super::part::PointerError;
use super::route::Leg;
use super::what_if::WhatIf;
use follow::Moved;

/// Pointer to the list of legs.
const LEGS: &str = "/legs";
/// Pointer to the readings of the way.
const LOG: &str = "/log";
/// Pointer to the stored what-ifs.
const WHAT_IFS: &str = "/what_ifs";

/// One edit, with a name that describes it: `leg 4: distance 56 -> 60 km`.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Change {
    /// What the change does, for undo: `leg 3 deleted`.
    pub name: String,
    /// The steps that make it, in order.
    pub steps: Vec<Step>,
}

/// A part of a change. Between steps a trip need not be sound; after the last it is.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Step {
    /// The value at a JSON Pointer; without one it is cleared.
    Set {
        /// Pointer to the value.
        at: String,
        /// The value that is put there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        to: Option<Value>,
    },
    /// Items come into a list other than the legs; the list is made where there is none.
    Insert {
        /// Pointer to the list.
        list: String,
        /// Number of the first of them.
        at: usize,
        /// The items to insert.
        items: Vec<Value>,
    },
    /// Items go out of a list.
    Remove {
        /// Pointer to the list.
        list: String,
        /// Number of the first of them.
        at: usize,
        /// Number of items.
        count: usize,
    },
    /// Items of a list go to another place in it.
    Move {
        /// Pointer to the list.
        list: String,
        /// Number of the first of them.
        from: usize,
        /// Number of items.
        count: usize,
        /// Number that the first of them gets.
        to: usize,
    },
    /// The items of a list are put in reverse order.
    Reverse {
        /// Pointer to the list.
        list: String,
    },
    /// Legs are inserted.
    InsertLegs {
        /// Index of the first of them, from 0.
        at: usize,
        /// The legs to insert.
        legs: Vec<Leg>,
    },
    /// Another leg takes the place of one.
    ReplaceLeg {
        /// Its index, from 0.
        at: usize,
        /// The leg as it is afterwards.
        leg: Box<Leg>,
    },
}

/// Why a change cannot be made. Legs and places are numbered as the reader knows them.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ChangeError {
    /// The pointer leads nowhere.
    #[error("cannot change `{pointer}`: {reason}")]
    Pointer {
        /// The pointer that leads nowhere.
        pointer: String,
        /// Why the pointer leads nowhere.
        reason: PointerError,
    },
    /// The list has no such items.
    #[error("{list} has {length} items, so there is no item {}", .needed.saturating_sub(1))]
    Items {
        /// Pointer to the list.
        list: String,
        /// How many items it must have.
        needed: usize,
        /// How many items the list has.
        length: usize,
    },
    /// With the change the trip breaks a rule of the format.
    #[error("{}", .0.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))]
    Unsound(
        /// Everything that would be wrong.
        Vec<Problem>,
    ),
    /// A fuel reading belongs to a place that would be deleted.
    #[error("place {0} has a fuel reading; delete the reading first")]
    Logged(
        /// The place's number.
        u32,
    ),
    /// Something about the legs does not allow it.
    #[error("{0}")]
    Legs(
        /// What would be right, then what was found.
        String,
    ),
}

impl Step {
    /// The step that clears the value at a pointer.
    fn clear(at: &str) -> Self {
        Self::Set {
            at: at.to_owned(),
            to: None,
        }
    }

    fn set(at: impl Into<String>, to: impl Into<Value>) -> Self {
        Self::Set {
            at: at.into(),
            to: Some(to.into()),
        }
    }
}

impl Change {
    fn new(name: impl Into<String>, steps: Vec<Step>) -> Self {
        Self {
            name: name.into(),
            steps,
        }
    }

    /// The trip with the change made, and the change that undoes it.
    ///
    /// # Errors
    /// When a step does not fit the trip, or the result is invalid.
    pub fn apply(&self, trip: &Trip) -> Result<(Trip, Self), ChangeError> {
        let mut changed = trip.clone();
        let mut undo: Vec<Vec<Step>> = Vec::new();
        for step in &self.steps {
            undo.push(step.apply(&mut changed)?);
        }
        let problems = check::between(&Parts::from(&changed));
        if !problems.is_empty() {
            return Err(ChangeError::Unsound(problems));
        }
        let inverse = Self {
            name: self.name.clone(),
            steps: undo.into_iter().rev().flatten().collect(),
        };
        Ok((changed, inverse))
    }
}

impl Step {
    /// Does the step; the steps that undo it, in their order.
    fn apply(&self, trip: &mut Trip) -> Result<Vec<Self>, ChangeError> {
        // What-ifs follow what gets another number or another name.
        let follow = match self {
            Self::Set { at, .. } => is_name(at),
            Self::ReplaceLeg { at, leg } => trip.legs.get(*at).is_none_or(|was| was.to != leg.to),
            _ => true,
        };
        let stored = follow.then(|| trip.what_ifs.clone()).flatten();
        match self {
            Self::Set { at, to } => {
                let was = value::get(trip, at);
                let undo = value::set(trip, at, to.as_ref())?;
                Ok(with_name(
                    trip,
                    undo,
                    at,
                    [was.as_ref(), to.as_ref()],
                    stored,
                ))
            }
            Self::ReplaceLeg { at, leg } => {
                let length = trip.legs.len();
                let place = trip
                    .legs
                    .get_mut(*at)
                    .ok_or_else(|| too_few(LEGS, at.saturating_add(1), length))?;
                let was = std::mem::replace(place, (**leg).clone());
                let name = format!("{LEGS}/{at}/to");
                let [old, new] = [&was, &**leg].map(|leg| Value::from(leg.to.clone()));
                let undo = Self::ReplaceLeg {
                    at: *at,
                    leg: Box::new(was),
                };
                checked_leg(trip, *at)?;
                Ok(with_name(
                    trip,
                    undo,
                    &name,
                    [Some(&old), Some(&new)],
                    stored,
                ))
            }
            Self::InsertLegs { at, legs } => {
                let before = trip.legs.len();
                if *at > before {
                    return Err(too_few(LEGS, *at, before));
                }
                trip.legs.splice(at..at, legs.iter().cloned());
                for number in *at..at + legs.len() {
                    checked_leg(trip, number)?;
                }
                let undo = Self::Remove {
                    list: LEGS.to_owned(),
                    at: *at,
                    count: legs.len(),
                };
                following(
                    trip,
                    undo,
                    &Moved::inserted(LEGS, before, *at, legs.len()),
                    stored,
                )
            }
            Self::Remove { list, at, count } if list == LEGS => {
                let before = trip.legs.len();
                inside(LEGS, *at, *count, before)?;
                let legs = trip.legs.splice(at..&(at + count), []).collect();
                let undo = Self::InsertLegs { at: *at, legs };
                following(
                    trip,
                    undo,
                    &Moved::removed(LEGS, before, *at, *count),
                    stored,
                )
            }
            Self::Insert { list, .. } | Self::Remove { list, .. } if list != LEGS => {
                let mut items = items(trip, list);
                let moved = self.rearrange(list, &mut items)?;
                let undo = value::set(trip, list, Some(&items.into()))?;
                following(trip, undo, &moved, stored)
            }
            Self::Insert { list, .. } => Err(ChangeError::Pointer {
                pointer: list.clone(),
                reason: PointerError::ListOfLegs,
            }),
            Self::Move { list, .. } | Self::Reverse { list } | Self::Remove { list, .. } => {
                if list == LEGS {
                    let order = self.order(list, trip.legs.len())?;
                    self.reorder(&mut trip.legs);
                    following(trip, self.back(), &Moved::reordered(list, &order), stored)
                } else {
                    let mut items = items(trip, list);
                    let moved = self.rearrange(list, &mut items)?;
                    let undo = value::set(trip, list, Some(&items.into()))?;
                    following(trip, undo, &moved, stored)
                }
            }
        }
    }

    /// Does to a list of items what the step does; where they went.
    fn rearrange(&self, list: &str, items: &mut Vec<Value>) -> Result<Moved, ChangeError> {
        let before = items.len();
        match self {
            Self::Insert { at, items: new, .. } => {
                if *at > before {
                    return Err(too_few(list, *at, before));
                }
                items.splice(at..at, new.iter().cloned());
                Ok(Moved::inserted(list, before, *at, new.len()))
            }
            Self::Remove { at, count, .. } => {
                inside(list, *at, *count, before)?;
                items.drain(at..&(at + count));
                Ok(Moved::removed(list, before, *at, *count))
            }
            _ => {
                let order = self.order(list, before)?;
                *items = order.iter().map(|&at| items[at].clone()).collect();
                Ok(Moved::reordered(list, &order))
            }
        }
    }

    /// The order of the items after a move or a turn: the number that each had.
    fn order(&self, list: &str, length: usize) -> Result<Vec<usize>, ChangeError> {
        if let Self::Move {
            from, count, to, ..
        } = *self
        {
            inside(list, from, count, length)?;
            inside(list, to, count, length)?;
        }
        let mut order: Vec<usize> = (0..length).collect();
        self.reorder(&mut order);
        Ok(order)
    }

    /// Moves or turns items, which are inside the list; nothing but the items between from and to is changed.
    fn reorder<T>(&self, items: &mut [T]) {
        match *self {
            Self::Move {
                from, count, to, ..
            } if from < to => items[from..to + count].rotate_left(count),
            Self::Move {
                from, count, to, ..
            } => items[to..from + count].rotate_right(count),
            _ => items.reverse(),
        }
    }

    /// The step that puts the items of a moved or turned list back.
    fn back(&self) -> Self {
        match self {
            Self::Move {
                list,
                from,
                count,
                to,
            } => Self::Move {
                list: list.clone(),
                from: *to,
                count: *count,
                to: *from,
            },
            other => other.clone(),
        }
    }
}

fn items(trip: &Trip, list: &str) -> Vec<Value> {
    match value::get(trip, list) {
        Some(Value::Array(items)) => items,
        _ => Vec::new(),
    }
}

fn too_few(list: &str, needed: usize, length: usize) -> ChangeError {
    ChangeError::Items {
        list: list.to_owned(),
        needed,
        length,
    }
}

fn inside(list: &str, at: usize, count: usize, length: usize) -> Result<(), ChangeError> {
    // A change may come out of a file that anybody wrote, with numbers of any size.
    let end = at.saturating_add(count);
    if end > length {
        return Err(too_few(list, end, length));
    }
    Ok(())
}

/// Every value of a leg that came as a whole is in its range.
fn checked_leg(trip: &Trip, at: usize) -> Result<(), ChangeError> {
    value::check_leg(trip, at).map_err(ChangeError::Unsound)
}

/// The what-ifs as they are before a step.
type Stored = Option<Vec<WhatIf>>;

/// Lets what-ifs and readings follow; the undo with what brings them back exactly.
fn following(
    trip: &mut Trip,
    undo: Step,
    moved: &Moved,
    stored: Stored,
) -> Result<Vec<Step>, ChangeError> {
    let undo = with_what_ifs(trip, undo, stored, |what_ifs| {
        follow::what_ifs(what_ifs, moved)
    });
    if moved.is_of(LEGS)
        && let Some(log) = &mut trip.log
    {
        follow::readings(log, moved).map_err(ChangeError::Logged)?;
    }
    Ok(undo)
}

fn is_name(at: &str) -> bool {
    at.ends_with("/to") || at.ends_with("/name")
}

/// Lets guards follow a name that was changed; the undo with what brings them back exactly.
fn with_name(
    trip: &mut Trip,
    undo: Step,
    at: &str,
    [was, now]: [Option<&Value>; 2],
    stored: Stored,
) -> Vec<Step> {
    match (was, now) {
        (Some(was), Some(now)) if is_name(at) && was != now => {
            with_what_ifs(trip, undo, stored, |what_ifs| {
                follow::rename(what_ifs, at, was, now)
            })
        }
        _ => vec![undo],
    }
}

/// Lets what-ifs follow something. Undoing that lets them follow back, which need not bring them back exactly; so they
/// are put back after it.
fn with_what_ifs(
    trip: &mut Trip,
    undo: Step,
    stored: Stored,
    follow: impl FnOnce(&mut [WhatIf]) -> bool,
) -> Vec<Step> {
    let followed = trip
        .what_ifs
        .as_mut()
        .is_some_and(|what_ifs| follow(what_ifs));
    let back = stored
        .filter(|_| followed)
        .as_deref()
        .map(cut::stored_again);
    [undo].into_iter().chain(back).collect()
}
