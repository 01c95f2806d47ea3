//! Values of the trip file as a person reads and types them: in the reader's units, with a decimal point or comma.
//!
//! What is not changed is never converted there and back: the editor compares texts. Sizes of cans stay in litres in
//! every system, as they are stamped on them. Shares and grades are fractions in the file and per cent here.

use serde_json::{Number, Value};

use super::number::{Scale, Units};
use super::verdict::counted;
use crate::model::field::{Field, IfAbsent, Kind, PERCENT, as_percent, of_percent, percent_text};
use crate::quantity::{Percent, Share};

/// Words for true and false.
const YES_NO: [&str; 2] = ["yes", "no"];

/// A field in the reader's units.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Entry {
    field: &'static Field,
    units: Units,
}

impl Entry {
    /// The field as this reader types it.
    pub(crate) const fn new(field: &'static Field, units: Units) -> Self {
        Self { field, units }
    }

    fn scale(self) -> Option<Scale> {
        match self.field.kind {
            Kind::Number { unit, .. } if self.field.key() != "size_l" => self.units.scale(unit),
            _ => None,
        }
    }

    /// A number of the file without a unit of the reader's: per cent for a fraction.
    fn plain(self, stated: f64) -> String {
        if self.field.kind.is_fraction() {
            as_percent(Share::new(stated)).get().to_string()
        } else {
            stated.to_string()
        }
    }

