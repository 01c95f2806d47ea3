//! Every way out gives the terminal back.

use std::sync::Arc;
use std::time::Duration;

use drystage::tui::terminal::{self, Screen};
use drystage::tui::worker::{JobHandle, Worker};
use portable_pty::CommandBuilder;
use ratatui::crossterm::event;
use ratatui::style::Style;

use super::session::{IDLE, Session, USUAL};

#[test]
fn quitting_gives_the_terminal_back() {
    let mut session = Session::program(&[]);
    {
        let shown = session.shown.lock().unwrap();
        let screen = shown.parser.screen();
        assert!(screen.alternate_screen() && screen.hide_cursor() && screen.bracketed_paste());
    }
    session.send("q");
    assert_eq!(session.ended(), 0);
    session.assert_given_back();
}

/// 128 and the number of the signal, as shells count.
#[test]
fn a_signal_gives_the_terminal_back() {
    for (name, number) in [("TERM", 15), ("INT", 2), ("HUP", 1), ("QUIT", 3)] {
        let mut session = Session::program(&[]);
        session.signal(name);
        assert_eq!(session.ended(), 128 + number, "{name}");
        session.assert_given_back();
    }
}

/// The hangup signal goes to the leader of the session alone. A shell that ignores it keeps it from the program, which
/// must see for itself that its terminal is gone.
#[test]
fn a_terminal_that_goes_without_a_signal_ends_the_program() {
    let root = env!("CARGO_MANIFEST_DIR");
    for after in [Duration::ZERO, IDLE / 4] {
        let mut command = CommandBuilder::new("/bin/sh");
        command.args([
            "-c",
            "trap '' HUP; \"$0\" \"$1\"; exit $?",
            env!("CARGO_BIN_EXE_drystage"),
            &format!("{root}/tests/data/example-trip.json"),
        ]);
        let session = Session::start(command, USUAL, &[]);
        session.wait_for("quit");
        let mut shell = session.hang_up("l", after);
        assert_eq!(shell.ended(), Some(129), "{after:?}");
    }
}

/// Not a test: takes the terminal and panics, for the test below, which starts this file anew.
#[test]
#[ignore = "needs a terminal"]
fn child_panics_on_the_screen() {
    let mut screen = Screen::enter(true).unwrap();
    screen
        .draw(|_, _| panic!("on purpose, in the midst of a frame"))
        .unwrap();
}

/// Not a test: a thread beside the screen panics, and the screen goes on until a key is pressed.
#[test]
#[ignore = "needs a terminal"]
fn child_panics_beside_the_screen() {
    let mut screen = Screen::enter(false).unwrap();
    let mut worker = Worker::start("samples", |_: Arc<()>, _: &JobHandle<()>| {
        panic!("on purpose")
    });
    let mut message = "fine".to_owned();
    let mut draw = |message: &str| {
        let paint = |buf: &mut ratatui::buffer::Buffer| {
            buf.set_string(0, 0, "the trip", Style::new());
            buf.set_string(0, 23, message, Style::new());
        };
        screen.draw(|_, buf| {
            paint(buf);
            None
        })
    };
    draw(&message).unwrap();
    worker.want(Some(Arc::new(())));
    while !event::poll(Duration::from_millis(20)).unwrap() {
        worker.found();
        if let Some(trouble) = worker.trouble() {
            message = trouble.to_string();
        }
        if message != "fine" || terminal::is_stale() {
            draw(&message).unwrap();
        }
    }
}

#[test]
fn a_panic_beside_the_screen_leaves_it_as_it_is_and_is_reported() {
    let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
    command.args([
        "--ignored",
        "--exact",
        "ways_out::child_panics_beside_the_screen",
        "--nocapture",
    ]);
    let mut session = Session::start(command, USUAL, &[("RUST_BACKTRACE", "0")]);
    session.wait_until("picture without anything else", |shown| {
        let text = shown.text();
        let mut lines = text.lines().filter(|line| !line.is_empty());
        shown.whole()
            && lines.next() == Some("the trip")
            && lines
                .next()
                .is_some_and(|line| line.ends_with("on purpose"))
            && lines.next().is_none()
            && shown.parser.screen().alternate_screen()
    });
    session.send("x");
    assert_eq!(session.ended(), 0);
    session.assert_given_back();
}

