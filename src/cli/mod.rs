//! The commands, each a short function: read, plan, report.
//!
//! Answers go to stdout, everything else to stderr. A reader who closes the pipe early has read
//! enough, and that is no failure.

pub(crate) mod args;
mod arrive;
mod calibrate;
mod completion;
mod config;
mod failure;
mod files;
mod import;
mod manual;
mod new;
mod paths;
mod progress;
mod proposals;
mod range;
mod recent;
mod report;
pub mod session;
mod set;
mod shelf;
mod shell;
mod terrain;

use std::ffi::{OsStr, OsString};
use std::io::{self, IsTerminal, Write};
use std::path::Path;

use anyhow::Context;
use clap::FromArgMatches;
use clap::error::ErrorKind;

use crate::io::disk::System;
use crate::model::near::nearest;
use crate::model::rules::UNITS;
use crate::model::vocabulary::UnitSystem;
use crate::model::{Trip, schema};
use crate::plan::{Effort, Plan, Severity};
use crate::platform::Platform;
use crate::present::number::Units;
use crate::report::{Case, json, text};
use crate::tui::theme::ColorChoice;
use crate::tui::{self, Options};
use args::{Args, Changes, Command, Common, Described, Format, UnitsChoice, When, program};
use failure::Failure;
use session::Session;
use shelf::Bookshelf;

pub(crate) const DONE: u8 = 0;
/// Only from `check`: the plan has a no-go finding.
pub(crate) const STOPPED: u8 = 1;
/// Usage error, invalid input, failed reading or writing.
pub(crate) const FAILED: u8 = 2;

/// Runs the program with its arguments, its name first, and gives its exit status.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> u8 {
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    let form = failure::form_asked_for(&arguments);
    outlive_limits();
    let parsed = program()
        .try_get_matches_from(&arguments)
        .and_then(|matches| Args::from_arg_matches(&matches));
    let done = match parsed {
        Ok(args) => dispatch(args),
        Err(error) => call_failed(error, &arguments),
    };
    match done {
        Ok(status) => status,
        Err(failure) => {
            // Without stderr there is nowhere to report it.
            let _ = io::stderr().write_all(failure.message(form).as_bytes());
            FAILED
        }
    }
}

/// A file that may not grow any further (setrlimit(2)) is an error of writing, as a full disk is. Left to itself the
/// system would end the program.
fn outlive_limits() {
    #[cfg(unix)]
    {
        use signal_hook::consts::signal::SIGXFSZ;
        // Where it cannot be had the program is none the worse for it.
        let _ = signal_hook::flag::register(SIGXFSZ, std::sync::Arc::default());
    }
}

/// Help and version are answers; a first word that resembles a command gets a hint.
fn call_failed(error: clap::Error, arguments: &[OsString]) -> Result<u8, Failure> {
    match error.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
            files::print(&error.render().to_string())?;
            Ok(DONE)
        }
        // Which of the two it is depends on how similar the next word, often a path, is to a command.
        ErrorKind::UnknownArgument | ErrorKind::InvalidSubcommand => {
            let hint = arguments
                .iter()
                .skip(1)
                .find(|text| !text.to_string_lossy().starts_with('-'))
                .and_then(|word| no_such_command(Path::new(word)));
            Err(hint.map_or(Failure::Call(error), Failure::Wrong))
        }
        _ => Err(Failure::Call(error)),
    }
}

/// The hint for a word that should be a trip file and resembles a command; `None` if it does not.
fn no_such_command(word: &Path) -> Option<String> {
    if word.exists() {
        return None;
    }
    let word = word.to_string_lossy();
    let command = program();
    if command.find_subcommand(word.as_ref()).is_some() {
        return None;
    }
    let name = nearest(
        &word,
        command.get_subcommands().map(clap::Command::get_name),
    )?;
    Some(format!(
        "there is no file or command `{word}`; did you mean `{name}`?"
    ))
}

