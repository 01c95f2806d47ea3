//! The program as its caller meets it: arguments in, exit status and streams out.

use std::path::Path;
use std::process::{Command, Output, Stdio};

use assert_cmd::cargo::cargo_bin;
use serde_json::Value;

/// The program in an environment of its own.
pub fn drystage() -> Command {
    let mut command = Command::new(cargo_bin("drystage"));
    command.env_clear().stdin(Stdio::null());
    command
}

/// A run in `folder` with the arguments of a line as typed in a shell: what is between single quotes is one of them.
pub fn run_line(folder: &Path, line: &str) -> Output {
    let mut command = drystage();
    command.current_dir(folder);
    for (number, part) in line.split('\'').enumerate() {
        if number % 2 == 1 {
            command.arg(part);
        } else {
            command.args(part.split_whitespace());
        }
    }
    command.output().unwrap()
}

/// What a run printed, which has to end well.
#[track_caller]
pub fn done(output: Output) -> String {
    assert!(output.status.success(), "{output:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// The message of a run, which has to be refused.
#[track_caller]
pub fn refused(output: Output) -> String {
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    String::from_utf8(output.stderr).unwrap()
}

/// Fails if one of `parts` is missing in `text`.
#[track_caller]
pub fn assert_parts(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "{part}: {text}");
    }
}

pub fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

/// Text without its line ends, since it is wrapped.
pub fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The path of a file of this package.
pub fn root(path: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    path.to_str().unwrap().to_owned()
}
