//! The one table of keys. Footer, help and the key handling all come from it.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

use self::Layer::{Ask, Browse, Help, Legs, Opening, Sheet, Sliders, Start, Table, Typing};
use super::line::Reach;
use super::message::Message;
use super::state::{Mode, Panel};

/// The kinds of [`Mode`], for the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layer {
    /// The strip and its panels.
    Browse,
    /// The list of keys, in front of all.
    Help,
    /// A page of fields.
    Sheet,
    /// A line that is typed.
    Typing,
    /// A question for yes or no.
    Ask,
    /// The list of sliders.
    Sliders,
    /// What-ifs side by side.
    Table,
    /// The leg table as a page.
    Legs,
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
            Mode::Field | Mode::Prompt | Mode::FindHelp | Mode::Form => Self::Typing,
            Mode::Ask(_) => Self::Ask,
            Mode::Sliders => Self::Sliders,
            Mode::SideBySide => Self::Table,
            Mode::Legs => Self::Legs,
        }
    }
}

/// A heading of the help.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "`title` says what each is")]
pub enum Group {
    Moving,
    Zoom,
    Panels,
    Trip,
    Sliders,
    Editing,
    Typing,
    Program,
}

impl Group {
    /// Every heading, in order.
    pub const ALL: [Self; 8] = [
        Self::Moving,
        Self::Zoom,
        Self::Panels,
        Self::Trip,
        Self::Sliders,
        Self::Editing,
        Self::Typing,
        Self::Program,
    ];

    /// The heading in the help and the README.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Moving => "moving",
            Self::Zoom => "zoom",
            Self::Panels => "panels",
            Self::Trip => "the trip and its file",
            Self::Sliders => "what if",
            Self::Editing => "editing",
            Self::Typing => "typing a value",
            Self::Program => "program",
        }
    }
}

/// A key and whether Ctrl is down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    /// The key without Ctrl.
    pub code: KeyCode,
    /// Whether Ctrl is pressed with it.
    pub ctrl: bool,
}

impl Key {
    /// How it is written in ASCII: `Right` for an arrow.
    pub fn spelt(&self) -> String {
        match self.code {
            KeyCode::Left => "Left".to_owned(),
            KeyCode::Right => "Right".to_owned(),
            KeyCode::Up => "Up".to_owned(),
            KeyCode::Down => "Down".to_owned(),
            _ => self.name(),
        }
    }

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
    /// Where the keys work.
    pub layers: &'static [Layer],
    /// The keys, the one that the footer shows first.
    pub keys: &'static [Key],
    /// The message that the keys send.
    pub message: Message,
    /// What the keys do, for the help.
    pub label: &'static str,
    /// A word for the footer; `None` if the footer does not show it.
    pub short: Option<&'static str>,
    /// The heading under which the help lists it.
    pub group: Group,
}

impl Binding {
    /// The keys as the footer shows them: the first, or the first and the last of a row of digits.
    pub fn footer_key(&self, ascii: bool) -> String {
        let name = |key: &Key| if ascii { key.spelt() } else { key.name() };
        match (self.message, self.keys) {
            (Message::PanelByNumber, [first, .., last]) => {
                format!("{}-{}", name(first), name(last))
            }
            (_, keys) => keys.first().map_or_else(String::new, name),
        }
    }
}

