//! `drystage terrain`: what a trip does not state, from a map and elevation tiles.

use std::path::PathBuf;

use super::args::Terrain;
use super::failure::{Failure, shown_path};
use super::import::map_choice;
use super::{Common, DONE, files, units};
use crate::io::terrain::{FillFrom, Filled, filled};
use crate::present::name::plain;
use crate::quantity::Kilometres;

/// Shows what a map and tiles add to a trip, and writes it if an output is given.
pub(crate) fn run(asked: &Terrain, common: &Common) -> Result<u8, Failure> {
    let trip = files::read_trip(&asked.trip)?;
    let units = units(&trip, common);
    let choice = map_choice(&asked.map, common)?;
    let folder = asked.heights.as_ref().or(common.heights.as_ref());
    if choice.is_none() && folder.is_none() {
        return Err(Failure::Wrong(
            "give a map with --map, a folder of elevation tiles with --heights, or both".to_owned(),
        ));
    }
    let from = FillFrom {
        map: choice.as_ref(),
        heights: folder.map(PathBuf::as_path),
        detour_within: Kilometres::new(asked.detour_within),
        is_split: asked.split,
    };
    let filled = filled(&trip, &from, units).map_err(|error| Failure::Wrong(error.to_string()))?;
    let lines = lines_of(&filled);
    let text = lines.iter().map(|line| format!("{line}\n"));
    let text = text.collect::<String>();
    match &asked.output {
        None => {
            files::print(&text)?;
            files::print("\nPreview only. To save the trip, add --output TRIP\n")?;
        }
        Some(output) => {
            files::write_trip(output, &filled.trip, common.force)?;
            // The trip itself may be on standard output.
            if output.as_os_str() == "-" {
                files::note(&lines, common.errors);
            } else {
                files::print(&text)?;
                files::print(&format!("{} written\n", shown_path(output)))?;
            }
        }
    }
    Ok(DONE)
}

/// What was added to a trip, a line each, then the notes.
pub(super) fn lines_of(filled: &Filled) -> Vec<String> {
    let added = filled.added.iter().map(|line| plain(line).into_owned());
    let nothing = filled.added.is_empty().then(|| "Nothing to add".to_owned());
    let notes = filled.notes.iter();
    let notes = notes.map(|note| format!("- {}", plain(note)));
    added.chain(nothing).chain(notes).collect()
}
