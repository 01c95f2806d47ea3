//! What the screen shows: the plan, the place on the route, and which layer is in front.
//!
//! `shown` decides which plan is shown, `judged` which one the verdict comes from, `whereabouts` the place on the
//! route, `panel` what is under the strip.

mod judged;
mod panel;
mod shown;
mod whereabouts;

use std::borrow::Cow;
use std::ops::RangeInclusive;
use std::sync::Arc;

use super::editor::{Editor, Prompt};
use super::find::Finding;
use super::fixes::Trying;
use super::form::Form;
use super::help::Help;
use super::leg_table::Cursor;
use super::outside::LeftOver;
use super::picture::Picture;
use super::proposal::Proposed;
use super::sheet::{self, FieldRow, Topic};
use super::sliders::Board;
use ratatui::layout::Rect;

use crate::model::Trip;
use crate::model::change::History;
use crate::plan::Plan;
use crate::present::number::Units;
use crate::quantity::Kilometres;
pub use judged::Basis;
pub use panel::Panel;
pub(super) use panel::strength;
use whereabouts::CLOSEST;
pub(crate) use whereabouts::Look;

/// Everything that the view needs.
#[derive(Clone, Debug)]
pub struct State {
    pub(super) history: History,
    /// The plan that is shown, with its texts and its strip.
    shown: Arc<Picture>,
    /// The last picture of the current trip.
    settled: Arc<Picture>,
    /// The last picture that had a verdict.
    judged: Option<Arc<Picture>>,
    /// What is tried, with its picture once that is there.
    trial: Option<(Arc<Trip>, Option<Arc<Picture>>)>,
    units: Units,
    /// Number of the chosen leg, from 1.
    leg: usize,
    /// The cursor, from the start of the trip; always on the chosen leg.
    at: Kilometres,
    look: Look,
    /// Which layer is in front.
    pub mode: Mode,
    /// The panel that scrolls, and that is shown when there is room for few.
    pub focus: Panel,
    /// Rows that each panel is scrolled by; of lists the number of the chosen entry.
    scroll: [usize; Panel::ALL.len()],
    /// The size of the screen when it was last drawn.
    area: Rect,
    /// The cursor of the leg table.
    pub(super) cell: Cursor,
    /// Whether clicks come to the program.
    pub mouse: bool,
    /// Whether what is shown is simulated.
    simulation: bool,
    /// What was last done that the picture does not show.
    pub status: Option<Cow<'static, str>>,
    /// The subject that is edited, and the row of it that is chosen.
    pub topic: Topic,
    /// The chosen row of the list in front.
    pub row: usize,
    /// The form that is being filled in, in its mode.
    pub(super) form: Option<Form>,
    /// The field that is being typed, in its mode.
    pub editor: Option<Editor>,
    /// The question that is being answered, in its mode.
    pub prompt: Option<Prompt>,
    /// The file that the trip is kept in.
    pub file: Option<String>,
    /// The other file that it is to be saved in.
    pub(super) save_to: Option<String>,
    /// Edits that were left unsaved the last time, while they are offered.
    pub(super) recovered: Option<LeftOver>,
    /// The fixes, once they were asked for.
    pub(super) fixes: Option<Trying>,
    /// The map and the folder of elevation tiles that the user prefers.
    pub(super) map_files: [String; 2],
    /// A change that is proposed from files.
    pub(super) proposed: Option<Proposed>,
    /// The layer that questions and fields are closed to.
    beneath: Beneath,
    /// What must be known of the file or of the edits, until something is done about it.
    pub notice: Option<String>,
    /// The sliders and what they are set to.
    pub board: Board,
    /// The layer that the help was opened over.
    pub(super) behind_help: Mode,
    /// The search and the scroll position of the list of keys.
    pub help: Help,
    /// What places are looked for.
    pub(super) finding: Finding,
}

/// A layer that others are closed to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Beneath {
    Strip,
    Sheet,
    Legs,
}

/// The layer that is in front; closing it leads back to the strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// The strip and its panels.
    Browse,
    /// The list of keys and the cautions.
    Help,
    /// What its lines are to have is typed.
    FindHelp,
    /// The fields of a subject.
    Sheet,
    /// One of them is typed.
    Field,
    /// A question is answered with a line of text.
    Prompt,
    /// A question is answered with yes or no.
    Ask(Question),
    /// The sliders are turned.
    Sliders,
    /// What-ifs side by side.
    SideBySide,
    /// The leg table as a page.
    Legs,
    /// A form is filled in.
    Form,
}

/// What is answered with yes or no.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    /// There are unsaved changes: save them and quit, or quit without?
    Quit,
    /// The file was changed by somebody else: put this trip in its place?
    Overwrite {
        /// Whether the program ends after that.
        then_quit: bool,
    },
    /// The name that was given is that of another file: put this trip in its place?
    Replace {
        /// Whether the program ends after that.
        then_quit: bool,
    },
    /// Edits were left unsaved the last time: take them up again?
    Recover,
    /// The file was changed by somebody else and there are no changes here: read it again?
    Reload,
    /// A change is proposed from files: make it?
    Proposal,
}

