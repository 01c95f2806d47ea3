//! Every screen there is, layer by layer: at any size, in ASCII, in colours that can be read.

use drystage::model::Trip;
use drystage::present::name::width;
use drystage::tui::keymap::{BINDINGS, Layer};
use drystage::tui::message::Message;
use drystage::tui::outside::{Item, Opened, Shelf};
use drystage::tui::start::Start;
use drystage::tui::state::{Mode, Panel, Question, State};
use drystage::tui::theme::{Depth, Meaning, Theme};
use drystage::tui::update::update;
use drystage::tui::view::{Look, start};
use proptest::prelude::*;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Color;

use super::{PLAIN, after_each, drawn, short_trip, state, text, trip, typed};

/// Each layer and panel over a trip, with the keys that lead there.
fn every(trip: &Trip) -> Vec<(String, State)> {
    use Message as M;
    let open = |messages: &[Message]| after_each(state(trip.clone()), messages);
    let mut all: Vec<(String, State)> = Panel::ALL
        .into_iter()
        .map(|panel| {
            (
                format!("{panel:?}"),
                open(&[M::Focus(panel), M::ScrollDown]),
            )
        })
        .collect();
    let mut sheet = open(&[M::Edit]);
    for nth in 0..11 {
        all.push((format!("sheet {nth}"), sheet.clone()));
        all.push((
            format!("field {nth}"),
            after_each(sheet.clone(), &[M::Enter, M::Type('x')]),
        ));
        update(&mut sheet, M::NextPanel);
    }
    let wrong = [
        M::Edit,
        M::ScrollDown,
        M::Type('9'),
        M::Type('9'),
        M::Type('9'),
    ];
    for (name, messages) in [
        ("help", &[M::Help][..]),
        ("help over a field", &[M::Edit, M::Enter, M::Help]),
        ("wrong", &wrong),
        ("split", &[M::Edit, M::Split]),
        ("save as", &[M::SaveAs]),
        ("find", &[M::Find]),
        ("find in the help", &[M::Help, M::Find]),
        ("dials", &[M::Dials, M::ScrollDown, M::TurnOn]),
        ("keep", &[M::Dials, M::ScrollDown, M::TurnOn, M::KeepDials]),
        ("side by side", &[M::Dials, M::SideBySide]),
        ("way", &[M::TryWay]),
    ] {
        all.push((name.to_owned(), open(messages)));
    }
    for question in [
        Question::Quit,
        Question::Overwrite { then_quit: false },
        Question::Replace { then_quit: false },
        Question::Recover,
        Question::Reload,
    ] {
        let mut asking = open(&[M::Edit, M::OutAndBack, M::Close]);
        asking.mode = Mode::Ask(question);
        asking.left_over = vec!["leg 1: distance 142 -> 150.5 km".to_owned(); 30];
        all.push((format!("{question:?}"), asking));
    }
    all
}

/// A shelf with one of everything.
struct Stocked;

impl Shelf for Stocked {
    fn items(&self) -> Vec<Item> {
        let long = "a long way 漢字/".repeat(12);
        let mut items = vec![
            Item::Unsaved {
                name: long.clone(),
                at: "nowhere".to_owned(),
            },
            Item::New,
            Item::Import,
            Item::Sample("dune-coast"),
        ];
        items.extend((0..30).map(|nth| Item::Recent(format!("{nth}/{long}"))));
        items
    }

    fn open(&mut self, _: &Item) -> Result<Opened, String> {
        Err("it is not there any more, and what is said about it is long: ".repeat(4))
    }

    fn import(&mut self, _: &str) -> Result<Opened, String> {
        Err("no".to_owned())
    }

    fn create(&mut self, _: Trip) -> Opened {
        unreachable!("not all questions are answered")
    }
}

/// The screens before there is a trip: the list, what went wrong, each kind of question.
fn every_start() -> Vec<Start> {
    use Message as M;
    let open = |messages: &[Message]| {
        let mut start = Start::new(&Stocked, None);
        for &message in messages {
            start.update(message, &mut Stocked);
        }
        start
    };
    let mut answered = vec![M::ScrollDown, M::Enter, M::Type('x'), M::Enter];
    let mut all = vec![
        open(&[]),
        open(&[M::Enter]),
        open(&[
            M::ScrollDown,
            M::ScrollDown,
            M::Enter,
            M::Type('漢'),
            M::Enter,
        ]),
        open(&answered),
    ];
    answered.extend([M::Type('x'), M::Enter]);
    all.push(open(&answered));
    all
}

fn start_drawn(start: &Start, look: Look, width: u16, height: u16) -> Buffer {
    let area = Rect::new(0, 0, width, height);
    let mut buf = Buffer::empty(area);
    start::render(start, look, area, &mut buf);
    buf
}

fn every_picture(look: Look, width: u16, height: u16) -> Vec<(String, Buffer)> {
    let of_trip = every(&short_trip()).into_iter();
    let of_trip = of_trip.map(|(name, state)| (name, drawn(&state, look, width, height)));
    let starts = every_start().into_iter().enumerate();
    let starts = starts.map(|(nth, start)| {
        (
            format!("start {nth}"),
            start_drawn(&start, look, width, height),
        )
    });
    of_trip.chain(starts).collect()
}

