//! The screen: messages in, the text of a terminal out.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::fmt::Write;

use drystage::model::vocabulary::{Surface, UnitSystem};
use drystage::model::{Trip, check, route::Leg};
use drystage::plan::{Effort, Plan};
use drystage::present::name::width;
use drystage::present::number::Units;
use drystage::quantity::{Kilometres, Litres, Share};
use drystage::tui::keymap::{BINDINGS, Layer, lookup};
use drystage::tui::line::Reach;
use drystage::tui::message::{Effect, Message};
use drystage::tui::state::{Mode, Panel, Question, State};
use drystage::tui::theme::{Depth, Theme};
use drystage::tui::update::update;
use drystage::tui::view::{Look, click, view};
use drystage::tui::{coalesce, meaning};
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use ratatui::layout::{Position, Rect};
use ratatui::style::{Color, Modifier};

fn trip() -> Trip {
    let text = include_str!("data/example-trip.json");
    check::read(serde_json::from_str(text).unwrap()).unwrap()
}

/// The example with a tank that is too small, no can, and no drums on the way.
fn short_trip() -> Trip {
    let mut trip = trip();
    trip.load.as_mut().unwrap().cans = None;
    trip.legs[1].fuel = None;
    trip
}

fn state(trip: Trip) -> State {
    State::new(Plan::of(trip), Units(UnitSystem::Metric))
}

const PLAIN: Look = Look {
    theme: Theme::new(Depth::None),
    ascii: false,
};

fn drawn(state: &State, look: Look, width: u16, height: u16) -> Buffer {
    let area = Rect::new(0, 0, width, height);
    let mut buf = Buffer::empty(area);
    view(state, look, area, &mut buf);
    buf
}

/// The cells as text, a row a line.
fn text(buf: &Buffer) -> String {
    let rows = buf.content.chunks(usize::from(buf.area.width.max(1)));
    let line = |row: &[ratatui::buffer::Cell]| {
        let mut text = String::new();
        let mut hidden = 0;
        for cell in row {
            if hidden == 0 {
                text.push_str(cell.symbol());
                hidden = width(cell.symbol()).saturating_sub(1);
            } else {
                hidden -= 1;
            }
        }
        text
    };
    rows.map(line).collect::<Vec<_>>().join("\n")
}

fn after(mut state: State, messages: &[Message]) -> State {
    for &message in messages {
        update(&mut state, message);
    }
    state.attend();
    state
}

/// The screen as `TestBackend` prints it.
fn shot(state: &State, width: u16, height: u16) -> String {
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal
        .draw(|frame| {
            if let Some(cursor) = view(state, PLAIN, frame.area(), frame.buffer_mut()) {
                frame.set_cursor_position(cursor);
            }
        })
        .unwrap();
    terminal.backend().to_string()
}

/// A verdict or a surplus that is cut off in its middle tells nothing: with little room it is told in fewer words.
#[test]
fn the_verdict_is_told_whole_at_any_size() {
    for trip in [trip(), short_trip()] {
        let state = state(trip);
        for (width, height, rows) in [(40, 10, 1), (60, 20, 1), (80, 24, 2), (120, 40, 2)] {
            let screen = text(&drawn(&state, PLAIN, width, height));
            let told: Vec<&str> = screen.lines().skip(1).take(rows).collect();
            let told = told.join(" ");
            assert!(!told.contains('…'), "{width}x{height}: {told}");
            assert!(
                told.contains("GO") || told.contains("DO NOT SET OUT"),
                "{told}"
            );
            assert!(
                rows == 1 || told.contains("Tightest: leg 6"),
                "{width}x{height}: {told}"
            );
        }
    }
}

#[test]
fn what_is_needed_is_told_on_the_smallest_screens() {
    let screen = text(&drawn(&state(trip()), PLAIN, 20, 5));
    let words: Vec<&str> = screen.split_whitespace().collect();
    assert_eq!(words.join(" "), "too small: needs 40 x 10");
}

