//! A calibration in words and as pictures of cells: the factors beside those before it, predicted and actual litres,
//! and what is wrong with an interval.

use super::number::{Toward, Units};
use super::verdict::counted;
use crate::calibrate::{Factors, FillCalibration, LeftOut, Suspicion, Why};
use crate::consumption::spread::DAY_SPREAD;
use crate::model::calibration::{Component, Predicted};
use crate::model::fills::Break;
use crate::quantity::{Factor, Litres, Share};

/// A larger ratio of actual to predicted fuel is not shown by its number.
const MOST_TIMES: f64 = 100.0;

/// The range of factors in their pictures.
pub(crate) const REACH: [Factor; 2] = [Factor::new(0.4), Factor::new(1.6)];

/// A calibration factor, and the published tables before it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FactorRow {
    pub(crate) name: &'static str,
    pub(crate) value: Factor,
    /// Its standard deviation.
    pub(crate) spread: Factor,
    /// The standard deviation before calibration; the factor was 1 then.
    pub(crate) before: Factor,
}

/// All calibration factors.
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
    /// An empty cell.
    Blank,
    /// Two standard deviations before calibration.
    Before,
    /// Where the factor is 1.
    One,
    /// Two standard deviations of the factor.
    Spread,
    /// The calibrated factor.
    Dot,
}

impl FactorRow {
    /// The dot with its whisker over that before calibration, in `cells` cells over [`REACH`].
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

/// What a cell of predicted and actual litres shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Scatter {
    /// An empty cell.
    Blank,
    /// Predicted and actual are the same.
    Same,
    /// One interval of the log.
    Interval,
}

/// Actual litres upward, predicted ones to the right, in cells of so many columns and lines, the upper line first; and
/// the litres at the far ends.
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
        grid[cell(way.used_l, lines)][cell(way.predicted_l, columns)] = Scatter::Interval;
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

/// What a calibration is based on, in a sentence.
pub(crate) fn summary(fit: &FillCalibration, units: Units) -> String {
    format!(
        "Calibrated from {}: {}, {}, {}.",
        counted(fit.fills, "fill-up", "fill-ups"),
        counted(
            fit.intervals.len(),
            "brim-to-brim interval",
            "brim-to-brim intervals"
        ),
        units.distance(fit.distance(), Toward::Nearest),
        units.litres(fit.litres()),
    )
}

/// The consumption of the vehicle in sentences; without an interval what a calibration needs.
pub fn known(fit: &FillCalibration, units: Units) -> String {
    if fit.intervals.is_empty() {
        return "A calibration needs two full fills, and what was filled between them. The plan still uses the published \
                tables."
            .to_owned();
    }
    let [base, spread] = fit.base();
    let mut ends = [base - spread, base + spread].map(|rate| units.rate(rate).number);
    if units.counts_distance() {
        ends.reverse();
    }
    let [from, to] = ends;
    format!(
        "Consumption in the reference conditions: {} ({from} to {to}, one standard deviation each way). A single interval \
         scatters by {:.0} % about its calibrated value. {}",
        units.rate(base),
        fit.factors.residual().get() * 100.0,
        days(fit.factors.days(), fit.factors.tank()).unwrap_or_default()
    )
}

/// The variation of days and tanks, in a sentence or two; `None` for an older calibration without it.
pub(crate) fn days([road, off_road]: [Option<Share>; 2], tank: Option<Share>) -> Option<String> {
    let percent = |share: Share| format!("{:.0} %", share.get() * 100.0);
    let tank = percent(tank?);
    let before = percent(Share::new(DAY_SPREAD.get()));
    Some(match (road, off_road) {
        (None, None) => format!(
            "Fewer than three dated intervals show the day-to-day variation, so the plan keeps {before} a day from before \
             calibration."
        ),
        (Some(road), None) => format!(
            "A day on sealed roads varies by {}, and each tank by a further {tank}. Too few dated intervals are off sealed roads; \
             there the plan keeps {before} a day from before calibration.",
            percent(road)
        ),
        (None, Some(off_road)) => format!(
            "A day off sealed roads varies by {}, and each tank by a further {tank}. Too few dated intervals are on sealed roads; \
             there the plan keeps {before} a day from before calibration.",
            percent(off_road)
        ),
        (Some(road), Some(off_road)) => format!(
            "A day on sealed roads varies by {}, one off them by {}, and each tank by a further {tank}.",
            percent(road),
            percent(off_road)
        ),
    })
}

/// Of which components the log has almost no information, in sentences; `None` if of none.
pub(crate) fn uninformed(factors: &Factors, prior: &Factors) -> Option<String> {
    let uninformed = factors.uninformed(prior).map(component);
    let uninformed: Vec<String> = uninformed.map(str::to_owned).collect();
    (!uninformed.is_empty()).then(|| {
        format!(
            "There is almost no information on {}. For these the plan still uses the published tables.",
            super::finding::listed(&uninformed)
        )
    })
}

/// How many intervals are within their prediction interval, in a sentence; `None` without any.
pub(crate) fn inside(ways: &[Predicted]) -> Option<String> {
    let within = |way: &&Predicted| {
        (way.used_l - way.predicted_l).abs()
            <= way.predicted_sd_l * crate::consumption::spread::P95.get()
    };
    let count = ways.iter().filter(within).count();
    let of = ways.len();
    (of > 0).then(|| {
        format!(
            "{count} of {of} intervals lie within their 90 % prediction interval; {:.0} are expected.",
            of as f64 * 0.9
        )
    })
}

/// The name of a component.
pub(crate) const fn component(component: Component) -> &'static str {
    match component {
        Component::Base => "base",
        Component::Sand => "sand",
        Component::LowRange => "low range",
        Component::Roof => "roof",
        Component::Idle => "idling",
    }
}

/// Why an interval is suspect or left out, and what to do.
pub fn left_out(found: &LeftOut, units: Units) -> String {
    let row = found.row;
    let (what, likely) = match found.why {
        Why::Broken(Break::WentBack { from, to }) => {
            return format!(
                "Row {row}: the odometer went back from {} to {}. It was reset, or a reading is wrong. The interval before this \
                 fill is left out.",
                units.odometer(from, Toward::Nearest),
                units.odometer(to, Toward::Nearest)
            );
        }
        Why::Broken(Break::StoodStill) => {
            return format!(
                "Row {row}: the odometer is unchanged since the fill before. Left out."
            );
        }
        Why::Suspect { ratio, because } => (
            match ratio.get() {
                // An interval of a few metres would have a ratio of many digits.
                ratio if ratio > MOST_TIMES => {
                    format!("more than {MOST_TIMES} times the predicted fuel")
                }
                ratio => format!("{ratio:.2} times the predicted fuel"),
            },
            match because {
                Suspicion::MissedFill(litres) => format!(
                    "A fill of about {} before it was probably not recorded.",
                    units.litres(litres)
                ),
                Suspicion::WrongOdometer { beside } => format!(
                    "An odometer reading is probably wrong: together with the interval of row {beside} it agrees."
                ),
                Suspicion::MoreThanTank(litres) => format!(
                    "A fill of {} is more than the tank holds: the litres are probably wrong, or cans were filled.",
                    units.litres(litres)
                ),
                Suspicion::Unclear => {
                    "The litres, the odometer or the recorded conditions are wrong.".to_owned()
                }
            },
        ),
    };
    let done = if found.kept {
        "Included (--keep).".to_owned()
    } else {
        format!("Left out; --keep {row} includes it.")
    };
    format!("Row {row} took {what}. {likely} {done}")
}