/// Every screen at any size: no panic, every row as wide as the screen.
#[test]
fn every_screen_at_any_size() {
    let screens = every(&trip());
    let starts = every_start();
    let mut runner = proptest::test_runner::TestRunner::new(ProptestConfig {
        cases: 60,
        failure_persistence: None,
        ..ProptestConfig::default()
    });
    let sizes = (0_u16..=300, 0_u16..=80);
    let case = (sizes, 0..screens.len() + starts.len(), any::<bool>());
    runner
        .run(&case, |((columns, rows), nth, ascii)| {
            let look = Look { ascii, ..PLAIN };
            let buf = match screens.get(nth) {
                Some((_, state)) => drawn(state, look, columns, rows),
                None => start_drawn(&starts[nth - screens.len()], look, columns, rows),
            };
            for line in text(&buf).lines() {
                prop_assert_eq!(width(line), usize::from(columns), "{}", line);
            }
            Ok(())
        })
        .unwrap();
    // The edges of what is drawn at all, for every one of them.
    for (columns, rows) in [(0, 0), (1, 1), (39, 10), (40, 9), (40, 10), (80, 24)] {
        for (name, state) in &screens {
            let shown = text(&drawn(state, PLAIN, columns, rows));
            if columns >= 40 && rows >= 10 {
                let is_empty = shown.trim().is_empty();
                assert!(
                    !is_empty && !shown.contains("too small"),
                    "{name} at {columns} x {rows}"
                );
            }
        }
    }
}

#[test]
fn every_screen_is_ascii_where_that_is_wanted() {
    let look = Look {
        ascii: true,
        ..PLAIN
    };
    for (name, buf) in every_picture(look, 120, 40) {
        for cell in &buf.content {
            let is_ascii = cell.symbol().chars().all(|c| (' '..='~').contains(&c));
            assert!(is_ascii, "{name}: {:?}", cell.symbol());
        }
    }
}

/// What the program itself draws is one column wide and asks for no picture of it (Unicode, variation selector 16).
#[test]
fn no_shape_is_wide() {
    for (name, state) in every(&trip()) {
        for cell in &drawn(&state, PLAIN, 200, 60).content {
            let shape = cell.symbol();
            assert!(
                width(shape) <= 1 && !shape.contains('\u{fe0f}'),
                "{name}: {shape:?}"
            );
        }
    }
}

/// The ground is the terminal's own, and so is the colour of text but for the five that have a meaning.
#[test]
fn every_screen_can_be_read_on_light_and_on_dark() {
    for depth in [Depth::Named, Depth::True] {
        let theme = Theme::new(depth);
        let known: Vec<Color> = Meaning::ALL.map(|meaning| theme.color(meaning)).to_vec();
        let look = Look {
            theme,
            ascii: false,
        };
        for (name, buf) in every_picture(look, 120, 40) {
            for cell in &buf.content {
                let is_known = cell.fg == Color::Reset || known.contains(&cell.fg);
                assert!(
                    cell.bg == Color::Reset && is_known,
                    "{name}: {} on {}",
                    cell.fg,
                    cell.bg
                );
            }
        }
    }
}

/// The last row tells keys that are in the table and work there, or what was just done.
#[test]
fn the_foot_tells_keys_that_work() {
    for (name, state) in every(&trip()) {
        let shown = text(&drawn(&state, PLAIN, 120, 40));
        let foot = shown.lines().last().unwrap().trim();
        if matches!(state.mode, Mode::Help { .. }) || state.status.is_some() {
            continue;
        }
        let layer = Layer::from(state.mode);
        let told = BINDINGS.iter().filter(|binding| {
            let words = binding
                .short
                .map(|short| format!("{} {short}", binding.keys[0].name()));
            binding.layers.contains(&layer) && words.is_some_and(|words| foot.contains(&words))
        });
        let count = told.count();
        assert!((1..=9).contains(&count), "{name}: {count} in {foot:?}");
    }
}

/// Asked for from anywhere, the list of keys closes to where one was.
#[test]
fn the_help_comes_from_everywhere_and_goes_back_there() {
    for (name, state) in every(&trip()) {
        if matches!(state.mode, Mode::Help { .. }) || name.contains("help") {
            continue;
        }
        let mode = state.mode;
        let helped = after_each(state, &[Message::Help]);
        assert!(matches!(helped.mode, Mode::Help { .. }), "{name}");
        let mut sought = vec![Message::Find];
        sought.extend(typed("undo"));
        sought.push(Message::Enter);
        let sought = after_each(helped, &sought);
        assert!(matches!(sought.mode, Mode::Help { .. }), "{name}");
        let back = after_each(sought, &[Message::Close]);
        assert_eq!(back.mode, mode, "{name}");
        assert_eq!(back.prompt.is_some(), mode == Mode::Prompt, "{name}");
    }
}
