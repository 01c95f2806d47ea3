//! The speeds by surface on one line, as a new trip shows and accepts them: `sealed 90 gravel 70 corrugated 55`.

use serde_json::{Map, Value};

use super::entry::Entry;
use super::number::{Toward, Units};
use crate::consumption::surface;
use crate::model::field;
use crate::model::vehicle::BASELINE_SPEED;
use crate::model::vocabulary::Surface;

/// The speed on each surface that a plan assumes if the trip sets none, in the reader's units.
pub(crate) fn defaults(units: Units) -> String {
    let pairs: Vec<String> = Surface::ALL
        .iter()
        .map(|&surface| format!("{surface} {}", default(surface, units)))
        .collect();
    pairs.join(" ")
}

fn default(surface: Surface, units: Units) -> String {
    let speed = surface::properties(surface).speed.unwrap_or(BASELINE_SPEED);
    units.speed(speed, Toward::Nearest).number
}

/// What the line sets: the speeds that differ from the defaults; `None` if none does.
///
/// # Errors
/// What would be right, then what was typed.
pub(crate) fn parse(text: &str, units: Units) -> Result<Option<Value>, String> {
    let mut speeds = Map::new();
    let mut words = text
        .split_whitespace()
        .map(|word| word.trim_end_matches([',', ';']))
        .filter(|word| !word.is_empty());
    while let Some(word) = words.next() {
        let surface = Surface::ALL.iter().find(|surface| surface.word() == word);
        let surface = *surface.ok_or_else(|| {
            let known = Surface::WORDS.join(", ");
            format!("must be a surface and its speed, such as gravel 70; surfaces are {known}; got {word}")
        })?;
        let typed = words.next().unwrap_or_default();
        let wrong = |reason| format!("{surface}: {reason}");
        let field = field::at_pointer(&format!("/rules/speeds_kmh/{surface}"))
            .ok_or_else(|| wrong("has no speed of its own".to_owned()))?;
        let entry = Entry::new(field, units);
        let value = entry.parse(typed).map_err(wrong)?;
        let value =
            value.ok_or_else(|| wrong(format!("must be {}, got nothing", entry.range())))?;
        if typed != default(surface, units) {
            speeds.insert(surface.to_string(), value);
        }
    }
    Ok((!speeds.is_empty()).then_some(Value::Object(speeds)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::vocabulary::UnitSystem;
    use serde_json::json;

    const METRIC: Units = Units(UnitSystem::Metric);

    /// The defaults, accepted as they are shown, set nothing: the trip stays open to better defaults.
    #[test]
    fn the_defaults_set_nothing() {
        for system in [UnitSystem::Metric, UnitSystem::Us, UnitSystem::Imperial] {
            let units = Units(system);
            assert_eq!(parse(&defaults(units), units), Ok(None), "{system}");
        }
        assert_eq!(parse("", METRIC), Ok(None));
    }

    #[test]
    fn only_what_was_changed_is_set() {
        assert_eq!(
            parse("sealed 90 gravel 80, earth 37,5; snow 30", METRIC),
            Ok(Some(json!({ "gravel": 80, "earth": 37.5 })))
        );
        let miles = parse("gravel 50", Units(UnitSystem::Us)).unwrap().unwrap();
        let gravel = miles["gravel"].as_f64().unwrap();
        // 1 mile is 1.609344 km (international mile, NIST SP 811).
        assert!((gravel - 80.467_2).abs() < 0.05, "{gravel}");
    }

    #[test]
    fn what_is_wrong_names_the_surface() {
        let wrong = |text| parse(text, METRIC).unwrap_err();
        assert!(wrong("gravle 70").ends_with("got gravle"));
        assert!(wrong("gravel").starts_with("gravel: must be"));
        assert!(wrong("gravel fast").starts_with("gravel: must be"));
        assert!(wrong("gravel 900").starts_with("gravel: must be"));
    }
}
