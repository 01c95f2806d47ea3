//! Input and output by name, `-` for the standard streams.

use std::io::{self, ErrorKind, Read, Write};
use std::path::Path;

use anyhow::Context;

use super::failure::{Failure, shown_path};
use crate::model::{Trip, check};

/// The trip in a file.
pub fn read_trip(path: &Path) -> Result<Trip, Failure> {
    let name = shown_path(path);
    let mut text = String::new();
    if path.as_os_str() == "-" {
        io::stdin().lock().read_to_string(&mut text)
    } else {
        std::fs::File::open(path).and_then(|mut file| file.read_to_string(&mut text))
    }
    .with_context(|| format!("cannot read {name}"))?;
    let document = serde_json::from_str(&text).map_err(|error| Failure::Unusable {
        file: name.clone(),
        problems: vec![check::Problem {
            at: String::new(),
            says: error.to_string(),
        }],
    })?;
    check::read(document).map_err(|problems| Failure::Unusable {
        file: name,
        problems,
    })
}

/// Writes a whole text; nothing that exists is overwritten unless `force`.
pub fn write(path: &Path, text: &str, force: bool) -> Result<(), Failure> {
    if path.as_os_str() == "-" {
        let mut out = io::stdout().lock();
        return match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
            Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(anyhow::Error::new(error)
                .context("cannot write to stdout")
                .into()),
            _ => Ok(()),
        };
    }
    let _ = force;
    std::fs::write(path, text)
        .with_context(|| format!("cannot write {}", shown_path(path)))
        .map_err(Failure::from)
}
