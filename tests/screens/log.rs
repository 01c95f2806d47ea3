//! The log of the way and the fitted vehicle on the screen: arrivals typed, the strip as driven, the panels.

use drystage::calibrate::FillCalibration;
use drystage::io::csv::fills;
use drystage::model::vocabulary::{Measured, UnitSystem};
use drystage::model::{Trip, check};
use drystage::plan::progress::{Advice, Now};
use drystage::plan::{Effort, Plan};
use drystage::present::number::Units;
use drystage::present::under_way;
use drystage::quantity::{Kilometres, Litres};
use drystage::tui::line::Reach;
use drystage::tui::message::Message;
use drystage::tui::sheet::Topic;
use drystage::tui::state::{Mode, Panel, State};
use drystage::tui::theme::{Depth, Theme};
use drystage::tui::update::update;
use drystage::tui::view::{Look, view};
use ratatui::buffer::{Buffer, Cell};
use ratatui::layout::Rect;

fn plateau() -> Trip {
    let text = include_str!("../../sample-routes/plateau-loop.json");
    check::read(serde_json::from_str(text).unwrap()).unwrap()
}

fn opened(trip: Trip) -> State {
    State::new(Plan::best_estimate(trip), Units(UnitSystem::Metric))
}

/// What the plan at the success target says of continuing and returning from where the trip is.
fn now(state: &State) -> Now {
    let plan = Plan::at_target(state.trip().clone(), Effort::FIRST);
    plan.now().unwrap()
}

fn send(state: &mut State, messages: impl IntoIterator<Item = Message>) {
    for message in messages {
        update(state, message);
        state.attend();
    }
}

fn screen(state: &State, width: u16, height: u16, ascii: bool) -> String {
    let area = Rect::new(0, 0, width, height);
    let mut buf = Buffer::empty(area);
    let theme = Theme::new(Depth::None);
    view(state, Look { theme, ascii }, area, &mut buf);
    let line = |cells: &[Cell]| cells.iter().map(Cell::symbol).collect::<String>();
    let lines = buf.content.chunks(usize::from(width)).map(line);
    lines.collect::<Vec<_>>().join("\n")
}

fn on(state: &mut State, panel: Panel) {
    send(state, [Message::Focus(panel)]);
}

/// Types over the field that is edited, takes it, and ends on the next row.
fn type_over(state: &mut State, text: &str) {
    send(state, [Message::Enter, Message::Erase(Reach::Start)]);
    send(state, text.chars().map(Message::Type));
    send(state, [Message::Enter]);
}

/// Fills in the fields of a form in their order: what is empty is passed over.
fn fill_in(state: &mut State, typed: &[&str]) {
    for text in typed {
        send(state, text.chars().map(Message::Type));
        send(state, [Message::Enter]);
    }
}

/// A departure and an arrival typed on the screen: all is planned from there, and each can be undone. Nothing is in the
/// log before the last field is accepted, and Esc leaves nothing there.
#[test]
fn arrivals_are_typed_and_the_rest_is_planned_from_there() {
    let mut state = opened(plateau());
    send(&mut state, [Message::Arrive]);
    let shown = screen(&state, 120, 40, false);
    assert!(
        shown.contains("place           Lamp Hollow, km 0") && shown.contains("planned 88210 km"),
        "{shown}"
    );
    send(&mut state, "88210".chars().map(Message::Type));
    send(&mut state, [Message::Enter, Message::Close]);
    assert!(state.trip().log().is_empty() && state.mode == Mode::Browse);
    send(&mut state, [Message::Arrive]);
    fill_in(&mut state, &["88210", "40", "9.5", "brim", "", ""]);
    assert_eq!((state.trip().log().len(), state.mode), (1, Mode::Browse));
    let status = state.status.clone().unwrap();
    assert_eq!(status, "fuel reading at Lamp Hollow; u undoes it");
    send(&mut state, [Message::Arrive]);
    // High Pens has no fuel stop, so that nothing is asked about one.
    fill_in(&mut state, &["88282", "30", "9.5", "", ""]);
    let log = state.trip().log();
    assert_eq!((log.len(), log[1].place_number), (2, 1));
    assert_eq!(log[0].how, Some(Measured::Brim));
    let progress = state.plan().progress.as_deref().unwrap();
    assert_eq!(
        (progress.place_number, progress.place.as_str()),
        (1, "High Pens")
    );
    assert!(progress.intervals[0].used.unwrap().get() > 8.0);
    let shown = screen(&state, 120, 40, false);
    assert!(
        shown.contains("At High Pens") && shown.contains("driven"),
        "{shown}"
    );
    send(&mut state, [Message::Undo, Message::Undo]);
    assert!(state.trip().log().is_empty() && state.plan().progress.is_none());
}

