//! Quantity to text: unit, precision, rounding, for the system of units that the reader chose.
//!
//! A figure is rounded to what it can claim. A leg's litres are known to some 12 % at best, so
//! fuel is told in whole litres from ten upward and in tenths below; gallons, four times as large,
//! in tenths. What must be there is rounded up and what may be counted on is rounded down
//! ([`Toward`]), so that nobody who keeps to the printed figure falls below the computed one.
//! Full precision is in the JSON report and in the printed working.

use std::fmt;

use serde_json::Number;

use crate::model::vocabulary::UnitSystem;
use crate::quantity::{
    Bar, Celsius, Factor, Hours, Kilograms, Kilometres, KilometresPerHour, Litres, LitresPer100Km,
    Metres, Money, Share,
};

/// Kilometres in a mile, exact (international yard and pound agreement, 1959).
const KM_PER_MILE: f64 = 1.609_344;
/// Litres in a US gallon of 231 cubic inches, exact.
const L_PER_US_GALLON: f64 = 3.785_411_784;
/// Litres in an imperial gallon, exact (Weights and Measures Act 1985).
const L_PER_IMPERIAL_GALLON: f64 = 4.546_09;
/// Kilograms in a pound, exact (international yard and pound agreement, 1959).
const KG_PER_POUND: f64 = 0.453_592_37;
/// Metres in a foot, exact (same).
const M_PER_FOOT: f64 = 0.3048;
/// Rounding up or down looks this far past a step, so that the last bit of a sum moves no printed figure.
const ROUNDING_SLACK: f64 = 1e-6;

/// The way in which a figure may be rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Toward {
    /// To the nearest: what is expected.
    Nearest,
    /// Up: what must be there.
    Up,
    /// Down: what may be counted on.
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
        // `+ 0.0` makes a negative zero positive.
        whole * step + 0.0
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
    /// Tenths below ten, whole numbers from there on.
    fn short(value: f64, unit: &'static str, toward: Toward) -> Self {
        let tenths = toward.round(value, 0.1);
        if tenths.abs() < 9.95 {
            Self::fixed(value, 1, unit, toward)
        } else {
            Self::fixed(value, 0, unit, toward)
        }
    }

    /// The smaller of two figures of one unit as printed: figures that are rounded apart may cross.
    #[must_use]
    pub fn min(self, other: Self) -> Self {
        let value = |figure: &Self| figure.number.parse().unwrap_or(f64::INFINITY);
        if value(&other) < value(&self) {
            other
        } else {
            self
        }
    }

    /// Always `decimals` digits after the point.
    fn fixed(value: f64, decimals: usize, unit: &'static str, toward: Toward) -> Self {
        let step = match decimals {
            0 => 1.0,
            1 => 0.1,
            _ => 0.01,
        };
        let number = if value.is_finite() {
            format!("{:.decimals$}", toward.round(value, step))
        } else {
            "?".to_owned()
        };
        Self { number, unit }
    }
}

/// The reader's units: every quantity to text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Units(pub UnitSystem);

impl Units {
    /// Whether ways are told in miles.
    const fn miles(self) -> bool {
        matches!(self.0, UnitSystem::Us | UnitSystem::Imperial)
    }

