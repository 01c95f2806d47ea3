//! Map extracts (`.osm.pbf`), written byte by byte after the protocol buffers of the format (`fileformat.proto`,
//! `osmformat.proto`, as the wiki page PBF Format gives them).

use std::io::Write;

use flate2::Compression;
use flate2::write::ZlibEncoder;

/// Tags of a node or way.
pub type Tags = Vec<(String, String)>;

/// A node: its number, latitude, longitude, tags.
pub type Node = (i64, f64, f64, Tags);

/// A way: its number, numbers of its nodes, tags.
pub type Way = (i64, Vec<i64>, Tags);

/// Tags of a text such as `highway=track surface=gravel`; `+` stands for a blank.
pub fn tags(text: &str) -> Tags {
    let pairs = text
        .split_whitespace()
        .filter_map(|tag| tag.split_once('='));
    pairs
        .map(|(key, value)| (key.to_owned(), value.replace('+', " ")))
        .collect()
}

/// An extract; `source` is what its header names as its source.
pub fn extract(source: &str, nodes: &[Node], ways: &[Way]) -> Vec<u8> {
    file(source, nodes, ways, true)
}

/// An extract with uncompressed contents, which the format allows.
pub fn uncompressed(source: &str, nodes: &[Node], ways: &[Way]) -> Vec<u8> {
    file(source, nodes, ways, false)
}

fn file(source: &str, nodes: &[Node], ways: &[Way], is_deflated: bool) -> Vec<u8> {
    let mut header = Vec::new();
    bytes(&mut header, 4, b"OsmSchema-V0.6");
    bytes(&mut header, 4, b"DenseNodes");
    bytes(&mut header, 16, b"drystage tests");
    bytes(&mut header, 17, source.as_bytes());
    let mut file = blob("OSMHeader", &header, is_deflated);
    for nodes in nodes.chunks(8000) {
        file.extend(blob("OSMData", &block_of_nodes(nodes), is_deflated));
    }
    for ways in ways.chunks(8000) {
        file.extend(blob("OSMData", &block_of_ways(ways), is_deflated));
    }
    file
}

fn block_of_nodes(nodes: &[Node]) -> Vec<u8> {
    let mut strings = Strings::default();
    let [mut ids, mut lats, mut lons, mut words] = [const { Vec::new() }; 4];
    let mut before = [0_i64; 3];
    for (id, lat, lon, tags) in nodes {
        #[expect(clippy::cast_possible_truncation, reason = "units of 100 nanodegrees")]
        let now = [*id, (lat * 1e7).round() as i64, (lon * 1e7).round() as i64];
        for ((into, now), before) in [&mut ids, &mut lats, &mut lons]
            .into_iter()
            .zip(now)
            .zip(before)
        {
            varint(into, zigzag(now - before));
        }
        before = now;
        for (key, value) in tags {
            varint(&mut words, strings.number(key));
            varint(&mut words, strings.number(value));
        }
        varint(&mut words, 0);
    }
    let mut dense = Vec::new();
    bytes(&mut dense, 1, &ids);
    bytes(&mut dense, 8, &lats);
    bytes(&mut dense, 9, &lons);
    bytes(&mut dense, 10, &words);
    let mut group = Vec::new();
    bytes(&mut group, 2, &dense);
    strings.block(&group)
}

fn block_of_ways(ways: &[Way]) -> Vec<u8> {
    let mut strings = Strings::default();
    let mut group = Vec::new();
    for (id, nodes, tags) in ways {
        let mut way = Vec::new();
        varint(&mut way, 1 << 3);
        varint(&mut way, u64::try_from(*id).unwrap());
        let [mut keys, mut values, mut refs] = [const { Vec::new() }; 3];
        for (key, value) in tags {
            varint(&mut keys, strings.number(key));
            varint(&mut values, strings.number(value));
        }
        let mut before = 0;
        for node in nodes {
            varint(&mut refs, zigzag(node - before));
            before = *node;
        }
        bytes(&mut way, 2, &keys);
        bytes(&mut way, 3, &values);
        bytes(&mut way, 8, &refs);
        bytes(&mut group, 3, &way);
    }
    strings.block(&group)
}

/// A table of strings; number 0 is none.
#[derive(Default)]
struct Strings(Vec<String>);

impl Strings {
    fn number(&mut self, text: &str) -> u64 {
        let known = self.0.iter().position(|known| known == text);
        let at = known.unwrap_or_else(|| {
            self.0.push(text.to_owned());
            self.0.len() - 1
        });
        at as u64 + 1
    }

    /// A block of data with this table and one group.
    fn block(&self, group: &[u8]) -> Vec<u8> {
        let mut table = Vec::new();
        bytes(&mut table, 1, b"");
        for text in &self.0 {
            bytes(&mut table, 1, text.as_bytes());
        }
        let mut block = Vec::new();
        bytes(&mut block, 1, &table);
        bytes(&mut block, 2, group);
        block
    }
}

fn blob(kind: &str, content: &[u8], is_deflated: bool) -> Vec<u8> {
    let mut blob = Vec::new();
    if is_deflated {
        let mut encoder = ZlibEncoder::new(Vec::new(), Compression::best());
        encoder.write_all(content).unwrap();
        varint(&mut blob, 2 << 3);
        varint(&mut blob, content.len() as u64);
        bytes(&mut blob, 3, &encoder.finish().unwrap());
    } else {
        bytes(&mut blob, 1, content);
    }
    let mut header = Vec::new();
    bytes(&mut header, 1, kind.as_bytes());
    varint(&mut header, 3 << 3);
    varint(&mut header, blob.len() as u64);
    let mut all = u32::try_from(header.len()).unwrap().to_be_bytes().to_vec();
    all.extend(header);
    all.extend(blob);
    all
}

/// A field of bytes with their length.
fn bytes(into: &mut Vec<u8>, field: u64, value: &[u8]) {
    varint(into, (field << 3) | 2);
    varint(into, value.len() as u64);
    into.extend(value);
}

fn varint(into: &mut Vec<u8>, mut value: u64) {
    while value >= 0x80 {
        into.push(u8::try_from(value & 0x7f).unwrap() | 0x80);
        value >>= 7;
    }
    into.push(u8::try_from(value).unwrap());
}

const fn zigzag(value: i64) -> u64 {
    ((value << 1) ^ (value >> 63)).cast_unsigned()
}

/// The number of the next of so many nodes or ways, counted from 1.
pub fn id_after(known: usize) -> i64 {
    i64::try_from(known + 1).unwrap()
}
