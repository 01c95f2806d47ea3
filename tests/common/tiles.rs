//! Elevation tiles, written byte by byte: `.hgt`, and `GeoTIFF` laid out as GLO-30 is published.

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;

/// A square `.hgt` tile of that many rows; metres by row from the north and column from the west.
pub fn hgt(rows: u32, metres: impl Fn(u32, u32) -> i16) -> Vec<u8> {
    let posts = (0..rows).flat_map(|row| (0..rows).map(move |column| (row, column)));
    posts
        .flat_map(|(row, column)| metres(row, column).to_be_bytes())
        .collect()
}

/// Where the posts of a `GeoTIFF` are: its first post, steps in degrees, numbers of columns and rows.
#[derive(Clone, Copy)]
pub struct Posts {
    pub west: f64,
    pub north: f64,
    pub east_step: f64,
    pub south_step: f64,
    pub columns: u32,
    pub rows: u32,
}

/// A deflated `GeoTIFF` of 32-bit floats in square blocks, with the predictor for floating-point numbers (TIFF Technical
/// Note 3) and posts as points; metres by latitude and longitude.
pub fn geotiff(posts: Posts, block: u32, metres: impl Fn(f64, f64) -> f32) -> Vec<u8> {
    let mut file = b"II*\0\0\0\0\0".to_vec();
    let (mut offsets, mut sizes) = (Vec::new(), Vec::new());
    for top in (0..posts.rows).step_by(block as usize) {
        for left in (0..posts.columns).step_by(block as usize) {
            let mut bytes = Vec::new();
            for row in top..top + block {
                let heights = (left..left + block).map(|column| {
                    let (row, column) = (row.min(posts.rows - 1), column.min(posts.columns - 1));
                    metres(
                        posts.north - f64::from(row) * posts.south_step,
                        posts.west + f64::from(column) * posts.east_step,
                    )
                });
                bytes.extend(predicted(&heights.collect::<Vec<f32>>()));
            }
            let mut encoder = ZlibEncoder::new(Vec::new(), Compression::best());
            encoder.write_all(&bytes).unwrap();
            let bytes = encoder.finish().unwrap();
            offsets.push(u32::try_from(file.len()).unwrap());
            sizes.push(u32::try_from(bytes.len()).unwrap());
            file.extend(bytes);
        }
    }
    let longs = |numbers: &[u32]| numbers.iter().flat_map(|n| n.to_le_bytes()).collect();
    let shorts = |numbers: &[u16]| numbers.iter().flat_map(|n| n.to_le_bytes()).collect();
    let doubles = |numbers: &[f64]| numbers.iter().flat_map(|n| n.to_le_bytes()).collect();
    // Tag, type, count, value. 3 is a 16-bit, 4 a 32-bit whole number, 12 a double.
    let blocks = u32::try_from(offsets.len()).unwrap();
    let tags: [(u16, u16, u32, Vec<u8>); 15] = [
        (256, 4, 1, longs(&[posts.columns])),
        (257, 4, 1, longs(&[posts.rows])),
        (258, 3, 1, shorts(&[32])),
        (259, 3, 1, shorts(&[8])),
        (262, 3, 1, shorts(&[1])),
        (277, 3, 1, shorts(&[1])),
        (317, 3, 1, shorts(&[3])),
        (322, 4, 1, longs(&[block])),
        (323, 4, 1, longs(&[block])),
        (324, 4, blocks, longs(&offsets)),
        (325, 4, blocks, longs(&sizes)),
        (339, 3, 1, shorts(&[3])),
        (
            33550,
            12,
            3,
            doubles(&[posts.east_step, posts.south_step, 0.0]),
        ),
        (
            33922,
            12,
            6,
            doubles(&[0.0, 0.0, 0.0, posts.west, posts.north, 0.0]),
        ),
        // Version 1.1.0, two keys: the model is in degrees, a number is that of a point.
        (
            34735,
            3,
            12,
            shorts(&[1, 1, 0, 2, 1024, 0, 1, 2, 1025, 0, 1, 2]),
        ),
    ];
    let mut entries = Vec::new();
    for (tag, kind, count, mut value) in tags {
        if value.len() > 4 {
            let at = u32::try_from(file.len()).unwrap();
            file.extend(&value);
            value = at.to_le_bytes().to_vec();
        }
        value.resize(4, 0);
        entries.extend(tag.to_le_bytes());
        entries.extend(kind.to_le_bytes());
        entries.extend(count.to_le_bytes());
        entries.extend(value);
    }
    let directory = u32::try_from(file.len()).unwrap();
    file[4..8].copy_from_slice(&directory.to_le_bytes());
    file.extend(15_u16.to_le_bytes());
    file.extend(entries);
    file.extend(0_u32.to_le_bytes());
    file
}

/// A row of floats with their bytes sorted by weight, the highest first, each the difference from the byte before.
fn predicted(heights: &[f32]) -> Vec<u8> {
    let bytes: Vec<[u8; 4]> = heights.iter().map(|height| height.to_be_bytes()).collect();
    let sorted: Vec<u8> = (0..4)
        .flat_map(|weight| bytes.iter().map(move |bytes| bytes[weight]))
        .collect();
    let differences = sorted.windows(2).map(|pair| pair[1].wrapping_sub(pair[0]));
    std::iter::once(sorted[0]).chain(differences).collect()
}
