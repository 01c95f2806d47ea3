//! `drystage paths`: where the program keeps what it keeps.

use std::path::{Path, PathBuf};

use serde_json::json;

use super::args::{Common, Format, Paths};
use super::failure::{Failure, shown_path};
use super::{DONE, config, files};
use crate::io::folders;
use crate::report::json::harmless;

/// Prints the paths, whether or not anything is there.
pub(crate) fn run(asked: &Paths, common: &Common) -> Result<u8, Failure> {
    let config = config::path(common);
    let state = folders::state(|name| std::env::var_os(name));
    let recent = state.as_ref().map(|state| state.join("recent"));
    files::print(&match asked.format {
        Format::Json => {
            // A path need not be Unicode, and JSON must be.
            let told = |path: &Option<PathBuf>| {
                path.as_ref()
                    .map(|path| path.to_string_lossy().into_owned())
            };
            let document = json!({
                "drystage_paths": 1, "config": told(&config), "state": told(&state), "recent": told(&recent),
            });
            harmless(&document.to_string()) + "\n"
        }
        Format::Text => {
            let told = |path: Option<&Path>| {
                path.map_or_else(
                    || "nowhere: neither XDG nor HOME is set".to_owned(),
                    shown_path,
                )
            };
            format!(
                "preferences    {}\nstate          {}\nrecent trips   {}\nunsaved edits  .NAME.edits beside the \
                 trip; in the state folder where that cannot be written, and for new trips\n",
                told(config.as_deref()),
                told(state.as_deref()),
                told(recent.as_deref()),
            )
        }
    })?;
    Ok(DONE)
}
