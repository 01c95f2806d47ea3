//! The terminal is taken and given back: the program runs in a pseudo-terminal, and what it writes
//! is read as a terminal reads it.

#![cfg(unix)]
#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

mod unsaved;

use std::io::{Read, Write};
use std::num::NonZero;
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use drystage::tui::terminal::Screen;
use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// How long anything may take on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);
/// How long nothing may be written, to count as idle.
const IDLE: Duration = Duration::from_secs(2);

/// The marks around a frame, which a terminal shows at once: a synchronised update.
const FRAME: [&str; 2] = ["\u{1b}[?2026h", "\u{1b}[?2026l"];

/// A terminal as it was always.
const USUAL: PtySize = size(80, 24);

const fn size(columns: u16, rows: u16) -> PtySize {
    PtySize {
        rows,
        cols: columns,
        pixel_width: 0,
        pixel_height: 0,
    }
}

/// Rows and columns as what reads the terminal wants them.
fn parted(size: PtySize) -> (NonZero<u16>, NonZero<u16>) {
    let parts = NonZero::new(size.rows).zip(NonZero::new(size.cols));
    parts.unwrap()
}

/// A program in a terminal of its own.
struct Session {
    master: Box<dyn MasterPty + Send>,
    child: Running,
    keys: Box<dyn Write + Send>,
    shown: Arc<Mutex<Shown>>,
    reader: JoinHandle<()>,
    before: String,
}

/// What was written, and how a terminal shows it.
struct Shown {
    parser: vt100::Parser,
    bytes: Vec<u8>,
    /// Nothing is read any more once this is set, beginning with the next block.
    closed: bool,
}

impl Shown {
    /// No frame is half written.
    fn whole(&self) -> bool {
        let written = String::from_utf8_lossy(&self.bytes);
        let [begun, ended] = FRAME.map(|mark| written.rfind(mark));
        ended > begun
    }

    /// Lines without the blanks at their ends, which may be cells never written or cells painted over.
    fn text(&self) -> String {
        let text = self.parser.screen().contents();
        let lines: Vec<_> = text.lines().map(str::trim_end).collect();
        lines.join("\n").trim_end().to_owned()
    }
}

