//! Every intention that a user can have, whatever key or click it comes from.

use super::line::Reach;
use super::state::Panel;
use crate::model::dial::Dial;
use crate::plan::tipping::Tips;
use crate::quantity::Kilometres;

/// One intention of the user.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Message {
    /// Choose the leg before.
    PreviousLeg,
    /// Choose the next leg.
    NextLeg,
    /// Go to the start of the trip.
    TripStart,
    /// Go to the end of the trip.
    TripEnd,
    /// Go back by what the strip shows at once.
    PageBack,
    /// Go on by what the strip shows at once.
    PageOn,
    /// Go back by a hundredth of what the strip shows.
    StepBack,
    /// Go on by a hundredth of what the strip shows.
    StepOn,
    /// Go to the mark before: a pour, a turn-back point, a fall below the reserve.
    PreviousMark,
    /// Go to the next mark.
    NextMark,
    /// Show half as many kilometres.
    ZoomIn,
    /// Show twice as many kilometres.
    ZoomOut,
    /// Show the chosen leg alone.
    ZoomLeg,
    /// Show the whole trip.
    ZoomTrip,
    /// Move to the next panel.
    NextPanel,
    /// Move to the panel before.
    PreviousPanel,
    /// Scroll up what is in front.
    ScrollUp,
    /// Scroll down what is in front.
    ScrollDown,
    /// Make the next of the changes that make the trip fit, in place of the one before.
    TryWay,
    /// Open the list of keys.
    Help,
    /// Close the top layer.
    Close,
    /// Let the terminal have the mouse back, or take it.
    ToggleMouse,
    /// Paint everything anew.
    Repaint,
    /// Stop the program until it is called back.
    Suspend,
    /// End the program.
    Quit,
    /// Edit what is in front: the chosen leg, or what the panel is about.
    Edit,
    /// Write down an arrival on the way.
    Arrive,
    /// Undo the last change.
    Undo,
    /// Do again what was undone.
    Redo,
    /// Save the trip in its file.
    Save,
    /// Save the trip in another file.
    SaveAs,
    /// Take what was typed, or edit the chosen row.
    Enter,
    /// State nothing in the chosen row.
    Clear,
    /// Put something new behind what the row is about.
    Add,
    /// Put a copy behind it.
    Duplicate,
    /// Take it out.
    Delete,
    /// Put it before the one before.
    Earlier,
    /// Put it behind the next one.
    Later,
    /// Cut the leg in two.
    Split,
    /// Make one leg of this and the next.
    Join,
    /// Turn the leg round.
    Reverse,
    /// Drive the whole trip the other way.
    ReverseTrip,
    /// Drive back over the same legs.
    OutAndBack,
    /// Drive this leg and those behind it a day later.
    DayLater,
    /// Drive this leg and those behind it a day earlier.
    DayEarlier,
    /// Type a character.
    Type(char),
    /// Move the cursor in what is typed.
    Go(Reach),
    /// Take away what was typed.
    Erase(Reach),
    /// Answer yes.
    Yes,
    /// Answer no.
    No,
    /// Choose a row that was clicked on.
    Row(usize),
    /// Turn the dials.
    Dials,
    /// Turn the chosen dial on.
    TurnOn,
    /// Turn it back.
    TurnBack,
    /// Turn it on by one notch.
    TurnFinelyOn,
    /// Turn it back by one notch.
    TurnFinelyBack,
    /// Put the chosen dial to what the trip states.
    ResetDial,
    /// Put all dials there.
    ResetDials,
    /// Keep what the dials stand at under a name.
    KeepDials,
    /// Take up the next of the what-ifs that are kept.
    NextWhatIf,
    /// Show the kept what-ifs side by side.
    SideBySide,
    /// Find a place by a part of its name.
    Find,
    /// Go to the chosen finding, or look at the chosen leg alone.
    Look,
    /// Where a slider changes the verdict was found, for the state with that count.
    VerdictChanges(u64, Dial, Tips),
    /// The ways to make it fit that were looked for are known.
    WaysFound,
    /// Go to a kilometre that was clicked on.
    GoTo(Kilometres),
    /// Move to a panel that was clicked on.
    Focus(Panel),
}

/// Something that `update` cannot do itself, because it needs the terminal.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// End the program.
    Quit,
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
    /// Take up the edits that were left unsaved, or drop them.
    Recover(bool),
    /// Read the file again.
    Reload,
}
