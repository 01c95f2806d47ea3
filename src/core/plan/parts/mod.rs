//! What a plan consists of: plain data, made by laying out a trial.

pub(crate) mod carrying;
pub(crate) mod course;
pub mod daylight;
pub mod doubt;
pub mod finding;
pub(crate) mod fuel_check;
pub(crate) mod legs;
pub(crate) mod load;
pub(crate) mod stages;
pub(crate) mod stops;
pub mod supplies;
pub(crate) mod verdict;

use std::sync::Arc;

use crate::consumption::base::Base as Baseline;
use crate::model::Trip;

use crate::plan::answers::Answers;
use crate::plan::kept::Kept;
use crate::plan::under_way::progress::Progress;
use course::Span;
use daylight::Daylight;
use doubt::Doubt;
use finding::Finding;
use fuel_check::FuelCheck;
use legs::{PlannedLeg, Totals};
use load::{FuelInCans, LoadPlan};
use stages::Stage;
use stops::{Decant, Stop};

/// A plan. The best-estimate one takes every input at its most likely value and relies on stops with a chance of a half
/// or more; the one at the success target is laid out with what the samples require, its legs still at their likely
/// litres.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The trip that was planned.
    pub trip: Arc<Trip>,
    /// The figure that everything is scaled to.
    pub base: Baseline,
    /// Sums over the trip.
    pub totals: Totals,
    /// The legs in driving order.
    pub legs: Vec<PlannedLeg>,
    /// Every fuel stop in driving order, used or not.
    pub stops: Vec<Stop>,
    /// When to decant which can.
    pub decants: Vec<Decant>,
    /// The fuel checks in driving order: at places, every 50 km off sealed roads, at turn-back points. None without
    /// simulated trips.
    pub fuel_checks: Vec<FuelCheck>,
    /// The runs of legs between counted fuel stops.
    pub stages: Vec<Stage>,
    /// The cans, and the litres needed and carried in them.
    pub in_cans: FuelInCans,
    /// Masses against their limits.
    pub load: LoadPlan,
    /// Tank and cans along the way.
    pub course: Vec<Span>,
    /// The light of the days to come, where date, UTC offset and coordinates are stated.
    pub daylight: Option<Daylight>,
    /// What must be shown, gravest first.
    pub findings: Vec<Finding>,
    /// What the samples show, where the plan is one at a success target.
    pub doubt: Option<Doubt>,
    /// The driven part of a trip that is under way: driven legs are as they were observed, and the plan begins at the
    /// last reading of the log.
    pub progress: Option<Box<Progress>>,
    /// Whether it is the return of a trip that was to turn back.
    pub is_return: bool,
    /// What is kept of the trial for the questions that may be asked.
    pub(in crate::plan) kept: Kept,
    /// What was answered so far.
    pub(in crate::plan) answers: Answers<Self>,
}