    /// The unit that is typed in; empty where there is none.
    pub(crate) fn unit(self) -> &'static str {
        match (self.scale(), self.field.kind) {
            (_, kind) if kind.is_fraction() => PERCENT,
            (Some(scale), _) => scale.unit,
            (None, Kind::Number { unit, .. }) => unit,
            _ => "",
        }
    }

    /// The words to choose from, where the field has a closed vocabulary.
    pub(crate) fn choices(self) -> &'static [&'static str] {
        match self.field.kind {
            Kind::Choice(words) => words,
            Kind::Flag | Kind::Object => &YES_NO,
            _ => &[],
        }
    }

    /// A value of the trip, without its unit; empty if it is not set.
    pub(crate) fn shown(self, value: Option<&Value>) -> String {
        match value {
            None | Some(Value::Null) => String::new(),
            Some(Value::Bool(true) | Value::Object(_)) => YES_NO[0].to_owned(),
            Some(Value::Bool(false)) => YES_NO[1].to_owned(),
            Some(Value::String(text)) => text.clone(),
            Some(Value::Number(number)) => match (self.scale(), number.as_f64()) {
                (Some(scale), Some(stated)) => scale.shown(stated),
                (None, Some(stated)) if self.field.kind.is_fraction() => self.plain(stated),
                _ => number.to_string(),
            },
            Some(Value::Array(list)) => match self.field.kind {
                Kind::Track => format!("{} points", list.len()),
                Kind::Patch => counted(list.len(), "operation", "operations"),
                _ => {
                    let words: Vec<&str> = list.iter().filter_map(Value::as_str).collect();
                    words.join(", ")
                }
            },
        }
    }

    /// The default of a value that is not set, or that it is not set.
    pub(crate) fn absent(self) -> String {
        match self.field.if_absent {
            IfAbsent::Refused => "required".to_owned(),
            IfAbsent::Nothing if matches!(self.field.kind, Kind::Object) => YES_NO[1].to_owned(),
            IfAbsent::Nothing => "not set".to_owned(),
            IfAbsent::Flag(answer) => YES_NO[usize::from(!answer)].to_owned(),
            IfAbsent::Number(value) => match self.scale() {
                Some(scale) => scale.shown(value),
                None => self.plain(value),
            },
            other => other.to_string(),
        }
    }

    /// What may be typed: `0 to 3107 mi`.
    pub(crate) fn range(self) -> String {
        match (self.field.kind, self.scale()) {
            (Kind::Number { min, max, .. }, Some(scale)) => {
                // Distance for a volume counts the other way round.
                let (least, most) = if scale.turned { (max, min) } else { (min, max) };
                let [least, most] = [least, most].map(|end| scale.shown(end));
                format!("{least} to {most} {}", scale.unit)
            }
            (Kind::Number { min, max, .. }, None) if self.field.kind.is_fraction() => {
                format!("{} to {} {PERCENT}", self.plain(min), self.plain(max))
            }
            (Kind::Object | Kind::Flag, _) => YES_NO.join(" or "),
            (Kind::List { .. }, _) => match self.words() {
                Some(words) => format!("any of {}", words.join(", ")),
                None => self.field.kind.to_string(),
            },
            (Kind::Track, _) => "the path of a GPX file beside the trip".to_owned(),
            (kind, _) => kind.to_string(),
        }
    }

    /// The words of which a list is made.
    fn words(self) -> Option<&'static [&'static str]> {
        let item = format!("{}/*", self.field.path);
        match crate::model::field::field(&item)?.kind {
            Kind::Choice(words) => Some(words),
            _ => None,
        }
    }

    /// What was typed, as a value of the file; `None` for an empty text, which sets nothing.
    ///
    /// # Errors
    /// The range or the words that are accepted, then what was typed.
    pub(crate) fn parse(self, text: &str) -> Result<Option<Value>, String> {
        let lines = matches!(self.field.kind, Kind::Text { lines: true, .. });
        let text = if lines { text } else { text.trim() };
        if text.trim().is_empty() {
            return match self.field.if_absent {
                IfAbsent::Refused => Err(format!("must be {}, got nothing", self.range())),
                _ => Ok(None),
            };
        }
        let wrong = || format!("must be {}, got {text}", self.range());
        let value = match self.field.kind {
            Kind::Number { .. } if self.field.kind.is_fraction() => self.fraction(text)?,
            Kind::Number { .. } | Kind::Whole { .. } => self.number(text).ok_or_else(wrong)?,
            Kind::Flag => Value::Bool(answer(text).ok_or_else(wrong)?),
            Kind::Object => match answer(text) {
                Some(true) => Value::Object(serde_json::Map::new()),
                Some(false) => return Ok(None),
                None => return Err(wrong()),
            },
            Kind::List { .. } => text
                .split([',', ' '])
                .filter(|word| !word.is_empty())
                .map(|word| {
                    let known = self.words().is_none_or(|words| words.contains(&word));
                    known.then(|| Value::from(word)).ok_or_else(wrong)
                })
                .collect::<Result<Vec<_>, _>>()?
                .into(),
            Kind::Patch => {
                return Err(
                    "cannot be typed: move the sliders and save them as a what-if".to_owned(),
                );
            }
            Kind::Text { .. }
            | Kind::Choice(_)
            | Kind::TyreSize
            | Kind::Date
            | Kind::UtcOffset
            | Kind::ClockTime
            | Kind::Track => text.into(),
        };
        if self.field.kind.admits(&value) {
            Ok(Some(value))
        } else {
            Err(wrong())
        }
    }

    /// A fraction, typed as per cent with or without the sign.
    fn fraction(self, text: &str) -> Result<Value, String> {
        let wrong = || format!("must be {}, got {text}", self.range());
        let fraction = if text.ends_with(PERCENT) {
            percent_text(text).ok_or_else(wrong)?
        } else {
            let percent = self.number(text).and_then(|number| number.as_f64());
            of_percent(Percent::new(percent.ok_or_else(wrong)?))
                .map_err(|two| format!("{text} {two}"))?
        };
        Ok(as_json(
            Number::from_f64(fraction.get()).expect("what was typed is finite"),
        ))
    }

    fn number(self, text: &str) -> Option<Value> {
        let bare = text.strip_suffix(self.unit()).unwrap_or(text).trim_end();
        // A comma is a decimal point, unless there is one already: then the number is ambiguous.
        let point = bare.replace(',', ".");
        let plain = !point.is_empty()
            && point
                .chars()
                .all(|c| c.is_ascii_digit() || "+-.".contains(c));
        let typed: f64 = point.parse().ok().filter(|_| plain)?;
        let stated = match self.scale() {
            Some(scale) => scale.stated(typed)?,
            None => Number::from_f64(typed)?,
        };
        Some(as_json(stated))
    }
}

/// A number as the file has it: whole ones without a point.
fn as_json(number: Number) -> Value {
    let whole = number
        .as_f64()
        .filter(|value| value.fract() == 0.0 && value.abs() < 1e15);
    #[expect(clippy::cast_possible_truncation, reason = "whole and below 1e15")]
    whole.map_or(Value::Number(number), |value| Value::from(value as i64))
}

