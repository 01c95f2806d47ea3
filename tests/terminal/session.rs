//! A program in a pseudo-terminal, read as a terminal reads it.

use std::io::{Read, Write};
use std::num::NonZero;
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

/// How long anything may take on a busy machine.
pub const PATIENCE: Duration = Duration::from_secs(60);

/// How long nothing may be written, to count as idle.
pub const IDLE: Duration = Duration::from_secs(2);

/// The marks around a frame, which a terminal shows at once: a synchronised update.
pub const FRAME: [&str; 2] = ["\u{1b}[?2026h", "\u{1b}[?2026l"];

/// A terminal as it was always.
pub const USUAL: PtySize = size(80, 24);

pub const fn size(columns: u16, rows: u16) -> PtySize {
    PtySize {
        rows,
        cols: columns,
        pixel_width: 0,
        pixel_height: 0,
    }
}

/// Rows and columns as what reads the terminal wants them.
pub fn parted(size: PtySize) -> (NonZero<u16>, NonZero<u16>) {
    let parts = NonZero::new(size.rows).zip(NonZero::new(size.cols));
    parts.unwrap()
}

/// A program in a terminal of its own.
pub struct Session {
    pub master: Box<dyn MasterPty + Send>,
    pub child: Running,
    pub keys: Box<dyn Write + Send>,
    pub shown: Arc<Mutex<Shown>>,
    pub reader: JoinHandle<()>,
    pub before: String,
}

/// What was written, and how a terminal shows it.
pub struct Shown {
    pub parser: vt100::Parser,
    pub bytes: Vec<u8>,
    /// Nothing is read any more once this is set, beginning with the next block.
    pub closed: bool,
}

impl Shown {
    /// No frame is half written.
    pub fn whole(&self) -> bool {
        let written = String::from_utf8_lossy(&self.bytes);
        let [begun, ended] = FRAME.map(|mark| written.rfind(mark));
        ended > begun
    }

    /// Lines without the blanks at their ends, which may be cells never written or cells painted over.
    pub fn text(&self) -> String {
        let text = self.parser.screen().contents();
        let lines: Vec<_> = text.lines().map(str::trim_end).collect();
        lines.join("\n").trim_end().to_owned()
    }
}

impl Session {
    pub fn start(mut command: CommandBuilder, size: PtySize, env: &[(&str, &str)]) -> Self {
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
    pub fn program(env: &[(&str, &str)]) -> Self {
        Self::sized(USUAL, env)
    }

    pub fn sized(size: PtySize, env: &[(&str, &str)]) -> Self {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_drystage"));
        let root = env!("CARGO_MANIFEST_DIR");
        // Without simulation the picture stands still once it is drawn.
        command.arg("--best-estimate");
        command.arg(format!("{root}/tests/data/example-trip.json"));
        let session = Self::start(command, size, env);
        session.wait_for_frame("leg 1 of 6");
        session
    }

    pub fn text(&self) -> String {
        self.shown.lock().unwrap().text()
    }

    pub fn written(&self) -> usize {
        self.shown.lock().unwrap().bytes.len()
    }

    pub fn wait_for(&self, text: &str) {
        self.wait_until(text, |shown| shown.text().contains(text));
    }

    pub fn wait_until(&self, what: &str, holds: impl Fn(&Shown) -> bool) {
        let until = Instant::now() + PATIENCE;
        while !holds(&self.shown.lock().unwrap()) {
            assert!(Instant::now() < until, "no {what} in\n{}", self.text());
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// Waits until a frame with that text has been written to its end.
    pub fn wait_for_frame(&self, text: &str) {
        self.wait_until(&format!("whole frame with {text}"), |shown| {
            shown.whole() && shown.text().contains(text)
        });
    }

    /// Gives the terminal, and what reads it, another size.
    pub fn resize(&self, size: PtySize) {
        let mut shown = self.shown.lock().unwrap();
        let (rows, columns) = parted(size);
        shown.parser.screen_mut().set_size(rows, columns);
        self.master.resize(size).unwrap();
    }

    pub fn send(&mut self, keys: &str) {
        self.keys.write_all(keys.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    /// The time of the processor that the threads of the program have used, where the system tells that to the
    /// nanosecond (Linux, proc(5) and sched-stats).
    pub fn time_used(&self) -> Option<Duration> {
        let pid = self.child.0.process_id()?;
        let threads = std::fs::read_dir(format!("/proc/{pid}/task")).ok()?;
        let mut used = Duration::ZERO;
        for thread in threads {
            let text = std::fs::read_to_string(thread.ok()?.path().join("schedstat")).ok()?;
            used += Duration::from_nanos(text.split_whitespace().next()?.parse().ok()?);
        }
        Some(used)
    }

    /// How often its threads went to sleep of themselves.
    pub fn times_woken(&self) -> Option<u64> {
        let pid = self.child.0.process_id()?;
        let threads = std::fs::read_dir(format!("/proc/{pid}/task")).ok()?;
        let mut times = 0;
        for thread in threads {
            let text = std::fs::read_to_string(thread.ok()?.path().join("status")).ok()?;
            let switches = text
                .lines()
                .find_map(|line| line.strip_prefix("voluntary_ctxt_switches:"))?;
            times += switches.trim().parse::<u64>().ok()?;
        }
        Some(times)
    }

    pub fn signal(&self, name: &str) {
        let pid = self.child.0.process_id().unwrap().to_string();
        let kill = format!("kill -s {name} {pid}");
        let sent = Command::new("sh").args(["-c", &kill]).status().unwrap();
        assert!(sent.success());
    }

    /// Closes the terminal, as a window is closed. A key makes the program write, so that what reads it wakes up and
    /// lets go of the terminal too; that may be in the midst of a frame or some time after it.
    pub fn hang_up(mut self, key: &str, after: Duration) -> Running {
        self.shown.lock().unwrap().closed = true;
        self.send(key);
        self.reader.join().unwrap();
        std::thread::sleep(after);
        self.child
    }

    /// Waits for the end and gives the exit code.
    pub fn ended(&mut self) -> u32 {
        let code = self.child.ended();
        code.unwrap_or_else(|| panic!("still running\n{}", self.text()))
    }

    /// The terminal is as it was before.
    pub fn assert_given_back(&self) {
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
pub struct Running(pub Box<dyn Child + Send + Sync>);

impl Running {
    /// Waits for the end and gives the exit code; nothing when it does not come.
    pub fn ended(&mut self) -> Option<u32> {
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
