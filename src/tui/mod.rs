//! The screen: its state, its keys, and how it is drawn.
//!
//! Key → [`keymap::lookup`] → [`message::Message`] → [`update::update`] → [`view::view`]. The state
//! is changed in `update` alone and drawn in `view` alone; only [`terminal`] and the loop here know
//! a terminal. A frame is drawn when something has changed, after all that was typed meanwhile.

pub mod beside;
pub(crate) mod chart;
mod edit;
pub(crate) mod editor;
mod files;
mod find;
pub(crate) mod fixes;
mod form;
mod ground;
pub(crate) mod help;
pub mod keymap;
mod leg_table;
pub mod line;
pub mod message;
pub mod opening;
pub mod outside;
mod paint;
pub mod picture;
pub(crate) mod planner;
mod prefix;
pub(crate) mod proposal;
pub mod sheet;
pub mod side_by_side;
mod signals;
pub(crate) mod simulator;
pub mod sliders;
pub mod start;
pub mod state;
pub mod terminal;
pub mod theme;
pub mod update;
pub mod view;
pub mod worker;

use std::io;
use std::sync::Arc;
use std::time::{Duration, Instant};

use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{
    self, Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers, MouseButton, MouseEvent,
    MouseEventKind,
};
use ratatui::layout::{Position, Rect};

use crate::model::vocabulary::UnitSystem;
use crate::plan::Plan;
use crate::platform::Platform;
use crate::present::number::Units;
use beside::Workers;
use files::Next;
use keymap::Layer;
use message::{Effect, Message};
use outside::{Opened, Outside, Shelf};
use start::{Outcome, Start};
use state::State;
use terminal::Screen;
use theme::{ColorChoice, Ground};
use update::update;

/// How long the loop sleeps when nothing is typed.
const REST: Duration = Duration::from_millis(250);
/// How long it sleeps while something is worked out beside it.
const GLANCE: Duration = Duration::from_millis(10);
/// How long what is typed is gathered before a frame is drawn.
const GATHER: Duration = Duration::from_millis(8);

/// How long it is waited for what was typed with what came before. Without any time nothing is looked at.
const MOMENT: Duration = Duration::from_millis(1);
/// How often it is looked whether somebody else changed the file.
const LOOK_AT_FILE: Duration = Duration::from_secs(1);
/// Letters that are typed after a longer pause begin another word.
const PAUSE: Duration = Duration::from_secs(1);
/// Most characters that are taken of a paste.
const LONGEST_PASTE: usize = 4000;

/// What the user chose about the screen.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Units of display.
    pub units: Units,
    /// When to use colour.
    pub color: ColorChoice,
    /// The ground that the colours are for; `None` to ask the terminal.
    pub ground: Option<Ground>,
    /// Draw with ASCII alone.
    pub ascii: bool,
    /// Take the mouse from the terminal.
    pub mouse: bool,
    /// Simulate the trip behind the screen and show its target plan.
    pub simulated: bool,
}

impl Options {
    /// Colour unless the environment forbids it, every character, and the mouse.
    pub const fn of(units: Units) -> Self {
        Self {
            units,
            color: ColorChoice::Auto,
            ground: None,
            ascii: false,
            mouse: true,
            simulated: true,
        }
    }
}

/// Shows a trip until the user quits. The terminal is given back on every way out.
///
/// # Errors
/// When standard output is no terminal, or the terminal goes away.
pub fn run(opened: Opened, outside: &mut dyn Outside, options: Options) -> io::Result<()> {
    let look = view::Look::of(options);
    let mut screen = entered(options, options.mouse)?;
    let (units, trip) = (options.units, Arc::clone(&opened.trip));
    let first = opening::first_picture(&trip, &mut screen, look, units, planner::planned);
    let done = match first {
        Ok(Some(picture)) => {
            let mut state = State::open(opened, &picture, units)
                .with_mouse(options.mouse)
                .with_map_files(outside.map_files())
                .with_simulation(options.simulated);
            let done = follow(&mut state, &mut screen, outside, look);
            state.leave(outside);
            done
        }
        // What was written down stays, to be offered the next time.
        left => left.map(drop),
    };
    if done.is_err() {
        terminal::end_if_gone();
    }
    done
}

