//! Reads GPX 1.0 and 1.1, point by point and in one pass.
//!
//! Taken: the title; waypoints with name, symbol, type and description; routes; tracks, whose segments
//! stay separate lines. Of points the position and the height; time stamps are passed over in silence,
//! every other element is passed over and listed. A missing version is no error, and the prefix of
//! the namespace is free.
//!
//! A height that is empty, `NaN`, infinite or not from −1,000 to 10,000 m is unknown, and counted.
//! A point without a valid position is an error, as is everything that makes the document not
//! well-formed XML. A document type is passed over: of entities only XML's own five and references
//! to characters are known, so nothing can grow.

use std::io::Read;
use std::sync::Arc;

use quick_xml::errors::{Error as XmlError, IllFormedError};
use quick_xml::events::{BytesStart, Event};
use quick_xml::reader::Reader;

use super::text::{TextError, XmlText, plain};
use crate::model::field::TRACK_HEIGHT;
use crate::model::track::Point;
use crate::quantity::{Degrees, Metres};

/// Longest name that is kept, in characters; a longer one is cut.
pub const LONGEST_NAME: usize = 120;
/// Longest description that is kept.
const LONGEST_NOTE: usize = 400;
/// Bytes of an element's text that are looked at.
const LONGEST_TEXT: usize = 4096;
/// Elements within elements.
const DEEPEST: usize = 256;
/// Attributes of one element.
const MOST_ATTRIBUTES: usize = 64;
/// Waypoints, and lines, of one file.
const MOST: usize = 100_000;
/// Names of elements passed over that are listed.
const MOST_PASSED_OVER: usize = 100;
/// Points without a valid position that are reported before reading stops.
const MOST_DAMAGE: usize = 20;

/// What a file holds.
#[derive(Clone, Debug, Default)]
pub struct Reading {
    /// The file's own title.
    pub title: Option<Arc<str>>,
    /// Waypoints in the order of the file.
    pub waypoints: Vec<Waypoint>,
    /// Track segments and routes in the order of the file, those without a point left out.
    pub lines: Vec<Line>,
    /// Elements that were not read, by name, with how often each was met.
    pub passed_over: Vec<(String, u64)>,
    /// Heights that were stated and are none.
    pub unusable_heights: u64,
    /// Name of the encoding.
    pub encoding: &'static str,
    /// Where reading stopped, when damage was to be salvaged.
    pub salvaged_before: Option<TextError>,
}

/// A line of the file: a track's segment or a route.
#[derive(Clone, Debug)]
pub struct Line {
    /// Which of the two.
    pub kind: LineKind,
    /// Name of the track or route.
    pub name: Option<Arc<str>>,
    /// Number of the segment within its track, from 1; a route is its own first.
    pub segment: usize,
    /// The points.
    pub points: Vec<Point>,
    /// Words about points of a route, by the point's index.
    pub words: Vec<(usize, Words)>,
}

/// Track or route.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum LineKind {
    /// A track: where somebody was.
    Track,
    /// A route: places to go to.
    Route,
}

/// A named position.
#[derive(Clone, Debug)]
pub struct Waypoint {
    /// Where.
    pub point: Point,
    /// What is said about it.
    pub words: Words,
}

/// What a file says about a point.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words {
    /// Its name.
    pub name: Option<String>,
    /// Its symbol.
    pub symbol: Option<String>,
    /// Its type.
    pub kind: Option<String>,
    /// Its description.
    pub description: Option<String>,
}

/// Reads a file. With `salvage`, damage is no error: what precedes it is taken, and
/// [`Reading::salvaged_before`] tells where it stopped.
///
/// # Errors
/// The damage, each with its line: points without a valid position up to twenty, or whatever
/// made it impossible to read on.
pub fn read(bytes: impl Read, salvage: bool) -> Result<Reading, Vec<TextError>> {
    let mut parser = Parser {
        salvage,
        ..Parser::default()
    };
    let end = match XmlText::new(bytes) {
        Ok(text) => {
            parser.reading.encoding = text.encoding();
            parser.run(text)
        }
        Err(error) => Err(io_fault(1, &error)),
    };
    if let Err(fault) = end {
        if salvage {
            parser.close_line();
            parser.close_track();
            parser.reading.salvaged_before = Some(fault);
        } else {
            parser.damage.push(fault);
        }
    }
    if parser.damage.is_empty() {
        Ok(parser.reading)
    } else {
        Err(parser.damage)
    }
}

