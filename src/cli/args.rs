//! The command line: parsing and `--help` both come from these definitions.

use std::fmt;
use std::ops::RangeInclusive;
use std::path::PathBuf;

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};
use serde::Deserialize;

use super::manual::Topic;
use crate::io::import::{DETOUR_WITHIN, SNAP_WITHIN, Split};
use crate::model::climb::THRESHOLD as CLIMB_THRESHOLD;
use crate::model::vocabulary::UnitSystem;

/// Plans the fuel, the load and the route of a multi-day overland trip in a small 4x4.
#[derive(Debug, Parser)]
#[command(name = "drystage", version, about, help_template = HELP, after_help = EXAMPLES, max_term_width = 100)]
pub(crate) struct Args {
    /// Trip file to open on the screen, - for stdin; when stdout is no terminal its text report is printed
    #[arg(value_name = "TRIP")]
    pub(crate) trip: Option<PathBuf>,
    /// What to do instead.
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
    /// What is changed before planning.
    #[command(flatten)]
    pub(crate) changes: Changes,
    /// What every command understands.
    #[command(flatten)]
    pub(crate) common: Common,
}

/// How help is laid out: what is most often looked for, an example, before the list of options.
const HELP: &str = "\
{about-with-newline}
{usage-heading} {usage}{after-help}

{all-args}";

const EXAMPLES: &str = "\
Examples:
  drystage sample-routes/plateau-loop.json            look at a trip on the screen
  drystage report trip.json                           the plan on paper
  drystage report trip.json --what-if 'tent on the roof' --set /legs/3/sand_share=0.8
  drystage report trip.json --format json -o plan.json
  drystage report trip.json --show-work 4             one leg's calculation, step by step
  drystage report trip.json --format html -o plan.html
                                                      a page to print or to read on a phone
  drystage report trip.json --format gpx -o plan.gpx  places, route and track for a navigator
  drystage import way.gpx                             what a trip from a track would be
  drystage import way.gpx -o trip.json                the trip itself
  drystage new -o trip.json                           a small trip to begin with
  drystage check trip.json                            everything that is wrong or unwise

Exit status: 0 done; 1 only from check: planned, with a finding that stops the trip; 2 wrong call,
unusable input, or failed reading or writing.

Out of scope: trailers, other fuels than petrol and diesel, road routing, several vehicles.
The plan is an estimate; it replaces neither local rules nor the vehicle maker's figures.";

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Print the plan
    Report(Report),
    /// Make a trip from tracks, routes and waypoints (GPX, GeoJSON), or from a CSV leg table
    Import(Import),
    /// Enter an arrival on the way, and print the plan from there
    Arrive(Arrive),
    /// Fit the vehicle to its own fill-ups
    Calibrate(Calibrate),
    /// Tell everything that is wrong with a trip file, or all that its plan finds
    Check(Check),
    /// Write a small trip to begin with
    New(New),
    /// Print the JSON Schema of the trip file, or of what is printed as JSON
    Schema(Schema),
    /// Print completions for a shell
    Completions(Completions),
    /// Print the manual page
    Man(Man),
    /// Print a page of the manual
    Manual(Manual),
    /// Tell where preferences, recent trips and unsaved edits are kept
    Paths(Paths),
}

/// Flags of every command.
#[derive(Clone, Debug, ClapArgs)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a flag of the command line of its own"
)]
pub(crate) struct Common {
    /// When to use colours; auto unless stated, and `NO_COLOR` in the environment means never
    #[arg(long, global = true, value_name = "WHEN")]
    pub(crate) color: Option<When>,
    /// Draw with ASCII characters only
    #[arg(long, global = true)]
    pub(crate) ascii: bool,
    /// Leave the mouse to the terminal, for selecting text
    #[arg(long, global = true)]
    pub(crate) no_mouse: bool,
    /// Units of display, instead of those that the trip states
    #[arg(long, global = true, value_name = "UNITS")]
    pub(crate) units: Option<UnitsChoice>,
    /// Plan with everything at its likely value, and compute no odds
    #[arg(long, global = true)]
    pub(crate) best_estimate: bool,
    /// Seed of the draws, instead of the one that the trip states
    #[arg(long, global = true, value_name = "N")]
    pub(crate) seed: Option<u64>,
    /// Form of error messages on stderr
    #[arg(long, global = true, value_name = "FORM", default_value = "text")]
    pub(crate) errors: ErrorForm,
    /// Overwrite a file that exists
    #[arg(long, global = true)]
    pub(crate) force: bool,
    /// File of preferences, instead of the one that `drystage paths` tells
    #[arg(long, global = true, value_name = "FILE")]
    pub(crate) config: Option<PathBuf>,
    /// Units that the preferences name.
    #[arg(skip)]
    pub(crate) preferred: Option<UnitsChoice>,
}