    /// Unit of distances.
    pub const fn distance_unit(self) -> &'static str {
        if self.miles() { "mi" } else { "km" }
    }

    /// One unit of distance, for the ticks of an axis.
    pub const fn distance_step(self) -> Kilometres {
        Kilometres::new(if self.miles() { KM_PER_MILE } else { 1.0 })
    }

    /// Unit of fuel.
    pub const fn fuel_unit(self) -> &'static str {
        if self.miles() { "gal" } else { "L" }
    }

    /// One unit of fuel, for the ticks of a scale.
    pub const fn fuel_step(self) -> Litres {
        Litres::new(match self.0 {
            UnitSystem::Metric | UnitSystem::KmPerL => 1.0,
            UnitSystem::Us => L_PER_US_GALLON,
            UnitSystem::Imperial => L_PER_IMPERIAL_GALLON,
        })
    }

    /// Unit of consumption.
    pub const fn rate_unit(self) -> &'static str {
        match self.0 {
            UnitSystem::Metric => "L/100 km",
            UnitSystem::KmPerL => "km/L",
            UnitSystem::Us | UnitSystem::Imperial => "mpg",
        }
    }

    /// Whether consumption is told as distance for a volume, so that less is told as more.
    pub const fn counts_distance(self) -> bool {
        !matches!(self.0, UnitSystem::Metric)
    }

    /// A way counted in the reader's unit.
    fn counted(self, way: Kilometres) -> f64 {
        way / self.distance_step()
    }

    /// Length of road.
    pub fn distance(self, way: Kilometres, toward: Toward) -> Figure {
        Figure::short(self.counted(way), self.distance_unit(), toward)
    }

    /// A point of the way by its distance from the start, `km 340`; always whole.
    pub fn at(self, point: Kilometres, toward: Toward) -> String {
        let word = if self.miles() { "mile" } else { "km" };
        format!(
            "{word} {}",
            Figure::fixed(self.counted(point), 0, "", toward)
        )
    }

    /// What the odometer shows, `odo 48396`; always whole.
    pub fn odometer(self, reading: Kilometres, toward: Toward) -> String {
        format!(
            "odo {}",
            Figure::fixed(self.counted(reading), 0, "", toward)
        )
    }

    /// Fuel.
    pub fn fuel(self, litres: Litres, toward: Toward) -> Figure {
        match self.0 {
            UnitSystem::Us => Figure::fixed(litres.get() / L_PER_US_GALLON, 1, "gal", toward),
            UnitSystem::Imperial => {
                Figure::fixed(litres.get() / L_PER_IMPERIAL_GALLON, 1, "gal", toward)
            }
            UnitSystem::Metric | UnitSystem::KmPerL => Figure::short(litres.get(), "L", toward),
        }
    }

    /// Spare fuel, needed or carried: to the tenth, since the two are held against one another and rounded apart.
    pub fn spare(self, litres: Litres, toward: Toward) -> Figure {
        match self.0 {
            UnitSystem::Us => Figure::fixed(litres.get() / L_PER_US_GALLON, 2, "gal", toward),
            UnitSystem::Imperial => {
                Figure::fixed(litres.get() / L_PER_IMPERIAL_GALLON, 2, "gal", toward)
            }
            UnitSystem::Metric | UnitSystem::KmPerL => Figure::fixed(litres.get(), 1, "L", toward),
        }
    }

    /// Fuel to the nearest.
    pub fn litres(self, litres: Litres) -> Figure {
        self.fuel(litres, Toward::Nearest)
    }

    /// The size of a can by which its owner calls it: litres in every system.
    pub fn can_size(size: Litres) -> String {
        format!("{} L", trimmed(size.get()))
    }

    /// Consumption, one decimal in every system. Distance for a volume where the reader counts so;
    /// no fuel at all has no such figure and is told as a dash.
    pub fn rate(self, rate: LitresPer100Km) -> Figure {
        let km_per_l = 100.0 / rate.get();
        let shown = match self.0 {
            UnitSystem::Metric => rate.get(),
            UnitSystem::KmPerL => km_per_l,
            UnitSystem::Us => km_per_l / KM_PER_MILE * L_PER_US_GALLON,
            UnitSystem::Imperial => km_per_l / KM_PER_MILE * L_PER_IMPERIAL_GALLON,
        };
        if shown.is_finite() {
            Figure::fixed(shown, 1, self.rate_unit(), Toward::Nearest)
        } else {
            Figure {
                number: "-".to_owned(),
                unit: self.rate_unit(),
            }
        }
    }

    /// Mass, whole.
    pub fn mass(self, mass: Kilograms, toward: Toward) -> Figure {
        if self.0 == UnitSystem::Us {
            Figure::fixed(mass.get() / KG_PER_POUND, 0, "lb", toward)
        } else {
            Figure::fixed(mass.get(), 0, "kg", toward)
        }
    }

    /// Height or climb, in tens: maps and tracks tell no more.
    pub fn height(self, height: Metres) -> Figure {
        let (shown, unit) = if self.miles() {
            (height.get() / M_PER_FOOT, "ft")
        } else {
            (height.get(), "m")
        };
        let tens = Toward::Nearest.round(shown, 10.0);
        Figure::fixed(tens, 0, unit, Toward::Nearest)
    }

    /// Speed, whole.
    pub fn speed(self, speed: KilometresPerHour, toward: Toward) -> Figure {
        if self.miles() {
            Figure::fixed(speed.get() / KM_PER_MILE, 0, "mph", toward)
        } else {
            Figure::fixed(speed.get(), 0, "km/h", toward)
        }
    }

    /// Time, `3:20 h`, to five minutes from an hour on.
    pub fn time(self, time: Hours) -> Figure {
        let minutes = time.get() * 60.0;
        let step = if minutes < 60.0 { 1.0 } else { 5.0 };
        let minutes = Toward::Nearest.round(minutes, step);
        let number = if minutes.is_finite() {
            format!("{:.0}:{:02.0}", (minutes / 60.0).floor(), minutes % 60.0)
        } else {
            "?".to_owned()
        };
        Figure { number, unit: "h" }
    }

    /// Temperature, whole.
    pub fn temperature(self, temperature: Celsius) -> Figure {
        if self.0 == UnitSystem::Us {
            Figure::fixed(
                temperature.get() * 1.8 + 32.0,
                0,
                "\u{b0}F",
                Toward::Nearest,
            )
        } else {
            Figure::fixed(temperature.get(), 0, "\u{b0}C", Toward::Nearest)
        }
    }

    /// Tyre pressure.
    pub fn pressure(self, pressure: Bar) -> Figure {
        Figure::fixed(pressure.get(), 1, "bar", Toward::Nearest)
    }

    /// What the gauge shows when the tank holds `in_tank`, its unusable part included, in eighths
    /// of `tank`: `5/8`, `full`, `empty`.
    pub fn gauge(self, in_tank: Litres, tank: Litres, toward: Toward) -> &'static str {
        const MARKS: [&str; 9] = [
            "empty", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8", "full",
        ];
        let eighths = toward.round((in_tank / tank).clamp(0.0, 1.0), 0.125) * 8.0;
        (0_u8..)
            .zip(MARKS)
            .take_while(|&(mark, _)| f64::from(mark) <= eighths)
            .last()
            .map_or("empty", |(_, word)| word)
    }
}

