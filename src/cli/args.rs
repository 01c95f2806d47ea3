//! The command line: parsing and `--help` both come from these definitions.

use std::fmt;
use std::ops::RangeInclusive;
use std::path::PathBuf;
use std::str::FromStr;

use clap::{Arg, ArgAction, Args as ClapArgs, CommandFactory, Parser, Subcommand, ValueEnum};
use serde::Deserialize;

use super::manual::Topic;
use crate::io::import::{DETOUR_WITHIN, SNAP_WITHIN, Split};
use crate::model::climb::THRESHOLD as CLIMB_THRESHOLD;
use crate::model::vocabulary::UnitSystem;
use crate::tui::theme::Ground;

/// Plans the fuel, the load and the route of a multi-day overland trip in a small 4x4.
#[derive(Debug, Parser)]
#[command(name = "drystage", version, about, help_template = HELP, after_long_help = EXAMPLES, max_term_width = 100)]
#[command(disable_help_flag = true, disable_version_flag = true)]
pub(crate) struct Args {
    /// Trip file to open in the terminal interface, or - for standard input
    ///
    /// If standard output is not a terminal, the text report is printed instead.
    #[arg(value_name = "TRIP")]
    pub(crate) trip: Option<PathBuf>,
    /// The command; `None` opens the trip in the terminal interface.
    #[command(subcommand)]
    pub(crate) command: Option<Command>,
    /// Changes applied before planning.
    #[command(flatten)]
    pub(crate) changes: Changes,
    /// Options of several commands.
    #[command(flatten)]
    pub(crate) common: Common,
    /// Print the version
    #[arg(short = 'V', long, action = ArgAction::Version, help_heading = MESSAGES)]
    version: Option<bool>,
}

/// Heading of the options for what is written, and where to.
const OUTPUT: &str = "Output";
/// Heading of the options that change the plan.
const PLANNED: &str = "What is planned";
/// Heading of the options for what a new trip contains.
const CONTENT: &str = "What the trip contains";
/// Heading of the options of `import` for what is read.
const MEASURED: &str = "How the files are read";
/// Heading of the options of `arrive` for what was read off.
const READING: &str = "Fuel reading";
/// Heading of the options that change no figure.
const MESSAGES: &str = "Display and messages";

/// The options of [`Common`] that each command uses; its help lists no others.
const USED: [(&str, &[&str]); 13] = [
    (
        "report",
        &["units", "best_estimate", "seed", "force", "config"],
    ),
    ("range", &["units", "seed", "config"]),
    ("import", &["units", "force"]),
    ("arrive", &["units", "best_estimate", "seed", "config"]),
    ("calibrate", &["units", "best_estimate", "seed", "config"]),
    ("check", &["units", "best_estimate", "seed", "config"]),
    ("new", &["force"]),
    ("schema", &["force"]),
    ("completions", &[]),
    ("man", &[]),
    ("manual", &[]),
    ("paths", &["config"]),
    ("help", &[]),
];
/// The options of [`Common`] that opening a trip without a command does not use.
const UNUSED_WITHOUT_COMMAND: &str = "force";
/// The options of [`Common`] that every help lists.
const ALWAYS: [&str; 2] = ["errors", "help"];

/// The command line. Every command accepts the options of [`Common`], so that they may stand before it, but its help lists
/// only those that it uses.
pub(crate) fn program() -> clap::Command {
    let program = Args::command();
    let common: Vec<Arg> = program
        .get_arguments()
        .filter(|option| option.is_global_set())
        .cloned()
        .collect();
    program
        .mut_subcommands(|command| {
            let used = USED.iter().find(|(name, _)| *name == command.get_name());
            let used = used.map_or(&[][..], |(_, used)| used);
            common.iter().fold(command, |command, option| {
                let id = option.get_id().as_str();
                let is_used = used.contains(&id) || ALWAYS.contains(&id);
                command.arg(option.clone().hide(!is_used))
            })
        })
        .mut_arg(UNUSED_WITHOUT_COMMAND, |option| option.hide(true))
}

/// Layout of a help: the examples come before the options, since they are looked for most often.
const HELP: &str = "\
{about-with-newline}
{usage-heading} {usage}{after-help}

{all-args}";

