//! How long a key takes to be shown. Run with `cargo test --release --test screens -- --ignored --nocapture`.

use std::sync::Arc;
use std::time::{Duration, Instant};

use drystage::model::change::Change;
use drystage::model::slider::Slider;
use drystage::model::vocabulary::UnitSystem;
use drystage::model::{Trip, route::Leg};
use drystage::plan::{Effort, Plan};
use drystage::present::number::Units;
use drystage::quantity::{Kilometres, Litres};
use drystage::tui::beside::Workers;
use drystage::tui::line::Reach;
use drystage::tui::message::Message;
use drystage::tui::picture::Picture;
use drystage::tui::state::{Basis, State};
use drystage::tui::update::update;
use drystage::tui::view::view;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{PLAIN, state, trip};

/// The example's legs over and over, fuel at every fifth place.
fn long_trip(legs: usize) -> Trip {
    let example = trip();
    Trip {
        legs: (0..legs)
            .map(|nth| Leg {
                to: format!("Place {nth}"),
                day: None,
                fuel: (nth % 5 == 4).then(Default::default),
                distance_km: Some(Kilometres::new(50.0)),
                ..example.legs[nth % 6].clone()
            })
            .collect(),
        ..example
    }
}

/// Time of one frame at 200 x 60, the same for ten legs and for a hundred thousand.
#[test]
#[ignore = "measures time: wants a release build and a quiet machine"]
fn a_frame_costs_the_same_for_ten_and_a_hundred_thousand_legs() {
    for legs in [10, 1_000, 10_000] {
        let long = long_trip(legs);
        let started = Instant::now();
        let mut state = state(long);
        let planned = started.elapsed();
        let mut buf = Buffer::empty(Rect::new(0, 0, 200, 60));
        for (what, first) in [
            ("whole trip", Message::ZoomTrip),
            ("one leg", Message::ZoomLeg),
        ] {
            update(&mut state, first);
            let mut times = Vec::new();
            for _ in 0..300 {
                update(&mut state, Message::NextLeg);
                state.attend();
                let started = Instant::now();
                draw(&state, &mut buf);
                times.push(started.elapsed());
            }
            println!(
                "{legs} legs, {what}: a frame {} (planned in {planned:.0?})",
                median_and_p99(times)
            );
        }
        assert!(state.strip().top() > Litres::ZERO);
    }
}

/// Time from a key that is typed into a field to the frame with it, and to the frame that shows what follows,
/// everything computed anew.
#[test]
#[ignore = "measures time: wants a release build and a quiet machine"]
fn a_key_that_is_typed_is_shown_at_once() {
    for legs in [40, 1_000, 10_000] {
        let mut state = state(long_trip(legs)).with_simulation(legs == 40);
        after_all(&mut state, &[Message::Edit]);
        after_all(&mut state, &[Message::ScrollDown; 4]);
        after_all(
            &mut state,
            &[
                Message::Enter,
                Message::Erase(Reach::Start),
                Message::Type('4'),
            ],
        );
        let times = if legs > 10_000 { 20 } else { 100 };
        let times = through_threads(&mut state, times, |nth| {
            if nth % 2 == 0 {
                Message::Type('1')
            } else {
                Message::Erase(Reach::Letter)
            }
        });
        println!("{legs} legs, a key typed: {times}");
    }
}

/// What a key is made of.
#[test]
#[ignore = "measures time: wants a release build and a quiet machine"]
fn what_takes_how_long() {
    for legs in [40, 1_000, 10_000] {
        let trip = Arc::new(long_trip(legs));
        let times = if legs > 10_000 { 5 } else { 100 };
        let mut state = State::new(
            Plan::best_estimate(Arc::clone(&trip)),
            Units(UnitSystem::Metric),
        );
        let change = Change::set(&trip, "/legs/0/distance_km", Some(51.into()));
        println!(
            "{legs} legs: plan {}; picture {}; change {}; attribution {}",
            median_and_p99(taken(times, || drop(Plan::best_estimate(Arc::clone(
                &trip
            ))))),
            median_and_p99({
                let plan = Arc::new(Plan::best_estimate(Arc::clone(&trip)));
                taken(times, || {
                    drop(Picture::of(Arc::clone(&plan), Units(UnitSystem::Metric)));
                })
            }),
            median_and_p99(taken(times, || drop(change.apply(&trip).unwrap()))),
            median_and_p99(taken(times.min(legs), || {
                update(&mut state, Message::NextLeg);
                state.attend();
            })),
        );
        if legs <= 1_000 {
            // What the thread beside the screen gives first.
            let sampled = |effort| {
                median_and_p99(taken(20, || {
                    drop(Plan::at_target(Arc::clone(&trip), effort));
                }))
            };
            println!(
                "{legs} legs, 8,192 samples: on one thread {}; on all {}",
                sampled(Effort::FIRST),
                sampled(Effort::FIRST.on_all_threads())
            );
        }
    }
}

