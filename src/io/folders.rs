//! The user's folders of this program, as the XDG Base Directory Specification 0.8 has them.

use std::ffi::OsString;
use std::path::PathBuf;

const OURS: &str = "drystage";

/// For what the program remembers: recent trips, unsaved edits; nothing where the environment names none.
pub fn state(env: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    folder(env, "XDG_STATE_HOME", ".local/state")
}

/// For what the user prefers.
pub fn config(env: impl Fn(&str) -> Option<OsString>) -> Option<PathBuf> {
    folder(env, "XDG_CONFIG_HOME", ".config")
}

fn folder(env: impl Fn(&str) -> Option<OsString>, name: &str, usual: &str) -> Option<PathBuf> {
    let named = |name| env(name).map(PathBuf::from);
    // A relative one is to be passed over (same specification).
    let stated = named(name).filter(|path| path.is_absolute());
    let folder = stated.or_else(|| Some(named("HOME")?.join(usual)))?;
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
        assert_eq!(both(&[]), (None, None));
    }
}