/// An odometer that went back is refused; one that counts far more than is planned is asked about, and Enter again
/// accepts it.
#[test]
fn an_odd_odometer_is_asked_about() {
    let mut state = arrived();
    send(&mut state, [Message::Arrive]);
    fill_in(&mut state, &["87000", "28", "9.5", "", ""]);
    let shown = screen(&state, 120, 40, false);
    assert!(
        shown.contains("1282 km less than at High Pens: odometers do not count back"),
        "{shown}"
    );
    assert_eq!((place_numbers(&state).len(), state.mode), (2, Mode::Form));
    send(&mut state, [Message::Erase(Reach::Start)]);
    fill_in(&mut state, &["88900", "", "", "", ""]);
    let shown = screen(&state, 120, 40, false);
    assert!(
        shown.contains("618 km since High Pens, where 47 km are planned; Enter again accepts it"),
        "{shown}"
    );
    assert_eq!(place_numbers(&state).len(), 2);
    send(&mut state, [Message::Enter]);
    assert_eq!(place_numbers(&state), [0, 1, 2]);
}

/// The row of a value in the log.
fn row(state: &mut State, at: &str) {
    let row = state.rows().iter().position(|row| row.at == at);
    send(state, [Message::Row(row.unwrap())]);
}

/// A log with a departure and an arrival at the first place.
fn arrived() -> State {
    let mut trip = plateau();
    trip.log = serde_json::from_value(serde_json::json!([
        { "place_number": 0, "odometer_km": 88210, "tank_left_l": 40, "cans_left_l": 9.5, "how": "brim" },
        { "place_number": 1, "odometer_km": 88282, "tank_left_l": 32.5, "cans_left_l": 9.5, "how": "dip" }
    ]))
    .unwrap();
    opened(trip)
}

fn place_numbers(state: &State) -> Vec<u32> {
    state
        .trip()
        .log()
        .iter()
        .map(|reading| reading.place_number)
        .collect()
}

/// A place is chosen by its name; one that was read already shows its reading, which is corrected and not entered twice.
#[test]
fn a_place_that_was_read_is_corrected() {
    let mut state = arrived();
    send(&mut state, [Message::Arrive, Message::PreviousPanel]);
    send(&mut state, "high".chars().map(Message::Type));
    let shown = screen(&state, 120, 40, false);
    assert!(
        shown.contains("correct the fuel reading") && shown.contains("88282"),
        "{shown}"
    );
    send(
        &mut state,
        [Message::Enter, Message::Enter, Message::Erase(Reach::Start)],
    );
    fill_in(&mut state, &["31", "", "", ""]);
    let status = state.status.clone().unwrap();
    assert!(
        status.starts_with("fuel reading at High Pens corrected: ")
            && status.contains("in the tank 32.5 -> 31 L"),
        "{status}"
    );
    assert_eq!(place_numbers(&state), [0, 1]);
    assert_eq!(state.trip().log()[1].tank_left_l, Litres::new(31.0));
    send(&mut state, [Message::Undo]);
    assert_eq!(state.trip().log()[1].tank_left_l, Litres::new(32.5));
}

/// A departure that was not entered is asked for first; at the finish the last reading is corrected.
#[test]
fn departure_first_and_the_finish_once() {
    let mut state = arrived();
    row_gone(&mut state, 0);
    on(&mut state, Panel::Log);
    let shown = screen(&state, 400, 80, false);
    assert!(
        shown.contains("used unknown") && !shown.contains("used -"),
        "{shown}"
    );
    send(&mut state, [Message::Arrive]);
    let shown = screen(&state, 120, 40, false);
    assert!(
        shown.contains("fuel reading at the start: enter it"),
        "{shown}"
    );
    fill_in(&mut state, &["88210", "40", "9.5", "", "", ""]);
    assert_eq!(place_numbers(&state), [0, 1]);
    send(&mut state, [Message::Edit]);
    row(&mut state, "/log/1/place_number");
    type_over(&mut state, "7");
    row(&mut state, "/log/1/odometer_km");
    type_over(&mut state, "88700");
    send(&mut state, [Message::Close, Message::Arrive]);
    assert_eq!(place_numbers(&state), [0, 7]);
    let shown = screen(&state, 120, 40, false);
    assert!(
        shown.contains("correct the fuel reading") && shown.contains("88700"),
        "{shown}"
    );
}

