//! What is pasted and clicked.

use portable_pty::CommandBuilder;

use super::session::{IDLE, Session, USUAL};

#[test]
fn a_paste_is_no_command() {
    let mut session = Session::program(&[]);
    session.send("\u{1b}[200~q\rq\n\u{1b}[201~l");
    session.wait_for("leg 2 of 6");
    session.send("q");
    assert_eq!(session.ended(), 0);
}

#[test]
fn the_mouse_chooses_and_can_be_left_to_the_terminal() {
    let mut session = Session::program(&[]);
    let mode = |session: &Session| {
        session
            .shown
            .lock()
            .unwrap()
            .parser
            .screen()
            .mouse_protocol_mode()
    };
    assert_ne!(mode(&session), vt100::MouseProtocolMode::None);
    // Button 0 at column 80, row 10, in SGR form.
    session.send("\u{1b}[<0;80;10M\u{1b}[<0;80;10m");
    session.wait_for("leg 6 of 6");
    session.send("m");
    session.wait_until("mouse", |shown| {
        shown.parser.screen().mouse_protocol_mode() == vt100::MouseProtocolMode::None
    });
}

#[test]
fn the_mouse_is_left_alone_where_that_is_asked_for() {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
    command.args([
        "--best-estimate",
        "--no-mouse",
        concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/example-trip.json"),
    ]);
    let session = Session::start(command, USUAL, &[]);
    session.wait_for_frame("leg 1 of 6");
    let shown = session.shown.lock().unwrap();
    let text = String::from_utf8_lossy(&shown.bytes);
    for mode in ["1000", "1002", "1003", "1006"] {
        assert!(!text.contains(&format!("\u{1b}[?{mode}h")), "{mode}");
    }
}

/// Where rows, sliders or a question are in front a paste does nothing either.
#[test]
fn a_paste_is_no_command_in_any_layer() {
    let mut session = Session::program(&[]);
    for (open, shows) in [
        ("e", "row 1 of"),
        ("\u{1b}", "e edit"),
        ("d", "t compare"),
        ("t", "side by side"),
    ] {
        session.send(open);
        session.wait_for_frame(shows);
        session.send("\u{1b}[200~9d\rq\nx\u{1b}[201~");
        std::thread::sleep(IDLE / 4);
        session.wait_for_frame(shows);
        assert!(!session.text().starts_with('*'), "{}", session.text());
    }
    session.send("\u{1b}");
    session.wait_for_frame("t compare");
    session.send("\u{1b}");
    session.wait_for_frame("e edit");
    session.send("q");
    assert_eq!(session.ended(), 0);
}

/// A trip that comes through a pipe is planned on the screen, and the keys come from the terminal all the same.
#[test]
fn a_piped_trip_takes_keys_from_the_terminal() {
    let state = tempfile::tempdir().unwrap();
    let mut command = CommandBuilder::new("/bin/sh");
    command.arg("-c");
    // Slowly, as from a program that works on it.
    command.arg(format!(
        "(head -c 900 '{trip}'; sleep 0.3; tail -c +901 '{trip}') | '{program}' --best-estimate - --set /legs/0/distance_km=150",
        trip = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/example-trip.json"),
        program = env!("CARGO_BIN_EXE_drystage"),
    ));
    let env = [
        ("PATH", "/usr/bin:/bin"),
        ("XDG_STATE_HOME", state.path().to_str().unwrap()),
    ];
    let mut session = Session::start(command, USUAL, &env);
    session.wait_for("leg 1 of 6");
    session.wait_for("730 km");
    session.send("l");
    session.wait_for("leg 2 of 6");
    // What the call set is an edit: leaving it asks, and it can be undone. Then nothing is lost and nothing is asked.
    session.send("q");
    session.wait_for("y yes");
    session.send("\u{1b}");
    session.send("u");
    session.wait_for("722 km");
    session.send("q");
    assert_eq!(session.ended(), 0);
}

/// A terminal that marks no pastes sends them as keys; those typed after it act at once.
#[test]
fn a_long_paste_without_marks_is_typed_and_keys_after_it_act() {
    let mut session = Session::program(&[]);
    session.wait_for_frame("leg 1 of 6");
    session.send("S");
    session.wait_for("save as");
    session.send(&"a".repeat(234_000));
    session.send("\u{15}other name");
    session.wait_for("other name");
}

#[test]
fn a_key_that_changes_nothing_sends_nothing() {
    let mut session = Session::program(&[]);
    session.wait_for_frame("leg 1 of 6");
    session.send("l");
    session.wait_for("leg 2 of 6");
    session.send("h");
    session.wait_for("leg 1 of 6");
    std::thread::sleep(IDLE);
    let before = session.written();
    session.send("hgh");
    std::thread::sleep(IDLE);
    assert_eq!(session.written(), before);
}
