//! Quantity to text: unit, precision, rounding, for the system of units that the reader chose.
//!
//! A figure is rounded to what it can claim. A leg's litres are known to some 12 % at best, so a text
//! shows whole litres from ten upward and tenths below; where figures are compared, all have tenths.
//! Gallons, four times as large, have tenths throughout, and two decimals below one gallon. What is
//! needed is rounded up and what is available is rounded down ([`Toward`]), so that the printed figure
//! is always on the safe side of the computed one. Full precision is in the JSON report and in the
//! printed working.

use std::fmt::{self, Write as _};

use serde_json::Number;

use crate::model::vocabulary::UnitSystem;
use crate::quantity::{
    Bar, Celsius, Days, Factor, Hours, Kilograms, Kilometres, KilometresPerHour, Litres,
    LitresPer100Km, Metres, Money, Share,
};

/// Kilometres in a mile, exact (international yard and pound agreement, 1959).
const KM_PER_MILE: f64 = 1.609_344;
/// Litres in a US gallon of 231 cubic inches, exact.
const L_PER_US_GALLON: f64 = 3.785_411_784;
/// Litres in an imperial gallon, exact (Weights and Measures Act 1985).
const L_PER_IMPERIAL_GALLON: f64 = 4.546_09;
/// Kilograms in a pound, exact (international yard and pound agreement, 1959).
const KG_PER_POUND: f64 = 0.453_592_37;
/// Bar in a pound-force per square inch, from the pound above and standard gravity.
const BAR_PER_PSI: f64 = 0.068_947_572_931_683_6;
/// Metres in a foot, exact (international yard and pound agreement, 1959).
const M_PER_FOOT: f64 = 0.3048;
/// Rounding up or down looks this far past a step, so that the last bit of a sum moves no printed figure.
const ROUNDING_SLACK: f64 = 1e-6;
/// Numbers from here on are printed by their exponent.
const TOO_LONG: f64 = 1e12;
/// Days from here on are not counted out.
const MOST_DAYS: f64 = 10_000.0;

/// The way in which a figure may be rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Toward {
    /// To the nearest: what is expected.
    Nearest,
    /// Up: what is needed.
    Up,
    /// Down: what is available.
    Down,
}

impl Toward {
    /// The multiple of `step` that `value` is rounded to.
    fn round(self, value: f64, step: f64) -> f64 {
        let steps = value / step;
        let whole = match self {
            Self::Nearest => steps.round(),
            Self::Up => (steps - ROUNDING_SLACK).ceil(),
            Self::Down => (steps + ROUNDING_SLACK).floor(),
        };
        whole * step
    }
}

/// A number as text and the unit that it is in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// The number alone, for a column whose head names the unit.
    pub number: String,
    /// The unit; empty where there is none.
    pub unit: &'static str,
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.unit.is_empty() {
            f.pad(&self.number)
        } else {
            f.pad(&format!("{} {}", self.number, self.unit))
        }
    }
}

impl Figure {
    /// Always `decimals` digits after the point, at most two.
    fn fixed(value: f64, decimals: usize, unit: &'static str, toward: Toward) -> Self {
        let step = [1.0, 0.1, 0.01][decimals];
        let number = written(toward.round(value, step), decimals);
        Self { number, unit }
    }

    /// A figure rounded to the nearest.
    fn near(value: f64, decimals: usize, unit: &'static str) -> Self {
        Self::fixed(value, decimals, unit, Toward::Nearest)
    }

    /// Tenths below ten, whole numbers from there on.
    fn short(value: f64, unit: &'static str, toward: Toward) -> Self {
        let tenths = toward.round(value, 0.1);
        Self::fixed(value, usize::from(tenths.abs() < 9.95), unit, toward)
    }

    /// The smaller of two figures of one unit as printed: figures that are rounded apart may cross.
    #[must_use]
    pub(crate) fn min(self, other: Self) -> Self {
        let value = |figure: &Self| figure.number.parse().unwrap_or(f64::INFINITY);
        if value(&other) < value(&self) {
            other
        } else {
            self
        }
    }
}

