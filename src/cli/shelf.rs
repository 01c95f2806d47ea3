//! What can be opened when no trip was named: recent trips, unsaved ones, samples, new ones, imports.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use anyhow::{Context, anyhow, bail};

use super::failure::Failure;
use super::proposals;
use super::recent;
use super::session::Session;
use super::{Common, files};
use crate::io::disk::System;
use crate::io::folders;
use crate::io::gpx;
use crate::io::import::{self, Options, TileChoice};
use crate::io::journal;
use crate::io::json;
use crate::model::Trip;
use crate::model::line::Polyline;
use crate::model::track::Track;
use crate::present::name::plain;
use crate::present::number::Units;
use crate::tui::outside::{Imported, Item, Opened, Shelf};

/// The sample trips, as they are beside the sources.
const SAMPLES: [(&str, &str); 4] = [
    (
        "forest-weekend",
        include_str!("../../sample-routes/forest-weekend.json"),
    ),
    (
        "plateau-loop",
        include_str!("../../sample-routes/plateau-loop.json"),
    ),
    (
        "dune-coast",
        include_str!("../../sample-routes/dune-coast.json"),
    ),
    (
        "long-dry-stage",
        include_str!("../../sample-routes/long-dry-stage.json"),
    ),
];
/// The track that one of them follows.
const SAMPLE_TRACK: &str = include_str!("../../sample-routes/plateau-loop-pass.gpx");

/// Vehicles of the shelf that are listed.
const MOST_VEHICLES: usize = 50;

/// The file in the state folder with the answers about a new trip, as far as they were given.
pub(super) const ANSWERS: &str = "new-trip.answers";

/// What can be opened; the files of what was opened last.
pub(crate) struct Bookshelf {
    state: Option<PathBuf>,
    common: Common,
    /// The files of the trip that was opened.
    pub(crate) session: Session,
}

impl Bookshelf {
    /// What the user's state folder knows.
    pub(crate) fn new(common: &Common) -> Self {
        Self {
            common: common.clone(),
            state: folders::state(),
            session: Session::new(&System),
        }
    }

    /// Where the answers about a new trip are kept.
    fn answers(&self) -> Option<PathBuf> {
        Some(self.state.as_ref()?.join(ANSWERS))
    }

    fn unsaved(&self) -> Vec<Item> {
        let Some(entries) = self
            .state
            .as_ref()
            .and_then(|state| fs::read_dir(state).ok())
        else {
            return Vec::new();
        };
        let mut found: Vec<Item> = entries
            .filter_map(|entry| Some(entry.ok()?.path()))
            .filter(|path| path.extension().is_some_and(|kind| kind == "edits"))
            .filter(|path| !journal::is_written(path))
            .filter_map(|path| {
                let left = journal::read(&path)?;
                if left.is_nothing() {
                    // Its trip was saved, and the program killed before it could take this away.
                    let _ = fs::remove_file(&path);
                }
                let trip = left.trip?;
                Some(Item::Unsaved {
                    name: trip.name.unwrap_or_else(|| "unnamed trip".to_owned()),
                    at: path,
                })
            })
            .collect();
        found.sort_by_key(|item| format!("{item:?}"));
        found
    }

    /// Has the files of what was opened.
    fn with(&mut self, (session, opened): (Session, Opened)) -> Opened {
        self.session = session;
        opened
    }
}

impl Shelf for Bookshelf {
    fn items(&self) -> Vec<Item> {
        let mut items = self.unsaved();
        let recent = self.state.as_deref().map(recent::trips);
        items.extend(recent.unwrap_or_default().into_iter().map(Item::Recent));
        items.push(Item::New);
        items.extend(vehicles());
        items.push(Item::Import);
        items.extend(SAMPLES.map(|(name, _)| Item::Sample(name)));
        items
    }

