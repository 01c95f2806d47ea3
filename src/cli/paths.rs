//! `drystage paths`: where preferences, recent trips and unsaved edits are stored.

use std::path::{Path, PathBuf};

use serde_json::json;

use super::args::{Common, Format, Paths};
use super::failure::{Failure, shown_path};
use super::shelf::{ANSWERS, vehicles_folder};
use super::{DONE, config, files};
use crate::io::folders;
use crate::report::json::harmless;

/// Prints the paths, whether or not the files exist.
pub(crate) fn run(asked: &Paths, common: &Common) -> Result<u8, Failure> {
    let config = config::path(common);
    let state = folders::state();
    let recent = state.as_ref().map(|state| state.join("recent"));
    let answers = state.as_ref().map(|state| state.join(ANSWERS));
    let vehicles = vehicles_folder();
    files::print(&match asked.format {
        Format::Json => {
            // A path need not be Unicode, and JSON must be.
            let shown = |path: &Option<PathBuf>| {
                path.as_ref()
                    .map(|path| path.to_string_lossy().into_owned())
            };
            let document = json!({
                "drystage_paths": 1, "config": shown(&config), "state": shown(&state), "recent": shown(&recent), "answers": shown(&answers),
                "vehicles": shown(&vehicles),
            });
            harmless(&document.to_string()) + "\n"
        }
        Format::Text => {
            let shown = |path: Option<&Path>| {
                path.map_or_else(|| format!("not stored: {}", folders::UNNAMED), shown_path)
            };
            format!(
                "preferences    {}\nstate          {}\nrecent trips   {}\nnew trip       {}, answers so far\nvehicles       {}\nunsaved edits  .NAME.edits beside the \
                 trip; in the state folder if the trip is new or its folder is read-only\n",
                shown(config.as_deref()),
                shown(state.as_deref()),
                shown(recent.as_deref()),
                shown(answers.as_deref()),
                shown(vehicles.as_deref()),
            )
        }
    })?;
    Ok(DONE)
}