/// The digits of every number that is printed: zero without a sign, `1.2e300` from where the digits stop to count, and
/// `?` for what is no number.
fn written(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "?".to_owned();
    }
    if value.abs() >= TOO_LONG {
        return format!("{value:.1e}").replace(".0e", "e");
    }
    let text = format!("{value:.decimals$}");
    let is_zero = |text: &str| text.bytes().all(|digit| b"0.".contains(&digit));
    match text.strip_prefix('-') {
        Some(zero) if is_zero(zero) => zero.to_owned(),
        _ => text,
    }
}

/// A number at these decimals, without zeros at its end.
fn without_zeros(value: f64, decimals: usize) -> String {
    let text = written(value, decimals);
    if text.contains('.') && !text.contains('e') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// The reader's units: every quantity to text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Units(pub UnitSystem);

impl Units {
    /// Whether distances are in miles.
    const fn miles(self) -> bool {
        matches!(self.0, UnitSystem::Us | UnitSystem::Imperial)
    }

    pub(crate) const fn distance_unit(self) -> &'static str {
        if self.miles() { "mi" } else { "km" }
    }

    /// One unit of distance, for the ticks of an axis.
    pub(crate) const fn distance_step(self) -> Kilometres {
        Kilometres::new(if self.miles() { KM_PER_MILE } else { 1.0 })
    }

    pub(crate) const fn fuel_unit(self) -> &'static str {
        if self.miles() { "gal" } else { "L" }
    }

    /// One unit of fuel, for the ticks of a scale.
    pub(crate) const fn fuel_step(self) -> Litres {
        Litres::new(match self.0 {
            UnitSystem::Metric | UnitSystem::KmPerL => 1.0,
            UnitSystem::Us => L_PER_US_GALLON,
            UnitSystem::Imperial => L_PER_IMPERIAL_GALLON,
        })
    }

    pub(crate) const fn rate_unit(self) -> &'static str {
        match self.0 {
            UnitSystem::Metric => "L/100 km",
            UnitSystem::KmPerL => "km/L",
            UnitSystem::Us | UnitSystem::Imperial => "mpg",
        }
    }

    /// Whether consumption is a distance for a volume, so that a lower one is a larger figure.
    pub(crate) const fn counts_distance(self) -> bool {
        !matches!(self.0, UnitSystem::Metric)
    }

    /// A distance in the reader's unit.
    fn counted(self, distance: Kilometres) -> f64 {
        distance / self.distance_step()
    }

    pub(crate) fn distance(self, distance: Kilometres, toward: Toward) -> Figure {
        Figure::short(self.counted(distance), self.distance_unit(), toward)
    }

    /// A point of the route by its distance from the start, `km 340`; always whole.
    pub(crate) fn at(self, point: Kilometres, toward: Toward) -> String {
        let word = if self.miles() { "mile" } else { "km" };
        format!("{word} {}", self.at_number(point, toward))
    }

    /// The number of that point alone.
    pub(crate) fn at_number(self, point: Kilometres, toward: Toward) -> String {
        Figure::fixed(self.counted(point), 0, "", toward).number
    }

    /// What the odometer shows, `odo 48396`; always whole.
    pub(crate) fn odometer(self, reading: Kilometres, toward: Toward) -> String {
        format!("odo {}", self.at_number(reading, toward))
    }

    /// Fuel in a text: whole litres from ten upward.
    pub fn fuel(self, litres: Litres, toward: Toward) -> Figure {
        if self.miles() {
            self.gallons(litres, toward)
        } else {
            Figure::short(litres.get(), self.fuel_unit(), toward)
        }
    }

    /// Fuel in a column or a sentence that compares two figures, and fuel in cans: always to the tenth.
    pub fn fuel_tenths(self, litres: Litres, toward: Toward) -> Figure {
        if self.miles() {
            self.gallons(litres, toward)
        } else {
            Figure::fixed(litres.get(), 1, self.fuel_unit(), toward)
        }
    }

    /// Fuel to be compared with a gauge: whole litres, as a gauge shows no more.
    pub(crate) fn by_gauge(self, litres: Litres, toward: Toward) -> Figure {
        if self.miles() {
            self.gallons(litres, toward)
        } else {
            Figure::fixed(litres.get(), 0, self.fuel_unit(), toward)
        }
    }

    fn gallons(self, litres: Litres, toward: Toward) -> Figure {
        let value = litres / self.fuel_step();
        let hundredths = toward.round(value, 0.01).abs();
        let decimals = if hundredths > 0.005 && hundredths < 0.995 {
            2
        } else {
            1
        };
        Figure::fixed(value, decimals, self.fuel_unit(), toward)
    }

    /// A margin to the tenth, with its sign: `+3.1 L`, `-5.0 L`; rounded down.
    pub(crate) fn margin(self, litres: Litres) -> Figure {
        with_sign(self.fuel_tenths(litres, Toward::Down))
    }

    /// Fuel to the nearest.
    pub(crate) fn litres(self, litres: Litres) -> Figure {
        self.fuel(litres, Toward::Nearest)
    }

    /// The size of a can by which its owner calls it: litres in every system.
    pub(crate) fn can_size(size: Litres) -> String {
        format!("{} L", trimmed(size.get()))
    }

    /// Consumption, one decimal in every system. Distance for a volume where the reader counts so;
    /// no fuel at all has no such figure and is shown as a dash.
    pub(crate) fn rate(self, rate: LitresPer100Km) -> Figure {
        let km_per_l = 100.0 / rate.get();
        let shown = match self.0 {
            UnitSystem::Metric => rate.get(),
            UnitSystem::KmPerL => km_per_l,
            UnitSystem::Us => km_per_l / KM_PER_MILE * L_PER_US_GALLON,
            UnitSystem::Imperial => km_per_l / KM_PER_MILE * L_PER_IMPERIAL_GALLON,
        };
        let mut figure = Figure::near(shown, 1, self.rate_unit());
        if !shown.is_finite() {
            "-".clone_into(&mut figure.number);
        }
        figure
    }

    pub(crate) fn mass(self, mass: Kilograms, toward: Toward) -> Figure {
        if self.0 == UnitSystem::Us {
            Figure::fixed(mass.get() / KG_PER_POUND, 0, "lb", toward)
        } else {
            Figure::fixed(mass.get(), 0, "kg", toward)
        }
    }

    /// A margin of mass with its sign: `+103 kg`, `-64 kg`; rounded down.
    pub(crate) fn mass_margin(self, mass: Kilograms) -> Figure {
        with_sign(self.mass(mass, Toward::Down))
    }

    /// Altitude or climb, in tens: maps and tracks are no more exact.
    pub(crate) fn height(self, height: Metres) -> Figure {
        let (shown, unit) = if self.miles() {
            (height.get() / M_PER_FOOT, "ft")
        } else {
            (height.get(), "m")
        };
        let tens = Toward::Nearest.round(shown, 10.0);
        Figure::near(tens, 0, unit)
    }

    /// The unit of speeds.
    pub(crate) const fn speed_unit(self) -> &'static str {
        if self.miles() { "mph" } else { "km/h" }
    }

    pub(crate) fn speed(self, speed: KilometresPerHour, toward: Toward) -> Figure {
        if self.miles() {
            Figure::fixed(speed.get() / KM_PER_MILE, 0, self.speed_unit(), toward)
        } else {
            Figure::fixed(speed.get(), 0, self.speed_unit(), toward)
        }
    }

    /// Time in a text, `3 h 20 min`, to five minutes from an hour on.
    pub fn time(self, time: Hours) -> String {
        let (hours, minutes) = hours_and_minutes(time);
        let whole = written(hours, 0);
        let has_minutes = hours.abs() < TOO_LONG;
        if has_minutes && hours < 1.0 {
            format!("{minutes:.0} min")
        } else if has_minutes && minutes > 0.5 {
            format!("{whole} h {minutes:.0} min")
        } else {
            format!("{whole} h")
        }
    }

    pub(crate) fn temperature(self, temperature: Celsius) -> Figure {
        if self.0 == UnitSystem::Us {
            Figure::near(temperature.get() * 1.8 + 32.0, 0, "\u{b0}F")
        } else {
            Figure::near(temperature.get(), 0, "\u{b0}C")
        }
    }

    /// A tyre pressure, rounded to the nearest.
    pub fn pressure(self, pressure: Bar) -> Figure {
        self.pressure_toward(pressure, Toward::Nearest)
    }

    pub(crate) fn pressure_toward(self, pressure: Bar, toward: Toward) -> Figure {
        if self.miles() {
            Figure::fixed(pressure.get() / BAR_PER_PSI, 0, "psi", toward)
        } else {
            Figure::fixed(pressure.get(), 1, "bar", toward)
        }
    }
}

