//! How long things take, each at three sizes so that growth is seen:
//!
//! ```sh
//! cargo bench --bench speed
//! cargo bench --bench speed -- plan    # those with that word in their name
//! ```
//!
//! A figure alone says little about another machine: what matters is how they grow and how they stand to one another.

#![expect(clippy::unwrap_used, reason = "a bench stops at the first surprise")]

use std::fmt::Write as _;
use std::process::{Command, Stdio};
use std::sync::Arc;

use divan::counter::{BytesCount, ItemsCount};
use divan::{Bencher, black_box};
use drystage::io::{gpx, json};
use drystage::model::Trip;
use drystage::model::change::Change;
use drystage::model::climb::THRESHOLD;
use drystage::model::route::Leg;
use drystage::model::survey::Profile;
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::{Effort, Plan};
use drystage::present::number::Units;
use drystage::quantity::Kilometres;
use drystage::tui::message::Message;
use drystage::tui::state::State;
use drystage::tui::theme::{Depth, Theme};
use drystage::tui::update::update;
use drystage::tui::view::{Look, view};
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// What a screen is drawn on at most.
const SCREEN: Rect = Rect::new(0, 0, 200, 60);
const LEGS: [usize; 3] = [10, 100, 1_000];
const MANY_LEGS: [usize; 3] = [100, 1_000, 10_000];
const POINTS: [usize; 3] = [1_000, 10_000, 100_000];

fn main() {
    divan::main();
}

/// The legs of the example over and over, fuel at every fifth place.
fn trip(legs: usize) -> Arc<Trip> {
    let example = json::parse(include_bytes!("../data/example-trip.json")).unwrap();
    let legs = (0..legs).map(|nth| Leg {
        to: format!("Place {nth}"),
        day: None,
        fuel: (nth % 5 == 4).then(Default::default),
        distance_km: Some(Kilometres::new(50.0)),
        ..example.legs[nth % example.legs.len()].clone()
    });
    Arc::new(Trip {
        legs: legs.collect(),
        ..example
    })
}

fn screen(legs: usize) -> State {
    State::new(Plan::best_estimate(trip(legs)), Units(UnitSystem::Metric))
}

fn draw(state: &State, buf: &mut Buffer) {
    buf.reset();
    let look = Look {
        theme: Theme::new(Depth::True),
        ascii: false,
    };
    view(state, look, SCREEN, buf);
}

