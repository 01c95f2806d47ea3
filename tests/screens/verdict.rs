//! No verdict before the simulation: none from best estimates, and none that is taken back without an edit.

use std::time::{Duration, Instant};

use drystage::model::change::Change;
use drystage::model::route::Leg;
use drystage::model::slider::Slider;
use drystage::model::{Trip, check};
use drystage::plan::doubt::MOST_LEGS;
use drystage::plan::{Effort, Plan};
use drystage::present::verdict::may_go;
use drystage::quantity::Kilometres;
use drystage::tui::beside::Workers;
use drystage::tui::message::Message;
use drystage::tui::state::{Basis, Panel, State};
use drystage::tui::update::update;
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use ratatui::buffer::Cell;
use ratatui::style::Modifier;
use serde_json::{Value, json};

use super::wishes::{change, wishes};
use super::{PLAIN, after_each, drawn, screen, state, trip};

/// What a frame says: GO or not; `None` while it is being calculated. A verdict that is there is never dimmed, and
/// without one nothing but the word is bright in the rows of the verdict.
fn verdict(state: &State) -> Option<bool> {
    let buf = drawn(state, PLAIN, 80, 24);
    let bright = |y: u16| -> String {
        let cells = (0..80).map(|x| &buf[(x, y)]);
        cells
            .filter(|cell| !cell.modifier.contains(Modifier::DIM))
            .map(Cell::symbol)
            .collect()
    };
    let rows = format!("{} {}", bright(1), bright(2));
    let rows = rows.trim();
    match rows.split_whitespace().next() {
        Some("GO") => Some(true),
        Some("NO-GO") => Some(false),
        _ => {
            assert_eq!(rows, "calculating", "{}", screen(state, 80, 24));
            None
        }
    }
}

/// A sample made four times shorter, with a small tank and two small cans: of few litres few simulated trips are sure.
fn small_trip() -> Trip {
    let text = include_str!("../../sample-routes/forest-weekend.json");
    let mut document: Value = serde_json::from_str(text).unwrap();
    document["vehicle"]["tank_l"] = 12.into();
    for leg in document["legs"].as_array_mut().unwrap() {
        leg["distance_km"] = (leg["distance_km"].as_f64().unwrap() / 4.0).into();
    }
    document["load"]["cans"] =
        json!([{ "size_l": 2, "empty_kg": 0.4, "owned": 2, "places": ["cargo"] }]);
    document["rules"]["reserve"] = json!({ "litres": 3.5 });
    document["what_ifs"] = json!([]);
    check::read(document).unwrap()
}

fn simulating(trip: Trip) -> State {
    state(trip).with_simulation(true)
}

/// The verdicts of all frames of a state that was just edited, with each answer that comes. The first one that is there
/// is the last one, too.
fn verdict_at_last(state: &mut State) -> (Option<bool>, bool) {
    assert_eq!(verdict(state), None, "planned, not simulated");
    state.simulate(false);
    let first = verdict(state);
    state.simulate(true);
    let last = verdict(state).unwrap();
    assert!(
        first.is_none_or(|first| first == last),
        "taken back:\n{}",
        screen(state, 80, 24)
    );
    (first, last)
}

/// How often there was a verdict from the first simulated trips, GO and NO-GO, and how often there was none.
#[derive(Debug, Default)]
struct Counts {
    go: usize,
    no_go: usize,
    calculating: usize,
}

impl Counts {
    fn add(&mut self, first: Option<bool>) {
        *match first {
            Some(true) => &mut self.go,
            Some(false) => &mut self.no_go,
            None => &mut self.calculating,
        } += 1;
    }
}