/// Where the style is not the terminal's own: row, columns, what differs.
fn styles(buf: &Buffer) -> String {
    let mut told = String::new();
    for y in 0..buf.area.height {
        let style = |x: u16| (buf[(x, y)].fg, buf[(x, y)].bg, buf[(x, y)].modifier);
        let mut x = 0;
        while x < buf.area.width {
            let end = (x..buf.area.width).find(|&next| style(next) != style(x));
            let end = end.unwrap_or(buf.area.width);
            let (fg, bg, modifier) = style(x);
            if (fg, bg, modifier) != (Color::Reset, Color::Reset, Modifier::empty()) {
                writeln!(
                    told,
                    "row {y:2} columns {x:2}..{end:2}: {fg} on {bg} {modifier:?}"
                )
                .unwrap();
            }
            x = end;
        }
    }
    told
}

#[test]
fn the_example_at_the_usual_sizes() {
    let state = after(
        state(trip()),
        &[Message::NextLeg, Message::NextLeg, Message::NextLeg],
    );
    insta::assert_snapshot!("example-80x24", shot(&state, 80, 24));
    insta::assert_snapshot!("example-120x40", shot(&state, 120, 40));
    insta::assert_snapshot!("example-200x60", shot(&state, 200, 60));
    insta::assert_snapshot!("example-40x12", shot(&state, 40, 12));
}

/// The plan at the confidence: the cans that it asks for, the lower edge of what nine in ten samples have aboard, odds.
#[test]
fn how_sure_it_is_on_a_wide_screen() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-routes/plateau-loop.json"
    );
    let trip: Trip = serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap();
    let plan = Plan::at_confidence(trip, Effort::FIRST);
    plan.doubt.as_ref().unwrap().drivers();
    let state = State::new(plan, Units(UnitSystem::Metric));
    insta::assert_snapshot!("sampled-120x40", shot(&state, 120, 40));
}

#[test]
fn a_trip_that_runs_short_at_the_usual_sizes() {
    let state = after(state(short_trip()), &[Message::TripEnd]);
    insta::assert_snapshot!("short-80x24", shot(&state, 80, 24));
    insta::assert_snapshot!("short-40x12", shot(&state, 40, 12));
}

#[test]
fn closer_the_help_and_what_is_too_small() {
    let closer = after(
        state(trip()),
        &[Message::NextLeg, Message::NextLeg, Message::ZoomLeg],
    );
    insta::assert_snapshot!("leg-alone-80x24", shot(&closer, 80, 24));
    let help = after(state(trip()), &[Message::Help]);
    insta::assert_snapshot!("help-80x24", shot(&help, 80, 24));
    insta::assert_snapshot!("too-small", shot(&state(trip()), 30, 5));
}

/// Types a text, one character after the other.
fn typed(text: &str) -> Vec<Message> {
    text.chars().map(Message::Type).collect()
}

#[test]
fn fields_are_edited_below_the_strip() {
    let rows = after(state(trip()), &[Message::Edit]);
    insta::assert_snapshot!("sheet-80x24", shot(&rows, 80, 24));
    let mut messages = vec![Message::Edit];
    messages.extend([Message::ScrollDown; 4]);
    messages.extend(typed("99"));
    let typing = after(state(trip()), &messages);
    insta::assert_snapshot!("typing-120x40", shot(&typing, 120, 40));
    messages.extend(typed("99"));
    let wrong = after(state(trip()), &messages);
    insta::assert_snapshot!("typing-wrong-80x24", shot(&wrong, 80, 24));
    insta::assert_snapshot!("typing-wrong-40x10", shot(&wrong, 40, 10));
}

/// While a value is typed the plan is that of the trip with it; given up, it is the plan of before.
#[test]
fn the_plan_follows_what_is_typed() {
    let litres = |state: &State| state.plan().totals.fuel;
    let before = litres(&state(trip()));
    let mut messages = vec![Message::Edit];
    messages.extend([Message::ScrollDown; 4]);
    messages.extend(typed("200"));
    let typing = after(state(trip()), &messages);
    assert!(litres(&typing) > before);
    assert_eq!(typing.settled().totals.fuel, before);
    assert_eq!(**typing.trip(), trip(), "nothing is changed yet");
    let given_up = after(typing.clone(), &[Message::Close]);
    assert_eq!(litres(&given_up), before);
    let taken = after(typing, &[Message::Enter]);
    assert!(litres(&taken) > before && taken.history().is_changed());
    let undone = after(taken.clone(), &[Message::Undo]);
    assert_eq!(
        (litres(&undone), undone.history().is_changed()),
        (before, false)
    );
    let again = after(undone, &[Message::Redo]);
    assert_eq!(again.trip(), taken.trip());
}

