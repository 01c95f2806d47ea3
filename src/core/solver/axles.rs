//! What is on the front and on the rear axle, by moments about the rear one.
//!
//! A mass `x` ahead of the rear axle puts `x / wheelbase` of itself on the front axle and the rest on the rear one; a
//! mass behind the rear axle lifts the front. The empty vehicle's own share follows from what the front axle carries
//! at kerb mass, less what the kerb mass holds of driver and fuel. Left out: slopes, braking, and where in a place the
//! gear is.

use crate::consumption::engine::fuel_density;
use crate::model::Trip;
use crate::model::vehicle::{AxlePlace, Axles, Vehicle};
use crate::model::vocabulary::{CarryingPlace, Seat};
use crate::quantity::{Factor, Kilograms, Litres, Metres};

use super::cans::ChosenCans;

/// A mass and where it acts, forward of the rear axle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Weight {
    pub(crate) mass: Kilograms,
    /// Metres forward of the rear axle; negative behind it.
    pub(crate) x: Metres,
}

/// The load of each axle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AxleLoads {
    /// On the front axle.
    pub front: Kilograms,
    /// On the rear axle.
    pub rear: Kilograms,
}

impl AxleLoads {
    /// The loads that `weights` put on two axles `wheelbase` apart.
    pub(crate) fn from_weights(
        wheelbase: Metres,
        weights: impl IntoIterator<Item = Weight>,
    ) -> Self {
        let none = Self {
            front: Kilograms::ZERO,
            rear: Kilograms::ZERO,
        };
        weights.into_iter().fold(none, |loads, weight| {
            let front = weight.mass * (weight.x / wheelbase);
            Self {
                front: loads.front + front,
                rear: loads.rear + weight.mass - front,
            }
        })
    }
}

/// Where masses act on a vehicle whose wheelbase and front axle load at kerb mass are known.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Moments<'a> {
    axles: &'a Axles,
    wheelbase: Metres,
    front_kerb: Kilograms,
}

impl<'a> Moments<'a> {
    /// `None` if the wheelbase or the front axle's part of the kerb mass is not stated.
    pub(crate) fn from_vehicle(vehicle: &'a Vehicle) -> Option<Self> {
        let axles = vehicle.axles.as_ref()?;
        Some(Self {
            axles,
            wheelbase: axles.wheelbase_m.filter(|&length| length > Metres::ZERO)?,
            front_kerb: axles.front_kerb_kg?,
        })
    }

    /// What a kilogram in a place puts on the front axle; negative behind the rear axle.
    pub(crate) fn on_front(&self, place: AxlePlace) -> Factor {
        Factor::new(self.axles.place_x(self.wheelbase, place) / self.wheelbase)
    }

    fn weight(&self, place: AxlePlace, mass: Kilograms) -> Weight {
        Weight {
            mass,
            x: self.axles.place_x(self.wheelbase, place),
        }
    }

    /// The stated kerb mass as the load of each axle, less what it holds that is counted elsewhere. Accessories
    /// that the load lists again are taken out of the cargo area (common practice, no source).
    fn empty(&self, vehicle: &Vehicle) -> [Weight; 5] {
        let fuel = vehicle.tank_l * vehicle.kerb_tank_share().get() * fuel_density(vehicle.fuel);
        [
            Weight {
                mass: self.front_kerb,
                x: self.wheelbase,
            },
            Weight {
                mass: vehicle.kerb_mass_kg - self.front_kerb,
                x: Metres::ZERO,
            },
            self.weight(AxlePlace::FrontSeats, -vehicle.kerb_driver()),
            self.weight(AxlePlace::Tank, -fuel),
            self.weight(
                AxlePlace::Carried(CarryingPlace::Cargo),
                -vehicle.kerb_accessories(),
            ),
        ]
    }