/// How a unit of the trip file is told in another system.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    unit: &'static str,
    /// What one unit of the reader is in the file's unit; or, turned, the product of the two figures.
    one: f64,
    /// What 0 of the file's unit is to the reader.
    zero: f64,
    turned: bool,
}

impl Scale {
    const fn of(unit: &'static str, one: f64) -> Self {
        Self {
            unit,
            one,
            zero: 0.0,
            turned: false,
        }
    }

    const fn turned(unit: &'static str, product: f64) -> Self {
        Self {
            turned: true,
            ..Self::of(unit, product)
        }
    }

    /// The reader's unit.
    pub const fn unit(self) -> &'static str {
        self.unit
    }

    /// Whether more of one is less of the other.
    pub const fn is_turned(self) -> bool {
        self.turned
    }

    /// A number of the file as the reader's, to four decimals.
    pub fn shown(self, stated: Option<Number>) -> String {
        let Some(stated) = stated.and_then(|stated| stated.as_f64()) else {
            return String::new();
        };
        let shown = if self.turned {
            self.one / stated
        } else {
            stated / self.one + self.zero
        };
        let text = format!("{shown:.4}");
        let text = text.trim_end_matches('0').trim_end_matches('.');
        if text == "-0" { "0" } else { text }.to_owned()
    }

    /// A number of the reader as the file's; nothing where it has none.
    pub fn stated(self, shown: &Number) -> Option<Number> {
        let shown = shown.as_f64()?;
        Number::from_f64(if self.turned {
            self.one / shown
        } else {
            (shown - self.zero) * self.one
        })
    }
}

impl Units {
    /// How a unit of the trip file is told to the reader; nothing where it is told as it is.
    pub fn scale(self, unit: &str) -> Option<Scale> {
        let us = self.0 == UnitSystem::Us;
        let gallon = if us {
            L_PER_US_GALLON
        } else {
            L_PER_IMPERIAL_GALLON
        };
        match (unit, self.0) {
            ("L/100 km", UnitSystem::KmPerL) => Some(Scale::turned("km/L", 100.0)),
            (_, UnitSystem::Metric | UnitSystem::KmPerL) => None,
            ("L/100 km", _) => Some(Scale::turned("mpg", 100.0 / KM_PER_MILE * gallon)),
            ("km", _) => Some(Scale::of("mi", KM_PER_MILE)),
            ("km/h", _) => Some(Scale::of("mph", KM_PER_MILE)),
            ("m", _) => Some(Scale::of("ft", M_PER_FOOT)),
            ("L", _) => Some(Scale::of("gal", gallon)),
            ("kg", UnitSystem::Us) => Some(Scale::of("lb", KG_PER_POUND)),
            ("\u{b0}C", UnitSystem::Us) => Some(Scale {
                zero: 32.0,
                ..Scale::of("\u{b0}F", 1.0 / 1.8)
            }),
            _ => None,
        }
    }
}