/// A track that winds and climbs, a point each ten metres or so.
fn track(points: usize) -> String {
    let mut gpx =
        String::from(r#"<?xml version="1.0"?><gpx version="1.1" creator="bench"><trk><trkseg>"#);
    for nth in 0..points {
        let along = nth as f64 * 1e-4;
        let (lat, lon) = (-30.0 + along, -20.0 + 1e-3 * (along * 90.0).sin());
        let height = 400.0 + 80.0 * (along * 25.0).sin();
        write!(
            gpx,
            r#"<trkpt lat="{lat:.6}" lon="{lon:.6}"><ele>{height:.1}</ele></trkpt>"#
        )
        .unwrap();
    }
    gpx + "</trkseg></trk></gpx>"
}

/// All of a key on the screen that changes the trip: the change, the plan anew, the frame.
#[divan::bench(args = LEGS)]
fn key_to_frame(bencher: Bencher<'_, '_>, legs: usize) {
    let (mut state, mut buf) = (screen(legs), Buffer::empty(SCREEN));
    let mut up = false;
    bencher.counter(ItemsCount::new(legs)).bench_local(|| {
        up = !up;
        let km = if up { 51 } else { 50 };
        let change = Change::set(&state.plan().trip, "/legs/0/distance_km", Some(km.into()));
        state.make(&change).unwrap();
        state.attend();
        draw(&state, &mut buf);
    });
}

/// Everything at its likely value.
#[divan::bench(args = LEGS)]
fn plan_plain(bencher: Bencher<'_, '_>, legs: usize) {
    let trip = trip(legs);
    let bencher = bencher.counter(ItemsCount::new(legs));
    bencher.bench_local(|| Plan::best_estimate(Arc::clone(black_box(&trip))));
}

/// 8,192 samples on one thread, with instructions, odds and bands.
#[divan::bench(args = LEGS, sample_count = 10, sample_size = 1)]
fn plan_at_the_confidence(bencher: Bencher<'_, '_>, legs: usize) {
    let trip = trip(legs);
    let bencher = bencher.counter(ItemsCount::new(legs));
    bencher.bench_local(|| Plan::at_target(Arc::clone(black_box(&trip)), Effort::FIRST));
}

/// The multipliers of every leg, order-free.
#[divan::bench(args = LEGS)]
fn attribution(bencher: Bencher<'_, '_>, legs: usize) {
    let plan = Plan::best_estimate(trip(legs));
    bencher.counter(ItemsCount::new(legs)).bench_local(|| {
        (1..=legs)
            .map(|leg| plan.formula(leg).causes(plan.legs[leg - 1].steady).len())
            .sum::<usize>()
    });
}

/// From a file's bytes to its points.
#[divan::bench(args = POINTS)]
fn gpx_read(bencher: Bencher<'_, '_>, points: usize) {
    let gpx = track(points);
    let bencher = bencher.counter(ItemsCount::new(points));
    bencher.bench_local(|| gpx::read(black_box(gpx.as_bytes()), false).unwrap());
}

/// What the library alone takes for these bytes, with positions, altitudes and time stamps parsed and kept.
#[divan::bench(args = POINTS)]
fn gpx_read_by_the_library(bencher: Bencher<'_, '_>, points: usize) {
    let gpx = track(points);
    let bencher = bencher.counter(ItemsCount::new(points));
    bencher.bench_local(|| bare_loop(black_box(gpx.as_bytes())));
}

/// Every point of a file: longitude, latitude, altitude, time stamp.
fn bare_loop(bytes: &[u8]) -> Vec<(f64, f64, f64, Option<jiff::Timestamp>)> {
    use quick_xml::events::Event;
    let mut xml = quick_xml::Reader::from_reader(bytes);
    let (mut piece, mut points) = (Vec::new(), Vec::new());
    let mut inside = String::new();
    loop {
        piece.clear();
        match xml.read_event_into(&mut piece).unwrap() {
            Event::Start(tag) => {
                tag.name().as_ref().clone_into(&mut inside);
                if inside == "trkpt" {
                    let number = |key: &str| {
                        let attribute = tag.try_get_attribute(key).unwrap().unwrap();
                        attribute.value.parse::<f64>().unwrap()
                    };
                    points.push((number("lon"), number("lat"), f64::NAN, None));
                }
            }
            Event::Text(text) => {
                let Some(point) = points.last_mut() else {
                    continue;
                };
                match inside.as_str() {
                    "ele" => point.2 = text.parse().unwrap(),
                    "time" => point.3 = text.parse().ok(),
                    _ => {}
                }
            }
            Event::End(_) => inside.clear(),
            Event::Eof => return points,
            _ => {}
        }
    }
}

/// From a file's bytes to its points, lengths and climb.
#[divan::bench(args = POINTS)]
fn gpx_import(bencher: Bencher<'_, '_>, points: usize) {
    let gpx = track(points);
    let bencher = bencher.counter(ItemsCount::new(points));
    bencher.bench_local(|| {
        let reading = gpx::read(black_box(gpx.as_bytes()), false).unwrap();
        Profile::from_points(&reading.lines[0].points, THRESHOLD)
    });
}

/// A trip file read and checked.
#[divan::bench(args = MANY_LEGS, sample_count = 20)]
fn json_load(bencher: Bencher<'_, '_>, legs: usize) {
    let text = written(legs);
    let bencher = bencher.counter(BytesCount::new(text.len()));
    bencher.bench_local(|| json::parse(black_box(&text)).unwrap());
}

/// Reads those bytes by the library alone into a tree, for comparison.
#[divan::bench(args = MANY_LEGS, sample_count = 20)]
fn json_load_into_a_tree(bencher: Bencher<'_, '_>, legs: usize) {
    let text = written(legs);
    let bencher = bencher.counter(BytesCount::new(text.len()));
    bencher.bench_local(|| serde_json::from_slice::<serde_json::Value>(black_box(&text)).unwrap());
}

/// A trip written.
#[divan::bench(args = MANY_LEGS, sample_count = 20)]
fn json_save(bencher: Bencher<'_, '_>, legs: usize) {
    let trip = trip(legs);
    let bytes = written(legs).len();
    let bencher = bencher.counter(BytesCount::new(bytes));
    bencher.bench_local(|| json::write(black_box(&trip), &mut Vec::with_capacity(bytes)).unwrap());
}

/// A leg put in amid the others, and taken out again.
#[divan::bench(args = MANY_LEGS, sample_count = 20)]
fn leg_in_and_out(bencher: Bencher<'_, '_>, legs: usize) {
    let trip = trip(legs);
    bencher.bench_local(|| {
        let change = Change::duplicate_leg(black_box(&trip), legs / 2).unwrap();
        let (changed, inverse) = change.apply(&trip).unwrap();
        inverse.apply(&changed).unwrap()
    });
}

fn written(legs: usize) -> Vec<u8> {
    let mut text = Vec::new();
    json::write(&trip(legs), &mut text).unwrap();
    text
}

/// A frame of the whole trip, another leg chosen for each.
#[divan::bench(args = MANY_LEGS)]
fn frame(bencher: Bencher<'_, '_>, legs: usize) {
    let (mut state, mut buf) = (screen(legs), Buffer::empty(SCREEN));
    bencher.bench_local(|| {
        update(&mut state, Message::NextLeg);
        state.attend();
        draw(&state, &mut buf);
    });
}

/// The program from its start to its end, where it only tells its version.
#[divan::bench]
fn start() {
    run(env!("CARGO_BIN_EXE_drystage"), &["--version"]);
}

/// A program that does nothing, to be seen beside it.
#[divan::bench]
fn start_of_nothing() {
    run("true", &[]);
}

fn run(program: &str, arguments: &[&str]) {
    let done = Command::new(program)
        .args(arguments)
        .stdout(Stdio::null())
        .status();
    assert!(done.unwrap().success());
}