    /// Everything but the fuel that the fuel stop can draw and the fuel in cans, on `day`.
    fn without_fuel(&self, trip: &Trip, set: &[ChosenCans], day: u32) -> Vec<Weight> {
        let (vehicle, load) = (&trip.vehicle, trip.load());
        let people = load.people().iter().map(|person| {
            let seat = match person.seat() {
                Seat::Front => AxlePlace::FrontSeats,
                Seat::Rear => AxlePlace::RearSeats,
            };
            self.weight(seat, person.mass_kg)
        });
        let items = load
            .gear()
            .iter()
            .map(|item| self.weight(AxlePlace::Carried(item.place()), item.mass_on(day)));
        let cans = set.iter().map(|cans| {
            self.weight(
                AxlePlace::Carried(cans.place),
                cans.empty * f64::from(cans.count),
            )
        });
        let rest = [
            self.weight(
                AxlePlace::Carried(CarryingPlace::Roof),
                load.roof_carrier_mass(),
            ),
            self.weight(
                AxlePlace::Tank,
                vehicle.unusable() * fuel_density(vehicle.fuel),
            ),
        ];
        self.empty(vehicle)
            .into_iter()
            .chain(people)
            .chain(items)
            .chain(cans)
            .chain(rest)
            .collect()
    }