const EXAMPLES: &str = "\
Examples:
  drystage sample-routes/plateau-loop.json            open a trip in the terminal interface
  drystage report trip.json                           print the plan as text
  drystage range trip.json                            print how far the vehicle goes
  drystage report trip.json --what-if 'tent on the roof' --set /legs/3/sand_share=0.8
  drystage report trip.json --format json -o plan.json
  drystage report trip.json --show-work 4             the calculation of one leg, step by step
  drystage report trip.json --format html -o plan.html
                                                      one page for screen, phone and printer
  drystage report trip.json --format gpx -o plan.gpx  places, route and track for a GPS receiver
  drystage import track.gpx                           preview the trip that a track would make
  drystage import track.gpx -o trip.json              make the trip and save it
  drystage new -o trip.json                           write a starter trip
  drystage check trip.json                            list errors and findings

Exit status:
  0  done
  1  only from check: the plan has a no-go finding
  2  usage error, invalid input, or a file that cannot be read or written

Out of scope: trailers, fuels other than petrol and diesel, road routing, several vehicles.
The plan is an estimate. It does not replace local rules or the vehicle maker's figures.";

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Plan a trip and print the result
    Report(Report),
    /// Print how far the vehicle goes: on each surface, with each number of cans, and what changes it
    ///
    /// Needs the vehicle, the load and the rules of a trip file; its list of legs may be empty.
    Range(Range),
    /// Make a trip from GPX or GeoJSON files, or from a CSV leg table
    ///
    /// Tracks, routes and waypoints are measured and split into legs. Without --output, the trip is only previewed.
    Import(Import),
    /// Add surfaces, fuel stops and climb from a map and elevation tiles to a trip
    ///
    /// Adds only what the trip does not set, to legs that have a track. Shows the additions; --output saves them.
    Terrain(Terrain),
    /// Record a fuel reading at a place, and print the plan from there
    ///
    /// The reading is added to the trip log in the trip file. A second reading at the same place replaces the first,
    /// unless --again is given.
    Arrive(Arrive),
    /// Calibrate the vehicle from its fill-up log
    ///
    /// Prints the calibration factors and their effect on the trip. The factors are stored only with --save.
    Calibrate(Calibrate),
    /// List the errors in a trip file, or the findings of its plan
    ///
    /// A trip file with errors is not planned. One without errors is planned, and the findings of the plan are listed.
    Check(Check),
    /// Write a starter trip
    New(New),
    /// Print the JSON Schema of the trip file or of any JSON output
    Schema(Schema),
    /// Print a completion script for a shell
    Completions(Completions),
    /// Print the man page of the program or of a command
    Man(Man),
    /// Print a page of the manual
    Manual(Manual),
    /// Show where preferences, recent trips and unsaved edits are stored
    Paths(Paths),
}

/// Options of several commands.
#[derive(Clone, Debug, ClapArgs)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a flag of the command line of its own"
)]
pub(crate) struct Common {
    /// Plan the best estimate only, without the simulation
    ///
    /// Every uncertain input keeps its most likely value, and no probability is calculated. This takes a fraction of the
    /// time.
    #[arg(long, global = true, help_heading = PLANNED)]
    pub(crate) best_estimate: bool,
    /// Random seed of the simulation [default: the trip's]
    #[arg(long, global = true, value_name = "N", help_heading = PLANNED)]
    pub(crate) seed: Option<u64>,
    /// Overwrite an existing file
    #[arg(long, global = true, help_heading = OUTPUT)]
    pub(crate) force: bool,
    /// Display units [default: the trip's, otherwise metric]
    #[arg(long, global = true, value_name = "UNITS", help_heading = MESSAGES)]
    pub(crate) units: Option<UnitsChoice>,
    /// When to use colours [default: auto]
    #[arg(long, long_help = "When to use colours; if NO_COLOR is set, auto means never [default: auto]", global = true, value_name = "WHEN", help_heading = MESSAGES)]
    pub(crate) color: Option<When>,
    /// Draw with ASCII characters only
    #[arg(long, global = true, help_heading = MESSAGES)]
    pub(crate) ascii: bool,
    /// Do not capture the mouse, so that the terminal can select text
    #[arg(long, global = true, help_heading = MESSAGES)]
    pub(crate) no_mouse: bool,
    /// Format of error messages
    #[arg(long, global = true, value_name = "FORMAT", default_value = "text", help_heading = MESSAGES)]
    pub(crate) errors: ErrorForm,
    /// Preferences file [default: see drystage paths]
    #[arg(long, global = true, value_name = "FILE", help_heading = MESSAGES)]
    pub(crate) config: Option<PathBuf>,
    /// Print help (-h for a summary, --help for all of it)
    #[arg(short, long, global = true, action = ArgAction::Help, help_heading = MESSAGES)]
    pub(crate) help: Option<bool>,
    /// Units from the preferences file.
    #[arg(skip)]
    pub(crate) preferred: Option<UnitsChoice>,
    /// Extract or folder of extracts from the preferences file.
    #[arg(skip)]
    pub(crate) map: Option<PathBuf>,
    /// Folder of elevation tiles from the preferences file.
    #[arg(skip)]
    pub(crate) heights: Option<PathBuf>,
    /// The ground that the preferences set the colours for.
    #[arg(skip)]
    pub(crate) palette: Option<Ground>,
}

