//! `OpenStreetMap` extracts (`.osm.pbf`): the ways and fuel stops near a track.
//!
//! An extract is read three times, so that memory follows the track and not the country: numbers of nodes near the track,
//! and fuel stops; ways that use one of these nodes; positions of all nodes of these ways. A way that was driven has
//! nodes near the track. Blocks without what a pass looks for are not decompressed again. What is read is data of
//! others: [`NOTICE`] goes wherever it goes.

mod blocks;
mod corridor;

use std::collections::{HashMap, HashSet};
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

use osmpbf::{Element, HeaderBlock, PrimitiveBlock};

use super::reason::plain_reason;
use super::text::plain;
use crate::model::route::Position;
use crate::quantity::{Degrees, Share};
use crate::roads::network::RawWay;
use crate::roads::{FuelObject, Network, WayTags};
use blocks::{Blocks, Contents};
pub use corridor::Corridor;

/// What must be written wherever data of a map goes (Open Database License 1.0, 4.3).
pub const NOTICE: &str =
    "Contains information from OpenStreetMap, available under the Open Database License";
/// What is written where a map states that it is invented.
pub const INVENTED: &str = "Invented map: its ways and places do not exist";

/// Nodes near a track, nodes of its ways, and ways: a track of 5,000 km through towns has a tenth.
const MOST_NODES: usize = 30_000_000;
const MOST_WAYS: usize = 3_000_000;
/// Nodes that may be kept twice before they are sorted.
const FEW_NODES: usize = 1_000_000;
/// Fuel stops near a track.
const MOST_FUEL: usize = 100_000;
/// Longest text of a tag that is kept, in characters.
const LONGEST_TAG: usize = 120;
/// What a reader of this format must know.
const KNOWN_FEATURES: [&str; 2] = ["OsmSchema-V0.6", "DenseNodes"];

/// What an extract has near a track.
pub struct Extract {
    /// The roads and tracks near the track, joined at their crossings.
    pub network: Network,
    /// The fuel stops near the track.
    pub fuel: Vec<FuelObject>,
    /// Whether the map states that it is invented.
    pub is_invented: bool,
}

impl Extract {
    /// The notice that goes with the data.
    pub const fn notice(&self) -> &'static str {
        if self.is_invented { INVENTED } else { NOTICE }
    }
}

/// Why an extract could not be read.
#[derive(Debug, thiserror::Error)]
pub enum OsmError {
    /// The system's reason.
    #[error("{path}: {}", plain_reason(.cause))]
    System {
        /// The file as the user named it.
        path: String,
        /// The system's reason.
        cause: io::Error,
    },
    /// The file is not an extract.
    #[error(
        "{path}: not an OpenStreetMap extract in PBF format. A map file has a name such as region.osm.pbf; other formats are not read"
    )]
    Foreign {
        /// The file as the user named it.
        path: String,
    },
    /// The file is damaged.
    #[error("{path}: damaged after {percent} % of the file: {why}")]
    Damaged {
        /// The file as the user named it.
        path: String,
        /// How far it was read.
        percent: u64,
        /// What is wrong with the rest.
        why: String,
    },
    /// The file needs a reader that knows more.
    #[error("{path}: needs a reader with the feature `{feature}`, which is not supported")]
    Unsupported {
        /// The file as the user named it.
        path: String,
        /// Name of the required feature in the extract.
        feature: String,
    },
    /// There is too much near the track.
    #[error("{path}: more than {most} {what} near the track. Import the track in parts")]
    TooMuch {
        /// The file as the user named it.
        path: String,
        /// How many are too many.
        most: usize,
        /// What there is too much of.
        what: &'static str,
    },
    /// The user cancelled.
    #[error("cancelled")]
    Cancelled,
}

/// The extracts of a folder in the order of their names, or the one file that was named.
///
/// # Errors
/// If the folder cannot be read or contains none.
pub fn extracts(path: &Path) -> io::Result<Vec<PathBuf>> {
    if !std::fs::metadata(path)?.is_dir() {
        return Ok(vec![path.to_owned()]);
    }
    let mut found = Vec::new();
    for entry in std::fs::read_dir(path)? {
        let file = entry?.path();
        if file.to_string_lossy().to_lowercase().ends_with(".osm.pbf") {
            found.push(file);
        }
    }
    found.sort();
    if found.is_empty() {
        return Err(io::Error::other("the folder contains no .osm.pbf file"));
    }
    Ok(found)
}

