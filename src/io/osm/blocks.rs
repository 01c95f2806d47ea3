//! The blocks of an extract, decompressed on all cores. Positions in the file show how far reading is.

use std::fs::File;
use std::io::{self, BufReader, Read};
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use osmpbf::{BlobDecode, BlobReader, HeaderBlock, PrimitiveBlock};
use rayon::prelude::*;

use super::{One, OsmError, Progress};
use crate::io::text::plain;
use crate::quantity::Share;

/// Times that a file is read.
const PASSES: f64 = 3.0;

/// What a block contains.
#[derive(Clone, Debug)]
pub(super) struct Contents {
    pub(super) has_ways: bool,
    /// Lowest and highest number of its nodes.
    nodes: (i64, i64),
}

impl Default for Contents {
    fn default() -> Self {
        Self {
            has_ways: false,
            nodes: (i64::MAX, i64::MIN),
        }
    }
}

impl Contents {
    /// Takes the number of a node.
    pub(super) fn take(&mut self, id: i64) {
        self.nodes = (self.nodes.0.min(id), self.nodes.1.max(id));
    }

    /// Whether one of these numbers, in their order, may be a node of it.
    pub(super) fn has_any(&self, ids: &[i64]) -> bool {
        let first = ids.partition_point(|id| *id < self.nodes.0);
        ids.get(first).is_some_and(|id| *id <= self.nodes.1)
    }
}

/// The head of an extract; `None` if the file is none.
pub(super) fn header(file: &Path) -> Option<Box<HeaderBlock>> {
    let mut blobs = BlobReader::from_path(file).ok()?;
    let first = blobs.next()?.ok()?;
    match first.decode().ok()? {
        BlobDecode::OsmHeader(header) => Some(header),
        _ => None,
    }
}

/// A file that counts what was read of it, and stops once the user cancels.
struct Counted {
    file: BufReader<File>,
    read: Arc<AtomicU64>,
    cancelled: Arc<AtomicBool>,
}

impl Read for Counted {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.cancelled.load(Ordering::Relaxed) {
            return Err(io::Error::other("cancelled"));
        }
        let read = self.file.read(into)?;
        self.read.fetch_add(read as u64, Ordering::Relaxed);
        Ok(read)
    }
}

/// One pass over an extract.
pub(super) struct Blocks<'a> {
    blobs: BlobReader<Counted>,
    one: &'a One<'a>,
    pass: u32,
    size: u64,
    read: Arc<AtomicU64>,
    cancelled: Arc<AtomicBool>,
    /// For each block of data whether it is of interest; all are if `None`.
    wanted: Option<&'a [bool]>,
}

impl<'a> Blocks<'a> {
    pub(super) fn open(
        one: &'a One<'a>,
        pass: u32,
        wanted: Option<&'a [bool]>,
    ) -> Result<Self, OsmError> {
        let file = File::open(one.file).map_err(|cause| one.system(cause))?;
        let size = file.metadata().map_err(|cause| one.system(cause))?.len();
        let read = Arc::new(AtomicU64::new(0));
        let cancelled = Arc::new(AtomicBool::new(false));
        let counted = Counted {
            file: BufReader::new(file),
            read: Arc::clone(&read),
            cancelled: Arc::clone(&cancelled),
        };
        Ok(Self {
            blobs: BlobReader::new(counted),
            one,
            pass,
            size,
            read,
            cancelled,
            wanted,
        })
    }

    /// Gives `take` what `look` finds in each block of interest with the number of the block, in any order: only what
    /// `take` keeps stays in memory.
    pub(super) fn each<T>(
        self,
        look: impl Fn(&PrimitiveBlock) -> T + Sync,
        take: impl FnMut(usize, T) -> Result<(), OsmError> + Send,
    ) -> Result<(), OsmError> {
        let Self {
            blobs,
            one,
            pass,
            size,
            read,
            cancelled,
            wanted,
        } = self;
        let progress: Progress = one.progress;
        let damaged = |why: &osmpbf::Error| {
            if cancelled.load(Ordering::Relaxed) {
                return OsmError::Cancelled;
            }
            OsmError::Damaged {
                path: one.path.clone(),
                percent: read.load(Ordering::Relaxed) * 100 / size.max(1),
                why: plain(&why.to_string(), 200),
            }
        };
        let mut number = 0;
        let data = blobs.filter_map(|blob| {
            let blob = match blob {
                Ok(blob) => blob,
                Err(error) => return Some(Err(error)),
            };
            if blob.get_type() != osmpbf::BlobType::OsmData {
                return None;
            }
            let n = number;
            number += 1;
            let is_wanted = wanted.is_none_or(|wanted| wanted.get(n) == Some(&true));
            is_wanted.then_some(Ok((n, blob)))
        });
        let take = Mutex::new(take);
        data.par_bridge().try_for_each(|blob| {
            let (n, blob) = blob.map_err(|error| damaged(&error))?;
            let block = blob.to_primitiveblock().map_err(|error| damaged(&error))?;
            let done = read.load(Ordering::Relaxed) as f64 / size.max(1) as f64;
            if !progress(Share::new((f64::from(pass) + done) / PASSES)) {
                cancelled.store(true, Ordering::Relaxed);
                return Err(OsmError::Cancelled);
            }
            let found = look(&block);
            let mut take = take.lock().unwrap_or_else(PoisonError::into_inner);
            take(n, found)
        })
    }
}