/// A hundred random edits: no frame shows GO where the finished simulation says NO-GO, nor the other way round.
#[test]
fn no_verdict_is_taken_back_without_an_edit() {
    let mut runner = TestRunner::deterministic();
    let mut counts = Counts::default();
    let mut state = simulating(small_trip());
    verdict_at_last(&mut state);
    for nth in 0..100 {
        // Every other edit moves the trip to and fro over the border between GO and NO-GO.
        let edit = if nth % 2 == 0 {
            let tree = (100_u32..650).new_tree(&mut runner).unwrap();
            let litres = f64::from(tree.current()) / 100.0;
            Change::set(state.trip(), "/rules/reserve/litres", Some(litres.into()))
        } else {
            let wish = wishes().new_tree(&mut runner).unwrap().current();
            let Ok(edit) = change(state.trip(), &wish) else {
                continue;
            };
            edit
        };
        if state.make(&edit).is_err() {
            continue;
        }
        assert_eq!(verdict(&state), None, "not planned");
        state.attend();
        counts.add(verdict_at_last(&mut state).0);
        // What was cut to pieces says nothing more.
        if nth % 5 == 4 {
            state = simulating(small_trip());
            state.simulate(false);
        }
    }
    let Counts {
        go,
        no_go,
        calculating,
    } = counts;
    assert!(go > 10 && no_go > 10 && calculating > 0, "{counts:?}");
}

/// Sliders held down over the border, and back: the same.
#[test]
fn no_verdict_is_taken_back_while_a_slider_is_held_down() {
    let mut counts = Counts::default();
    let coarsely = [Message::SliderUp, Message::SliderDown];
    let finely = [Message::SliderUpFinely, Message::SliderDownFinely];
    for (slider, ways, strokes) in [
        (Slider::Reserve, finely, 6),
        (Slider::Reserve, [finely[1], finely[0]], 3),
        (Slider::People, coarsely, 3),
        (Slider::SuccessTarget, coarsely, 6),
    ] {
        let mut state = after_each(simulating(small_trip()), &[Message::Sliders]);
        state.simulate(false);
        let row = state
            .slider_list()
            .iter()
            .position(|&other| other == slider);
        update(&mut state, Message::Row(row.unwrap()));
        for way in ways {
            for _ in 0..strokes {
                let before = state.board.count();
                update(&mut state, way);
                if state.board.count() == before {
                    // At the end of its scale.
                    break;
                }
                if state.board.is_turned() {
                    assert_eq!(verdict(&state), None);
                    state.attend();
                    let (first, last) = verdict_at_last(&mut state);
                    counts.add(first);
                    let title = screen(&state, 80, 24);
                    assert!(!title.contains("what if: calculating"), "{title}");
                    assert_eq!(last, may_go(state.plan()));
                }
            }
        }
    }
    let Counts {
        go,
        no_go,
        calculating,
    } = counts;
    assert!(go > 2 && no_go > 3 && calculating > 0, "{counts:?}");
}

/// The real threads: whatever frames come while edits follow one another, and after the last one.
#[test]
fn the_frames_of_the_threads_take_nothing_back() {
    let mut state = simulating(small_trip());
    let mut workers = Workers::start(&mut state, super::no_files());
    for tenths in [50_u32, 55, 58, 60, 62, 64, 66, 70, 65, 61] {
        let litres = f64::from(tenths) / 10.0;
        let edit = Change::set(state.trip(), "/rules/reserve/litres", Some(litres.into()));
        state.make(&edit).unwrap();
        let begun = Instant::now();
        let mut shown = Vec::new();
        loop {
            workers.before_frame(&mut state);
            shown.extend(verdict(&state));
            if workers.serve(&mut state) {
                continue;
            }
            // Every other edit does not wait for the end.
            if !workers.is_busy() || (tenths % 2 == 0 && !shown.is_empty()) {
                break;
            }
            assert!(begun.elapsed() < Duration::from_secs(120));
            std::thread::sleep(Duration::from_millis(5));
        }
        shown.dedup();
        assert_eq!(shown.len(), 1, "{litres}: {shown:?}");
        let refined = Plan::at_target(state.trip().clone(), Effort::refined());
        assert_eq!(shown, [may_go(&refined)], "{litres}");
    }
}

