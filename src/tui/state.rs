//! What the screen shows: the plan, where one is on the way, and which layer is in front.

use std::borrow::Cow;
use std::cell::OnceCell;
use std::sync::Arc;

use super::chart::Chart;
use super::dials::Board;
use super::edit::Proposal;
use super::editor::Editor;
use super::help::Help;
use super::picture::Picture;
use super::planner::{Job, Made};
use super::prompt::Prompt;
use super::sheet::{self, Row, Topic};
use super::told::Told;
use super::ways::Trying;
use crate::consumption::causes::Cause;
use crate::model::Trip;
use crate::model::change::{Change, Deed, History};
use crate::plan::doubt::MOST_LEGS;
use crate::plan::ledger::Ledger;
use crate::plan::{Attribution, CauseShare, Plan, PlannedLeg};
use crate::present::number::Units;
use crate::present::story::Story;
use crate::present::strip::Strip;
use crate::present::{dry, ledger, odds};
use crate::quantity::Kilometres;

/// The least that the strip shows at once.
const CLOSEST: Kilometres = Kilometres::new(1.0);
/// The cursor stays this part of the shown length away from the border of the strip.
const MARGIN: f64 = 0.05;

/// Everything that the view needs.
#[derive(Clone, Debug)]
pub struct State {
    pub(super) history: History,
    /// What is shown.
    shown: Arc<Picture>,
    /// The last picture of the trip as it stands.
    settled: Arc<Picture>,
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
    /// Lines that each panel is scrolled by.
    scroll: [usize; Panel::ALL.len()],
    /// Whether clicks come to the program.
    pub mouse: bool,
    /// Whether what is shown is sampled beside the screen.
    sampling: bool,
    /// What was last done that the picture does not show.
    pub status: Option<Cow<'static, str>>,
    /// The subject that is edited, and the row of it that is chosen.
    pub topic: Topic,
    /// The chosen row.
    pub row: usize,
    /// The reading that was last proposed.
    pub(super) proposal: Option<Proposal>,
    /// The field that is being typed, in its mode.
    pub editor: Option<Editor>,
    /// The question that is being answered, in its mode.
    pub prompt: Option<Prompt>,
    /// The file that the trip is kept in.
    pub file: Option<String>,
    /// The other file that it is to be saved in.
    pub(super) save_to: Option<String>,
    /// The names of edits that were left unsaved the last time.
    pub left_over: Vec<String>,
    /// The trip with them, and they themselves.
    pub(super) recovered: Option<(History, Vec<Deed>)>,
    /// The ways to make it fit, once they were asked for.
    pub(super) ways: Option<Trying>,
    /// Whether the rows are open behind what is in front.
    sheet_open: bool,
    /// What must be known of the file or of the edits, until something is done about it.
    pub notice: Option<String>,
    /// The dials.
    pub board: Board,
    /// The layer that the help was opened over.
    pub(super) behind_help: Mode,
    /// The list of keys.
    pub help: Help,
    /// What the places have in their names that the keys for marks go to, while one goes through what was found.
    pub(super) found: Option<String>,
    /// What was last asked for as a part of a name.
    pub(super) sought: String,
    /// The map, once it was looked at.
    chart: OnceCell<Option<Chart>>,
    /// The way against its plan, once it was looked at.
    story: OnceCell<Option<Story>>,
    attribution: Option<(usize, Attribution)>,
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
    /// The dials are turned.
    Dials,
    /// What-ifs stand side by side.
    SideBySide,
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
}

/// The part of the trip that the strip shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Where it begins, from the start of the trip.
    pub left: Kilometres,
    /// How much it shows.
    pub span: Kilometres,
}