/// An element that is being read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Open {
    Gpx,
    Metadata,
    Track,
    Segment,
    Route,
    Point(PointKind),
    Field(Field),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum PointKind {
    Waypoint,
    RoutePoint,
    TrackPoint,
}

/// An element whose text is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Field {
    Title,
    LineName,
    Height,
    Name,
    Symbol,
    Kind,
    Description,
}

/// What the parser does with an element.
enum Meaning {
    Take(Open),
    PassOver { listed: bool },
}

#[derive(Default)]
struct Parser {
    salvage: bool,
    reading: Reading,
    damage: Vec<TextError>,
    /// Prefixes that stand for the namespace of the root, each with its colon; the empty one too.
    prefixes: Vec<String>,
    xml_1_1: bool,
    root_seen: bool,
    open: Vec<Open>,
    /// Depth within an element that is passed over.
    passing_over: usize,
    text: String,
    point: Option<Point>,
    words: Words,
    line: Option<Line>,
    line_name: Option<Arc<str>>,
    /// Segments met in the current track, and the index of its first line.
    segments: usize,
    first_line: usize,
}

impl Parser {
    fn run<R: Read>(&mut self, text: XmlText<R>) -> Result<(), TextError> {
        let mut xml = Reader::from_reader(text);
        xml.config_mut().check_comments = true;
        let mut buffer = Vec::new();
        loop {
            buffer.clear();
            let mut at = xml.buffer_position();
            xml.get_mut().mark(at);
            let done = match xml.read_event_into(&mut buffer) {
                Ok(Event::Start(tag)) => self.start(&tag),
                Ok(Event::Empty(tag)) => self.start(&tag).and_then(|()| self.end()),
                Ok(Event::End(_)) => self.end(),
                Ok(Event::Text(text)) => self.take_text(&text).inspect_err(|_| {
                    at += (text.len() - text.trim_start().len()) as u64;
                }),
                Ok(Event::CData(text)) => self.take_literal(&text),
                Ok(Event::GeneralRef(reference)) => self.take_reference(&reference),
                Ok(Event::Decl(declaration)) => {
                    self.xml_1_1 = declaration.version().is_ok_and(|version| version == "1.1");
                    if at == 0 {
                        Ok(())
                    } else {
                        Err("the XML declaration must be the very first in the file".to_owned())
                    }
                }
                Ok(Event::DocType(_)) if self.root_seen => {
                    Err("a document type must precede the root element".to_owned())
                }
                Ok(Event::DocType(_) | Event::Comment(_) | Event::PI(_)) => Ok(()),
                Ok(Event::Eof) => {
                    return match self.open.last() {
                        None if self.root_seen => Ok(()),
                        None => Err(TextError {
                            line: xml.get_ref().line_of(at),
                            says: "must hold a gpx element, got none".to_owned(),
                        }),
                        Some(_) => Err(TextError {
                            line: xml.get_ref().line_of(at),
                            says: format!(
                                "must go on to </{}>, got the end of the file",
                                self.innermost()
                            ),
                        }),
                    };
                }
                Err(error) => {
                    let at = at.max(xml.error_position());
                    return Err(xml_fault(xml.get_ref().line_of(at), &error));
                }
            };
            if let Err(says) = done {
                return Err(TextError {
                    line: xml.get_ref().line_of(at),
                    says,
                });
            }
            if let Some(damage) = self.damage.last_mut()
                && damage.line == 0
            {
                damage.line = xml.get_ref().line_of(at);
                if self.damage.len() >= MOST_DAMAGE {
                    return Err(TextError {
                        line: xml.get_ref().line_of(at),
                        says: format!(
                            "{MOST_DAMAGE} points have no valid position; reading stopped here"
                        ),
                    });
                }
            }
        }
    }