/// What the screen shows of a plan first, as text; with the colours of the palette if they are always wanted.
pub(crate) fn shown(plan: Plan, options: Options, [columns, rows]: [u16; 2]) -> String {
    let coloured = options.color == ColorChoice::Always;
    let color = match options.color {
        ColorChoice::Always => ColorChoice::Always,
        ColorChoice::Auto | ColorChoice::Never => ColorChoice::Never,
    };
    let look = view::Look::of(Options { color, ..options });
    let mut state = State::new(plan, options.units);
    let area = Rect::new(0, 0, columns, rows);
    state.seen_in(area);
    let mut buf = Buffer::empty(area);
    view::view(&state, look, area, &mut buf);
    if coloured {
        paint::text(&buf)
    } else {
        paint::plain_text(&buf)
    }
}

/// Takes the terminal and asks for its ground where that is not chosen. A console of Windows is not asked: its answer would
/// come as keys that cannot be distinguished from typed ones.
fn entered(options: Options, mouse: bool) -> io::Result<Screen> {
    let mut screen = Screen::enter(mouse)?;
    let answers = Platform::HERE == Platform::Unix;
    if answers && options.ground.is_none() && view::Look::of(options).is_coloured() {
        screen.ask_for_ground()?;
    }
    Ok(screen)
}

/// Lets the user choose, make or import a trip; `None` if there is to be none. The terminal is given back.
///
/// # Errors
/// As [`run`].
pub(crate) fn choose(
    shelf: &mut dyn Shelf,
    units: Option<UnitSystem>,
    options: Options,
) -> io::Result<Option<Opened>> {
    let look = view::Look::of(options);
    let mut screen = entered(options, false)?;
    let mut start = Start::new(shelf, units);
    let chosen = choose_on(&mut start, &mut screen, shelf, look);
    if chosen.is_err() {
        terminal::end_if_gone();
    }
    chosen
}

fn choose_on(
    start: &mut Start,
    screen: &mut Screen,
    shelf: &mut dyn Shelf,
    look: view::Look,
) -> io::Result<Option<Opened>> {
    loop {
        let look = look.on(screen.ground());
        screen.draw(|area, buf| view::start::render(start, look, area, buf))?;
        let since = Instant::now();
        while !event::poll(REST)? && !terminal::is_stale() {
            if since.elapsed() > PAUSE {
                start.choose_anew();
            }
        }
        if !event::poll(MOMENT)? {
            continue;
        }
        for event in coalesce(screen.heard(gather()?), Platform::HERE) {
            for message in layer_meanings(start.layer(), &event) {
                let outcome = match message {
                    Message::Suspend => {
                        screen.suspend()?;
                        continue;
                    }
                    Message::Repaint => {
                        terminal::repaint();
                        continue;
                    }
                    // What is opened may be long, or a pipe that nobody writes to.
                    Message::Enter => screen.interruptible(|| start.update(message, shelf))?,
                    message => start.update(message, shelf),
                };
                match outcome {
                    Outcome::On => {}
                    Outcome::Opened(opened) => return Ok(Some(*opened)),
                    Outcome::Quit => return Ok(None),
                }
            }
        }
    }
}

/// The intentions behind an event in a layer in which the mouse means nothing.
pub(crate) fn layer_meanings(layer: Layer, event: &Event) -> Vec<Message> {
    match event {
        Event::Paste(text) if layer == Layer::Typing => typed(text),
        Event::Key(key) => keymap::lookup(layer, *key).into_iter().collect(),
        _ => Vec::new(),
    }
}

/// A paste as what is typed.
fn typed(text: &str) -> Vec<Message> {
    text.chars()
        .take(LONGEST_PASTE)
        .map(Message::Type)
        .collect()
}

