//! The program itself while something goes wrong: a full device, a folder that takes nothing, a kill at any moment.

use std::fs;
use std::io::Write;
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::thread;
use std::time::Duration;

use assert_cmd::cargo::cargo_bin;

const TRIP: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/example-trip.json");

fn report(units: &str, to: &Path) -> Command {
    let mut command = Command::new(cargo_bin("drystage"));
    command.env_clear().stdin(Stdio::null());
    command.args([
        "--best-estimate",
        "report",
        TRIP,
        "--format",
        "html",
        "--force",
    ]);
    command.args(["--units", units, "-o"]).arg(to);
    command
}

#[test]
fn what_cannot_be_written_is_reported_with_its_reason() {
    let nowhere = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml/plan.html");
    for (to, reason) in [
        (Path::new("/dev/full"), "the disk is full"),
        (&nowhere, "a part of the path is not a folder"),
        (
            Path::new("/proc/plan.html"),
            "cannot create a file in /proc: ",
        ),
    ] {
        let output = report("metric", to).output().unwrap();
        assert_eq!(output.status.code(), Some(2));
        let message = String::from_utf8(output.stderr).unwrap();
        assert!(message.contains(reason), "{message}");
        assert!(output.stdout.is_empty());
    }
}

/// Killed at whatever moment, the program leaves the old file or the new one, never a part.
#[test]
fn a_kill_leaves_the_old_file_or_the_new_one() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("plan.html");
    let whole = |units: &str| {
        assert!(report(units, &file).status().unwrap().success());
        fs::read(&file).unwrap()
    };
    let [metric, us] = ["metric", "us"].map(whole);
    assert_ne!(metric, us);
    for moment in 0..40 {
        let units = if moment % 2 == 0 { "metric" } else { "us" };
        let mut child = report(units, &file).spawn().unwrap();
        thread::sleep(Duration::from_millis(3 * moment));
        let _ = child.kill();
        child.wait().unwrap();
        let now = fs::read(&file).unwrap();
        assert!(
            now == metric || now == us,
            "after {moment}: {} bytes",
            now.len()
        );
    }
}

/// A file that may not grow any further is an error like a full disk, and not the end of the program (setrlimit(2)).
#[test]
fn a_limit_of_size_is_reported_and_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("plan.html");
    let mut command = Command::new("sh");
    command.env_clear().stdin(Stdio::null());
    command.args(["-c", "ulimit -f 4; exec \"$0\" \"$@\""]);
    command.arg(cargo_bin("drystage"));
    command.args(["--best-estimate", "report", TRIP, "--format", "html", "-o"]);
    let output = command.arg(&file).output().unwrap();
    let message = String::from_utf8(output.stderr).unwrap();
    assert!(
        message.ends_with("plan.html: the file would be too large\n"),
        "{message}"
    );
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
}

/// Calls that answer on stdout, with files of their own in a folder.
fn calls(folder: &Path) -> Vec<Vec<String>> {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-routes");
    for name in [
        "plateau-loop.json",
        "plateau-loop-pass.gpx",
        "plateau-loop-fills.csv",
        "plateau-loop.gpx",
    ] {
        fs::copy(samples.join(name), folder.join(name)).unwrap();
    }
    fs::copy(TRIP, folder.join("trip.json")).unwrap();
    [
        "trip.json",
        "report trip.json",
        "report trip.json --format json",
        "report trip.json --format html",
        "report trip.json --format csv",
        "report trip.json --format gpx",
        "report trip.json --format geojson",
        "report trip.json --show-work 2",
        "check trip.json",
        "check trip.json --format json",
        "import plateau-loop.gpx",
        "import plateau-loop.gpx -o -",
        "calibrate plateau-loop.json plateau-loop-fills.csv",
        "arrive trip.json 0 --odometer 48064 --left 50 --cans 20",
        "new -o -",
        "schema",
        "completions bash",
        "man",
        "paths",
        "help",
        "--help",
        "--version",
    ]
    .map(|call| call.split(' ').map(str::to_owned).collect())
    .into()
}

/// A call run in a shell that does something with its streams.
fn in_shell(script: &str, call: &[String], folder: &Path) -> Output {
    let mut command = Command::new("sh");
    command.env_clear().env("PATH", "/usr/bin:/bin");
    command.current_dir(folder);
    command.args(["-c", script]);
    command
        .arg(cargo_bin("drystage"))
        .arg("--best-estimate")
        .args(call);
    command.output().unwrap()
}