    fn open(&mut self, item: &Item) -> anyhow::Result<Opened> {
        match item {
            Item::Recent(recent) => Ok(self.with(Session::open(Path::new(&recent.path), &System)?)),
            Item::Unsaved { at, .. } => Ok(self.with(Session::open_unsaved(at.clone(), &System)?)),
            Item::Sample(name) => {
                let (_, text) = SAMPLES
                    .iter()
                    .find(|(known, _)| known == name)
                    .context("unknown sample")?;
                let mut trip = json::parse(text.as_bytes())?;
                with_its_track(&mut trip)?;
                self.session = Session::of_new(&trip, &System);
                Ok(Opened {
                    notice: Some(
                        "this is an invented sample; S saves it as your own trip".to_owned(),
                    ),
                    ..Opened::new(trip)
                })
            }
            Item::New | Item::Vehicle { .. } | Item::Import => bail!("needs an answer first"),
        }
    }

    fn vehicle(&self, at: &Path) -> anyhow::Result<Trip> {
        Ok(files::read_with_or_without_legs(at)?)
    }

    fn import(&self, paths: &str, vehicle: &str, units: Units) -> anyhow::Result<Imported> {
        let files = proposals::named(paths);
        if files.is_empty() {
            bail!("type the path of a file");
        }
        let vehicle_from = match vehicle.trim() {
            "" => None,
            named => Some(Box::new(files::read_lender(&on_shelf(named))?)),
        };
        let heights = self.common.heights.clone();
        let options = Options {
            units,
            vehicle_from,
            map: super::import::map_choice(&[], &self.common)?,
            tiles: heights.map(|folder| TileChoice {
                folder,
                preferred: false,
            }),
            ..Options::default()
        };
        let imported = import::import(&files, &options).map_err(Failure::from)?;
        let lines = super::import::listed(&imported, units);
        Ok(Imported {
            lines: lines.lines().map(str::to_owned).collect(),
            trip: Arc::new(imported.trip),
        })
    }

    fn keep_answers(&mut self, answers: &[String]) {
        let Some(path) = self.answers() else {
            return;
        };
        // Without a state folder, or with one that cannot be written, they are lost as before.
        let _ = if answers.is_empty() {
            fs::remove_file(path)
        } else {
            let text = serde_json::to_vec(answers).unwrap_or_default();
            path.parent()
                .map_or(Ok(()), fs::create_dir_all)
                .and_then(|()| fs::write(path, text))
        };
    }

    fn kept_answers(&self) -> Vec<String> {
        let text = self.answers().and_then(|path| folders::read(&path).ok());
        text.and_then(|text| serde_json::from_str(&text).ok())
            .unwrap_or_default()
    }

    fn create(&mut self, trip: Trip) -> Opened {
        let new = Session::open_new(trip, &System);
        self.with(new)
    }
}

/// The folder of the shelf of vehicles.
pub(super) fn vehicles_folder() -> Option<PathBuf> {
    Some(folders::config()?.join("vehicles"))
}

/// The vehicles of the shelf, in the order of their names.
fn vehicles() -> Vec<Item> {
    let Some(entries) = vehicles_folder().and_then(|folder| fs::read_dir(folder).ok()) else {
        return Vec::new();
    };
    let mut found: Vec<Item> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|kind| kind == "json"))
        .map(|at| Item::Vehicle {
            name: plain(&at.file_stem().unwrap_or_default().to_string_lossy()).into_owned(),
            at,
        })
        .collect();
    found.sort_by_key(|item| format!("{item:?}"));
    found.truncate(MOST_VEHICLES);
    found
}

/// The file of a vehicle: the path as it is typed, or the name of one on the shelf.
pub(super) fn on_shelf(typed: &str) -> PathBuf {
    let path = folders::at_home(typed);
    let is_name = path.components().count() == 1 && !path.exists();
    let folder = vehicles_folder().filter(|_| is_name);
    let kept = folder.map(|folder| folder.join(format!("{typed}.json")));
    kept.filter(|kept| kept.exists()).unwrap_or(path)
}

/// A sample has no folder in which its track could be, so it takes the points along.
fn with_its_track(trip: &mut Trip) -> anyhow::Result<()> {
    for leg in &mut trip.legs {
        if let Some(Track::File { .. }) = &leg.track {
            let reading = gpx::read(SAMPLE_TRACK.as_bytes(), false)
                .map_err(|_| anyhow!("the sample's track is damaged"))?;
            let line = reading.lines.into_iter().next();
            leg.track = line.map(|line| Track::Inline(Polyline::new(line.points)));
        }
    }
    Ok(())
}
