//! What is painted: colours as announced, whole frames, any size, nothing while nothing happens.

use std::time::{Duration, Instant};

use portable_pty::CommandBuilder;

use super::place::Place;
use super::session::{FRAME, IDLE, PATIENCE, Session, USUAL, size};

/// <https://no-color.org>: no colour, but what is chosen is still seen.
#[test]
fn no_color_keeps_what_is_chosen_reversed() {
    let mut session = Session::program(&[("NO_COLOR", "1"), ("COLORTERM", "truecolor")]);
    session.send("l");
    session.wait_for_frame("leg 2 of 6");
    let shown = session.shown.lock().unwrap();
    let screen = shown.parser.screen();
    let cells: Vec<_> = (0..24)
        .flat_map(|row| (0..80).map(move |column| (row, column)))
        .filter_map(|(row, column)| screen.cell(row, column))
        .collect();
    assert!(cells.iter().any(|cell| cell.inverse()));
    assert!(cells.iter().any(|cell| cell.bold()));
    let own = vt100::Color::Default;
    assert!(
        cells
            .iter()
            .all(|cell| cell.fgcolor() == own && cell.bgcolor() == own)
    );
}

#[test]
fn colours_are_sixteen_unless_more_are_announced() {
    for (env, many) in [("", false), ("truecolor", true)] {
        let session = Session::program(&[("COLORTERM", env)]);
        let shown = session.shown.lock().unwrap();
        let text = String::from_utf8_lossy(&shown.bytes).into_owned();
        assert_eq!(text.contains("38;2;"), many);
        assert!(text.contains("38;"), "some colour");
    }
}

/// What it may take to wake up a few times: up to a millisecond each on a machine that slept in between.
const WAKING: Duration = Duration::from_millis(50);

/// Waits for all that is simulated beside the screen: until hardly anything was done and nothing painted for long.
fn wait_for_rest(session: &Session) {
    let until = Instant::now() + PATIENCE;
    let seen = || (session.time_used().unwrap_or_default(), session.written());
    let mut before = seen();
    loop {
        std::thread::sleep(IDLE);
        let now = seen();
        if now.0.saturating_sub(before.0) < WAKING && now.1 == before.1 {
            return;
        }
        assert!(
            Instant::now() < until,
            "{now:?} used and written, and still at work"
        );
        before = now;
    }
}

/// Nothing is written, and the program wakes only to look at its file and its terminal, also after the simulation.
#[test]
fn nothing_happens_while_nothing_is_typed() {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
    command.arg(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-routes/forest-weekend.json"
    ));
    let sampled = Session::start(command, USUAL, &[]);
    sampled.wait_for_frame("leg 1 of");
    wait_for_rest(&sampled);
    for session in [sampled, Session::program(&[])] {
        const WATCHED: Duration = Duration::from_secs(5);
        /// Four times a second for keys, twice for a terminal that went away, and some to spare.
        const WAKES: u64 = 8;
        std::thread::sleep(IDLE);
        let before = session.written();
        let (used, woken) = (session.time_used(), session.times_woken());
        std::thread::sleep(WATCHED);
        assert_eq!(session.written(), before, "bytes written");
        if let (Some(before), Some(after)) = (used, session.time_used()) {
            let used = after.saturating_sub(before);
            println!("idle: {used:.2?} of the processor in {WATCHED:?}");
            assert!(used < WAKING * 5, "{used:?} in {WATCHED:?}");
        }
        if let (Some(before), Some(after)) = (woken, session.times_woken()) {
            let times = after.saturating_sub(before);
            println!("idle: woken {times} times in {WATCHED:?}");
            assert!(times <= WAKES * WATCHED.as_secs(), "{times} in {WATCHED:?}");
        }
    }
}

#[test]
fn every_frame_is_written_as_one() {
    let mut session = Session::program(&[]);
    session.send("lll");
    session.wait_for_frame("leg 4 of 6");
    let shown = session.shown.lock().unwrap();
    let text = String::from_utf8_lossy(&shown.bytes);
    let [begun, ended] = FRAME.map(|mark| text.matches(mark).count());
    assert!(begun >= 2 && begun == ended, "{begun} begun, {ended} ended");
}

#[test]
fn another_size_looks_like_a_fresh_start() {
    let mut fresh = Session::sized(size(100, 30), &[]);
    let mut resized = Session::program(&[]);
    for (columns, rows) in [(120, 40), (60, 20), (33, 8), (100, 30)] {
        resized.resize(size(columns, rows));
        std::thread::sleep(Duration::from_millis(60));
    }
    resized.send("?");
    resized.wait_for_frame("symbols, cautions");
    resized.send("\u{1b}");
    let text = fresh.text();
    resized.wait_until(&text, |shown| shown.whole() && shown.text() == text);
    for session in [&mut resized, &mut fresh] {
        session.send("q");
        assert_eq!(session.ended(), 0);
    }
}

/// No frame has a verdict before the simulation; the one that comes stays.
#[test]
fn the_verdict_comes_from_the_simulation() {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
    command.arg(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-routes/plateau-loop.json"
    ));
    let mut session = Session::start(command, USUAL, &[]);
    session.wait_for_frame("GO  28.5 L in cans");
    session.send("q");
    assert_eq!(session.ended(), 0);
    let shown = session.shown.lock().unwrap();
    let written = String::from_utf8_lossy(&shown.bytes);
    // By the best estimate one can of 10 L is enough.
    assert!(!written.contains("1 can"), "{written}");
}

