//! What is planned beside the screen. Which trip is next follows from the state alone ([`State::to_plan`]).
//!
//! [`State::to_plan`]: super::state::State::to_plan

use std::sync::Arc;

use super::picture::Picture;
use super::worker;
use crate::model::Trip;
use crate::model::slider::Sliders;
use crate::model::what_if::WhatIfError;
use crate::plan::Plan;
use crate::present::number::Units;

/// The map of so many legs is made while a frame is drawn; that of more legs by the thread.
const MAP_OF: usize = 1_000;

/// What is to be planned.
#[derive(Clone, Debug)]
pub(crate) enum Job {
    /// A trip as it is.
    Trip(Arc<Trip>),
    /// What sliders make of a trip.
    Sliders {
        /// The trip that they start from.
        base: Arc<Trip>,
        /// What they are set to.
        sliders: Sliders,
    },
    /// A what-if that is kept with a trip.
    WhatIf {
        /// The trip with which it is kept.
        stated: Arc<Trip>,
        /// The name of the what-if.
        name: String,
    },
}

/// The picture of what was to be planned, or why there is none.
pub(crate) type Made = Result<Arc<Picture>, WhatIfError>;

impl Job {
    /// Does it.
    ///
    /// # Errors
    /// Why the what-if does not fit the trip.
    pub(crate) fn done(&self, units: Units) -> Made {
        let trip = match self {
            Self::Trip(trip) => Arc::clone(trip),
            Self::Sliders { base, sliders } => sliders.trip(base).into(),
            Self::WhatIf { stated, name } => stated.with_what_if(name)?.into(),
        };
        Ok(planned(&trip, units))
    }

    /// The trip that it starts from.
    const fn start(&self) -> &Arc<Trip> {
        match self {
            Self::Trip(trip)
            | Self::Sliders { base: trip, .. }
            | Self::WhatIf { stated: trip, .. } => trip,
        }
    }
}

impl worker::Job for Job {
    fn is_answered_by(&self, other: &Self) -> bool {
        Arc::ptr_eq(self.start(), other.start())
            && match (self, other) {
                (Self::Trip(_), Self::Trip(_)) => true,
                (
                    Self::Sliders { sliders, .. },
                    Self::Sliders {
                        sliders: others, ..
                    },
                ) => sliders == others,
                (Self::WhatIf { name, .. }, Self::WhatIf { name: other, .. }) => name == other,
                _ => false,
            }
    }
}

/// A trip by its best-estimate plan.
pub(crate) fn planned(trip: &Arc<Trip>, units: Units) -> Arc<Picture> {
    let picture = Picture::of(Plan::best_estimate(Arc::clone(trip)), units);
    if picture.plan().legs.len() > MAP_OF {
        picture.chart();
    }
    picture
}