fn dispatch(args: Args) -> Result<u8, Failure> {
    let Args {
        trip,
        command,
        changes,
        common,
        ..
    } = args;
    let common = match command {
        // A damaged preferences file must not keep its own path from being shown, nor what no preference changes.
        Some(
            Command::Paths(_)
            | Command::Completions(_)
            | Command::Man(_)
            | Command::Manual(_)
            | Command::Schema(_),
        ) => common,
        _ => config::completed(common)?,
    };
    if command.is_some() && !changes.is_empty() {
        return Err(Failure::Wrong(
            "put --set and --what-if after the command, as in drystage report TRIP --set ..."
                .to_owned(),
        ));
    }
    match (trip, command) {
        (Some(trip), Some(_)) => Err(Failure::Wrong(format!(
            "put the command before the trip, as in drystage report {}",
            failure::shown_path(&trip)
        ))),
        (None, None) if !changes.is_empty() => Err(Failure::Wrong(
            "no trip given: --set and --what-if need one, as in drystage TRIP --set ...".to_owned(),
        )),
        (None, None) if is_screen() && io::stdin().is_terminal() => start(&common),
        (None, None) => {
            files::print(HOW_TO_START)?;
            Ok(DONE)
        }
        (Some(trip), None) => screen(&trip, &changes, &common),
        (None, Some(Command::Report(asked))) => report::run(&asked, &common),
        (None, Some(Command::Range(asked))) => range::run(&asked, &common),
        (None, Some(Command::Import(asked))) => import::run(&asked, &common),
        (None, Some(Command::Terrain(asked))) => terrain::run(&asked, &common),
        (None, Some(Command::Arrive(asked))) => arrive::run(&asked, &common),
        (None, Some(Command::Calibrate(asked))) => calibrate::run(&asked, &common),
        (None, Some(Command::Check(asked))) => check(&asked, &common),
        (None, Some(Command::New(asked))) => new::run(&asked, &common),
        (None, Some(Command::Schema(asked))) => print_schema(&asked, &common),
        (None, Some(Command::Completions(asked))) => shell::completions(&asked),
        (None, Some(Command::Man(asked))) => shell::man(&asked),
        (None, Some(Command::Manual(asked))) => manual::run(&asked),
        (None, Some(Command::Paths(asked))) => paths::run(&asked, &common),
    }
}

const HOW_TO_START: &str = "\
drystage plans the fuel, the load and the route of a multi-day overland trip.

  drystage TRIP            open a trip; sample trips are in sample-routes
  drystage report TRIP     print its plan
  drystage range TRIP      print how far the vehicle goes
  drystage import FILE... -o TRIP
                           make a trip from tracks or from a leg table
  drystage check TRIP      list its errors and findings
  drystage new -o TRIP     write a starter trip
  drystage schema          print the format of a trip file
  drystage --help          list all commands and options
";

/// The terminal interface, or the text report if standard output is no terminal.
fn screen(path: &Path, changes: &Changes, common: &Common) -> Result<u8, Failure> {
    if let Some(hint) = no_such_command(path) {
        return Err(Failure::Wrong(hint));
    }
    if !is_screen() {
        let trip = set::with_changes(files::read_trip(path)?, changes, common)?;
        let units = units(&trip, common);
        return print_plan(trip, changes, units, common);
    }
    let (mut session, mut opened) = Session::open(path, &System)?;
    session.prefer_map_files(common);
    opened.edits = set::as_edits(&opened.trip, changes, common)?;
    let units = units(&opened.trip, common);
    tui::run(opened, &mut session, options(common, units))
        .context(NO_SCREEN)
        .map_err(Failure::Failed)?;
    Ok(DONE)
}

/// Prints the text report of a trip to which changes were applied.
fn print_plan(trip: Trip, changes: &Changes, units: Units, common: &Common) -> Result<u8, Failure> {
    let case = Case {
        plan: &planned(trip, common),
        what_ifs: &changes.what_if,
        set: &changes.as_set(),
    };
    files::print(&text::report(case, units))?;
    Ok(DONE)
}

const NO_SCREEN: &str = "cannot open the terminal interface";

/// The terminal interface without a trip: it is chosen, made or imported there.
fn start(common: &Common) -> Result<u8, Failure> {
    let mut shelf = Bookshelf::new(common);
    let stated = units_asked(common).or(units_preferred(common));
    let before = options(common, Units(stated.unwrap_or(UNITS)));
    let chosen = tui::choose(&mut shelf, stated, before)
        .context(NO_SCREEN)
        .map_err(Failure::Failed)?;
    if let Some(opened) = chosen {
        let options = options(common, units(&opened.trip, common));
        shelf.session.prefer_map_files(common);
        tui::run(opened, &mut shelf.session, options)
            .context(NO_SCREEN)
            .map_err(Failure::Failed)?;
    }
    Ok(DONE)
}

