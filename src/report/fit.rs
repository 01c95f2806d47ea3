//! A fit to fill-ups as text and as JSON: the factors against what was known before, what the log told and what it did
//! not, and how well each way was foretold.

use std::collections::BTreeMap;

use serde::Serialize;

use super::json::written;
use super::page::Page;
use crate::fit::{FillFit, Why};
use crate::model::fitted::Component;
use crate::present::fit::{component, left_out};
use crate::present::number::{Toward, Units};
use crate::quantity::{Factor, Kilometres, Litres, LitresPer100Km, Share};

/// Factors that the picture of them reaches from and to.
const PICTURE: [f64; 2] = [0.4, 1.6];
/// Columns of that picture.
const COLUMNS: usize = 37;
/// Columns and lines of the scatter.
const SCATTER: [usize; 2] = [48, 12];

/// The fit, to read.
pub fn text(fit: &FillFit, units: Units) -> String {
    let mut page = Page::default();
    let [base, spread] = fit.base();
    page.paragraph(
        "",
        0,
        &format!(
            "{} ways from brim to brim, {} and {} in all, of {} fills.",
            fit.ways.len(),
            units.distance(fit.distance(), Toward::Nearest),
            units.litres(fit.litres()),
            fit.fills
        ),
    );
    page.paragraph(
        "",
        0,
        &format!(
            "In the reference condition this vehicle takes {:.2} L/100 km, give or take {:.2}; one way strays from its fitted litres by {:.0} %.",
            base.get(),
            spread.get(),
            fit.factors.residual().get() * 100.0
        ),
    );
    factors(&mut page, fit);
    let ways = fit.ways.len();
    if ways > 0 {
        page.heading(
            "FORETOLD AGAINST USED",
            "what a fit to all other ways says of each, in litres",
        );
        scatter(&mut page, fit);
        page.paragraph(
            "",
            0,
            &format!(
                "{} of {ways} ways fell inside the 90 % band that the others gave them; {:.0} would be expected.",
                fit.inside(),
                ways as f64 * 0.9
            ),
        );
        page.line("");
        page.line("  row       km   used  foretold        fitted");
        for way in &fit.ways {
            let [expected, spread] = way.by_others;
            page.line(&format!(
                "{:>5} {:>8.1} {:>6.1}  {:>6.1} +- {:>4.1}  {:>6.1}",
                way.row,
                way.distance.get(),
                way.litres.get(),
                expected.get(),
                spread.get(),
                way.fitted.get()
            ));
        }
    }
    if !fit.left_out.is_empty() {
        page.heading("SUSPECT OR LEFT OUT", "");
        for found in &fit.left_out {
            page.paragraph("- ", 2, &left_out(found, units));
        }
    }
    page.text
}

fn factors(page: &mut Page, fit: &FillFit) {
    page.heading(
        "FACTORS OF THIS VEHICLE",
        "o fitted, = its spread, . the spread before, | 1.0; two spreads each way",
    );
    for each in Component::ALL {
        let (value, spread) = (fit.factors.value(each), fit.factors.spread(each));
        let before = fit.prior.spread(each);
        page.line(&format!(
            "{:<10} {:.2} +- {:.2}  {}",
            component(each),
            value.get(),
            spread.get(),
            whisker(value, spread, before)
        ));
    }
    let [from, to] = PICTURE;
    page.line(&format!(
        "{:<10} {:12}  {from:<4}{:>width$}",
        "",
        "",
        to,
        width = COLUMNS - 4
    ));
    let untold: Vec<&str> = fit.untold().map(component).collect();
    if !untold.is_empty() {
        page.paragraph(
            "",
            0,
            &format!(
                "The log tells hardly anything of: {}. There the plan still goes by tables.",
                untold.join(", ")
            ),
        );
    }
}

/// The dot with its whisker over that of the prior.
fn whisker(value: Factor, spread: Factor, before: Factor) -> String {
    let [from, to] = PICTURE;
    let factor_at = |column: usize| from + (to - from) * column as f64 / (COLUMNS - 1) as f64;
    let step = (to - from) / (COLUMNS - 1) as f64 / 2.0;
    (0..COLUMNS)
        .map(|column| {
            let at = factor_at(column);
            let off = (at - value.get()).abs();
            if off <= step {
                'o'
            } else if off <= 2.0 * spread.get() {
                '='
            } else if (at - 1.0).abs() <= step {
                '|'
            } else if (at - 1.0).abs() <= 2.0 * before.get() {
                '.'
            } else {
                ' '
            }
        })
        .collect()
}

