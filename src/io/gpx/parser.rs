//! The parser: what each element means where it is, and what it adds to the reading.

use std::num::ParseFloatError;
use std::sync::Arc;

use quick_xml::XmlVersion;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::attributes::AttrError;
use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::name::{Namespace, NamespaceResolver, QName, ResolveResult};

use super::damage::Cause;
use crate::io::moment::Moment;
use crate::io::reading::{
    LONGEST_NAME, LONGEST_NOTE, Line, LineKind, MOST_LINES, MOST_POINTS, MOST_WAYPOINTS, Reading,
    Waypoint, Words,
};
use crate::io::text::plain;
use crate::model::track::{Point, is_height};
use crate::quantity::{Degrees, Metres};

/// Bytes of an element's text that are looked at.
const LONGEST_TEXT: usize = 4096;
pub(super) const DEEPEST: usize = 256;
/// Attributes of one element.
pub(super) const MOST_ATTRIBUTES: usize = 64;
/// Points without a valid position that are reported before reading stops.
pub(super) const MOST_WRONG_POINTS: usize = 20;

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
    Time,
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

/// Reads the events of a document into a [`Reading`].
#[derive(Default)]
pub(super) struct Parser {
    salvage: bool,
    pub(super) reading: Reading,
    /// What is wrong with the last point, where that does not keep the rest from being read.
    pub(super) wrong_point: Option<Cause>,
    /// Namespace of the root, or its prefix where that represents none.
    namespace: Option<String>,
    xml_1_1: bool,
    root_seen: bool,
    open: Vec<Open>,
    /// Depth within an element that is passed over.
    passing_over: usize,
    text: String,
    point: Option<Point>,
    time: Option<Moment>,
    words: Words,
    line: Option<Line>,
    /// Points of all lines so far.
    points: usize,
    line_name: Option<Arc<str>>,
    /// Segments met in the current track, and the index of its first line.
    segments: usize,
    first_line: usize,
}

impl Parser {
    /// A parser at the start of a document.
    pub(super) fn new(salvage: bool) -> Self {
        Self {
            salvage,
            ..Self::default()
        }
    }

    /// Takes the next event of a document whose tags match.
    ///
    /// # Errors
    /// What makes it impossible to read on.
    #[inline]
    pub(super) fn take(
        &mut self,
        event: &Event,
        namespaces: &NamespaceResolver,
    ) -> Result<(), Cause> {
        match event {
            Event::Start(tag) => self.start(tag, namespaces),
            Event::Empty(tag) => self.start(tag, namespaces).and_then(|()| self.end()),
            Event::End(_) => self.end(),
            Event::Text(text) => self.take_text(text),
            Event::CData(text) => self.take_literal(text),
            Event::GeneralRef(reference) => self.take_reference(reference),
            Event::Decl(declaration) => {
                self.xml_1_1 = matches!(declaration.xml_version(), Ok(XmlVersion::Explicit1_1));
                Ok(())
            }
            Event::DocType(_) if self.root_seen => Err(Cause::LateDocumentType),
            Event::DocType(_) | Event::Comment(_) | Event::PI(_) => Ok(()),
            Event::Eof => match (self.root_seen, self.open.is_empty()) {
                (false, _) => Err(Cause::NoRoot),
                (true, true) => Ok(()),
                (true, false) => Err(Cause::Unfinished),
            },
        }
    }

    #[inline]
    fn start(&mut self, tag: &BytesStart, namespaces: &NamespaceResolver) -> Result<(), Cause> {
        if self.passing_over > 0 {
            self.check(tag)?;
            self.passing_over += 1;
            return if self.passing_over + self.open.len() > DEEPEST {
                Err(Cause::TooDeep)
            } else {
                Ok(())
            };
        }
        let Some(&parent) = self.open.last() else {
            return self.start_root(tag, namespaces);
        };
        let meaning = if self.is_own(tag.name(), namespaces) {
            Meaning::new(parent, tag.local_name().into_inner())
        } else {
            Meaning::PassOver { listed: true }
        };
        match meaning {
            Meaning::Take(open) => self.enter(open, tag),
            Meaning::PassOver { listed } => {
                self.check(tag)?;
                if listed {
                    let name = tag.name().into_inner();
                    self.reading
                        .pass_over(name, |name| plain(name, LONGEST_NAME));
                }
                self.passing_over = 1;
                Ok(())
            }
        }
    }

