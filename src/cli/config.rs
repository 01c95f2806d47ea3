//! Preferences of the user, from a file; options of the command line override them.

use std::io::ErrorKind;
use std::path::PathBuf;

use serde::Deserialize;

use super::args::{Common, UnitsChoice, When};
use super::failure::{Failure, shown_path};
use super::files;
use crate::io::folders;
use crate::io::reason::plain_reason;
use crate::tui::theme::Ground;

/// The file, every key optional.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Config {
    /// `--color`; `NO_COLOR` overrides it.
    color: Option<When>,
    /// Whether only ASCII is written; `--ascii` overrides it.
    ascii: Option<bool>,
    /// Whether the mouse is captured; `--no-mouse` overrides it.
    mouse: Option<bool>,
    /// The palette, `dark` or `light`; the terminal is asked for its background if it is not set.
    palette: Option<Ground>,
    /// Units of trips that set none.
    units: Option<UnitsChoice>,
    /// Map extract, or a folder of them; `--map` overrides it.
    map: Option<PathBuf>,
    /// Folder of elevation tiles; `--heights` overrides it.
    heights: Option<PathBuf>,
}

/// The path of `--config`, otherwise the one in the user's folder.
pub(crate) fn path(common: &Common) -> Option<PathBuf> {
    let usual = || Some(folders::config()?.join("config.json"));
    common.config.clone().or_else(usual)
}

/// The options with the preferences for those that are not given.
pub(crate) fn completed(common: Common) -> Result<Common, Failure> {
    let Some(path) = path(&common) else {
        return Ok(common);
    };
    let text = match folders::read(&path) {
        Ok(text) => text,
        Err(error) if common.config.is_some() => {
            return Err(Failure::unreadable(shown_path(&path), &error));
        }
        // A file that is not there, perhaps in the home of another user, was not asked for.
        Err(error) => {
            if !matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) {
                let reason = plain_reason(&error);
                let note = format!("{}: {reason}; preferences are ignored", shown_path(&path));
                files::note(&[note], common.errors);
            }
            return Ok(common);
        }
    };
    let Config {
        color,
        ascii,
        mouse,
        palette,
        units,
        map,
        heights,
    } = serde_json::from_str(&text).map_err(|error| Failure::of_json(shown_path(&path), &error))?;
    let no_color = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    Ok(Common {
        color: common.color.or(color.filter(|_| !no_color)),
        ascii: common.ascii || ascii.unwrap_or(false),
        no_mouse: common.no_mouse || !mouse.unwrap_or(true),
        palette,
        preferred: units,
        map,
        heights,
        ..common
    })
}