/// What can stand under the strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Panel {
    /// The chosen leg and why it costs what it costs.
    Leg,
    /// What must be told.
    Findings,
    /// What is done at the fuel stops and on the way.
    Stops,
    /// The litres with which to go on or turn back.
    Card,
    /// How sure the plan is.
    Odds,
    /// Masses against their limits.
    Load,
    /// What the spare fuel is for.
    Ledger,
    /// Where the way runs.
    Map,
    /// What if a pump is dry or a can is lost.
    Dry,
    /// What if: the dials.
    Dials,
    /// What was read off on the way.
    Log,
    /// The fitted factors of the vehicle.
    Fit,
}

/// The ledger of a plain plan of so many legs is worked out between two keys.
const LEDGER_OF: usize = 1_000;

impl Panel {
    /// Every panel, in the order in which room is given.
    pub const ALL: [Self; 12] = [
        Self::Leg,
        Self::Findings,
        Self::Stops,
        Self::Card,
        Self::Odds,
        Self::Load,
        Self::Ledger,
        Self::Map,
        Self::Dry,
        Self::Dials,
        Self::Log,
        Self::Fit,
    ];

    /// The panel `steps` further, round and round.
    #[must_use]
    pub fn moved(self, steps: usize) -> Self {
        Self::ALL[(self as usize + steps) % Self::ALL.len()]
    }
}

/// How it stands with the samples behind a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Samples {
    /// The plan is laid out with them.
    Drawn,
    /// They are being drawn.
    Awaited,
    /// Nobody wants them.
    Unwanted,
    /// The trip has too many legs for them.
    TooLong,
}

fn is_to_sample(picture: &Picture) -> bool {
    picture.plan.doubt.is_none() && picture.plan.trip.legs.len() <= MOST_LEGS
}

/// The plan with everything at its likely value.
pub(super) fn plain(plan: &Plan) -> &Plan {
    plan.doubt.as_ref().map_or(plan, |doubt| &doubt.plain)
}

impl State {
    /// The screen as it opens: the whole trip, the first leg chosen.
    pub fn new(plan: Plan, units: Units) -> Self {
        let picture = Picture::of(plan, units);
        let mut state = Self {
            history: History::new(Arc::clone(&picture.plan.trip)),
            leg: 1,
            at: Kilometres::ZERO,
            look: Look {
                left: Kilometres::ZERO,
                span: picture.strip.length().max(CLOSEST),
            },
            shown: Arc::clone(&picture),
            settled: picture,
            trial: None,
            units,
            mode: Mode::Browse,
            focus: Panel::Leg,
            scroll: [0; Panel::ALL.len()],
            mouse: false,
            sampling: false,
            status: None,
            topic: Topic::Leg,
            row: 0,
            proposal: None,
            editor: None,
            prompt: None,
            file: None,
            save_to: None,
            left_over: Vec::new(),
            recovered: None,
            ways: None,
            sheet_open: false,
            notice: None,
            board: Board::default(),
            behind_help: Mode::Browse,
            help: Help::default(),
            found: None,
            sought: String::new(),
            chart: OnceCell::new(),
            story: OnceCell::new(),
            attribution: None,
        };
        if let Some(node) = state.plan().behind.as_deref().map(|behind| behind.node) {
            state.choose(node + 1);
            state.focus = Panel::Log;
        }
        state.attend();
        state
    }

    /// The same with the mouse taken or left alone.
    #[must_use]
    pub fn with_mouse(mut self, mouse: bool) -> Self {
        self.mouse = mouse;
        self
    }

    /// The same with samples to come, or none.
    #[must_use]
    pub fn with_sampling(mut self, sampling: bool) -> Self {
        self.sampling = sampling;
        self
    }

    /// The strip.
    pub fn strip(&self) -> &Strip {
        &self.shown.strip
    }

    /// What is told about the whole plan.
    pub fn told(&self) -> &Told {
        &self.shown.told
    }

    /// The plan that is shown: of the trip as it stands, or as it would be with what is being typed.
    pub fn plan(&self) -> &Plan {
        &self.shown.plan
    }

    /// The plan of the trip as it stands, to be kept; nothing while it is still to be planned.
    pub(super) fn plan_to_keep(&self) -> Option<&Arc<Plan>> {
        self.is_settled().then_some(&self.settled.plan)
    }

