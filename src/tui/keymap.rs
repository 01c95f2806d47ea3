//! The one table of keys. Footer, help and the key handling all come from it.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use super::line::Reach;
use super::message::Message;
use super::state::Mode;

/// The kinds of [`Mode`], for the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layer {
    /// The strip and its panels.
    Browse,
    /// The list of keys.
    Help,
    /// The fields of a subject.
    Sheet,
    /// Where text is typed.
    Typing,
    /// A question for yes or no.
    Ask,
    /// The dials.
    Dials,
    /// What-ifs side by side.
    Table,
    /// Before there is a trip.
    Start,
    /// Before there is a plan.
    Opening,
}

impl From<Mode> for Layer {
    fn from(mode: Mode) -> Self {
        match mode {
            Mode::Browse => Self::Browse,
            Mode::Help => Self::Help,
            Mode::Sheet => Self::Sheet,
            Mode::Field | Mode::Prompt | Mode::FindHelp => Self::Typing,
            Mode::Ask(_) => Self::Ask,
            Mode::Dials => Self::Dials,
            Mode::SideBySide => Self::Table,
        }
    }
}

/// A heading of the help.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "`title` says what each is")]
pub enum Group {
    Way,
    Zoom,
    Panels,
    Trip,
    Dials,
    Sheet,
    Typing,
    Program,
}

impl Group {
    /// Every heading, in order.
    pub const ALL: [Self; 8] = [
        Self::Way,
        Self::Zoom,
        Self::Panels,
        Self::Trip,
        Self::Dials,
        Self::Sheet,
        Self::Typing,
        Self::Program,
    ];

