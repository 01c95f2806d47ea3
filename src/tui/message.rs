//! Every intention that a user can have, whatever key or click it comes from.

use super::state::Panel;
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
}