/// When to use colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ValueEnum)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum When {
    /// On a terminal
    Auto,
    /// Everywhere
    Always,
    /// Nowhere
    Never,
}

/// Format of error messages.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ErrorForm {
    /// One line for each error
    Text,
    /// One JSON object with the file, line, column and pointer of each error
    Json,
}

/// Units of display.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ValueEnum)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum UnitsChoice {
    /// Kilometres, litres, L/100 km, kg
    Metric,
    /// Miles, US gallons, mpg, lb
    Us,
    /// Miles, imperial gallons, mpg, kg
    Imperial,
    /// Kilometres, litres, km/L, kg
    KmPerL,
}

const SET: &str = "Change one value for this run, such as /legs/3/sand_share=0.8";
const SET_LONG: &str = "\
Change one value for this run, such as /legs/3/sand_share=0.8

POINTER is a JSON Pointer (RFC 6901), in which /legs/0 is leg 1. VALUE is JSON or text; a share may \
also be written as 80%. The option can be repeated.";

/// Changes applied to a trip before planning, for every command that plans.
#[derive(Clone, Debug, Default, ClapArgs)]
pub(crate) struct Changes {
    /// Values to change; the help is a text of its own, since it shows keys as they are.
    #[arg(long, value_name = "POINTER=VALUE", value_parser = parse_setting, help_heading = PLANNED, help = SET, long_help = SET_LONG)]
    pub(crate) set: Vec<Setting>,
    /// Apply a what-if that is saved in the trip
    ///
    /// Only report accepts several: it compares them with the unchanged trip, side by side.
    #[arg(long, value_name = "NAME", help_heading = PLANNED)]
    pub(crate) what_if: Vec<String>,
}

impl Changes {
    /// The settings as a report prints them.
    pub(crate) fn as_set(&self) -> Vec<String> {
        self.set.iter().map(ToString::to_string).collect()
    }

    /// Whether there are no changes.
    pub(crate) const fn is_empty(&self) -> bool {
        self.set.is_empty() && self.what_if.is_empty()
    }
}

const REPORT_EXAMPLES: &str = "\
Examples:
  drystage report trip.json                           text, 80 columns wide
  drystage report trip.json --format html -o plan.html
  drystage report trip.json --home                    the page for those who stay at home
  drystage report trip.json --format csv --delimiter semicolon --bom -o legs.csv
  drystage report trip.json --what-if 'tent on the roof' --what-if 'twice the sand'
  drystage report trip.json --set /legs/3/sand_share=0.8 --units us
  drystage report - < trip.json > plan.txt";

const IMPORT_EXAMPLES: &str = "\
Examples:
  drystage import track.gpx                           preview only, writes nothing
  drystage import day1.gpx day2.gpx -o trip.json      several files, one trip
  drystage import track.gpx --split 50km -o trip.json
  drystage import legs.csv --vehicle-from mine.json -o trip.json
  drystage import track.gpx --map region.osm.pbf --heights tiles -o trip.json
  drystage import legs.csv --into trip.json           preview what an edited table changes
  drystage import legs.csv --into trip.json -o trip.json --force
  drystage import broken.gpx --salvage -o trip.json
  drystage import track.gpx --format json             the measurements, for programs";

const ARRIVE_EXAMPLES: &str = "\
Examples:
  drystage arrive trip.json 'Cold Spring' --odometer 48199 --left 39 --cans 19
  drystage arrive trip.json 2 --odometer 48290 --left 55 --decanted 19 --how brim --filled 30
  drystage arrive trip.json 'Two Cairns' --odometer 48290 --left 30 --cans 0 --dry
  drystage arrive trip.json camp --odometer 48230 --left 35 --cans 19 --to-next 62
                                                      a place outside the plan";

