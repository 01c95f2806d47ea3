//! What is painted: colours as announced, whole frames, any size, nothing while nothing happens.

use std::time::Duration;

use portable_pty::CommandBuilder;

use super::session::{FRAME, IDLE, Session, USUAL, size};

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

#[test]
fn nothing_is_written_while_nothing_happens() {
    let session = Session::program(&[]);
    let before = session.written();
    std::thread::sleep(IDLE);
    assert_eq!(session.written(), before);
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
    resized.wait_for_frame("goes back");
    resized.send("\u{1b}");
    let text = fresh.text();
    resized.wait_until(&text, |shown| shown.whole() && shown.text() == text);
    for session in [&mut resized, &mut fresh] {
        session.send("q");
        assert_eq!(session.ended(), 0);
    }
}

/// The first picture is the plain plan; the plan at the confidence takes its place as soon as it is sampled.
#[test]
fn the_odds_follow_the_first_picture() {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
    command.arg(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-routes/plateau-loop.json"
    ));
    let mut session = Session::start(command, USUAL, &[]);
    session.wait_for_frame("GO with 1 x 10 L can");
    session.wait_for_frame("GO with 1 x 20 L can (rear) and 1 x 10 L");
    session.send("q");
    assert_eq!(session.ended(), 0);
}