#[test]
fn streams_that_are_closed_or_full_are_no_surprise_to_any_command() {
    let folder = tempfile::tempdir().unwrap();
    for call in calls(folder.path()) {
        let described = |output: &Output| {
            let [out, err] =
                [&output.stdout, &output.stderr].map(|text| String::from_utf8_lossy(text));
            format!("{call:?}: {:?} {out:.300} {err:.300}", output.status)
        };
        let run = |script: &str| {
            fs::copy(TRIP, folder.path().join("trip.json")).unwrap();
            in_shell(script, &call, folder.path())
        };
        // What must be known beside the answer.
        let notes = run("exec \"$0\" \"$@\"").stderr;
        // A reader who takes one line, or nothing at all, is no failure.
        for reader in ["head -1", "true"] {
            let script = format!("{{ \"$0\" \"$@\"; echo \"ends with $?\" >&2; }} | {reader}");
            let output = run(&script);
            let expected = [&*notes, b"ends with 0\n"].concat();
            assert_eq!(output.stderr, expected, "{}", described(&output));
        }
        // Nobody there to answer or to ask.
        for (script, notes) in [
            ("exec \"$0\" \"$@\" >&-", &*notes),
            ("exec \"$0\" \"$@\" <&- >&- 2>&-", b""),
        ] {
            let output = run(script);
            assert_eq!(output.status.code(), Some(0), "{}", described(&output));
            assert_eq!(output.stderr, notes, "{}", described(&output));
        }
        // No room for the answer.
        let output = run("exec \"$0\" \"$@\" >/dev/full");
        assert_eq!(output.status.code(), Some(2), "{}", described(&output));
        let reason = b"error: standard output: the disk is full\n";
        assert!(output.stderr.ends_with(reason), "{}", described(&output));
    }
}

#[test]
fn a_trip_from_a_closed_stdin_is_none() {
    let folder = tempfile::tempdir().unwrap();
    let call = ["report", "-"].map(str::to_owned);
    let output = in_shell("exec \"$0\" \"$@\" <&-", &call, folder.path());
    assert_eq!(output.status.code(), Some(2));
    let message = String::from_utf8(output.stderr).unwrap();
    assert!(
        message.contains("error: standard input, line 1, column 1: the file is empty"),
        "{message}"
    );
}

/// What is read, changed and written again is not written over what somebody else put there meanwhile.
#[test]
fn a_trip_that_somebody_else_changes_meanwhile_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    calls(folder.path());
    let path = folder.path().join("plateau-loop.json");
    let log = fs::read(folder.path().join("plateau-loop-fills.csv")).unwrap();
    let theirs = fs::read_to_string(&path)
        .unwrap()
        .replace("invented", "made up");
    for is_changed in [true, false] {
        let mut child = Command::new(cargo_bin("drystage"))
            .env_clear()
            .args(["--best-estimate", "calibrate", "--save"])
            .arg(&path)
            .arg("-")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut stdin = child.stdin.take().unwrap();
        stdin.write_all(&log).unwrap();
        // More than a pipe holds: once it is taken, the trip has been read before it.
        stdin.write_all(&vec![b'\n'; 1 << 20]).unwrap();
        if is_changed {
            fs::write(&path, &theirs).unwrap();
        }
        drop(stdin);
        let output = child.wait_with_output().unwrap();
        let message = String::from_utf8(output.stderr).unwrap();
        let now = fs::read_to_string(&path).unwrap();
        assert_eq!(
            output.status.code(),
            Some(if is_changed { 2 } else { 0 }),
            "{message}"
        );
        assert_eq!(now == theirs, is_changed);
        let conflict = "plateau-loop.json has changed on disk since it was read; nothing was written. Run the command again\n";
        assert_eq!(message.ends_with(conflict), is_changed, "{message}");
    }
}

/// A signal at whatever moment ends a command with nothing half written.
#[test]
fn signals_end_a_command_as_they_do_any_other() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("plan.html");
    for (signal, number) in [("TERM", 15), ("INT", 2), ("HUP", 1)] {
        // Waits for its trip.
        let mut child = Command::new(cargo_bin("drystage"))
            .env_clear()
            .args(["report", "-", "--format", "html", "-o"])
            .arg(&file)
            .stdin(Stdio::piped())
            .spawn()
            .unwrap();
        let kill = format!("kill -s {signal} {}", child.id());
        assert!(
            Command::new("sh")
                .args(["-c", &kill])
                .status()
                .unwrap()
                .success()
        );
        assert_eq!(child.wait().unwrap().signal(), Some(number));
        assert!(!file.exists());
    }
}