    fn innermost(&self) -> &'static str {
        match self.open.last() {
            _ if self.passing_over > 0 => "…",
            Some(Open::Gpx) | None => "gpx",
            Some(Open::Metadata) => "metadata",
            Some(Open::Track) => "trk",
            Some(Open::Segment) => "trkseg",
            Some(Open::Route) => "rte",
            Some(Open::Point(kind)) => kind.element(),
            Some(Open::Field(field)) => field.element(),
        }
    }

    fn start(&mut self, tag: &BytesStart) -> Result<(), String> {
        let name = tag.name().into_inner();
        if self.passing_over > 0 {
            check_name(name)?;
            attributes(tag.attributes_raw(), self.xml_1_1, |_, _| {})?;
            self.passing_over += 1;
            return if self.passing_over + self.open.len() > DEEPEST {
                Err(format!(
                    "elements must be nested at most {DEEPEST} deep, got more"
                ))
            } else {
                Ok(())
            };
        }
        let Some(&parent) = self.open.last() else {
            return self.start_root(tag);
        };
        match self.meaning(parent, name) {
            Meaning::Take(open) => self.take(open, tag),
            Meaning::PassOver { listed } => {
                check_name(name)?;
                attributes(tag.attributes_raw(), self.xml_1_1, |_, _| {})?;
                if listed {
                    self.list_passed_over(name);
                }
                self.passing_over = 1;
                Ok(())
            }
        }
    }

    fn start_root(&mut self, tag: &BytesStart) -> Result<(), String> {
        let name = tag.name().into_inner();
        check_name(name)?;
        if self.root_seen {
            return Err(format!(
                "must hold one root element, got a second: <{}>",
                plain(name, 40)
            ));
        }
        let (prefix, local) = name.split_at(name.rfind(':').map_or(0, |colon| colon + 1));
        if local != "gpx" {
            return Err(format!(
                "root element must be gpx, got <{}>",
                plain(name, 40)
            ));
        }
        let mut namespaces = Vec::new();
        attributes(tag.attributes_raw(), self.xml_1_1, |key, value| {
            if let Some(prefix) = key.strip_prefix("xmlns:") {
                namespaces.push((format!("{prefix}:"), value.to_owned()));
            } else if key == "xmlns" {
                namespaces.push((String::new(), value.to_owned()));
            }
        })?;
        let own = namespaces
            .iter()
            .find(|(key, _)| key == prefix)
            .map(|(_, uri)| uri.clone());
        self.prefixes = namespaces
            .into_iter()
            .filter(|(_, uri)| Some(uri) == own.as_ref())
            .map(|(key, _)| key)
            .collect();
        if self.prefixes.is_empty() {
            self.prefixes.push(prefix.to_owned());
        }
        self.root_seen = true;
        self.open.push(Open::Gpx);
        Ok(())
    }

    fn meaning(&self, parent: Open, name: &str) -> Meaning {
        use Field::{Description, Height, Kind, LineName, Name, Symbol, Title};
        use PointKind::{RoutePoint, TrackPoint, Waypoint};
        let (prefix, local) = name.split_at(name.rfind(':').map_or(0, |colon| colon + 1));
        if !self.prefixes.iter().any(|own| own == prefix) {
            return Meaning::PassOver { listed: true };
        }
        Meaning::Take(match (parent, local) {
            (Open::Segment, "trkpt") => Open::Point(TrackPoint),
            (Open::Point(_), "ele") => Open::Field(Height),
            (Open::Point(_), "time") => return Meaning::PassOver { listed: false },
            (Open::Point(Waypoint | RoutePoint), "name") => Open::Field(Name),
            (Open::Point(Waypoint | RoutePoint), "sym") => Open::Field(Symbol),
            (Open::Point(Waypoint | RoutePoint), "type") => Open::Field(Kind),
            (Open::Point(Waypoint | RoutePoint), "desc") => Open::Field(Description),
            (Open::Gpx, "wpt") => Open::Point(Waypoint),
            (Open::Gpx, "rte") => Open::Route,
            (Open::Gpx, "trk") => Open::Track,
            (Open::Gpx, "metadata") => Open::Metadata,
            (Open::Gpx | Open::Metadata, "name") => Open::Field(Title),
            (Open::Track, "trkseg") => Open::Segment,
            (Open::Track | Open::Route, "name") => Open::Field(LineName),
            (Open::Route, "rtept") => Open::Point(RoutePoint),
            _ => return Meaning::PassOver { listed: true },
        })
    }

    fn take(&mut self, open: Open, tag: &BytesStart) -> Result<(), String> {
        match open {
            Open::Point(kind) => {
                match position(tag, kind, self.xml_1_1)? {
                    Ok(point) => {
                        self.point = Some(point);
                        if kind != PointKind::TrackPoint {
                            self.words = Words::default();
                        }
                    }
                    Err(says) if self.salvage => return Err(says),
                    Err(says) => {
                        // The line is filled in by the loop, which knows it.
                        self.damage.push(TextError { line: 0, says });
                        self.passing_over = 1;
                        return Ok(());
                    }
                }
                self.open.push(open);
                return Ok(());
            }
            Open::Field(_) => self.text.clear(),
            Open::Track => {
                self.line_name = None;
                self.segments = 0;
                self.first_line = self.reading.lines.len();
            }
            Open::Segment => {
                self.segments += 1;
                self.line = Some(Line::new(LineKind::Track, self.segments));
            }
            Open::Route => {
                self.line_name = None;
                self.first_line = self.reading.lines.len();
                self.line = Some(Line::new(LineKind::Route, 1));
            }
            Open::Gpx | Open::Metadata => {}
        }
        attributes(tag.attributes_raw(), self.xml_1_1, |_, _| {})?;
        self.open.push(open);
        Ok(())
    }

    fn end(&mut self) -> Result<(), String> {
        if self.passing_over > 0 {
            self.passing_over -= 1;
            return Ok(());
        }
        match self.open.pop() {
            Some(Open::Field(field)) => return self.end_field(field),
            Some(Open::Point(kind)) => {
                let point = self.point.take().expect("set when the element was opened");
                return self.end_point(kind, point);
            }
            Some(Open::Segment) => {
                self.close_line();
                if self.reading.lines.len() > MOST {
                    return Err(format!(
                        "must hold at most {MOST} tracks and routes, got more"
                    ));
                }
            }
            Some(Open::Track) => self.close_track(),
            Some(Open::Route) => {
                self.close_line();
                self.close_track();
            }
            Some(Open::Gpx | Open::Metadata) | None => {}
        }
        Ok(())
    }

    fn end_point(&mut self, kind: PointKind, point: Point) -> Result<(), String> {
        let words = (kind != PointKind::TrackPoint).then(|| std::mem::take(&mut self.words));
        if kind == PointKind::Waypoint {
            self.reading.waypoints.push(Waypoint {
                point,
                words: words.unwrap_or_default(),
            });
            if self.reading.waypoints.len() > MOST {
                return Err(format!("must hold at most {MOST} waypoints, got more"));
            }
        } else {
            let line = self.line.as_mut().expect("its points lie within a line");
            if let Some(words) = words
                && words != Words::default()
            {
                line.words.push((line.points.len(), words));
            }
            line.points.push(point);
        }
        Ok(())
    }

    fn end_field(&mut self, field: Field) -> Result<(), String> {
        if field == Field::Height {
            let text = trimmed(&self.text);
            let height = if text.is_empty() {
                f64::NAN
            } else {
                text.parse().map_err(|_| {
                    format!("ele must be a number of metres, got `{}`", plain(text, 40))
                })?
            };
            if TRACK_HEIGHT.admits(&height.into()) {
                if let Some(point) = &mut self.point {
                    point.height = Some(Metres::new(height));
                }
            } else {
                self.reading.unusable_heights += 1;
            }
            return Ok(());
        }
        let longest = if field == Field::Description {
            LONGEST_NOTE
        } else {
            LONGEST_NAME
        };
        let text = Some(plain(&self.text, longest)).filter(|text| !text.is_empty());
        match field {
            Field::Title => {
                if self.reading.title.is_none() {
                    self.reading.title = text.map(Arc::from);
                }
            }
            Field::LineName => self.line_name = text.map(Arc::from),
            Field::Name => self.words.name = text,
            Field::Symbol => self.words.symbol = text,
            Field::Kind => self.words.kind = text,
            Field::Description => self.words.description = text,
            Field::Height => {}
        }
        Ok(())
    }

    fn close_line(&mut self) {
        if let Some(mut line) = self.line.take()
            && !line.points.is_empty()
        {
            line.points.shrink_to_fit();
            self.reading.lines.push(line);
        }
    }

    /// Gives the lines of a track its name, which may stand behind them.
    fn close_track(&mut self) {
        for line in &mut self.reading.lines[self.first_line..] {
            line.name.clone_from(&self.line_name);
        }
        self.first_line = self.reading.lines.len();
    }

    fn take_text(&mut self, text: &str) -> Result<(), String> {
        if text.contains(']') && text.contains("]]>") {
            return Err("text must not hold `]]>`".to_owned());
        }
        if self.open.is_empty() && !trimmed(text).is_empty() {
            return Err("must hold nothing but the root element, got text".to_owned());
        }
        self.push(text);
        Ok(())
    }

    fn take_literal(&mut self, text: &str) -> Result<(), String> {
        if self.open.is_empty() {
            return Err("must hold nothing but the root element, got text".to_owned());
        }
        self.push(text);
        Ok(())
    }

    fn take_reference(&mut self, reference: &str) -> Result<(), String> {
        let character = resolve(reference, self.xml_1_1)?;
        self.take_literal(character.encode_utf8(&mut [0; 4]))
    }

    fn push(&mut self, text: &str) {
        if self.passing_over == 0
            && matches!(self.open.last(), Some(Open::Field(_)))
            && self.text.len() + text.len() <= LONGEST_TEXT
        {
            self.text.push_str(text);
        }
    }

    fn list_passed_over(&mut self, name: &str) {
        let list = &mut self.reading.passed_over;
        if let Some((_, times)) = list.iter_mut().find(|(known, _)| known == name) {
            *times += 1;
        } else if list.len() < MOST_PASSED_OVER {
            list.push((plain(name, LONGEST_NAME), 1));
        }
    }
}