    /// Whether an element is one of the format: of the root's namespace, or of none.
    #[inline]
    fn is_own(&self, name: QName, namespaces: &NamespaceResolver) -> bool {
        match namespaces.resolve_element(name).0 {
            ResolveResult::Bound(Namespace(uri)) => self.namespace.as_deref() == Some(uri),
            ResolveResult::Unknown(prefix) => self.namespace == Some(prefix),
            ResolveResult::Unbound => true,
        }
    }

    /// Checks that a tag is well-formed of which no attribute is wanted.
    fn check(&self, tag: &BytesStart) -> Result<(), Cause> {
        check_name(tag.name().into_inner())?;
        attributes(tag, self.xml_1_1, |_, _| {})
    }

    fn start_root(
        &mut self,
        tag: &BytesStart,
        namespaces: &NamespaceResolver,
    ) -> Result<(), Cause> {
        let name = tag.name().into_inner();
        check_name(name)?;
        if self.root_seen {
            return Err(Cause::SecondRoot(plain(name, 40)));
        }
        let (namespace, local) = namespaces.resolve_element(tag.name());
        if local.into_inner() != "gpx" {
            return Err(Cause::OtherRoot(plain(name, 40)));
        }
        self.namespace = match namespace {
            ResolveResult::Bound(Namespace(name)) => Some(name.to_owned()),
            ResolveResult::Unknown(prefix) => Some(prefix),
            ResolveResult::Unbound => None,
        };
        attributes(tag, self.xml_1_1, |key, value| {
            if key == "creator" {
                self.reading.creator = Some(plain(value, LONGEST_NAME));
            }
        })?;
        self.root_seen = true;
        self.open.push(Open::Gpx);
        Ok(())
    }

