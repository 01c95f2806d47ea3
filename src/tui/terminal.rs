//! Taking the terminal and giving it back, on every way out.
//!
//! Raw mode, the second screen, bracketed paste and the mouse are taken by [`Screen::enter`] and
//! given back by `leave`, which is called when a [`Screen`] is dropped, when its thread panics,
//! when a signal or a closed console ends the program (`signals`), and before the program is
//! stopped. Signals have a thread of their own, since a terminal that is gone can keep
//! the thread that reads keys busy for ever; another thread looks from time to time whether it is.

use std::io::{self, BufWriter, IsTerminal, Stdout, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, MutexGuard, Once, PoisonError, TryLockError};
use std::thread::{self, ThreadId};
use std::time::{Duration, Instant};

use ratatui::Terminal;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{
    DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture, Event,
};
use ratatui::crossterm::style::force_color_output;
use ratatui::crossterm::terminal::{
    EndSynchronizedUpdate, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode,
    enable_raw_mode,
};
use ratatui::crossterm::{cursor, execute, queue};
use ratatui::layout::{Position, Rect};

use super::ground::{self, Listener};
use super::paint::Painter;
use super::signals;
use super::theme::Ground;

/// How often it is looked whether the terminal is still there.
const WATCH: Duration = Duration::from_millis(500);
/// How long the way out waits for a frame that is being written.
const PATIENCE: Duration = Duration::from_millis(300);
/// A whole frame goes out in one write.
const FRAME_BYTES: usize = 64 * 1024;

/// Whether the terminal is taken. Anyone who turns it off gives the terminal back, so that this is
/// done once: leaving twice would move the cursor over what was printed in between.
static TAKEN: AtomicBool = AtomicBool::new(false);
/// Whether the mouse is taken with it.
static MOUSE: AtomicBool = AtomicBool::new(false);
/// Whether everything must be painted anew.
static STALE: AtomicBool = AtomicBool::new(false);
/// Held while something is written, so that nothing is written into a terminal that was given back.
static WRITING: Mutex<()> = Mutex::new(());
/// The thread that draws: its panic ends the program.
static DRAWER: Mutex<Option<ThreadId>> = Mutex::new(None);
/// The messages of other threads that panicked, kept until it writes over no picture any more.
static UNSAID: Mutex<Vec<String>> = Mutex::new(Vec::new());
/// Most panics of other threads that are reported.
const MOST_UNSAID: usize = 10;

/// The terminal while the program has it.
pub struct Screen {
    terminal: Terminal<Painter<BufWriter<Stdout>>>,
    listener: Listener,
    ground: Option<Ground>,
}

#[expect(
    clippy::unused_self,
    reason = "only the holder of the terminal may change how it works"
)]
impl Screen {
    /// Takes the terminal.
    ///
    /// # Errors
    /// When there is no terminal, or it refuses.
    pub fn enter(mouse: bool) -> io::Result<Self> {
        if !io::stdout().is_terminal() {
            return Err(io::Error::new(
                io::ErrorKind::Unsupported,
                "standard output must be a terminal",
            ));
        }
        // NO_COLOR is read by the theme. Left to crossterm, it would take bold and reversed too.
        force_color_output(true);
        watch_once()?;
        *lock(&DRAWER) = Some(thread::current().id());
        MOUSE.store(mouse, Ordering::SeqCst);
        {
            let _writing = lock(&WRITING);
            take()?;
        }
        let backend = Painter::new(BufWriter::with_capacity(FRAME_BYTES, io::stdout()));
        match Terminal::new(backend) {
            Ok(terminal) => Ok(Self {
                terminal,
                listener: Listener::default(),
                ground: None,
            }),
            Err(error) => {
                leave();
                Err(error)
            }
        }
    }

    /// Draws one frame; `paint` gets the whole area, which may have any size, and returns the position of the cursor.
    ///
    /// # Errors
    /// When the terminal is gone.
    pub fn draw(
        &mut self,
        paint: impl FnOnce(Rect, &mut Buffer) -> Option<Position>,
    ) -> io::Result<()> {
        let _writing = lock(&WRITING);
        if !TAKEN.load(Ordering::SeqCst) {
            return Ok(());
        }
        if STALE.swap(false, Ordering::Relaxed) {
            // `Terminal::clear` would ask the terminal where its cursor is, and wait for the answer.
            self.terminal.swap_buffers();
            let size = self.terminal.size()?;
            self.terminal
                .resize(Rect::new(0, 0, size.width, size.height))?;
        }
        self.terminal.draw(|frame| {
            if let Some(cursor) = paint(frame.area(), frame.buffer_mut()) {
                frame.set_cursor_position(cursor);
            }
        })?;
        Ok(())
    }

    /// Asks the terminal for its ground; the answer comes among the events.
    ///
    /// # Errors
    /// When the terminal is gone.
    pub(crate) fn ask_for_ground(&mut self) -> io::Result<()> {
        let _writing = lock(&WRITING);
        self.listener = Listener::since(Instant::now());
        let mut out = io::stdout();
        out.write_all(ground::ASK.as_bytes())?;
        out.flush()
    }

    /// The ground of the terminal, once it has answered.
    pub(crate) const fn ground(&self) -> Option<Ground> {
        self.ground
    }

    /// The events without the terminal's answers.
    pub(crate) fn heard(&mut self, events: Vec<Event>) -> Vec<Event> {
        let (events, ground) = self.listener.filter(events);
        if ground.is_some() {
            self.ground = ground;
            repaint();
        }
        events
    }