/// Draws, and does what is typed, until the user quits.
fn follow(
    state: &mut State,
    screen: &mut Screen,
    outside: &mut dyn Outside,
    look: view::Look,
) -> io::Result<()> {
    let mut dirty = true;
    let mut looked = Instant::now();
    let mut last_typed = Instant::now();
    let mut workers = Workers::start(state, outside.proposer());
    loop {
        if dirty || terminal::is_stale() {
            workers.before_frame(state);
            state.seen_in(screen.area()?);
            let look = look.on(screen.ground());
            screen.draw(|area, buf| view::view(state, look, area, buf))?;
        }
        dirty = workers.serve(state);
        if dirty {
            continue;
        }
        let busy = workers.is_busy();
        let typed = event::poll(if busy { GLANCE } else { REST })?;
        if looked.elapsed() > LOOK_AT_FILE {
            dirty |= state.look_outside(outside);
            looked = Instant::now();
        }
        if !typed {
            if last_typed.elapsed() > PAUSE {
                update(state, Message::Pause);
            }
            continue;
        }
        last_typed = Instant::now();
        let area = screen.area()?;
        for event in coalesce(screen.heard(gather()?), Platform::HERE) {
            dirty |= matches!(event, Event::Resize(..));
            for message in meanings(state, area, &event) {
                dirty = true;
                match update(state, message) {
                    Some(Effect::Quit) => {
                        // Anyone who quits without saving was asked; what was offered and not decided on is offered again.
                        if !state.is_offered() {
                            outside.forget();
                        }
                        return Ok(());
                    }
                    Some(Effect::Leave) => {
                        state.write_down(outside);
                        return Ok(());
                    }
                    Some(Effect::Suspend) => screen.suspend()?,
                    Some(Effect::Repaint) => terminal::repaint(),
                    Some(Effect::CaptureMouse(capture)) => screen.capture_mouse(capture)?,
                    Some(effect) if state.perform(effect, outside) == Next::End => return Ok(()),
                    _ => {}
                }
                state.write_down(outside);
            }
        }
    }
}

/// What has been typed by now, at least one event.
fn gather() -> io::Result<Vec<Event>> {
    let until = Instant::now() + GATHER;
    let mut events = vec![event::read()?];
    while Instant::now() < until && event::poll(MOMENT)? {
        events.push(event::read()?);
    }
    Ok(events)
}

/// The key events that a terminal sent as one with Alt. Those of a shell's line editing move and delete words as Ctrl does.
/// Any other is Esc and a key typed so fast that they came together; on Windows, where Esc comes by itself, it is nothing,
/// but with Ctrl it is the character that `AltGr` makes.
fn without_alt(event: Event, platform: Platform) -> Vec<Event> {
    let Event::Key(key) = event else {
        return vec![event];
    };
    if !key.modifiers.contains(KeyModifiers::ALT) {
        return vec![event];
    }
    let one = |code, held| Event::Key(KeyEvent::new(code, held));
    let rest = key.modifiers - KeyModifiers::ALT;
    match (key.code, platform) {
        (KeyCode::Char(_), Platform::Windows) if rest.contains(KeyModifiers::CONTROL) => {
            vec![one(key.code, rest - KeyModifiers::CONTROL)]
        }
        (KeyCode::Char('b'), _) => vec![one(KeyCode::Left, KeyModifiers::CONTROL)],
        (KeyCode::Char('f'), _) => vec![one(KeyCode::Right, KeyModifiers::CONTROL)],
        (KeyCode::Backspace, _) => vec![one(KeyCode::Char('w'), KeyModifiers::CONTROL)],
        (_, Platform::Windows) => Vec::new(),
        (code, Platform::Unix) => {
            vec![one(KeyCode::Esc, KeyModifiers::NONE), one(code, rest)]
        }
    }
}

/// The events without those that change nothing: keys that are let go, moves of the mouse, and all resizes but the last.
pub fn coalesce(events: Vec<Event>, platform: Platform) -> Vec<Event> {
    let last_resize = events
        .iter()
        .rposition(|event| matches!(event, Event::Resize(..)));
    events
        .into_iter()
        .enumerate()
        .filter(|(nth, event)| match event {
            Event::Resize(..) => Some(*nth) == last_resize,
            Event::Mouse(mouse) => !matches!(mouse.kind, MouseEventKind::Moved),
            Event::Key(key) => key.kind != KeyEventKind::Release,
            _ => true,
        })
        .flat_map(|(_, event)| without_alt(event, platform))
        .collect()
}

/// The intentions behind an event: of a paste, its characters where text is typed, and none elsewhere.
pub fn meanings(state: &State, area: Rect, event: &Event) -> Vec<Message> {
    match event {
        Event::Mouse(mouse) => of_mouse(state, area, *mouse).into_iter().collect(),
        event => layer_meanings(state.mode.into(), event),
    }
}

fn of_mouse(state: &State, area: Rect, mouse: MouseEvent) -> Option<Message> {
    let at = Position::new(mouse.column, mouse.row);
    match mouse.kind {
        MouseEventKind::Down(MouseButton::Left) => view::click(state, area, at),
        MouseEventKind::Drag(MouseButton::Left) => {
            view::click(state, area, at).filter(|message| matches!(message, Message::GoTo(_)))
        }
        MouseEventKind::ScrollDown => Some(view::wheel(state, area, at, true)),
        MouseEventKind::ScrollUp => Some(view::wheel(state, area, at, false)),
        _ => None,
    }
}