/// When to use colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ValueEnum)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum When {
    /// On a terminal, unless `NO_COLOR` is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

/// How errors are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ErrorForm {
    /// Lines to read.
    Text,
    /// One JSON object.
    Json,
}

/// Units of display.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ValueEnum)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum UnitsChoice {
    /// Kilometres, litres, L/100 km
    Metric,
    /// Miles, US gallons, miles to the gallon, pounds
    Us,
    /// Miles, imperial gallons, miles to the gallon
    Imperial,
    /// Kilometres, litres, kilometres to the litre
    KmPerL,
}

/// Changes of a trip before it is planned, for every command that plans.
#[derive(Clone, Debug, Default, ClapArgs)]
pub(crate) struct Changes {
    /// Change one value, addressed by JSON Pointer (RFC 6901), before planning; VALUE is JSON or plain text
    #[arg(long, value_name = "POINTER=VALUE", value_parser = parse_setting)]
    pub(crate) set: Vec<Setting>,
    /// Apply a what-if of the trip; given several times to report, the trip as stated and each what-if stand side by side
    #[arg(long, value_name = "NAME")]
    pub(crate) what_if: Vec<String>,
}

impl Changes {
    /// The settings as they stand in a report.
    pub(crate) fn as_set(&self) -> Vec<String> {
        self.set.iter().map(ToString::to_string).collect()
    }

    /// Whether nothing is to be changed.
    pub(crate) const fn is_empty(&self) -> bool {
        self.set.is_empty() && self.what_if.is_empty()
    }
}

const REPORT_EXAMPLES: &str = "\
Examples:
  drystage report trip.json                           the plan on paper, 80 columns wide
  drystage report trip.json --format html -o plan.html
  drystage report trip.json --format csv --delimiter semicolon --bom -o legs.csv
  drystage report trip.json --what-if 'tent on the roof' --what-if 'twice the sand'
  drystage report trip.json --set /legs/3/sand_share=0.8 --units us
  drystage report - < trip.json > plan.txt";

const IMPORT_EXAMPLES: &str = "\
Examples:
  drystage import way.gpx                             look before anything is written
  drystage import day1.gpx day2.gpx -o trip.json      several files, one trip
  drystage import way.gpx --split 50km -o trip.json
  drystage import legs.csv --vehicle-from mine.json -o trip.json
  drystage import broken.gpx --salvage -o trip.json
  drystage import way.gpx --format json               what was measured, for programs";

const ARRIVE_EXAMPLES: &str = "\
Examples:
  drystage arrive trip.json 'Cold Spring' --odometer 48199 --left 39 --cans 19
  drystage arrive trip.json 2 --odometer 48290 --left 55 --poured 19 --how brim --filled 30
  drystage arrive trip.json 'Two Cairns' --odometer 48290 --left 30 --cans 0 --dry
  drystage arrive trip.json camp --odometer 48230 --left 35 --cans 19 --to-next 62
                                                      a place that is not in the plan";

const CALIBRATE_EXAMPLES: &str = "\
Examples:
  drystage calibrate trip.json fills.csv                    the vehicle's factors, and what they change
  drystage calibrate trip.json fills.csv --keep 14 --save";

const CHECK_EXAMPLES: &str = "\
Examples:
  drystage check trip.json && echo sound              exit status 1 where something stops the trip
  drystage check trip.json --format json
  drystage check trip.json --set /vehicle/gvm_kg=1700";

const NEW_EXAMPLES: &str = "\
Examples:
  drystage new -o trip.json
  drystage new --vehicle-from mine.json -o trip.json  with a vehicle that is there already";