impl Line {
    fn new(kind: LineKind, segment: usize) -> Self {
        Self {
            kind,
            name: None,
            segment,
            points: Vec::new(),
            words: Vec::new(),
        }
    }
}

impl PointKind {
    const fn element(self) -> &'static str {
        match self {
            Self::Waypoint => "wpt",
            Self::RoutePoint => "rtept",
            Self::TrackPoint => "trkpt",
        }
    }
}

impl Field {
    const fn element(self) -> &'static str {
        match self {
            Self::Title | Self::LineName | Self::Name => "name",
            Self::Height => "ele",
            Self::Symbol => "sym",
            Self::Kind => "type",
            Self::Description => "desc",
        }
    }
}

/// The point at `lat` and `lon`. The outer error is a tag that is not well-formed, the inner one a
/// position that is none.
fn position(
    tag: &BytesStart,
    kind: PointKind,
    xml_1_1: bool,
) -> Result<Result<Point, String>, String> {
    let (mut lat, mut lon) = (None, None);
    attributes(tag.attributes_raw(), xml_1_1, |key, value| match key {
        "lat" => lat = Some(Coordinate::parse(value, 90.0)),
        "lon" => lon = Some(Coordinate::parse(value, 180.0)),
        _ => {}
    })?;
    let degrees = |name, limit, found: Option<Coordinate>| match found {
        Some(Coordinate::Degrees(degrees)) => Ok(Degrees::new(degrees)),
        Some(Coordinate::Unusable(text)) => Err(format!(
            "{} {name} must be -{limit} to {limit} degrees, got `{text}`",
            kind.element()
        )),
        None => Err(format!(
            "{} must have {name}, -{limit} to {limit} degrees, got none",
            kind.element()
        )),
    };
    Ok(degrees("lat", 90, lat).and_then(|lat| {
        degrees("lon", 180, lon).map(|lon| Point {
            lon,
            lat,
            height: None,
        })
    }))
}

