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

            /// The word that stands for the value in a file.
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
    /// What the engine burns.
    Fuel {
        /// Petrol.
        Petrol = "petrol",
        /// Diesel.
        Diesel = "diesel",
    }
    /// How the engine breathes.
    Induction {
        /// Naturally aspirated: thin air takes power.
        Natural = "natural",
        /// Turbocharged.
        Turbo = "turbo",
    }
    /// Where the base figure comes from; it decides how far the figure is trusted.
    BaselineFrom {
        /// The vehicle's own fill-ups.
        Fills = "fills",
        /// A type-approval label or handbook.
        Label = "label",
        /// A guess.
        Guess = "guess",
    }
    /// Which tyres the base figure was measured on.
    BaselineTyres {
        /// The standard tyres.
        Standard = "standard",
        /// The tyres that are fitted for the trip.
        Fitted = "fitted",
    }
    /// Whether the distance behind the base figure was true or as the odometer showed it.
    BaselineOdometer {
        /// True distance.
        True = "true",
        /// As shown by the odometer.
        Shown = "shown",
    }
    /// Where the kerb mass comes from.
    KerbFrom {
        /// A handbook.
        Book = "book",
        /// A weighbridge.
        Weighbridge = "weighbridge",
    }
    /// The ground under a leg.
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
    /// What stands on the roof, by its drag.
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
        /// In front.
        Front = "front",
        /// Behind.
        Rear = "rear",
    }
    /// Where a thing is carried.
    CarryingPlace {
        /// Among the passengers.
        Cabin = "cabin",
        /// In the load space.
        Cargo = "cargo",
        /// On the rear carrier.
        Rear = "rear",
        /// On the roof.
        Roof = "roof",
    }
    /// What the fill plan is after.
    Objective {
        /// As few cans as will do.
        FewestCans = "fewest-cans",
        /// As little money as will do.
        LeastCost = "least-cost",
    }
    /// What to do about a stop that may be dry.
    UnconfirmedStops {
        /// Carry enough to pass it.
        Skip = "skip",
        /// Rely on it where one can still turn back from it.
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
    /// How fuel was measured on the way.
    Measured {
        /// Filled to the brim.
        Brim = "brim",
        /// By a dip stick.
        Dip = "dip",
        /// Read off the gauge.
        Gauge = "gauge",
    }
    /// Units of display.
    UnitSystem {
        /// Kilometres, litres, L/100 km.
        Metric = "metric",
        /// Miles, US gallons, miles to the gallon.
        Us = "us",
        /// Miles, imperial gallons, miles to the gallon.
        Imperial = "imperial",
        /// Kilometres and litres, kilometres to the litre.
        KmPerL = "km-per-l",
    }
}