impl UnitsChoice {
    /// The system that is meant.
    pub(crate) const fn system(self) -> UnitSystem {
        match self {
            Self::Metric => UnitSystem::Metric,
            Self::Us => UnitSystem::Us,
            Self::Imperial => UnitSystem::Imperial,
            Self::KmPerL => UnitSystem::KmPerL,
        }
    }
}

/// `drystage report`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_help = REPORT_EXAMPLES)]
pub(crate) struct Report {
    /// Trip file; - reads stdin
    pub(crate) trip: PathBuf,
    /// Form of the report
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    pub(crate) format: ReportFormat,
    /// File to write; - is stdout
    #[arg(short, long, value_name = "FILE", default_value = "-")]
    pub(crate) output: PathBuf,
    /// What parts the cells of --format csv
    #[arg(long, value_name = "SIGN", default_value = "comma")]
    pub(crate) delimiter: Delimiter,
    /// Begin --format csv with a byte-order mark, by which some spreadsheets know UTF-8
    #[arg(long)]
    pub(crate) bom: bool,
    /// What is changed before planning.
    #[command(flatten)]
    pub(crate) changes: Changes,
    /// Plan from the start, whatever the log says
    #[arg(long)]
    pub(crate) from_start: bool,
    /// Print the calculation of one leg instead, every number with its unit and source
    #[arg(long, value_name = "LEG", conflicts_with = "format")]
    pub(crate) show_work: Option<usize>,
}

/// `drystage import`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_help = IMPORT_EXAMPLES)]
pub(crate) struct Import {
    /// GPX or GeoJSON files or CSV leg tables, in driving order; - reads stdin
    #[arg(value_name = "FILE", required = true)]
    pub(crate) files: Vec<PathBuf>,
    /// Trip file to write, - for stdout; without it nothing is written and what would be is shown
    #[arg(short, long, value_name = "TRIP")]
    pub(crate) output: Option<PathBuf>,
    /// Where lines become legs: waypoints, segments, or every so many kilometres such as 50km;
    /// unless given, at waypoints where there are any on the way
    #[arg(long, value_name = "WHERE")]
    pub(crate) split: Option<Split>,
    /// How far the height must change before it counts as climb or descent, in metres
    #[arg(long, value_name = "M", default_value_t = CLIMB_THRESHOLD.get(), value_parser = within(0.0..=100.0, "metres"))]
    pub(crate) climb_threshold: f64,
    /// How far from the track a waypoint may lie and still be a place on it, in metres
    #[arg(long, value_name = "M", default_value_t = SNAP_WITHIN.get(), value_parser = within(1.0..=5000.0, "metres"))]
    pub(crate) snap_within: f64,
    /// How far from the track a fuel stop may lie and still be one of the way, with a detour to it, in kilometres
    #[arg(long, value_name = "KM", default_value_t = DETOUR_WITHIN.get(), value_parser = within(0.0..=100.0, "kilometres"))]
    pub(crate) detour_within: f64,
    /// Take what precedes the damage in a damaged GPX or GeoJSON file
    #[arg(long)]
    pub(crate) salvage: bool,
    /// Take vehicle, load and rules from another trip
    #[arg(long, value_name = "TRIP")]
    pub(crate) vehicle_from: Option<PathBuf>,
    /// Print what was measured
    #[arg(long, value_name = "FORMAT")]
    pub(crate) format: Option<Format>,
}

