//! Tags of `OpenStreetMap` in the words of a trip (pages of its wiki: `Key:surface`, `Key:tracktype`,
//! `Key:smoothness`, `Key:highway`, `Key:access`, `Key:ford`, `Key:4wd_only`, `Key:maxspeed`).

use crate::model::vocabulary::{Hazard, Surface};
use crate::quantity::KilometresPerHour;

/// What a map shows of the surface at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Ground {
    /// A surface of the trip file.
    Known(Surface),
    /// Sand: a track on earth whose distance is soft sand.
    Sand,
    /// `tracktype=grade1`: sealed or gravel.
    Firm,
    /// `tracktype=grade4` or `grade5`: earth, perhaps soft.
    Soft,
    /// A way without a tag on its surface.
    Untagged,
    /// No way of the map.
    Unmapped,
}

impl Ground {
    /// Number of values.
    pub const COUNT: usize = Surface::ALL.len() + 5;

    /// A number below [`Self::COUNT`].
    pub const fn index(self) -> usize {
        match self {
            Self::Known(surface) => surface as usize,
            Self::Sand => Surface::ALL.len(),
            Self::Firm => Surface::ALL.len() + 1,
            Self::Soft => Surface::ALL.len() + 2,
            Self::Untagged => Surface::ALL.len() + 3,
            Self::Unmapped => Surface::ALL.len() + 4,
        }
    }

    /// Every value, in the order of its index.
    pub fn all() -> impl Iterator<Item = Self> {
        let surfaces = Surface::ALL.iter().map(|&surface| Self::Known(surface));
        surfaces.chain([
            Self::Sand,
            Self::Firm,
            Self::Soft,
            Self::Untagged,
            Self::Unmapped,
        ])
    }

    /// The surface that a leg gets from it, if the map shows one.
    pub const fn surface(self) -> Option<Surface> {
        match self {
            Self::Known(surface) => Some(surface),
            Self::Firm => Some(Surface::Gravel),
            Self::Sand | Self::Soft => Some(Surface::Earth),
            Self::Untagged | Self::Unmapped => None,
        }
    }

    /// Whether the surface is stated and not inferred from the track's grade.
    pub const fn is_stated(self) -> bool {
        matches!(self, Self::Known(_) | Self::Sand)
    }
}

/// A set of hazards.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Hazards(u16);

impl Hazards {
    /// The set with one more.
    #[must_use]
    pub const fn with(self, hazard: Hazard) -> Self {
        Self(self.0 | 1 << hazard as u16)
    }

    /// Whether a hazard is in the set.
    pub const fn has(self, hazard: Hazard) -> bool {
        self.0 & (1 << hazard as u16) != 0
    }
}

/// What the tags of a way mean for a trip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WayTags {
    /// The surface that they mean.
    pub ground: Ground,
    /// Speed limit; `None` if the tags have none.
    pub limit: Option<KilometresPerHour>,
    /// What may stop or endanger a vehicle.
    pub hazards: Hazards,
}

/// Values of `highway` that a vehicle drives on; paths, footways and roads that are only planned are not among them.
const DRIVEN: [&str; 18] = [
    "motorway",
    "trunk",
    "primary",
    "secondary",
    "tertiary",
    "unclassified",
    "residential",
    "living_street",
    "service",
    "track",
    "road",
    "motorway_link",
    "trunk_link",
    "primary_link",
    "secondary_link",
    "tertiary_link",
    "busway",
    "raceway",
];