fn options(common: &Common, units: Units) -> Options {
    Options {
        color: match common.color {
            Some(When::Always) => ColorChoice::Always,
            Some(When::Never) => ColorChoice::Never,
            Some(When::Auto) | None => ColorChoice::Auto,
        },
        ground: common.palette,
        ascii: common.ascii,
        mouse: !common.no_mouse,
        simulated: !common.best_estimate,
        ..Options::of(units)
    }
}

/// The plan at the trip's success target, from the last reading of the log; with `--best-estimate` the best-estimate
/// plan.
fn planned(trip: Trip, common: &Common) -> Plan {
    if common.best_estimate {
        Plan::best_estimate(trip)
    } else {
        progress::shown("Simulating trips", || {
            Plan::at_target(trip, Effort::refined())
        })
    }
}

/// Whether standard output is a terminal that can be drawn on.
fn is_screen() -> bool {
    let term = std::env::var_os("TERM");
    io::stdout().is_terminal() && !is_dumb(term.as_deref(), Platform::HERE)
}

/// Whether a terminal of that name cannot be drawn on. The consoles of Windows have no name.
fn is_dumb(term: Option<&OsStr>, platform: Platform) -> bool {
    term.map_or(platform == Platform::Unix, |term| term == "dumb")
}

fn check(asked: &args::Check, common: &Common) -> Result<u8, Failure> {
    let trip = match files::read_with_or_without_legs(&asked.trip) {
        Ok(trip) => trip,
        Err(Failure::Unusable { problems, .. }) if asked.format == Format::Json => {
            files::print(&json::check(&problems, None))?;
            return Ok(FAILED);
        }
        Err(failure) => return Err(failure),
    };
    let trip = set::with_changes(trip, &asked.changes, common)?;
    let units = units(&trip, common);
    let plan = planned(trip, common);
    files::print(&match asked.format {
        Format::Text => text::findings(&plan, units),
        Format::Json => json::check(&[], Some(&plan)),
    })?;
    let stopped = plan
        .findings
        .iter()
        .any(|found| found.severity() == Severity::Stop);
    Ok(if stopped { STOPPED } else { DONE })
}

fn print_schema(asked: &args::Schema, common: &Common) -> Result<u8, Failure> {
    let [report, compare, check, range] = json::schemas();
    let described = match asked.of {
        Described::Trip => schema::schema(),
        Described::Report => report,
        Described::Compare => compare,
        Described::Check => check,
        Described::Range => range,
        Described::Import => crate::io::import::schema(),
        Described::Calibration => crate::report::calibration::schema(),
    };
    let text = serde_json::to_string_pretty(&described).expect("a schema has text keys") + "\n";
    files::write(&asked.output, &text, common.force)?;
    Ok(DONE)
}

/// The units of `--units`, otherwise those of the trip, otherwise those of the preferences.
fn units(trip: &Trip, common: &Common) -> Units {
    let asked = units_asked(common).or(trip.rules().units);
    let asked = asked.or(units_preferred(common));
    Units(asked.unwrap_or_else(|| trip.rules().units()))
}

fn units_preferred(common: &Common) -> Option<UnitSystem> {
    common.preferred.map(UnitsChoice::system)
}

/// The units of `--units`.
fn units_asked(common: &Common) -> Option<UnitSystem> {
    common.units.map(UnitsChoice::system)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_terminal_without_a_name_is_dumb_except_on_windows() {
        for (term, on_unix, on_windows) in [
            (None, true, false),
            (Some("dumb"), true, true),
            (Some("xterm-256color"), false, false),
        ] {
            let is_dumb = |platform| is_dumb(term.map(OsStr::new), platform);
            assert_eq!(is_dumb(Platform::Unix), on_unix, "{term:?}");
            assert_eq!(is_dumb(Platform::Windows), on_windows, "{term:?}");
        }
    }
}
