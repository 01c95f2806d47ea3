//! What the user prefers and where it is kept: the file, the folders, what comes before what.

use std::fs;
use std::path::Path;
use std::process::Output;

use serde_json::{Value, json};

use super::program::{assert_parts, done, drystage, parsed, refused};

const TRIP: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/sample-routes/forest-weekend.json"
);

fn run(arguments: &[&str], env: &[(&str, &str)]) -> Output {
    let mut command = drystage();
    command.envs(env.iter().copied()).arg("--best-estimate");
    command.args(arguments).output().unwrap()
}

/// Writes preferences into a folder as the environment names it.
fn prefer(folder: &Path, text: &str) {
    let ours = folder.join("drystage");
    fs::create_dir_all(&ours).unwrap();
    fs::write(ours.join("config.json"), text).unwrap();
}

#[test]
fn broken_preferences_stop_nothing_that_they_do_not_change() {
    let folder = tempfile::tempdir().unwrap();
    prefer(folder.path(), "{ broken");
    let env = [("XDG_CONFIG_HOME", folder.path().to_str().unwrap())];
    for arguments in [
        &["completions", "bash"] as &[&str],
        &["man"],
        &["man", "report"],
        &["manual", "keys"],
        &["schema"],
        &["paths"],
    ] {
        assert!(!done(run(arguments, &env)).is_empty(), "{arguments:?}");
    }
    assert!(refused(run(&["report", TRIP], &env)).contains("config.json"));
}

#[test]
fn paths_follow_the_environment() {
    let paths = |env: &[(&str, &str)]| parsed(&done(run(&["paths", "--format", "json"], env)));
    let usual = json!({
        "drystage_paths": 1,
        "config": "/h/.config/drystage/config.json",
        "state": "/h/.local/state/drystage",
        "recent": "/h/.local/state/drystage/recent",
        "answers": "/h/.local/state/drystage/new-trip.answers",
        "vehicles": "/h/.config/drystage/vehicles"
    });
    assert_eq!(paths(&[("HOME", "/h")]), usual);
    let relative = [
        ("HOME", "/h"),
        ("XDG_CONFIG_HOME", "c"),
        ("XDG_STATE_HOME", "s"),
    ];
    assert_eq!(paths(&relative), usual, "relative ones are passed over");
    let stated = [
        ("HOME", "/h"),
        ("XDG_CONFIG_HOME", "/c"),
        ("XDG_STATE_HOME", "/s"),
    ];
    assert_eq!(
        paths(&stated),
        json!({
            "drystage_paths": 1, "config": "/c/drystage/config.json", "state": "/s/drystage",
            "recent": "/s/drystage/recent", "answers": "/s/drystage/new-trip.answers",
            "vehicles": "/c/drystage/vehicles"
        })
    );
    assert_eq!(paths(&[])["state"], Value::Null);
    let named = ["paths", "--config", "mine.json"];
    let text = done(run(&named, &[("HOME", "/h")]));
    assert!(text.starts_with("preferences    mine.json\n"), "{text}");
}

/// The call comes before what the trip states, that before what is preferred.
#[test]
fn preferences_fill_in_what_is_not_said() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().to_str().unwrap();
    let env = [("XDG_CONFIG_HOME", home)];
    let way = |arguments: &[&str]| -> String {
        let text = done(run(&[&["report", TRIP], arguments].concat(), &env));
        let trip_and_fuel = text
            .lines()
            .skip_while(|line| !line.contains(" in 2 days"))
            .take(2);
        trip_and_fuel.collect::<Vec<_>>().join("\n")
    };
    let metric = way(&[]);
    prefer(folder.path(), r#"{ "units": "us" }"#);
    assert!(metric.contains("km in 2 days") && way(&[]).contains("mi in 2 days"));
    assert!(way(&["--units", "metric"]).contains("km in 2 days"));
    assert!(way(&["--set", "/rules/units=km-per-l"]).contains("km/L"));
    let other = folder.path().join("other.json");
    fs::write(&other, "{}").unwrap();
    assert_eq!(way(&["--config", other.to_str().unwrap()]), metric);
}

#[test]
fn what_is_wrong_with_preferences_is_reported_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().to_str().unwrap();
    let env = [("XDG_CONFIG_HOME", home)];
    for (text, parts) in [
        (
            "{\n  \"colour\": \"never\"\n}",
            &["config.json", "`colour`", "`color`", "line 2"][..],
        ),
        (r#"{ "units": "miles" }"#, &["`miles`", "`imperial`"]),
        ("{", &["line 1"]),
    ] {
        prefer(folder.path(), text);
        assert_parts(&refused(run(&["report", TRIP], &env)), parts);
        done(run(&["paths"], &env));
    }
    let missing = ["report", TRIP, "--config", "no-such-file.json"];
    assert!(refused(run(&missing, &[])).contains("no-such-file.json"));
}

/// Preferences that nobody named need not be there to be read: the plan is made without them, and what is odd is
/// reported.
#[test]
fn preferences_that_cannot_be_read_stop_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().to_str().unwrap();
    let warnings = |env: &[(&str, &str)]| {
        let output = run(&["check", TRIP], env);
        assert!(output.status.code() < Some(2), "{output:?}");
        String::from_utf8(output.stderr).unwrap()
    };
    assert_eq!(warnings(&[("HOME", "/dev/null")]), "");
    fs::create_dir_all(folder.path().join("drystage/config.json")).unwrap();
    let message = warnings(&[("XDG_CONFIG_HOME", home)]);
    assert!(
        message.ends_with("; preferences are ignored\n") && message.contains("not a file"),
        "{message}"
    );
    let named = refused(run(&["check", TRIP, "--config", home], &[]));
    assert!(named.contains("not a file"), "{named}");
}

#[cfg(unix)]
#[test]
fn a_pipe_in_the_place_of_preferences_or_recent_trips_keeps_nobody_waiting() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().to_str().unwrap();
    let ours = folder.path().join("drystage");
    fs::create_dir(&ours).unwrap();
    for name in ["config.json", "recent"] {
        let mut mkfifo = std::process::Command::new("mkfifo");
        assert!(mkfifo.arg(ours.join(name)).status().unwrap().success());
    }
    let env = [("XDG_CONFIG_HOME", home), ("XDG_STATE_HOME", home)];
    let output = run(&["check", TRIP], &env);
    assert!(output.status.code() < Some(2), "{output:?}");
    let pipe = ours.join("config.json");
    let named = ["check", TRIP, "--config", pipe.to_str().unwrap()];
    assert!(refused(run(&named, &[])).contains("not a file"));
}

#[test]
fn a_byte_order_mark_before_preferences_is_passed_over() {
    let folder = tempfile::tempdir().unwrap();
    prefer(folder.path(), "\u{feff}{ \"units\": \"us\" }");
    let env = [("XDG_CONFIG_HOME", folder.path().to_str().unwrap())];
    assert!(done(run(&["report", TRIP], &env)).contains("mi in 2 days"));
}

#[cfg(unix)]
#[test]
fn a_home_that_is_no_unicode_is_reported_as_well_as_can_be() {
    use std::os::unix::ffi::OsStrExt;
    let home = std::ffi::OsStr::from_bytes(b"/h\xff");
    for form in ["json", "text"] {
        let mut command = drystage();
        command.env("HOME", home).args(["paths", "--format", form]);
        let text = done(command.output().unwrap());
        assert!(text.contains("/h\u{fffd}/.config/drystage"), "{text}");
    }
}