    #[inline]
    fn enter(&mut self, open: Open, tag: &BytesStart) -> Result<(), Cause> {
        match open {
            Open::Point(kind) => {
                match position(tag, kind, self.xml_1_1) {
                    Ok(point) => self.point = Some(point),
                    Err(cause @ Cause::NoPosition { .. }) if !self.salvage => {
                        self.wrong_point = Some(cause);
                        self.passing_over = 1;
                        return Ok(());
                    }
                    Err(cause) => return Err(cause),
                }
                if kind != PointKind::TrackPoint {
                    self.words = Words::default();
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
        attributes(tag, self.xml_1_1, |_, _| {})?;
        self.open.push(open);
        Ok(())
    }

    #[inline]
    fn end(&mut self) -> Result<(), Cause> {
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
                return self.check_lines();
            }
            Some(Open::Track) => self.close_track(),
            Some(Open::Route) => {
                self.close_line();
                self.close_track();
                return self.check_lines();
            }
            Some(Open::Gpx | Open::Metadata) | None => {}
        }
        Ok(())
    }

    fn check_lines(&self) -> Result<(), Cause> {
        if self.reading.lines.len() > MOST_LINES {
            return Err(Cause::ManyLines);
        }
        Ok(())
    }

    #[inline]
    fn end_point(&mut self, kind: PointKind, point: Point) -> Result<(), Cause> {
        let words = (kind != PointKind::TrackPoint).then(|| std::mem::take(&mut self.words));
        if kind == PointKind::Waypoint {
            self.reading.waypoints.push(Waypoint {
                point,
                words: words.unwrap_or_default(),
            });
            if self.reading.waypoints.len() > MOST_WAYPOINTS {
                return Err(Cause::ManyWaypoints);
            }
        } else {
            let line = self.line.as_mut().expect("its points lie within a line");
            if let Some(words) = words
                && words != Words::default()
            {
                line.words.push((line.points.len(), words));
            }
            line.push(point, self.time.take());
            self.points += 1;
            if self.points > MOST_POINTS {
                return Err(Cause::ManyPoints);
            }
        }
        Ok(())
    }

    #[inline]
    fn end_field(&mut self, field: Field) -> Result<(), Cause> {
        if field == Field::Height {
            let height = match number(&self.text) {
                Ok(height) => height,
                Err(_) if trimmed(&self.text).is_empty() => f64::NAN,
                Err(_) => return Err(Cause::NoHeight(plain(&self.text, 40))),
            };
            let height = Metres::new(height);
            if is_height(height) {
                if let Some(point) = &mut self.point {
                    point.height = Some(height);
                }
            } else {
                self.reading.unusable_heights += 1;
            }
            return Ok(());
        }
        if field == Field::Time {
            self.time = Moment::parse(trimmed(&self.text));
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
            Field::Height | Field::Time => {}
        }
        Ok(())
    }

    pub(super) fn close_line(&mut self) {
        if let Some(mut line) = self.line.take()
            && !line.points.is_empty()
        {
            line.points.shrink_to_fit();
            line.times.shrink_to_fit();
            self.reading.lines.push(line);
        }
    }

    /// Gives the lines of a track its name, which may come after them.
    pub(super) fn close_track(&mut self) {
        for line in &mut self.reading.lines[self.first_line..] {
            line.name.clone_from(&self.line_name);
        }
        self.first_line = self.reading.lines.len();
    }

    #[inline]
    fn take_text(&mut self, text: &str) -> Result<(), Cause> {
        if text.contains(']') && text.contains("]]>") {
            return Err(Cause::EndOfLiteral);
        }
        if self.open.is_empty() && !trimmed(text).is_empty() {
            return Err(Cause::TextOutsideRoot);
        }
        self.push(text);
        Ok(())
    }

    fn take_literal(&mut self, text: &str) -> Result<(), Cause> {
        if self.open.is_empty() {
            return Err(Cause::TextOutsideRoot);
        }
        self.push(text);
        Ok(())
    }

    fn take_reference(&mut self, reference: &BytesRef) -> Result<(), Cause> {
        let unknown = || Cause::UnknownReference(plain(reference, 40));
        let character = reference.resolve_char_ref().map_err(|_| unknown())?;
        let buffer = &mut [0; 4];
        let text = match character {
            Some(character) => &*character.encode_utf8(buffer),
            None => resolve_predefined_entity(reference).ok_or_else(unknown)?,
        };
        check_characters(text, self.xml_1_1)?;
        self.take_literal(text)
    }

    #[inline]
    fn push(&mut self, text: &str) {
        if self.passing_over == 0
            && matches!(self.open.last(), Some(Open::Field(_)))
            && self.text.len() + text.len() <= LONGEST_TEXT
        {
            self.text.push_str(text);
        }
    }
}

impl Meaning {
    /// The meaning of an element of the format's own namespace.
    #[inline]
    fn new(parent: Open, name: &str) -> Self {
        use Field::{Description, Height, Kind, LineName, Name, Symbol, Time, Title};
        use PointKind::{RoutePoint, TrackPoint, Waypoint};
        let open = match parent {
            Open::Segment if name == "trkpt" => Some(Open::Point(TrackPoint)),
            Open::Point(kind) => match (name, kind) {
                ("ele", _) => Some(Open::Field(Height)),
                ("time", TrackPoint) => Some(Open::Field(Time)),
                ("time", _) => return Self::PassOver { listed: false },
                (_, TrackPoint) => None,
                ("name", _) => Some(Open::Field(Name)),
                ("sym", _) => Some(Open::Field(Symbol)),
                ("type", _) => Some(Open::Field(Kind)),
                ("desc", _) => Some(Open::Field(Description)),
                _ => None,
            },
            Open::Gpx => match name {
                "wpt" => Some(Open::Point(Waypoint)),
                "rte" => Some(Open::Route),
                "trk" => Some(Open::Track),
                "metadata" => Some(Open::Metadata),
                "name" => Some(Open::Field(Title)),
                _ => None,
            },
            Open::Metadata if name == "name" => Some(Open::Field(Title)),
            Open::Track | Open::Route if name == "name" => Some(Open::Field(LineName)),
            Open::Track if name == "trkseg" => Some(Open::Segment),
            Open::Route if name == "rtept" => Some(Open::Point(RoutePoint)),
            _ => None,
        };
        open.map_or(Self::PassOver { listed: true }, Self::Take)
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

/// The point at `lat` and `lon`.
#[inline]
fn position(tag: &BytesStart, kind: PointKind, xml_1_1: bool) -> Result<Point, Cause> {
    let (mut lat, mut lon) = (None, None);
    attributes(tag, xml_1_1, |key, value| match key {
        "lat" => lat = Some(degrees(value, 90)),
        "lon" => lon = Some(degrees(value, 180)),
        _ => {}
    })?;
    let within = |found: Option<Result<Degrees, String>>, wrong, limit| {
        let found = found.unwrap_or_else(|| Err("none".to_owned()));
        found.map_err(|got| Cause::NoPosition {
            element: kind.element(),
            wrong,
            limit,
            got,
        })
    };
    Ok(Point {
        lat: within(lat, "lat", 90)?,
        lon: within(lon, "lon", 180)?,
        height: None,
    })
}

/// Degrees of at most `limit`; else what was found.
#[inline]
fn degrees(text: &str, limit: u8) -> Result<Degrees, String> {
    match number(text) {
        Ok(degrees) if degrees.abs() <= f64::from(limit) => Ok(Degrees::new(degrees)),
        _ => Err(format!("`{}`", plain(text, 40))),
    }
}

/// A number, maybe with the blanks of XML around it.
#[inline]
fn number(text: &str) -> Result<f64, ParseFloatError> {
    text.parse().or_else(|_| trimmed(text).parse())
}

/// Text without the blanks of XML around it.
#[inline]
fn trimmed(text: &str) -> &str {
    text.trim_matches(|c| matches!(c, ' ' | '\t' | '\r' | '\n'))
}

/// Hands each attribute with its value to `take`, and checks what the XML reader does not.
#[inline]
fn attributes(
    tag: &BytesStart,
    xml_1_1: bool,
    mut take: impl FnMut(&str, &str),
) -> Result<(), Cause> {
    let raw = tag.attributes_raw();
    if raw.is_empty() {
        return Ok(());
    }
    for (number, attribute) in tag.attributes().enumerate() {
        let attribute = attribute.map_err(|error| match error {
            AttrError::Duplicated(at, _) => {
                let name = tag[at..].split(['=', ' ', '\t', '\r', '\n']).next();
                Cause::RepeatedAttribute(plain(name.unwrap_or_default(), 40))
            }
            _ => Cause::NoAttribute(plain(raw, 40)),
        })?;
        if number >= MOST_ATTRIBUTES {
            return Err(Cause::ManyAttributes);
        }
        let (key, value) = (attribute.key.into_inner(), &*attribute.value);
        check_name(key)?;
        let end = value.as_ptr().addr() - raw.as_ptr().addr() + value.len() + 1;
        if raw.as_bytes().get(end).is_some_and(|&byte| !is_blank(byte)) {
            return Err(Cause::TouchingAttributes);
        }
        if value.contains('<') {
            return Err(Cause::MarkupInAttribute);
        }
        if value.contains('&') {
            let value = attribute.normalized_value(if xml_1_1 {
                XmlVersion::Explicit1_1
            } else {
                XmlVersion::Implicit1_0
            })?;
            check_characters(&value, xml_1_1)?;
            take(key, &value);
        } else {
            take(key, value);
        }
    }
    Ok(())
}

/// Refuses characters to which no reference may be made.
fn check_characters(text: &str, xml_1_1: bool) -> Result<(), Cause> {
    let is_forbidden = |c: char| match c {
        '\t' | '\n' | '\r' => false,
        '\0' | '\u{FFFE}' | '\u{FFFF}' => true,
        _ => c < ' ' && !xml_1_1,
    };
    match text.chars().find(|&c| is_forbidden(c)) {
        Some(character) => Err(Cause::ForbiddenCharacter(character.into())),
        None => Ok(()),
    }
}

/// Refuses what can be no name in XML; of characters beyond ASCII all are let pass.
#[inline]
fn check_name(name: &str) -> Result<(), Cause> {
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
        Err(Cause::NoName(plain(name, 40)))
    }
}

#[inline]
const fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\r' | b'\n')
}
