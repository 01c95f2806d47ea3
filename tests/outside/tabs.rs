//! Completion in real shells: a line is typed, Tab is pressed, and what the shell makes of it is read off a terminal.

use std::fs;
use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use assert_cmd::cargo::cargo_bin;
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// How long a shell may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);
/// How long nothing may be written, to count as idle.
const IDLE: Duration = Duration::from_millis(250);
const SIZE: PtySize = PtySize {
    rows: 50,
    cols: 150,
    pixel_width: 0,
    pixel_height: 0,
};
/// What the shell prints when it is ready.
const READY: &str = "ready-to-type";

/// How often a line is typed before what it offers counts as wrong.
const TRIES: usize = 4;

/// A line up to the Tab, and what must then be on the screen, and what must not.
type Case = (
    &'static str,
    &'static [&'static str],
    &'static [&'static str],
);
const CASES: &[Case] = &[
    ("drystage report pla", &["plateau.json"], &[]),
    (
        "drystage report ",
        &["plateau.json", "fills.csv"],
        &["--units", "import"],
    ),
    ("drystage rep", &["report"], &[]),
    ("drystage pla", &["plateau.json"], &[]),
    (
        "drystage ",
        &["report", "completions", "plateau.json"],
        &["TRIP"],
    ),
    (
        "drystage --units ",
        &["metric", "imperial", "km-per-l"],
        &["plateau.json", "report"],
    ),
    ("drystage --units imp", &["imperial"], &[]),
    (
        "drystage plateau.json --units ",
        &["metric", "imperial"],
        &["fills.csv"],
    ),
    ("drystage plateau.json --best", &["--best-estimate"], &[]),
    (
        "drystage report plateau.json --units ",
        &["metric", "imperial"],
        &["fills.csv"],
    ),
    (
        "drystage report --format ",
        &["html", "geojson", "screen"],
        &["plateau.json"],
    ),
    ("drystage report --format=ht", &["--format=html"], &[]),
    ("drystage --units us report pla", &["plateau.json"], &[]),
    ("drystage report --what", &["--what-if"], &[]),
    (
        "drystage schema ",
        &["trip", "compare", "calibration"],
        &["plateau.json"],
    ),
    ("drystage schema comp", &["compare"], &["completions"]),
    (
        "drystage man ",
        &["report", "calibrate", "schema"],
        &["plateau.json", "--force"],
    ),
    ("drystage man cali", &["calibrate"], &[]),
    (
        "drystage manual ",
        &["keys", "trip-file", "method"],
        &["plateau.json"],
    ),
    (
        "drystage completions ",
        &["bash", "fish", "zsh"],
        &["plateau.json"],
    ),
    ("drystage help ", &["report", "arrive"], &["plateau.json"]),
    ("drystage calibrate plateau.json fi", &["fills.csv"], &[]),
    ("drystage import plateau.json fi", &["fills.csv"], &[]),
    (
        "drystage import fills.csv --into pla",
        &["plateau.json"],
        &[],
    ),
    (
        "drystage arrive plateau.json --how ",
        &["brim", "gauge"],
        &["fills.csv"],
    ),
    (
        "drystage report plateau.json -o pla",
        &["plateau.json"],
        &[],
    ),
];

/// A shell in a terminal, in a folder with a trip and a fill-up log.
struct Shell {
    /// Kept open as long as the shell runs.
    _master: Box<dyn MasterPty + Send>,
    child: Box<dyn Child + Send + Sync>,
    keys: Box<dyn Write + Send>,
    shown: Arc<Mutex<(vt100::Parser, Instant)>>,
}