    /// The last picture of the trip as it stands.
    pub(super) fn settled_picture(&self) -> &Arc<Picture> {
        &self.settled
    }

    /// What is shown.
    pub(super) const fn shown(&self) -> &Arc<Picture> {
        &self.shown
    }

    /// The ways to make it fit that were asked for, each in a sentence, and whether it is made now.
    pub fn ways(&self) -> Vec<(String, bool)> {
        self.ways
            .as_ref()
            .map_or_else(Vec::new, |trying| trying.listed(self))
    }

    /// The plan whose ways are waited for; to be searched with [`Plan::search_ways`] and told by [`Message::WaysFound`].
    ///
    /// [`Message::WaysFound`]: super::message::Message::WaysFound
    pub fn ways_to_search(&self) -> Option<&Arc<Plan>> {
        self.ways.as_ref()?.sought()
    }

    /// The plan of the trip as it stands.
    pub fn settled(&self) -> &Plan {
        &self.settled.plan
    }

    /// The picture of the trip as it stands with everything at its likely value, to hold others against.
    pub(super) fn settled_plain(&self) -> Arc<Picture> {
        match &self.settled.plan.doubt {
            Some(doubt) => Picture::of(Arc::clone(&doubt.plain), self.units),
            None => Arc::clone(&self.settled),
        }
    }

    /// The trip to be sampled: the one as it stands, then what is tried.
    pub(super) fn trip_to_sample(&self) -> Option<&Arc<Trip>> {
        let pictures = [&self.settled, &self.shown];
        let next = pictures.into_iter().find(|picture| is_to_sample(picture));
        next.filter(|_| self.sampling && !self.is_behind())
            .map(|picture| &picture.plan.trip)
    }

    /// How it stands with the samples behind what is shown.
    pub fn samples(&self) -> Samples {
        if self.plan().doubt.is_some() {
            Samples::Drawn
        } else if !self.sampling {
            Samples::Unwanted
        } else if is_to_sample(&self.shown) {
            Samples::Awaited
        } else {
            Samples::TooLong
        }
    }

    /// Whether the verdict is one at the confidence, or is about to be.
    pub fn goes_by_samples(&self) -> bool {
        matches!(self.samples(), Samples::Drawn | Samples::Awaited)
    }

    /// Takes the plan at the confidence in place of the plain one of the same trip, wherever that is.
    pub(super) fn show_sampled(&mut self, plan: Arc<Plan>) {
        if let Some(trying) = &mut self.ways {
            trying.turn_to(&plan);
        }
        let picture = Picture::of(plan, self.units);
        let is_of = |other: &Picture| Arc::ptr_eq(&other.plan.trip, &picture.plan.trip);
        if is_of(&self.settled) {
            self.settled = Arc::clone(&picture);
        }
        if let Some((_, Some(made))) = &mut self.trial
            && is_of(made)
        {
            *made = Arc::clone(&picture);
        }
        self.take_sampled_dials(&picture);
        self.refresh();
    }

    /// The plan of the trip as it stands and the one that is shown: both as sampled or both plain, so that nothing
    /// differs but what is tried.
    pub fn before_and_now(&self) -> [&Plan; 2] {
        let plans = [self.settled(), self.plan()];
        if plans.iter().all(|plan| plan.doubt.is_some()) {
            plans
        } else {
            plans.map(plain)
        }
    }

    /// Whether the trip as it stands is planned.
    fn is_settled(&self) -> bool {
        Arc::ptr_eq(&self.settled.plan.trip, self.history.trip())
    }

    /// What is to be planned next: what is to be shown, then what stands beside it.
    pub fn to_plan(&self) -> Option<Job> {
        self.shown_to_plan().or_else(|| self.beside_to_plan())
    }