/// `drystage arrive`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_help = ARRIVE_EXAMPLES)]
pub(crate) struct Arrive {
    /// Trip file, whose log is written
    pub(crate) trip: PathBuf,
    /// Name or number of the place, the start is 0; or any name, with --to-next. A second reading at a place puts the first right
    pub(crate) place: String,
    /// What the odometer shows, in kilometres
    #[arg(long, value_name = "KM", value_parser = parse_number, allow_hyphen_values = true)]
    pub(crate) odometer: f64,
    /// Litres left in the tank, unusable ones included, before anything is filled
    #[arg(long, value_name = "L", value_parser = parse_number, allow_hyphen_values = true)]
    pub(crate) left: f64,
    /// Litres left in cans
    #[arg(long, value_name = "L", value_parser = parse_number, allow_hyphen_values = true, conflicts_with = "poured")]
    pub(crate) cans: Option<f64>,
    /// Litres poured out of cans since the last reading, instead of what is left in them
    #[arg(long, value_name = "L", value_parser = parse_number, allow_hyphen_values = true)]
    pub(crate) poured: Option<f64>,
    /// How the tank was measured; gauge unless stated
    #[arg(long, value_name = "HOW")]
    pub(crate) how: Option<How>,
    /// Litres then taken on there
    #[arg(long, value_name = "L", value_parser = parse_number, allow_hyphen_values = true)]
    pub(crate) filled: Option<f64>,
    /// Another reading at a place that has one, after driving about there; both are kept
    #[arg(long)]
    pub(crate) again: bool,
    /// The pump here is dry; it is not counted on any more
    #[arg(long)]
    pub(crate) dry: bool,
    /// Between two places, off the plan, or before a detour: kilometres from here to the next place of the plan
    #[arg(long, value_name = "KM", value_parser = parse_number, allow_hyphen_values = true, conflicts_with = "dry")]
    pub(crate) to_next: Option<f64>,
    /// With --to-next, the place that was passed last; unless stated that of the last reading
    #[arg(long, value_name = "PLACE", requires = "to_next")]
    pub(crate) past: Option<String>,
    /// What is changed for the printed plan; none of it is saved.
    #[command(flatten)]
    pub(crate) changes: Changes,
}

/// How the fuel in the tank was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum How {
    /// Filled to the brim
    Brim,
    /// With a dipstick
    Dip,
    /// On the gauge
    Gauge,
}

/// `drystage calibrate`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_help = CALIBRATE_EXAMPLES)]
pub(crate) struct Calibrate {
    /// Trip file with the vehicle
    pub(crate) trip: PathBuf,
    /// CSV file of fill-ups: date, `odometer_km`, litres, `to_brim` and what is known of the way; - reads stdin
    #[arg(value_name = "LOG.csv")]
    pub(crate) log: PathBuf,
    /// Save the factors in the trip file
    #[arg(long)]
    pub(crate) save: bool,
    /// Count the suspect way that ends on this line of the log all the same
    #[arg(long, value_name = "ROW")]
    pub(crate) keep: Vec<u64>,
    /// Form of the answer
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    pub(crate) format: Format,
    /// What is changed for the plans with and without the fit; none of it is saved.
    #[command(flatten)]
    pub(crate) changes: Changes,
}

/// `drystage check`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_help = CHECK_EXAMPLES)]
pub(crate) struct Check {
    /// Trip file; - reads stdin
    pub(crate) trip: PathBuf,
    /// Form of the answer
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    pub(crate) format: Format,
    /// What is changed before planning.
    #[command(flatten)]
    pub(crate) changes: Changes,
}

/// `drystage new`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_help = NEW_EXAMPLES)]
pub(crate) struct New {
    /// Trip file to write; - is stdout
    #[arg(short, long, value_name = "TRIP", default_value = "-")]
    pub(crate) output: PathBuf,
    /// Take vehicle, load and rules from another trip
    #[arg(long, value_name = "TRIP")]
    pub(crate) vehicle_from: Option<PathBuf>,
}

/// `drystage completions`.
#[derive(Debug, ClapArgs)]
pub(crate) struct Completions {
    /// The shell
    #[arg(value_name = "SHELL")]
    pub(crate) shell: clap_complete::Shell,
}

/// `drystage man`.
#[derive(Debug, ClapArgs)]
pub(crate) struct Man {
    /// The command whose page is wanted, instead of the program's own
    #[arg(value_name = "COMMAND")]
    pub(crate) command: Option<String>,
}

/// `drystage manual`.
#[derive(Debug, ClapArgs)]
pub(crate) struct Manual {
    /// Page to print; without it, the list of pages
    #[arg(value_name = "PAGE")]
    pub(crate) page: Option<Topic>,
}

/// `drystage paths`.
#[derive(Debug, ClapArgs)]
pub(crate) struct Paths {
    /// Form of the answer
    #[arg(long, value_name = "FORMAT", default_value = "text")]
    pub(crate) format: Format,
}

