//! A calibration as text and as JSON: its factors, predicted and actual fuel of each interval, suspect intervals, and
//! the effect on the trip.

use std::collections::BTreeMap;

use super::json::written;
use super::page::Page;
use crate::calibrate::{Factors, FillCalibration, FittedInterval, LeftOut, Why};
use crate::model::calibration::Component;
use crate::plan::Plan;
use crate::present::calibration::{
    REACH, Scatter, Whisker, factor_rows, inside, known, left_out, scatter as cells, summary,
    uninformed,
};
use crate::present::number::{Toward, Units, odds};
use crate::present::verdict;
use crate::quantity::{Factor, Kilometres, Litres, LitresPer100Km, Share};

/// Columns of the picture of the factors.
const COLUMNS: usize = 37;
/// Columns and lines of the scatter.
const SCATTER: [usize; 2] = [48, 12];

/// The effect of a calibration on the trip: its plan before, and with the factors.
#[derive(Debug)]
pub(crate) struct Effect {
    /// With the factors from before the calibration.
    pub(crate) before: Plan,
    /// With the calibration factors.
    pub(crate) after: Plan,
}

fn effect(page: &mut Page, effect: &Effect, units: Units) {
    page.heading("EFFECT ON THIS TRIP", "");
    let Effect { before, after } = effect;
    let row = |name: &str, before: &str, after: &str| format!("{name:<30} {before:>8} {after:>8}");
    let unit = units.fuel_unit();
    page.line(&row(unit, "before", "after"));
    let [was, is] =
        [before, after].map(|plan| units.fuel_tenths(plan.totals.fuel, Toward::Nearest));
    page.line(&row("trip fuel", &was.number, &is.number));
    if let Some((was, is)) = before.doubt.as_ref().zip(after.doubt.as_ref()) {
        let name = format!("needed in cans, {} target", odds(is.success_target));
        let [was, is] =
            [was, is].map(|doubt| units.fuel_tenths(doubt.in_cans.litres, Toward::Up).number);
        page.line(&row(&name, &was, &is));
    }
    page.paragraph("", 0, &verdict::sentence(after, units));
    super::odds::learn(page, after, units);
}

/// The calibration, to read, with its effect on the trip.
pub(crate) fn text(fit: &FillCalibration, of_trip: Option<&Effect>, units: Units) -> String {
    let mut page = Page::default();
    page.paragraph("", 0, &summary(fit, units));
    page.paragraph("", 0, &known(fit, units));
    if !fit.intervals.is_empty() {
        factors(&mut page, &fit.factors, &fit.prior);
        page.heading(
            "PREDICTED AND ACTUAL",
            &format!(
                "each interval as predicted from the others, {}",
                units.fuel_unit()
            ),
        );
        scatter(&mut page, fit, units);
        if let Some(inside) = inside(&fit.predicted()) {
            page.paragraph("", 0, &inside);
        }
        page.line("");
        page.line(&format!(
            "  row {:>8} actual   predicted  calibrated",
            units.distance_unit()
        ));
        for interval in &fit.intervals {
            // To the tenth, as litres are recorded at a fill.
            let number = |litres| units.fuel_tenths(litres, Toward::Nearest).number;
            let [expected, spread] = interval.by_others.map(number);
            page.line(&format!(
                "{:>5} {:>8} {:>6}  {expected:>6} +- {spread:>4}  {:>6}",
                interval.row,
                units.distance(interval.distance, Toward::Nearest).number,
                number(interval.litres),
                number(interval.fitted),
            ));
        }
    }
    let suspects = fit.left_out.iter();
    let suspects = suspects.map(|found| left_out(found, units));
    page.list("SUSPECT INTERVALS", "", suspects);
    if let Some(of_trip) = of_trip {
        effect(&mut page, of_trip, units);
    }
    page.text
}

/// Writes the calibration factors of a plan, if its vehicle is calibrated.
pub(super) fn section(page: &mut Page, plan: &Plan) {
    let vehicle = plan.vehicle();
    let Some(fitted) = &vehicle.calibration else {
        return;
    };
    factors(
        page,
        &Factors::calibrated(vehicle),
        &Factors::prior(vehicle),
    );
    if let Some(inside) = inside(fitted.predictions.as_deref().unwrap_or_default()) {
        page.paragraph("", 0, &inside);
    }
}

fn factors(page: &mut Page, factors: &Factors, prior: &Factors) {
    page.heading("CALIBRATION FACTORS (1.00: no correction)", "");
    page.line("o calibrated value   = two standard deviations each way   . before   | 1.00");
    for row in factor_rows(factors, prior) {
        let whisker = row.whisker(COLUMNS).into_iter().map(|cell| match cell {
            Whisker::Blank => ' ',
            Whisker::Before => '.',
            Whisker::One => '|',
            Whisker::Spread => '=',
            Whisker::Dot => 'o',
        });
        page.line(&format!(
            "{:<10} {:.2} +- {:.2}  {}",
            row.name,
            row.value.get(),
            row.spread.get(),
            whisker.collect::<String>()
        ));
    }
    let [from, to] = REACH.map(Factor::get);
    page.line(&format!(
        "{:25}{from:<4}{to:>width$}",
        "",
        width = COLUMNS - 4
    ));
    if let Some(sentence) = uninformed(factors, prior) {
        page.paragraph("", 0, &sentence);
    }
}

