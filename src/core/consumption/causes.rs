//! The table of causes: why a leg needs more or less than the baseline consumption.
//!
//! A cause taken away puts one aspect of the leg back to the baseline conditions. The multipliers are the
//! order-free (Shapley) attribution of log(litres / litres at base): each cause's share is the mean of what it
//! adds over all orders in which the causes can be brought in, so that their product times base is the leg's
//! figure and no cause is favoured for coming first. Source: Shapley, A value for n-person games, 1953.

use crate::quantity::{Factor, Litres, LogFactor};

use super::drive::Drive;
use super::leg::LegFormula;
use super::shapley::shapley;

/// Something that makes a leg's consumption differ from the baseline consumption.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// Rolling resistance and unsteadiness of the ground.
    Surface,
    /// Speed against the base speed.
    Pace,
    /// Soft sand and dunes.
    Sand,
    /// Low range, where a lower gear turns the engine faster at the same speed.
    LowRange,
    /// Drag of the roof load.
    Roof,
    /// Mass over the reference mass.
    Load,
    /// Climbs and descents.
    Climb,
    /// Air by altitude, temperature and wind.
    Air,
    /// Warming up, stiff oil and tyres, winter fuel.
    Cold,
    /// Tread, pressure and size of the tyres.
    Tyres,
    /// Air-conditioning, idling and camp.
    Extras,
}

impl Cause {
    /// Every cause, in the order in which it is shown.
    pub const ALL: [Self; 11] = [
        Self::Surface,
        Self::Pace,
        Self::Sand,
        Self::LowRange,
        Self::Roof,
        Self::Load,
        Self::Climb,
        Self::Air,
        Self::Cold,
        Self::Tyres,
        Self::Extras,
    ];

    /// The key that represents the cause in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Surface => "surface",
            Self::Pace => "speed",
            Self::Sand => "sand",
            Self::LowRange => "low_range",
            Self::Roof => "roof",
            Self::Load => "load",
            Self::Climb => "climb",
            Self::Air => "air_and_wind",
            Self::Cold => "cold",
            Self::Tyres => "tyres",
            Self::Extras => "aircon_and_idling",
        }
    }
}

/// One cause's part in a leg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CauseShare {
    /// Which cause it is.
    pub cause: Cause,
    /// Its factor over base; `None` on a leg of no length.
    pub multiplier: Option<Factor>,
    /// Litres of the leg without the cause, all others kept.
    pub without: Litres,
}

/// `actual` with `cause` put back to `reference`.
fn without(cause: Cause, mut actual: Drive, reference: &Drive) -> Drive {
    match cause {
        Cause::Surface => {
            actual.crr = reference.crr;
            actual.unsteadiness = reference.unsteadiness;
            actual.firm = reference.firm;
        }
        Cause::Pace => {
            actual.speed = reference.speed;
            actual.pace = reference.pace;
        }
        Cause::Sand => {
            actual.sand = 0.0;
            actual.dunes = 0.0;
            actual.both = None;
        }
        Cause::LowRange => {
            actual.low_range = 0.0;
            actual.both = None;
        }
        Cause::Roof => actual.roof_area = reference.roof_area,
        Cause::Load => actual.mass = reference.mass,
        Cause::Climb => {
            actual.climb = [0.0, actual.climb[1]];
            actual.descent = [0.0, actual.descent[1]];
        }
        Cause::Air => {
            actual.density = reference.density;
            actual.head_wind = reference.head_wind;
        }
        Cause::Cold => {
            actual.cold = reference.cold;
            actual.starts = reference.starts;
        }
        Cause::Tyres => actual.tyres = reference.tyres,
        Cause::Extras => {
            actual.accessories = reference.accessories;
            actual.idling = 0.0;
            actual.camp = 0.0;
        }
    }
    actual
}

impl LegFormula {
    /// Why the leg costs what it costs, with a steady `on_board`: every cause, in the order of `Cause::ALL`.
    ///
    /// Cost: 2^n evaluations of the formula, where n is the number of causes that the leg has.
    pub fn causes(&self, on_board: Litres) -> Vec<CauseShare> {
        let actual = self.loaded(on_board);
        let reference = &self.formula.hundred_km;
        // A cause that changes nothing has the factor 1 whatever the others do, so it need not be tried.
        let active: Vec<Cause> = Cause::ALL
            .into_iter()
            .filter(|&cause| without(cause, actual, reference) != actual)
            .collect();
        let logs = self.shapley_logs(&active, actual);
        Cause::ALL
            .into_iter()
            .map(|cause| CauseShare {
                cause,
                multiplier: (actual.distance > 0.0).then(|| {
                    let log = active
                        .iter()
                        .position(|&other| other == cause)
                        .map_or(LogFactor::ZERO, |at| logs[at]);
                    Factor::new(log.get().exp())
                }),
                without: Litres::new(self.litres_of(&without(cause, actual, reference))),
            })
            .collect()
    }

    /// The share of each active cause in log(litres / litres at base).
    fn shapley_logs(&self, active: &[Cause], actual: Drive) -> Vec<LogFactor> {
        let n = active.len();
        if actual.distance <= 0.0 {
            return vec![LogFactor::ZERO; n];
        }
        let reference = &self.formula.hundred_km;
        // Bit i of the index is set if cause i is present.
        let logs: Vec<LogFactor> = (0..1_usize << n)
            .map(|present| {
                let drive = (0..n)
                    .filter(|i| present >> i & 1 == 0)
                    .fold(actual, |drive, i| without(active[i], drive, reference));
                LogFactor::new(self.litres_of(&drive).ln())
            })
            .collect();
        shapley(&logs)
    }
}