/// The cursor of the terminal stands where the next letter comes.
#[test]
fn the_cursor_stands_in_the_text() {
    let mut messages = vec![Message::Edit, Message::Enter, Message::Erase(Reach::Start)];
    messages.extend(typed("漢字"));
    let state = after(state(trip()), &messages);
    let area = Rect::new(0, 0, 80, 24);
    let mut buf = Buffer::empty(area);
    let cursor = view(&state, PLAIN, area, &mut buf).unwrap();
    let row = text(&buf).lines().nth(cursor.y.into()).unwrap().to_owned();
    let before: String = row.chars().take_while(|&c| c != '字').collect();
    assert_eq!(width(&before) + 2, usize::from(cursor.x), "{row}");
}

#[test]
fn words_are_chosen_and_units_are_the_readers() {
    let us = State::new(Plan::of(trip()), Units(UnitSystem::Us));
    let mut messages = vec![Message::Edit];
    messages.extend([Message::ScrollDown; 4]);
    messages.push(Message::Enter);
    let typing = after(us.clone(), &messages);
    let screen = text(&drawn(&typing, PLAIN, 100, 30));
    assert!(
        screen.contains("88.2347") && screen.contains(" mi"),
        "{screen}"
    );
    // As it was it changes nothing, whatever digits were cut.
    let same = after(typing, &[Message::Enter]);
    assert!(!same.history().is_changed());
    messages.extend([Message::Erase(Reach::Start)]);
    messages.extend(typed("100"));
    messages.push(Message::Enter);
    let hundred = after(us, &messages);
    let km = hundred.trip().legs[0].distance_km.unwrap();
    assert!((km.get() - 160.9344).abs() < 1e-9);
    // The row below is the ground: a letter chooses the next word that begins with it.
    let muddy = after(
        hundred,
        &[Message::Enter, Message::Type('m'), Message::Enter],
    );
    assert_eq!(muddy.trip().legs[0].surface, Some(Surface::Mud));
}

#[test]
fn legs_are_cut_moved_and_taken_out() {
    let names = |state: &State| -> Vec<String> {
        state.trip().legs.iter().map(|leg| leg.to.clone()).collect()
    };
    let cut = [
        Message::Edit,
        Message::NextLeg,
        Message::Split,
        Message::Enter,
    ];
    let state = after(state(trip()), &cut);
    assert_eq!(names(&state)[1], "Two Cairns, 48 km before");
    assert_eq!(state.mode, Mode::Sheet);
    let state = after(state, &[Message::Later]);
    assert_eq!(names(&state)[2], "Two Cairns, 48 km before");
    assert_eq!(state.leg(), 3, "the chosen leg goes along");
    let state = after(
        state,
        &[Message::Delete, Message::Undo, Message::Undo, Message::Undo],
    );
    assert_eq!(**state.trip(), trip());
    let refused = after(state, &[Message::NextLeg, Message::Join]);
    let says = refused.status.as_deref().unwrap_or_default();
    assert!(
        says.contains("must have the same") || says.contains("no fuel"),
        "{says}"
    );
    assert_eq!(**refused.trip(), trip());
}

#[test]
fn every_row_of_every_subject_can_be_typed_and_given_up() {
    let mut state = state(trip());
    update(&mut state, Message::Edit);
    for _ in 0..11 {
        for _ in 0..state.rows().len() {
            update(&mut state, Message::Enter);
            // A patch is not typed.
            if state.mode == Mode::Field {
                for message in [Message::Type('x'), Message::ScrollDown, Message::Close] {
                    update(&mut state, message);
                    state.attend();
                }
            }
            assert_eq!((state.mode, state.trip().as_ref()), (Mode::Sheet, &trip()));
            update(&mut state, Message::ScrollDown);
        }
        update(&mut state, Message::NextPanel);
    }
}