const CALIBRATE_EXAMPLES: &str = "\
Examples:
  drystage calibrate trip.json fills.csv              factors and their effect on the trip
  drystage calibrate trip.json fills.csv --keep 14 --save";

const CHECK_EXAMPLES: &str = "\
Examples:
  drystage check trip.json || echo 'not ready'        exit status 1 with a no-go finding
  drystage check trip.json --format json
  drystage check trip.json --set /vehicle/gvm_kg=1700";

const RANGE_EXAMPLES: &str = "\
Examples:
  drystage range trip.json                            kilometres by surface, load and number of cans
  drystage range trip.json --set /vehicle/tank_l=60   with a larger tank
  drystage range trip.json --format json";

const NEW_EXAMPLES: &str = "\
Examples:
  drystage new -o trip.json
  drystage new --vehicle-from mine.json -o trip.json  with your vehicle, load and rules";

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
#[command(help_template = HELP, after_long_help = REPORT_EXAMPLES)]
pub(crate) struct Report {
    /// Trip file, or - for standard input
    pub(crate) trip: PathBuf,
    /// Output format
    #[arg(long, value_name = "FORMAT", default_value = "text", help_heading = OUTPUT)]
    pub(crate) format: ReportFormat,
    /// Output file, or - for standard output
    #[arg(short, long, value_name = "FILE", default_value = "-", help_heading = OUTPUT)]
    pub(crate) output: PathBuf,
    /// CSV separator
    #[arg(long, value_name = "SEPARATOR", default_value = "comma", help_heading = OUTPUT)]
    pub(crate) delimiter: Delimiter,
    /// Start the CSV with a byte-order mark, which some spreadsheets need to recognise UTF-8
    #[arg(long, help_heading = OUTPUT)]
    pub(crate) bom: bool,
    /// Size of the screen for --format screen, in columns and rows
    #[arg(long, value_name = "COLUMNSxROWS", default_value = "80x24", help_heading = OUTPUT)]
    pub(crate) size: ScreenSize,
    /// Print the calculation of the leg with this number
    ///
    /// Every number has its unit and its source. Cannot be combined with --format.
    #[arg(long, value_name = "LEG", conflicts_with = "format", help_heading = OUTPUT)]
    pub(crate) show_work: Option<usize>,
    /// Print the page for those who stay at home instead: where you will be by when, and when to worry
    ///
    /// As text or HTML. Times need a date, a UTC offset and coordinates.
    #[arg(long, conflicts_with = "show_work", help_heading = OUTPUT)]
    pub(crate) home: bool,
    /// Changes applied before planning.
    #[command(flatten)]
    pub(crate) changes: Changes,
    /// Ignore the trip log and plan from the start
    #[arg(long, help_heading = PLANNED)]
    pub(crate) from_start: bool,
}

