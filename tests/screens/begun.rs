//! How a trip begins without a file: an import that is looked at before it is opened, a vehicle of the shelf.

use std::path::Path;
use std::sync::Arc;

use drystage::model::{Trip, check};
use drystage::present::number::Units;
use drystage::tui::message::Message as M;
use drystage::tui::outside::{Imported, Item, Opened, Shelf};
use drystage::tui::start::{Outcome, Start};
use drystage::tui::view;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use serde_json::{Value, json};

use super::{PLAIN, text, trip, typed};

/// A shelf with one vehicle; what is created is noted.
#[derive(Default)]
struct OneVehicle {
    created: Option<Trip>,
    answers: Vec<String>,
}

impl Shelf for OneVehicle {
    fn keep_answers(&mut self, answers: &[String]) {
        self.answers = answers.to_vec();
    }

    fn kept_answers(&self) -> Vec<String> {
        self.answers.clone()
    }

    fn items(&self) -> Vec<Item> {
        let at = "shelf/compact.json".into();
        let name = "compact".to_owned();
        vec![Item::New, Item::Vehicle { name, at }, Item::Import]
    }

    fn open(&mut self, _: &Item) -> anyhow::Result<Opened> {
        anyhow::bail!("nothing to open")
    }

    fn vehicle(&self, at: &Path) -> anyhow::Result<Trip> {
        assert_eq!(at, Path::new("shelf/compact.json"));
        Ok(trip())
    }

    fn import(&self, paths: &str, vehicle: &str, _: Units) -> anyhow::Result<Imported> {
        if paths != "way.gpx" || vehicle != "compact" {
            anyhow::bail!("{paths} or {vehicle} is not there");
        }
        Ok(Imported {
            trip: Arc::new(trip()),
            lines: vec!["1 First ford: 85 km, no surface, day 1".to_owned()],
        })
    }

    fn create(&mut self, trip: Trip) -> Opened {
        self.created = Some(trip.clone());
        Opened::new(trip)
    }
}

fn press(start: &mut Start, shelf: &mut OneVehicle, messages: &[M]) -> Option<Box<Opened>> {
    let mut opened = None;
    for &message in messages {
        if let Outcome::Opened(trip) = start.update(message, shelf) {
            opened = Some(trip);
        }
    }
    opened
}

fn answer(start: &mut Start, shelf: &mut OneVehicle, text: &str) -> Option<Box<Opened>> {
    press(start, shelf, &typed(text));
    press(start, shelf, &[M::Enter])
}

fn shown(start: &Start) -> String {
    let area = Rect::new(0, 0, 80, 24);
    let mut buf = Buffer::empty(area);
    view::start::render(start, PLAIN, area, &mut buf);
    text(&buf)
}

#[test]
fn an_import_is_looked_at_before_it_is_opened() {
    let mut shelf = OneVehicle::default();
    let mut start = Start::new(&shelf, None);
    press(&mut start, &mut shelf, &[M::TripEnd, M::Enter]);
    answer(&mut start, &mut shelf, "way.gpx");
    answer(&mut start, &mut shelf, "compast");
    let wrong = shown(&start);
    assert!(wrong.contains("compast is not there"), "{wrong}");
    press(
        &mut start,
        &mut shelf,
        &[M::Erase(drystage::tui::line::Reach::Start)],
    );
    answer(&mut start, &mut shelf, "compact");
    let listed = shown(&start);
    assert!(listed.contains("Open this trip?"), "{listed}");
    assert!(
        listed.contains("no surface, day 1") && listed.contains("y yes"),
        "{listed}"
    );
    // No goes back to the answers, and none is lost.
    press(&mut start, &mut shelf, &[M::No]);
    assert!(shown(&start).contains("compact") && shelf.created.is_none());
    press(&mut start, &mut shelf, &[M::Close]);
    assert!(shown(&start).contains("way.gpx"));
    press(&mut start, &mut shelf, &[M::Enter]);
    answer(&mut start, &mut shelf, "compact");
    let opened = press(&mut start, &mut shelf, &[M::Yes]).unwrap();
    assert_eq!(*opened.trip, trip());
    assert!(opened.notice.unwrap().starts_with("next: "));
    assert!(shelf.created.is_some());
}

#[test]
fn a_vehicle_of_the_shelf_answers_the_questions_about_the_vehicle() {
    let mut shelf = OneVehicle::default();
    let mut start = Start::new(&shelf, None);
    assert!(shown(&start).contains("new with") && shown(&start).contains("compact"));
    press(&mut start, &mut shelf, &[M::ScrollDown, M::Enter]);
    assert!(
        shown(&start).contains("1 of 6: name of the trip"),
        "{}",
        shown(&start)
    );
    answer(&mut start, &mut shelf, "Round the lakes");
    let second = shown(&start);
    assert!(
        second.contains("2 of 6: place where the trip starts"),
        "{second}"
    );
    // Back and on again: the answers of the vehicle are skipped both ways.
    press(&mut start, &mut shelf, &[M::Close]);
    assert!(shown(&start).contains("Round the lakes"));
    press(&mut start, &mut shelf, &[M::Enter]);
    for text in ["Base camp", "y", "First ford", "85"] {
        assert!(answer(&mut start, &mut shelf, text).is_none());
    }
    let opened = answer(&mut start, &mut shelf, "gravel").unwrap();
    assert_eq!(opened.trip.vehicle, trip().vehicle);
    assert_eq!(opened.trip.load, trip().load);
    assert_eq!(opened.trip.rules, trip().rules);
    assert_eq!(opened.trip.legs.len(), 1);
    assert!(shelf.answers.is_empty());
    let document: Value = opened.trip.to_document();
    assert_eq!(document["legs"][0]["surface"], json!("gravel"));
    assert!(check::problems(&document).is_empty());
}