#[test]
fn quitting_with_changes_asks_and_without_does_not() {
    let state = state(trip());
    let mut clean = state.clone();
    assert_eq!(update(&mut clean, Message::Quit), Some(Effect::Quit));
    let edits = [Message::Edit, Message::OutAndBack, Message::Close];
    let mut changed = after(state, &edits);
    assert_eq!(update(&mut changed, Message::Quit), None);
    assert_eq!(changed.mode, Mode::Ask(Question::Quit));
    update(&mut changed, Message::Close);
    assert_eq!(changed.mode, Mode::Browse);
    update(&mut changed, Message::Quit);
    assert_eq!(update(&mut changed, Message::No), Some(Effect::Quit));
}

/// Time from a key that is typed into a field to the frame that shows what follows, everything computed anew.
/// Run with `cargo test --release --test screens -- --ignored --nocapture`.
#[test]
#[ignore = "measures time: wants a release build and a quiet machine"]
fn a_key_that_is_typed_is_shown_at_once() {
    for legs in [40, 1_000] {
        let mut state = state(long_trip(legs));
        let mut buf = Buffer::empty(Rect::new(0, 0, 120, 40));
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
        let mut times = Vec::new();
        for nth in 0..200 {
            let key = if nth % 2 == 0 {
                Message::Type('1')
            } else {
                Message::Erase(Reach::Letter)
            };
            let started = std::time::Instant::now();
            update(&mut state, key);
            state.attend();
            buf.reset();
            view(&state, PLAIN, buf.area, &mut buf);
            times.push(started.elapsed());
        }
        times.sort();
        println!(
            "{legs} legs, a key typed: median {:?}, 99th percentile {:?}",
            times[100], times[198]
        );
    }
}

fn after_all(state: &mut State, messages: &[Message]) {
    for &message in messages {
        update(state, message);
    }
    state.attend();
}

#[test]
fn colours_are_few_and_without_them_the_chosen_is_still_reversed() {
    let state = after(state(trip()), &[Message::NextLeg]);
    for (name, depth) in [("named", Depth::Named), ("none", Depth::None)] {
        let look = Look {
            theme: Theme::new(depth),
            ascii: false,
        };
        insta::assert_snapshot!(
            format!("styles-{name}-80x24"),
            styles(&drawn(&state, look, 80, 24))
        );
    }
    let plain = drawn(&state, PLAIN, 80, 24);
    let coloured =
        |cell: &ratatui::buffer::Cell| (cell.fg, cell.bg) != (Color::Reset, Color::Reset);
    assert!(!plain.content.iter().any(coloured));
    let reversed = |cell: &ratatui::buffer::Cell| cell.modifier.contains(Modifier::REVERSED);
    assert!(plain.content.iter().any(reversed));
    for depth in [Depth::Named, Depth::True] {
        let look = Look {
            theme: Theme::new(depth),
            ascii: false,
        };
        let buf = drawn(&state, look, 200, 60);
        assert!(buf.content.iter().all(|cell| cell.bg == Color::Reset));
        let mut colours: Vec<String> = buf.content.iter().map(|cell| cell.fg.to_string()).collect();
        colours.sort();
        colours.dedup();
        assert!(
            colours.len() <= 6,
            "the terminal's own and five: {colours:?}"
        );
    }
}

/// No state is told by colour alone.
#[test]
fn the_warning_is_there_without_any_style() {
    let short = state(short_trip());
    assert!(
        short
            .plan()
            .findings
            .iter()
            .any(|finding| finding.code().starts_with("reserve-"))
    );
    for (width, height) in [(40, 10), (40, 12), (80, 24), (120, 40), (200, 60)] {
        let shown = text(&drawn(&short, PLAIN, width, height));
        for sign in ["DO NOT SET OUT", "╳", "!"] {
            assert!(
                shown.contains(sign),
                "{sign} at {width} x {height}\n{shown}"
            );
        }
        let fine = text(&drawn(&state(trip()), PLAIN, width, height));
        assert!(fine.contains("GO") && !fine.contains('╳'), "{fine}");
    }
}

#[test]
fn the_number_of_the_leg_is_read_at_every_size() {
    let state = after(
        state(trip()),
        &[Message::NextLeg, Message::ZoomLeg, Message::ZoomOut],
    );
    for width in 40..=220 {
        for height in [10, 16, 24, 50] {
            let shown = text(&drawn(&state, PLAIN, width, height));
            assert!(shown.contains("leg 2 of 6"), "{width} x {height}\n{shown}");
        }
    }
}