impl WayTags {
    /// The meaning of a way's tags; `None` if no vehicle drives on it.
    pub fn read<'a>(tags: impl Iterator<Item = (&'a str, &'a str)>) -> Option<Self> {
        let mut highway = None;
        let mut surface = None;
        let mut grade = None;
        let mut limit = None;
        let mut access = None;
        // The more particular key wins: motorcar, motor_vehicle, vehicle, access.
        let mut access_rank = 4;
        let mut hazards = Hazards::default();
        for (key, value) in tags {
            match key {
                "highway" => highway = Some(value),
                "route" if value == "ferry" => hazards = hazards.with(Hazard::Ferry),
                "surface" => surface = of_surface(value),
                "tracktype" => grade = of_tracktype(value),
                "maxspeed" => limit = of_maxspeed(value),
                "motorcar" | "motor_vehicle" | "vehicle" | "access" => {
                    let rank = ["motorcar", "motor_vehicle", "vehicle", "access"]
                        .iter()
                        .position(|known| *known == key)
                        .unwrap_or(access_rank);
                    if rank < access_rank {
                        (access_rank, access) = (rank, Some(value));
                    }
                }
                "4wd_only" if matches!(value, "yes" | "recommended") => {
                    hazards = hazards.with(Hazard::FourWheelOnly);
                }
                "ford" if value != "no" => hazards = hazards.with(Hazard::Ford),
                "seasonal" if value != "no" => hazards = hazards.with(Hazard::Seasonal),
                "toll" if value != "no" => hazards = hazards.with(Hazard::Toll),
                "smoothness" => {
                    if let Some(hazard) = of_smoothness(value) {
                        hazards = hazards.with(hazard);
                    }
                }
                _ => {}
            }
        }
        match access {
            Some("no" | "forestry" | "agricultural" | "military") => {
                hazards = hazards.with(Hazard::NoAccess);
            }
            Some("private" | "permit") => hazards = hazards.with(Hazard::Private),
            _ => {}
        }
        let is_ferry = hazards.has(Hazard::Ferry);
        let is_driven = highway.is_some_and(|highway| DRIVEN.contains(&highway));
        let by_class = match highway {
            // A motorway is sealed by its definition (from memory).
            Some("motorway" | "motorway_link") => Some(Ground::Known(Surface::Sealed)),
            _ => None,
        };
        (is_driven || is_ferry).then(|| Self {
            ground: surface.or(grade).or(by_class).unwrap_or(Ground::Untagged),
            limit,
            hazards,
        })
    }
}

fn of_surface(value: &str) -> Option<Ground> {
    // `concrete:plates`, `asphalt;gravel`: the part before the sign decides.
    let word = value.split([';', ':']).next().unwrap_or(value).trim();
    Some(match word {
        "asphalt" | "paved" | "concrete" | "chipseal" | "sett" | "paving_stones"
        | "cobblestone" | "unhewn_cobblestone" | "bricks" | "brick" | "metal" | "wood"
        | "metal_grid" => Ground::Known(Surface::Sealed),
        "gravel" | "fine_gravel" | "compacted" | "pebblestone" | "shells" => {
            Ground::Known(Surface::Gravel)
        }
        "ground" | "dirt" | "earth" | "unpaved" | "grass" | "clay" | "grass_paver" | "soil" => {
            Ground::Known(Surface::Earth)
        }
        "rock" | "stone" | "bare_rock" => Ground::Known(Surface::Rock),
        "mud" => Ground::Known(Surface::Mud),
        "salt" => Ground::Known(Surface::Salt),
        "snow" | "ice" => Ground::Known(Surface::Snow),
        "sand" => Ground::Sand,
        _ => return None,
    })
}

fn of_tracktype(value: &str) -> Option<Ground> {
    Some(match value {
        "grade1" => Ground::Firm,
        "grade2" => Ground::Known(Surface::Gravel),
        "grade3" => Ground::Known(Surface::Earth),
        "grade4" | "grade5" => Ground::Soft,
        _ => return None,
    })
}

fn of_smoothness(value: &str) -> Option<Hazard> {
    Some(match value {
        "very_bad" => Hazard::Rough,
        "horrible" => Hazard::VeryRough,
        "very_horrible" => Hazard::Extreme,
        "impassable" => Hazard::Impassable,
        _ => return None,
    })
}