/// What the gauge shows when the tank holds `in_tank`, its unusable part included, in eighths of `tank`: `5/8`, `full`,
/// `empty`. Rounded down everywhere, so that the gauge of one amount is the same on every page.
pub(crate) fn gauge(in_tank: Litres, tank: Litres) -> &'static str {
    eighths(in_tank, tank, Toward::Down)
}

/// The gauge reading that guarantees `in_tank`: rounded up.
pub(crate) fn gauge_at_least(in_tank: Litres, tank: Litres) -> &'static str {
    eighths(in_tank, tank, Toward::Up)
}

fn eighths(in_tank: Litres, tank: Litres, toward: Toward) -> &'static str {
    const MARKS: [&str; 9] = [
        "empty", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8", "full",
    ];
    let eighths = toward.round((in_tank / tank).clamp(0.0, 1.0), 0.125);
    MARKS[cells(Share::new(eighths), 8)]
}

/// How many of so many cells a share fills, to the nearest.
pub(crate) fn cells(share: Share, of: usize) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped to the cells; no number becomes 0"
    )]
    let cells = (share.get() * of as f64).round().clamp(0.0, of as f64) as usize;
    cells
}

/// Time in a column whose head is `h:min`, `3:20`, to five minutes from an hour on.
pub(crate) fn clock(time: Hours) -> String {
    let (hours, minutes) = hours_and_minutes(time);
    let mut number = written(hours, 0);
    if hours.abs() < TOO_LONG {
        let _ = write!(number, ":{minutes:02.0}");
    }
    number
}