    /// What is to be shown and not planned yet: the trip as it stands, then what is tried, else what the dials make
    /// of it.
    fn shown_to_plan(&self) -> Option<Job> {
        if !self.is_settled() {
            return Some(Job::Trip(Arc::clone(self.history.trip())));
        }
        match &self.trial {
            Some((trip, None)) => Some(Job::Trip(Arc::clone(trip))),
            Some(_) => None,
            None if self.editor.is_some() => None,
            None => self.dials_to_plan(),
        }
    }

    /// Whether what is shown is not yet what is to be shown.
    pub fn is_behind(&self) -> bool {
        self.shown_to_plan().is_some()
    }

    /// Takes what was planned, and shows what is to be shown now.
    pub(super) fn take_planned(&mut self, job: &Job, made: Made) {
        match (job, made) {
            (Job::Trip(trip), Ok(picture)) if Arc::ptr_eq(trip, self.history.trip()) => {
                self.settled = picture;
            }
            (Job::Trip(trip), Ok(picture)) => {
                if let Some((tried, made)) = &mut self.trial
                    && Arc::ptr_eq(tried, trip)
                {
                    *made = Some(picture);
                }
            }
            (Job::Dials { .. }, Ok(picture)) => self.take_dials(job, picture),
            (Job::WhatIf { stated, name }, made) if Arc::ptr_eq(stated, self.history.trip()) => {
                self.take_beside(name, made);
            }
            _ => {}
        }
        self.refresh();
    }

    /// Shows what is to be shown, as far as it is planned; else what was shown before.
    fn refresh(&mut self) {
        let wanted = match &self.trial {
            Some((_, picture)) => picture.clone(),
            None if self.editor.is_none() && self.board.is_turned() => self.of_dials(),
            None => self.is_settled().then(|| Arc::clone(&self.settled)),
        };
        if let Some(picture) = wanted.filter(|picture| !Arc::ptr_eq(picture, &self.shown)) {
            self.show(picture);
        }
    }

    /// The trip as it stands.
    pub const fn trip(&self) -> &Arc<Trip> {
        self.history.trip()
    }

    /// What was done to the trip.
    pub const fn history(&self) -> &History {
        &self.history
    }

    /// Opens the rows, or closes them.
    pub(super) fn open_sheet(&mut self, open: bool) {
        self.sheet_open = open;
        self.mode = self.resting();
    }

    /// The other file that the trip is about to be saved in.
    pub fn saving_to(&self) -> Option<&str> {
        self.save_to.as_deref()
    }

    /// Opens the help over what is in front.
    pub(super) fn open_help(&mut self) {
        self.behind_help = self.mode;
        self.help = Help::default();
        self.mode = Mode::Help;
    }

    /// The layer to go back to from a question.
    pub(super) const fn resting(&self) -> Mode {
        if self.sheet_open {
            Mode::Sheet
        } else {
            Mode::Browse
        }
    }

    /// Tells what is wrong with the answer that is typed.
    pub(super) fn problem_of_prompt(&mut self, problem: String) {
        if let Some(prompt) = &mut self.prompt {
            prompt.problem = Some(problem);
        }
    }

    /// The rows of the subject that is edited.
    pub fn rows(&self) -> Vec<Row> {
        sheet::rows(self.trip(), self.topic, self.leg)
    }

    /// Shows another plan, the cursor and the zoom staying where they are as far as can be.
    fn show(&mut self, picture: Arc<Picture>) {
        let whole = self.shows_all();
        let (leg, at) = (self.leg, self.at);
        let into = self
            .chosen()
            .map_or(Kilometres::ZERO, |leg| at - leg.from_km);
        self.shown = picture;
        self.attribution = None;
        self.chart = OnceCell::new();
        self.story = OnceCell::new();
        self.leg = leg.clamp(1, self.plan().legs.len().max(1));
        self.at = self.chosen().map_or(Kilometres::ZERO, |leg| {
            leg.from_km + into.max(Kilometres::ZERO).min(leg.distance)
        });
        let length = self.strip().length().max(CLOSEST);
        self.look.span = if whole {
            length
        } else {
            self.look.span.min(length)
        };
        self.follow();
    }

