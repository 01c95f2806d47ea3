//! What to learn of the vehicle first: which kind of driving, brim to brim before setting out, would narrow the fuel in
//! cans litres of this trip most.
//!
//! How far an interval narrows the factors does not depend on the fuel that it turns out to use, so it is known before
//! it is driven (pre-posterior analysis; Raiffa and Schlaifer, Applied Statistical Decision Theory, 1961, from memory).
//! The trip is planned again, by few simulated trips, with the factors where they are and their standard deviations as
//! they would be: what a gauge that is off requires on top is in both plans. What the interval finds moves the litres
//! up or down as well; on the mean over all that it may find they are those given here.
//!
//! Left out: the way to and from such ground within the same fill, and resting with the engine running.

use crate::calibrate::{Factors, foreseen};
use crate::consumption::surface;
use crate::doubt::study::Effort;
use crate::model::Trip;
use crate::model::fills::Conditions;
use crate::model::vehicle::REFERENCE_LOAD;
use crate::model::vocabulary::{RoofShape, Surface};
use crate::quantity::{Litres, Share, SquareMetres};
use crate::solver::load;

use crate::plan::answers::learn::{Kind, Lesson};
use crate::plan::parts::Plan;

/// Legs of a trip that keeps its cans: to choose them anew for each drive would take seconds. Chosen, no source.
const LONG: usize = 250;

impl Kind {
    fn conditions(self, trip: &Trip) -> Conditions {
        let laden = load::burden(trip, &[], 1).dry_mass;
        let vehicle = &trip.vehicle;
        let whole = Share::new(1.0);
        let conditions = Conditions {
            load: laden - vehicle.kerb_mass_kg + vehicle.kerb_driver() - REFERENCE_LOAD,
            ..Conditions::default()
        };
        match self {
            Self::Road => conditions,
            Self::RoadWithRoof => Conditions {
                roof: trip.load().roof_shape(),
                ..conditions
            },
            Self::Sand => Conditions {
                surface: Surface::Earth,
                sand: whole,
                ..conditions
            },
            Self::LowRange => Conditions {
                surface: Surface::Earth,
                low_range: whole,
                ..conditions
            },
        }
    }
}

impl Plan {
    /// What each kind of driving would teach, the one that narrows the litres in cans most first; none without samples,
    /// without fuel in cans, or under way. Computed when first asked for.
    pub fn lessons(&self) -> &[Lesson] {
        self.answers.lessons.get_or_init(|| self.learn())
    }

    fn learn(&self) -> Vec<Lesson> {
        let Some(doubt) = &self.doubt else {
            return Vec::new();
        };
        let before = doubt.in_cans.litres;
        if before <= Litres::ZERO || self.progress.is_some() {
            return Vec::new();
        }
        let vehicle = &self.trip.vehicle;
        let known = Factors::calibrated(vehicle);
        let effort = Effort::of_question(self.trip.legs.len(), doubt.effort().threads);
        let needed_with = |factors: &Factors| {
            let mut trip = Trip::clone(&self.trip);
            trip.vehicle.calibration = Some(factors.saved(vehicle.baseline_l_per_100km));
            if trip.legs.len() > LONG {
                Self::needed_with_cans(&trip, self.in_cans.cans.clone(), effort)
            } else {
                Self::needed_at_target(&trip, effort)
            }
        };
        let as_known = needed_with(&known);
        let has_roof = self.trip.load().roof_shape() != RoofShape::None
            && surface::roof_drag(self.trip.load().roof_shape()) > SquareMetres::ZERO;
        let mut lessons: Vec<Lesson> = Kind::ALL
            .into_iter()
            .filter(|kind| *kind != Kind::RoadWithRoof || has_roof)
            .map(|kind| {
                let distance = kind.distance();
                let drive = foreseen(vehicle, &known, distance, &kind.conditions(&self.trip));
                let gain = as_known - needed_with(&known.narrowed(&[drive]));
                Lesson {
                    kind,
                    distance,
                    in_cans: [before, (before - gain).max(Litres::ZERO)],
                }
            })
            .collect();
        lessons.sort_by(|a, b| a.in_cans[1].get().total_cmp(&b.in_cans[1].get()));
        lessons
    }
}