    /// The heading.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Way => "along the way",
            Self::Zoom => "how much of it",
            Self::Panels => "panels",
            Self::Trip => "the trip and its file",
            Self::Dials => "what if",
            Self::Sheet => "while fields are shown",
            Self::Typing => "while a value is typed",
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
const SHUT: &[Layer] = &[Layer::Help, Layer::Sheet, Layer::Dials, Layer::Table];
const HELP: &[Layer] = &[Layer::Help];
const DIALS: &[Layer] = &[Layer::Dials];
const EVERY: &[Layer] = &[Layer::Browse, Layer::Sheet, Layer::Dials, Layer::Table];
const SCROLLED: &[Layer] = &[
    Layer::Browse,
    Layer::Sheet,
    Layer::Dials,
    Layer::Table,
    Layer::Opening,
];
const FROM: &[Layer] = &[Layer::Browse, Layer::Table];
const SHEET: &[Layer] = &[Layer::Sheet];
const TYPING: &[Layer] = &[Layer::Typing];
const ASK: &[Layer] = &[Layer::Ask];
const TRIP: &[Layer] = &[Layer::Browse, Layer::Sheet];
const LISTS: &[Layer] = &[
    Layer::Browse,
    Layer::Help,
    Layer::Sheet,
    Layer::Dials,
    Layer::Table,
    Layer::Start,
    Layer::Opening,
];
const ALL: &[Layer] = &[
    Layer::Browse,
    Layer::Help,
    Layer::Sheet,
    Layer::Typing,
    Layer::Ask,
    Layer::Dials,
    Layer::Table,
    Layer::Start,
    Layer::Opening,
];
const START: &[Layer] = &[Layer::Start];
const LEAVE: &[Layer] = &[Layer::Browse, Layer::Start, Layer::Opening];

const fn key(code: KeyCode) -> Key {
    Key { code, ctrl: false }
}

const fn char(c: char) -> Key {
    key(KeyCode::Char(c))
}

const fn ctrl(c: char) -> Key {
    held(KeyCode::Char(c))
}

const fn held(code: KeyCode) -> Key {
    Key { code, ctrl: true }
}

macro_rules! bindings {
    ($($layers:ident [$($key:expr),+] $message:ident $(($reach:ident))? $label:literal $short:expr, $group:ident;)+) => {
        /// Every key.
        pub const BINDINGS: &[Binding] = &[$(Binding {
            layers: $layers,
            keys: &[$($key),+],
            message: Message::$message $((Reach::$reach))?,
            label: $label,
            short: $short,
            group: Group::$group,
        }),+];
    };
}

bindings! {
    TRIP [key(KeyCode::Left), char('h')] PreviousLeg "the leg before" None, Way;
    TRIP [key(KeyCode::Right), char('l')] NextLeg "the next leg" Some("leg"), Way;
    LISTS [key(KeyCode::Home), char('g')] TripStart "start of the trip, top of a list" None, Way;
    LISTS [key(KeyCode::End), char('G')] TripEnd "end of the trip, foot of a list" None, Way;
    LISTS [key(KeyCode::PageUp), char('b')] PageBack "back by what is shown" None, Way;
    LISTS [key(KeyCode::PageDown), char(' ')] PageOn "on by what is shown" None, Way;
    BROWSE [char(',')] StepBack "a little back" None, Way;
    BROWSE [char('.')] StepOn "a little on" None, Way;
    BROWSE [char('N'), char('p')] PreviousMark "the mark before; after / both go to what was found" None, Way;
    BROWSE [char('n')] NextMark "the next mark: pour, turn back, below reserve" None, Way;
    BROWSE [char('+'), char('='), char('i')] ZoomIn "fewer kilometres" None, Zoom;
    BROWSE [char('-'), char('o')] ZoomOut "more kilometres" None, Zoom;
    BROWSE [char('z')] ZoomLeg "the chosen leg alone" None, Zoom;
    BROWSE [char('0'), char('a')] ZoomTrip "the whole trip" None, Zoom;
    BROWSE [char('/')] Find "find a place by a part of its name" None, Way;
    BROWSE [key(KeyCode::Enter)] Look "go to the chosen finding, else the chosen leg alone" Some("go there"), Panels;
    BROWSE [key(KeyCode::Tab)] NextPanel "the next panel" Some("panel"), Panels;
    BROWSE [key(KeyCode::BackTab)] PreviousPanel "the panel before" None, Panels;
    SCROLLED [key(KeyCode::Up), char('k')] ScrollUp "scroll up, the row above" None, Panels;
    SCROLLED [key(KeyCode::Down), char('j')] ScrollDown "scroll down, the row below" None, Panels;
    BROWSE [char('e'), key(KeyCode::F(2))] Edit "edit the leg, or what the panel is about" Some("edit"), Trip;
    BROWSE [char('A')] Arrive "write down an arrival: odometer and litres" None, Trip;
    EVERY [char('u')] Undo "undo" None, Trip;
    EVERY [char('U'), ctrl('r')] Redo "do again what was undone" None, Trip;
    EVERY [ctrl('s')] Save "save" Some("save"), Trip;
    BROWSE [char('f')] TryWay "make it fit: try the next way, undo takes it back" None, Trip;
    TRIP [char('S')] SaveAs "save in another file" None, Trip;
    FROM [char('d')] Dials "turn the dials" Some("what if"), Dials;
    DIALS [key(KeyCode::Right), char('l')] TurnOn "turn the dial on" Some("turn"), Dials;
    DIALS [key(KeyCode::Left), char('h')] TurnBack "turn it back" None, Dials;
    DIALS [char('.')] TurnFinelyOn "turn it on a little" None, Dials;
    DIALS [char(',')] TurnFinelyBack "turn it back a little" None, Dials;
    DIALS [key(KeyCode::Backspace), char('r')] ResetDial "put the dial to what the trip states" Some("reset"), Dials;
    DIALS [char('R'), char('0')] ResetDials "put all dials there" None, Dials;
    DIALS [char('w')] KeepDials "keep what the dials make of the trip, under a name" Some("keep"), Dials;
    DIALS [char('t')] SideBySide "what is kept, side by side" Some("table"), Dials;
    DIALS [char('o')] NextWhatIf "take up the next what-if that is kept" Some("kept"), Dials;
    SHEET [key(KeyCode::Tab)] NextPanel "the next subject" None, Sheet;
    SHEET [key(KeyCode::BackTab)] PreviousPanel "the subject before" None, Sheet;
    SHEET [key(KeyCode::Enter), char('e')] Enter "type or choose the value; a digit begins at once" Some("edit"), Sheet;
    SHEET [key(KeyCode::Backspace), char('w')] Clear "state nothing" Some("clear"), Sheet;
    SHEET [char('a'), key(KeyCode::Insert)] Add "put in a new one behind it: leg, thing, can" Some("add"), Sheet;
    SHEET [char('c')] Duplicate "put in a copy" None, Sheet;
    SHEET [char('d'), key(KeyCode::Delete)] Delete "take it out" Some("delete"), Sheet;
    SHEET [char('K')] Earlier "put it before the one before" None, Sheet;
    SHEET [char('J')] Later "put it behind the next one" None, Sheet;
    SHEET [char('x')] Split "cut the leg in two at a kilometre" None, Sheet;
    SHEET [char('m')] Join "make one leg of this and the next" None, Sheet;
    SHEET [char('r')] Reverse "turn round what is stated of the leg" None, Sheet;
    SHEET [char('R')] ReverseTrip "drive the whole trip the other way" None, Sheet;
    SHEET [char('o')] OutAndBack "drive back over the same legs" None, Sheet;
    SHEET [char('+')] DayLater "this leg and those behind it a day later" None, Sheet;
    SHEET [char('-')] DayEarlier "this leg and those behind it a day earlier" None, Sheet;
    TYPING [key(KeyCode::Enter)] Enter "take it" Some("take"), Typing;
    TYPING [key(KeyCode::Up)] ScrollUp "the choice above" None, Typing;
    TYPING [key(KeyCode::Down), key(KeyCode::Tab)] ScrollDown "the choice below" Some("choose"), Typing;
    TYPING [key(KeyCode::Left)] Go(Letter) "a letter back" None, Typing;
    TYPING [key(KeyCode::Right)] Go(NextLetter) "a letter on" None, Typing;
    TYPING [held(KeyCode::Left)] Go(Word) "a word back" None, Typing;
    TYPING [held(KeyCode::Right)] Go(NextWord) "a word on" None, Typing;
    TYPING [key(KeyCode::Home), ctrl('a')] Go(Start) "to the start" None, Typing;
    TYPING [key(KeyCode::End), ctrl('e')] Go(End) "to the end" None, Typing;
    TYPING [key(KeyCode::Backspace), ctrl('h')] Erase(Letter) "take away a letter" None, Typing;
    TYPING [key(KeyCode::Delete), ctrl('d')] Erase(NextLetter) "take away the next letter" None, Typing;
    TYPING [ctrl('w')] Erase(Word) "take away a word" None, Typing;
    TYPING [ctrl('u')] Erase(Start) "take away all before the cursor" Some("empty it"), Typing;
    TYPING [ctrl('k')] Erase(End) "take away all behind it" None, Typing;
    ASK [char('y')] Yes "yes" Some("yes"), Program;
    ASK [char('n')] No "no" Some("no"), Program;
    BROWSE [char('m')] ToggleMouse "leave the mouse to the terminal, or take it" None, Program;
    ALL [ctrl('l')] Repaint "paint the screen anew" None, Program;
    ALL [ctrl('z')] Suspend "back to the shell; fg returns" None, Program;
    HELP [key(KeyCode::Up), char('k')] ScrollUp "the lines above, of this list" None, Program;
    HELP [key(KeyCode::Down), char('j')] ScrollDown "the lines below" Some("scroll"), Program;
    HELP [char('/')] Find "find a line of this list by a word or a key" Some("find"), Program;
    LISTS [char('?')] Help "this list, or back" Some("keys"), Program;
    ALL [key(KeyCode::F(1))] Help "this list, also while something is typed or asked" Some("keys"), Program;
    ALL [key(KeyCode::Esc)] Close "close what is in front" Some("back"), Program;
    SHUT [char('q')] Close "close this list" None, Program;
    START [key(KeyCode::Up), char('k')] ScrollUp "the trip above, before one is open" None, Trip;
    START [key(KeyCode::Down), char('j')] ScrollDown "the trip below" Some("choose"), Trip;
    START [key(KeyCode::Enter), char('e')] Enter "open it" Some("open"), Trip;
    LEAVE [char('q')] Quit "quit" Some("quit"), Program;
    ALL [ctrl('c')] Quit "quit" None, Program;
}

/// What the last row of the screen may tell in a layer, each intention by its first key.
pub fn told(layer: Layer) -> impl Iterator<Item = &'static Binding> {
    let in_layer = move |binding: &&Binding| binding.layers.contains(&layer);
    let told = move || {
        BINDINGS
            .iter()
            .filter(in_layer)
            .filter(|binding| binding.short.is_some())
    };
    told().enumerate().filter_map(move |(nth, binding)| {
        let mut before = told().take(nth);
        let is_first = before.all(|other| other.message != binding.message);
        is_first.then_some(binding)
    })
}

/// The message of a key, if it has one here. Releases mean nothing; repeats count.
pub fn lookup(layer: impl Into<Layer>, event: KeyEvent) -> Option<Message> {
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
    let layer = layer.into();
    let binding = BINDINGS
        .iter()
        .find(|binding| binding.layers.contains(&layer) && binding.keys.contains(&pressed));
    binding
        .map(|binding| binding.message)
        .or_else(|| typed(layer, pressed))
}

/// What has no line in the table is text, where text is typed; over a chosen row a number is typed at once.
fn typed(layer: Layer, key: Key) -> Option<Message> {
    let KeyCode::Char(c) = key.code else {
        return None;
    };
    let is_text = match layer {
        Layer::Typing => true,
        Layer::Sheet => c.is_ascii_digit(),
        _ => false,
    };
    (is_text && !key.ctrl).then_some(Message::Type(c))
}