    /// Size of the terminal, for clicks.
    ///
    /// # Errors
    /// When the terminal is gone.
    pub(crate) fn area(&self) -> io::Result<Rect> {
        let size = self.terminal.size()?;
        Ok(Rect::new(0, 0, size.width, size.height))
    }

    /// Does something that may take long: Ctrl-C ends the program meanwhile, as it does outside of the screen.
    ///
    /// # Errors
    /// When the terminal is gone.
    pub(crate) fn interruptible<T>(&mut self, work: impl FnOnce() -> T) -> io::Result<T> {
        disable_raw_mode()?;
        let done = work();
        enable_raw_mode()?;
        // What was typed meanwhile may be on the screen.
        repaint();
        Ok(done)
    }

    /// Takes the mouse, or lets the terminal have it.
    ///
    /// # Errors
    /// When the terminal is gone.
    pub(crate) fn capture_mouse(&mut self, capture: bool) -> io::Result<()> {
        let _writing = lock(&WRITING);
        MOUSE.store(capture, Ordering::SeqCst);
        if capture {
            execute!(io::stdout(), EnableMouseCapture)
        } else {
            execute!(io::stdout(), DisableMouseCapture)
        }
    }

    /// Stops the program as Ctrl-Z does; returns when it is called back.
    ///
    /// # Errors
    /// When the terminal does not come back.
    pub(crate) fn suspend(&mut self) -> io::Result<()> {
        suspend()
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        leave();
    }
}

/// Asks for everything to be painted anew with the next frame.
pub(crate) fn repaint() {
    STALE.store(true, Ordering::Relaxed);
}

/// Whether everything is to be painted anew.
pub fn is_stale() -> bool {
    STALE.load(Ordering::Relaxed)
}

/// Gives the terminal back, if it was taken. Errors are of no use here: there is nobody to show them to.
pub(crate) fn leave() {
    // A frame that is being written may never end, when the terminal takes nothing any more.
    let deadline = Instant::now() + PATIENCE;
    let _writing = loop {
        match WRITING.try_lock() {
            Ok(writing) => break Some(writing),
            Err(TryLockError::Poisoned(writing)) => break Some(writing.into_inner()),
            Err(TryLockError::WouldBlock) if Instant::now() > deadline => break None,
            Err(TryLockError::WouldBlock) => thread::sleep(Duration::from_millis(5)),
        }
    };
    if TAKEN.swap(false, Ordering::SeqCst) {
        give_back();
    }
}

/// Ends the program as a hangup does, when its terminal is gone: there is nobody left to be shown, and whatever would
/// report them (what `Terminal` prints when it is dropped, for one) fails too.
pub(crate) fn end_if_gone() {
    if !io::stdout().is_terminal() {
        std::process::exit(signals::HUNG_UP);
    }
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Takes the terminal; `WRITING` is held.
fn take() -> io::Result<()> {
    enable_raw_mode()?;
    TAKEN.store(true, Ordering::SeqCst);
    let mut out = io::stdout();
    queue!(
        out,
        EnterAlternateScreen,
        EnableBracketedPaste,
        cursor::Hide
    )?;
    if MOUSE.load(Ordering::SeqCst) {
        queue!(out, EnableMouseCapture)?;
    }
    out.flush()?;
    repaint();
    Ok(())
}

fn give_back() {
    let mut out = io::stdout();
    // By itself: Windows refuses to let go of a mouse that was never taken.
    let _ = execute!(out, EndSynchronizedUpdate, DisableMouseCapture);
    let _ = execute!(
        out,
        DisableBracketedPaste,
        LeaveAlternateScreen,
        cursor::Show
    );
    let _ = disable_raw_mode();
    for message in lock(&UNSAID).drain(..) {
        // Where stderr is gone nobody is left to be shown.
        let _ = writeln!(io::stderr(), "drystage: a thread {message}");
    }
}

/// Gives the terminal back, stops the program, and takes the terminal again when it goes on.
fn suspend() -> io::Result<()> {
    let _writing = lock(&WRITING);
    let was_taken = TAKEN.swap(false, Ordering::SeqCst);
    if was_taken {
        give_back();
    }
    signals::stop()?;
    if was_taken {
        take()?;
    }
    Ok(())
}

/// Starts what watches over the terminal, once in the life of the program.
fn watch_once() -> io::Result<()> {
    static ONCE: Once = Once::new();
    let mut result = Ok(());
    ONCE.call_once(|| result = watch());
    result
}

fn watch() -> io::Result<()> {
    let before = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        if *lock(&DRAWER) == Some(thread::current().id()) {
            // The frame that this thread was writing, if any, will not go on: nothing to wait for.
            if TAKEN.swap(false, Ordering::SeqCst) {
                give_back();
            }
        } else if TAKEN.load(Ordering::SeqCst) {
            // Another thread's panic ends that thread, not the screen.
            let mut unsaid = lock(&UNSAID);
            if unsaid.len() < MOST_UNSAID {
                unsaid.push(panic.to_string());
            }
            return;
        }
        before(panic);
    }));
    let end = |status| {
        leave();
        std::process::exit(status);
    };
    // Stopped from outside: the same as Ctrl-Z.
    signals::watch(end, || drop(suspend()), || drop(come_back()))?;
    thread::Builder::new().name("hangup".to_owned()).spawn(|| {
        loop {
            end_if_gone();
            thread::sleep(WATCH);
        }
    })?;
    Ok(())
}

/// The program goes on after a stop that it could not prepare for: the shell has set the terminal
/// to its own modes.
fn come_back() -> io::Result<()> {
    let _writing = lock(&WRITING);
    if TAKEN.load(Ordering::SeqCst) {
        disable_raw_mode()?;
        take()?;
    }
    Ok(())
}
