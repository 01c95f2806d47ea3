//! The user's folders of this program: on Windows those that its environment names, elsewhere, macOS included, as the XDG
//! Base Directory Specification 0.8 has them.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use crate::platform::Platform;

const OURS: &str = "drystage";

/// Bytes of the longest file of these folders that is read at once; they hold a few lines.
const MOST_BYTES: u64 = 64 * 1024;

/// Why there is no folder.
pub(crate) const UNNAMED: &str = match Platform::HERE {
    Platform::Unix => "neither HOME nor an XDG folder is set",
    Platform::Windows => "APPDATA or LOCALAPPDATA is not set",
};

/// What a folder is for.
#[derive(Clone, Copy)]
enum Use {
    State,
    Config,
}

/// For what the program remembers: recent trips, unsaved edits; `None` if the environment names none.
pub(crate) fn state() -> Option<PathBuf> {
    folder(Use::State, Platform::HERE, environment)
}

/// For what the user prefers.
pub(crate) fn config() -> Option<PathBuf> {
    folder(Use::Config, Platform::HERE, environment)
}

/// A path as it is typed, with `~/` for the home folder.
pub(crate) fn at_home(path: &str) -> PathBuf {
    in_home(path, Platform::HERE, environment)
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

fn environment(name: &str) -> Option<OsString> {
    std::env::var_os(name)
}

fn folder(of: Use, platform: Platform, env: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    // A relative one is to be passed over (same specification): it would be another one in every folder.
    let named = |name| {
        env(name)
            .map(PathBuf::from)
            .filter(|path| path.is_absolute())
    };
    let xdg = |name, usual| named(name).or_else(|| Some(named("HOME")?.join(usual)));
    let folder = match (platform, of) {
        (Platform::Unix, Use::State) => xdg("XDG_STATE_HOME", ".local/state"),
        (Platform::Unix, Use::Config) => xdg("XDG_CONFIG_HOME", ".config"),
        // What is remembered is of no use on another computer; preferences follow the user there.
        (Platform::Windows, Use::State) => named("LOCALAPPDATA"),
        (Platform::Windows, Use::Config) => named("APPDATA"),
    };
    Some(folder?.join(OURS))
}

fn in_home(path: &str, platform: Platform, env: impl Fn(&str) -> Option<OsString>) -> PathBuf {
    let (home, separators): (_, &[char]) = match platform {
        Platform::Unix => ("HOME", &['/']),
        Platform::Windows => ("USERPROFILE", &['/', '\\']),
    };
    let rest = path.strip_prefix('~');
    let rest = rest.and_then(|rest| rest.strip_prefix(separators));
    match (rest, env(home)) {
        (Some(rest), Some(home)) => PathBuf::from(home).join(rest),
        _ => PathBuf::from(path),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A path from the root, as the system that runs the tests has it.
    fn rooted(path: &str) -> PathBuf {
        Path::new(if cfg!(windows) { r"C:\" } else { "/" }).join(path)
    }

    /// An environment; a value that begins with `/` is a path from the root.
    fn env(pairs: &[(&str, &str)]) -> impl Fn(&str) -> Option<OsString> {
        let pairs: Vec<(String, OsString)> = pairs
            .iter()
            .map(|(name, value)| {
                let path = value.strip_prefix('/').map(rooted);
                (
                    (*name).to_owned(),
                    path.map_or_else(|| value.into(), Into::into),
                )
            })
            .collect();
        move |name| {
            let pair = pairs.iter().find(|(key, _)| key == name);
            pair.map(|(_, value)| value.clone())
        }
    }

    #[test]
    fn the_folders_are_where_the_environment_says() {
        let home = ("HOME", "/h");
        let xdg = [("XDG_STATE_HOME", "/s"), ("XDG_CONFIG_HOME", "/c"), home];
        let relative = [("XDG_STATE_HOME", "s"), ("XDG_CONFIG_HOME", "c"), home];
        let app_data = [("LOCALAPPDATA", "/l"), ("APPDATA", "/r"), home];
        let usual = Some(["h/.local/state/drystage", "h/.config/drystage"]);
        let (unix, windows) = (Platform::Unix, Platform::Windows);
        for (platform, pairs, expected) in [
            (unix, xdg.as_slice(), Some(["s/drystage", "c/drystage"])),
            (unix, &relative, usual),
            (unix, &app_data, usual),
            (unix, &[("HOME", "h")], None),
            (unix, &[("HOME", "")], None),
            (unix, &[], None),
            (windows, &app_data, Some(["l/drystage", "r/drystage"])),
            (windows, &xdg, None),
            (windows, &[("LOCALAPPDATA", "l"), ("APPDATA", "")], None),
        ] {
            let found = [Use::State, Use::Config].map(|of| folder(of, platform, env(pairs)));
            let expected =
                expected.map_or([None, None], |paths| paths.map(|path| Some(rooted(path))));
            assert_eq!(found, expected, "{platform:?} {pairs:?}");
        }
    }

    #[test]
    fn a_tilde_is_the_home_folder() {
        let env = env(&[("HOME", "/h"), ("USERPROFILE", "/u")]);
        for (typed, unix, windows) in [
            ("~/trip.json", Some("h/trip.json"), Some("u/trip.json")),
            (r"~\trip.json", None, Some("u/trip.json")),
            ("~trip.json", None, None),
            ("a~/trip.json", None, None),
        ] {
            for (platform, expected) in [(Platform::Unix, unix), (Platform::Windows, windows)] {
                let expected = expected.map_or_else(|| typed.into(), rooted);
                assert_eq!(in_home(typed, platform, &env), expected, "{typed}");
            }
        }
        assert_eq!(in_home("~/a", Platform::Unix, |_| None), Path::new("~/a"));
    }
}