fn taken(times: usize, mut what: impl FnMut()) -> Vec<Duration> {
    (0..times)
        .map(|_| {
            let started = Instant::now();
            what();
            started.elapsed()
        })
        .collect()
}

fn median_and_p99(mut times: Vec<Duration>) -> String {
    times.sort();
    let p99 = times[(times.len() * 99).div_ceil(100) - 1];
    format!("median {:.2?}, p99 {p99:.2?}", times[times.len() / 2])
}

fn draw(state: &State, buf: &mut Buffer) {
    buf.reset();
    view(state, PLAIN, buf.area, buf);
}

fn after_all(state: &mut State, messages: &[Message]) {
    for &message in messages {
        update(state, message);
    }
    state.attend();
}

/// One move of a slider at 200 x 60: the frame with it, the frame that shows what follows, planned beside the screen,
/// and the frame with the verdict.
#[test]
#[ignore = "measures time: wants a release build and a quiet machine"]
fn a_turn_of_a_dial_on_forty_and_a_thousand_legs() {
    for legs in [40, 1_000] {
        let mut state = state(long_trip(legs)).with_simulation(true);
        update(&mut state, Message::Sliders);
        let row = state.slider_list().iter().position(|&d| d == Slider::Cargo);
        update(&mut state, Message::Row(row.unwrap()));
        let times = through_threads(&mut state, 100, |nth| {
            if nth % 40 < 20 {
                Message::SliderUp
            } else {
                Message::SliderDown
            }
        });
        println!("{legs} legs, a slider turned: {times}");
        assert!(state.board.count() > 0);
    }
}

/// A leg put in, copied, taken out, and undone.
#[test]
#[ignore = "measures time: wants a release build and a quiet machine"]
fn legs_come_and_go_on_long_trips() {
    use Message as M;
    const KEYS: [Message; 8] = [
        M::Duplicate,
        M::Delete,
        M::Add,
        M::Close,
        M::Undo,
        M::Later,
        M::Earlier,
        M::Undo,
    ];
    for (legs, times) in [(40, 160), (1_000, 160), (99_000, 16)] {
        let mut state = state(long_trip(legs));
        after_all(&mut state, &[M::Edit, M::NextLeg, M::NextLeg]);
        let times = through_threads(&mut state, times, |nth| KEYS[nth % KEYS.len()]);
        println!("{legs} legs, legs come and go: {times}");
    }
}

/// Keys, each with the frame that shows it, the frame that shows what follows from it, and the frame with the verdict.
fn through_threads(state: &mut State, times: usize, key: impl Fn(usize) -> Message) -> String {
    let mut buf = Buffer::empty(Rect::new(0, 0, 200, 60));
    let mut workers = Workers::start(state, super::no_files());
    let (mut echoed, mut followed, mut judged) = (Vec::new(), Vec::new(), Vec::new());
    for nth in 0..times {
        let started = Instant::now();
        update(state, key(nth));
        workers.before_frame(state);
        draw(state, &mut buf);
        echoed.push(started.elapsed());
        while state.is_behind() {
            std::thread::sleep(Duration::from_millis(1));
            if workers.serve(state) {
                workers.before_frame(state);
                draw(state, &mut buf);
            }
        }
        followed.push(started.elapsed());
        while state.basis() == Basis::Calculating {
            if workers.serve(state) {
                workers.before_frame(state);
                draw(state, &mut buf);
            } else {
                std::thread::sleep(Duration::from_millis(1));
            }
        }
        judged.push(started.elapsed());
    }
    format!(
        "shown {}; what follows {}; the verdict {}",
        median_and_p99(echoed),
        median_and_p99(followed),
        median_and_p99(judged)
    )
}
