//! Words for a fit: its components, and what is wrong with a way.

use super::number::{Toward, Units};
use crate::fit::{LeftOut, Suspicion, Why};
use crate::model::fills::Break;
use crate::model::fitted::Component;

/// What a component is called.
pub const fn component(component: Component) -> &'static str {
    match component {
        Component::Base => "base",
        Component::Sand => "sand",
        Component::LowRange => "low range",
        Component::Roof => "roof",
        Component::Idle => "idling",
    }
}

/// Why a way was left out, or kept all the same, and what to do.
pub fn left_out(found: &LeftOut, units: Units) -> String {
    let row = found.row;
    let (what, likely) = match found.why {
        Why::Broken(Break::WentBack { from, to }) => {
            return format!(
                "Row {row}: the odometer went back from {} to {}; it was reset, or a reading is wrong. The way to this fill is left out.",
                units.odometer(from, Toward::Nearest),
                units.odometer(to, Toward::Nearest)
            );
        }
        Why::Broken(Break::StoodStill) => {
            return format!(
                "Row {row}: the odometer stands where it stood at the fill before; nothing was driven. Left out."
            );
        }
        Why::Suspect { ratio, because } => (
            format!(
                "{:.2} times the litres that the way should take",
                ratio.get()
            ),
            match because {
                Suspicion::MissedFill(litres) => format!(
                    "a fill of about {} before it was probably not written down",
                    units.litres(litres)
                ),
                Suspicion::WrongOdometer { beside } => format!(
                    "an odometer reading is probably wrong, since with the way to row {beside} it adds up"
                ),
                Suspicion::MoreThanTank(litres) => format!(
                    "{} at once is more than the tank holds, so the litres are probably wrong, or cans were filled",
                    units.litres(litres)
                ),
                Suspicion::Unclear => {
                    "the litres, the odometer or what is said of the way is wrong".to_owned()
                }
            },
        ),
    };
    let done = if found.kept {
        "Counted all the same, as asked for.".to_owned()
    } else {
        format!("Left out; --keep {row} counts it.")
    };
    format!("Row {row}: {what}; {likely}. {done}")
}