fn with_sign(figure: Figure) -> Figure {
    if figure.number.starts_with('-') {
        return figure;
    }
    Figure {
        number: format!("+{}", figure.number),
        ..figure
    }
}

/// Whole hours and the minutes over them, to five minutes from an hour on.
fn hours_and_minutes(time: Hours) -> (f64, f64) {
    let minutes = time.get() * 60.0;
    let step = if minutes < 60.0 { 1.0 } else { 5.0 };
    let minutes = Toward::Nearest.round(minutes, step);
    ((minutes / 60.0).floor(), minutes % 60.0)
}

/// How a unit of the trip file is shown in another system.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scale {
    pub(super) unit: &'static str,
    /// What one unit of the reader is in the file's unit; or, turned, the product of the two figures.
    one: f64,
    /// What 0 of the file's unit is to the reader.
    zero: f64,
    /// Whether more of one is less of the other.
    pub(super) turned: bool,
}

impl Scale {
    /// A number of the file as the reader's, to four decimals.
    pub(super) fn shown(self, stated: f64) -> String {
        let shown = if self.turned {
            self.one / stated
        } else {
            stated / self.one + self.zero
        };
        without_zeros(shown, 4)
    }

    /// A number of the reader as the file's; `None` if it has none.
    pub(super) fn stated(self, shown: f64) -> Option<Number> {
        Number::from_f64(if self.turned {
            self.one / shown
        } else {
            (shown - self.zero) * self.one
        })
    }
}

impl Units {
    /// A number in a unit of the reader's as one in a unit of the trip file, to four decimals; `None` if the reader has
    /// no such unit for it.
    pub(crate) fn in_unit_of_file(self, number: &Number, from: &str, to: &str) -> Option<Number> {
        let scale = self.scale(to).filter(|scale| scale.unit == from)?;
        let stated = scale.stated(number.as_f64()?)?.as_f64()?;
        Number::from_f64((stated * 1e4).round() / 1e4)
    }

