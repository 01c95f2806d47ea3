//! Every screen there is, layer by layer: at any size, in ASCII, in colours that can be read.

use std::path::Path;
use std::sync::Arc;

use drystage::model::Trip;
use drystage::model::change::{Change, History};
use drystage::model::vocabulary::UnitSystem;
use drystage::plan::{Effort, Plan};
use drystage::present::name::width;
use drystage::present::number::Units;
use drystage::tui::keymap::{self, BINDINGS, Binding, Layer};
use drystage::tui::message::Message;
use drystage::tui::outside::{Imported, Item, LeftOver, Opened, Recent, Shelf};
use drystage::tui::picture::Picture;
use drystage::tui::start::{Outcome, Start};
use drystage::tui::state::{Mode, Panel, Question, State};
use drystage::tui::theme::{Depth, Ground, Meaning, Theme};
use drystage::tui::update::{update, works_now};
use drystage::tui::view::{Look, start};
use proptest::prelude::*;
use ratatui::buffer::{Buffer, Cell};
use ratatui::crossterm::event::KeyCode;
use ratatui::layout::Rect;
use ratatui::style::Color;

use super::keys::press;
use super::{PLAIN, after_each, drawn, short_trip, state, text, trip, typed};

const METRIC: Units = Units(UnitSystem::Metric);

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
        (
            "found in the help",
            &[M::Help, M::Find, M::Type('u'), M::Enter],
        ),
        ("sliders", &[M::Sliders, M::ScrollDown, M::SliderUp]),
        (
            "keep",
            &[M::Sliders, M::ScrollDown, M::SliderUp, M::SaveWhatIf],
        ),
        ("side by side", &[M::Sliders, M::SideBySide]),
        ("leg table", &[M::Focus(Panel::Legs), M::Edit, M::CellRight]),
        (
            "cell",
            &[
                M::Focus(Panel::Legs),
                M::Edit,
                M::Range,
                M::ScrollDown,
                M::Enter,
            ],
        ),
        ("find a field", &[M::Edit, M::Find, M::Type('s')]),
        ("way", &[M::TryFix]),
        ("reading", &[M::Arrive, M::Type('5')]),
        ("place of a reading", &[M::Arrive, M::PreviousPanel]),
        (
            "wrong reading",
            &[&[M::Arrive][..], &[M::Enter; 7]].concat(),
        ),
        ("fuel stop", &[M::FuelStop, M::Type('x')]),
    ] {
        all.push((name.to_owned(), open(messages)));
    }
    let simulating = state(trip.clone()).with_simulation(true);
    all.push(("calculating at first".to_owned(), simulating.clone()));
    let mut changed = simulating;
    changed.simulate(false);
    for panel in Panel::ALL {
        let edits = [M::Focus(panel), M::Edit, M::OutAndBack, M::Close];
        all.push((
            format!("calculating {panel:?}"),
            after_each(changed.clone(), &edits),
        ));
    }
    for question in [
        Question::Quit,
        Question::Overwrite { then_quit: false },
        Question::Replace { then_quit: false },
        Question::Reload,
    ] {
        let mut asking = open(&[M::Edit, M::OutAndBack, M::Close]);
        asking.mode = Mode::Ask(question);
        all.push((format!("{question:?}"), asking));
    }
    all.push(("Recover".to_owned(), recovering(trip)));
    all.extend(from_files(trip));
    all
}

/// What names files, and what is proposed from them.
fn from_files(trip: &Trip) -> Vec<(String, State)> {
    use Message as M;
    let open = |messages: &[Message]| after_each(state(trip.clone()), messages);
    let mut all = vec![("Proposal".to_owned(), super::proposals::listing(trip))];
    for form in [
        M::FillFromMap,
        M::Calibrate,
        M::TakeVehicle,
        M::TakeRoute,
        M::KeepVehicle,
    ] {
        all.push((format!("{form:?}"), open(&[form, M::Type('x'), M::Enter])));
    }
    all
}

