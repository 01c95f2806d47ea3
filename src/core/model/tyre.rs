//! Tyre sizes: what is moulded on a tyre, and its diameter.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::Millimetres;

/// A tyre size as it is moulded on the tyre, `215/75R15`; `205R16` means an aspect ratio of 80.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(try_from = "String", into = "String")]
#[schemars(with = "String", inline)]
pub struct TyreSize {
    text: String,
    width_mm: u16,
    aspect_percent: u8,
    rim_in: u8,
}

/// Why a text is no tyre size.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("must be a tyre size such as 215/75R15, got `{0}`")]
pub struct TyreSizeError(String);

impl TyreSize {
    /// Reads a size such as `215/75R15` or `205R16`.
    ///
    /// # Errors
    /// When the text has another form, or width, aspect or rim are outside what tyres have
    /// (100 to 400 mm, 25 to 100 %, 10 to 24 inches).
    pub(crate) fn parse(text: &str) -> Result<Self, TyreSizeError> {
        let size = (|| {
            let (section, rim) = text.split_once(['R', '-'])?;
            let (width, aspect) = section.split_once('/').unwrap_or((section, "80"));
            let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
            if width.len() != 3 || ![width, aspect, rim].into_iter().all(digits) {
                return None;
            }
            let size = Self {
                text: text.to_owned(),
                width_mm: width.parse().ok()?,
                aspect_percent: aspect.parse().ok()?,
                rim_in: rim.parse().ok()?,
            };
            let sane = (100..=400).contains(&size.width_mm)
                && (25..=100).contains(&size.aspect_percent)
                && (10..=24).contains(&size.rim_in);
            sane.then_some(size)
        })();
        size.ok_or_else(|| TyreSizeError(text.to_owned()))
    }

    /// Outer diameter of the unloaded tyre: rim plus twice the height of the section.
    pub(crate) fn diameter(&self) -> Millimetres {
        let section = f64::from(self.width_mm) * f64::from(self.aspect_percent) / 100.0;
        Millimetres::new(25.4 * f64::from(self.rim_in) + 2.0 * section)
    }
}

impl TryFrom<String> for TyreSize {
    type Error = TyreSizeError;
    fn try_from(text: String) -> Result<Self, TyreSizeError> {
        Self::parse(&text)
    }
}

impl From<TyreSize> for String {
    fn from(size: TyreSize) -> Self {
        size.text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Arithmetic of the size mark: 25.4 · rim + 2 · width · aspect / 100; sizes without an aspect mean 80.
    #[test]
    fn tyre_sizes_give_their_diameter() {
        let diameter = |text| {
            let size = TyreSize::parse(text).unwrap();
            format!("{:.1}", size.diameter().get())
        };
        assert_eq!(diameter("205/70R15"), "668.0");
        assert_eq!(diameter("215/75R15"), "703.5");
        assert_eq!(diameter("245/35R17"), "603.3");
        assert_eq!(diameter("205R16"), diameter("205/80R16"));
    }

    #[test]
    fn texts_that_are_no_tyre_size_are_refused() {
        for text in [
            "",
            "R",
            "215/75",
            "215/75R",
            "999/75R15",
            "215/75R15 ",
            "-1/75R15",
            "+21/75R15",
            "0215/75R15",
            "215/75R99",
        ] {
            assert!(TyreSize::parse(text).is_err(), "{text}");
        }
    }
}