/// Without Unicode nothing but printable ASCII is drawn, whatever the names are.
#[test]
fn ascii_is_ascii() {
    let mut trip = short_trip();
    trip.legs[2].to = "Übergang 漢字 e\u{301}".to_owned();
    let look = Look {
        ascii: true,
        ..PLAIN
    };
    let mut state = state(trip);
    for message in [
        Message::NextLeg,
        Message::NextMark,
        Message::ZoomLeg,
        Message::Help,
    ] {
        let buf = drawn(&state, look, 120, 40);
        for cell in &buf.content {
            assert!(
                cell.symbol().chars().all(|c| (' '..='~').contains(&c)),
                "{:?}",
                cell.symbol()
            );
        }
        insta::allow_duplicates! {
            if message == Message::NextLeg {
                insta::assert_snapshot!("ascii-120x40", text(&buf));
            }
        }
        update(&mut state, message);
    }
}

/// A scrolled strip shows what the whole strip shows there, and its labels do not move.
#[test]
fn what_is_visible_is_a_slice_of_the_whole() {
    const PARTS: u16 = 4;
    const LABELS: u16 = 8;
    const COLUMNS: u16 = 72;
    for trip in [trip(), short_trip()] {
        let whole = state(trip.clone());
        // The same rows of the strip at both widths.
        let full = drawn(&whole, PLAIN, LABELS + PARTS * COLUMNS, 40);
        let mut part = after(state(trip), &[Message::ZoomIn, Message::ZoomIn]);
        let per_column = whole.strip().length() / f64::from(PARTS * COLUMNS);
        let labels = |buf: &Buffer| -> Vec<String> {
            (0..20)
                .map(|y| (0..LABELS).map(|x| buf[(x, y)].symbol()).collect())
                .collect()
        };
        for _ in 0..8 {
            let shown = drawn(&part, PLAIN, LABELS + COLUMNS, 40);
            assert_eq!(labels(&shown)[3..], labels(&full)[3..]);
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a column"
            )]
            let first = (part.look().left / per_column + 1e-9).floor() as u16;
            let cursors = [&part, &whole].map(|state| state.at() / per_column);
            for y in (6..18).filter(|y| !labels(&shown)[usize::from(*y)].contains("marks")) {
                for x in 0..COLUMNS {
                    let column = f64::from(first + x);
                    let under_cursor = cursors.iter().any(|at| (at - column).abs() < 1.5);
                    let (a, b) = (&shown[(LABELS + x, y)], &full[(LABELS + first + x, y)]);
                    assert!(
                        under_cursor || a.symbol() == b.symbol(),
                        "{x} {y} from {first}\n{}\n{}",
                        text(&shown),
                        text(&full)
                    );
                }
            }
            update(&mut part, Message::PageOn);
        }
    }
}

#[test]
fn no_key_means_two_things() {
    for (layer, _) in LAYERS {
        let mut keys = Vec::new();
        for binding in BINDINGS
            .iter()
            .filter(|binding| binding.layers.contains(&layer))
        {
            for key in binding.keys {
                assert!(!keys.contains(key), "{key:?} in {layer:?}");
                keys.push(*key);
            }
        }
    }
}

fn press(code: KeyCode, ctrl: bool) -> KeyEvent {
    let held = if ctrl {
        KeyModifiers::CONTROL
    } else {
        KeyModifiers::NONE
    };
    KeyEvent::new(code, held)
}

const LAYERS: [(Layer, Mode); 7] = [
    (Layer::Browse, Mode::Browse),
    (Layer::Help, Mode::Help { scroll: 0 }),
    (Layer::Sheet, Mode::Sheet),
    (Layer::Typing, Mode::Field),
    (Layer::Ask, Mode::Ask(Question::Quit)),
    (Layer::Dials, Mode::Dials),
    (Layer::Table, Mode::SideBySide),
];

