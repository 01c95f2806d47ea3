//! A fit in words and as pictures of cells: its components, the factors against what was known before, predicted against
//! used litres, and what is wrong with a way.

use super::number::{Toward, Units};
use super::verdict::counted;
use crate::calibrate::{Factors, FillCalibration, LeftOut, Suspicion, Why};
use crate::consumption::spread::DAY_SPREAD;
use crate::model::calibration::{Component, Predicted};
use crate::model::fills::Break;
use crate::quantity::{Factor, Litres, Share};

/// More times the litres that a way should take are not told by their number.
const MOST_TIMES: f64 = 100.0;

/// Factors that the pictures of them reach from and to.
pub(crate) const REACH: [Factor; 2] = [Factor::new(0.4), Factor::new(1.6)];

/// A factor against what was known before.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FactorRow {
    /// What it is called.
    pub(crate) name: &'static str,
    /// What it is.
    pub(crate) value: Factor,
    /// How far that may be off: a standard deviation.
    pub(crate) spread: Factor,
    /// The same before anything was known of this vehicle; the factor was 1 then.
    pub(crate) before: Factor,
}

/// All factors against what was known before.
pub(crate) fn factor_rows(factors: &Factors, prior: &Factors) -> Vec<FactorRow> {
    let row = |each| FactorRow {
        name: component(each),
        value: factors.value(each),
        spread: factors.spread(each),
        before: prior.spread(each),
    };
    Component::ALL.into_iter().map(row).collect()
}

/// What a cell of the picture of a factor shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Whisker {
    /// Nothing.
    Blank,
    /// Two spreads before anything was known.
    Before,
    /// The factor 1.
    One,
    /// Two spreads of the factor.
    Spread,
    /// The factor.
    Dot,
}

impl FactorRow {
    /// The dot with its whisker over that of before, in so many cells over [`REACH`].
    pub(crate) fn whisker(&self, cells: usize) -> Vec<Whisker> {
        let [from, to] = REACH.map(Factor::get);
        let step = (to - from) / cells.saturating_sub(1).max(1) as f64;
        let cell = |cell: usize| {
            let at = from + step * cell as f64;
            let off = (at - self.value.get()).abs();
            let of_one = (at - 1.0).abs();
            if off <= step / 2.0 {
                Whisker::Dot
            } else if off <= 2.0 * self.spread.get() {
                Whisker::Spread
            } else if of_one <= step / 2.0 {
                Whisker::One
            } else if of_one <= 2.0 * self.before.get() {
                Whisker::Before
            } else {
                Whisker::Blank
            }
        };
        (0..cells).map(cell).collect()
    }
}

/// What a cell of predicted against used litres shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Scatter {
    /// Nothing.
    Blank,
    /// Predicted and used are the same.
    Same,
    /// A way.
    Way,
}

/// Used litres upward, predicted ones to the right, in cells of so many columns and lines, the upper line first; and the
/// litres at the far ends.
pub(crate) fn scatter(
    ways: &[Predicted],
    [columns, lines]: [usize; 2],
) -> (Vec<Vec<Scatter>>, Litres) {
    let all = ways.iter().flat_map(|way| [way.used_l, way.predicted_l]);
    let most = all.fold(Litres::new(1.0), Litres::max) * 1.05;
    let cell = |litres: Litres, cells: usize| cell(litres / most, cells);
    let mut grid = vec![vec![Scatter::Blank; columns]; lines];
    let same = (0..columns).map(|at| (at, most * ((at as f64 + 0.5) / columns as f64)));
    for (at, litres) in same {
        grid[cell(litres, lines)][at] = Scatter::Same;
    }
    for way in ways {
        grid[cell(way.used_l, lines)][cell(way.predicted_l, columns)] = Scatter::Way;
    }
    grid.reverse();
    (grid, most)
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the cells"
)]
fn cell(part: f64, cells: usize) -> usize {
    (part * cells as f64).clamp(0.0, cells.saturating_sub(1) as f64) as usize
}

/// How much a fit goes by, in a sentence.
pub(crate) fn summary(fit: &FillCalibration, units: Units) -> String {
    format!(
        "{} from brim to brim, {} and {} in all, of {}.",
        counted(fit.ways.len(), "way", "ways"),
        units.distance(fit.distance(), Toward::Nearest),
        units.litres(fit.litres()),
        counted(fit.fills, "fill", "fills"),
    )
}