#[test]
fn a_panic_gives_the_terminal_back_and_is_reported_on_the_first_screen() {
    let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
    command.args([
        "--ignored",
        "--exact",
        "ways_out::child_panics_on_the_screen",
        "--nocapture",
    ]);
    let mut session = Session::start(command, USUAL, &[("RUST_BACKTRACE", "0")]);
    assert_eq!(session.ended(), 101);
    session.assert_given_back();
    session.wait_for("on purpose, in the midst of a frame");
    // Given back once: a second time would put the cursor back over the message.
    let shown = session.shown.lock().unwrap();
    let text = String::from_utf8_lossy(&shown.bytes);
    assert_eq!(text.matches("\u{1b}[?1049l").count(), 1);
}

#[test]
fn ctrl_z_stops_and_going_on_paints_anew() {
    let mut session = Session::program(&[]);
    for from_outside in [false, true] {
        if from_outside {
            session.signal("TSTP");
        } else {
            session.send("\u{1a}");
        }
        session.assert_given_back();
        assert!(
            session.child.0.try_wait().unwrap().is_none(),
            "stopped, not ended"
        );
        session.wait_until("second screen", |shown| {
            // Sent again and again, because it may come before the stop.
            session.signal("CONT");
            shown.parser.screen().alternate_screen()
        });
        session.wait_for_frame("leg 1 of 6");
    }
    session.send("q");
    assert_eq!(session.ended(), 0);
    session.assert_given_back();
}

/// As in a shell: stopped by its key and called back, again and again.
#[test]
fn a_shell_stops_it_and_calls_it_back_twenty_times() {
    let mut command = CommandBuilder::new("/bin/sh");
    command.arg("-i");
    let env = [("PS1", "shell> "), ("HISTFILE", "/dev/null")];
    let mut session = Session::start(command, USUAL, &env);
    session.wait_for("shell>");
    session.send(&format!(
        "{} --best-estimate tests/data/example-trip.json\n",
        env!("CARGO_BIN_EXE_drystage")
    ));
    session.wait_for_frame("leg 1 of 6");
    for _ in 0..20 {
        session.send("\u{1a}");
        session.wait_until("stopped program", |shown| {
            let text = shown.text();
            let is_reported = text.contains("Stopped") || text.contains("suspended");
            !shown.parser.screen().alternate_screen() && is_reported && text.ends_with("shell>")
        });
        session.send("clear; fg\n");
        session.wait_until("second screen", |shown| {
            shown.parser.screen().alternate_screen() && shown.whole()
        });
        session.wait_for_frame("leg 1 of 6");
    }
    session.send("q");
    session.wait_until("shell", |shown| {
        !shown.parser.screen().alternate_screen() && shown.text().ends_with("shell>")
    });
}

/// Importing from a pipe that nobody writes to waits for ever.
#[test]
fn ctrl_c_ends_what_is_read_from_the_screen_without_a_trip() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("pipe.gpx");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.unwrap().success());
    let command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
    let state = folder.path().to_str().unwrap();
    let mut session = Session::start(command, USUAL, &[("XDG_STATE_HOME", state)]);
    session.wait_for_frame("a new trip in a few questions");
    session.send("j\r");
    session.wait_for_frame("file to import");
    session.send(pipe.to_str().unwrap());
    session.wait_for_frame("pipe.gpx");
    session.send("\r");
    session.wait_for_frame("whose vehicle");
    session.send("\r");
    let mut ended = None;
    while ended.is_none() {
        session.send("\u{3}");
        std::thread::sleep(Duration::from_millis(100));
        ended = session.child.0.try_wait().unwrap();
    }
    assert_eq!(ended.unwrap().exit_code(), 130);
    session.assert_given_back();
}