/// A trip with edits of the last time, to be taken up or dropped.
fn recovering(trip: &Trip) -> State {
    let mut history = History::new(trip.clone());
    for km in 100..130 {
        let edit = Change::set(history.trip(), "/legs/0/distance_km", Some(km.into()));
        history.make(&edit).unwrap();
    }
    let deeds = history.take_news();
    let picture = Picture::of(Plan::best_estimate(trip.clone()), METRIC);
    let opened = Opened {
        left_over: Some(LeftOver { history, deeds }),
        ..Opened::new(trip.clone())
    };
    State::open(opened, &picture, METRIC)
}

/// A shelf with one of everything.
struct Stocked;

impl Shelf for Stocked {
    fn items(&self) -> Vec<Item> {
        let long = "a long way 漢字/".repeat(12);
        let mut items = vec![
            Item::Unsaved {
                name: long.clone(),
                at: "nowhere".into(),
            },
            Item::New,
            Item::Import,
            Item::Sample("dune-coast"),
        ];
        items.extend((0..30).map(|nth| {
            Item::Recent(Recent {
                name: format!("{nth}/{long}"),
                verdict: "NO-GO".to_owned(),
                days: Some(nth),
                ..Recent::default()
            })
        }));
        items
    }

    fn open(&mut self, _: &Item) -> anyhow::Result<Opened> {
        anyhow::bail!("it is not there any more, and what is said about it is long: ".repeat(4))
    }

    fn vehicle(&self, _: &Path) -> anyhow::Result<Trip> {
        anyhow::bail!("no")
    }

    fn import(&self, _: &str, vehicle: &str, _: Units) -> anyhow::Result<Imported> {
        if vehicle.is_empty() {
            anyhow::bail!("no")
        }
        Ok(Imported {
            trip: Arc::new(trip()),
            lines: vec!["a long way 漢字/".repeat(12); 40],
        })
    }