impl State {
    /// The screen as it opens: the whole trip, the first leg chosen.
    pub fn new(plan: Plan, units: Units) -> Self {
        Self::of_picture(&Picture::of(plan, units), units)
    }

    /// A state that shows a picture.
    pub(super) fn of_picture(picture: &Arc<Picture>, units: Units) -> Self {
        let mut state = Self {
            history: History::new(Arc::clone(&picture.plan.trip)),
            leg: 1,
            at: Kilometres::ZERO,
            look: Look {
                left: Kilometres::ZERO,
                span: picture.strip.length().max(CLOSEST),
            },
            shown: Arc::clone(picture),
            settled: Arc::clone(picture),
            judged: None,
            trial: None,
            units,
            mode: Mode::Browse,
            focus: Panel::Do,
            area: Rect::new(0, 0, 80, 24),
            cell: Cursor::default(),
            scroll: [0; Panel::ALL.len()],
            mouse: false,
            simulation: false,
            status: None,
            topic: Topic::Leg,
            row: 0,
            form: None,
            editor: None,
            prompt: None,
            file: None,
            save_to: None,
            recovered: None,
            fixes: None,
            map_files: Default::default(),
            proposed: None,
            beneath: Beneath::Strip,
            notice: None,
            board: Board::default(),
            behind_help: Mode::Browse,
            help: Help::default(),
            finding: Finding::default(),
        };
        if let Some(place_number) = state
            .plan()
            .progress
            .as_deref()
            .map(|progress| progress.place_number)
        {
            state.choose(place_number + 1);
            state.focus = Panel::Log;
        }
        state.attend();
        state
    }

    /// The state with the mouse on or off.
    #[must_use]
    pub(crate) fn with_mouse(mut self, mouse: bool) -> Self {
        self.mouse = mouse;
        self
    }

    /// The state with or without a simulation.
    #[must_use]
    pub fn with_simulation(mut self, simulation: bool) -> Self {
        self.set_simulation(simulation);
        self
    }

    /// The state with the map and the folder of elevation tiles that the user prefers.
    #[must_use]
    pub(super) fn with_map_files(mut self, map_files: [String; 2]) -> Self {
        self.map_files = map_files;
        self
    }

    /// Has what is shown simulated, or shows best estimates.
    pub(super) fn set_simulation(&mut self, simulation: bool) {
        self.simulation = simulation;
        self.judged = None;
        self.refresh();
    }

    /// The trip as it is.
    pub const fn trip(&self) -> &Arc<Trip> {
        self.history.trip()
    }

    /// What was done to the trip.
    pub const fn history(&self) -> &History {
        &self.history
    }

    /// Opens the rows, or closes them.
    pub(super) fn open_sheet(&mut self, open: bool) {
        self.beneath = if open { Beneath::Sheet } else { Beneath::Strip };
        self.mode = self.resting();
    }

    /// Opens the leg table as a page, or closes it.
    pub(super) fn open_table(&mut self, open: bool) {
        self.beneath = if open { Beneath::Legs } else { Beneath::Strip };
        self.mode = self.resting();
    }

    /// The other file that the trip is about to be saved in.
    pub(crate) fn saving_to(&self) -> Option<&str> {
        self.save_to.as_deref()
    }

    /// Opens the help over what is in front.
    pub(super) fn open_help(&mut self) {
        self.behind_help = self.mode;
        self.help = Help::of(self.mode.into());
        self.mode = Mode::Help;
    }

    /// The layer to go back to from a question.
    pub(super) const fn resting(&self) -> Mode {
        match self.beneath {
            Beneath::Strip => Mode::Browse,
            Beneath::Sheet => Mode::Sheet,
            Beneath::Legs => Mode::Legs,
        }
    }

    /// Tells what is wrong with the answer that is typed.
    pub(super) fn problem_of_prompt(&mut self, problem: String) {
        if let Some(prompt) = &mut self.prompt {
            prompt.problem = Some(problem);
        }
    }

    /// The rows of the subject that is edited.
    pub fn rows(&self) -> Vec<FieldRow> {
        sheet::rows(self.trip(), self.topic, self.leg)
    }

    /// The size of the screen when it was last drawn.
    pub(in crate::tui) const fn area(&self) -> Rect {
        self.area
    }

    /// Notes the size of the screen.
    pub fn seen_in(&mut self, area: Rect) {
        self.area = area;
    }

    /// Whether the leg table is open as a page.
    pub(in crate::tui) const fn is_table_open(&self) -> bool {
        matches!(self.beneath, Beneath::Legs)
    }

    /// The legs that a value typed in the leg table is given to, from 1.
    pub(in crate::tui) fn legs_of_range(&self) -> RangeInclusive<usize> {
        let anchor = self.cell.anchor.unwrap_or(self.leg);
        anchor.min(self.leg)..=anchor.max(self.leg)
    }

    /// The reader's units.
    pub const fn units(&self) -> Units {
        self.units
    }
}