#[test]
fn every_line_of_the_table_does_what_it_says_and_stands_in_the_help() {
    let help = text(&drawn(
        &after(state(trip()), &[Message::Help]),
        PLAIN,
        100,
        200,
    ));
    for binding in BINDINGS {
        assert!(help.contains(binding.label), "{}", binding.label);
        for (layer, mode) in LAYERS
            .iter()
            .filter(|(layer, _)| binding.layers.contains(layer))
        {
            for key in binding.keys {
                let message = lookup(*mode, press(key.code, key.ctrl));
                assert_eq!(message, Some(binding.message), "{key:?} in {layer:?}");
            }
        }
        let reachable = binding.keys.iter().any(|key| {
            !matches!(
                key.code,
                KeyCode::Char('[' | ']' | '{' | '}' | '@' | '\\' | '|' | '~')
            )
        });
        assert!(
            reachable,
            "needs a key that every keyboard has: {}",
            binding.label
        );
    }
}

/// Everything that can be meant has a key, but what needs a place to click at.
#[test]
#[expect(clippy::too_many_lines, reason = "a line for each message")]
fn every_message_has_a_key() {
    use Message as M;
    let needs_key = |message: &Message| match message {
        M::GoTo(_) | M::Focus(_) | M::Row(_) | M::Type(_) | M::Tipped(..) => false,
        M::PreviousLeg
        | M::NextLeg
        | M::TripStart
        | M::TripEnd
        | M::PageBack
        | M::PageOn
        | M::StepBack
        | M::StepOn
        | M::PreviousMark
        | M::NextMark
        | M::ZoomIn
        | M::ZoomOut
        | M::ZoomLeg
        | M::ZoomTrip
        | M::NextPanel
        | M::PreviousPanel
        | M::ScrollUp
        | M::ScrollDown
        | M::TryWay
        | M::Help
        | M::Close
        | M::ToggleMouse
        | M::Repaint
        | M::Suspend
        | M::Edit
        | M::Undo
        | M::Redo
        | M::Save
        | M::SaveAs
        | M::Enter
        | M::Clear
        | M::Add
        | M::Duplicate
        | M::Delete
        | M::Earlier
        | M::Later
        | M::Split
        | M::Join
        | M::Reverse
        | M::ReverseTrip
        | M::OutAndBack
        | M::DayLater
        | M::DayEarlier
        | M::Yes
        | M::No
        | M::Go(_)
        | M::Erase(_)
        | M::Dials
        | M::TurnOn
        | M::TurnBack
        | M::TurnFinelyOn
        | M::TurnFinelyBack
        | M::ResetDial
        | M::ResetDials
        | M::KeepDials
        | M::NextWhatIf
        | M::SideBySide
        | M::Find
        | M::Look
        | M::Quit => true,
    };
    let all = [
        M::TryWay,
        M::PreviousLeg,
        M::NextLeg,
        M::TripStart,
        M::TripEnd,
        M::PageBack,
        M::PageOn,
        M::StepBack,
        M::StepOn,
        M::PreviousMark,
        M::NextMark,
        M::ZoomIn,
        M::ZoomOut,
        M::ZoomLeg,
        M::ZoomTrip,
        M::NextPanel,
        M::PreviousPanel,
        M::ScrollUp,
        M::ScrollDown,
        M::Help,
        M::Close,
        M::ToggleMouse,
        M::Repaint,
        M::Suspend,
        M::Edit,
        M::Undo,
        M::Redo,
        M::Save,
        M::SaveAs,
        M::Enter,
        M::Clear,
        M::Add,
        M::Duplicate,
        M::Delete,
        M::Earlier,
        M::Later,
        M::Split,
        M::Join,
        M::Reverse,
        M::ReverseTrip,
        M::OutAndBack,
        M::DayLater,
        M::DayEarlier,
        M::Yes,
        M::No,
        M::Go(Reach::Word),
        M::Erase(Reach::Letter),
        M::Dials,
        M::TurnOn,
        M::TurnBack,
        M::TurnFinelyOn,
        M::TurnFinelyBack,
        M::ResetDial,
        M::ResetDials,
        M::KeepDials,
        M::NextWhatIf,
        M::SideBySide,
        M::Find,
        M::Look,
        M::Quit,
    ];
    for message in all.iter().filter(|message| needs_key(message)) {
        assert!(
            BINDINGS.iter().any(|binding| binding.message == *message),
            "{message:?}"
        );
    }
}