/// Used litres upward, foretold ones to the right; the slanted line is where both are the same.
fn scatter(page: &mut Page, fit: &FillFit) {
    let [columns, lines] = SCATTER;
    let all = fit
        .ways
        .iter()
        .flat_map(|way| [way.litres.get(), way.by_others[0].get()]);
    let most = all.fold(1.0, f64::max) * 1.05;
    let column = |litres: f64| cell(litres / most, columns);
    let line = |litres: f64| cell(litres / most, lines);
    let mut grid = vec![vec![' '; columns]; lines];
    for at in 0..columns {
        grid[cell(at as f64 / columns as f64, lines)][at] = '.';
    }
    for way in &fit.ways {
        grid[line(way.litres.get())][column(way.by_others[0].get())] = 'o';
    }
    for (at, row) in grid.iter().enumerate().rev() {
        let scale = if at + 1 == lines {
            format!("{most:>4.0} ")
        } else {
            "     ".to_owned()
        };
        page.line(&format!("{scale}|{}", row.iter().collect::<String>()));
    }
    page.line(&format!("   0 +{}", "-".repeat(columns)));
    page.line(&format!("{:>width$.0}", most, width = columns + 6));
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the cells"
)]
fn cell(part: f64, cells: usize) -> usize {
    (part * cells as f64).clamp(0.0, (cells - 1) as f64) as usize
}

/// The fit as JSON.
#[derive(Debug, Serialize)]
struct FitReport {
    #[serde(rename = "drystage_fit")]
    version: u32,
    /// How many ways from brim to brim were counted.
    intervals: usize,
    left_out: Vec<LeftOutReport>,
    factors: BTreeMap<&'static str, FactorReport>,
    base_l_per_100km: BaseReport,
    residual_share: Share,
    /// Components of which the log told hardly anything.
    untold: Vec<&'static str>,
    /// How many of the ways fell inside the 90 % band that a fit to all the others gave them.
    inside_90: usize,
    ways: Vec<WayReport>,
}

#[derive(Debug, Serialize)]
struct LeftOutReport {
    row: u64,
    why: String,
    /// Whether it was counted all the same.
    kept: bool,
    /// Litres over what the formula says; `null` where the odometer says nothing.
    ratio: Option<Factor>,
}

#[derive(Debug, Serialize)]
struct FactorReport {
    value: Factor,
    sd: Factor,
    prior_sd: Factor,
}

#[derive(Debug, Serialize)]
struct BaseReport {
    value: LitresPer100Km,
    sd: LitresPer100Km,
}

#[derive(Debug, Serialize)]
struct WayReport {
    row: u64,
    distance_km: Kilometres,
    used_l: Litres,
    fitted_l: Litres,
    foretold_l: Litres,
    foretold_sd_l: Litres,
}

/// The fit, for programs.
pub fn json(fit: &FillFit, units: Units) -> String {
    let [value, sd] = fit.base();
    written(&FitReport {
        version: 1,
        intervals: fit.ways.len(),
        left_out: fit
            .left_out
            .iter()
            .map(|found| LeftOutReport {
                row: found.row,
                why: left_out(found, units),
                kept: found.kept,
                ratio: match found.why {
                    Why::Suspect { ratio, .. } => Some(ratio),
                    Why::Broken(_) => None,
                },
            })
            .collect(),
        factors: Component::ALL
            .into_iter()
            .map(|each| {
                let factor = FactorReport {
                    value: fit.factors.value(each),
                    sd: fit.factors.spread(each),
                    prior_sd: fit.prior.spread(each),
                };
                (each.key(), factor)
            })
            .collect(),
        base_l_per_100km: BaseReport { value, sd },
        residual_share: fit.factors.residual(),
        untold: fit.untold().map(Component::key).collect(),
        inside_90: fit.inside(),
        ways: fit
            .ways
            .iter()
            .map(|way| WayReport {
                row: way.row,
                distance_km: way.distance,
                used_l: way.litres,
                fitted_l: way.fitted,
                foretold_l: way.by_others[0],
                foretold_sd_l: way.by_others[1],
            })
            .collect(),
    })
}