    /// The trip was changed: nothing is tried any more, and what was found out about it is worth nothing.
    pub(super) fn settle(&mut self) {
        self.trial = None;
        // Ways are those of one trip; whoever makes one keeps them.
        self.ways = None;
        self.forget_tips();
    }

    /// Tries what a change would make of the trip, without making it.
    ///
    /// # Errors
    /// When the change does not fit.
    pub(super) fn try_out(&mut self, change: &Change) -> Result<(), String> {
        let (trip, _) = change
            .apply(self.history.trip())
            .map_err(|error| error.to_string())?;
        self.trial = Some((Arc::new(trip), None));
        Ok(())
    }

    /// Goes back to the trip as it stands, whatever was tried.
    pub(super) fn give_up_trial(&mut self) {
        self.trial = None;
    }

    /// Makes a change and shows what follows from it.
    ///
    /// # Errors
    /// What is wrong with it; then nothing has changed.
    pub fn make(&mut self, change: &Change) -> Result<(), String> {
        self.history
            .make(change)
            .map_err(|error| error.to_string())?;
        self.settle();
        self.status = Some(change.name.clone().into());
        Ok(())
    }

    /// The map of the plan that is shown; nothing without coordinates. Made when first looked at.
    pub fn chart(&self) -> Option<&Chart> {
        self.chart.get_or_init(|| Chart::of(self.strip())).as_ref()
    }

    /// What was read off on the way against what was planned; nothing without a log. Made when first looked at.
    pub fn story(&self) -> Option<&Story> {
        self.story.get_or_init(|| Story::of(self.plan())).as_ref()
    }

    /// The reader's units.
    pub const fn units(&self) -> Units {
        self.units
    }

    /// Number of the chosen leg, from 1.
    pub const fn leg(&self) -> usize {
        self.leg
    }

    /// The chosen leg; nothing on a trip without legs.
    pub fn chosen(&self) -> Option<&PlannedLeg> {
        self.plan().legs.get(self.leg - 1)
    }

    /// The cursor, from the start of the trip.
    pub const fn at(&self) -> Kilometres {
        self.at
    }

    /// The part of the trip that is shown.
    pub const fn look(&self) -> Look {
        self.look
    }

    /// Whether the whole trip is shown.
    pub fn shows_all(&self) -> bool {
        self.look.span >= self.strip().length()
    }

    /// Lines that a panel is scrolled by.
    pub const fn scroll_of(&self, panel: Panel) -> usize {
        self.scroll[panel as usize]
    }

    /// How many entries a panel has to scroll through.
    pub fn entries(&self, panel: Panel) -> usize {
        let plan = self.plan();
        match panel {
            Panel::Leg => 1 + Cause::ALL.len(),
            Panel::Findings => plan.findings.len(),
            Panel::Stops => plan.stops.len() + plan.pours.len(),
            Panel::Card => plan.decisions.len(),
            Panel::Load => super::view::load::entry_count(self),
            Panel::Dry => dry::line_count(plan),
            Panel::Odds => plan.doubt.as_ref().map_or(0, odds::line_count),
            Panel::Ledger => self.ledger().map_or(0, ledger::line_count),
            Panel::Log => plan
                .behind
                .as_deref()
                .map_or(1, |behind| behind.ways.len() + 3),
            Panel::Fit => crate::model::fitted::COMPONENTS,
            Panel::Map | Panel::Dials => 0,
        }
    }

    /// What the spare fuel is for, where it is worked out: with the odds, or when it is looked at.
    pub fn ledger(&self) -> Option<&Ledger> {
        self.plan().known_ledger()
    }

    /// The causes of the chosen leg, the strongest first; nothing until [`State::attend`] was called.
    pub fn causes(&self) -> &[CauseShare] {
        match &self.attribution {
            Some((leg, attribution)) if *leg == self.leg => &attribution.causes,
            _ => &[],
        }
    }

