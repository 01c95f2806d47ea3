//! Changes that the screen proposes from files, made as the commands make them.

use std::path::PathBuf;
use std::sync::Arc;

use super::failure::Failure;
use super::import::map_of;
use super::shelf::on_shelf;
use super::{calibrate, files, terrain};
use crate::io::folders;
use crate::io::import::{self, Options};
use crate::io::terrain::{FillFrom, filled};
use crate::model::Trip;
use crate::model::change::{self, Change};
use crate::present::name::plain;
use crate::present::number::Units;
use crate::tui::outside::{FromFiles, Progress, Proposal, Proposer};

/// What reads the files of proposals.
pub(super) fn proposer() -> Proposer {
    Arc::new(proposed)
}

/// The files that are named on one line, divided by `;`.
pub(super) fn named(paths: &str) -> Vec<PathBuf> {
    paths
        .split(';')
        .map(|path| folders::at_home(path.trim()))
        .filter(|path| !path.as_os_str().is_empty())
        .collect()
}

fn proposed(
    from: &FromFiles,
    trip: &Trip,
    units: Units,
    progress: Progress,
) -> anyhow::Result<Proposal> {
    match from {
        FromFiles::Map {
            map,
            heights,
            is_split,
        } => {
            let named = |path: &str| (!path.is_empty()).then(|| folders::at_home(path));
            let map = named(map).map(|path| map_of(&[path], progress));
            let (map, heights) = (map.transpose()?, named(heights));
            let from = FillFrom {
                map: map.as_ref(),
                heights: heights.as_deref(),
                detour_within: import::DETOUR_WITHIN,
                is_split: *is_split,
            };
            let filled = filled(trip, &from, units)?;
            Ok(Proposal {
                lines: terrain::lines_of(&filled),
                change: filled.change,
            })
        }
        FromFiles::FillLog(path) => {
            let (after, text) = calibrate::proposed(trip, &folders::at_home(path), units)?;
            let change = match &after {
                Some(after) => Change::restated(trip, after, "calibrate the consumption")?,
                None => Change::none("calibrate the consumption"),
            };
            let lines = text.lines().map(str::to_owned).collect();
            Ok(Proposal { change, lines })
        }
        FromFiles::Vehicle(path) => {
            let lender = files::read_lender(&on_shelf(path))?;
            let after = trip.clone().with_vehicle_of(&lender);
            let lines = change::differences(trip, &after);
            Ok(Proposal {
                change: Change::restated(trip, &after, "take the vehicle of another trip")?,
                lines: lines.iter().map(|line| plain(line).into_owned()).collect(),
            })
        }
        FromFiles::Route(paths) => {
            let options = Options {
                units,
                into: Some(Box::new(trip.clone())),
                is_after_reading: !trip.log().is_empty(),
                ..Options::default()
            };
            let imported = import::import(&named(paths), &options).map_err(Failure::from)?;
            let (change, lines) = imported.into.map_or_else(
                || (Change::none(""), Vec::new()),
                |into| (into.change, into.differences),
            );
            let notes = imported.notes.iter().map(|note| format!("- {note}"));
            let lines = lines.into_iter().chain(notes);
            Ok(Proposal {
                change,
                lines: lines.map(|line| plain(&line).into_owned()).collect(),
            })
        }
    }
}