    fn create(&mut self, trip: Trip) -> Opened {
        Opened::new(trip)
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
    let import = [
        M::ScrollDown,
        M::ScrollDown,
        M::Enter,
        M::Type('x'),
        M::Enter,
    ];
    all.push(open(&import));
    all.push(open(&[&import[..], &[M::Type('x'), M::Enter]].concat()));
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

/// Colours have a meaning each: outside the fuel of the strip the ground is the terminal's own.
#[test]
fn every_colour_has_a_meaning() {
    for (depth, ground) in [
        (Depth::Named, Ground::Dark),
        (Depth::Named, Ground::Light),
        (Depth::Indexed, Ground::Dark),
        (Depth::True, Ground::Light),
    ] {
        let theme = Theme::new(depth).on(ground);
        let tones =
            [Meaning::Tank, Meaning::Cans].map(|fuel| [theme.color(fuel), theme.tint(fuel)]);
        let fuel = tones.concat();
        let mut known = Meaning::ALL.map(|meaning| theme.color(meaning)).to_vec();
        known.extend(&fuel);
        let over_fuel = [Color::White, Color::Black];
        let look = Look {
            theme,
            ascii: false,
        };
        for (name, buf) in every_picture(look, 120, 40) {
            for cell in &buf.content {
                let is_over_fuel = fuel.contains(&cell.bg) && over_fuel.contains(&cell.fg);
                let is_known = cell.fg == Color::Reset || known.contains(&cell.fg) || is_over_fuel;
                let is_ground = cell.bg == Color::Reset || fuel.contains(&cell.bg);
                assert!(is_known && is_ground, "{name}: {} on {}", cell.fg, cell.bg);
            }
        }
    }
}

/// With sixteen colours words are in the terminal's own colour or in one that stands out from the palette's ground: bright
/// ones on dark, the others on light; never in plain or bright blue, nor in yellow on light ground.
#[test]
fn words_are_read_on_their_ground_with_sixteen_colours() {
    for (ground, allowed) in [
        (
            Ground::Dark,
            &[
                Color::Reset,
                Color::LightRed,
                Color::LightMagenta,
                Color::LightYellow,
            ][..],
        ),
        (Ground::Light, &[Color::Reset, Color::Red, Color::Magenta]),
    ] {
        let look = Look {
            theme: Theme::new(Depth::Named).on(ground),
            ascii: false,
        };
        for (name, buf) in every_picture(look, 120, 40) {
            for (cell, next) in buf.content.iter().zip(&buf.content[1..]) {
                let is_letter =
                    |cell: &Cell| cell.symbol().chars().all(|c| c.is_ascii_alphabetic());
                if is_letter(cell) && is_letter(next) {
                    let color = cell.fg;
                    assert!(
                        allowed.contains(&color),
                        "{name}: {} in {color}",
                        cell.symbol()
                    );
                }
            }
        }
    }
}

/// However far a panel is scrolled, something of it is seen.
#[test]
fn no_panel_is_scrolled_into_nothing() {
    let sampled = State::new(
        Plan::at_target(trip(), Effort::FIRST),
        Units(UnitSystem::Metric),
    );
    for shown in [state(trip()), state(short_trip()), sampled] {
        for panel in Panel::ALL {
            let mut scrolled = after_each(shown.clone(), &[Message::Focus(panel)]);
            for _ in 0..60 {
                update(&mut scrolled, Message::ScrollDown);
            }
            for (columns, rows) in [(40, 10), (80, 24), (200, 60)] {
                let screen = text(&drawn(&scrolled, PLAIN, columns, rows));
                let lines: Vec<Vec<char>> =
                    screen.lines().map(|line| line.chars().collect()).collect();
                let heading = lines.iter().enumerate().find_map(|(y, line)| {
                    let x = line.iter().position(|&c| c == '▶')?;
                    Some((x, y))
                });
                let Some((x, y)) = heading else {
                    // What is not read leaves the room to the strip.
                    assert_eq!((panel, rows), (Panel::Do, 10), "{screen}");
                    continue;
                };
                let below = lines[y + 1].iter().skip(x).take(38);
                assert!(below.clone().any(|c| *c != ' '), "{panel:?}\n{screen}");
            }
        }
    }
}

/// Every key of the table, with every panel in focus and in every layer: whatever follows is a whole picture, and over
/// the strip and the rows no trip changes but by what says so in the last row.
#[test]
fn every_key_in_every_panel_and_layer() {
    for (name, state) in every(&trip()) {
        let layer = Layer::from(state.mode);
        for binding in BINDINGS
            .iter()
            .filter(|binding| binding.layers.contains(&layer))
        {
            // Looks for ways, which takes long and has tests of its own.
            if binding.message == Message::TryFix {
                continue;
            }
            let after = after_each(state.clone(), &[binding.message]);
            for (columns, rows) in [(40, 10), (80, 24)] {
                for line in text(&drawn(&after, PLAIN, columns, rows)).lines() {
                    assert_eq!(
                        width(line),
                        usize::from(columns),
                        "{name}: {}",
                        binding.label
                    );
                }
            }
            let is_reported = after.status.is_some() || after.mode != state.mode;
            assert!(
                after.trip() == state.trip() || is_reported,
                "{name}: {} changes the trip and does not say so",
                binding.label
            );
        }
    }
}

/// The keys that the last row shows, of those that the table has a word for in that layer.
fn shown_below(layer: Layer, buf: &Buffer) -> Vec<&'static Binding> {
    let foot = text(buf).lines().last().unwrap().to_owned();
    let mut shown: Vec<_> = keymap::footer_bindings(layer)
        .filter_map(|binding| {
            let words = format!("{} {}", binding.footer_key(false), binding.short.unwrap());
            foot.find(&words).map(|at| (at, words.len(), binding))
        })
        .collect();
    shown.sort_by_key(|(at, ..)| *at);
    let words: usize = shown.iter().map(|(_, length, _)| length).sum();
    let gaps = 3 * shown.len().saturating_sub(1);
    assert_eq!(
        words + gaps,
        foot.trim_end().len(),
        "nothing else: {foot:?}"
    );
    shown.into_iter().map(|(.., binding)| binding).collect()
}

/// The last row shows three to six keys that are in the table and do something there, the one for help among them; or
/// what was just done.
#[test]
fn the_foot_tells_keys_that_work() {
    for (name, state) in every(&trip()).into_iter().chain(every(&short_trip())) {
        if state.status.is_some() {
            continue;
        }
        let layer = Layer::from(state.mode);
        let before = format!("{state:?}");
        for (columns, rows) in [(40, 10), (80, 24), (120, 40)] {
            let shown = shown_below(layer, &drawn(&state, PLAIN, columns, rows));
            let all = keymap::footer_bindings(layer)
                .filter(|binding| works_now(&state, binding.message))
                .count();
            assert!(
                (all.min(3)..=6).contains(&shown.len()),
                "{name} at {columns}: {} of {all}",
                shown.len()
            );
            let helps = |binding: &&Binding| binding.message == Message::Help;
            assert!(
                layer == Layer::Help || shown.iter().any(helps),
                "{name} at {columns}: how to get help"
            );
            for binding in shown {
                let mut after = state.clone();
                let message = match binding.message {
                    Message::PanelByNumber if state.focus == Panel::Leg => {
                        Message::Focus(Panel::Log)
                    }
                    Message::PanelByNumber => Message::Focus(Panel::Leg),
                    message => message,
                };
                let effect = update(&mut after, message);
                after.attend();
                assert!(
                    effect.is_some() || format!("{after:?}") != before,
                    "{name}: {} does nothing",
                    binding.label
                );
            }
        }
    }
    for start in every_start() {
        let buf = start_drawn(&start, PLAIN, 80, 24);
        let shown = shown_below(start.layer(), &buf);
        assert!((3..=6).contains(&shown.len()), "{}", text(&buf));
        for binding in shown {
            let mut after = start.clone();
            let outcome = after.update(binding.message, &mut Stocked);
            let is_done = matches!(outcome, Outcome::Quit | Outcome::Opened(_));
            // What cannot be done is reported.
            let is_reported = after.problem.is_some();
            assert!(
                is_done || is_reported || format!("{after:?}") != format!("{start:?}"),
                "{} does nothing in\n{}",
                binding.label,
                text(&buf)
            );
        }
    }
}

/// Asked for from anywhere, with the key that is reported there, the list of keys closes to where one was.
#[test]
fn the_help_comes_from_everywhere_and_goes_back_there() {
    for (name, state) in every(&trip()) {
        if matches!(state.mode, Mode::Help | Mode::FindHelp) {
            continue;
        }
        let mode = state.mode;
        let key = press(KeyCode::F(1), false);
        let helped = after_each(state, &[keymap::lookup(mode, key).unwrap()]);
        assert_eq!(helped.mode, Mode::Help, "{name}");
        let mut sought = vec![Message::Find];
        sought.extend(typed("undo"));
        sought.push(Message::Enter);
        let sought = after_each(helped, &sought);
        assert_eq!(sought.mode, Mode::Help, "{name}");
        let back = after_each(sought, &[Message::Close]);
        assert_eq!(back.mode, mode, "{name}");
        assert_eq!(back.prompt.is_some(), mode == Mode::Prompt, "{name}");
    }
    for start in every_start() {
        let before = format!("{start:?}");
        let mut helped = start;
        helped.update(Message::Help, &mut Stocked);
        assert_eq!(helped.layer(), Layer::Help);
        let shown = text(&start_drawn(&helped, PLAIN, 80, 24));
        assert!(shown.contains("keys, symbols, cautions"), "{shown}");
        helped.update(Message::Close, &mut Stocked);
        assert_eq!(format!("{helped:?}"), before);
    }
}
