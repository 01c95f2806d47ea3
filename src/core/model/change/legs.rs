//! Legs come, go, change places and days.

use super::{Change, ChangeError, LEGS, Step};
use crate::model::Trip;
use crate::model::route::{FIRST_DAY, Leg};

impl Change {
    /// Puts a leg in before the leg at `at` (from 0), or after the last one. The legs behind it keep their days.
    pub fn insert_leg(trip: &Trip, at: usize, leg: Leg) -> Self {
        let name = format!("insert leg {} to {}", at + 1, leg.to);
        let mut days: Vec<Option<u32>> = trip.days().into_iter().map(Some).collect();
        days.insert(at.min(days.len()), None);
        let mut stated = stated_days(trip);
        stated.insert(at.min(stated.len()), leg.day);
        let mut steps = vec![Step::InsertLegs {
            at,
            legs: vec![leg],
        }];
        steps.extend(keep_days(&stated, &days));
        Self::new(name, steps)
    }

    /// Puts a copy of a leg behind it.
    ///
    /// # Errors
    /// When there is no such leg.
    pub fn duplicate_leg(trip: &Trip, at: usize) -> Result<Self, ChangeError> {
        let leg = leg(trip, at)?.clone();
        let mut change = Self::insert_leg(trip, at + 1, leg);
        change.name = format!("duplicate leg {}", at + 1);
        Ok(change)
    }

    /// Takes legs out. The legs behind them keep their days.
    ///
    /// # Errors
    /// When there are no such legs, or no other ones.
    pub fn delete_legs(trip: &Trip, at: usize, count: usize) -> Result<Self, ChangeError> {
        let mut days: Vec<Option<u32>> = trip.days().into_iter().map(Some).collect();
        let mut stated = stated_days(trip);
        if at + count > stated.len() {
            return Err(missing(trip, at + count - 1));
        }
        if count == stated.len() {
            return Err(ChangeError::Legs("a trip must have a leg".to_owned()));
        }
        days.drain(at..at + count);
        stated.drain(at..at + count);
        let mut steps = vec![Step::Remove {
            list: LEGS.to_owned(),
            at,
            count,
        }];
        steps.extend(keep_days(&stated, &days));
        Ok(Self::new(format!("delete {}", named(at, count)), steps))
    }

    /// Puts legs to another place; `to` is the index that the first of them gets. They take the day of where they
    /// come to, the others keep theirs.
    ///
    /// # Errors
    /// When there are no such legs, or no such place.
    pub fn move_legs(
        trip: &Trip,
        from: usize,
        count: usize,
        to: usize,
    ) -> Result<Self, ChangeError> {
        let length = trip.legs.len();
        if from + count > length || to + count > length {
            return Err(missing(trip, (from + count).max(to + count) - 1));
        }
        let was = trip.days();
        let mut stated = stated_days(trip);
        let moved: Vec<Option<u32>> = stated.drain(from..from + count).collect();
        stated.splice(to..to, moved);
        let mut days: Vec<u32> = was.clone();
        let of_moved: Vec<u32> = days.drain(from..from + count).collect();
        let before = to.checked_sub(1).map(|at| days[at]);
        let behind = days.get(to).copied();
        let fitting = of_moved.into_iter().map(|day| {
            let day = before.map_or(day, |before| day.max(before));
            behind.map_or(day, |behind| day.min(behind))
        });
        let fitting: Vec<u32> = fitting.collect();
        days.splice(to..to, fitting);
        let days: Vec<Option<u32>> = days.into_iter().map(Some).collect();
        let mut steps = vec![Step::Move {
            list: LEGS.to_owned(),
            from,
            count,
            to,
        }];
        steps.extend(keep_days(&stated, &days));
        Ok(Self::new(format!("move {}", named(from, count)), steps))
    }

    /// Drives a leg on another day: legs before it that would come later, and legs behind it that would come
    /// earlier, take that day too.
    ///
    /// # Errors
    /// When there is no such leg.
    pub fn set_day(trip: &Trip, at: usize, day: u32) -> Result<Self, ChangeError> {
        leg(trip, at)?;
        let days = trip.days();
        let wanted: Vec<Option<u32>> = days
            .iter()
            .enumerate()
            .map(|(number, &was)| match number.cmp(&at) {
                std::cmp::Ordering::Less => Some(was.min(day)),
                std::cmp::Ordering::Equal => Some(day),
                std::cmp::Ordering::Greater => Some(was.max(day)),
            })
            .collect();
        let name = format!("leg {}: day {} -> {day}", at + 1, days[at]);
        Ok(Self::new(name, keep_days(&stated_days(trip), &wanted)))
    }

    /// Drives a leg and all behind it so many days later, or earlier with a number below 0.
    ///
    /// # Errors
    /// When there is no such leg, or its day would come before that of the leg before it.
    pub fn shift_days(trip: &Trip, at: usize, by: i32) -> Result<Self, ChangeError> {
        leg(trip, at)?;
        let days = trip.days();
        let earliest = at.checked_sub(1).map_or(1, |before| days[before]);
        let wanted: Option<Vec<Option<u32>>> = days
            .iter()
            .enumerate()
            .map(|(number, &was)| {
                let day = if number < at {
                    Some(was)
                } else {
                    was.checked_add_signed(by).filter(|&day| day >= earliest)
                };
                day.map(Some)
            })
            .collect();
        let wanted = wanted.ok_or_else(|| {
            ChangeError::Legs(format!(
                "leg {} must be on day {earliest} or later, got {}",
                at + 1,
                i64::from(days[at]) + i64::from(by)
            ))
        })?;
        let name = format!("leg {} and on: {by:+} days", at + 1);
        Ok(Self::new(name, keep_days(&stated_days(trip), &wanted)))
    }
}

/// The leg at an index.
pub(super) fn leg(trip: &Trip, at: usize) -> Result<&Leg, ChangeError> {
    trip.legs.get(at).ok_or_else(|| missing(trip, at))
}

pub(super) fn missing(trip: &Trip, at: usize) -> ChangeError {
    ChangeError::Legs(format!(
        "must be leg 1 to {}, got {}",
        trip.legs.len(),
        at + 1
    ))
}

fn named(at: usize, count: usize) -> String {
    if count == 1 {
        format!("leg {}", at + 1)
    } else {
        format!("legs {} to {}", at + 1, at + count)
    }
}

/// The day that each leg states.
fn stated_days(trip: &Trip) -> Vec<Option<u32>> {
    trip.legs.iter().map(|leg| leg.day).collect()
}

/// The steps that give each leg the day that it shall have, where it would not have it by itself from the day that it
/// states.
fn keep_days(stated: &[Option<u32>], wanted: &[Option<u32>]) -> Vec<Step> {
    let mut day = FIRST_DAY;
    let mut steps = Vec::new();
    for (number, (stated, wanted)) in stated.iter().zip(wanted).enumerate() {
        let by_itself = stated.unwrap_or(day);
        day = wanted.unwrap_or(by_itself);
        if day != by_itself {
            steps.push(Step::set(format!("{LEGS}/{number}/day"), day));
        }
    }
    steps
}