/// Actual litres upward, predicted ones to the right; on the slanted line both are the same.
fn scatter(page: &mut Page, fit: &FillCalibration, units: Units) {
    let (grid, most) = cells(&fit.predicted(), SCATTER);
    let most = units.litres(most).number;
    for (at, row) in grid.iter().enumerate() {
        let scale = if at == 0 {
            format!("{most:>4} ")
        } else {
            "     ".to_owned()
        };
        let row = row.iter().map(|cell| match cell {
            Scatter::Blank => ' ',
            Scatter::Same => '.',
            Scatter::Interval => 'o',
        });
        page.line(&format!("{scale}|{}", row.collect::<String>()));
    }
    let [columns, _] = SCATTER;
    page.line(&format!("   0 +{}", "-".repeat(columns)));
    page.line(&format!("{most:>width$}", width = columns + 6));
    page.line("o an interval: actual upward, predicted to the right   . both the same");
}

object! {
    /// The calibration as JSON.
    struct FitReport(fit: &FillCalibration, of_trip: Option<&Effect>, units: Units; [base, sd] = fit.base()) {
        #[serde(rename = "drystage_calibration")]
        version: u32 = 1,
        left_out: Vec<LeftOutReport> = fit.left_out.iter().map(|found| LeftOutReport::new(found, units)).collect(),
        factors: BTreeMap<&'static str, FactorReport> =
            Component::ALL.into_iter().map(|each| (each.key(), FactorReport::new(fit, each))).collect(),
        baseline_l_per_100km: BaselineReport = BaselineReport::new(base, sd),
        residual_share: Share = fit.factors.residual(),
        /// Day-to-day variation on sealed roads, wind and surface included; `null` with fewer than three dated
        /// intervals.
        road_day_share: Option<Share> = fit.factors.days()[0],
        /// Day-to-day variation off sealed roads.
        off_road_day_share: Option<Share> = fit.factors.days()[1],
        /// Variation of a tank, whatever its number of days.
        tank_share: Option<Share> = fit.factors.tank(),
        /// Components of which the log has almost no information.
        uninformed: Vec<&'static str> = fit.factors.uninformed(&fit.prior).map(Component::key).collect(),
        /// Intervals within the 90 % prediction interval from the others.
        inside_90: usize = fit.inside(),
        /// Brim-to-brim intervals used.
        intervals: Vec<IntervalReport> = fit.intervals.iter().map(IntervalReport::new).collect(),
        /// Litres needed in cans for the success target, before and with the factors; `null` without a simulation.
        needed_in_cans_before_l: Option<Litres> = of_trip.and_then(|effect| in_cans(&effect.before)),
        needed_in_cans_l: Option<Litres> = of_trip.and_then(|effect| in_cans(&effect.after)),
    }
}

object! {
    struct LeftOutReport(found: &LeftOut, units: Units) {
        row: u64 = found.row,
        why: String = left_out(found, units),
        /// Whether it was included.
        kept: bool = found.kept,
        /// Actual over predicted litres; `null` without a valid odometer distance.
        ratio: Option<Factor> = match found.why {
            Why::Suspect { ratio, .. } => Some(ratio),
            Why::Broken(_) => None,
        },
    }
}

object! {
    struct FactorReport(fit: &FillCalibration, of: Component) {
        value: Factor = fit.factors.value(of),
        sd: Factor = fit.factors.spread(of),
        prior_sd: Factor = fit.prior.spread(of),
    }
}

object! {
    struct BaselineReport(base: LitresPer100Km, spread: LitresPer100Km) {
        value: LitresPer100Km = base,
        sd: LitresPer100Km = spread,
    }
}

object! {
    struct IntervalReport(interval: &FittedInterval) {
        row: u64 = interval.row,
        distance_km: Kilometres = interval.distance,
        used_l: Litres = interval.litres,
        fitted_l: Litres = interval.fitted,
        predicted_l: Litres = interval.by_others[0],
        predicted_sd_l: Litres = interval.by_others[1],
    }
}

fn in_cans(plan: &Plan) -> Option<Litres> {
    plan.doubt.as_ref().map(|doubt| doubt.in_cans.litres)
}

/// The JSON Schema of a calibration.
pub(crate) fn schema() -> serde_json::Value {
    schemars::schema_for!(FitReport).to_value()
}

/// The calibration, for programs.
pub(crate) fn json(fit: &FillCalibration, of_trip: Option<&Effect>, units: Units) -> String {
    written(&FitReport::new(fit, of_trip, units))
}