/// `drystage import`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_long_help = IMPORT_EXAMPLES)]
pub(crate) struct Import {
    /// GPX files, GeoJSON files or CSV leg tables in driving order, or - for standard input
    #[arg(value_name = "FILE", required = true)]
    pub(crate) files: Vec<PathBuf>,
    /// Trip file to write, or - for standard output [default: preview only]
    #[arg(short, long, value_name = "TRIP", help_heading = OUTPUT)]
    pub(crate) output: Option<PathBuf>,
    /// Where to split tracks into legs: waypoints, segments, or a distance such as 50km
    ///
    /// By default, tracks are split at waypoints if any are near them, otherwise at segments.
    #[arg(long, value_name = "WHERE", help_heading = MEASURED)]
    pub(crate) split: Option<Split>,
    /// Smallest change of altitude that counts as climb or descent, in metres
    #[arg(long, value_name = "M", help_heading = MEASURED, default_value_t = CLIMB_THRESHOLD.get(), value_parser = within(0.0..=100.0, "metres"))]
    pub(crate) climb_threshold: f64,
    /// Largest distance of a waypoint from the track to count as a place on it, in metres
    #[arg(long, value_name = "M", help_heading = MEASURED, default_value_t = SNAP_WITHIN.get(), value_parser = within(1.0..=5000.0, "metres"))]
    pub(crate) snap_within: f64,
    /// Largest distance of a fuel stop from the track to be included with a detour, in kilometres
    #[arg(long, value_name = "KM", help_heading = MEASURED, default_value_t = DETOUR_WITHIN.get(), value_parser = within(0.0..=100.0, "kilometres"))]
    pub(crate) detour_within: f64,
    /// Folder of elevation tiles: .hgt (SRTM, NASADEM) or .tif (Copernicus GLO-30) [default: that of the preferences]
    ///
    /// A track without altitudes gets those of the tiles. One with altitudes keeps its own, since a receiver's are better.
    #[arg(long, value_name = "FOLDER", help_heading = MEASURED)]
    pub(crate) heights: Option<PathBuf>,
    /// Use the elevation tiles even for tracks that have altitudes
    #[arg(long, help_heading = MEASURED)]
    pub(crate) prefer_tiles: bool,
    /// Map for surfaces, hazards and fuel stops: an OpenStreetMap extract (.osm.pbf), or a folder of them [default: that of the preferences]
    ///
    /// Legs get the surface of the ways that the track follows, and are split where it changes for long. Fuel stops near the
    /// track are proposed, unconfirmed. Give the option several times for several extracts.
    #[arg(long, value_name = "FILE", help_heading = MEASURED)]
    pub(crate) map: Vec<PathBuf>,
    /// Import the part of a damaged GPX or GeoJSON file before the damage
    #[arg(long, help_heading = MEASURED)]
    pub(crate) salvage: bool,
    /// Copy vehicle, load and rules from another trip
    #[arg(long, value_name = "TRIP", help_heading = CONTENT)]
    pub(crate) vehicle_from: Option<PathBuf>,
    /// Replace the start and the legs of this trip; all else of it stays
    ///
    /// Vehicle, load, rules, name, trip log and what-ifs stay. What-ifs and fuel readings follow their legs by name.
    /// The trip is only written with --output, which may name the same file with --force.
    #[arg(long, value_name = "TRIP", conflicts_with = "vehicle_from", help_heading = CONTENT)]
    pub(crate) into: Option<PathBuf>,
    /// With --into: keep the legs up to the last fuel reading and replace only those after it
    ///
    /// For a road that turned out to be closed. The files begin at the place of the reading.
    #[arg(long, requires = "into", help_heading = CONTENT)]
    pub(crate) after_reading: bool,
    /// Print the measurements of the tracks
    #[arg(long, value_name = "FORMAT", help_heading = OUTPUT)]
    pub(crate) format: Option<Format>,
}

const TERRAIN_EXAMPLES: &str = "\
Examples:
  drystage terrain trip.json --map region.osm.pbf     what the map adds, writes nothing
  drystage terrain trip.json --map region.osm.pbf --heights tiles -o trip.json --force
  drystage terrain trip.json --map region.osm.pbf --split -o trip2.json";

/// `drystage terrain`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_long_help = TERRAIN_EXAMPLES)]
pub(crate) struct Terrain {
    /// Trip file, or - for standard input
    pub(crate) trip: PathBuf,
    /// Trip file to write, or - for standard output [default: preview only]
    #[arg(short, long, value_name = "TRIP", help_heading = OUTPUT)]
    pub(crate) output: Option<PathBuf>,
    /// OpenStreetMap extract (.osm.pbf), or a folder of them [default: that of the preferences]
    #[arg(long, value_name = "FILE", help_heading = MEASURED)]
    pub(crate) map: Vec<PathBuf>,
    /// Folder of elevation tiles: .hgt (SRTM, NASADEM) or .tif (Copernicus GLO-30) [default: that of the preferences]
    #[arg(long, value_name = "FOLDER", help_heading = MEASURED)]
    pub(crate) heights: Option<PathBuf>,
    /// Largest distance of a fuel stop from the track to be named, in kilometres
    #[arg(long, value_name = "KM", help_heading = MEASURED, default_value_t = DETOUR_WITHIN.get(), value_parser = within(0.0..=100.0, "kilometres"))]
    pub(crate) detour_within: f64,
    /// Split legs without a surface where the map's surface changes for 3 km or more
    #[arg(long, help_heading = CONTENT)]
    pub(crate) split: bool,
}