fn row_gone(state: &mut State, number: usize) {
    send(state, [Message::Edit]);
    while state.topic != Topic::Log {
        send(state, [Message::NextPanel]);
    }
    row(state, &format!("/log/{number}/place_number"));
    send(state, [Message::Delete, Message::Close]);
}

/// Another reading typed after the one at High Pens, as the form asks for it.
fn read_on(state: &mut State, place: &str, typed: &[&str]) {
    send(state, [Message::Arrive, Message::PreviousPanel]);
    send(state, place.chars().map(Message::Type));
    send(state, [Message::Enter]);
    fill_in(state, typed);
    assert_eq!(
        state.mode,
        Mode::Browse,
        "{}",
        screen(state, 120, 40, false)
    );
    on(state, Panel::Log);
}

/// A well that is not in the plan, 20 km past High Pens, where 8 L were bought.
#[test]
fn a_place_off_the_plan_is_typed() {
    let mut state = arrived();
    let typed = ["Old Well", "40", "88302", "30", "9.5", "", "8"];
    read_on(&mut state, "elsewhere", &typed);
    assert_eq!(place_numbers(&state), [0, 1, 1]);
    let progress = state.plan().progress.as_deref().unwrap();
    assert_eq!(
        (progress.place.as_str(), progress.place_number),
        ("Old Well", 1)
    );
    assert_eq!(progress.to_next, Some(Kilometres::new(40.0)));
    assert_eq!(progress.intervals[1].places, ["High Pens", "Old Well"]);
    // 30 L and 8 L in a tank of 40 L, of which the fuel stop cannot draw 1.5 L, and 9.5 L in cans.
    let on_board = progress.on_board;
    assert!(
        (on_board - Litres::new(46.0)).abs().get() < 1e-9,
        "{on_board:?}"
    );
    let shown = screen(&state, 200, 60, false);
    assert!(shown.contains("Old Well, 40 km before"), "{shown}");
}

/// Read off 5 km past High Pens, before a detour: 80 km to the next place instead of 47. The way ahead is longer, and
/// so is what it takes.
#[test]
fn a_detour_is_typed() {
    let mut state = arrived();
    let straight = state.plan().legs[1].distance;
    let needed = |state: &State| now(state).continue_with.unwrap();
    let before = needed(&state);
    let typed = ["", "80", "88287", "32", "9.5", "", ""];
    read_on(&mut state, "elsewhere", &typed);
    let leg = &state.plan().legs[1];
    assert_eq!(leg.distance, Kilometres::new(80.0));
    assert!(leg.distance > straight && needed(&state) > before);
    let shown = screen(&state, 200, 60, false);
    assert!(shown.contains("beyond High Pens"), "{shown}");
}

/// The can was decanted before it was planned to be: what was in it is in the tank, and nothing is left to decant.
#[test]
fn a_can_decanted_early_is_typed() {
    let mut state = arrived();
    assert!(!state.plan().decants.is_empty());
    let planned = state.plan().legs[1].end;
    read_on(&mut state, "bent", &["88332", "36.5", "0", "dip", ""]);
    let plan = state.plan();
    let progress = plan.progress.as_deref().unwrap();
    assert!(plan.decants.is_empty());
    assert!((progress.on_board - Litres::new(35.0)).abs().get() < 1e-9);
    // As it would be with the can still full, within two standard deviations of a dipstick reading.
    assert!(
        (progress.on_board - planned).abs().get() < 4.0,
        "{planned:?}"
    );
    let used = progress.intervals[1].used.unwrap();
    assert!((used - Litres::new(5.5)).abs().get() < 1e-9, "{used:?}");
}

