//! Heights from elevation tiles that the user has: `.hgt` (SRTM, NASADEM) and `GeoTIFF` (Copernicus GLO-30).
//!
//! [`Tiles`] looks at the names and heads of a folder's files once, and opens a tile only where a height on it is
//! wanted. A height is bilinear between the four posts around a position. Where one of the four is void there is no
//! height. Tiles of the second kind end one post before the next tile begins; their last posts are interpolated with
//! those of the neighbour.

mod geotiff;
mod hgt;

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::reason::plain_reason;
use super::text::plain;
use crate::model::route::Position;
use crate::model::track::is_height;
use crate::quantity::{Degrees, Metres};

/// Files of a folder that are looked at.
const MOST_FILES: usize = 20_000;
/// Tiles that are open at a time: a route that follows a corner meets four.
const MOST_OPEN: usize = 4;
/// Posts within this part of a spacing are one: tiles state their corners in rounded decimals.
const SAME_POST: f64 = 0.01;

/// The tiles of a folder.
pub struct Tiles {
    all: Vec<Tile>,
    /// Those that were used last, the last first.
    open: Vec<(usize, Posts)>,
    used: BTreeSet<usize>,
    ignored: Vec<String>,
}

/// Why there are no tiles.
#[derive(Debug, thiserror::Error)]
pub enum NoTiles {
    /// The folder cannot be read.
    #[error("{path}: {}", plain_reason(.cause))]
    System {
        /// The folder as the user named it.
        path: String,
        /// The system's reason.
        cause: io::Error,
    },
    /// The folder contains none.
    #[error(
        "{path}: contains no elevation tile. A tile is an .hgt file named by its south-west corner, such as N07W130.hgt, or a GeoTIFF (.tif) in degrees{}",
        .ignored.first().map(|first| format!("; {first}")).unwrap_or_default()
    )]
    None {
        /// The folder as the user named it.
        path: String,
        /// What its files lack.
        ignored: Vec<String>,
    },
}

/// A tile, not yet opened.
struct Tile {
    path: PathBuf,
    name: String,
    grid: Grid,
    is_damaged: bool,
}

/// Where the posts of a tile are.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Grid {
    /// Longitude of the first column and latitude of the first row.
    west: f64,
    north: f64,
    /// Degrees from post to post, both above zero.
    east_step: f64,
    south_step: f64,
    columns: u32,
    rows: u32,
}

/// A tile that is open.
enum Posts {
    Hgt(hgt::Hgt),
    GeoTiff(Box<geotiff::GeoTiff>),
}

/// A tile could not be read where it should have a post.
struct Damaged;

impl Posts {
    fn open(tile: &Tile) -> Result<Self, Damaged> {
        let file = fs::File::open(&tile.path).map_err(|_| Damaged)?;
        if is_hgt(&tile.path) {
            return Ok(Self::Hgt(hgt::Hgt::new(file, tile.grid)));
        }
        match geotiff::GeoTiff::open(file) {
            Ok((posts, grid)) if grid == tile.grid => Ok(Self::GeoTiff(Box::new(posts))),
            _ => Err(Damaged),
        }
    }

    /// The height of a post; `None` if it is void.
    fn height(&mut self, column: u32, row: u32) -> Result<Option<f64>, Damaged> {
        let height = match self {
            Self::Hgt(posts) => posts.height(column, row),
            Self::GeoTiff(posts) => posts.height(column, row),
        }?;
        Ok(Some(height).filter(|&height| is_height(Metres::new(height))))
    }
}

impl Grid {
    /// Columns east and rows south of the first post.
    fn place(&self, at: Position) -> (f64, f64) {
        let east = (at.lon.get() - self.west + SAME_POST * self.east_step).rem_euclid(360.0);
        (
            east / self.east_step - SAME_POST,
            (self.north - at.lat.get()) / self.south_step,
        )
    }

    /// Whether a position is among the posts, or between the last ones and the next tile's.
    fn covers(&self, (x, y): (f64, f64)) -> bool {
        x >= -SAME_POST
            && y >= -SAME_POST
            && x <= f64::from(self.columns) + SAME_POST
            && y <= f64::from(self.rows) + SAME_POST
    }

    fn contains(&self, (x, y): (f64, f64)) -> bool {
        x >= -SAME_POST
            && y >= -SAME_POST
            && x <= f64::from(self.columns - 1) + SAME_POST
            && y <= f64::from(self.rows - 1) + SAME_POST
    }

    fn position(&self, column: u32, row: u32) -> Position {
        Position {
            lat: Degrees::new(self.north - f64::from(row) * self.south_step),
            lon: Degrees::new(self.west + f64::from(column) * self.east_step),
        }
    }
}