/// `drystage schema`.
#[derive(Debug, ClapArgs)]
pub(crate) struct Schema {
    /// What is described
    #[arg(value_name = "WHAT", default_value = "trip")]
    pub(crate) of: Described,
    /// File to write; - is stdout
    #[arg(short, long, value_name = "FILE", default_value = "-")]
    pub(crate) output: PathBuf,
}

/// A document that has a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Described {
    /// The trip file
    Trip,
    /// The report of one plan as JSON
    Report,
    /// Plans side by side as JSON
    Compare,
    /// What check tells as JSON
    Check,
    /// What import measured, as JSON
    Import,
    /// What fit found, as JSON
    Calibration,
}

/// Form of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// To read, at most 80 columns wide
    Text,
    /// For programs, full precision
    Json,
}

/// Form of the report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ReportFormat {
    /// To read, at most 80 columns wide
    Text,
    /// For programs, full precision
    Json,
    /// One page to read on a screen or a phone and to print
    Html,
    /// The leg table for a spreadsheet; import reads it again
    Csv,
    /// Places, route and track for a satellite navigator (GPX 1.1)
    Gpx,
    /// Places and legs for a map program (RFC 7946)
    Geojson,
}

/// What parts the cells of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Delimiter {
    /// A comma
    Comma,
    /// A semicolon
    Semicolon,
    /// A tab
    Tab,
}

/// One value to change.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Setting {
    /// JSON Pointer into the trip.
    pub(crate) pointer: String,
    /// The new value.
    pub(crate) value: serde_json::Value,
}

/// `/legs/3/sand_share=0.8`
impl fmt::Display for Setting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}={}", self.pointer, self.value)
    }
}

/// Why a word of the command line is not taken.
#[derive(Debug, thiserror::Error)]
pub(crate) enum WordError {
    /// A number outside its range.
    #[error("must be {least} to {most} {unit}, got {got}")]
    Outside {
        least: f64,
        most: f64,
        unit: &'static str,
        got: String,
    },
    /// No number.
    #[error("must be a number such as 32.5, got {0}")]
    NoNumber(String),
    /// No setting.
    #[error("must be POINTER=VALUE such as /legs/3/sand_share=0.8")]
    NoSetting,
    /// A setting whose pointer is none.
    #[error("pointer must begin with /, got {0}")]
    NoPointer(String),
}

/// What reads a number of a unit in a range.
fn within(
    range: RangeInclusive<f64>,
    unit: &'static str,
) -> impl Fn(&str) -> Result<f64, WordError> + Clone {
    move |text| {
        let number = text.parse().ok().filter(|number| range.contains(number));
        number.ok_or_else(|| WordError::Outside {
            least: *range.start(),
            most: *range.end(),
            unit,
            got: text.to_owned(),
        })
    }
}

/// A number that somebody reads off, with a decimal point or comma.
fn parse_number(text: &str) -> Result<f64, WordError> {
    let number = text.replacen(',', ".", 1).parse().ok();
    number
        .filter(|number: &f64| number.is_finite())
        .ok_or_else(|| WordError::NoNumber(text.to_owned()))
}

/// `/legs/3/sand_share=0.8`; what is no JSON is taken as text.
fn parse_setting(text: &str) -> Result<Setting, WordError> {
    let (pointer, value) = text.split_once('=').ok_or(WordError::NoSetting)?;
    if !pointer.starts_with('/') {
        return Err(WordError::NoPointer(pointer.to_owned()));
    }
    Ok(Setting {
        pointer: pointer.to_owned(),
        value: serde_json::from_str(value)
            .unwrap_or_else(|_| serde_json::Value::String(value.to_owned())),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_definitions_are_consistent() {
        Args::command().debug_assert();
    }

    #[test]
    fn settings_are_json_or_text() {
        let value = |text: &str| parse_setting(text).unwrap().value;
        assert_eq!(value("/a=0.8"), serde_json::json!(0.8));
        assert_eq!(value("/a=gravel"), serde_json::json!("gravel"));
        assert_eq!(value("/a=null"), serde_json::json!(null));
        assert_eq!(value("/a=x=y"), serde_json::json!("x=y"));
        assert!(parse_setting("/a").is_err() && parse_setting("a=1").is_err());
    }
}