impl Session {
    fn start(mut command: CommandBuilder, size: PtySize, env: &[(&str, &str)]) -> Self {
        let pty = native_pty_system().openpty(size).unwrap();
        let (rows, columns) = parted(size);
        // Without a folder of its own the program would be started in the home folder, if there is one.
        command.cwd(env!("CARGO_MANIFEST_DIR"));
        command.env_clear();
        command.env("TERM", "xterm-256color");
        command.env("LANG", "C.UTF-8");
        for (name, value) in env {
            command.env(name, value);
        }
        let before = format!("{:?}", pty.master.get_termios());
        let child = pty.slave.spawn_command(command).unwrap();
        let shown = Arc::new(Mutex::new(Shown {
            parser: vt100::Parser::new(rows, columns, 0),
            bytes: Vec::new(),
            closed: false,
        }));
        let mut reader = pty.master.try_clone_reader().unwrap();
        let keys = pty.master.take_writer().unwrap();
        let written = Arc::clone(&shown);
        let reader = std::thread::spawn(move || {
            let mut block = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut block) {
                let mut shown = written.lock().unwrap();
                shown.parser.process(&block[..count]);
                shown.bytes.extend_from_slice(&block[..count]);
                if shown.closed {
                    break;
                }
            }
        });
        Self {
            master: pty.master,
            child: Running(child),
            keys,
            shown,
            reader,
            before,
        }
    }

    /// The program with the example trip, its first frame drawn.
    fn program(env: &[(&str, &str)]) -> Self {
        Self::sized(USUAL, env)
    }

    fn sized(size: PtySize, env: &[(&str, &str)]) -> Self {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
        let root = env!("CARGO_MANIFEST_DIR");
        // Without samples the picture stands still once it is drawn.
        command.arg("--plain");
        command.arg(format!("{root}/tests/data/example-trip.json"));
        let session = Self::start(command, size, env);
        session.wait_for_frame("leg 1 of 6");
        session
    }

    fn text(&self) -> String {
        self.shown.lock().unwrap().text()
    }

    fn written(&self) -> usize {
        self.shown.lock().unwrap().bytes.len()
    }

    fn wait_for(&self, text: &str) {
        self.wait_until(text, |shown| shown.text().contains(text));
    }

    fn wait_until(&self, what: &str, holds: impl Fn(&Shown) -> bool) {
        let until = Instant::now() + PATIENCE;
        while !holds(&self.shown.lock().unwrap()) {
            assert!(Instant::now() < until, "no {what} in\n{}", self.text());
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Waits until a frame with that text has been written to its end.
    fn wait_for_frame(&self, text: &str) {
        self.wait_until(&format!("whole frame with {text}"), |shown| {
            shown.whole() && shown.text().contains(text)
        });
    }

    /// Gives the terminal, and what reads it, another size.
    fn resize(&self, size: PtySize) {
        let mut shown = self.shown.lock().unwrap();
        let (rows, columns) = parted(size);
        shown.parser.screen_mut().set_size(rows, columns);
        self.master.resize(size).unwrap();
    }

    fn send(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    fn signal(&self, name: &str) {
        let pid = self.child.0.process_id().unwrap().to_string();
        let kill = format!("kill -s {name} {pid}");
        let sent = Command::new("sh").args(["-c", &kill]).status().unwrap();
        assert!(sent.success());
    }

    /// Closes the terminal, as a window is closed. A key makes the program write, so that what reads it wakes up and
    /// lets go of the terminal too; that may be in the midst of a frame or some time after it.
    fn hang_up(mut self, key: &str, after: Duration) -> Running {
        self.shown.lock().unwrap().closed = true;
        self.send(key);
        self.reader.join().unwrap();
        std::thread::sleep(after);
        self.child
    }

    /// Waits for the end and gives the exit code.
    fn ended(&mut self) -> u32 {
        let code = self.child.ended();
        code.unwrap_or_else(|| panic!("still running\n{}", self.text()))
    }

    /// The terminal is as it was before.
    fn assert_given_back(&self) {
        // What was written last may still be on its way here.
        self.wait_until("first screen", |shown| {
            !shown.parser.screen().alternate_screen()
        });
        self.wait_until("cursor", |shown| !shown.parser.screen().hide_cursor());
        // Its modes are set back after what was written.
        let modes = || format!("{:?}", self.master.get_termios());
        self.wait_until("modes of before", |_| modes() == self.before);
        let shown = self.shown.lock().unwrap();
        let screen = shown.parser.screen();
        assert!(!screen.bracketed_paste());
        assert_eq!(screen.mouse_protocol_mode(), vt100::MouseProtocolMode::None);
        assert_eq!(modes(), self.before);
    }
}

/// A program that is left running by nobody, whatever a test found.
struct Running(Box<dyn Child + Send + Sync>);

impl Running {
    /// Waits for the end and gives the exit code; nothing when it does not come.
    fn ended(&mut self) -> Option<u32> {
        let until = Instant::now() + PATIENCE;
        while Instant::now() < until {
            if let Some(status) = self.0.try_wait().unwrap() {
                return Some(status.exit_code());
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        None
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        if let Ok(None) = self.0.try_wait() {
            let _ = self.0.kill();
        }
    }
}

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

#[test]
fn a_panic_gives_the_terminal_back_and_is_told_on_the_first_screen() {
    let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
    command.args([
        "--ignored",
        "--exact",
        "child_panics_on_the_screen",
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
fn a_paste_is_no_command() {
    let mut session = Session::program(&[]);
    session.send("\u{1b}[200~q\rq\n\u{1b}[201~l");
    session.wait_for("leg 2 of 6");
    session.send("q");
    assert_eq!(session.ended(), 0);
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