fn answer(text: &str) -> Option<bool> {
    match text.to_lowercase().as_str() {
        "yes" | "y" | "true" => Some(true),
        "no" | "n" | "false" => Some(false),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;
    use crate::model::field;
    use crate::model::vocabulary::UnitSystem;

    fn entry(path: &str, system: UnitSystem) -> Entry {
        Entry::new(field::field(path).unwrap(), Units(system))
    }

    #[test]
    fn decimals_have_a_point_or_a_comma() {
        let km = entry("/legs/*/distance_km", UnitSystem::Metric);
        assert_eq!(km.parse("12,5").unwrap(), Some(json!(12.5)));
        assert_eq!(km.parse(" 12.5 km ").unwrap(), Some(json!(12.5)));
        assert_eq!(km.parse("40").unwrap(), Some(json!(40)));
        assert_eq!(km.parse("").unwrap(), None);
        for wrong in [
            "1.234,5", "1,234,5", "ten", "inf", "NaN", "1e3", "-1", "5001", "4 0",
        ] {
            let error = km.parse(wrong).unwrap_err();
            assert_eq!(error, format!("must be 0 to 5000 km, got {wrong}"));
        }
        let share = entry("/legs/*/sand_share", UnitSystem::Metric);
        assert_eq!(share.parse("40 %").unwrap(), Some(json!(0.4)));
        assert_eq!(share.parse("12,5").unwrap(), Some(json!(0.125)));
    }

    #[test]
    fn fractions_of_the_file_are_shown_and_typed_as_per_cent() {
        let share = entry("/legs/*/sand_share", UnitSystem::Metric);
        assert_eq!((share.unit(), share.absent().as_str()), ("%", "0"));
        assert_eq!(share.shown(Some(&json!(0.07))), "7");
        assert_eq!(share.range(), "0 to 100 %");
        for (typed, stated) in [("35%", json!(0.35)), ("35", json!(0.35)), ("0", json!(0))] {
            assert_eq!(share.parse(typed).unwrap(), Some(stated));
        }
        assert_eq!(share.parse("100").unwrap(), Some(json!(1)));
        assert_eq!(share.parse("0.4%").unwrap(), Some(json!(0.004)));
        assert_eq!(
            share.parse("0.4").unwrap_err(),
            "0.4 may mean 0.4 % or 40 %: write 0.4% or 40"
        );
        assert_eq!(
            share.parse("140").unwrap_err(),
            "must be 0 to 100 %, got 140"
        );
        let target = entry("/rules/success_target", UnitSystem::Us);
        assert_eq!(target.absent(), "95");
        assert_eq!(target.range(), "50 to 99.9 %");
        assert_eq!(target.parse("90").unwrap(), Some(json!(0.9)));
    }

    /// 1 mi = 1.609344 km; 235.214583 = L/100 km times mpg (US); 0 °C = 32 °F; 1 lb = 0.45359237 kg.
    #[test]
    fn every_system_is_typed_in_its_own_units() {
        let us = |path, text: &str| {
            let value = entry(path, UnitSystem::Us).parse(text).unwrap().unwrap();
            value.as_f64().unwrap()
        };
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-6 * b.abs().max(1.0), "{a} {b}");
        near(us("/legs/*/distance_km", "100 mi"), 160.9344);
        near(
            us("/vehicle/baseline_l_per_100km", "25"),
            235.214_583 / 25.0,
        );
        near(us("/legs/*/temperature_c", "86"), 30.0);
        near(us("/load/gear/*/mass_kg", "100"), 45.359_237);
        near(us("/vehicle/tank_l", "14"), 14.0 * 3.785_411_784);
        near(us("/load/cans/*/size_l", "20"), 20.0);
        let mpg = entry("/vehicle/baseline_l_per_100km", UnitSystem::Us);
        assert_eq!(mpg.shown(Some(&json!(9.4))), "25.0228");
        assert_eq!(mpg.unit(), "mpg");
        let km_per_l = entry("/vehicle/baseline_l_per_100km", UnitSystem::KmPerL);
        assert_eq!(km_per_l.shown(Some(&json!(10))), "10");
        let range = km_per_l.range();
        let ends: Vec<f64> = range
            .split(' ')
            .filter_map(|word| word.parse().ok())
            .collect();
        assert!(ends[0] < ends[1], "{range}");
    }

    #[test]
    fn words_answers_and_lists() {
        let flag = entry("/legs/*/aircon", UnitSystem::Metric);
        assert_eq!(flag.parse("y").unwrap(), Some(json!(true)));
        assert_eq!(flag.shown(Some(&json!(false))), "no");
        let stop = entry("/legs/*/fuel", UnitSystem::Metric);
        assert_eq!(stop.parse("yes").unwrap(), Some(json!({})));
        assert_eq!(
            (stop.parse("no").unwrap(), stop.absent().as_str()),
            (None, "no")
        );
        let places = entry("/load/cans/*/places", UnitSystem::Metric);
        assert_eq!(
            places.parse("rear, roof").unwrap(),
            Some(json!(["rear", "roof"]))
        );
        assert_eq!(
            places.parse("boot").unwrap_err(),
            "must be any of cabin, cargo, rear, roof, got boot"
        );
        let name = entry("/start/name", UnitSystem::Metric);
        assert!(name.parse("").unwrap_err().ends_with("got nothing"));
    }
}