/// What a slider makes of the trip is simulated as the trip is, also while that is still simulated further.
#[test]
fn a_slider_that_is_moved_is_simulated_too() {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
    command.arg(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-routes/plateau-loop.json"
    ));
    let mut session = Session::start(command, USUAL, &[]);
    session.wait_for_frame("L in cans");
    // The third slider is extra cargo.
    session.send("djjl");
    session.wait_for_frame("10 kg");
    session.wait_until("verdict", |shown| {
        let text = shown.text();
        let lines = text.lines().skip(1).take(2);
        let verdict: Vec<&str> = lines.flat_map(str::split_whitespace).collect();
        let verdict = verdict.join(" ");
        shown.whole()
            && text.contains("what if: +")
            && verdict.contains("at 95 %")
            && !verdict.starts_with("calculating")
    });
}

/// Sizes that come in a burst are drawn once or twice, and the last one right.
#[test]
fn a_storm_of_sizes_ends_in_the_last_one() {
    let fresh = Session::sized(size(90, 28), &[]);
    let resized = Session::program(&[]);
    let frames = |session: &Session| {
        let shown = session.shown.lock().unwrap();
        String::from_utf8_lossy(&shown.bytes)
            .matches(FRAME[0])
            .count()
    };
    wait_for_rest(&resized);
    let before = frames(&resized);
    // Held still meanwhile, so that they do come in a burst however busy the machine is.
    resized.signal("STOP");
    for (columns, rows) in [(120, 40), (60, 20), (33, 8), (200, 60), (50, 12), (90, 28)] {
        resized.resize(size(columns, rows));
    }
    resized.signal("CONT");
    let text = fresh.text();
    resized.wait_until(&text, |shown| shown.whole() && shown.text() == text);
    std::thread::sleep(IDLE / 4);
    let drawn = frames(&resized) - before;
    assert!(drawn <= 3, "{drawn} frames for six sizes");
}

/// What another program writes into the terminal is painted over when that is asked for.
#[test]
fn what_others_write_is_painted_over() {
    let mut session = Session::program(&[]);
    let picture = session.text();
    {
        let mut shown = session.shown.lock().unwrap();
        shown
            .parser
            .process(b"\x1b[5;10Hdisk is full\x1b[12;1H\x1b[2K\x1b[H#####");
        assert_ne!(shown.text(), picture);
    }
    session.send("\u{c}");
    session.wait_until("picture of before", |shown| {
        shown.whole() && shown.text() == picture
    });
}

/// The choice on the command line beats `NO_COLOR`, that beats what the terminal announces; a terminal that can do
/// nothing gets the report.
#[test]
fn colours_follow_choice_then_environment_then_terminal() {
    for (choice, env, named, many) in [
        ("auto", &[][..], true, false),
        ("auto", &[("COLORTERM", "truecolor")], true, true),
        (
            "auto",
            &[("NO_COLOR", "1"), ("COLORTERM", "truecolor")],
            false,
            false,
        ),
        (
            "auto",
            &[("NO_COLOR", ""), ("COLORTERM", "24bit")],
            true,
            true,
        ),
        ("always", &[("NO_COLOR", "1")], true, false),
        ("never", &[("COLORTERM", "truecolor")], false, false),
    ] {
        let mut command = example();
        command.args(["--color", choice]);
        let session = Session::start(command, USUAL, env);
        session.wait_for_frame("leg 1 of 6");
        let shown = session.shown.lock().unwrap();
        let text = String::from_utf8_lossy(&shown.bytes).into_owned();
        let case = format!("{choice} {env:?}");
        assert_eq!(text.contains("38;2;"), many, "{case}");
        assert_eq!(
            text.contains("[38;") || text.contains(";38;"),
            named,
            "{case}"
        );
    }
    let mut dumb = Session::start(example(), USUAL, &[("TERM", "dumb")]);
    assert_eq!(dumb.ended(), 0);
    dumb.wait_until("report", |shown| {
        String::from_utf8_lossy(&shown.bytes).contains("CAUTIONS")
    });
    let shown = dumb.shown.lock().unwrap();
    assert!(!shown.bytes.contains(&0x1b), "no escape, no second screen");
}

/// Names of any width move nothing else: every row ends where it ends with plain names.
#[test]
fn wide_names_move_nothing() {
    let place = Place::new();
    let plain = std::fs::read_to_string(place.path("trip.json")).unwrap();
    let wide = plain
        .replace("Two Cairns", "二つのケルン")
        .replace("Dune Gate", "Du\u{308}ne e\u{301}Gate")
        .replace("Cold Spring", "\u{1f3dc}\u{fe0f} 🇦🇶");
    std::fs::write(place.path("wide.json"), wide).unwrap();
    let [plain, wide] = ["trip.json", "wide.json"].map(|name| {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
        command.arg("--best-estimate");
        command.arg(place.path(name));
        let session = Session::start(command, USUAL, &[]);
        session.wait_for_frame("leg 1 of 6");
        session
    });
    let [plain, wide] = [&plain, &wide].map(|session| {
        let shown = session.shown.lock().unwrap();
        let rows: Vec<String> = shown.parser.screen().rows(0, 80).collect();
        rows
    });
    // Title, days, ground, fuel, marks and axis.
    for row in (0..1).chain(3..4).chain(6..16) {
        assert_eq!(plain[row], wide[row], "row {row}");
    }
    assert!(wide[4].contains("二つのケルン"), "{}", wide[4]);
    assert!(wide[4].trim_end().ends_with('◆') && plain[4].trim_end().ends_with('◆'));
}

fn example() -> CommandBuilder {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
    command.args([
        "--best-estimate",
        concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/example-trip.json"),
    ]);
    command
}