/// Text without the blanks of XML around it.
fn trimmed(text: &str) -> &str {
    text.trim_matches(|c| matches!(c, ' ' | '\t' | '\r' | '\n'))
}

enum Coordinate {
    Degrees(f64),
    Unusable(String),
}

impl Coordinate {
    fn parse(text: &str, limit: f64) -> Self {
        match trimmed(text).parse::<f64>() {
            Ok(degrees) if degrees.abs() <= limit => Self::Degrees(degrees),
            _ => Self::Unusable(plain(text, 40)),
        }
    }
}

/// Hands each attribute with its value to `take`, and checks that the tag is well-formed.
fn attributes(raw: &str, xml_1_1: bool, mut take: impl FnMut(&str, &str)) -> Result<(), String> {
    let mut rest = raw;
    while let Some(attribute) = next_attribute(&mut rest)? {
        let (key, value) = attribute;
        check_name(key)?;
        // A tag has few attributes, so those before are read again rather than remembered.
        let mut before = &raw[..raw.len() - rest.len()];
        let (mut number, mut times) = (0, 0);
        while let Ok(Some((earlier, _))) = next_attribute(&mut before) {
            number += 1;
            times += u32::from(earlier == key);
        }
        if times > 1 {
            return Err(format!(
                "an attribute must stand once, got `{}` twice",
                plain(key, 40)
            ));
        }
        if number > MOST_ATTRIBUTES {
            return Err(format!(
                "an element must have at most {MOST_ATTRIBUTES} attributes, got more"
            ));
        }
        if value.bytes().any(|byte| byte == b'<' || byte == b'&') {
            take(key, &expand(value, xml_1_1)?);
        } else {
            take(key, value);
        }
    }
    Ok(())
}

