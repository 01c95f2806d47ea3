//! The screen, drawn from the state alone; nothing is changed here.
//!
//! Layout in `layout`, one file a pane. Panes survive an area of any size, also of none.

mod ask;
mod footer;
mod form;
pub(super) mod help;
pub(crate) mod labels;
pub(crate) mod layout;
pub mod opening;
pub(in crate::tui) mod panels;
mod shapes;
mod sheet;
mod side_by_side;
mod sliders;
pub mod start;
pub(crate) mod strip;
pub(crate) mod text;
mod title;
mod verdict;

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};
use ratatui::widgets::{Clear, Widget};

use super::Options;
use super::keymap::Layer;
use super::message::Message;
use super::state::{Mode, State};
use super::theme::{Depth, Ground, Theme};
use crate::platform::Platform;
use layout::{Places, places_of};
use strip::grid::Grid;

/// How the screen is drawn, whatever it shows.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// The colours by meaning.
    pub theme: Theme,
    /// Whether only ASCII may be used.
    pub ascii: bool,
}

impl Look {
    /// Whether it has colours.
    pub(super) fn is_coloured(self) -> bool {
        self.theme.is_coloured()
    }

    /// The look on the background that the terminal reported.
    #[must_use]
    pub(super) fn on(self, ground: Option<Ground>) -> Self {
        Self {
            theme: ground.map_or(self.theme, |ground| self.theme.on(ground)),
            ..self
        }
    }

    /// The look with a theme that knows whether only ASCII may be used.
    const fn settled(self) -> Self {
        Self {
            theme: self.theme.ascii(self.ascii),
            ..self
        }
    }

    /// As the user chose and the terminal allows.
    pub(super) fn of(options: Options) -> Self {
        let env = |name: &str| Some(std::env::var_os(name)?.to_string_lossy().into_owned());
        let depth = Depth::from_env(options.color, Platform::HERE, env);
        Self {
            theme: Theme::new(depth).on(options.ground.unwrap_or_default()),
            ascii: options.ascii,
        }
    }
}

/// Draws the state into an area; the position of the cursor, if something is typed.
pub fn view(state: &State, look: Look, area: Rect, buf: &mut Buffer) -> Option<Position> {
    let look = look.settled();
    let area = area.intersection(buf.area);
    let mut cursor = None;
    if layout::is_too_small(area) {
        too_small(area, buf);
    } else {
        cursor = match state.mode {
            Mode::Help | Mode::FindHelp => {
                footer::render(state, look.ascii, text::last_row(area), buf);
                help::render(&state.help, area, buf)
            }
            _ => {
                let cursor = browse(state, look.theme, area, buf);
                footer::notice(state, text::last_row(area), buf);
                cursor
            }
        };
    }
    if look.ascii {
        shapes::to_ascii(buf);
    }
    cursor
}

/// Draws a screen on which there is no plan: what `draw` draws, and below it the keys of a layer that work.
fn without_plan(
    (layer, works): (Layer, impl Fn(Message) -> bool),
    look: Look,
    area: Rect,
    buf: &mut Buffer,
    draw: impl FnOnce(Rect, &mut Buffer) -> Option<Position>,
) -> Option<Position> {
    let area = area.intersection(buf.area);
    let cursor = if layout::is_too_small(area) {
        too_small(area, buf);
        None
    } else {
        footer::keys((layer, look.ascii), works, text::last_row(area), buf);
        draw(area, buf)
    };
    if look.ascii {
        shapes::to_ascii(buf);
    }
    cursor
}

/// What is needed, where there is less.
fn too_small(area: Rect, buf: &mut Buffer) {
    let (width, height) = layout::LEAST;
    let message = format!("terminal too small: needs {width} x {height}");
    text::write_wrapped(buf, area, &message, super::theme::BOLD);
}

fn browse(state: &State, theme: Theme, area: Rect, buf: &mut Buffer) -> Option<Position> {
    let layer = state.mode != Mode::Browse;
    let places = places_of(state, area);
    title::render(state, places.title, buf);
    verdict::render(state, theme, places.verdict, buf);
    let seen = strip::render(state, theme, &places.strip, buf);
    footer::render(state, theme.is_ascii(), places.footer, buf);
    if state.is_table_open() && matches!(state.mode, Mode::Legs | Mode::Field) {
        let page = places.under_head();
        Clear.render(page, buf);
        return panels::legs_page(state, theme, page, buf);
    }
    if layer {
        let area = places.below();
        panels(state, theme, &places, buf);
        return match (state.mode, &state.prompt) {
            (Mode::Ask(question), _) => {
                ask::question(state, question, area, buf);
                None
            }
            (Mode::Sliders, _) => {
                sliders::render(state, theme, area, buf);
                None
            }
            (Mode::SideBySide, _) => {
                side_by_side::render(state, theme, area, buf);
                None
            }
            (Mode::Form, _) => state
                .form
                .as_ref()
                .and_then(|form| form::render(form, theme, area, buf)),
            (Mode::Prompt, Some(prompt)) => Some(ask::prompt(state, prompt, theme, area, buf)),
            _ => sheet::render(state, theme, area, buf),
        };
    }
    seen.render(places.legend, buf);
    panels(state, theme, &places, buf);
    None
}

fn panels(state: &State, theme: Theme, places: &Places, buf: &mut Buffer) {
    let is_alone = places.panels.len() == 1;
    for &(panel, area) in &places.panels {
        if area.y < places.strip.axis.bottom() {
            Clear.render(area, buf);
        }
        panels::render(state, theme, panel, (area, is_alone), buf);
    }
}

/// What a click at a cell of the screen means.
pub fn click(state: &State, area: Rect, at: Position) -> Option<Message> {
    if layout::is_too_small(area)
        || !matches!(state.mode, Mode::Browse | Mode::Sheet | Mode::Sliders)
    {
        return None;
    }
    let places = places_of(state, area);
    let below = places.below();
    if state.mode == Mode::Sheet && below.contains(at) {
        return sheet::row_at(state, below, at.y).map(Message::Row);
    }
    if state.mode == Mode::Sliders && below.contains(at) {
        return sliders::row_at(state, below, at.y).map(Message::Row);
    }
    let fuel = places.strip.fuel;
    let strip = Rect {
        y: places.strip.labels.y,
        height: places.strip.labels.height,
        ..fuel
    };
    if strip.contains(at) {
        let grid = Grid::of(state, fuel.width);
        return Some(Message::GoTo(grid.middle_of(at.x - fuel.x)));
    }
    let panel = places.panels.iter().find(|(_, area)| area.contains(at));
    panel.map(|&(panel, _)| Message::Focus(panel))
}

/// What a turn of the wheel over a cell of the screen means: the way on the strip, the panel that is there, else
/// scrolling.
pub fn wheel(state: &State, area: Rect, at: Position, down: bool) -> Message {
    match (click(state, area, at), down) {
        (Some(Message::GoTo(_)), true) => Message::NextLeg,
        (Some(Message::GoTo(_)), false) => Message::PreviousLeg,
        // Another panel is chosen first; the next turn scrolls it.
        (Some(Message::Focus(panel)), _) if panel != state.focus => Message::Focus(panel),
        (_, true) => Message::ScrollDown,
        (_, false) => Message::ScrollUp,
    }
}
