//! The one table of causes: why a leg costs more or less than the base figure.

/// Something that makes a leg's consumption differ from the base figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// Rolling resistance and unsteadiness of the ground.
    Surface,
    /// Speed against the base speed.
    Pace,
    /// Soft sand.
    Sand,
    /// Low range.
    LowRange,
    /// Drag of what stands on the roof.
    Roof,
    /// Mass over the reference mass.
    Load,
    /// Climbs and descents.
    Climb,
    /// Altitude, temperature, wind.
    Air,
    /// Tread, pressure and size of the tyres.
    Tyres,
    /// Air-conditioning and idling.
    Extras,
}

impl Cause {
    /// Every cause, in the order in which it is shown.
    pub const ALL: [Self; 10] = [
        Self::Surface,
        Self::Pace,
        Self::Sand,
        Self::LowRange,
        Self::Roof,
        Self::Load,
        Self::Climb,
        Self::Air,
        Self::Tyres,
        Self::Extras,
    ];

    /// The key that stands for the cause in JSON.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Surface => "surface",
            Self::Pace => "pace",
            Self::Sand => "sand",
            Self::LowRange => "low_range",
            Self::Roof => "roof",
            Self::Load => "load",
            Self::Climb => "climb",
            Self::Air => "air",
            Self::Tyres => "tyres",
            Self::Extras => "extras",
        }
    }
}
