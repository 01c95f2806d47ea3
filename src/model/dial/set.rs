//! Turned dials together: the trip that they make, the patch that keeps it, and the way back from a patch.

use json_patch::jsonptr::PointerBuf;
use json_patch::{PatchOperation, diff};

use super::turn::{EXTRA, ON_ROOF, extra};
use super::{Dial, Notch};
use crate::model::Trip;
use crate::model::change::guarded;
use crate::model::route::Leg;
use crate::model::what_if::{WhatIf, WhatIfError};
use crate::quantity::Share;

/// Dials that were turned, each with where it stands.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Dials(Vec<(Dial, Notch)>);

/// A stored what-if, taken up by the dials.
#[derive(Clone, Debug, PartialEq)]
pub enum Laid {
    /// The dials alone make the same trip.
    OnDials(Dials),
    /// It changes what no dial changes, so the dials start from the trip that it makes.
    Beneath(Box<Trip>),
}

impl Dials {
    /// Where a dial stands; nothing where the trip states it.
    pub fn at(&self, dial: Dial) -> Option<Notch> {
        let found = self.0.iter().find(|(turned, _)| *turned == dial);
        found.map(|(_, notch)| *notch)
    }

    /// Turns a dial, or lets it go.
    pub fn set(&mut self, dial: Dial, notch: Option<Notch>) {
        self.0.retain(|(turned, _)| *turned != dial);
        if let Some(notch) = notch {
            self.0.push((dial, notch));
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

    /// The turned ones.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (Dial, Notch)> + '_ {
        self.0.iter().copied()
    }

    /// The trip with every dial where it stands.
    #[must_use]
    pub fn trip(&self, stated: &Trip) -> Trip {
        let mut turned = stated.clone();
        for &(dial, notch) in &self.0 {
            dial.put(stated, notch, &mut turned);
        }
        turned
    }

    /// The trip with one dial elsewhere.
    #[must_use]
    pub fn trip_with(&self, stated: &Trip, dial: Dial, notch: Option<Notch>) -> Trip {
        let mut others = self.clone();
        others.set(dial, notch);
        others.trip(stated)
    }

    /// The what-if of that name, taken up: by the dials where they can, else laid beneath them.
    ///
    /// # Errors
    /// When it does not fit the trip any more.
    pub fn of_what_if(stated: &Trip, name: &str) -> Result<Laid, WhatIfError> {
        let wanted = stated.with_what_if(name)?;
        let mut dials = Self::default();
        // One leg's share before all legs': a leg that is told alone is no part of what is common.
        let only = |share: fn(&Leg) -> Share| {
            let pairs = stated.legs.iter().zip(&wanted.legs).zip(1..);
            let mut differ = pairs.filter(|((a, b), _)| share(a) != share(b));
            let first = differ.next().map(|(_, leg)| leg);
            first.filter(|_| differ.next().is_none())
        };
        let sand = only(Leg::sand_share).map(Dial::SandOn);
        let low_range = only(Leg::low_range_share).map(Dial::LowRangeOn);
        let legs = sand.into_iter().chain(low_range);
        let common = Dial::all(stated, 0);
        for dial in common.into_iter().chain(legs) {
            // The nearest that gets closer to the wanted trip.
            let reached = (0..dial.notches(stated)).map(Notch).find(|&notch| {
                speaks_alike(dial, &dials.trip_with(stated, dial, Some(notch)), &wanted)
            });
            if let Some(notch) = reached
                && !speaks_alike(dial, stated, &wanted)
            {
                dials.set(dial, Some(notch));
            }
        }
        Ok(if dials.trip(stated) == wanted {
            Laid::OnDials(dials)
        } else {
            Laid::Beneath(Box::new(wanted))
        })
    }
}

/// Whether two trips agree in what a dial is about.
fn speaks_alike(dial: Dial, one: &Trip, other: &Trip) -> bool {
    let legs = |alike: fn(&Leg, &Leg) -> bool| {
        one.legs.len() == other.legs.len()
            && one.legs.iter().zip(&other.legs).all(|(a, b)| alike(a, b))
    };
    match dial {
        Dial::Roof => one.load().roof == other.load().roof,
        Dial::RoofLoad => extra(one, ON_ROOF) == extra(other, ON_ROOF),
        Dial::Cargo => extra(one, EXTRA) == extra(other, EXTRA),
        Dial::People => one.load().people() == other.load().people(),
        Dial::Tread => one.vehicle.tread() == other.vehicle.tread(),
        Dial::RoadPressure => one.vehicle.road_pressure() == other.vehicle.road_pressure(),
        Dial::SoftPressure => one.vehicle.soft_pressure() == other.vehicle.soft_pressure(),
        Dial::AiredDown => legs(|a, b| a.is_aired_down() == b.is_aired_down()),
        Dial::SealedSpeed => legs(|a, b| a.speed_kmh == b.speed_kmh),
        Dial::Sand | Dial::SandOn(_) => legs(|a, b| a.sand_share == b.sand_share),
        Dial::LowRange | Dial::LowRangeOn(_) => legs(|a, b| a.low_range_share == b.low_range_share),
        Dial::Headwind => legs(|a, b| a.headwind_kmh == b.headwind_kmh),
        Dial::Temperature => legs(|a, b| a.temperature_c == b.temperature_c),
        Dial::Reserve => {
            one.rules().reserve_litres(&one.vehicle) == other.rules().reserve_litres(&other.vehicle)
        }
        Dial::Contingency => one.rules().contingency() == other.rules().contingency(),
        Dial::SuccessTarget => one.rules().success_target() == other.rules().success_target(),
        Dial::DryStop => legs(|a, b| a.fuel == b.fuel),
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
