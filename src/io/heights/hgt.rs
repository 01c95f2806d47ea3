//! `.hgt` tiles: square grids of big-endian 16-bit metres, named by their south-west corner, the first row in the north
//! (SRTM Topography, NASA/USGS, 2015). Both edges are part of a tile. −32768 is void.

use std::fs::File;
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

use super::{Damaged, Grid};

/// Posts of a row: 3 and 1 seconds of arc.
const ROWS: [u32; 2] = [1201, 3601];

/// An open tile.
pub(super) struct Hgt {
    file: File,
    columns: u32,
}

impl Hgt {
    pub(super) fn new(file: File, grid: Grid) -> Self {
        Self {
            file,
            columns: grid.columns,
        }
    }

    /// The number of a post, −32768 included.
    pub(super) fn height(&mut self, column: u32, row: u32) -> Result<f64, Damaged> {
        let post = u64::from(row) * u64::from(self.columns) + u64::from(column);
        let mut bytes = [0; 2];
        let mut read = || {
            self.file.seek(SeekFrom::Start(post * 2))?;
            self.file.read_exact(&mut bytes)
        };
        read().map_err(|_| Damaged)?;
        Ok(f64::from(i16::from_be_bytes(bytes)))
    }
}

/// Where the posts of a tile are, by its name and size.
pub(super) fn grid(path: &Path) -> Result<Grid, String> {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let (south, west) = corner(&stem).ok_or(
        "the name of an .hgt tile begins with its south-west corner, such as N07W130 or S48E009",
    )?;
    let size = path
        .metadata()
        .map_err(|error| super::plain_reason(&error))?;
    let rows = ROWS
        .into_iter()
        .find(|&rows| size.len() == 2 * u64::from(rows) * u64::from(rows))
        .ok_or_else(|| {
            let sizes =
                ROWS.map(|rows| format!("{} bytes ({rows} x {rows} posts)", 2 * rows * rows));
            format!(
                "it has {} bytes, and an .hgt tile has {}",
                size.len(),
                sizes.join(" or ")
            )
        })?;
    let step = 1.0 / f64::from(rows - 1);
    Ok(Grid {
        west,
        north: south + 1.0,
        east_step: step,
        south_step: step,
        columns: rows,
        rows,
    })
}

/// Latitude and longitude of the corner at the beginning of a name.
fn corner(name: &str) -> Option<(f64, f64)> {
    let bytes = name.as_bytes();
    let number = |digits: &[u8]| {
        let text = std::str::from_utf8(digits).ok()?;
        let is_number = text.bytes().all(|digit| digit.is_ascii_digit());
        text.parse::<u8>().ok().filter(|_| is_number).map(f64::from)
    };
    let lat = number(bytes.get(1..3)?)?;
    let lon = number(bytes.get(4..7)?)?;
    let lat = match bytes[0].to_ascii_uppercase() {
        b'N' => lat,
        b'S' => -lat,
        _ => return None,
    };
    let lon = match bytes[3].to_ascii_uppercase() {
        b'E' => lon,
        b'W' => -lon,
        _ => return None,
    };
    let is_on_earth = (-90.0..90.0).contains(&lat) && (-180.0..180.0).contains(&lon);
    is_on_earth.then_some((lat, lon))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_begins_with_the_corner() {
        assert_eq!(corner("N07W130"), Some((7.0, -130.0)));
        assert_eq!(corner("s48e009.SRTMGL1"), Some((-48.0, 9.0)));
        for wrong in [
            "", "N7W130", "N07W", "X07W130", "N07X130", "N91E000", "N07E181", "N+7W130", "N07W-30",
        ] {
            assert_eq!(corner(wrong), None, "{wrong}");
        }
    }
}