/// Until there are simulated trips, no panel shows what a driver decides by; after an edit each shows what it was
/// before, dimmed, and says so.
#[test]
fn panels_wait_for_the_simulation_as_the_verdict_does() {
    let of_verdict = || {
        let panels = Panel::ALL.into_iter();
        panels.filter(|panel| panel.is_of_verdict())
    };
    // What the panel in focus shows below its heading.
    let below = |state: &State, is_seen: fn(&Cell) -> bool| -> String {
        let buf = drawn(state, PLAIN, 40, 24);
        let rows: Vec<&[Cell]> = buf.content.chunks(40).collect();
        let heading = rows.iter().rposition(|row| row[0].symbol() == "▶").unwrap();
        let cells = rows[heading + 1..rows.len() - 1].concat();
        let seen = cells.iter().filter(|cell| is_seen(cell));
        seen.map(Cell::symbol).collect::<String>().trim().to_owned()
    };
    let bright: fn(&Cell) -> bool = |cell| !cell.modifier.contains(Modifier::DIM);
    let mut state = simulating(trip());
    for panel in of_verdict() {
        let open = after_each(state.clone(), &[Message::Focus(panel)]);
        assert_eq!(below(&open, bright), "calculating", "{panel:?}");
    }
    state.simulate(false);
    let edit = Change::set(state.trip(), "/legs/1/distance_km", Some(97.into()));
    for panel in of_verdict() {
        let mut open = after_each(state.clone(), &[Message::Focus(panel)]);
        let before = below(&open, |_| true);
        assert!(!before.contains("calculating"), "{panel:?}: {before}");
        open.make(&edit).unwrap();
        // The notice covers a row until the next key.
        open.status = None;
        open.attend();
        assert_eq!(below(&open, bright), "", "{panel:?}");
        assert_eq!(below(&open, |_| true), before, "{panel:?}");
        assert!(screen(&open, 120, 40).contains(" calculating "));
    }
}

/// No turn-back point on the strip is that of the best estimate.
#[test]
fn the_strip_shows_no_decision_before_the_simulation() {
    let mut state = simulating(trip());
    assert!(!screen(&state, 120, 40).contains("turn-back point"));
    state.simulate(false);
    assert!(screen(&state, 120, 40).contains("turn-back point"));
}

/// The differences that sliders and typing make are between plans by as many simulated trips.
#[test]
fn differences_are_calculated_with_the_same_simulated_trips() {
    let mut state = simulating(small_trip());
    state.simulate(true);
    update(&mut state, Message::Sliders);
    let row = state
        .slider_list()
        .iter()
        .position(|&slider| slider == Slider::Cargo);
    update(&mut state, Message::Row(row.unwrap()));
    update(&mut state, Message::SliderUp);
    assert!(screen(&state, 80, 24).contains("what if: calculating"));
    state.attend();
    assert!(state.before_and_now().is_none());
    for to_the_end in [false, true] {
        state.simulate(to_the_end);
        let plans = state.before_and_now().unwrap();
        let [before, now] = plans.map(|plan| plan.doubt.as_ref().unwrap().samples);
        assert_eq!(before, now);
        assert_eq!(before > 2_048, to_the_end);
    }
}

/// A trip with too many legs says so and has no verdict.
#[test]
fn a_trip_that_is_too_long_has_no_verdict_and_says_why() {
    let legs = (0..=MOST_LEGS).map(|nth| Leg {
        distance_km: Some(Kilometres::new(0.01)),
        ..Leg::to(format!("place {nth}"))
    });
    let mut state = simulating(Trip {
        legs: legs.collect(),
        what_ifs: None,
        ..trip()
    });
    assert_eq!(state.basis(), Basis::TooLong);
    state.simulate(true);
    assert!(state.trip_to_simulate().is_none());
    let shown = screen(&state, 80, 24);
    let basis = " BEST ESTIMATE  too long to simulate";
    assert!(shown.contains(basis), "{shown}");
}