    /// How a unit of the trip file is shown; `None` if as it is.
    pub(super) fn scale(self, unit: &str) -> Option<Scale> {
        let gallon = self.fuel_step().get();
        let (unit, one, zero) = match (unit, self.0) {
            ("L/100 km", UnitSystem::KmPerL) => ("km/L", 100.0, 0.0),
            (_, UnitSystem::Metric | UnitSystem::KmPerL) => return None,
            ("L/100 km", _) => ("mpg", 100.0 / KM_PER_MILE * gallon, 0.0),
            ("km", _) => ("mi", KM_PER_MILE, 0.0),
            ("km/h", _) => ("mph", KM_PER_MILE, 0.0),
            ("m", _) => ("ft", M_PER_FOOT, 0.0),
            ("L", _) => ("gal", gallon, 0.0),
            ("bar", _) => ("psi", BAR_PER_PSI, 0.0),
            ("kg", UnitSystem::Us) => ("lb", KG_PER_POUND, 0.0),
            ("\u{b0}C", UnitSystem::Us) => ("\u{b0}F", 1.0 / 1.8, 32.0),
            _ => return None,
        };
        Some(Scale {
            unit,
            one,
            zero,
            turned: matches!(unit, "km/L" | "mpg"),
        })
    }
}

/// A share in whole per cent; what is not certain is never shown as 100 %, nor what is possible as 0 %.
pub(crate) fn percent(share: Share) -> Figure {
    let whole = (share.get() * 100.0).round();
    let shown = if share.get() < 1.0 && share.get() > 0.0 {
        whole.clamp(1.0, 99.0)
    } else {
        whole
    };
    Figure::near(shown, 0, "%")
}

/// A success target in tenths of a per cent, whole ones without the tenth; never shown as certain or impossible.
pub(crate) fn odds(share: Share) -> String {
    let tenths = (share.get() * 1000.0).round() / 10.0;
    if tenths <= 0.0 {
        "<0.1 %".to_owned()
    } else if tenths >= 100.0 {
        ">99.9 %".to_owned()
    } else {
        format!("{} %", trimmed(tenths))
    }
}

/// The share of an outcome, always in tenths of a per cent; what may happen is never shown as certain or impossible.
pub(crate) fn outcome(share: Share) -> String {
    let shown = odds(share);
    let number = shown.trim_end_matches(" %");
    if number.starts_with(['<', '>']) || number.contains('.') {
        shown
    } else {
        format!("{number}.0 %")
    }
}

/// A factor, two decimals.
pub(crate) fn factor(factor: Factor) -> String {
    Figure::near(factor.get(), 2, "").number
}

/// Money in the trip's currency, two decimals.
pub(crate) fn money(money: Money, currency: Option<&str>) -> String {
    let number = Figure::near(money.get(), 2, "").number;
    match currency {
        Some(currency) => format!("{number} {}", super::name::plain(currency)),
        None => number,
    }
}

/// A number with at most two decimals and no zeros at its end.
pub(crate) fn trimmed(value: f64) -> String {
    without_zeros(value, 2)
}

/// A number with at most so many decimals and no zeros at its end.
pub(crate) fn to_decimals(number: Factor, decimals: usize) -> String {
    without_zeros(number.get(), decimals)
}

/// For how many days something lasts, in tenths rounded down.
pub(crate) fn days(days: Days) -> String {
    if days.get() < MOST_DAYS {
        trimmed((days.get() * 10.0).floor() / 10.0)
    } else {
        format!("more than {}", trimmed(MOST_DAYS))
    }
}

/// A time in days, as in `2.5 days`.
pub(crate) fn in_days(time: Days) -> String {
    let number = days(time);
    let word = if number == "1" { "day" } else { "days" };
    format!("{number} {word}")
}

