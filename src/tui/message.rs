//! Every intention that a user can have, whatever key or click it comes from.

use super::line::Reach;
use super::state::Panel;
use crate::model::slider::Slider;
use crate::plan::tipping::Tips;
use crate::quantity::Kilometres;

/// One intention of the user.
#[derive(Clone, Copy, Debug, PartialEq)]
#[expect(missing_docs, reason = "the table of keys says what each does")]
pub enum Message {
    PreviousLeg,
    NextLeg,
    PreviousDay,
    NextDay,
    TripStart,
    TripEnd,
    PageBack,
    PageOn,
    StepBack,
    StepOn,
    /// Go to the mark before: a decant, a turn-back point, a fall below the reserve.
    PreviousMark,
    /// Go to the next mark.
    NextMark,
    ZoomIn,
    ZoomOut,
    ZoomLeg,
    ZoomTrip,
    PanelByNumber,
    NextPanel,
    PreviousPanel,
    ScrollUp,
    ScrollDown,
    TryFix,
    Help,
    Close,
    ToggleMouse,
    Repaint,
    Suspend,
    Quit,
    Edit,
    Arrive,
    FuelStop,
    FillFromMap,
    Calibrate,
    TakeVehicle,
    TakeRoute,
    KeepVehicle,
    Undo,
    Redo,
    Save,
    SaveAs,
    Enter,
    Clear,
    Add,
    Duplicate,
    Delete,
    Earlier,
    Later,
    Split,
    Join,
    Reverse,
    ReverseTrip,
    OutAndBack,
    DayLater,
    DayEarlier,
    Type(char),
    /// Nothing was typed for a while.
    Pause,
    Go(Reach),
    Erase(Reach),
    Yes,
    No,
    Row(usize),
    CellLeft,
    CellRight,
    Range,
    Sliders,
    SliderUp,
    SliderDown,
    SliderUpFinely,
    SliderDownFinely,
    ResetSlider,
    ResetSliders,
    SaveWhatIf,
    NextWhatIf,
    SideBySide,
    Find,
    Look,
    /// Where a slider changes the verdict was found, for the state with that count.
    VerdictChanges(u64, Slider, Tips),
    /// The ways to make it fit that were looked for are known.
    FixesFound,
    GoTo(Kilometres),
    Focus(Panel),
}

impl Message {
    /// The entry that it leads to from number `at` of a list that ends with number `last`; `None` if it scrolls no
    /// list.
    pub(super) fn scrolled(self, at: usize, page: usize, last: usize) -> Option<usize> {
        let to = match self {
            Self::ScrollUp => at.saturating_sub(1),
            Self::ScrollDown => at + 1,
            Self::PageBack => at.saturating_sub(page),
            Self::PageOn => at + page,
            Self::TripStart => 0,
            Self::TripEnd => last,
            Self::Row(row) => row,
            _ => return None,
        };
        Some(to.min(last))
    }
}

/// What becomes of a message, for the keys: no key looks in one layer and edits in another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Act {
    /// Moves, opens, closes, shows.
    Looks,
    /// Moves sliders, which leave the trip as it is.
    Tries,
    /// Changes the trip.
    Edits,
    /// Answers, types, saves, ends.
    Other,
}

impl Message {
    /// What becomes of it.
    pub const fn act(self) -> Act {
        match self {
            Self::SliderUp
            | Self::SliderDown
            | Self::SliderUpFinely
            | Self::SliderDownFinely
            | Self::ResetSlider
            | Self::ResetSliders
            | Self::NextWhatIf => Act::Tries,
            Self::TryFix
            | Self::Arrive
            | Self::FuelStop
            | Self::FillFromMap
            | Self::Calibrate
            | Self::TakeVehicle
            | Self::TakeRoute
            | Self::Undo
            | Self::Redo
            | Self::Clear
            | Self::Add
            | Self::Duplicate
            | Self::Delete
            | Self::Earlier
            | Self::Later
            | Self::Split
            | Self::Join
            | Self::Reverse
            | Self::ReverseTrip
            | Self::OutAndBack
            | Self::DayLater
            | Self::DayEarlier
            | Self::SaveWhatIf => Act::Edits,
            Self::Suspend
            | Self::KeepVehicle
            | Self::Quit
            | Self::Save
            | Self::SaveAs
            | Self::Type(_)
            | Self::Pause
            | Self::Go(_)
            | Self::Erase(_)
            | Self::Yes
            | Self::No
            | Self::VerdictChanges(..)
            | Self::FixesFound => Act::Other,
            _ => Act::Looks,
        }
    }
}

/// Something that `update` cannot do itself, because it needs the terminal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// End the program; what is unsaved is not wanted.
    Quit,
    /// End the program; what is unsaved is offered at the next start.
    Leave,
    /// Give the terminal back until the program is called back.
    Suspend,
    /// Paint everything anew.
    Repaint,
    /// Take the mouse, or let the terminal have it.
    CaptureMouse(bool),
    /// Save the trip.
    Save {
        /// Whether a file that is there, or that somebody else changed, is put aside for it.
        over: bool,
        /// Whether the program ends when it is saved.
        then_quit: bool,
    },
    /// Put the vehicle on the shelf.
    KeepVehicle {
        /// Whether a vehicle of that name is replaced.
        over: bool,
    },
    /// Take up the edits that were left unsaved, or drop them.
    Recover(bool),
    /// Read the file again.
    Reload,
}
