//! Shares: the trip file has fractions of 1, people write per cent. One rule for the trip file, for `--set`, for tables and
//! for the fields of the screen.

use super::Kind;

/// The unit of a share as people write it.
pub(crate) const PERCENT: &str = "%";
/// What lies beyond these decimals is the noise of binary fractions.
const DECIMALS: f64 = 1e12;

/// A bare number between 0 and 1 where per cent are expected: it may be a fraction.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("may mean {number} % or {percent} %: write {number}% or {percent}", percent = as_percent(*.number))]
pub(crate) struct TwoReadings {
    /// The number.
    number: f64,
}

impl Kind {
    /// Whether the values are fractions of 1, as shares, chances and grades are.
    pub(crate) fn is_fraction(&self) -> bool {
        matches!(*self, Self::Number { unit: "", min, max } if min >= 0.0 && max <= 1.0)
    }

    /// What to write instead of a number, if it is per cent where a fraction is expected; empty if it is not.
    pub(crate) fn fraction_hint(&self, got: f64) -> String {
        if self.is_fraction() && got > 1.0 && got <= 100.0 {
            format!(" (for {got} % write {})", as_fraction(got))
        } else {
            String::new()
        }
    }
}

/// A fraction of 1 as per cent.
pub(crate) fn as_percent(fraction: f64) -> f64 {
    (fraction * 100.0 * DECIMALS).round() / DECIMALS
}

/// Per cent as a fraction of 1.
pub(crate) fn as_fraction(percent: f64) -> f64 {
    (percent / 100.0 * DECIMALS).round() / DECIMALS
}

/// The fraction that a bare number of per cent means.
///
/// # Errors
/// Between 0 and 1 it may have been meant as a fraction.
pub(crate) fn of_percent(number: f64) -> Result<f64, TwoReadings> {
    if number > 0.0 && number < 1.0 {
        Err(TwoReadings { number })
    } else {
        Ok(as_fraction(number))
    }
}

/// The fraction that a text such as `35%` or `12,5 %` states; `None` if it is no number with the sign.
pub(crate) fn percent_text(text: &str) -> Option<f64> {
    let number = text.trim().strip_suffix(PERCENT)?.trim_end();
    let point = number.replace(',', ".");
    let is_plain = point
        .bytes()
        .all(|byte| byte.is_ascii_digit() || b"+-.".contains(&byte));
    let number: f64 = point.parse().ok().filter(|_| is_plain)?;
    Some(as_fraction(number))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bare_number_of_percent_is_refused_where_it_may_be_a_fraction() {
        assert_eq!(of_percent(40.0), Ok(0.4));
        assert_eq!(of_percent(0.0), Ok(0.0));
        assert_eq!(of_percent(1.0), Ok(0.01));
        let refused = of_percent(0.4).unwrap_err().to_string();
        assert_eq!(refused, "may mean 0.4 % or 40 %: write 0.4% or 40");
        assert_eq!(as_percent(0.07).to_string(), "7");
    }

    #[test]
    fn a_text_with_the_sign_is_per_cent() {
        assert_eq!(percent_text("35%"), Some(0.35));
        assert_eq!(percent_text(" 12,5 % "), Some(0.125));
        assert_eq!(percent_text("0.4 %"), Some(0.004));
        for wrong in ["35", "%", "1e3%", "1.234,5 %", "inf%"] {
            assert_eq!(percent_text(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn percent_where_a_fraction_is_expected_is_answered_with_the_fraction() {
        let share = super::super::row::SHARE;
        assert_eq!(share.fraction_hint(95.0), " (for 95 % write 0.95)");
        assert_eq!(share.fraction_hint(1.4), " (for 1.4 % write 0.014)");
        assert_eq!(share.fraction_hint(0.5), "");
        assert_eq!(share.fraction_hint(400.0), "");
    }
}
