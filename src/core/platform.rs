//! The kind of operating system, where what the program does depends on it.
//!
//! It is a value, so that tests try on one system what happens on the other. What only one of them can compile is marked
//! with `cfg` where it is used: signals in `tui/signals.rs`, owners and mode bits in `io/disk.rs`.

/// A kind of operating system.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Platform {
    /// Linux, macOS and their relatives.
    Unix,
    /// Windows, with paths and consoles of its own.
    Windows,
}

impl Platform {
    /// The kind that the program was compiled for.
    pub const HERE: Self = if cfg!(windows) {
        Self::Windows
    } else {
        Self::Unix
    };
}
