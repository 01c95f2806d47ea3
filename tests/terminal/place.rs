//! A folder with a trip in it, and the keys that are pressed there.

use std::fs;
use std::path::{Path, PathBuf};

use drystage::io::json;
use drystage::model::Trip;
use portable_pty::CommandBuilder;
use tempfile::TempDir;

use super::session::{Session, USUAL};

pub const UP: &str = "\u{1b}[A";
pub const DOWN: &str = "\u{1b}[B";
pub const SAVE: &str = "\u{13}";
pub const EMPTY: &str = "\u{15}";
pub const ESC: &str = "\u{1b}";

/// A folder with the example trip in it, and a state folder.
pub struct Place {
    folder: TempDir,
}

impl Place {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/example-trip.json");
        fs::copy(example, folder.path().join("trip.json")).unwrap();
        Self { folder }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn trip(&self, name: &str) -> Trip {
        json::read(&self.path(name)).unwrap()
    }

    pub fn journal(&self) -> String {
        fs::read_to_string(self.path(".trip.json.edits")).unwrap_or_default()
    }

    pub fn start(&self, arguments: &[&str]) -> Session {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
        for argument in arguments {
            command.arg(self.path(argument));
        }
        let state = self.path("state");
        Session::start(
            command,
            USUAL,
            &[
                ("XDG_STATE_HOME", state.to_str().unwrap()),
                ("HOME", self.folder.path().to_str().unwrap()),
            ],
        )
    }

    /// The trip opened, and its first leg made 150.5 km long.
    pub fn edited(&self) -> Session {
        let mut session = self.start(&["trip.json"]);
        session.wait_for_frame("leg 1 of 6");
        lengthen(&mut session, "150,5");
        session
    }
}

/// Types another length for the chosen leg.
pub fn lengthen(session: &mut Session, km: &str) {
    session.send("e");
    session.wait_for_frame("row ");
    for _ in 0..30 {
        session.send(UP);
    }
    session.wait_for_frame("row 1 of");
    session.send(&DOWN.repeat(4));
    session.wait_for_frame("row 5 of");
    session.send(km);
    session.wait_for_frame("trip ");
    session.send("\r");
    session.wait_for_frame("row 6 of");
}