impl Tiles {
    /// The tiles in a folder, or one tile by its file.
    ///
    /// # Errors
    /// If the folder cannot be read or contains no tile.
    pub fn in_folder(folder: &Path) -> Result<Self, NoTiles> {
        let path = || plain(&folder.display().to_string(), 200);
        let mut tiles = Self {
            all: Vec::new(),
            open: Vec::new(),
            used: BTreeSet::new(),
            ignored: Vec::new(),
        };
        for file in files(folder).map_err(|cause| NoTiles::System {
            path: path(),
            cause,
        })? {
            let name = file.file_name().unwrap_or_default().to_string_lossy();
            let name = plain(&name, 100);
            let grid = if is_hgt(&file) {
                hgt::grid(&file)
            } else if has_extension(&file, &["tif", "tiff"]) {
                geotiff::grid(&file)
            } else {
                continue;
            };
            match grid {
                Ok(grid) => tiles.all.push(Tile {
                    path: file,
                    name,
                    grid,
                    is_damaged: false,
                }),
                Err(why) => tiles.ignored.push(format!("{name} was ignored: {why}")),
            }
        }
        // Of two tiles of one place the finer is used.
        tiles
            .all
            .sort_by(|a, b| a.grid.south_step.total_cmp(&b.grid.south_step));
        if tiles.all.is_empty() {
            return Err(NoTiles::None {
                path: path(),
                ignored: tiles.ignored,
            });
        }
        Ok(tiles)
    }

    /// The height at a position; `None` if no tile has it.
    pub fn height(&mut self, at: Position) -> Option<Metres> {
        (0..self.all.len()).find_map(|n| {
            let height = self.height_on(n, at)?;
            self.used.insert(n);
            Some(Metres::new(height))
        })
    }

    /// Names of the tiles that gave a height.
    pub fn used(&self) -> Vec<&str> {
        let names = self.used.iter().map(|&n| self.all[n].name.as_str());
        names.collect()
    }

    /// Files that look like tiles and were not used, each with the reason.
    pub fn ignored(&self) -> Vec<String> {
        let damaged = self.all.iter().filter(|tile| tile.is_damaged);
        let damaged =
            damaged.map(|tile| format!("{} is damaged; its heights are unknown", tile.name));
        self.ignored.iter().cloned().chain(damaged).collect()
    }

    /// The height at a position between the posts of a tile, the next tile's included.
    fn height_on(&mut self, tile: usize, at: Position) -> Option<f64> {
        let grid = self.all[tile].grid;
        let place = grid.place(at);
        if !grid.covers(place) {
            return None;
        }
        let (column, east) = split(place.0, grid.columns);
        let (row, south) = split(place.1, grid.rows);
        let mut sum = 0.0;
        for (down, part) in [(0, 1.0 - south), (1, south)] {
            for (right, share) in [(0, 1.0 - east), (1, east)] {
                let weight = part * share;
                if weight > 0.0 {
                    sum += weight * self.post(tile, column + right, row + down)?;
                }
            }
        }
        Some(sum)
    }

    /// The height of a post of a tile; one past its last is the neighbour's.
    fn post(&mut self, tile: usize, column: u32, row: u32) -> Option<f64> {
        let grid = self.all[tile].grid;
        if column < grid.columns && row < grid.rows {
            return self.read(tile, column, row);
        }
        let at = grid.position(column, row);
        (0..self.all.len()).find_map(|other| {
            let grid = self.all[other].grid;
            let place = grid.place(at);
            if other == tile || !grid.contains(place) {
                return None;
            }
            let (column, east) = split(place.0, grid.columns);
            let (row, south) = split(place.1, grid.rows);
            let mut between = |row: u32| {
                let low = self.read(other, column, row)?;
                if east == 0.0 {
                    return Some(low);
                }
                Some(low + (self.read(other, column + 1, row)? - low) * east)
            };
            let low = between(row)?;
            if south == 0.0 {
                return Some(low);
            }
            Some(low + (between(row + 1)? - low) * south)
        })
    }

    fn read(&mut self, tile: usize, column: u32, row: u32) -> Option<f64> {
        if self.all[tile].is_damaged {
            return None;
        }
        if let Some(at) = self.open.iter().position(|(open, _)| *open == tile) {
            self.open[..=at].rotate_right(1);
        } else {
            let Ok(posts) = Posts::open(&self.all[tile]) else {
                self.all[tile].is_damaged = true;
                return None;
            };
            self.open.insert(0, (tile, posts));
            self.open.truncate(MOST_OPEN);
        }
        let height = self.open[0].1.height(column, row);
        self.all[tile].is_damaged = height.is_err();
        height.unwrap_or_default()
    }
}

/// The post before a place, and how far the place is from it to the next.
fn split(place: f64, posts: u32) -> (u32, f64) {
    let nearest = place.round();
    let place = if (place - nearest).abs() <= SAME_POST {
        nearest
    } else {
        place
    };
    let whole = place.floor().clamp(0.0, f64::from(posts));
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "within 0 and the number of posts"
    )]
    let post = whole as u32;
    (post, (place - whole).clamp(0.0, 1.0))
}

/// The files of a folder in the order of their names, or the one file that was named.
fn files(folder: &Path) -> io::Result<Vec<PathBuf>> {
    if fs::metadata(folder)?.is_file() {
        return Ok(vec![folder.to_owned()]);
    }
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)?.take(MOST_FILES) {
        let path = entry?.path();
        if fs::metadata(&path).is_ok_and(|data| data.is_file()) {
            files.push(path);
        }
    }
    files.sort();
    Ok(files)
}

fn is_hgt(path: &Path) -> bool {
    has_extension(path, &["hgt"])
}

fn has_extension(path: &Path, known: &[&str]) -> bool {
    path.extension().is_some_and(|extension| {
        known
            .iter()
            .any(|known| extension.eq_ignore_ascii_case(known))
    })
}
