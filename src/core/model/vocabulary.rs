//! The closed vocabularies of the trip file, each word once.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

macro_rules! vocabulary {
    ($($(#[$doc:meta])* $name:ident { $($(#[$word_doc:meta])* $variant:ident = $word:literal),+ $(,)? })+) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema)]
        #[schemars(inline)]
        pub enum $name {
            $($(#[$word_doc])* #[serde(rename = $word)] $variant),+
        }

        impl $name {
            /// Every word, in the order of the documentation.
            pub const WORDS: &'static [&'static str] = &[$($word),+];
            /// Every value, in the same order.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word of a value in a file.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word),+
                }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.word())
            }
        }
    )+};
}

vocabulary! {
    /// Fuel type of the engine.
    Fuel {
        /// Petrol.
        Petrol = "petrol",
        /// Diesel.
        Diesel = "diesel",
    }
    /// How the engine takes in air.
    Induction {
        /// Naturally aspirated: thin air takes power.
        Natural = "natural",
        /// Turbocharged.
        Turbo = "turbo",
    }
    /// Source of the baseline consumption, which sets its uncertainty.
    BaselineFrom {
        /// The vehicle's own fill-ups.
        Fills = "fills",
        /// A type-approval label or handbook.
        Label = "label",
        /// A guess.
        Guess = "guess",
    }
    /// Tyres of the baseline conditions.
    BaselineTyres {
        /// The standard tyres.
        Standard = "standard",
        /// The tyres that are fitted for the trip.
        Fitted = "fitted",
    }
    /// Whether the baseline distance was true or the uncorrected odometer distance.
    BaselineOdometer {
        /// True distance.
        True = "true",
        /// As shown by the odometer.
        Shown = "shown",
    }
    /// Source of the kerb mass.
    KerbFrom {
        /// A handbook.
        Book = "book",
        /// A weighbridge.
        Weighbridge = "weighbridge",
    }
    /// Surface of a leg.
    Surface {
        /// Asphalt or concrete.
        Sealed = "sealed",
        /// Graded gravel.
        Gravel = "gravel",
        /// Gravel worn into transverse ripples.
        Corrugated = "corrugated",
        /// An unformed track on soil.
        Earth = "earth",
        /// Rock steps and stones.
        Rock = "rock",
        /// Mud.
        Mud = "mud",
        /// Salt pan.
        Salt = "salt",
        /// Snow.
        Snow = "snow",
    }
    /// Where the surface of a leg comes from.
    SurfaceFrom {
        /// The user.
        Own = "own",
        /// `OpenStreetMap` data.
        Map = "map",
        /// A map that states that it is invented.
        InventedMap = "invented-map",
    }
    /// What of a leg may stop or endanger a vehicle, or costs money.
    Hazard {
        /// Four-wheel drive only.
        FourWheelOnly = "4wd-only",
        /// A ford.
        Ford = "ford",
        /// Open in a season only.
        Seasonal = "seasonal",
        /// Closed to motor vehicles.
        NoAccess = "no-access",
        /// A private road.
        Private = "private",
        /// A toll.
        Toll = "toll",
        /// A ferry.
        Ferry = "ferry",
        /// So rough that high clearance is needed.
        Rough = "rough",
        /// For off-road vehicles only.
        VeryRough = "very-rough",
        /// For specialised off-road vehicles only.
        Extreme = "extreme",
        /// Impassable for vehicles with wheels.
        Impassable = "impassable",
    }
    /// Type of roof load, by its drag.
    RoofShape {
        /// Nothing.
        None = "none",
        /// Bare cross bars.
        Bars = "bars",
        /// An open rack.
        OpenRack = "open-rack",
        /// A rack with a low load.
        LowLoad = "low-load",
        /// A closed box.
        Box = "box",
        /// A folded tent.
        Tent = "tent",
        /// A tall load.
        TallLoad = "tall-load",
    }
    /// Tread of the tyres.
    Tread {
        /// Road tread.
        Road = "road",
        /// All-terrain tread.
        AllTerrain = "all-terrain",
        /// Mud tread.
        Mud = "mud",
    }
    /// Where a person sits.
    Seat {
        /// In the front seats.
        Front = "front",
        /// In the rear seats.
        Rear = "rear",
    }
    /// Where gear or cans are carried.
    CarryingPlace {
        /// In the cabin.
        Cabin = "cabin",
        /// In the cargo area.
        Cargo = "cargo",
        /// On the rear carrier.
        Rear = "rear",
        /// On the roof.
        Roof = "roof",
    }
    /// Objective of the fills.
    Objective {
        /// The fewest cans.
        FewestCans = "fewest-cans",
        /// The lowest cost.
        LeastCost = "least-cost",
    }
    /// What to do about an unconfirmed fuel stop.
    UnconfirmedStops {
        /// Carry enough to pass it.
        Skip = "skip",
        /// Rely on it if it is possible to return from it.
        TurnBack = "turn-back",
    }
    /// Whether the plan relies on a fuel stop.
    Rely {
        /// Where the success target allows it.
        Auto = "auto",
        /// Never: it is used if it has fuel, and nothing depends on it.
        Never = "never",
        /// Always, whatever its chance of fuel.
        Always = "always",
    }
    /// How the fuel of a reading was measured.
    Measured {
        /// Filled to the brim.
        Brim = "brim",
        /// With a dipstick.
        Dip = "dip",
        /// By the fuel gauge.
        Gauge = "gauge",
    }
    /// Units of display.
    UnitSystem {
        /// Kilometres, litres, L/100 km, kg.
        Metric = "metric",
        /// Miles, US gallons, mpg, lb.
        Us = "us",
        /// Miles, imperial gallons, mpg, kg.
        Imperial = "imperial",
        /// Kilometres, litres, km/L, kg.
        KmPerL = "km-per-l",
    }
}
