//! Water and food against the days of the trip, and against the way back from the farthest turn-back point.
//!
//! Water is counted by the stated need of a person and day, a litre to the kilogram; food, which the trip file does not
//! distinguish from other gear, by what is stated to be used up of it in a day. Left out: water that is drawn on the
//! route.

use crate::model::Trip;
use crate::quantity::{Celsius, Days, Kilograms, Litres};
use crate::solver::filling::hottest_air;

use crate::plan::parts::legs::PlannedLeg;
use crate::plan::parts::stages::Stage;
use crate::plan::parts::supplies::{Supplies, Supply, Water, WaterAtTurnBack};

/// Drinking water of a person and day where it is cool: Sphere Handbook 2011, 2.5 to 3 L.
const COOL_NEED: Litres = Litres::new(3.0);
/// Up to here it is cool. Common practice, no source.
const COOL: Celsius = Celsius::new(25.0);
/// Drinking water of a person and day at normal work at [`HOT`]: Mudambo 1997.
const HOT_NEED: Litres = Litres::new(7.0);
/// The temperature for which [`HOT_NEED`] was published.
const HOT: Celsius = Celsius::new(40.0);

/// What people drink in a day when the air is this warm: on a straight line between the two published figures, and not
/// beyond them.
pub(crate) fn need_in_heat(air: Celsius) -> Litres {
    let part = ((air - COOL) / (HOT - COOL)).clamp(0.0, 1.0);
    COOL_NEED + (HOT_NEED - COOL_NEED) * part
}

/// Of what less is used up in a day, as much as nothing is: it outlasts every trip.
const LEAST_A_DAY: Kilograms = Kilograms::new(0.001);

/// The supplies of a trip that is laid out in legs and stages.
pub(super) fn calculate(trip: &Trip, legs: &[PlannedLeg], stages: &[Stage]) -> Supplies {
    let items = trip.load().gear();
    let others = items.iter().filter(|item| !item.is_water());
    let others = others.filter_map(|item| {
        let a_day = item.use_per_day_kg.filter(|&used| used >= LEAST_A_DAY)?;
        Some(Supply {
            name: item.name.clone(),
            on_board: item.mass_kg,
            a_day,
            lasts: Days::new(item.mass_kg / a_day),
        })
    });
    Supplies {
        days: Days::new(f64::from(legs.last().map_or(1, |leg| leg.day))),
        water: water(trip, legs, stages),
        others: others.collect(),
    }
}

fn water(trip: &Trip, legs: &[PlannedLeg], stages: &[Stage]) -> Option<Water> {
    let people = trip.load().people().len() as f64;
    let items = || trip.load().gear().iter().filter(|item| item.is_water());
    let person_day = trip.rules().water_per_person_day();
    items().next()?;
    let on_board: Kilograms = items().map(|item| item.mass_kg).sum();
    let on_board = Litres::new(on_board.get());
    let a_day = person_day * people;
    if a_day.get() < LEAST_A_DAY.get() {
        return None;
    }
    let lasts = Days::new(on_board / a_day);
    let point = stages.iter().rev().find_map(|stage| stage.turn_back);
    let at_turn_back = point.and_then(|point| {
        let day = legs.iter().rfind(|leg| leg.from_km <= point.at_km)?.day;
        let left = legs.get(point.refuge)?.day;
        Some(WaterAtTurnBack {
            at_km: point.at_km,
            lasts: (lasts - Days::new(f64::from(day.saturating_sub(1)))).max(Days::ZERO),
            back: Days::new(f64::from(day.saturating_sub(left) + 1)),
        })
    });
    Some(Water {
        on_board,
        person_day,
        in_heat: hottest_air(trip).map(need_in_heat),
        a_day,
        lasts,
        at_turn_back,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_drink_more_in_the_heat_and_no_more_than_was_measured() {
        let need = |air| need_in_heat(Celsius::new(air)).get();
        assert!((need(10.0) - 3.0).abs() < 1e-12);
        assert!((need(32.5) - 5.0).abs() < 1e-12);
        assert!((need(40.0) - 7.0).abs() < 1e-12);
        assert!((need(50.0) - 7.0).abs() < 1e-12);
    }
}