    /// The loads with `in_tank` and `in_cans` usable litres on board. Which cans are still full is the driver's choice,
    /// so each axle is given the worse of it: the cans that weigh most on it are the full ones.
    pub(crate) fn loads(
        &self,
        trip: &Trip,
        set: &[ChosenCans],
        day: u32,
        in_tank: Litres,
        in_cans: Litres,
    ) -> AxleLoads {
        let density = fuel_density(trip.vehicle.fuel);
        let mut weights = self.without_fuel(trip, set, day);
        weights.push(self.weight(AxlePlace::Tank, in_tank * density));
        let bare = AxleLoads::from_weights(self.wheelbase, weights);
        let mut cans: Vec<(Weight, Litres)> = set
            .iter()
            .map(|cans| {
                let place = AxlePlace::Carried(cans.place);
                (
                    self.weight(place, Kilograms::ZERO),
                    cans.fill * f64::from(cans.count),
                )
            })
            .collect();
        cans.sort_by(|a, b| a.0.x.get().total_cmp(&b.0.x.get()));
        let filled = |order: &mut dyn Iterator<Item = &(Weight, Litres)>| {
            let mut left = in_cans;
            let full = order.map(|&(place, fill)| {
                let litres = fill.min(left);
                left -= litres;
                Weight {
                    mass: litres * density,
                    ..place
                }
            });
            AxleLoads::from_weights(self.wheelbase, full.collect::<Vec<_>>())
        };
        AxleLoads {
            front: bare.front + filled(&mut cans.iter().rev()).front,
            rear: bare.rear + filled(&mut cans.iter()).rear,
        }
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    fn near(mass: Kilograms, by_hand: f64) {
        assert!(
            (mass.get() - by_hand).abs() < 1e-9,
            "{mass:?}, by hand {by_hand}"
        );
    }

    /// A statics example in print: 1800, 160, 250, 50 and 90 kg at 135, 205, 60, 145 and −60 cm ahead of the rear axle,
    /// wheelbase 220 cm: 1330.2 kg in front, 1019.8 kg behind.
    #[test]
    fn moments_give_the_loads_of_the_published_example() {
        let masses = [
            (1800.0, 1.35),
            (160.0, 2.05),
            (250.0, 0.60),
            (50.0, 1.45),
            (90.0, -0.60),
        ];
        let weights = masses.map(|(mass, x)| Weight {
            mass: Kilograms::new(mass),
            x: Metres::new(x),
        });
        let loads = AxleLoads::from_weights(Metres::new(2.2), weights);
        assert!((loads.front.get() - 1330.2).abs() < 0.05, "{loads:?}");
        assert!((loads.rear.get() - 1019.8).abs() < 0.05, "{loads:?}");
    }

    fn trip(kerb: f64, front: f64, driver: f64, tank_share: f64) -> Trip {
        serde_json::from_value(json!({
            "drystage": 1,
            "vehicle": {
                "fuel": "petrol", "engine_l": 1.8, "baseline_l_per_100km": 9, "tank_l": 50, "unusable_l": 2,
                "kerb_mass_kg": kerb, "kerb_includes": { "tank_share": tank_share, "driver_kg": driver },
                "axles": { "wheelbase_m": 2.0, "front_kerb_kg": front, "place_x_m": { "rear": -0.8, "front_seats": 0.9,
                           "tank": 0.1, "roof": 0.5 } }
            },
            "load": {
                "people": [{ "name": "driver", "mass_kg": 80 }],
                "gear": [{ "name": "water", "mass_kg": 40, "place": "rear", "use_per_day_kg": 10 }]
            },
            "start": { "name": "here" },
            "legs": [{ "to": "there", "distance_km": 100 }]
        }))
        .unwrap()
    }

    fn cans(count: u32, place: CarryingPlace) -> ChosenCans {
        ChosenCans {
            size: Litres::new(20.0),
            fill: Litres::new(19.0),
            empty: Kilograms::new(4.0),
            count,
            place,
            to_buy: 0,
            rank: 0,
        }
    }

    fn loads(trip: &Trip, set: &[ChosenCans], day: u32, litres: [f64; 2]) -> AxleLoads {
        let [tank, cans] = litres.map(Litres::new);
        Moments::from_vehicle(&trip.vehicle)
            .unwrap()
            .loads(trip, set, day, tank, cans)
    }

    /// By hand, kerb mass dry and without driver: 700 + 80 · 0.45 + 40 · (−0.4) + 1.49 · 0.05 in front.
    #[test]
    fn crew_and_water_act_where_they_are() {
        let trip = trip(1300.0, 700.0, 0.0, 0.0);
        let full = loads(&trip, &[], 1, [0.0, 0.0]);
        near(full.front, 700.0 + 36.0 - 16.0 + 0.0745);
        near(full.rear, 600.0 + 44.0 + 56.0 + 1.4155);
        let later = loads(&trip, &[], 3, [0.0, 0.0]);
        near(later.front - full.front, 8.0);
        near(later.rear - full.rear, -28.0);
    }

    /// One vehicle weighed dry, with the tank full, and with a driver of 75 kg and nine tenths of the tank
    /// (Reg. (EU) 1230/2012): one loaded vehicle comes out.
    #[test]
    fn definitions_of_kerb_mass_agree() {
        let fuel = |share: f64| 50.0 * share * 0.745;
        let dry = trip(1300.0, 700.0, 0.0, 0.0);
        let iso = trip(1300.0 + fuel(1.0), 700.0 + fuel(1.0) * 0.05, 0.0, 1.0);
        let eu = trip(
            1300.0 + fuel(0.9) + 75.0,
            700.0 + fuel(0.9) * 0.05 + 75.0 * 0.45,
            75.0,
            0.9,
        );
        let expected = loads(&dry, &[], 1, [40.0, 0.0]);
        for other in [iso, eu] {
            let found = loads(&other, &[], 1, [40.0, 0.0]);
            near(found.front, expected.front.get());
            near(found.rear, expected.rear.get());
        }
    }

    /// With one of two cans full, the rear axle is given the one behind it and the front axle the one on the roof.
    #[test]
    fn each_axle_is_given_the_worse_of_what_cans_are_full() {
        let trip = trip(1300.0, 700.0, 0.0, 0.0);
        let set = [cans(1, CarryingPlace::Rear), cans(1, CarryingPlace::Roof)];
        let empty = loads(&trip, &set, 1, [0.0, 0.0]);
        let half = loads(&trip, &set, 1, [0.0, 19.0]);
        near(half.rear - empty.rear, 19.0 * 0.745 * 1.4);
        near(half.front - empty.front, 19.0 * 0.745 * 0.25);
        let full = loads(&trip, &set, 1, [0.0, 38.0]);
        near(
            full.front + full.rear - empty.front - empty.rear,
            38.0 * 0.745,
        );
    }

    #[test]
    fn nothing_is_said_of_axles_without_wheelbase_or_kerb_load() {
        let mut trip = trip(1300.0, 700.0, 0.0, 0.0);
        let axles = trip.vehicle.axles.as_mut().unwrap();
        axles.front_kerb_kg = None;
        assert!(Moments::from_vehicle(&trip.vehicle).is_none());
        trip.vehicle.axles = None;
        assert!(Moments::from_vehicle(&trip.vehicle).is_none());
    }
}