/// What the fit says of the vehicle, in a sentence; that it says nothing, and what it would take, where no way counts.
pub fn known(fit: &FillCalibration, units: Units) -> String {
    if fit.ways.is_empty() {
        return "Nothing can be fitted: that takes two fills to the brim, and what was put in between them. The plan still \
                goes by tables."
            .to_owned();
    }
    let [base, spread] = fit.base();
    let mut ends = [base - spread, base + spread].map(|rate| units.rate(rate).number);
    if units.counts_distance() {
        ends.reverse();
    }
    let [from, to] = ends;
    format!(
        "In the reference condition this vehicle takes {}, with one spread each way {from} to {to}; one way strays from its \
         fitted litres by {:.0} %. {}",
        units.rate(base),
        fit.factors.residual().get() * 100.0,
        days(fit.factors.days(), fit.factors.tank()).unwrap_or_default()
    )
}

/// How days and tanks stray, in a sentence or two; nothing for a fit from before that was asked.
pub(crate) fn days([road, off_road]: [Option<Share>; 2], tank: Option<Share>) -> Option<String> {
    let percent = |share: Share| format!("{:.0} %", share.get() * 100.0);
    let tank = percent(tank?);
    let before = percent(Share::new(DAY_SPREAD.get()));
    Some(match (road, off_road) {
        (None, None) => format!(
            "No three dated ways tell how days stray, so the plan keeps the {before} a day of before the fit."
        ),
        (Some(road), None) => format!(
            "A day on sealed roads strays by {}, a tank by {tank} whatever its days. Too few dated ways leave the sealed road: a \
             day off it keeps the {before} of before the fit.",
            percent(road)
        ),
        (None, Some(off_road)) => format!(
            "A day off sealed roads strays by {}, a tank by {tank} whatever its days. Too few dated ways keep to them: a day on \
             them keeps the {before} of before the fit.",
            percent(off_road)
        ),
        (Some(road), Some(off_road)) => format!(
            "A day on sealed roads strays by {}, one off them by {}, a tank by {tank} whatever its days.",
            percent(road),
            percent(off_road)
        ),
    })
}

/// Of which components hardly anything is known, in a sentence; nothing where something is known of each.
pub(crate) fn untold(factors: &Factors, prior: &Factors) -> Option<String> {
    let untold: Vec<&str> = factors.untold(prior).map(component).collect();
    (!untold.is_empty()).then(|| {
        format!(
            "Fills and readings told hardly anything of: {}. There the plan still goes by tables.",
            untold.join(", ")
        )
    })
}

/// How often a way fell inside the 90 % band that the others gave it, in a sentence; nothing where there is no way.
pub(crate) fn inside(ways: &[Predicted]) -> Option<String> {
    let within = |way: &&Predicted| {
        (way.used_l - way.predicted_l).abs()
            <= way.predicted_sd_l * crate::consumption::spread::P95.get()
    };
    let count = ways.iter().filter(within).count();
    let of = ways.len();
    (of > 0).then(|| {
        format!(
            "{count} of {of} ways fell inside the 90 % band that the others gave them; {:.0} would be expected.",
            of as f64 * 0.9
        )
    })
}

/// What a component is called.
pub(crate) const fn component(component: Component) -> &'static str {
    match component {
        Component::Base => "base",
        Component::Sand => "sand",
        Component::LowRange => "low range",
        Component::Roof => "roof",
        Component::Idle => "idling",
    }
}

/// Why a way was left out, or kept all the same, and what to do.
pub fn left_out(found: &LeftOut, units: Units) -> String {
    let row = found.row;
    let (what, likely) = match found.why {
        Why::Broken(Break::WentBack { from, to }) => {
            return format!(
                "Row {row}: the odometer went back from {} to {}; it was reset, or a reading is wrong. The way to this fill is left out.",
                units.odometer(from, Toward::Nearest),
                units.odometer(to, Toward::Nearest)
            );
        }
        Why::Broken(Break::StoodStill) => {
            return format!(
                "Row {row}: the odometer stands where it stood at the fill before; nothing was driven. Left out."
            );
        }
        Why::Suspect { ratio, because } => (
            match ratio.get() {
                // A way of a few metres would take a number without end.
                ratio if ratio > MOST_TIMES => {
                    format!("more than {MOST_TIMES} times the litres that the way should take")
                }
                ratio => format!("{ratio:.2} times the litres that the way should take"),
            },
            match because {
                Suspicion::MissedFill(litres) => format!(
                    "a fill of about {} before it was probably not written down",
                    units.litres(litres)
                ),
                Suspicion::WrongOdometer { beside } => format!(
                    "an odometer reading is probably wrong, since with the way to row {beside} it adds up"
                ),
                Suspicion::MoreThanTank(litres) => format!(
                    "{} at once is more than the tank holds, so the litres are probably wrong, or cans were filled",
                    units.litres(litres)
                ),
                Suspicion::Unclear => {
                    "the litres, the odometer or what is said of the way is wrong".to_owned()
                }
            },
        ),
    };
    let done = if found.kept {
        "Counted all the same, as asked for.".to_owned()
    } else {
        format!("Left out; --keep {row} counts it.")
    };
    format!("Row {row}: {what}; {likely}. {done}")
}