/// Called with the part of the work that is done; the answer is whether to continue.
pub type Progress<'a> = &'a (dyn Fn(Share) -> bool + Sync);

/// Reads what extracts have near a track. Several extracts are read as one map.
///
/// # Errors
/// If a file cannot be read, or the user cancels.
pub fn read(
    files: &[PathBuf],
    corridor: &Corridor,
    progress: Progress,
) -> Result<Extract, OsmError> {
    let mut found = Found::default();
    for (n, file) in files.iter().enumerate() {
        let part = 1.0 / files.len() as f64;
        let of_all = |share: Share| progress(Share::new((n as f64 + share.get()) * part));
        One::open(file, corridor, &of_all)?.read(&mut found)?;
    }
    let mut fuel = found.fuel;
    fuel.extend(found.fuel_areas.iter().filter_map(|area| {
        let position = area.middle(&found.positions)?;
        corridor.is_in_detour(position).then(|| FuelObject {
            position,
            ..area.object.clone()
        })
    }));
    fuel.sort_by(|a, b| {
        let key = |object: &FuelObject| {
            let (lat, lon) = (object.position.lat.get(), object.position.lon.get());
            (lat, lon, object.name.clone(), object.tags.clone())
        };
        key(a)
            .partial_cmp(&key(b))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    fuel.dedup();
    found.ways.sort_by_key(|way| way.id);
    found.ways.dedup_by_key(|way| way.id);
    Ok(Extract {
        network: Network::new(found.ways, &found.positions, &found.fords),
        fuel,
        is_invented: found.is_invented,
    })
}

/// What was found in all files.
#[derive(Default)]
struct Found {
    ways: Vec<RawWay>,
    fuel: Vec<FuelObject>,
    fuel_areas: Vec<FuelArea>,
    positions: HashMap<i64, Position>,
    fords: HashSet<i64>,
    is_invented: bool,
}

/// A fuel stop that is drawn as an area.
struct FuelArea {
    object: FuelObject,
    nodes: Vec<i64>,
}

impl FuelArea {
    /// The mean of its corners that are known.
    fn middle(&self, positions: &HashMap<i64, Position>) -> Option<Position> {
        let corners: Vec<&Position> = self
            .nodes
            .iter()
            .filter_map(|id| positions.get(id))
            .collect();
        let n = corners.len() as f64;
        let mean = |of: fn(&Position) -> f64| {
            Degrees::new(corners.iter().map(|corner| of(corner)).sum::<f64>() / n)
        };
        (!corners.is_empty()).then(|| Position {
            lat: mean(|corner| corner.lat.get()),
            lon: mean(|corner| corner.lon.get()),
        })
    }
}

/// One file in the course of being read.
struct One<'a> {
    path: String,
    file: &'a Path,
    corridor: &'a Corridor,
    progress: Progress<'a>,
    is_invented: bool,
}

/// What the first pass finds in a block.
#[derive(Default)]
struct Nodes {
    near: Vec<i64>,
    fuel: Vec<FuelObject>,
    fords: Vec<i64>,
    contents: Contents,
}

/// What the second pass finds.
#[derive(Default)]
struct Ways {
    ways: Vec<RawWay>,
    areas: Vec<FuelArea>,
}

impl<'a> One<'a> {
    fn open(
        file: &'a Path,
        corridor: &'a Corridor,
        progress: Progress<'a>,
    ) -> Result<Self, OsmError> {
        let path = plain(&file.display().to_string(), 200);
        let mut one = Self {
            path,
            file,
            corridor,
            progress,
            is_invented: false,
        };
        let opened = File::open(file).and_then(|opened| opened.metadata());
        let data = opened.map_err(|cause| one.system(cause))?;
        if data.is_dir() {
            return Err(one.system(io::ErrorKind::IsADirectory.into()));
        }
        let header = blocks::header(file).ok_or_else(|| OsmError::Foreign {
            path: one.path.clone(),
        })?;
        one.check(&header)?;
        Ok(one)
    }

    fn system(&self, cause: io::Error) -> OsmError {
        OsmError::System {
            path: self.path.clone(),
            cause,
        }
    }

    fn too_much(&self, most: usize, what: &'static str) -> OsmError {
        OsmError::TooMuch {
            path: self.path.clone(),
            most,
            what,
        }
    }

    fn check(&mut self, header: &HeaderBlock) -> Result<(), OsmError> {
        let unknown = header
            .required_features()
            .iter()
            .find(|feature| !KNOWN_FEATURES.contains(&feature.as_str()));
        if let Some(feature) = unknown {
            return Err(OsmError::Unsupported {
                path: self.path.clone(),
                feature: plain(feature, 60),
            });
        }
        let marks = [header.source(), header.writing_program()];
        self.is_invented = marks
            .into_iter()
            .flatten()
            .any(|mark| mark.to_lowercase().contains("invented"));
        Ok(())
    }

    fn read(&self, found: &mut Found) -> Result<(), OsmError> {
        found.is_invented |= self.is_invented;
        let (contents, near) = self.first(found)?;
        let (ways, areas) = self.second(&contents, &near)?;
        drop(near);
        let mut wanted: Vec<i64> = ways
            .iter()
            .flat_map(|way| &way.nodes)
            .chain(areas.iter().flat_map(|area| &area.nodes))
            .copied()
            .collect();
        wanted.sort_unstable();
        wanted.dedup();
        self.third(&contents, &wanted, found)?;
        found.ways.extend(ways);
        found.fuel_areas.extend(areas);
        Ok(())
    }

    /// Numbers of the nodes near the track, and fuel stops; what each block contains.
    fn first(&self, found: &mut Found) -> Result<(Vec<Contents>, Vec<i64>), OsmError> {
        let mut contents: Vec<Contents> = Vec::new();
        let mut near = Vec::new();
        let mut distinct = 0;
        let look = |block: &PrimitiveBlock| {
            let mut nodes = Nodes::default();
            for element in block.elements() {
                self.take_node(&element, &mut nodes);
            }
            nodes
        };
        Blocks::open(self, 0, None)?.each(look, |n, part| {
            if contents.len() <= n {
                contents.resize_with(n + 1, Contents::default);
            }
            contents[n] = part.contents;
            near.extend(part.near);
            found.fuel.extend(part.fuel);
            found.fords.extend(part.fords);
            if near.len() > 2 * distinct + FEW_NODES {
                near.sort_unstable();
                near.dedup();
                distinct = near.len();
            }
            if distinct > MOST_NODES {
                return Err(self.too_much(MOST_NODES, "nodes"));
            }
            if found.fuel.len() > MOST_FUEL {
                return Err(self.too_much(MOST_FUEL, "fuel stops"));
            }
            Ok(())
        })?;
        near.sort_unstable();
        near.dedup();
        Ok((contents, near))
    }

    fn take_node(&self, element: &Element, nodes: &mut Nodes) {
        let (id, position) = match element {
            Element::DenseNode(node) => (node.id(), position(node.nano_lat(), node.nano_lon())),
            Element::Node(node) => (node.id(), position(node.nano_lat(), node.nano_lon())),
            Element::Way(_) => {
                nodes.contents.has_ways = true;
                return;
            }
            Element::Relation(_) => return,
        };
        nodes.contents.take(id);
        let Some(position) = position.filter(|position| self.corridor.may_meet(*position)) else {
            return;
        };
        let is_near = self.corridor.is_near(position);
        if is_near {
            nodes.near.push(id);
        }
        let mut take_tags = |tags: &mut dyn Iterator<Item = (&str, &str)>| {
            let tags: Vec<(&str, &str)> = tags.collect();
            let has = |key: &str| tags.iter().find(|tag| tag.0 == key).map(|tag| tag.1);
            if is_near && has("ford").is_some_and(|ford| ford != "no") {
                nodes.fords.push(id);
            }
            if has("amenity") == Some("fuel") && self.corridor.is_in_detour(position) {
                nodes.fuel.push(fuel_object(position, &tags));
            }
        };
        match element {
            Element::DenseNode(node) => take_tags(&mut node.tags()),
            Element::Node(node) => take_tags(&mut node.tags()),
            _ => {}
        }
    }

    /// Ways with a node near the track, and all fuel stops that are areas.
    fn second(
        &self,
        contents: &[Contents],
        near: &[i64],
    ) -> Result<(Vec<RawWay>, Vec<FuelArea>), OsmError> {
        let has_ways: Vec<bool> = contents.iter().map(|block| block.has_ways).collect();
        let look = |block: &PrimitiveBlock| {
            let mut part = Ways::default();
            for element in block.elements() {
                let Element::Way(way) = element else { continue };
                let refs = || {
                    let deltas = way.raw_refs().iter();
                    deltas.scan(0_i64, |id, delta| {
                        *id = id.wrapping_add(*delta);
                        Some(*id)
                    })
                };
                if refs().any(|id| near.binary_search(&id).is_ok())
                    && let Some(tags) = WayTags::read(way.tags())
                {
                    let id = way.id();
                    part.ways.push(RawWay {
                        id,
                        tags,
                        nodes: refs().collect(),
                    });
                }
                if way.tags().any(|tag| tag == ("amenity", "fuel")) {
                    let tags: Vec<(&str, &str)> = way.tags().collect();
                    let nowhere = Position {
                        lat: Degrees::ZERO,
                        lon: Degrees::ZERO,
                    };
                    part.areas.push(FuelArea {
                        object: fuel_object(nowhere, &tags),
                        nodes: refs().collect(),
                    });
                }
            }
            part
        };
        let (mut ways, mut areas) = (Vec::new(), Vec::new());
        let mut known = HashSet::new();
        let mut nodes = 0;
        Blocks::open(self, 1, Some(&has_ways))?.each(look, |_, part| {
            for way in part.ways {
                if known.insert(way.id) {
                    nodes += way.nodes.len();
                    ways.push(way);
                }
            }
            areas.extend(part.areas);
            if ways.len() > MOST_WAYS {
                return Err(self.too_much(MOST_WAYS, "ways"));
            }
            if nodes > MOST_NODES {
                return Err(self.too_much(MOST_NODES, "nodes"));
            }
            if areas.len() > MOST_FUEL {
                return Err(self.too_much(MOST_FUEL, "fuel stops"));
            }
            Ok(())
        })?;
        Ok((ways, areas))
    }

    /// Positions of the nodes that are wanted.
    fn third(
        &self,
        contents: &[Contents],
        wanted: &[i64],
        found: &mut Found,
    ) -> Result<(), OsmError> {
        let has_wanted: Vec<bool> = contents.iter().map(|block| block.has_any(wanted)).collect();
        let look = |block: &PrimitiveBlock| {
            let mut positions = Vec::new();
            for element in block.elements() {
                let (id, lat, lon) = match &element {
                    Element::DenseNode(node) => (node.id(), node.nano_lat(), node.nano_lon()),
                    Element::Node(node) => (node.id(), node.nano_lat(), node.nano_lon()),
                    _ => continue,
                };
                if wanted.binary_search(&id).is_ok()
                    && let Some(position) = position(lat, lon)
                {
                    positions.push((id, position));
                }
            }
            positions
        };
        Blocks::open(self, 2, Some(&has_wanted))?.each(look, |_, positions| {
            found.positions.extend(positions);
            Ok(())
        })
    }
}

/// A position of billionths of a degree, if it is on the Earth.
fn position(lat: i64, lon: i64) -> Option<Position> {
    let (lat, lon) = (lat as f64 * 1e-9, lon as f64 * 1e-9);
    let is_on_earth = (-90.0..=90.0).contains(&lat) && (-180.0..=180.0).contains(&lon);
    is_on_earth.then(|| Position {
        lat: Degrees::new(lat),
        lon: Degrees::new(lon),
    })
}

/// Tags of a fuel stop that its note keeps.
fn fuel_object(position: Position, tags: &[(&str, &str)]) -> FuelObject {
    let kept = |key: &str| {
        matches!(
            key,
            "opening_hours" | "operator:type" | "access" | "self_service"
        ) || key.starts_with("fuel:")
            || key.starts_with("payment:cash")
    };
    let texts = tags
        .iter()
        .filter(|(key, _)| kept(key))
        .map(|(key, value)| plain(&format!("{key}={value}"), LONGEST_TAG));
    let name = tags.iter().find(|(key, _)| *key == "name");
    FuelObject {
        position,
        name: name
            .map(|(_, name)| plain(name, LONGEST_TAG))
            .filter(|name| !name.is_empty()),
        tags: texts.take(12).collect(),
    }
}
