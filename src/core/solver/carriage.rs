//! How much fuel a private person may carry in cans: a small table of published limits.
//!
//! The trip file names no country, so every row is looked at and a broken one is reported with its name; which law
//! holds on the route is for the traveller to find out. Left out: what shops may fill, ferries, tunnels, parking in
//! buildings, keeping fuel in a parked vehicle, and every country for which no published figure was at hand; many
//! have lower limits. The federal rules of the United States leave private carriage in one's own vehicle alone (their
//! transport department's answer 11-0009, 2011), so they have no row; its states may have rules of their own.

use crate::consumption::engine::fuel_density;
use crate::model::vocabulary::Fuel;
use crate::quantity::{Kilograms, Litres};

use super::cans::{self, ChosenCans};

/// Where a limit on fuel in cans holds, and what it allows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jurisdiction {
    /// Name of the country or region.
    pub name: &'static str,
    /// Where it is written, and of when that is.
    pub source: &'static str,
    /// Whether it applies to diesel too.
    pub(crate) diesel: bool,
    /// The most that it allows.
    pub most: Carried,
}

/// What is carried in cans, or may be: only what a rule limits.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Carried {
    /// The largest can, by its size.
    pub can: Option<Litres>,
    /// The fuel in all cans of a vehicle.
    pub vehicle: Option<Litres>,
    /// The heaviest can with its fuel.
    pub can_mass: Option<Kilograms>,
    /// All cans of a vehicle with their fuel.
    pub mass: Option<Kilograms>,
}

impl Carried {
    const NOTHING_SAID: Self = Self {
        can: None,
        vehicle: None,
        can_mass: None,
        mass: None,
    };

    /// What a set of cans holds and weighs.
    fn in_cans(fuel: Fuel, set: &[ChosenCans]) -> Self {
        let full = |cans: &ChosenCans| cans.empty + cans.fill * fuel_density(fuel);
        let sizes = set.iter().map(|cans| cans.size);
        Self {
            can: sizes.reduce(Litres::max),
            vehicle: Some(cans::fill(set)),
            can_mass: set.iter().map(full).reduce(Kilograms::max),
            mass: Some(
                set.iter()
                    .map(|cans| full(cans) * f64::from(cans.count))
                    .sum(),
            ),
        }
    }

    /// What of it is more than allowed; `None` if all is allowed.
    fn over(self, most: Self) -> Option<Self> {
        fn over<Q: PartialOrd>(found: Option<Q>, most: Option<Q>) -> Option<Q> {
            let most = most?;
            found.filter(|found| *found > most)
        }
        let over = Self {
            can: over(self.can, most.can),
            vehicle: over(self.vehicle, most.vehicle),
            can_mass: over(self.can_mass, most.can_mass),
            mass: over(self.mass, most.mass),
        };
        (over != Self::NOTHING_SAID).then_some(over)
    }
}

pub(crate) const JURISDICTIONS: [Jurisdiction; 4] = [
    // Quoted second hand: carriage by private individuals in refillable receptacles is exempt up to these amounts.
    Jurisdiction {
        name: "countries of the ADR agreement",
        source: "ADR 2017, 1.1.3.1(a)",
        diesel: true,
        most: Carried {
            can: Some(Litres::new(60.0)),
            vehicle: Some(Litres::new(240.0)),
            ..Carried::NOTHING_SAID
        },
    },
    // The state's mines department, "Transporting containers of petrol", undated: service stations fill containers
    // of at most 25 L with petrol. The 250 L of its dangerous goods law for all packages are quoted second hand.
    Jurisdiction {
        name: "Western Australia",
        source: "the state's mines department, undated, and its transport rules as quoted in 2012",
        diesel: false,
        most: Carried {
            can: Some(Litres::new(25.0)),
            vehicle: Some(Litres::new(250.0)),
            ..Carried::NOTHING_SAID
        },
    },
    // Section 7(2): outside a transport business, a load of less than a quarter of a placard load; that is 1,000 L of
    // such goods, by the neighbouring state's environment authority.
    Jurisdiction {
        name: "the Australian Capital Territory",
        source: "its Dangerous Goods (Road Transport) Regulation 2010, section 7",
        diesel: false,
        most: Carried {
            vehicle: Some(Litres::new(250.0)),
            ..Carried::NOTHING_SAID
        },
    },
    // Section 1.15, quoted second hand: for a user or purchaser, up to 150 kg with the containers, none over 30 kg.
    Jurisdiction {
        name: "Canada",
        source: "Transportation of Dangerous Goods Regulations, section 1.15, as of 2017",
        diesel: false,
        most: Carried {
            can_mass: Some(Kilograms::new(30.0)),
            mass: Some(Kilograms::new(150.0)),
            ..Carried::NOTHING_SAID
        },
    },
];

/// A row of the table that a set of cans breaks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Broken {
    /// The law of that row.
    pub of: Jurisdiction,
    /// What is carried over what the row allows.
    pub over: Carried,
}

/// The rows that a set breaks.
pub(crate) fn broken(fuel: Fuel, set: &[ChosenCans]) -> Vec<Broken> {
    let carried = Carried::in_cans(fuel, set);
    JURISDICTIONS
        .into_iter()
        .filter(|row| fuel == Fuel::Petrol || row.diesel)
        .filter_map(|of| {
            Some(Broken {
                of,
                over: carried.over(of.most)?,
            })
        })
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
            rank: 0,
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
        let over = Carried {
            vehicle: Some(Litres::new(260.0)),
            ..Carried::NOTHING_SAID
        };
        assert_eq!(found[0].over, over);
    }

    #[test]
    fn petrol_has_more_rules_than_diesel() {
        let [_, western, capital, canada] = JURISDICTIONS.map(|row| row.name);
        assert_eq!(names(Fuel::Petrol, &cans(30.0, 1)), [western]);
        assert!(names(Fuel::Diesel, &cans(30.0, 1)).is_empty());
        // 20 L of petrol in a can of 4 kg come to 18.9 kg.
        assert!(names(Fuel::Petrol, &cans(20.0, 7)).is_empty());
        assert_eq!(names(Fuel::Petrol, &cans(20.0, 8)), [canada]);
        assert_eq!(names(Fuel::Petrol, &cans(40.0, 1)), [western, canada]);
        assert!(names(Fuel::Petrol, &cans(25.0, 13)).contains(&capital));
        assert!(names(Fuel::Diesel, &cans(20.0, 12)).is_empty());
    }
}
