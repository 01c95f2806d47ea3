//! The user's folders of this program, as the XDG Base Directory Specification 0.8 has them.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

const OURS: &str = "drystage";

/// Bytes of the longest file of these folders that is read at once; they hold a few lines.
const MOST_BYTES: u64 = 64 * 1024;

/// For what the program remembers: recent trips, unsaved edits; `None` if the environment names none.
pub(crate) fn state(env: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    folder(env, "XDG_STATE_HOME", ".local/state")
}

/// For what the user prefers.
pub(crate) fn config(env: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    folder(env, "XDG_CONFIG_HOME", ".config")
}

/// A path as it is typed, with `~/` for the home folder.
pub(crate) fn at_home(path: &str) -> PathBuf {
    match (path.strip_prefix("~/"), std::env::var_os("HOME")) {
        (Some(rest), Some(home)) => PathBuf::from(home).join(rest),
        _ => PathBuf::from(path),
    }
}

/// The text of one of the short files in them, without a byte order mark.
///
/// # Errors
/// When it is no file, cannot be read, or is not short.
pub(crate) fn read(path: &Path) -> io::Result<String> {
    // Who opens a pipe waits until somebody writes to it.
    if !fs::metadata(path)?.is_file() {
        let message = "is a folder, a pipe or a device, not a file";
        return Err(io::Error::new(io::ErrorKind::InvalidInput, message));
    }
    let mut text = String::new();
    File::open(path)?
        .take(MOST_BYTES + 1)
        .read_to_string(&mut text)?;
    if text.len() as u64 > MOST_BYTES {
        let message = format!("must be at most {MOST_BYTES} bytes, got more");
        return Err(io::Error::new(io::ErrorKind::InvalidData, message));
    }
    if text.starts_with('\u{feff}') {
        text.drain(..'\u{feff}'.len_utf8());
    }
    Ok(text)
}

fn folder(env: impl Fn(&str) -> Option<OsString>, name: &str, usual: &str) -> Option<PathBuf> {
    // A relative one is to be passed over (same specification): it would be another one in every folder.
    let named = |name| {
        env(name)
            .map(PathBuf::from)
            .filter(|path| path.is_absolute())
    };
    let folder = named(name).or_else(|| Some(named("HOME")?.join(usual)))?;
    Some(folder.join(OURS))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_folders_are_where_the_environment_says() {
        let env = |pairs: &'static [(&str, &str)]| {
            move |name: &str| {
                let pair = pairs.iter().find(|(key, _)| *key == name);
                pair.map(|(_, value)| value.into())
            }
        };
        let both = |pairs| (state(env(pairs)), config(env(pairs)));
        let at = |state: &str, config: &str| (Some(state.into()), Some(config.into()));
        assert_eq!(
            both(&[
                ("XDG_STATE_HOME", "/s"),
                ("XDG_CONFIG_HOME", "/c"),
                ("HOME", "/h")
            ]),
            at("/s/drystage", "/c/drystage")
        );
        for pairs in [
            &[("HOME", "/h")][..],
            &[
                ("XDG_STATE_HOME", "s"),
                ("XDG_CONFIG_HOME", "c"),
                ("HOME", "/h"),
            ],
        ] {
            assert_eq!(
                both(pairs),
                at("/h/.local/state/drystage", "/h/.config/drystage")
            );
        }
        for nowhere in [&[][..], &[("HOME", "")], &[("HOME", "h")]] {
            assert_eq!(both(nowhere), (None, None));
        }
    }
}