    /// Plans what is to be shown, whatever time that takes, and works out what the chosen leg needs.
    pub fn attend(&mut self) {
        self.look_at_trials();
        while let Some(job) = self.to_plan() {
            let made = job.done(self.units);
            self.take_planned(&job, made);
        }
        self.attribute();
    }

    /// Looks at what is typed and at the dials, once before a frame and not once for each key.
    pub(super) fn look_at_trials(&mut self) {
        super::edit::try_what_is_typed(self);
        self.renew_beneath();
        self.refresh();
    }

    /// Works out what the chosen leg needs and is not known yet: only the leg that is looked at is attributed.
    pub(super) fn attribute(&mut self) {
        // With the odds it comes from the thread that samples.
        let is_plain = self.plan().doubt.is_none() && self.plan().legs.len() <= LEDGER_OF;
        if self.focus == Panel::Ledger && is_plain {
            self.plan().ledger();
        }
        let known = matches!(&self.attribution, Some((leg, _)) if *leg == self.leg);
        if !known && self.chosen().is_some() {
            let mut attribution = self.plan().attribution(self.leg).clone();
            let strength = |share: &CauseShare| {
                share
                    .multiplier
                    .map_or(0.0, |factor| factor.get().ln().abs())
            };
            attribution
                .causes
                .sort_by(|a, b| strength(b).total_cmp(&strength(a)));
            self.attribution = Some((self.leg, attribution));
        }
    }

    /// Chooses a leg and puts the cursor to its start.
    pub(super) fn choose(&mut self, leg: usize) {
        // A leg that was just put in may not be planned yet.
        let last = if self.is_behind() {
            self.trip().legs.len()
        } else {
            self.plan().legs.len()
        };
        self.leg = leg.clamp(1, last.max(1));
        self.at = self
            .chosen()
            .map_or(self.strip().length(), |leg| leg.from_km);
        self.scroll[Panel::Leg as usize] = 0;
        self.follow();
    }

    /// Puts the cursor to a kilometre and chooses the leg there.
    pub(super) fn go_to(&mut self, km: Kilometres) {
        let km = km.max(Kilometres::ZERO).min(self.strip().length());
        self.choose(self.strip().leg_at(km));
        self.at = km;
        self.follow();
    }

    /// Shows `span` kilometres, the cursor staying where it is on the screen as far as can be.
    pub(super) fn zoom_to(&mut self, span: Kilometres) {
        let before = (self.at - self.look.left) / self.look.span;
        self.look.span = span.max(CLOSEST).min(self.strip().length().max(CLOSEST));
        self.look.left = self.at - self.look.span * before;
        self.follow();
    }

    /// Shows the chosen leg and nothing else.
    pub(super) fn zoom_to_leg(&mut self) {
        if let Some((from, length)) = self.chosen().map(|leg| (leg.from_km, leg.distance)) {
            self.look.span = length.max(CLOSEST).min(self.strip().length().max(CLOSEST));
            self.look.left = from;
            self.keep_inside();
        }
    }

    /// Scrolls the strip so that the cursor is on it.
    fn follow(&mut self) {
        let margin = self.look.span * MARGIN;
        let leftmost = self.at + margin - self.look.span;
        let rightmost = self.at - margin;
        self.look.left = self.look.left.max(leftmost).min(rightmost);
        self.keep_inside();
    }

    /// Shows nothing before the start or past the end.
    fn keep_inside(&mut self) {
        let last = (self.strip().length() - self.look.span).max(Kilometres::ZERO);
        self.look.left = self.look.left.min(last).max(Kilometres::ZERO);
    }

    /// Scrolls a panel, but never past its last entry.
    pub(super) fn scroll_panel(&mut self, panel: Panel, down: bool) {
        let last = self.entries(panel).saturating_sub(1);
        let scroll = &mut self.scroll[panel as usize];
        *scroll = if down {
            (*scroll + 1).min(last)
        } else {
            scroll.saturating_sub(1)
        };
    }
}
