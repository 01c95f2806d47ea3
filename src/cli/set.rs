//! `--set POINTER=VALUE`: single values changed before planning.

use serde_json::Value;

use super::args::Setting;
use super::failure::Failure;
use crate::model::{Trip, check};

/// The trip with every setting applied, in order.
///
/// A setting replaces what stands at its pointer, or adds an optional key to an object that is
/// there; `-` at the end of a list adds to it.
pub fn with_settings(trip: Trip, settings: &[Setting]) -> Result<Trip, Failure> {
    if settings.is_empty() {
        return Ok(trip);
    }
    let mut document = trip.to_document();
    for setting in settings {
        place(&mut document, setting).map_err(Failure::Wrong)?;
    }
    let mut changed = check::read(document).map_err(|problems| Failure::Unusable {
        file: "the trip with --set".to_owned(),
        problems,
    })?;
    changed.take_track_files_from(&trip);
    Ok(changed)
}

fn place(document: &mut Value, setting: &Setting) -> Result<(), String> {
    let Setting { pointer, value } = setting;
    let (parent, key) = pointer
        .rsplit_once('/')
        .ok_or_else(|| format!("--set {pointer}: pointer must begin with /"))?;
    // RFC 6901: `~1` stands for `/` and `~0` for `~`.
    let key = key.replace("~1", "/").replace("~0", "~");
    match document.pointer_mut(parent) {
        Some(Value::Object(object)) => {
            object.insert(key, value.clone());
            Ok(())
        }
        Some(Value::Array(list)) if key == "-" => {
            list.push(value.clone());
            Ok(())
        }
        Some(Value::Array(list)) => {
            let length = list.len();
            let item = key.parse().ok().and_then(|n: usize| list.get_mut(n));
            *item.ok_or_else(|| {
                format!(
                    "--set {pointer}: {parent} has items 0 to {}, got {key}",
                    length.saturating_sub(1)
                )
            })? = value.clone();
            Ok(())
        }
        _ => Err(format!(
            "--set {pointer}: the trip has no object or list at {}",
            if parent.is_empty() { "/" } else { parent }
        )),
    }
}