#[test]
fn ctrl_z_only_stops_the_program() {
    for (_, mode) in LAYERS {
        assert_eq!(
            lookup(mode, press(KeyCode::Char('z'), true)),
            Some(Message::Suspend)
        );
    }
    let mut state = state(trip());
    let before = format!("{state:?}");
    assert_eq!(update(&mut state, Message::Suspend), Some(Effect::Suspend));
    assert_eq!(format!("{state:?}"), before);
}

#[test]
fn a_key_acts_when_pressed_and_repeated_and_not_when_released() {
    let kinds = [
        KeyEventKind::Press,
        KeyEventKind::Repeat,
        KeyEventKind::Release,
    ];
    let moves = kinds.map(|kind| {
        let key = KeyEvent::new_with_kind(KeyCode::Right, KeyModifiers::NONE, kind);
        lookup(Mode::Browse, key).is_some()
    });
    assert_eq!(moves, [true, true, false]);
    let other = KeyEvent::new(KeyCode::Char('q'), KeyModifiers::ALT);
    assert_eq!(lookup(Mode::Browse, other), None);
}

#[test]
fn escape_closes_the_top_layer_and_never_the_program() {
    let mut state = state(trip());
    assert_eq!(update(&mut state, Message::Close), None);
    update(&mut state, Message::Help);
    assert!(matches!(state.mode, Mode::Help { .. }));
    assert_eq!(update(&mut state, Message::Close), None);
    assert_eq!(state.mode, Mode::Browse);
    assert_eq!(update(&mut state, Message::Quit), Some(Effect::Quit));
}

#[test]
fn pasted_text_is_no_command_and_only_the_last_size_counts() {
    let state = state(trip());
    let area = Rect::new(0, 0, 80, 24);
    assert_eq!(
        meaning(&state, area, &Event::Paste("q\rq".to_owned())),
        None
    );
    let events = vec![
        Event::Resize(80, 24),
        Event::Key(press(KeyCode::Char('l'), false)),
        Event::Resize(90, 30),
    ];
    assert_eq!(coalesce(events.clone()), events[1..]);
}

#[test]
fn a_click_chooses_the_leg_under_it() {
    let mut state = state(trip());
    let area = Rect::new(0, 0, 80, 24);
    let message = click(&state, area, Position::new(79, 8)).unwrap();
    update(&mut state, message);
    assert_eq!(state.leg(), 6);
    assert_eq!(click(&state, area, Position::new(0, 23)), None);
    assert_eq!(
        click(&state, area, Position::new(60, 20)),
        Some(Message::Focus(Panel::Findings))
    );
    assert_eq!(
        click(&state, Rect::new(0, 0, 9, 3), Position::new(1, 1)),
        None
    );
}

#[test]
fn the_cursor_goes_leg_by_leg_and_stays_in_sight() {
    let mut state = after(
        state(trip()),
        &[Message::ZoomIn, Message::ZoomIn, Message::ZoomIn],
    );
    for leg in 1..=6 {
        assert_eq!(state.leg(), leg);
        let look = state.look();
        assert!(look.left <= state.at() && state.at() <= look.left + look.span);
        update(&mut state, Message::NextLeg);
    }
    assert_eq!(state.leg(), 6);
    update(&mut state, Message::TripEnd);
    assert_eq!(state.at(), state.strip().length());
    update(&mut state, Message::PreviousLeg);
    assert_eq!(state.leg(), 6, "to the start of the leg first");
    update(&mut state, Message::PreviousLeg);
    assert_eq!(state.leg(), 5);
    update(&mut state, Message::TripStart);
    assert_eq!((state.leg(), state.at()), (1, Kilometres::ZERO));
}

/// Any message, in any order.
fn messages() -> impl Strategy<Value = Vec<Message>> {
    // What doubles the trip each time would make one that takes all day.
    let of_keys = (0..BINDINGS.len())
        .prop_map(|nth| BINDINGS[nth].message)
        .prop_filter("doubles the trip", |message| {
            *message != Message::OutAndBack
        });
    let clicked = (-10.0..5000.0_f64).prop_map(|km| Message::GoTo(Kilometres::new(km)));
    prop::collection::vec(prop_oneof![9 => of_keys, 1 => clicked], 0..14)
}

