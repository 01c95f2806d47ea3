//! Calibration in the HTML report: the factors as dots with whiskers beside those before, and predicted and actual
//! litres of the intervals.

use maud::{Markup, html};

use super::drawing::px;
use crate::calibrate::Factors;
use crate::model::calibration::Predicted;
use crate::plan::Plan;
use crate::present::calibration::{FactorRow, REACH, days, factor_rows, inside, uninformed};
use crate::present::number::{Toward, Units};
use crate::quantity::{Factor, Litres};

const WIDTH: f64 = 300.0;
/// Side of the square of predicted and actual litres.
const SIDE: f64 = 260.0;
const EDGE: f64 = 26.0;

/// The section; `None` if the vehicle is not calibrated.
pub(super) fn section(plan: &Plan, units: Units) -> Markup {
    let vehicle = plan.vehicle();
    let Some(fitted) = &vehicle.calibration else {
        return html! {};
    };
    let rows = factor_rows(&Factors::calibrated(vehicle), &Factors::prior(vehicle));
    let ways = fitted.predictions.as_deref().unwrap_or_default();
    html! {
        p {
            "Calibrated from " (fitted.intervals) " brim-to-brim intervals, " (units.distance(fitted.distance_km, Toward::Nearest)) ", "
            (units.litres(fitted.litres)) ". A single interval scatters by "
            (format!("{:.0}", fitted.residual_share.get() * 100.0)) " % about its calibrated value."
            @if let Some(says) = days([fitted.road_day_share, fitted.off_road_day_share], fitted.tank_share) { " " (says) }
        }
        div.wide tabindex="0" role="group" aria-label="Calibration factors, can be scrolled sideways" {
            table.figures {
                caption { "Calibration factors: dot with two standard deviations each way. Thin line: before calibration. Scale from " (REACH[0].get()) " to " (REACH[1].get()) }
                thead { tr { @for head in ["part", "factor", "\u{b1}", "beside the published tables"] { th { (head) } } } }
                tbody {
                    @for row in &rows {
                        tr {
                            th scope="row" { (row.name) }
                            td { (format!("{:.2}", row.value.get())) }
                            td { (format!("{:.2}", row.spread.get())) }
                            td { (whisker(row)) }
                        }
                    }
                }
            }
        }
        @if let Some(says) = uninformed(&Factors::calibrated(vehicle), &Factors::prior(vehicle)) { p { (says) } }
        @if let Some(says) = inside(ways) {
            figure {
                (scatter(ways, units))
                figcaption { "Actual litres upward, predicted from the other intervals to the right, with two standard deviations each way. On the slanted line both are the same. " (says) }
            }
        }
    }
}

fn whisker(row: &FactorRow) -> Markup {
    let [from, to] = REACH;
    let x = |factor: Factor| px(WIDTH * ((factor - from) / (to - from)).clamp(0.0, 1.0));
    let one = Factor::new(1.0);
    let ends =
        |middle: Factor, spread: Factor| [x(middle - spread * 2.0), x(middle + spread * 2.0)];
    let [before_from, before_to] = ends(one, row.before);
    let [spread_from, spread_to] = ends(row.value, row.spread);
    html! {
        svg.bar.whisker viewBox={ "0 0 " (px(WIDTH)) " 18" } aria-hidden="true" {
            line.grid x1=(x(one)) x2=(x(one)) y1="0" y2="18" {}
            line.grid x1=(before_from) x2=(before_to) y1="13" y2="13" {}
            line.axis x1=(spread_from) x2=(spread_to) y1="7" y2="7" {}
            circle.ink cx=(x(row.value)) cy="7" r="4" {}
        }
    }
}

fn scatter(ways: &[Predicted], units: Units) -> Markup {
    let all = ways
        .iter()
        .flat_map(|way| [way.used_l, way.predicted_l + way.predicted_sd_l * 2.0]);
    let most = all.fold(Litres::new(1.0), Litres::max) * 1.02;
    let at = |litres: Litres| (SIDE - EDGE) * (litres / most).clamp(0.0, 1.0);
    let x = |litres: Litres| px(EDGE + at(litres));
    let y = |litres: Litres| px(SIDE - EDGE - at(litres) * (SIDE - 2.0 * EDGE) / (SIDE - EDGE));
    let zero = Litres::ZERO;
    html! {
        svg viewBox={ "0 0 " (px(SIDE)) " " (px(SIDE)) } width=(px(SIDE)) role="img" aria-label="Predicted and actual litres" {
            line.axis x1=(x(zero)) x2=(x(most)) y1=(y(zero)) y2=(y(zero)) {}
            line.axis x1=(x(zero)) x2=(x(zero)) y1=(y(zero)) y2=(y(most)) {}
            line.grid x1=(x(zero)) x2=(x(most)) y1=(y(zero)) y2=(y(most)) {}
            text.dim x="2" y=(px(EDGE)) { (units.fuel(most, Toward::Nearest).number) }
            text.dim x=(x(most)) y=(px(SIDE - 10.0)) text-anchor="end" { (units.fuel(most, Toward::Nearest)) }
            @for way in ways {
                @let off = way.predicted_sd_l * 2.0;
                line.grid x1=(x((way.predicted_l - off).max(zero))) x2=(x(way.predicted_l + off)) y1=(y(way.used_l)) y2=(y(way.used_l)) {}
                circle.ink cx=(x(way.predicted_l)) cy=(y(way.used_l)) r="3" {}
            }
        }
    }
}
