//! Why the success target is missed, and what relying on a fuel stop means for it, in sentences.

use super::finding::{listed, place_name};
use super::number::{odds, outcome};
use crate::plan::{NotReliedOn, Plan};
use crate::quantity::Share;

/// Why the success target is missed: no plan that relies on these stops meets it, or too few trips finish.
pub(super) fn target_missed(stops: &[usize], chance: Share, target: Share, plan: &Plan) -> String {
    if stops.is_empty() {
        let turns_back = plan.doubt.as_ref().is_some_and(|doubt| doubt.turns_back);
        let why = if turns_back {
            "Too few of the simulated trips finish or return with the reserve intact".to_owned()
        } else {
            format!(
                "Only {} of the simulated trips finish with the reserve intact",
                outcome(chance)
            )
        };
        return format!(
            "{why}; the target is {}. Carry more, add a fuel stop, or lower the target.",
            odds(target)
        );
    }
    let names: Vec<String> = stops
        .iter()
        .map(|&place_number| place_name(plan, place_number))
        .collect();
    let (of_fuel, there) = match names.as_slice() {
        [_] => ("of fuel", "there"),
        _ => ("that all have fuel", "at each"),
    };
    format!(
        "The plan relies on {} as you asked, where the chance {of_fuel} is {}. It can promise success to at most {} of \
         trips; the target is {}. Confirm fuel {there} before you leave, or set rely to auto.",
        listed(&names),
        odds(chance),
        odds(chance),
        odds(target),
    )
}

/// Why a stop is not relied on although its chance reaches the success target, or the trip sets it to be.
pub(super) fn not_relied_on(place: &str, chance: Share, why: NotReliedOn) -> String {
    let (with_others, target) = match why {
        NotReliedOn::TooFewMayFail {
            with_others,
            target,
        } => (with_others, target),
        NotReliedOn::TurningBackTakesMore => {
            return format!(
                "The plan does not rely on {place}, where the chance of fuel is {}: a plan that can turn back from there \
                 needs more fuel than one without this stop. If you have confirmed the fuel, set its chance to 100 %.",
                odds(chance),
            );
        }
    };
    let why = if with_others < target {
        format!(
            "Together with the stops relied on that makes {}, less than the target of {}",
            odds(with_others),
            odds(target),
        )
    } else {
        let must_succeed = Share::new(target / with_others);
        let of_trips = if must_succeed < Share::new(1.0) {
            odds(must_succeed)
        } else {
            "all".to_owned()
        };
        format!(
            "To reach the target of {}, {of_trips} of the trips with fuel there would have to succeed",
            odds(target),
        )
    };
    format!(
        "The plan does not rely on {place}, where the chance of fuel is {}. {why}. If you have confirmed the fuel, set its \
         chance to 100 %, or set rely to always.",
        odds(chance),
    )
}
