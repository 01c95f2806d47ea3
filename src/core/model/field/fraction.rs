//! Shares: the trip file has fractions of 1, people write per cent. One rule for the trip file, for `--set`, for tables
//! and for the fields of the screen.

use serde_json::Value;

use super::Kind;
use crate::quantity::{Percent, Share};

/// The unit of a share as people write it.
pub const PERCENT: &str = "%";
/// What is beyond these decimals is the noise of binary fractions.
const DECIMALS: f64 = 1e12;

/// A bare number between 0 and 1 where per cent are expected: it may be a fraction.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("may mean {} % or {} %: write {0}% or {1}", .number.get(), as_percent(Share::new(.number.get())).get())]
pub struct TwoReadings {
    /// The number, taken as per cent.
    number: Percent,
}

impl Kind {
    /// Whether the values are fractions of 1, as shares, chances and grades are.
    pub fn is_fraction(&self) -> bool {
        matches!(*self, Self::Number { unit: "", min, max } if min >= 0.0 && max <= 1.0)
    }

    /// What to write instead of per cent where a fraction is expected; empty for any other value.
    pub fn fraction_hint(&self, got: &Value) -> String {
        if !self.is_fraction() {
            return String::new();
        }
        if let Some(fraction) = got.as_str().and_then(percent_text) {
            return format!(" (write {}, without quotes)", fraction.get());
        }
        match got.as_f64() {
            Some(percent) if percent > 1.0 && percent <= 100.0 => {
                let fraction = as_fraction(Percent::new(percent)).get();
                format!(" (for {percent} % write {fraction})")
            }
            _ => String::new(),
        }
    }
}

/// A fraction of 1 as per cent.
pub fn as_percent(fraction: Share) -> Percent {
    Percent::new((fraction.get() * 100.0 * DECIMALS).round() / DECIMALS)
}

/// Per cent as a fraction of 1.
pub fn as_fraction(percent: Percent) -> Share {
    Share::new((percent.get() / 100.0 * DECIMALS).round() / DECIMALS)
}

/// The fraction that a bare number of per cent means.
///
/// # Errors
/// Between 0 and 1 it may have been meant as a fraction.
pub fn of_percent(number: Percent) -> Result<Share, TwoReadings> {
    if number > Percent::ZERO && number < Percent::new(1.0) {
        Err(TwoReadings { number })
    } else {
        Ok(as_fraction(number))
    }
}

/// The fraction that a text such as `35%` or `12,5 %` states; `None` if it is no number with the sign.
pub fn percent_text(text: &str) -> Option<Share> {
    let number = text.trim().strip_suffix(PERCENT)?.trim_end();
    let point = number.replace(',', ".");
    let is_plain = point
        .bytes()
        .all(|byte| byte.is_ascii_digit() || b"+-.".contains(&byte));
    let number: f64 = point.parse().ok().filter(|_| is_plain)?;
    Some(as_fraction(Percent::new(number)))
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn a_bare_number_of_percent_is_refused_where_it_may_be_a_fraction() {
        let of = |number| of_percent(Percent::new(number)).map(Share::get);
        assert_eq!(of(40.0), Ok(0.4));
        assert_eq!(of(0.0), Ok(0.0));
        assert_eq!(of(1.0), Ok(0.01));
        let refused = of(0.4).unwrap_err().to_string();
        assert_eq!(refused, "may mean 0.4 % or 40 %: write 0.4% or 40");
        assert_eq!(as_percent(Share::new(0.07)), Percent::new(7.0));
    }

    #[test]
    fn a_text_with_the_sign_is_per_cent() {
        let of = |text| percent_text(text).map(Share::get);
        assert_eq!(of("35%"), Some(0.35));
        assert_eq!(of(" 12,5 % "), Some(0.125));
        assert_eq!(of("0.4 %"), Some(0.004));
        for wrong in ["35", "%", "1e3%", "1.234,5 %", "inf%"] {
            assert_eq!(of(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn percent_where_a_fraction_is_expected_is_answered_with_the_fraction() {
        let hint = |value| super::super::row::SHARE.fraction_hint(&value);
        assert_eq!(hint(json!(95)), " (for 95 % write 0.95)");
        assert_eq!(hint(json!(1.4)), " (for 1.4 % write 0.014)");
        assert_eq!(hint(json!("35 %")), " (write 0.35, without quotes)");
        for other in [json!(0.5), json!(400), json!("much"), json!(null)] {
            assert_eq!(hint(other), "");
        }
    }
}
