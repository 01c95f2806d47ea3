//! `drystage terrain`: what a trip does not state, from a map and elevation tiles.

use super::args::Terrain;
use super::failure::{Failure, shown_path};
use super::import::map_choice;
use super::{Common, DONE, files, units};
use crate::io::heights::Tiles;
use crate::io::osm::{self, Corridor};
use crate::io::terrain::{fill, split};
use crate::model::line::Line;
use crate::model::track::Track;
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
    let tracks = trip.legs.iter().filter_map(|leg| leg.track.as_ref());
    let lines: Vec<Line> = tracks.flat_map(Track::lines).cloned().collect();
    let extract = match &choice {
        None => None,
        Some(choice) => {
            let corridor = Corridor::new(
                lines.iter().map(Line::points),
                Kilometres::new(asked.detour_within),
            );
            let read = osm::read(&choice.files, &corridor, &*choice.progress);
            Some(read.map_err(|error| Failure::Wrong(error.to_string()))?)
        }
    };
    let mut tiles = match folder {
        None => None,
        Some(folder) => {
            let tiles = Tiles::in_folder(folder);
            Some(tiles.map_err(|none| Failure::Wrong(none.to_string()))?)
        }
    };
    let whole = match &extract {
        Some(extract) if asked.split => split(&trip, extract),
        _ => trip.clone(),
    };
    let filled = fill(&whole, extract.as_ref(), tiles.as_mut(), units);
    let mut lines = Vec::new();
    if whole.legs.len() > trip.legs.len() {
        let (before, after) = (trip.legs.len(), whole.legs.len());
        lines.push(format!(
            "{before} legs became {after}, split where the surface changes"
        ));
    }
    lines.extend(filled.added.iter().map(|line| plain(line).into_owned()));
    if filled.added.is_empty() {
        lines.push("Nothing to add".to_owned());
    }
    let ignored = tiles.iter().flat_map(Tiles::ignored);
    let notice = extract.as_ref().map(|extract| extract.notice().to_owned());
    let notes = filled.notes.iter().cloned().chain(ignored).chain(notice);
    lines.extend(notes.map(|note| format!("- {}", plain(&note))));
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