const BROWSE: &[Layer] = &[Browse];
const CLOSABLE: &[Layer] = &[Help, Sheet, Sliders, Table, Legs];
const HELP: &[Layer] = &[Help];
const SLIDERS: &[Layer] = &[Sliders];
const EVERY: &[Layer] = &[Browse, Sheet, Sliders, Table, Legs];
const SCROLLED: &[Layer] = &[Browse, Ask, Sheet, Sliders, Table, Legs, Opening];
const SLIDERS_FROM: &[Layer] = &[Browse, Table];
const SHEET: &[Layer] = &[Sheet];
const LEGS: &[Layer] = &[Legs];
const FIELDS: &[Layer] = &[Sheet, Legs];
const FOUND: &[Layer] = &[Browse, Sheet, Legs];
const TYPING: &[Layer] = &[Typing];
const ASK: &[Layer] = &[Ask];
const TRIP: &[Layer] = &[Browse, Sheet];
const SAVED_AS: &[Layer] = &[Browse, Sheet, Legs];
const LISTS: &[Layer] = &[
    Browse, Ask, Help, Sheet, Sliders, Table, Legs, Start, Opening,
];
const ALL: &[Layer] = &[
    Browse, Help, Sheet, Typing, Ask, Sliders, Table, Legs, Start, Opening,
];
const START: &[Layer] = &[Start];
const QUIT_LAYERS: &[Layer] = &[Browse, Start, Opening];

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
    ($($(#[$cfg:meta])? $layers:ident [$($key:expr),+] $message:ident $(($reach:ident))? $label:literal $short:expr, $group:ident;)+) => {
        /// Every key with its layers, message and labels.
        pub const BINDINGS: &[Binding] = &[$($(#[$cfg])? Binding {
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
    TRIP [key(KeyCode::Left), char('h')] PreviousLeg "previous leg" None, Moving;
    TRIP [key(KeyCode::Right), char('l')] NextLeg "next leg" Some("leg"), Moving;
    FOUND [held(KeyCode::Left), char('[')] PreviousDay "previous day" None, Moving;
    FOUND [held(KeyCode::Right), char(']')] NextDay "next day" None, Moving;
    LISTS [key(KeyCode::Home), char('g')] TripStart "start of the trip; top of a list" None, Moving;
    LISTS [key(KeyCode::End), char('G')] TripEnd "finish of the trip; end of a list" None, Moving;
    LISTS [key(KeyCode::PageUp), char('b')] PageBack "page back" None, Moving;
    LISTS [key(KeyCode::PageDown), char(' ')] PageOn "page on" None, Moving;
    BROWSE [char(',')] StepBack "step back" None, Moving;
    BROWSE [char('.')] StepOn "step on" None, Moving;
    BROWSE [char('N'), char('p')] PreviousMark "previous marker; after a search, previous match" None, Moving;
    BROWSE [char('n')] NextMark "next marker (decant, turn back, below minimum); after a search, next match" None, Moving;
    BROWSE [char('+'), char('=')] ZoomIn "zoom in" None, Zoom;
    BROWSE [char('-')] ZoomOut "zoom out" None, Zoom;
    BROWSE [char('z')] ZoomLeg "zoom to the selected leg" None, Zoom;
    BROWSE [char('0')] ZoomTrip "zoom to the whole trip" None, Zoom;
    FOUND [char('/')] Find "search for a place or a field by part of its name" None, Moving;
    BROWSE [key(KeyCode::Enter)] Look "go to the selected finding, open the leg table, zoom to the leg" Some("go to"), Panels;
    BROWSE [char('1'), char('2'), char('3'), char('4'), char('5'), char('6'), char('7'), char('8'), char('9')] PanelByNumber "panel of that number" Some("panel"), Panels;
    BROWSE [key(KeyCode::Tab)] NextPanel "next panel" None, Panels;
    BROWSE [key(KeyCode::BackTab)] PreviousPanel "previous panel" None, Panels;
    SCROLLED [key(KeyCode::Up), char('k')] ScrollUp "scroll up; row above" None, Panels;
    SCROLLED [key(KeyCode::Down), char('j')] ScrollDown "scroll down; row below" None, Panels;
    BROWSE [char('e'), key(KeyCode::F(2))] Edit "edit the leg, or what the panel shows" Some("edit"), Trip;
    TRIP [char('A')] Arrive "enter a fuel reading: odometer and litres" None, Trip;
    TRIP [char('F')] FuelStop "set the fuel stop at the end of the leg: chance, reliance, stock, price" None, Trip;
    TRIP [char('T')] FillFromMap "fill in surfaces, fuel stops and climb from map files" None, Trip;
    TRIP [char('C')] Calibrate "calibrate the consumption with a fill-up log" None, Trip;
    TRIP [char('V')] TakeVehicle "take vehicle, load and rules from another trip" None, Trip;
    TRIP [char('L')] TakeRoute "take other legs from files; under way, those after the last reading" None, Trip;
    TRIP [char('W')] KeepVehicle "put vehicle, load and rules on the shelf for other trips" None, Trip;
    EVERY [char('u')] Undo "undo" None, Trip;
    EVERY [char('U'), ctrl('r')] Redo "redo" None, Trip;
    EVERY [ctrl('s')] Save "save" Some("save"), Trip;
    BROWSE [char('f')] TryFix "try the next fix; u undoes it" Some("try a fix"), Trip;
    SAVED_AS [char('S')] SaveAs "save under another name" None, Trip;
    SLIDERS_FROM [char('d')] Sliders "open the sliders" Some("what if"), Sliders;
    SLIDERS [key(KeyCode::Right), char('l')] SliderUp "move the slider up" Some("move"), Sliders;
    SLIDERS [key(KeyCode::Left), char('h')] SliderDown "move the slider down" None, Sliders;
    SLIDERS [char('.')] SliderUpFinely "move the slider up a little" None, Sliders;
    SLIDERS [char(',')] SliderDownFinely "move the slider down a little" None, Sliders;
    SLIDERS [key(KeyCode::Backspace)] ResetSlider "reset the slider to the trip" Some("reset"), Sliders;
    SLIDERS [char('0')] ResetSliders "reset all sliders" None, Sliders;
    SLIDERS [char('w')] SaveWhatIf "save the slider settings as a what-if" Some("save"), Sliders;
    SLIDERS [char('t')] SideBySide "compare saved what-ifs side by side" Some("compare"), Sliders;
    SLIDERS [char('o')] NextWhatIf "load the next saved what-if" Some("load"), Sliders;
    SHEET [key(KeyCode::Tab)] NextPanel "next page of fields" None, Editing;
    SHEET [key(KeyCode::BackTab)] PreviousPanel "previous page of fields" None, Editing;
    FIELDS [key(KeyCode::Enter), char('e')] Enter "edit the value; a digit, - . or , starts at once" Some("edit"), Editing;
    FIELDS [key(KeyCode::Backspace)] Clear "clear the value: use the default" Some("clear"), Editing;
    SHEET [char('i'), key(KeyCode::Insert)] Add "insert a new one after it: leg, gear, can" Some("insert"), Editing;
    SHEET [char('c')] Duplicate "duplicate" None, Editing;
    SHEET [char('x'), key(KeyCode::Delete)] Delete "delete" Some("delete"), Editing;
    SHEET [char('K')] Earlier "move up" None, Editing;
    SHEET [char('J')] Later "move down" None, Editing;
    SHEET [char('s')] Split "split the leg at a kilometre" None, Editing;
    SHEET [char('r')] Reverse "reverse the leg" None, Editing;
    SHEET [char('M')] Join "join this leg and the next" None, Editing;
    SHEET [char('R')] ReverseTrip "reverse the trip" None, Editing;
    SHEET [char('O')] OutAndBack "add the return over the same legs" None, Editing;
    SHEET [char('>')] DayLater "this leg and all later legs a day later" None, Editing;
    SHEET [char('<')] DayEarlier "this leg and all later legs a day earlier" None, Editing;
    LEGS [key(KeyCode::Left), char('h')] CellLeft "cell at the left" None, Editing;
    LEGS [key(KeyCode::Right), char('l')] CellRight "cell at the right" None, Editing;
    LEGS [char('v')] Range "begin or end a range of legs: a value is given to all of them" Some("range"), Editing;
    LEGS [key(KeyCode::Insert)] Add "insert a leg after it" None, Editing;
    LEGS [key(KeyCode::Delete)] Delete "delete the leg" None, Editing;
    LEGS [key(KeyCode::Tab)] NextPanel "close the table, next panel" Some("panels"), Editing;
    LEGS [key(KeyCode::BackTab)] PreviousPanel "close the table, previous panel" None, Editing;
    TYPING [key(KeyCode::Enter)] Enter "accept" Some("accept"), Typing;
    TYPING [key(KeyCode::Up)] ScrollUp "previous choice" None, Typing;
    TYPING [key(KeyCode::Down), key(KeyCode::Tab)] ScrollDown "next choice" Some("choose"), Typing;
    TYPING [key(KeyCode::BackTab)] PreviousPanel "previous field of a form" None, Typing;
    TYPING [key(KeyCode::Left)] Go(Letter) "a letter back" None, Typing;
    TYPING [key(KeyCode::Right)] Go(NextLetter) "a letter on" None, Typing;
    TYPING [held(KeyCode::Left)] Go(Word) "a word back; Alt-b" None, Typing;
    TYPING [held(KeyCode::Right)] Go(NextWord) "a word on; Alt-f" None, Typing;
    TYPING [key(KeyCode::Home), ctrl('a')] Go(Start) "to the start" None, Typing;
    TYPING [key(KeyCode::End), ctrl('e')] Go(End) "to the end" None, Typing;
    TYPING [key(KeyCode::Backspace), ctrl('h')] Erase(Letter) "delete a letter" None, Typing;
    TYPING [key(KeyCode::Delete), ctrl('d')] Erase(NextLetter) "delete the next letter" None, Typing;
    TYPING [ctrl('w')] Erase(Word) "delete a word; Alt-Backspace" None, Typing;
    TYPING [ctrl('u')] Erase(Start) "delete everything before the cursor" Some("empty"), Typing;
    TYPING [ctrl('k')] Erase(End) "delete everything after the cursor" None, Typing;
    ASK [char('y')] Yes "yes" Some("yes"), Program;
    ASK [char('n')] No "no" Some("no"), Program;
    BROWSE [char('m')] ToggleMouse "mouse on or off; off, the terminal selects text" None, Program;
    ALL [ctrl('l')] Repaint "redraw the screen" None, Program;
    #[cfg(unix)]
    ALL [ctrl('z')] Suspend "suspend; fg in the shell returns" None, Program;
    HELP [key(KeyCode::Up), char('k')] ScrollUp "scroll up in this list" None, Program;
    HELP [key(KeyCode::Down), char('j')] ScrollDown "scroll down in this list" Some("scroll"), Program;
    HELP [char('/')] Find "search this list by a word or a key" Some("find"), Program;
    LISTS [char('?')] Help "show or close this list" Some("keys"), Program;
    ALL [key(KeyCode::F(1))] Help "show this list, also while you type" Some("keys"), Program;
    ALL [key(KeyCode::Esc)] Close "close or cancel" Some("back"), Program;
    CLOSABLE [char('q')] Close "close the fields, sliders, table or list" None, Program;
    START [key(KeyCode::Up), char('k')] ScrollUp "trip above, on the first screen" None, Trip;
    START [key(KeyCode::Down), char('j')] ScrollDown "trip below" Some("choose"), Trip;
    START [key(KeyCode::Enter), char('e')] Enter "open the trip" Some("open"), Trip;
    QUIT_LAYERS [char('q')] Quit "quit" Some("quit"), Program;
    ALL [ctrl('c')] Quit "quit" None, Program;
}

/// The bindings that the footer of a layer shows, each intention by its first key.
pub fn footer_bindings(layer: Layer) -> impl Iterator<Item = &'static Binding> {
    let in_layer = move |binding: &&Binding| binding.layers.contains(&layer);
    let named = move || {
        BINDINGS
            .iter()
            .filter(in_layer)
            .filter(|binding| binding.short.is_some())
    };
    named().enumerate().filter_map(move |(nth, binding)| {
        let mut before = named().take(nth);
        let is_first = before.all(|other| other.message != binding.message);
        is_first.then_some(binding)
    })
}

/// The message of a key in a layer; `None` if it has none there. Releases are ignored, repeats count.
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
    let message = binding.map(|binding| binding.message);
    match (message, pressed.code) {
        (Some(Message::PanelByNumber), KeyCode::Char(digit)) => {
            let number = digit.to_digit(10)?.checked_sub(1)?;
            let panel = Panel::ALL.get(usize::try_from(number).ok()?)?;
            Some(Message::Focus(*panel))
        }
        _ => message.or_else(|| typed(layer, pressed)),
    }
}

/// A key without a binding is text where text is typed; on a selected row a digit starts to type.
fn typed(layer: Layer, key: Key) -> Option<Message> {
    let KeyCode::Char(c) = key.code else {
        return None;
    };
    let is_text = match layer {
        Layer::Typing => true,
        // A number may begin with any of these.
        Layer::Sheet | Layer::Legs => c.is_ascii_digit() || "-.,".contains(c),
        _ => false,
    };
    (is_text && !key.ctrl).then_some(Message::Type(c))
}
