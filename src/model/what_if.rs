//! What-ifs: named JSON Patches (RFC 6902) on the trip, each index guarded by a `test`.

use json_patch::PatchOperation;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Trip;
use super::check;

/// A change that is kept under a name and can be tried at any time.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WhatIf {
    /// What the user calls it.
    pub name: String,
    /// The operations of RFC 6902, applied in order, all or none.
    #[schemars(with = "Vec<serde_json::Map<String, serde_json::Value>>")]
    pub change: Vec<PatchOperation>,
}

/// Why a what-if could not be applied.
#[derive(Debug, thiserror::Error)]
pub enum WhatIfError {
    /// No what-if has that name.
    #[error("there is no what-if named `{name}`; there are {}", listed(.known))]
    Unknown {
        /// The name that was asked for.
        name: String,
        /// The names that exist.
        known: Vec<String>,
    },
    /// A guard failed or a pointer leads nowhere: the trip has changed since the patch was written.
    #[error("what-if `{name}` no longer fits the trip: {source}")]
    Stale {
        /// The what-if.
        name: String,
        /// What the patch met.
        source: json_patch::PatchError,
    },
    /// The patched trip breaks a rule of the format.
    #[error("what-if `{name}` makes a trip that cannot be planned: {}", listed(.problems))]
    Unsound {
        /// The what-if.
        name: String,
        /// Everything that is wrong with the result.
        problems: Vec<check::Problem>,
    },
}

fn listed<T: ToString>(things: &[T]) -> String {
    if things.is_empty() {
        return "none".to_owned();
    }
    things
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join("; ")
}

impl Trip {
    /// The trip with the what-if of that name applied.
    ///
    /// # Errors
    /// When no what-if has the name, a guard fails, or the result is no sound trip.
    pub fn with_what_if(&self, name: &str) -> Result<Self, WhatIfError> {
        let what_if = self
            .what_ifs()
            .iter()
            .find(|what_if| what_if.name == name)
            .ok_or_else(|| WhatIfError::Unknown {
                name: name.to_owned(),
                known: self
                    .what_ifs()
                    .iter()
                    .map(|what_if| what_if.name.clone())
                    .collect(),
            })?;
        let unsound = |problems| WhatIfError::Unsound {
            name: name.to_owned(),
            problems,
        };
        let mut document = self.to_document();
        json_patch::patch(&mut document, &what_if.change).map_err(|source| WhatIfError::Stale {
            name: name.to_owned(),
            source,
        })?;
        let mut trip = check::read(document).map_err(unsound)?;
        trip.take_track_files_from(self);
        Ok(trip)
    }
}