/// Kilometres in a mile.
const MILE: f64 = 1.609_344;

fn of_maxspeed(value: &str) -> Option<KilometresPerHour> {
    let (number, factor) = match value.strip_suffix("mph") {
        Some(number) => (number, MILE),
        None => (value.strip_suffix("km/h").unwrap_or(value), 1.0),
    };
    let limit = number.trim().parse::<f64>().ok()? * factor;
    (5.0..=200.0)
        .contains(&limit)
        .then_some(KilometresPerHour::new(limit))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(tags: &str) -> Option<WayTags> {
        WayTags::read(tags.split(' ').filter_map(|tag| tag.split_once('=')))
    }

    #[test]
    fn indices_are_those_of_the_list() {
        let all: Vec<usize> = Ground::all().map(Ground::index).collect();
        assert_eq!(all, (0..Ground::COUNT).collect::<Vec<_>>());
    }

    #[test]
    fn a_surface_wins_over_a_grade_and_a_grade_over_nothing() {
        let ground = |tags: &str| read(tags).map(|tags| tags.ground);
        let known = |surface| Some(Ground::Known(surface));
        for (tags, expected) in [
            (
                "highway=track surface=asphalt tracktype=grade3",
                known(Surface::Sealed),
            ),
            ("highway=track surface=fine_gravel", known(Surface::Gravel)),
            (
                "highway=track surface=concrete:plates",
                known(Surface::Sealed),
            ),
            ("highway=track surface=sand", Some(Ground::Sand)),
            ("highway=track surface=salt", known(Surface::Salt)),
            ("highway=track tracktype=grade1", Some(Ground::Firm)),
            ("highway=track tracktype=grade2", known(Surface::Gravel)),
            ("highway=track tracktype=grade3", known(Surface::Earth)),
            ("highway=track tracktype=grade5", Some(Ground::Soft)),
            (
                "highway=track surface=unheard tracktype=grade2",
                known(Surface::Gravel),
            ),
            ("highway=track", Some(Ground::Untagged)),
            ("highway=primary", Some(Ground::Untagged)),
            ("highway=motorway", known(Surface::Sealed)),
            ("route=ferry", Some(Ground::Untagged)),
            ("highway=path surface=gravel", None),
            ("waterway=river", None),
        ] {
            assert_eq!(ground(tags), expected, "{tags}");
        }
    }

    #[test]
    fn hazards_follow_from_their_tags() {
        let hazards = |tags: &str| {
            let set = read(&format!("highway=track {tags}")).unwrap().hazards;
            let found: Vec<Hazard> = Hazard::ALL
                .iter()
                .copied()
                .filter(|one| set.has(*one))
                .collect();
            found
        };
        assert_eq!(
            hazards("4wd_only=yes ford=yes"),
            [Hazard::FourWheelOnly, Hazard::Ford]
        );
        assert_eq!(
            hazards("ford=no seasonal=winter toll=yes"),
            [Hazard::Seasonal, Hazard::Toll]
        );
        assert_eq!(hazards("access=no"), [Hazard::NoAccess]);
        assert_eq!(hazards("access=private motor_vehicle=yes"), []);
        assert_eq!(
            hazards("motor_vehicle=private access=yes"),
            [Hazard::Private]
        );
        assert_eq!(hazards("smoothness=horrible"), [Hazard::VeryRough]);
        assert_eq!(hazards("smoothness=bad"), []);
    }

    #[test]
    fn limits_are_numbers_with_or_without_a_unit() {
        let limit = |value: &str| of_maxspeed(value).map(KilometresPerHour::get);
        assert_eq!(limit("80"), Some(80.0));
        assert_eq!(limit("50 km/h"), Some(50.0));
        assert!((limit("50 mph").unwrap() - 80.4672).abs() < 1e-9);
        for none in ["RO:urban", "none", "", "1e9", "-3", "NaN"] {
            assert_eq!(limit(none), None, "{none}");
        }
    }
}
