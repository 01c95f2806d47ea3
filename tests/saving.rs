//! Files that are written while something goes wrong: a full device, a folder that takes nothing, a kill at any moment.

#![cfg(target_os = "linux")]

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

use assert_cmd::cargo::cargo_bin;

const TRIP: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/example-trip.json");

fn report(units: &str, to: &Path) -> Command {
    let mut command = Command::new(cargo_bin("drystage"));
    command.env_clear().stdin(Stdio::null());
    command.args(["--plain", "report", TRIP, "--format", "html", "--force"]);
    command.args(["--units", units, "-o"]).arg(to);
    command
}

#[test]
fn what_cannot_be_written_is_told_with_its_reason() {
    let nowhere = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml/plan.html");
    for (to, reason) in [
        (Path::new("/dev/full"), "No space left on device"),
        (&nowhere, "Not a directory"),
        (Path::new("/proc/plan.html"), "cannot make a file in /proc"),
    ] {
        let output = report("metric", to).output().unwrap();
        assert_eq!(output.status.code(), Some(2));
        let says = String::from_utf8(output.stderr).unwrap();
        assert!(says.contains(reason), "{says}");
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