/// `drystage arrive`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_long_help = ARRIVE_EXAMPLES)]
pub(crate) struct Arrive {
    /// Trip file; the reading is added to it
    pub(crate) trip: PathBuf,
    /// Name or number of the place; the start is 0
    ///
    /// With --to-next, any name. A second reading at a place replaces the first, unless --again is given.
    pub(crate) place: String,
    /// Odometer reading, in kilometres
    #[arg(long, help_heading = READING, value_name = "KM", value_parser = parse_number, allow_hyphen_values = true)]
    pub(crate) odometer: f64,
    /// Litres in the tank before filling, including unusable fuel
    #[arg(long, help_heading = READING, value_name = "L", value_parser = parse_number, allow_hyphen_values = true)]
    pub(crate) left: f64,
    /// Litres left in cans before filling
    #[arg(long, help_heading = READING, value_name = "L", value_parser = parse_number, allow_hyphen_values = true, conflicts_with = "decanted")]
    pub(crate) cans: Option<f64>,
    /// Litres decanted from cans into the tank since the last reading, instead of --cans
    #[arg(long, help_heading = READING, value_name = "L", value_parser = parse_number, allow_hyphen_values = true)]
    pub(crate) decanted: Option<f64>,
    /// How the tank was measured [default: gauge]
    #[arg(long, help_heading = READING, value_name = "HOW")]
    pub(crate) how: Option<How>,
    /// Litres filled here, tank and cans together
    #[arg(long, help_heading = READING, value_name = "L", value_parser = parse_number, allow_hyphen_values = true)]
    pub(crate) filled: Option<f64>,
    /// Keep the earlier reading at this place, too
    ///
    /// Use it after driving around there.
    #[arg(long, help_heading = READING)]
    pub(crate) again: bool,
    /// The odometer reading is right, although far more or less than planned was driven
    #[arg(long, help_heading = READING)]
    pub(crate) sure: bool,
    /// There is no fuel here; the plan no longer relies on this fuel stop
    #[arg(long, help_heading = READING)]
    pub(crate) dry: bool,
    /// Kilometres from here to the next place of the plan
    ///
    /// Use it if you are between two places, at a place outside the plan, or about to make a detour. Give the distance by
    /// the route that you will drive.
    #[arg(long, help_heading = READING, value_name = "KM", value_parser = parse_number, allow_hyphen_values = true, conflicts_with = "dry")]
    pub(crate) to_next: Option<f64>,
    /// With --to-next, the last place passed [default: that of the last reading]
    #[arg(long, help_heading = READING, value_name = "PLACE", requires = "to_next")]
    pub(crate) past: Option<String>,
    /// Changes to the printed plan; they are not saved.
    #[command(flatten)]
    pub(crate) changes: Changes,
}

/// How the fuel in the tank was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum How {
    /// The tank was filled to the brim
    Brim,
    /// With a dipstick
    Dip,
    /// By the fuel gauge
    Gauge,
}

const FILL_UP_LOG: &str = "\
Fill-up log as CSV, or - for standard input

Columns: date, odometer_km, litres, to_brim, and the conditions since the last fill, such as
surface, sand_share and load_kg.";

/// `drystage calibrate`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_long_help = CALIBRATE_EXAMPLES)]
pub(crate) struct Calibrate {
    /// Trip file with the vehicle
    pub(crate) trip: PathBuf,
    /// Fill-up log as CSV, or - for standard input
    #[arg(value_name = "LOG.csv", long_help = FILL_UP_LOG)]
    pub(crate) log: PathBuf,
    /// Save the calibration factors in the trip file
    #[arg(long, help_heading = OUTPUT)]
    pub(crate) save: bool,
    /// Include the suspect interval that ends in this row of the log
    #[arg(long, value_name = "ROW", help_heading = PLANNED)]
    pub(crate) keep: Vec<u64>,
    /// Output format
    #[arg(long, value_name = "FORMAT", default_value = "text", help_heading = OUTPUT)]
    pub(crate) format: Format,
    /// Changes to the plans before and after calibration; they are not saved.
    #[command(flatten)]
    pub(crate) changes: Changes,
}

/// `drystage check`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_long_help = CHECK_EXAMPLES)]
pub(crate) struct Check {
    /// Trip file, or - for standard input
    pub(crate) trip: PathBuf,
    /// Output format
    #[arg(long, value_name = "FORMAT", default_value = "text", help_heading = OUTPUT)]
    pub(crate) format: Format,
    /// Changes applied before planning.
    #[command(flatten)]
    pub(crate) changes: Changes,
}

