//! The parser: what each element means where it stands, and what it adds to the reading.

use std::num::ParseFloatError;
use std::sync::Arc;

use quick_xml::events::{BytesStart, Event};

use super::markup::{attributes, check_attributes, check_name, resolve, trimmed};
use crate::io::moment::Moment;
use crate::io::reading::{
    LONGEST_NAME, LONGEST_NOTE, Line, LineKind, MOST_LINES, MOST_POINTS, MOST_WAYPOINTS, Reading,
    Waypoint, Words,
};
use crate::io::text::{TextError, plain};
use crate::model::track::{Point, is_height};
use crate::quantity::{Degrees, Metres};

/// Bytes of an element's text that are looked at.
const LONGEST_TEXT: usize = 4096;
/// Elements within elements.
const DEEPEST: usize = 256;

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
    pub(super) damage: Vec<TextError>,
    own: OwnPrefixes,
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
    pub(super) fn take(&mut self, event: &Event) -> Result<(), String> {
        match event {
            Event::Start(tag) => self.start(tag),
            Event::Empty(tag) => self.start(tag).and_then(|()| self.end()),
            Event::End(_) => self.end(),
            Event::Text(text) => self.take_text(text),
            Event::CData(text) => self.take_literal(text),
            Event::GeneralRef(reference) => self.take_reference(reference),
            Event::Decl(declaration) => {
                self.xml_1_1 = declaration.version().is_ok_and(|version| version == "1.1");
                Ok(())
            }
            Event::DocType(_) if self.root_seen => {
                Err("a document type must precede the root element".to_owned())
            }
            Event::DocType(_) | Event::Comment(_) | Event::PI(_) | Event::Eof => Ok(()),
        }
    }

    /// Whoever hands over the events knows the line of damage that was just found.
    #[inline]
    pub(super) fn give_damage_its_line(&mut self, line: impl FnOnce() -> u64) {
        if let Some(damage) = self.damage.last_mut()
            && damage.line == 0
        {
            damage.line = line();
        }
    }

    /// Checks that the document is whole.
    ///
    /// # Errors
    /// What is missing.
    pub(super) fn finish(&self) -> Result<(), String> {
        match self.open.last() {
            None if self.root_seen => Ok(()),
            None => Err("must hold a gpx element, got none".to_owned()),
            Some(_) => Err(format!(
                "must go on to </{}>, got the end of the file",
                self.innermost()
            )),
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

    #[inline]
    fn start(&mut self, tag: &BytesStart) -> Result<(), String> {
        let name = tag.name().into_inner();
        if self.passing_over > 0 {
            check_name(name)?;
            check_attributes(tag.attributes_raw(), self.xml_1_1)?;
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
        match self.own.meaning(parent, name) {
            Meaning::Take(open) => self.enter(open, tag),
            Meaning::PassOver { listed } => {
                check_name(name)?;
                check_attributes(tag.attributes_raw(), self.xml_1_1)?;
                if listed {
                    self.reading
                        .pass_over(name, |name| plain(name, LONGEST_NAME));
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
        let (prefix, local) = name.rsplit_once(':').unwrap_or(("", name));
        if local != "gpx" {
            return Err(format!(
                "root element must be gpx, got <{}>",
                plain(name, 40)
            ));
        }
        let mut namespaces = Vec::new();
        let mut creator = None;
        attributes(tag.attributes_raw(), self.xml_1_1, |key, value| {
            if let Some(prefix) = key.strip_prefix("xmlns:") {
                namespaces.push((prefix.to_owned(), value.to_owned()));
            } else if key == "xmlns" {
                namespaces.push((String::new(), value.to_owned()));
            } else if key == "creator" {
                creator = Some(plain(value, LONGEST_NAME));
            }
        })?;
        self.reading.creator = creator;
        let uri = namespaces
            .iter()
            .find(|(key, _)| key == prefix)
            .map(|(_, uri)| uri.clone());
        let own = namespaces
            .into_iter()
            .filter(|(_, other)| Some(other) == uri.as_ref())
            .map(|(key, _)| key);
        self.own.prefixes.extend(own);
        if self.own.prefixes.is_empty() {
            self.own.prefixes.push(prefix.to_owned());
        }
        self.own.none = self.own.prefixes.iter().any(String::is_empty);
        self.root_seen = true;
        self.open.push(Open::Gpx);
        Ok(())
    }

    #[inline]
    fn enter(&mut self, open: Open, tag: &BytesStart) -> Result<(), String> {
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
        check_attributes(tag.attributes_raw(), self.xml_1_1)?;
        self.open.push(open);
        Ok(())
    }

    #[inline]
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

    fn check_lines(&self) -> Result<(), String> {
        if self.reading.lines.len() > MOST_LINES {
            return Err(format!(
                "must hold at most {MOST_LINES} track segments and routes, got more"
            ));
        }
        Ok(())
    }

    #[inline]
    fn end_point(&mut self, kind: PointKind, point: Point) -> Result<(), String> {
        let words = (kind != PointKind::TrackPoint).then(|| std::mem::take(&mut self.words));
        if kind == PointKind::Waypoint {
            self.reading.waypoints.push(Waypoint {
                point,
                words: words.unwrap_or_default(),
            });
            if self.reading.waypoints.len() > MOST_WAYPOINTS {
                return Err(format!(
                    "must hold at most {MOST_WAYPOINTS} waypoints, got more"
                ));
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
                return Err(format!(
                    "must hold at most {MOST_POINTS} points of tracks and routes, got more"
                ));
            }
        }
        Ok(())
    }

    #[inline]
    fn end_field(&mut self, field: Field) -> Result<(), String> {
        if field == Field::Height {
            let height = match number(&self.text) {
                Ok(height) => height,
                Err(_) if trimmed(&self.text).is_empty() => f64::NAN,
                Err(_) => {
                    let got = plain(&self.text, 40);
                    return Err(format!("ele must be a number of metres, got `{got}`"));
                }
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

    /// Gives the lines of a track its name, which may stand behind them.
    pub(super) fn close_track(&mut self) {
        for line in &mut self.reading.lines[self.first_line..] {
            line.name.clone_from(&self.line_name);
        }
        self.first_line = self.reading.lines.len();
    }

    #[inline]
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

/// Prefixes that stand for the namespace of the root.
#[derive(Default)]
struct OwnPrefixes {
    /// Without their colons; the empty one is that of names without a prefix.
    prefixes: Vec<String>,
    /// Whether the empty one is among them.
    none: bool,
}

impl OwnPrefixes {
    /// What an element means that stands in `parent`.
    #[inline]
    fn meaning(&self, parent: Open, name: &str) -> Meaning {
        // No name that is known holds a colon, so one without a prefix need not be searched for it.
        let meaning = if self.none {
            Meaning::of(parent, name)
        } else {
            Meaning::PassOver { listed: true }
        };
        if let Meaning::PassOver { listed: true } = meaning
            && let Some((prefix, local)) = name.rsplit_once(':')
            && self.prefixes.iter().any(|own| own == prefix)
        {
            return Meaning::of(parent, local);
        }
        meaning
    }
}

impl Meaning {
    /// The meaning of an element of the format's own namespace.
    #[inline]
    fn of(parent: Open, name: &str) -> Self {
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

impl Field {
    const fn element(self) -> &'static str {
        match self {
            Self::Title | Self::LineName | Self::Name => "name",
            Self::Height => "ele",
            Self::Time => "time",
            Self::Symbol => "sym",
            Self::Kind => "type",
            Self::Description => "desc",
        }
    }
}

/// The point at `lat` and `lon`. The outer error is a tag that is not well-formed, the inner one a
/// position that is none.
#[inline]
fn position(
    tag: &BytesStart,
    kind: PointKind,
    xml_1_1: bool,
) -> Result<Result<Point, String>, String> {
    let raw = tag.attributes_raw();
    let (mut lat, mut lon) = (f64::NAN, f64::NAN);
    attributes(raw, xml_1_1, |key, value| match key {
        "lat" => lat = number(value).unwrap_or(f64::NAN),
        "lon" => lon = number(value).unwrap_or(f64::NAN),
        _ => {}
    })?;
    Ok(if lat.abs() <= 90.0 && lon.abs() <= 180.0 {
        Ok(Point {
            lon: Degrees::new(lon),
            lat: Degrees::new(lat),
            height: None,
        })
    } else {
        let wrong = if lat.abs() <= 90.0 { "lon" } else { "lat" };
        Err(no_position(raw, kind, wrong, xml_1_1)?)
    })
}

/// What is wrong with a point of which `wrong` is no degrees.
#[cold]
fn no_position(raw: &str, kind: PointKind, wrong: &str, xml_1_1: bool) -> Result<String, String> {
    let mut got = None;
    attributes(raw, xml_1_1, |key, value| {
        if key == wrong {
            got = Some(plain(value, 40));
        }
    })?;
    let limit = if wrong == "lat" { 90 } else { 180 };
    let element = kind.element();
    Ok(match got {
        Some(got) => {
            format!("{element} {wrong} must be -{limit} to {limit} degrees, got `{got}`")
        }
        None => format!("{element} must have {wrong}, -{limit} to {limit} degrees, got none"),
    })
}

/// A number, maybe with the blanks of XML around it.
#[inline]
fn number(text: &str) -> Result<f64, ParseFloatError> {
    text.parse().or_else(|_| trimmed(text).parse())
}