/// The fuel stop at Five Kilns has nothing: it is not relied on when the way is planned on, and no instruction promises
/// fuel there.
#[test]
fn a_dry_fuel_stop_is_typed() {
    let mut state = arrived();
    read_on(&mut state, "five", &["88520", "12", "9.5", "", "", ""]);
    let stop = |state: &State| {
        let stop = state
            .plan()
            .stops
            .iter()
            .find(|stop| stop.place_number == 5);
        stop.is_some_and(|stop| stop.counted)
    };
    let chance = |state: &State| {
        let fuel = state.plan().trip.legs[4].fuel.clone();
        (stop(state), fuel.unwrap().chance())
    };
    assert_eq!(
        chance(&state),
        (false, drystage::quantity::Share::new(0.45))
    );
    let open = now(&state);
    send(&mut state, [Message::Edit]);
    row(&mut state, "/log/2/dry");
    type_over(&mut state, "y");
    assert_eq!(state.trip().log()[2].dry, Some(true));
    let dry = now(&state);
    assert!(
        dry.continue_filling.is_none() && dry.continue_with >= open.continue_with,
        "{dry:?} {open:?}"
    );
    send(&mut state, [Message::Close]);
    let shown = screen(&state, 200, 60, false);
    assert!(shown.contains("At Five Kilns"), "{shown}");
    assert!(
        shown
            .lines()
            .any(|line| line.contains("309 Five Kilns") && line.contains("no fuel"))
            && !shown.contains("chance of 0 %"),
        "{shown}"
    );
}

/// The panel on every size of screen, and in ASCII: nothing is written past its room, nothing panics.
#[test]
fn the_panels_fit_everywhere() {
    let mut trip = plateau();
    let log = fills::parse(include_str!("../../sample-routes/plateau-loop-fills.csv")).unwrap();
    trip.vehicle.calibration =
        Some(FillCalibration::from_fills(&trip.vehicle, &log, &[]).saved(None));
    trip.log = serde_json::from_value(serde_json::json!([
        { "place_number": 0, "odometer_km": 88210, "tank_left_l": 40, "cans_left_l": 9.5, "how": "brim" },
        { "place_number": 2, "odometer_km": 88333, "tank_left_l": 26.6, "cans_left_l": 9.5, "how": "dip", "filled_l": 4 }
    ]))
    .unwrap();
    let mut state = opened(trip);
    // The cursor opens where the trip is.
    assert_eq!(state.leg(), 3);
    on(&mut state, Panel::Log);
    for (width, height) in [
        (1, 1),
        (40, 10),
        (40, 12),
        (80, 24),
        (120, 40),
        (200, 60),
        (300, 80),
    ] {
        for ascii in [false, true] {
            let shown = screen(&state, width, height, ascii);
            assert!(!ascii || shown.is_ascii(), "{width} x {height}: {shown}");
        }
    }
    insta::assert_snapshot!("log-120x40", screen(&state, 120, 40, false));
    insta::assert_snapshot!("log-80x24", screen(&state, 80, 24, false));
}

/// Who is to turn back is reported so first, and which plan is then in the report.
#[test]
fn turning_back_names_the_plan_of_the_return() {
    let mut trip = plateau();
    trip.log = serde_json::from_value(serde_json::json!([
        { "place_number": 0, "odometer_km": 88210, "tank_left_l": 40, "how": "brim" },
        { "place_number": 1, "odometer_km": 88282, "tank_left_l": 16, "how": "brim" }
    ]))
    .unwrap();
    let plan = Plan::at_target(trip, Effort::FIRST);
    assert_eq!(plan.now().unwrap().advice, Advice::TurnBack);
    assert_eq!(
        under_way::return_title(&plan).unwrap(),
        "TURN BACK NOW: plan of the return to Lamp Hollow"
    );
    let mut state = State::new(plan, Units(UnitSystem::Metric));
    on(&mut state, Panel::Log);
    let shown = screen(&state, 300, 80, false);
    for line in [
        "■ Fewer than 1 in 100 trips",
        "· TURN BACK NOW: plan of the return",
    ] {
        assert!(shown.contains(line), "{shown}");
    }
}

/// Without a log the panel shows how to begin one, and without a calibration how to calibrate.
#[test]
fn an_empty_log_shows_how_to_begin() {
    let mut state = opened(plateau());
    on(&mut state, Panel::Log);
    let shown = screen(&state, 80, 24, false);
    assert!(shown.contains("No fuel readings yet") && shown.contains("Not calibrated"));
}