/// `drystage range`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_long_help = RANGE_EXAMPLES)]
pub(crate) struct Range {
    /// Trip file, or - for standard input
    pub(crate) trip: PathBuf,
    /// Output format
    #[arg(long, value_name = "FORMAT", default_value = "text", help_heading = OUTPUT)]
    pub(crate) format: Format,
    /// Changes applied before.
    #[command(flatten)]
    pub(crate) changes: Changes,
}

/// `drystage new`.
#[derive(Debug, ClapArgs)]
#[command(help_template = HELP, after_long_help = NEW_EXAMPLES)]
pub(crate) struct New {
    /// Trip file to write, or - for standard output
    #[arg(short, long, value_name = "TRIP", default_value = "-", help_heading = OUTPUT)]
    pub(crate) output: PathBuf,
    /// Copy vehicle, load and rules from another trip
    #[arg(long, value_name = "TRIP", help_heading = CONTENT)]
    pub(crate) vehicle_from: Option<PathBuf>,
}

/// `drystage completions`.
#[derive(Debug, ClapArgs)]
pub(crate) struct Completions {
    /// Shell to complete for
    #[arg(value_name = "SHELL")]
    pub(crate) shell: clap_complete::Shell,
}

/// `drystage man`.
#[derive(Debug, ClapArgs)]
pub(crate) struct Man {
    /// Command to describe [default: the program itself]
    #[arg(value_name = "COMMAND")]
    pub(crate) command: Option<String>,
}

/// `drystage manual`.
#[derive(Debug, ClapArgs)]
pub(crate) struct Manual {
    /// Page to print [default: the list of pages]
    #[arg(value_name = "PAGE")]
    pub(crate) page: Option<Topic>,
}

/// `drystage paths`.
#[derive(Debug, ClapArgs)]
pub(crate) struct Paths {
    /// Output format
    #[arg(long, value_name = "FORMAT", default_value = "text", help_heading = OUTPUT)]
    pub(crate) format: Format,
}

/// `drystage schema`.
#[derive(Debug, ClapArgs)]
pub(crate) struct Schema {
    /// Document to describe
    #[arg(value_name = "DOCUMENT", default_value = "trip")]
    pub(crate) of: Described,
    /// Output file, or - for standard output
    #[arg(short, long, value_name = "FILE", default_value = "-", help_heading = OUTPUT)]
    pub(crate) output: PathBuf,
}

/// A document that has a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Described {
    /// The trip file
    Trip,
    /// Output of report --format json
    Report,
    /// Output of report --format json with several what-ifs
    Compare,
    /// Output of check --format json
    Check,
    /// Output of range --format json
    Range,
    /// Output of import --format json
    Import,
    /// Output of calibrate --format json
    Calibration,
}

/// Format of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// 80 columns, for reading and printing
    Text,
    /// For programs, full precision
    Json,
}

/// Format of the report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum ReportFormat {
    /// 80 columns, for reading and printing
    Text,
    /// For programs, full precision
    Json,
    /// One page for screen, phone and printer
    Html,
    /// Leg table for a spreadsheet; import reads it back
    Csv,
    /// Places, route and track for a GPS receiver (GPX 1.1)
    Gpx,
    /// Places and legs for a map program (RFC 7946)
    Geojson,
    /// What the screen shows first, in --size; --color always keeps the colours
    Screen,
}

/// The size of a screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct ScreenSize {
    pub(crate) columns: u16,
    pub(crate) rows: u16,
}

impl FromStr for ScreenSize {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let sides = text.split_once('x');
        let sides =
            sides.and_then(|(columns, rows)| Some((columns.parse().ok()?, rows.parse().ok()?)));
        match sides {
            Some((columns @ 40..=400, rows @ 10..=200)) => Ok(Self { columns, rows }),
            _ => Err("must be columns and rows, 40x10 to 400x200, as in 120x40".to_owned()),
        }
    }
}

/// The separator of a table's cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Delimiter {
    /// A comma: ,
    Comma,
    /// A semicolon: ;
    Semicolon,
    /// A tab character
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

/// Why a value on the command line is refused.
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
    #[error("must be POINTER=VALUE, such as /legs/3/sand_share=0.8")]
    NoSetting,
    /// A setting whose pointer is none.
    #[error("POINTER must begin with /, got {0}")]
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

/// A number with a decimal point or comma.
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

    #[test]
    fn the_definitions_are_consistent() {
        program().debug_assert();
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
