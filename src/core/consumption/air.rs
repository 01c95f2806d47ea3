//! The air: its density by height and temperature, and the drag that follows.

use crate::quantity::{Celsius, KilogramsPerCubicMetre, Metres};

/// Density of the standard atmosphere at sea level (ISO 2533).
pub const SEA_LEVEL_DENSITY: KilogramsPerCubicMetre = KilogramsPerCubicMetre::new(1.225);

/// Geopotential height of a height above the sea: what the standard atmosphere reckons with (ISO 2533).
pub fn geopotential(altitude: Metres) -> Metres {
    const RADIUS: f64 = 6_356_766.0;
    Metres::new(RADIUS * altitude.get() / (RADIUS + altitude.get()))
}

/// Temperature of the standard atmosphere: t = 15 − 0.0065 H (ISO 2533).
pub fn standard_temperature(altitude: Metres) -> Celsius {
    Celsius::new(15.0 - 0.0065 * geopotential(altitude).get())
}

/// Density of the air at `altitude`, in the standard atmosphere or at a stated temperature.
///
/// Source: ISO 2533 standard atmosphere, p = 101325 (T/288.15)^5.25588, ρ = p / (287.05287 T), T in kelvins. A
/// stated temperature replaces T in the last formula only: pressure is that of the height.
pub(crate) fn density(altitude: Metres, temperature: Option<Celsius>) -> KilogramsPerCubicMetre {
    let kelvin = |celsius: Celsius| celsius.get() + 273.15;
    let standard = standard_temperature(altitude);
    let pressure = 101_325.0 * (kelvin(standard) / 288.15).powf(5.25588);
    KilogramsPerCubicMetre::new(pressure / (287.05287 * kelvin(temperature.unwrap_or(standard))))
}

/// Newtons of drag on `area` m² at `speed` through the ground against a head wind, both in m/s.
pub(super) fn drag(density: f64, area: f64, speed: f64, head_wind: f64) -> f64 {
    let through_air = speed + head_wind;
    0.5 * density * area * through_air * through_air.abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Density ratios of the ISO 2533 / ICAO standard atmosphere.
    #[test]
    fn density_falls_as_the_standard_atmosphere_says() {
        let ratios = [
            (0.0, 1.0),
            (1000.0, 0.9075),
            (2000.0, 0.8217),
            (3000.0, 0.7423),
            (4000.0, 0.6689),
            (5000.0, 0.6012),
        ];
        for (height, ratio) in ratios {
            let computed = density(Metres::new(height), None) / SEA_LEVEL_DENSITY;
            assert!((computed - ratio).abs() < 1e-4, "{height} m: {computed}");
        }
    }

    #[test]
    fn warm_air_is_thinner() {
        let at = |celsius| density(Metres::new(2200.0), Some(Celsius::new(celsius)));
        assert!(at(35.0) < at(5.0));
    }

    /// ½ · 1.225 · 1.1 · (80/3.6)² = 332.7 N, exact arithmetic.
    #[test]
    fn drag_at_eighty() {
        assert!((drag(1.225, 1.1, 80.0 / 3.6, 0.0) - 332.7).abs() < 0.05);
    }

    /// Out and back against a wind w the mean is ½ρA(v² + w²), so always dearer than calm air.
    #[test]
    fn wind_out_and_back_is_dearer_than_calm() {
        let (v, w) = (20.0, 5.0);
        let mean = f64::midpoint(drag(1.2, 1.0, v, w), drag(1.2, 1.0, v, -w));
        assert!((mean - 0.5 * 1.2 * (v * v + w * w)).abs() < 1e-9);
        assert!(mean > drag(1.2, 1.0, v, 0.0));
    }
}
