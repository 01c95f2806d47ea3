//! Sliders in words: what each is called, what it reads, where it changes the verdict, and what moving it changed.

use super::name::plain;
use super::number::{Toward, Units, percent, trimmed};
use crate::model::Trip;
use crate::model::slider::{Reading, Slider, SliderStep};
use crate::plan::difference::{Decided, Difference, Outcome};
use crate::plan::tipping::{Tip, Tips};
use crate::quantity::{Kilograms, Litres};

/// Name of a slider.
pub(crate) fn name(slider: Slider) -> String {
    match slider {
        Slider::Roof => "roof rack".to_owned(),
        Slider::RoofLoad => "extra roof load".to_owned(),
        Slider::Cargo => "extra cargo".to_owned(),
        Slider::People => "people".to_owned(),
        Slider::Tread => "tread".to_owned(),
        Slider::RoadPressure => "road pressure".to_owned(),
        Slider::AiredDown => "aired down".to_owned(),
        Slider::SoftPressure => "aired down to".to_owned(),
        Slider::SealedSpeed => "sealed road speed".to_owned(),
        Slider::Sand => "sand, all legs".to_owned(),
        Slider::SandOn(leg) => format!("sand, leg {leg}"),
        Slider::LowRange => "low range, all".to_owned(),
        Slider::LowRangeOn(leg) => format!("low range, leg {leg}"),
        Slider::Headwind => "extra headwind".to_owned(),
        Slider::Temperature => "temperature".to_owned(),
        Slider::Reserve => "reserve".to_owned(),
        Slider::Contingency => "contingency".to_owned(),
        Slider::SuccessTarget => "success target".to_owned(),
        Slider::DryStop => "dry fuel stop".to_owned(),
    }
}

/// A reading with its unit.
pub(crate) fn reading(reading: &Reading, units: Units) -> String {
    match reading {
        Reading::Word(word) => (*word).to_owned(),
        Reading::Place(name) => plain(name).into_owned(),
        Reading::Count(count) => count.to_string(),
        Reading::Mass(mass) => units.mass(*mass, Toward::Nearest).to_string(),
        Reading::Pressure(bar) => units.pressure(*bar).to_string(),
        Reading::Speed(speed) => units.speed(*speed, Toward::Nearest).to_string(),
        Reading::MoreWind(wind) => {
            let figure = units.speed(*wind, Toward::Nearest).to_string();
            signed(figure, wind.get())
        }
        Reading::Share(share) => percent(*share).to_string(),
        Reading::OfStated(share) => format!("{} of the trip's", percent(*share)),
        Reading::Temperature(temperature) => units.temperature(*temperature).to_string(),
        Reading::Fuel(litres) => units.fuel_tenths(*litres, Toward::Nearest).to_string(),
        Reading::Percent(part) => format!("{} %", trimmed(part.get())),
        Reading::AsStated => "as in the trip".to_owned(),
    }
}

/// The reading of a slider at its setting.
pub(crate) fn standing(
    slider: Slider,
    trip: &Trip,
    slider_step: Option<SliderStep>,
    units: Units,
) -> String {
    let read = match slider_step {
        Some(slider_step) => slider.reading(trip, slider_step),
        None => slider.stated(trip),
    };
    reading(&read, units)
}

/// Verdict and cans in a few words.
pub(crate) fn decided(decided: Decided) -> String {
    let cans = match decided.cans {
        0 => "no can".to_owned(),
        1 => "1 can".to_owned(),
        n => format!("{n} cans"),
    };
    match decided.outcome {
        Outcome::Go => cans,
        Outcome::Settle => format!("NO-GO with {cans}"),
        Outcome::Overloaded => "NO-GO, overloaded".to_owned(),
        Outcome::Short => "NO-GO, fuel short".to_owned(),
    }
}

/// Where a slider changes the verdict or the number of cans: `2 cans from 55 %`; empty if it changes neither.
pub(crate) fn verdict_changes(
    slider: Slider,
    trip: &Trip,
    tips: &Tips,
    units: Units,
) -> Vec<String> {
    let is_word = |reading: &Reading| matches!(reading, Reading::Word(_) | Reading::Place(_));
    let one = |tip: &Tip, way: &str| {
        let at = slider.reading(trip, tip.at);
        let way = if is_word(&at) { "with" } else { way };
        format!("{} {way} {}", decided(tip.becomes), reading(&at, units))
    };
    let (above, below) = (tips.above.as_ref(), tips.below.as_ref());
    if is_word(&slider.stated(trip)) {
        // Words have no up and down.
        let both = [below, above].into_iter().flatten();
        let mut texts: Vec<String> = both.map(|tip| one(tip, "with")).collect();
        texts.dedup();
        return texts;
    }
    // Between two steps both are at the same one.
    if let (Some(above), Some(below)) = (above, below)
        && above.at == below.at
    {
        return vec![one(above, "with")];
    }
    let above = above.map(|tip| one(tip, "from"));
    let below = below.map(|tip| one(tip, "up to"));
    above.into_iter().chain(below).collect()
}

/// What the sliders changed, figure by figure; figures that did not change are left out.
pub(crate) fn difference(difference: &Difference, units: Units) -> Vec<String> {
    let mut texts = Vec::new();
    let fuel = |litres: Litres| {
        let figure = units.fuel_tenths(litres, Toward::Nearest);
        (figure.number != "0.0").then(|| signed(figure.to_string(), litres.get()))
    };
    texts.extend(fuel(difference.fuel).map(|fuel| format!("{fuel} of trip fuel")));
    texts.extend(fuel(difference.in_cans).map(|fuel| format!("{fuel} needed in cans")));
    let [before, after] = difference.cans;
    if before != after {
        let more = i64::from(after) - i64::from(before);
        let noun = if more.abs() == 1 { "can" } else { "cans" };
        texts.push(format!("{more:+} {noun} ({before} -> {after})"));
    }
    let mass = units.mass(difference.mass, Toward::Nearest);
    if difference.mass.abs() >= Kilograms::new(0.5) {
        texts.push(format!(
            "{} at the heaviest departure",
            signed(mass.to_string(), difference.mass.get())
        ));
    }
    let minutes = (difference.driving.get() * 60.0).round();
    if minutes.abs() >= 1.0 {
        let sign = if minutes > 0.0 { "+" } else { "-" };
        texts.push(format!(
            "{sign}{} driving",
            units.time(difference.driving.abs())
        ));
    }
    texts
}

fn signed(figure: String, value: f64) -> String {
    if value > 0.0 && !figure.starts_with('-') {
        format!("+{figure}")
    } else {
        figure
    }
}
