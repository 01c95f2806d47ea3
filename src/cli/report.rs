//! `drystage report`: the plan in one of the formats.

use super::args::{Delimiter, Report, ReportFormat, ScreenSize};
use super::failure::Failure;
use super::{Common, DONE, files, planned, progress, set, units};
use crate::plan::Plan;
use crate::present::number::Units;
use crate::report::{Case, Mapped, compare, csv, geojson, gpx, html, json, text, work};
use crate::tui;

/// Plans the trip with the changes of the command line, and writes the report.
pub(crate) fn run(asked: &Report, common: &Common) -> Result<u8, Failure> {
    if let ([_, _, ..], Some(format)) = (asked.changes.what_if.as_slice(), takes_one(asked.format))
    {
        return Err(Failure::Wrong(format!(
            "--format {format} accepts one --what-if; text, html and json compare several"
        )));
    }
    if asked.home
        && (!matches!(asked.format, ReportFormat::Text | ReportFormat::Html)
            || asked.changes.what_if.len() > 1)
    {
        return Err(Failure::Wrong(
            "--home prints one page, as --format text or html and with one --what-if at most"
                .to_owned(),
        ));
    }
    let mut stated = set::with_settings(files::read_trip(&asked.trip)?, &asked.changes, common)?;
    if asked.from_start {
        stated.log = None;
    }
    let units = units(&stated, common);
    let set = asked.changes.as_set();
    let with = |name: &String| -> Result<Plan, Failure> {
        Ok(planned(set::with_what_if(&stated, name)?, common))
    };
    let answer = match asked.changes.what_if.as_slice() {
        [_, _, ..] if asked.show_work.is_some() => {
            return Err(Failure::Wrong(
                "--show-work accepts one --what-if".to_owned(),
            ));
        }
        names @ ([] | [_]) => {
            let plan = match names {
                [name] => with(name)?,
                _ => planned(stated, common),
            };
            let case = Case {
                plan: &plan,
                what_ifs: names,
                set: &set,
            };
            match asked.show_work {
                Some(leg) => worked(&plan, leg)?,
                None => {
                    progress::shown("Working out the report", || one(case, asked, units, common))?
                }
            }
        }
        names => {
            let changed: Vec<Plan> = names.iter().map(with).collect::<Result<_, _>>()?;
            let plain = planned(stated, common);
            let set = set.as_slice();
            let mut cases = vec![Case {
                plan: &plain,
                what_ifs: &[],
                set,
            }];
            cases.extend(
                changed
                    .iter()
                    .zip(names.chunks(1))
                    .map(|(plan, what_ifs)| Case {
                        plan,
                        what_ifs,
                        set,
                    }),
            );
            several(&cases, asked.format, units)
        }
    };
    files::write(&asked.output, &answer, common.force)?;
    Ok(DONE)
}

fn one(case: Case<'_>, asked: &Report, units: Units, common: &Common) -> Result<String, Failure> {
    Ok(match asked.format {
        ReportFormat::Text if asked.home => text::home(case, units),
        ReportFormat::Html if asked.home => html::home(case, units),
        ReportFormat::Text => text::report(case, units),
        ReportFormat::Json => json::report(case),
        ReportFormat::Html => html::report(case, units),
        ReportFormat::Csv => csv::table(case.plan, dialect(asked)),
        ReportFormat::Gpx => mapped(gpx::file(case, units), "GPX", common)?,
        ReportFormat::Geojson => mapped(geojson::file(case, units), "GeoJSON", common)?,
        ReportFormat::Screen => screen(case, asked, units, common),
    })
}

/// What the screen shows first.
fn screen(case: Case<'_>, asked: &Report, units: Units, common: &Common) -> String {
    let ScreenSize { columns, rows } = asked.size;
    // What the screen shows after a while: the fixes of a NO-GO.
    if case.plan.needs_fixes() {
        case.plan.search_fixes(&|| true);
    }
    let options = super::options(common, units);
    tui::shown(case.plan.clone(), options, [columns, rows])
}

/// The name of a format that has one plan only.
const fn takes_one(format: ReportFormat) -> Option<&'static str> {
    match format {
        ReportFormat::Text | ReportFormat::Json | ReportFormat::Html => None,
        ReportFormat::Csv => Some("csv"),
        ReportFormat::Gpx => Some("gpx"),
        ReportFormat::Geojson => Some("geojson"),
        ReportFormat::Screen => Some("screen"),
    }
}

/// Plans side by side.
fn several(cases: &[Case<'_>], format: ReportFormat, units: Units) -> String {
    match format {
        ReportFormat::Json => json::comparison(cases),
        ReportFormat::Html => html::comparison(cases, units),
        _ => compare::table(cases, units),
    }
}

const fn dialect(asked: &Report) -> csv::Dialect {
    csv::Dialect {
        delimiter: match asked.delimiter {
            Delimiter::Comma => b',',
            Delimiter::Semicolon => b';',
            Delimiter::Tab => b'\t',
        },
        byte_order_mark: asked.bom,
    }
}

/// The text of a map file; places that it leaves out are listed on stderr.
fn mapped(file: Option<Mapped>, kind: &str, common: &Common) -> Result<String, Failure> {
    let Some(Mapped { text, unplaced }) = file else {
        return Err(Failure::Wrong(format!(
            "{kind} needs coordinates, and no place of the trip has lat and lon"
        )));
    };
    if !unplaced.is_empty() {
        let note = format!(
            "left out because they have no coordinates: {}",
            unplaced.join(", ")
        );
        files::note(&[note], common.errors);
    }
    Ok(text)
}

/// The calculation of leg number `n`.
fn worked(plan: &Plan, n: usize) -> Result<String, Failure> {
    let last = plan.legs.len();
    if !(1..=last).contains(&n) {
        return Err(Failure::Wrong(format!(
            "--show-work {n}: there is no such leg; the legs are 1 to {last}"
        )));
    }
    Ok(work::report(plan, n))
}
