//! The plan as GPX 1.1, for a GPS receiver or a map program.
//!
//! Waypoints: every place once, decants, turn-back points, where the fuel falls below the minimum or runs
//! out; each with a name, a sentence (`desc`), a symbol and a type. A route through the places. A track
//! with a segment for each leg whose line is known, with altitudes where known. Elements are in the order
//! of the schema. No time is written: the same plan gives the same file.
//!
//! What is imported again: the places and the lines of the legs. What GPX has no place for – surface, sand,
//! litres, days – stays in the trip file.

use std::io;

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};

use super::places::{MapPoint, points};
use super::{Case, Mapped};
use crate::model::geodesic::wrapped;
use crate::model::route::Position;
use crate::model::track::Point;
use crate::plan::Plan;
use crate::present::name::plain;
use crate::present::number::Units;
use crate::present::route_line::RouteLine;
use crate::present::under_way::return_title;
use crate::present::verdict;
use crate::quantity::Metres;

type Xml = Writer<Vec<u8>>;

/// The file; `None` if no place has a position.
///
/// # Panics
/// Never: memory takes all that is written.
pub fn file(case: Case<'_>, units: Units) -> Option<Mapped> {
    let plan = case.shown();
    let (points, unplaced) = points(plan, units);
    if points.is_empty() {
        return None;
    }
    let mut xml = Writer::new_with_indent(Vec::new(), b' ', 1);
    write(&mut xml, case, &points, units).expect("memory takes all that is written");
    let text = String::from_utf8(xml.into_inner()).expect("only text was written");
    Some(Mapped {
        text: text + "\n",
        unplaced,
    })
}

fn write(xml: &mut Xml, case: Case<'_>, points: &[MapPoint], units: Units) -> io::Result<()> {
    let plan = case.shown();
    xml.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    xml.create_element("gpx")
        .with_attributes([
            ("version", "1.1"),
            ("creator", "drystage"),
            ("xmlns", "http://www.topografix.com/GPX/1/1"),
            ("xmlns:xsi", "http://www.w3.org/2001/XMLSchema-instance"),
            (
                "xsi:schemaLocation",
                "http://www.topografix.com/GPX/1/1 http://www.topografix.com/GPX/1/1/gpx.xsd",
            ),
        ])
        .write_inner_content(|xml| {
            let name = plan.trip.name.as_deref().unwrap_or("Untitled trip");
            let mut description = verdict::sentence(plan, units);
            if let Some(title) = return_title(case.plan) {
                description = format!("{title}. {description}");
            }
            if let Some(changes) = case.changes() {
                description = format!("Changed: {changes}. {description}");
            }
            if let Some(notice) = &plan.trip.notice {
                description = format!("{description} {notice}.");
            }
            xml.create_element("metadata")
                .write_inner_content(|xml| texts(xml, &[("name", name), ("desc", &description)]))?;
            for point in points {
                waypoint(xml, point)?;
            }
            route(xml, plan, name)?;
            track(xml, plan, name)
        })?;
    Ok(())
}

/// Elements that hold a text each; an empty text is left out.
fn texts(xml: &mut Xml, texts: &[(&str, &str)]) -> io::Result<()> {
    for (element, text) in texts {
        if !text.is_empty() {
            // The last two code points of the plane are no characters of XML.
            let text = plain(text).replace(['\u{fffe}', '\u{ffff}'], "?");
            xml.create_element(*element)
                .write_text_content(BytesText::new(&text))?;
        }
    }
    Ok(())
}

/// An element with a position.
fn at(
    xml: &mut Xml,
    element: &str,
    at: Position,
    inner: impl FnOnce(&mut Xml) -> io::Result<()>,
) -> io::Result<()> {
    // The schema takes longitudes from -180 up to, but not including, 180.
    let east = wrapped(at.lon).get();
    let east = if east >= 180.0 { east - 360.0 } else { east };
    let (lat, lon) = (at.lat.get().to_string(), east.to_string());
    xml.create_element(element)
        .with_attributes([("lat", lat.as_str()), ("lon", lon.as_str())])
        .write_inner_content(inner)?;
    Ok(())
}

fn height(xml: &mut Xml, height: Option<Metres>) -> io::Result<()> {
    let text = height.map(|height| height.get().to_string());
    texts(xml, &[("ele", &text.unwrap_or_default())])
}

fn waypoint(xml: &mut Xml, point: &MapPoint) -> io::Result<()> {
    let [word, symbol] = point.words;
    at(xml, "wpt", point.at, |xml| {
        height(xml, point.height)?;
        texts(
            xml,
            &[
                ("name", &point.name),
                ("desc", &point.description),
                ("sym", symbol),
                ("type", word),
            ],
        )
    })
}

/// The places in driving order, those without a position left out.
fn route(xml: &mut Xml, plan: &Plan, name: &str) -> io::Result<()> {
    let route = RouteLine::new(plan);
    xml.create_element("rte").write_inner_content(|xml| {
        texts(xml, &[("name", name)])?;
        for place_number in 0..=plan.legs.len() {
            if let Some(position) = route.place(place_number) {
                let place = plan.trip.place(place_number).name;
                at(xml, "rtept", position, |xml| texts(xml, &[("name", place)]))?;
            }
        }
        Ok(())
    })?;
    Ok(())
}

fn track(xml: &mut Xml, plan: &Plan, name: &str) -> io::Result<()> {
    let route = RouteLine::new(plan);
    let lines: Vec<_> = (1..=plan.legs.len())
        .filter_map(|leg| route.leg(leg))
        .filter(|line| line.is_track)
        .collect();
    if lines.is_empty() {
        return Ok(());
    }
    xml.create_element("trk").write_inner_content(|xml| {
        texts(xml, &[("name", name)])?;
        for line in lines.iter().flat_map(|line| line.lines.iter()) {
            xml.create_element("trkseg").write_inner_content(|xml| {
                line.points().iter().try_for_each(|point: &Point| {
                    at(xml, "trkpt", point.position(), |xml| {
                        height(xml, point.height)
                    })
                })
            })?;
        }
        Ok(())
    })?;
    Ok(())
}