impl Shell {
    fn start(program: &str, arguments: &[&str], folder: &Path) -> Self {
        let pty = native_pty_system().openpty(SIZE).unwrap();
        let mut command = CommandBuilder::new(program);
        command.args(arguments);
        command.cwd(folder.join("here"));
        command.env_clear();
        let path = std::env::var("PATH").unwrap_or_default();
        for (name, value) in [
            ("PATH", path.as_str()),
            ("TERM", "xterm"),
            ("LANG", "C.UTF-8"),
            ("HOME", folder.to_str().unwrap()),
        ] {
            command.env(name, value);
        }
        let child = pty.slave.spawn_command(command).unwrap();
        let [rows, columns] = [SIZE.rows, SIZE.cols].map(|side| NonZero::new(side).unwrap());
        let parser = vt100::Parser::new(rows, columns, 0);
        let shown = Arc::new(Mutex::new((parser, Instant::now())));
        let mut reader = pty.master.try_clone_reader().unwrap();
        let written = Arc::clone(&shown);
        thread::spawn(move || {
            let mut block = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut block) {
                let mut shown = written.lock().unwrap();
                shown.0.process(&block[..count]);
                shown.1 = Instant::now();
            }
        });
        let keys = pty.master.take_writer().unwrap();
        Self {
            _master: pty.master,
            child,
            keys,
            shown,
        }
    }

    fn type_in(&mut self, keys: &str) {
        self.shown.lock().unwrap().1 = Instant::now();
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    fn text(&self) -> String {
        self.shown.lock().unwrap().0.screen().contents()
    }

    /// What is shown once it contains all of these texts and nothing more comes.
    fn wait_for(&self, texts: &[&str]) -> Result<String, String> {
        let until = Instant::now() + PATIENCE;
        loop {
            let text = self.text();
            let is_idle = self.shown.lock().unwrap().1.elapsed() > IDLE;
            if is_idle && texts.iter().all(|sought| text.contains(sought)) {
                return Ok(text);
            }
            let waited = self.shown.lock().unwrap().1.elapsed();
            // Who has written nothing for so long is done.
            if Instant::now() > until || waited > PATIENCE / 6 {
                return Err(text);
            }
            thread::sleep(Duration::from_millis(20));
        }
    }
}

impl Drop for Shell {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn tabs_in(shell: &str, arguments: &[&str], begin: &str) {
    let script = Command::new(cargo_bin("drystage"))
        .env_clear()
        .args(["completions", shell])
        .output()
        .unwrap();
    assert!(script.status.success());
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("script"), script.stdout).unwrap();
    let here = folder.path().join("here");
    fs::create_dir(&here).unwrap();
    for name in ["plateau.json", "fills.csv"] {
        fs::write(here.join(name), "").unwrap();
    }
    let mut shell = Shell::start(shell, arguments, folder.path());
    // Printed in two parts, so that the typed line does not look like it.
    let begin = format!("{begin}; echo ready-to''-type\n");
    shell.type_in(&begin);
    shell.wait_for(&[READY]).unwrap();
    let mut wrong = Vec::new();
    for case in CASES {
        // A shell on a busy machine may take one line for a part of the next; what is wrong stays wrong.
        let tries = (0..TRIES).map(|_| tab(&mut shell, case));
        let failed: Vec<String> = tries.map_while(Result::err).collect();
        if failed.len() == TRIES {
            wrong.extend(failed.into_iter().next_back());
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

/// Types a line and Tab; what is wrong with what is then on the screen.
fn tab(shell: &mut Shell, (line, offered, others): &Case) -> Result<(), String> {
    // An empty line and an empty screen.
    for key in ["\u{3}", "\u{c}"] {
        shell.type_in(key);
        let _ = shell.wait_for(&["$"]);
    }
    shell.type_in(line);
    let _ = shell.wait_for(&[line.trim_end()]);
    shell.type_in("\t");
    let _ = shell.wait_for(&[]);
    shell.type_in("\t");
    let text = shell
        .wait_for(offered)
        .map_err(|text| format!("{line}<Tab> does not offer {offered:?}:\n{text}"))?;
    let shown = text.replacen(line, "", 1);
    let extra: Vec<_> = others
        .iter()
        .filter(|other| shown.contains(**other))
        .collect();
    if extra.is_empty() {
        Ok(())
    } else {
        Err(format!("{line}<Tab> offers {extra:?}:\n{text}"))
    }
}

#[test]
fn tabs_in_bash() {
    let begin =
        "PS1='$ '; bind 'set bell-style none'; bind 'set page-completions off'; source ~/script";
    tabs_in("bash", &["--norc", "--noprofile", "-i"], begin);
}

#[test]
fn tabs_in_zsh() {
    let begin = "PS1='$ '; autoload -U compinit; compinit -u -D; source ~/script";
    tabs_in("zsh", &["-f", "-i"], begin);
}

#[test]
fn tabs_in_fish() {
    let begin = "function fish_prompt; echo '$ '; end; set fish_greeting; set fish_autosuggestion_enabled 0; source ~/script";
    tabs_in("fish", &["--no-config", "-i"], begin);
}
