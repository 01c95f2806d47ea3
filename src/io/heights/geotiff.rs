//! `GeoTIFF` tiles of one band in degrees (OGC 19-008r4), as Copernicus GLO-30 is published: tiled, deflated, with the
//! predictor for floating-point numbers, pixel scale and tie point as tags.

use std::collections::VecDeque;
use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use tiff::decoder::{Decoder, DecodingResult, Limits};
use tiff::tags::Tag;

use super::{Damaged, Grid};

/// Memory of one block of an image: a tile of one second of arc in a single strip needs 52 MB.
const MOST_BLOCK: usize = 64 << 20;
/// Posts of the blocks that an open tile keeps: four blocks of GLO-30.
const MOST_KEPT: usize = 4 << 20;
/// Posts of a row or column: far more than any tile has.
const MOST_POSTS: u32 = 100_000;
/// Keys of the `GeoKeyDirectoryTag`, and their values for degrees, areas and points.
const MODEL_TYPE: u16 = 1024;
const GEOGRAPHIC: u16 = 2;
const RASTER_TYPE: u16 = 1025;
const PIXEL_IS_POINT: u16 = 2;

/// An open tile.
pub(super) struct GeoTiff {
    decoder: Decoder<BufReader<File>>,
    columns: u32,
    block: (u32, u32),
    void: Option<f64>,
    /// Blocks that were read, the last first, with their width.
    kept: VecDeque<(u32, u32, Vec<f32>)>,
}

/// Where the posts of a tile are.
pub(super) fn grid(path: &Path) -> Result<Grid, String> {
    let file = File::open(path).map_err(|error| super::plain_reason(&error))?;
    GeoTiff::open(file).map(|(_, grid)| grid)
}

impl GeoTiff {
    /// Reads the head of a tile.
    pub(super) fn open(file: File) -> Result<(Self, Grid), String> {
        let unread = |error: tiff::TiffError| format!("it cannot be read as TIFF ({error})");
        let mut limits = Limits::default();
        limits.decoding_buffer_size = MOST_BLOCK;
        limits.intermediate_buffer_size = MOST_BLOCK;
        let mut decoder = Decoder::new(BufReader::new(file))
            .map_err(unread)?
            .with_limits(limits);
        let (columns, rows) = decoder.dimensions().map_err(unread)?;
        if !(2..=MOST_POSTS).contains(&columns) || !(2..=MOST_POSTS).contains(&rows) {
            return Err(format!("it has {columns} x {rows} posts"));
        }
        let samples = decoder.find_tag_unsigned::<u16>(Tag::SamplesPerPixel);
        if samples.map_err(unread)?.unwrap_or(1) != 1 {
            return Err("it is a picture with several bands, not a grid of heights".to_owned());
        }
        let grid = georeference(&mut decoder, columns, rows)?;
        let void = decoder
            .get_tag_ascii_string(Tag::GdalNodata)
            .ok()
            .and_then(|text| text.trim_end_matches('\0').trim().parse().ok());
        let block = decoder.chunk_dimensions();
        if block.0 == 0 || block.1 == 0 {
            return Err("its blocks have no size".to_owned());
        }
        let tile = Self {
            decoder,
            columns,
            block,
            void,
            kept: VecDeque::new(),
        };
        Ok((tile, grid))
    }

    /// The number of a post; not a number where it is void.
    pub(super) fn height(&mut self, column: u32, row: u32) -> Result<f64, Damaged> {
        let (width, height) = self.block;
        let in_row = self.columns.div_ceil(width);
        let block = row / height * in_row + column / width;
        if let Some(at) = self.kept.iter().position(|(kept, ..)| *kept == block) {
            self.kept.swap(0, at);
        } else {
            self.read(block)?;
        }
        let (_, width_read, posts) = &self.kept[0];
        let at = (row % height) as usize * *width_read as usize + (column % width) as usize;
        let post = f64::from(*posts.get(at).ok_or(Damaged)?);
        Ok(if self.void == Some(post) {
            f64::NAN
        } else {
            post
        })
    }

    fn read(&mut self, block: u32) -> Result<(), Damaged> {
        let posts = self.decoder.read_chunk(block).map_err(|_| Damaged)?;
        #[expect(
            clippy::cast_possible_truncation,
            reason = "heights are known to a decimetre"
        )]
        let posts: Vec<f32> = match posts {
            DecodingResult::F32(posts) => posts,
            DecodingResult::F64(posts) => posts.into_iter().map(|post| post as f32).collect(),
            DecodingResult::I16(posts) => posts.into_iter().map(f32::from).collect(),
            DecodingResult::U16(posts) => posts.into_iter().map(f32::from).collect(),
            DecodingResult::I32(posts) => posts.into_iter().map(|post| post as f32).collect(),
            _ => return Err(Damaged),
        };
        let (width, _) = self.decoder.chunk_data_dimensions(block);
        self.kept.push_front((block, width, posts));
        let mut sum = 0;
        self.kept.retain(|(kept, _, posts)| {
            sum += posts.len();
            *kept == block || sum <= MOST_KEPT
        });
        Ok(())
    }
}

/// Where the first post is, and how far it is to the next.
fn georeference(
    decoder: &mut Decoder<BufReader<File>>,
    columns: u32,
    rows: u32,
) -> Result<Grid, String> {
    let mut numbers = |tag| decoder.get_tag_f64_vec(tag).unwrap_or_default();
    let scale = numbers(Tag::ModelPixelScaleTag);
    let tie = numbers(Tag::ModelTiepointTag);
    let keys = decoder.get_tag_u16_vec(Tag::GeoKeyDirectoryTag);
    let keys = keys.unwrap_or_default();
    let key = |wanted: u16| {
        let entries = keys.get(4..).unwrap_or_default().chunks_exact(4);
        let mut entries = entries.filter(|entry| entry[0] == wanted && entry[1] == 0);
        entries.next().map(|entry| entry[3])
    };
    if key(MODEL_TYPE).is_some_and(|model| model != GEOGRAPHIC) {
        return Err("its grid is not in degrees of longitude and latitude".to_owned());
    }
    let (&[east_step, south_step, ..], &[column, row, _, lon, lat, ..]) =
        (scale.as_slice(), tie.as_slice())
    else {
        return Err(
            "it has no position (the tags ModelPixelScaleTag and ModelTiepointTag)".to_owned(),
        );
    };
    let centre = if key(RASTER_TYPE) == Some(PIXEL_IS_POINT) {
        0.0
    } else {
        0.5
    };
    let grid = Grid {
        west: lon + (centre - column) * east_step,
        north: lat - (centre - row) * south_step,
        east_step,
        south_step,
        columns,
        rows,
    };
    let south = grid.north - south_step * f64::from(rows - 1);
    let is_on_earth = east_step > 0.0
        && south_step > 0.0
        && east_step * f64::from(columns - 1) <= 360.0
        && (-361.0..=361.0).contains(&grid.west)
        && grid.north <= 91.0
        && south >= -91.0;
    if is_on_earth {
        Ok(grid)
    } else {
        Err(format!(
            "its corner {lon}, {lat} with {columns} x {rows} steps of {east_step} and {south_step} degrees is not on the Earth"
        ))
    }
}
