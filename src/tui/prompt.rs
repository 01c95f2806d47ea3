//! A question that is answered with a line of text.

use super::line::Line;
use crate::quantity::Kilometres;

/// The question, the answer so far, and what is wrong with it.
#[derive(Clone, Debug)]
pub struct Prompt {
    /// What is asked.
    pub purpose: Purpose,
    /// The answer so far.
    pub line: Line,
    /// What is wrong with it.
    pub problem: Option<String>,
}

/// What the answer is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Purpose {
    /// The file to save in.
    SaveAs {
        /// Whether the program ends after that.
        then_quit: bool,
    },
    /// The kilometre at which the chosen leg is cut.
    SplitAt {
        /// Length of the leg.
        length: Kilometres,
    },
    /// The name under which the dials are kept.
    KeepDials,
    /// A part of the name of a place to go to.
    Find,
}

impl Prompt {
    /// The question with a proposed answer.
    pub fn new(purpose: Purpose, proposed: impl Into<String>) -> Self {
        Self {
            purpose,
            line: Line::new(proposed),
            problem: None,
        }
    }
}