/// Takes the first attribute off what follows a tag's name.
fn next_attribute<'a>(rest: &mut &'a str) -> Result<Option<(&'a str, &'a str)>, String> {
    let text = *rest;
    let bytes = text.as_bytes();
    let blank = |byte: &u8| matches!(byte, b' ' | b'\t' | b'\r' | b'\n');
    let skip = |from: usize| from + bytes[from..].iter().take_while(|byte| blank(byte)).count();
    let start = skip(0);
    if start == bytes.len() {
        return Ok(None);
    }
    if start == 0 {
        return Err("attributes must be separated by a space".to_owned());
    }
    let malformed = || {
        format!(
            "attributes must be name=\"value\", got `{}`",
            plain(&text[start..], 40)
        )
    };
    let length = bytes[start..]
        .iter()
        .take_while(|byte| **byte != b'=' && !blank(byte))
        .count();
    let end = start + length;
    let equals = skip(end);
    if bytes.get(equals) != Some(&b'=') {
        return Err(malformed());
    }
    let open = skip(equals + 1);
    let Some(quote @ (b'"' | b'\'')) = bytes.get(open) else {
        return Err(malformed());
    };
    let value = &bytes[open + 1..];
    let close = open
        + 1
        + value
            .iter()
            .position(|byte| byte == quote)
            .ok_or_else(malformed)?;
    *rest = &text[close + 1..];
    Ok(Some((&text[start..end], &text[open + 1..close])))
}

/// An attribute's value with its references resolved.
fn expand(value: &str, xml_1_1: bool) -> Result<String, String> {
    if value.contains('<') {
        return Err("an attribute's value must not hold `<`".to_owned());
    }
    let mut pieces = value.split('&');
    let mut expanded = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (reference, text) = piece
            .split_once(';')
            .ok_or("`&` must begin a reference that ends with `;`")?;
        expanded.push(resolve(reference, xml_1_1)?);
        expanded.push_str(text);
    }
    Ok(expanded)
}

/// The character that a reference stands for.
fn resolve(reference: &str, xml_1_1: bool) -> Result<char, String> {
    let number = reference
        .strip_prefix('#')
        .map(|digits| match digits.strip_prefix('x') {
            Some(hex) => u32::from_str_radix(hex, 16),
            None => digits.parse(),
        });
    let character = match (reference, number) {
        ("lt", _) => Some('<'),
        ("gt", _) => Some('>'),
        ("amp", _) => Some('&'),
        ("apos", _) => Some('\''),
        ("quot", _) => Some('"'),
        (_, Some(Ok(number))) => char::from_u32(number).filter(|&c| {
            let control = c < ' ' && !matches!(c, '\t' | '\n' | '\r');
            !matches!(c, '\0' | '\u{FFFE}' | '\u{FFFF}') && (!control || xml_1_1)
        }),
        _ => None,
    };
    character.ok_or_else(|| {
        format!(
            "a reference must be one of &lt; &gt; &amp; &apos; &quot; or a character's number, got `&{};`",
            plain(reference, 40)
        )
    })
}

/// Refuses what can be no name in XML; of characters beyond ASCII all are let pass.
fn check_name(name: &str) -> Result<(), String> {
    let bytes = name.as_bytes();
    let starts =
        |byte: u8| byte.is_ascii_alphabetic() || matches!(byte, b'_' | b':') || byte >= 0x80;
    let sound = bytes.first().is_some_and(|&byte| starts(byte))
        && bytes.len() <= 1024
        && bytes
            .iter()
            .all(|&byte| starts(byte) || byte.is_ascii_digit() || matches!(byte, b'-' | b'.'));
    if sound {
        Ok(())
    } else {
        Err(format!("must be a name, got `{}`", plain(name, 40)))
    }
}

fn xml_fault(line: u64, error: &XmlError) -> TextError {
    match error {
        XmlError::Io(error) => io_fault(line, error),
        XmlError::IllFormed(IllFormedError::UnclosedReference) => TextError {
            line,
            says: "`&` must begin a reference that ends with `;`".to_owned(),
        },
        other => TextError {
            line,
            says: format!(
                "must be well-formed XML: {}",
                plain(&other.to_string(), 200)
            ),
        },
    }
}

fn io_fault(line: u64, error: &std::io::Error) -> TextError {
    error
        .get_ref()
        .and_then(|inner| inner.downcast_ref::<TextError>())
        .cloned()
        .unwrap_or_else(|| TextError {
            line,
            says: format!("reading failed: {error}"),
        })
}
