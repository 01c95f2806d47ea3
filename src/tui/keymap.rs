//! The one table of keys. Footer, help and the key handling all come from it.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use super::message::Message;
use super::state::Mode;

/// The kinds of [`Mode`], for the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layer {
    /// The strip and its panels.
    Browse,
    /// The list of keys.
    Help,
}

impl From<Mode> for Layer {
    fn from(mode: Mode) -> Self {
        match mode {
            Mode::Browse => Self::Browse,
            Mode::Help { .. } => Self::Help,
        }
    }
}

/// A heading of the help.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Moving along the way.
    Way,
    /// How much of the way is shown.
    Zoom,
    /// The panels under the strip.
    Panels,
    /// The program itself.
    Program,
}

impl Group {
    /// Every heading, in order.
    pub const ALL: [Self; 4] = [Self::Way, Self::Zoom, Self::Panels, Self::Program];

    /// The heading.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Way => "along the way",
            Self::Zoom => "how much of it",
            Self::Panels => "panels",
            Self::Program => "program",
        }
    }
}

/// A key with what is held down beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// The key.
    pub code: KeyCode,
    /// Whether Ctrl is held.
    pub ctrl: bool,
}

impl Key {
    /// How it is written: `Ctrl-L`, `PgUp`, `→`.
    pub fn name(self) -> String {
        let name = match self.code {
            KeyCode::Left => "←".to_owned(),
            KeyCode::Right => "→".to_owned(),
            KeyCode::Up => "↑".to_owned(),
            KeyCode::Down => "↓".to_owned(),
            KeyCode::PageUp => "PgUp".to_owned(),
            KeyCode::PageDown => "PgDn".to_owned(),
            KeyCode::BackTab => "Shift-Tab".to_owned(),
            KeyCode::F(n) => format!("F{n}"),
            KeyCode::Char(c) if self.ctrl => c.to_uppercase().to_string(),
            KeyCode::Char(c) => c.to_string(),
            other => other.to_string(),
        };
        if self.ctrl {
            format!("Ctrl-{name}")
        } else {
            name
        }
    }
}

/// One line of the table.
#[derive(Clone, Copy, Debug)]
pub struct Binding {
    /// Where it holds.
    pub layers: &'static [Layer],
    /// The keys, the one to tell first.
    pub keys: &'static [Key],
    /// What they mean.
    pub message: Message,
    /// What they do, for the help.
    pub label: &'static str,
    /// The same in a word, for the footer; nothing where the footer does not tell it.
    pub short: Option<&'static str>,
    /// The heading under which the help lists it.
    pub group: Group,
}

const BROWSE: &[Layer] = &[Layer::Browse];
const HELP: &[Layer] = &[Layer::Help];
const BOTH: &[Layer] = &[Layer::Browse, Layer::Help];

const fn key(code: KeyCode) -> Key {
    Key { code, ctrl: false }
}

const fn char(c: char) -> Key {
    key(KeyCode::Char(c))
}

const fn ctrl(c: char) -> Key {
    Key {
        code: KeyCode::Char(c),
        ctrl: true,
    }
}

macro_rules! bindings {
    ($($layers:ident [$($key:expr),+] $message:ident $label:literal $short:expr, $group:ident;)+) => {
        /// Every key.
        pub const BINDINGS: &[Binding] = &[$(Binding {
            layers: $layers,
            keys: &[$($key),+],
            message: Message::$message,
            label: $label,
            short: $short,
            group: Group::$group,
        }),+];
    };
}

bindings! {
    BROWSE [key(KeyCode::Left), char('h')] PreviousLeg "the leg before" None, Way;
    BROWSE [key(KeyCode::Right), char('l')] NextLeg "the next leg" Some("leg"), Way;
    BROWSE [key(KeyCode::Home), char('g')] TripStart "start of the trip" None, Way;
    BROWSE [key(KeyCode::End), char('G')] TripEnd "end of the trip" None, Way;
    BOTH [key(KeyCode::PageUp), char('b')] PageBack "back by what is shown" None, Way;
    BOTH [key(KeyCode::PageDown), char(' ')] PageOn "on by what is shown" None, Way;
    BROWSE [char(',')] StepBack "a little back" None, Way;
    BROWSE [char('.')] StepOn "a little on" None, Way;
    BROWSE [char('N'), char('p')] PreviousMark "the mark before: pour, turn back, below reserve" None, Way;
    BROWSE [char('n')] NextMark "the next mark" Some("mark"), Way;
    BROWSE [char('+'), char('='), char('i')] ZoomIn "fewer kilometres" Some("closer"), Zoom;
    BROWSE [char('-'), char('o')] ZoomOut "more kilometres" Some("wider"), Zoom;
    BROWSE [char('z'), key(KeyCode::Enter)] ZoomLeg "the chosen leg alone" None, Zoom;
    BROWSE [char('0'), char('a')] ZoomTrip "the whole trip" None, Zoom;
    BROWSE [key(KeyCode::Tab)] NextPanel "the next panel" Some("panel"), Panels;
    BROWSE [key(KeyCode::BackTab)] PreviousPanel "the panel before" None, Panels;
    BOTH [key(KeyCode::Up), char('k')] ScrollUp "scroll up" None, Panels;
    BOTH [key(KeyCode::Down), char('j')] ScrollDown "scroll down" None, Panels;
    BROWSE [char('m')] ToggleMouse "leave the mouse to the terminal, or take it" None, Program;
    BOTH [ctrl('l')] Repaint "paint the screen anew" None, Program;
    BOTH [ctrl('z')] Suspend "back to the shell; fg returns" None, Program;
    BOTH [char('?'), key(KeyCode::F(1))] Help "this list, or back" Some("keys"), Program;
    BOTH [key(KeyCode::Esc)] Close "close what is in front" Some("back"), Program;
    HELP [char('q')] Close "close this list" None, Program;
    BROWSE [char('q')] Quit "quit" Some("quit"), Program;
    BOTH [ctrl('c')] Quit "quit" None, Program;
}

/// The message of a key, if it has one here. Releases mean nothing; repeats count.
pub fn lookup(mode: Mode, event: KeyEvent) -> Option<Message> {
    if event.kind == KeyEventKind::Release {
        return None;
    }
    // Shift is in the character already, and what else is held makes another key.
    let held = event.modifiers - KeyModifiers::SHIFT;
    let ctrl = held == KeyModifiers::CONTROL;
    if !(held.is_empty() || ctrl) {
        return None;
    }
    let pressed = Key {
        code: event.code,
        ctrl,
    };
    BINDINGS
        .iter()
        .find(|binding| binding.layers.contains(&mode.into()) && binding.keys.contains(&pressed))
        .map(|binding| binding.message)
}
