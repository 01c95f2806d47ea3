//! What the user prefers, from a file: what the command line does not say, it says.

use std::io::ErrorKind;
use std::path::PathBuf;

use anyhow::Context;
use serde::Deserialize;

use super::args::{Common, UnitsChoice, When};
use super::failure::{Failure, shown_path};
use super::files;
use crate::io::folders;

/// The file, every key optional.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Config {
    /// `--color`; `NO_COLOR` comes before it.
    color: Option<When>,
    /// `--ascii`.
    ascii: Option<bool>,
    /// Whether the screen takes the mouse; `--no-mouse` says it does not.
    mouse: Option<bool>,
    /// Units for trips that state none.
    units: Option<UnitsChoice>,
}

/// Where the file is: where the call says, else in the user's folder.
pub(crate) fn path(common: &Common) -> Option<PathBuf> {
    let usual = || Some(folders::config(|name| std::env::var_os(name))?.join("config.json"));
    common.config.clone().or_else(usual)
}

/// What the call says, and where it says nothing, what the file does.
pub(crate) fn completed(common: Common) -> Result<Common, Failure> {
    let Some(path) = path(&common) else {
        return Ok(common);
    };
    let text = match folders::read(&path) {
        Ok(text) => text,
        Err(error) if common.config.is_some() => {
            return Err(error)
                .with_context(|| shown_path(&path))
                .map_err(Failure::Failed);
        }
        // Whoever has no preferences there, perhaps in the home of another user, has not asked for any.
        Err(error) => {
            if !matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) {
                let says = format!("preferences are ignored: {}: {error}", shown_path(&path));
                files::note(&[says], common.errors);
            }
            return Ok(common);
        }
    };
    let Config {
        color,
        ascii,
        mouse,
        units,
    } = serde_json::from_str(&text)
        .with_context(|| shown_path(&path))
        .map_err(Failure::Failed)?;
    let no_color = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    Ok(Common {
        color: common.color.or(color.filter(|_| !no_color)),
        ascii: common.ascii || ascii.unwrap_or(false),
        no_mouse: common.no_mouse || !mouse.unwrap_or(true),
        preferred: units,
        ..common
    })
}
