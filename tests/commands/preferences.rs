//! What the user prefers and where it is kept: the file, the folders, what comes before what.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use assert_cmd::cargo::cargo_bin;
use serde_json::{Value, json};

const TRIP: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/sample-routes/forest-weekend.json"
);

fn run(arguments: &[&str], env: &[(&str, &str)]) -> Output {
    let mut command = Command::new(cargo_bin("drystage"));
    command.env_clear().envs(env.iter().copied());
    command
        .arg("--best-estimate")
        .args(arguments)
        .output()
        .unwrap()
}

fn out(output: &Output) -> &str {
    assert!(output.status.success(), "{output:?}");
    std::str::from_utf8(&output.stdout).unwrap()
}

fn err(output: &Output) -> &str {
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    std::str::from_utf8(&output.stderr).unwrap()
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
        assert!(!out(&run(arguments, &env)).is_empty(), "{arguments:?}");
    }
    assert!(err(&run(&["report", TRIP], &env)).contains("config.json"));
}

#[test]
fn paths_follow_the_environment() {
    let paths = |env: &[(&str, &str)]| -> Value {
        let output = run(&["paths", "--format", "json"], env);
        serde_json::from_str(out(&output)).unwrap()
    };
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
    let text = run(&["paths", "--config", "mine.json"], &[("HOME", "/h")]);
    assert!(
        out(&text).starts_with("preferences    mine.json\n"),
        "{}",
        out(&text)
    );
}

/// The call comes before what the trip states, that before what is preferred.
#[test]
fn preferences_fill_in_what_is_not_said() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().to_str().unwrap();
    let env = [("XDG_CONFIG_HOME", home)];
    let way = |arguments: &[&str]| -> String {
        let output = run(&[&["report", TRIP], arguments].concat(), &env);
        let lines = out(&output).lines();
        let trip_and_fuel = lines
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
        let output = run(&["report", TRIP], &env);
        for part in parts {
            assert!(err(&output).contains(part), "{part}: {}", err(&output));
        }
        out(&run(&["paths"], &env));
    }
    let missing = run(&["report", TRIP, "--config", "no-such-file.json"], &[]);
    assert!(
        err(&missing).contains("no-such-file.json"),
        "{}",
        err(&missing)
    );
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
    let named = run(&["check", TRIP, "--config", home], &[]);
    assert!(err(&named).contains("not a file"), "{named:?}");
}

#[cfg(unix)]
#[test]
fn a_pipe_in_the_place_of_preferences_or_recent_trips_keeps_nobody_waiting() {
    let folder = tempfile::tempdir().unwrap();
    let home = folder.path().to_str().unwrap();
    let ours = folder.path().join("drystage");
    fs::create_dir(&ours).unwrap();
    for name in ["config.json", "recent"] {
        let made = Command::new("mkfifo")
            .arg(ours.join(name))
            .status()
            .unwrap();
        assert!(made.success());
    }
    let env = [("XDG_CONFIG_HOME", home), ("XDG_STATE_HOME", home)];
    let output = run(&["check", TRIP], &env);
    assert!(output.status.code() < Some(2), "{output:?}");
    let pipe = ours.join("config.json");
    let named = run(&["check", TRIP, "--config", pipe.to_str().unwrap()], &[]);
    assert!(err(&named).contains("not a file"), "{named:?}");
}

#[test]
fn a_byte_order_mark_before_preferences_is_passed_over() {
    let folder = tempfile::tempdir().unwrap();
    prefer(folder.path(), "\u{feff}{ \"units\": \"us\" }");
    let env = [("XDG_CONFIG_HOME", folder.path().to_str().unwrap())];
    let output = run(&["report", TRIP], &env);
    assert!(out(&output).contains("mi in 2 days"));
}

#[cfg(unix)]
#[test]
fn a_home_that_is_no_unicode_is_reported_as_well_as_can_be() {
    use std::os::unix::ffi::OsStrExt;
    let home = std::ffi::OsStr::from_bytes(b"/h\xff");
    for form in ["json", "text"] {
        let mut command = Command::new(cargo_bin("drystage"));
        command.env_clear().env("HOME", home);
        let output = command.args(["paths", "--format", form]).output().unwrap();
        let text = out(&output);
        assert!(text.contains("/h\u{fffd}/.config/drystage"), "{text}");
    }
}