fn any_leg() -> impl Strategy<Value = Leg> {
    let name = prop_oneof![
        "\\PC{0,24}",
        ".{0,24}",
        "[漢字かな🏜️e\u{301}\u{200b}\u{202e}]{0,12}"
    ];
    let surface = prop::sample::select(Surface::ALL);
    let length = prop_oneof![Just(0.0), Just(0.001), 0.1..2000.0_f64, Just(1e7)];
    (name, surface, length, 0.0..1.0_f64, 0_u32..3, any::<bool>()).prop_map(
        |(name, surface, length, share, days, fuel)| Leg {
            distance_km: Some(Kilometres::new(length)),
            surface: Some(surface),
            sand_share: Some(Share::new(share)),
            low_range_share: Some(Share::new(1.0 - share)),
            day: Some(days + 1),
            fuel: fuel.then(Default::default),
            ..Leg::to(name)
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 40,
        failure_persistence: Some(Box::new(FileFailurePersistence::Direct("tests/regressions/screens.txt"))),
        ..ProptestConfig::default()
    })]

    /// Whatever the trip, the size and the keys: no panic, and every row is as wide as the screen.
    #[test]
    fn any_trip_at_any_size(
        mut legs in prop::collection::vec(any_leg(), 1..12),
        (width, height) in (0_u16..=300, 0_u16..=80),
        messages in messages(),
        ascii in any::<bool>(),
    ) {
        legs.sort_by_key(|leg| leg.day);
        let state = after(state(Trip { legs, ..trip() }), &messages);
        let look = Look { theme: Theme::new(Depth::True), ascii };
        let buf = drawn(&state, look, width, height);
        for line in text(&buf).lines() {
            prop_assert_eq!(drystage::present::name::width(line), usize::from(width), "{}", line);
        }
    }
}

/// The example's legs over and over, fuel at every fifth place.
fn long_trip(legs: usize) -> Trip {
    let example = trip();
    Trip {
        legs: (0..legs)
            .map(|nth| Leg {
                to: format!("Place {nth}"),
                day: None,
                fuel: (nth % 5 == 4).then(Default::default),
                distance_km: Some(Kilometres::new(40.0)),
                ..example.legs[nth % 6].clone()
            })
            .collect(),
        ..example
    }
}

/// Time of one frame at 200 x 60, the same for ten legs and for a hundred thousand.
/// Run with `cargo test --release --test screens -- --ignored --nocapture`.
#[test]
#[ignore = "measures time: wants a release build and a quiet machine"]
fn a_frame_costs_the_same_for_ten_and_a_hundred_thousand_legs() {
    for legs in [10, 1_000, 100_000] {
        let long = long_trip(legs);
        let started = std::time::Instant::now();
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
                let started = std::time::Instant::now();
                buf.reset();
                view(&state, PLAIN, buf.area, &mut buf);
                times.push(started.elapsed());
            }
            times.sort();
            println!(
                "{legs} legs, {what}: median {:?}, 99th percentile {:?} (planned in {planned:?})",
                times[150], times[297]
            );
        }
        assert!(state.strip().top() > Litres::ZERO);
    }
}

/// The key for making it fit lists the ways in the load panel and makes the first; again, the next in its place; undo takes
/// it back.
#[test]
fn ways_to_make_it_fit_are_tried_one_after_the_other() {
    let document = include_str!("data/example-trip.json");
    let mut document: serde_json::Value = serde_json::from_str(document).unwrap();
    document["load"]["items"][2]["mass_kg"] = 55.into();
    let trip = drystage::model::check::read(document).unwrap();
    let mut state = State::new(Plan::of(trip), Units(UnitSystem::Metric));
    let stated = state.trip().clone();
    update(&mut state, Message::TryWay);
    let ways = state.ways();
    assert!(ways.len() > 1, "{ways:?}");
    assert!(ways[0].1 && !ways[1].1);
    let over = |state: &State| {
        state
            .plan()
            .load
            .bars
            .iter()
            .any(drystage::plan::LoadBar::is_over)
    };
    assert!(!over(&state));
    update(&mut state, Message::TryWay);
    assert!(state.ways()[1].1);
    assert!(!over(&state));
    update(&mut state, Message::Undo);
    assert_eq!(state.trip(), &stated);
    assert!(over(&state));
}
