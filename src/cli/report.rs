//! `drystage report`: the plan in the form that was asked for.

use super::args::{Report, ReportFormat};
use super::failure::Failure;
use super::{Common, DONE, files, planned, set, units};
use crate::plan::Plan;
use crate::present::number::Units;
use crate::report::{Case, compare, html, json, text, work};

/// Plans the trip as stated or with what was asked for, and writes the report.
pub fn run(asked: &Report, common: &Common) -> Result<u8, Failure> {
    let stated = set::with_settings(files::read_trip(&asked.trip)?, &asked.set)?;
    let units = units(&stated, common);
    let set: Vec<String> = asked.set.iter().map(ToString::to_string).collect();
    let with = |name: &String| -> Result<Plan, Failure> {
        let trip = stated
            .with_what_if(name)
            .map_err(|error| Failure::Failed(error.into()))?;
        Ok(planned(trip))
    };
    let answer = match asked.what_if.as_slice() {
        [_, _, ..] if asked.show_work.is_some() => {
            return Err(Failure::Wrong(
                "--show-work takes one --what-if, got several".to_owned(),
            ));
        }
        names @ ([] | [_]) => {
            let plan = match names {
                [name] => with(name)?,
                _ => planned(stated),
            };
            let case = Case {
                plan: &plan,
                what_ifs: names,
                set: &set,
            };
            match asked.show_work {
                Some(leg) => worked(&plan, leg)?,
                None => one(case, asked.format, units),
            }
        }
        names => {
            let changed: Vec<Plan> = names.iter().map(with).collect::<Result<_, _>>()?;
            let plain = planned(stated);
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

/// One plan.
fn one(case: Case<'_>, format: ReportFormat, units: Units) -> String {
    match format {
        ReportFormat::Text => text::report(case, units),
        ReportFormat::Json => json::report(case),
        ReportFormat::Html => html::report(case, units),
    }
}

/// Plans side by side.
fn several(cases: &[Case<'_>], format: ReportFormat, units: Units) -> String {
    match format {
        ReportFormat::Text => compare::table(cases, units),
        ReportFormat::Json => json::comparison(cases),
        ReportFormat::Html => html::comparison(cases, units),
    }
}

/// The working of leg number `n`.
fn worked(plan: &Plan, n: usize) -> Result<String, Failure> {
    let last = plan.legs.len();
    if !(1..=last).contains(&n) {
        return Err(Failure::Wrong(format!(
            "--show-work must be a leg from 1 to {last}, got {n}"
        )));
    }
    Ok(work::report(plan, n))
}
