//! Why a leg costs what it costs.

use crate::consumption::causes::CauseShare;

/// Why a leg costs what it costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Attribution {
    /// Each cause with its factor over base (`None` on a leg of no length) and the litres of the leg without it.
    pub causes: Vec<CauseShare>,
}