/// How much more or less something is than 1, in per cent with its sign: `+15 %`.
pub(crate) fn more(of: Factor) -> String {
    let percent = written((of.get() - 1.0) * 100.0, 0);
    let sign = if percent.starts_with('-') { "" } else { "+" };
    format!("{sign}{percent} %")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const METRIC: Units = Units(UnitSystem::Metric);
    const US: Units = Units(UnitSystem::Us);
    const IMPERIAL: Units = Units(UnitSystem::Imperial);

    #[test]
    fn what_must_be_there_goes_up_and_what_is_counted_on_goes_down() {
        let litres = Litres::new(24.3);
        assert_eq!(METRIC.fuel(litres, Toward::Up).to_string(), "25 L");
        assert_eq!(METRIC.fuel(litres, Toward::Down).to_string(), "24 L");
        assert_eq!(METRIC.litres(Litres::new(6.04)).to_string(), "6.0 L");
        assert_eq!(METRIC.litres(Litres::new(9.97)).to_string(), "10 L");
        assert_eq!(METRIC.litres(Litres::new(-0.01)).to_string(), "0.0 L");
        assert_eq!(METRIC.litres(Litres::new(-3.26)).to_string(), "-3.3 L");
    }

    #[test]
    fn the_last_bit_of_a_sum_moves_no_figure() {
        let sum = Litres::new(0.1 + 0.2) * 100.0;
        assert_eq!(METRIC.fuel(sum, Toward::Up).to_string(), "30 L");
        assert_eq!(
            METRIC
                .fuel(Litres::new(29.999_999_999), Toward::Down)
                .to_string(),
            "30 L"
        );
    }

    /// 235.214583 = 100 km in miles times litres in a US gallon, over 1; 282.480936 likewise imperial.
    #[test]
    fn consumption_in_every_system() {
        let rate = LitresPer100Km::new(10.0);
        assert_eq!(METRIC.rate(rate).to_string(), "10.0 L/100 km");
        assert_eq!(US.rate(rate).to_string(), "23.5 mpg");
        assert_eq!(IMPERIAL.rate(rate).to_string(), "28.2 mpg");
        assert_eq!(
            Units(UnitSystem::KmPerL).rate(rate).to_string(),
            "10.0 km/L"
        );
        assert_eq!(US.rate(LitresPer100Km::ZERO).number, "-");
        let one = LitresPer100Km::new(1.0).get();
        assert!((100.0 / one / KM_PER_MILE * L_PER_US_GALLON - 235.214_583).abs() < 1e-6);
        assert!((100.0 / one / KM_PER_MILE * L_PER_IMPERIAL_GALLON - 282.480_936).abs() < 1e-6);
    }

    #[test]
    fn distances_fuel_and_masses_in_other_systems() {
        let way = Kilometres::new(160.934_4);
        assert_eq!(US.distance(way, Toward::Nearest).to_string(), "100 mi");
        assert_eq!(US.at(way, Toward::Down), "mile 100");
        assert_eq!(METRIC.at(way, Toward::Down), "km 160");
        assert_eq!(US.litres(Litres::new(20.0)).to_string(), "5.3 gal");
        assert_eq!(US.litres(Litres::new(2.0)).to_string(), "0.53 gal");
        assert_eq!(
            US.fuel_tenths(Litres::new(28.5), Toward::Down).number,
            "7.5"
        );
        assert_eq!(US.fuel_tenths(Litres::ZERO, Toward::Down).number, "0.0");
        assert_eq!(METRIC.margin(Litres::new(3.17)).to_string(), "+3.1 L");
        assert_eq!(METRIC.margin(Litres::new(-3.17)).to_string(), "-3.2 L");
        assert_eq!(US.pressure(Bar::new(2.0)).to_string(), "29 psi");
        assert_eq!(METRIC.pressure(Bar::new(2.0)).to_string(), "2.0 bar");
        assert_eq!(IMPERIAL.litres(Litres::new(20.0)).to_string(), "4.4 gal");
        assert_eq!(
            US.mass(Kilograms::new(100.0), Toward::Up).to_string(),
            "221 lb"
        );
        assert_eq!(
            IMPERIAL.mass(Kilograms::new(100.4), Toward::Up).to_string(),
            "101 kg"
        );
        assert_eq!(METRIC.time(Hours::new(3.34)), "3 h 20 min");
        assert_eq!(METRIC.time(Hours::new(0.999)), "1 h");
        assert_eq!(METRIC.time(Hours::new(0.5)), "30 min");
        assert_eq!(clock(Hours::new(3.34)), "3:20");
        assert_eq!(clock(Hours::new(0.999)), "1:00");
    }

    #[test]
    fn the_gauge_is_read_in_eighths_to_the_safe_side() {
        let (in_tank, tank) = (Litres::new(32.0), Litres::new(55.0));
        assert_eq!(gauge(in_tank, tank), "1/2");
        assert_eq!(gauge_at_least(in_tank, tank), "5/8");
        assert_eq!(gauge(tank, tank), "full");
        assert_eq!(gauge_at_least(tank, tank), "full");
        assert_eq!(gauge(Litres::new(-3.0), tank), "empty");
    }

    #[test]
    fn money_has_two_decimals_and_outcomes_one() {
        assert_eq!(money(Money::new(112.0), Some("cr")), "112.00 cr");
        assert_eq!(money(Money::new(45.888), None), "45.89");
        assert_eq!(outcome(Share::new(0.97)), "97.0 %");
        assert_eq!(outcome(Share::new(0.9712)), "97.1 %");
        assert_eq!(outcome(Share::new(0.0)), "<0.1 %");
        assert_eq!(outcome(Share::new(1.0)), ">99.9 %");
        assert_eq!(odds(Share::new(0.95)), "95 %");
    }

    #[test]
    fn chances_are_never_shown_as_certain_when_they_are_not() {
        assert_eq!(percent(Share::new(0.999)).to_string(), "99 %");
        assert_eq!(percent(Share::new(0.001)).to_string(), "1 %");
        assert_eq!(percent(Share::new(1.0)).to_string(), "100 %");
    }

    /// What nobody can mean is short, what is no number is shown as that, and nothing has no sign.
    #[test]
    fn no_number_is_endless_or_less_than_nothing() {
        let litres = |value| METRIC.litres(Litres::new(value)).to_string();
        assert_eq!(litres(1e300), "1e300 L");
        assert_eq!(litres(-123_456e300), "-1.2e305 L");
        assert_eq!(litres(999_999_999_999.0), "999999999999 L");
        assert_eq!(litres(f64::INFINITY), "? L");
        assert_eq!(METRIC.time(Hours::new(1e300)), "1e300 h");
        assert_eq!(METRIC.time(Hours::new(f64::NAN)), "? h");
        assert_eq!(METRIC.at(Kilometres::new(-0.0), Toward::Up), "km 0");
        assert_eq!(METRIC.at(Kilometres::new(-0.4), Toward::Up), "km 0");
        assert_eq!(factor(Factor::new(-0.001)), "0.00");
        assert_eq!(trimmed(-0.001), "0");
        assert_eq!(trimmed(1e300), "1e300");
        assert_eq!(to_decimals(Factor::new(-1e-9), 7), "0");
        assert_eq!(trimmed(f64::NAN), "?");
        assert_eq!(more(Factor::new(0.999)), "+0 %");
        assert_eq!(more(Factor::new(0.85)), "-15 %");
        assert_eq!(days(Days::new(2.99)), "2.9");
        assert_eq!(days(Days::new(f64::INFINITY)), "more than 10000");
        let us = US.scale("km").unwrap();
        assert_eq!(us.shown(-1e-9), "0");
        assert_eq!(us.shown(1e300), "6.2e299");
    }

    proptest! {
        /// Law: the three ways of rounding are in order and within one step of the value.
        #[test]
        fn rounding_keeps_its_promise(value in -500.0..500.0_f64) {
            let shown = |toward| METRIC.fuel(Litres::new(value), toward).number.parse::<f64>().unwrap();
            let (down, near, up) = (shown(Toward::Down), shown(Toward::Nearest), shown(Toward::Up));
            prop_assert!(down <= value + 2e-6 && value <= up + 2e-6, "{down} {value} {up}");
            prop_assert!(up - down <= 1.000_001 && (near - value).abs() <= 0.500_001);
        }
    }
}
