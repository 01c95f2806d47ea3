//! How much fuel a private person may carry in cans: a small table of published limits.
//!
//! The trip file names no country, so every row is looked at and a broken one is told with its name; which law holds
//! on the way is for the traveller to find out. Left out: what shops may fill, ferries, tunnels, parking in
//! buildings, and every country for which no published figure was at hand; many have lower limits.

use crate::model::vocabulary::Fuel;
use crate::quantity::Litres;

use super::cans::{self, ChosenCans};

/// One published limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jurisdiction {
    /// Where it holds.
    pub name: &'static str,
    /// Where it is written, and of when that is.
    pub source: &'static str,
    /// Whether it speaks of diesel too.
    pub diesel: bool,
    /// The largest can, by its size.
    pub can: Option<Litres>,
    /// The most in all cans of a vehicle.
    pub vehicle: Option<Litres>,
}

/// The table.
pub const JURISDICTIONS: [Jurisdiction; 2] = [
    // Quoted second hand: carriage by private individuals in refillable receptacles is exempt up to these amounts.
    Jurisdiction {
        name: "countries of the ADR agreement",
        source: "ADR 2017, 1.1.3.1(a)",
        diesel: true,
        can: Some(Litres::new(60.0)),
        vehicle: Some(Litres::new(240.0)),
    },
    // The state's mines department, "Transporting containers of petrol", undated: service stations fill containers
    // of at most 25 L with petrol. The 250 L of its dangerous goods law for all packages are quoted second hand.
    Jurisdiction {
        name: "Western Australia",
        source: "the state's mines department, undated, and its transport rules as quoted in 2012",
        diesel: false,
        can: Some(Litres::new(25.0)),
        vehicle: Some(Litres::new(250.0)),
    },
];

/// A row of the table that a set of cans breaks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Broken {
    /// The row.
    pub of: Jurisdiction,
    /// The largest can, where it is larger than allowed.
    pub can: Option<Litres>,
    /// The fuel in all cans, where that is more than allowed.
    pub vehicle: Option<Litres>,
}

/// The rows that a set breaks.
pub fn broken(fuel: Fuel, set: &[ChosenCans]) -> Vec<Broken> {
    let held = cans::fill(set);
    let largest = set
        .iter()
        .map(|cans| cans.size)
        .fold(Litres::ZERO, Litres::max);
    JURISDICTIONS
        .into_iter()
        .filter(|row| fuel == Fuel::Petrol || row.diesel)
        .map(|row| Broken {
            of: row,
            can: row.can.filter(|&most| largest > most).map(|_| largest),
            vehicle: row.vehicle.filter(|&most| held > most).map(|_| held),
        })
        .filter(|broken| broken.can.or(broken.vehicle).is_some())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::vocabulary::CarryingPlace;
    use crate::quantity::Kilograms;

    fn cans(size: f64, count: u32) -> Vec<ChosenCans> {
        vec![ChosenCans {
            size: Litres::new(size),
            fill: Litres::new(size),
            empty: Kilograms::new(4.0),
            count,
            place: CarryingPlace::Rear,
            to_buy: 0,
        }]
    }

    fn names(fuel: Fuel, set: &[ChosenCans]) -> Vec<&'static str> {
        broken(fuel, set).iter().map(|row| row.of.name).collect()
    }

    #[test]
    fn a_row_is_broken_by_more_than_it_says_and_not_by_as_much() {
        let adr = JURISDICTIONS[0].name;
        assert!(names(Fuel::Diesel, &cans(60.0, 4)).is_empty());
        assert_eq!(names(Fuel::Diesel, &cans(60.1, 1)), [adr]);
        assert_eq!(names(Fuel::Diesel, &cans(20.0, 13)), [adr]);
        let found = broken(Fuel::Diesel, &cans(20.0, 13));
        assert_eq!(found[0].vehicle, Some(Litres::new(260.0)));
        assert_eq!(found[0].can, None);
    }

    #[test]
    fn petrol_has_more_rules_than_diesel() {
        let western = JURISDICTIONS[1].name;
        assert_eq!(names(Fuel::Petrol, &cans(30.0, 1)), [western]);
        assert!(names(Fuel::Diesel, &cans(30.0, 1)).is_empty());
    }
}