/// A part of a whole in whole per cent; what is not certain is never told as 100 %, nor what is possible as 0 %.
pub fn percent(share: Share) -> Figure {
    let whole = (share.get() * 100.0).round();
    let shown = if share.get() < 1.0 && share.get() > 0.0 {
        whole.clamp(1.0, 99.0)
    } else {
        whole
    };
    Figure::fixed(shown, 0, "%", Toward::Nearest)
}

/// Odds in tenths of a per cent, whole ones without the tenth; what may happen is never told as certain or impossible.
pub fn odds(share: Share) -> String {
    let tenths = (share.get() * 1000.0).round() / 10.0;
    if tenths <= 0.0 {
        "<0.1 %".to_owned()
    } else if tenths >= 100.0 {
        ">99.9 %".to_owned()
    } else {
        format!("{} %", trimmed(tenths))
    }
}

/// A factor, two decimals.
pub fn factor(factor: Factor) -> String {
    Figure::fixed(factor.get(), 2, "", Toward::Nearest).number
}

/// Money in the trip's currency, whole from a hundred upward.
pub fn money(money: Money, currency: Option<&str>) -> String {
    let decimals = if money.get().abs() < 99.995 { 2 } else { 0 };
    let number = Figure::fixed(money.get(), decimals, "", Toward::Nearest).number;
    match currency {
        Some(currency) => format!("{number} {}", super::name::plain(currency)),
        None => number,
    }
}

/// A number with at most two decimals and no zeros at its end.
pub fn trimmed(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
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
        assert_eq!(IMPERIAL.litres(Litres::new(20.0)).to_string(), "4.4 gal");
        assert_eq!(
            US.mass(Kilograms::new(100.0), Toward::Up).to_string(),
            "221 lb"
        );
        assert_eq!(
            IMPERIAL.mass(Kilograms::new(100.4), Toward::Up).to_string(),
            "101 kg"
        );
        assert_eq!(METRIC.time(Hours::new(3.34)).to_string(), "3:20 h");
        assert_eq!(METRIC.time(Hours::new(0.999)).to_string(), "1:00 h");
    }

    #[test]
    fn the_gauge_is_read_in_eighths_to_the_safe_side() {
        let (in_tank, tank) = (Litres::new(32.0), Litres::new(55.0));
        assert_eq!(METRIC.gauge(in_tank, tank, Toward::Nearest), "5/8");
        assert_eq!(METRIC.gauge(in_tank, tank, Toward::Down), "1/2");
        assert_eq!(METRIC.gauge(in_tank, tank, Toward::Up), "5/8");
        assert_eq!(METRIC.gauge(tank, tank, Toward::Down), "full");
        assert_eq!(
            METRIC.gauge(Litres::new(-3.0), tank, Toward::Nearest),
            "empty"
        );
    }

    #[test]
    fn chances_are_never_told_as_certain_when_they_are_not() {
        assert_eq!(percent(Share::new(0.999)).to_string(), "99 %");
        assert_eq!(percent(Share::new(0.001)).to_string(), "1 %");
        assert_eq!(percent(Share::new(1.0)).to_string(), "100 %");
    }

    proptest! {
        /// Law: the three ways of rounding stand in order and within one step of the value.
        #[test]
        fn rounding_keeps_its_promise(value in -500.0..500.0_f64) {
            let shown = |toward| METRIC.fuel(Litres::new(value), toward).number.parse::<f64>().unwrap();
            let (down, near, up) = (shown(Toward::Down), shown(Toward::Nearest), shown(Toward::Up));
            prop_assert!(down <= value + 2e-6 && value <= up + 2e-6, "{down} {value} {up}");
            prop_assert!(up - down <= 1.000_001 && (near - value).abs() <= 0.500_001);
        }
    }
}
