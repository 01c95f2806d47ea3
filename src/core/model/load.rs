//! What the vehicle carries: people, items, the roof carrier, and the cans to choose from.

use super::vocabulary::{CarryingPlace, RoofShape, Seat};
use crate::quantity::{Kilograms, Litres, Share, SquareMetres};

/// A can is filled to 95 % of its size so that the fuel can expand. Common practice, and by the formula of ADR 4.1.1.4,
/// 98 % / (1 + α·(t − 15 °C)) with α = 0.001213/K, what petrol filled at 15 °C needs in a can that gets no hotter
/// than 41 °C; at the 50 °C of the regulation it is 94.0 %, of diesel 95.2 %. Where a leg states how hot it is,
/// `solver::filling` leaves less of the can than this.
pub(crate) const FILL_SHARE: Share = Share::new(0.95);

/// How many cans of a kind are owned, unless stated.
pub(crate) const OWNED: u32 = 1;
/// How many more cans of a kind could be bought, unless stated.
pub(crate) const MAY_BUY: u32 = 0;
/// Where cans may be carried, unless stated: outside, and low.
pub(crate) const CAN_PLACES: &[CarryingPlace] = &[CarryingPlace::Rear];
/// Where a person sits, unless stated.
pub(crate) const SEAT: Seat = Seat::Front;
/// Default place of gear.
pub(crate) const GEAR_PLACE: CarryingPlace = CarryingPlace::Cargo;

/// The size of a can that is proposed.
pub const CAN_SIZE: Litres = Litres::new(20.0);

/// What an empty can of a size weighs, as it is proposed, to a tenth of a kilogram: a steel can of 20 L weighs 4 to 4.6 kg.
/// Common practice, no source.
pub fn empty_can(size: Litres) -> Kilograms {
    const PER_LITRE: f64 = 0.215;
    Kilograms::new((size.get() * PER_LITRE * 10.0).round() / 10.0)
}

stated! {
    /// What the vehicle carries.
    #[derive(Default)]
    pub struct Load {
        pub people: Option<Vec<Person>>,
        pub gear: Option<Vec<GearItem>>,
        pub roof: Option<RoofCarrier>,
        pub cans: Option<Vec<CanKind>>,
        pub place_ratings_kg: Option<PlaceRatings>,
    }

    /// One person on board.
    pub struct Person {
        pub name: String,
        pub mass_kg: Kilograms,
        pub seat: Option<Seat>,
    }

    /// One piece of gear.
    pub struct GearItem {
        pub name: String,
        pub mass_kg: Kilograms,
        pub place: Option<CarryingPlace>,
        pub use_per_day_kg: Option<Kilograms>,
        pub water: Option<bool>,
        pub safety: Option<bool>,
    }

    /// Roof rack and roof load.
    pub struct RoofCarrier {
        pub shape: RoofShape,
        pub mass_kg: Option<Kilograms>,
        pub rating_kg: Option<Kilograms>,
        pub drag_area_m2: Option<SquareMetres>,
    }

    /// Cans of one size that are owned or could be bought.
    pub struct CanKind {
        pub size_l: Litres,
        pub empty_kg: Kilograms,
        pub owned: Option<u32>,
        pub may_buy: Option<u32>,
        pub places: Option<Vec<CarryingPlace>>,
        pub fill_share: Option<Share>,
    }

    /// Ratings of the carrying places, where one is known.
    #[derive(Default)]
    pub struct PlaceRatings {
        pub cabin: Option<Kilograms>,
        pub cargo: Option<Kilograms>,
        pub rear: Option<Kilograms>,
        pub roof: Option<Kilograms>,
    }
}

impl Load {
    /// The people on board.
    pub fn people(&self) -> &[Person] {
        self.people.as_deref().unwrap_or_default()
    }

    /// The gear that is carried; empty if not set.
    pub fn gear(&self) -> &[GearItem] {
        self.gear.as_deref().unwrap_or_default()
    }

    /// The cans to choose from.
    pub fn cans(&self) -> &[CanKind] {
        self.cans.as_deref().unwrap_or_default()
    }

    /// The roof load before any can is put there; default nothing.
    pub(crate) fn roof_shape(&self) -> RoofShape {
        self.roof
            .as_ref()
            .map_or(RoofShape::None, |roof| roof.shape)
    }

    /// Mass of the roof rack itself; default 0.
    pub(crate) fn roof_carrier_mass(&self) -> Kilograms {
        self.roof
            .as_ref()
            .and_then(|roof| roof.mass_kg)
            .unwrap_or_default()
    }

    /// The rating stated for a carrying place.
    pub(crate) fn place_rating(&self, place: CarryingPlace) -> Option<Kilograms> {
        let ratings = self.place_ratings_kg.as_ref()?;
        match place {
            CarryingPlace::Cabin => ratings.cabin,
            CarryingPlace::Cargo => ratings.cargo,
            CarryingPlace::Rear => ratings.rear,
            CarryingPlace::Roof => ratings.roof,
        }
    }
}

impl Person {
    /// Where the person sits; default in front.
    pub(crate) fn seat(&self) -> Seat {
        self.seat.unwrap_or(SEAT)
    }
}

impl GearItem {
    /// Where the gear is carried; default the cargo area.
    pub(crate) fn place(&self) -> CarryingPlace {
        self.place.unwrap_or(GEAR_PLACE)
    }

    /// Mass of the gear that is left on the morning of `day` (the first day is 1).
    pub(crate) fn mass_on(&self, day: u32) -> Kilograms {
        let used = self.use_per_day_kg.unwrap_or_default() * f64::from(day.saturating_sub(1));
        (self.mass_kg - used).max(Kilograms::ZERO)
    }

    /// Whether the gear is drinking water; default not.
    pub fn is_water(&self) -> bool {
        self.water.unwrap_or(false)
    }
}

impl CanKind {
    /// Fuel in one can that is filled.
    pub(crate) fn fill(&self) -> Litres {
        self.size_l * self.fill_share.unwrap_or(FILL_SHARE).get()
    }

    /// How many are owned; default 1.
    pub(crate) fn owned(&self) -> u32 {
        self.owned.unwrap_or(OWNED)
    }

    /// How many more could be bought; default none.
    pub(crate) fn may_buy(&self) -> u32 {
        self.may_buy.unwrap_or(MAY_BUY)
    }

    /// Where the cans may be carried; default the rear carrier.
    pub fn places(&self) -> &[CarryingPlace] {
        self.places.as_deref().unwrap_or(CAN_PLACES)
    }
}
