//! The ground of the terminal: it is asked for its background colour (OSC 11, xterm's control sequences), and the answer is
//! taken out of what is typed whenever it comes. Nothing waits for it.

use std::time::{Duration, Instant};

use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};

use super::theme::Ground;

/// The escape sequence that asks a terminal for the colour of its background.
pub(super) const ASK: &str = "\u{1b}]11;?\u{1b}\\";
/// An answer that comes later is taken for keys.
const PATIENCE: Duration = Duration::from_secs(3);
/// A longer answer is none.
const LONGEST: usize = 40;

/// What is known of the answer.
#[derive(Debug, Default)]
enum Answer {
    /// Not asked, or no longer awaited.
    #[default]
    None,
    Awaited(Instant),
    /// Its beginning has come.
    Begun(String),
    /// Its end is an escape sequence whose second half is still to come.
    Ending,
}

/// Takes the answer out of the events.
#[derive(Debug, Default)]
pub(super) struct Listener {
    answer: Answer,
}

impl Listener {
    /// Listens from now on.
    pub(super) fn since(asked: Instant) -> Self {
        Self {
            answer: Answer::Awaited(asked),
        }
    }

    /// The events that are keys of the user, and the ground if the answer is complete.
    pub(super) fn filter(&mut self, events: Vec<Event>) -> (Vec<Event>, Option<Ground>) {
        let mut ground = None;
        let mut typed = Vec::with_capacity(events.len());
        for event in events {
            let Event::Key(key) = event else {
                typed.push(event);
                continue;
            };
            match std::mem::take(&mut self.answer) {
                Answer::Awaited(since) if is_start(key) && since.elapsed() < PATIENCE => {
                    self.answer = Answer::Begun(String::new());
                }
                Answer::Awaited(since) => {
                    self.answer = Answer::Awaited(since);
                    typed.push(event);
                }
                Answer::Begun(text) if is_end(key) => ground = parsed(&text),
                Answer::Begun(text) if key.code == KeyCode::Esc => {
                    ground = parsed(&text);
                    self.answer = Answer::Ending;
                }
                Answer::Begun(mut text) => {
                    if let KeyCode::Char(c) = key.code
                        && text.len() < LONGEST
                    {
                        text.push(c);
                        self.answer = Answer::Begun(text);
                    }
                }
                Answer::Ending if key.code == KeyCode::Char('\\') => {}
                Answer::Ending | Answer::None => typed.push(event),
            }
        }
        (typed, ground)
    }
}

/// `ESC ]` as a key.
fn is_start(key: KeyEvent) -> bool {
    key.code == KeyCode::Char(']') && key.modifiers.contains(KeyModifiers::ALT)
}

/// `ESC \` or BEL as a key.
fn is_end(key: KeyEvent) -> bool {
    match key.code {
        KeyCode::Char('\\') => key.modifiers.contains(KeyModifiers::ALT),
        KeyCode::Char('g') => key.modifiers.contains(KeyModifiers::CONTROL),
        _ => false,
    }
}

/// `11;rgb:ffff/ffff/ffff`, of one to four hexadecimal digits a channel (X11, `XParseColor`).
fn parsed(answer: &str) -> Option<Ground> {
    let channels = answer.strip_prefix("11;rgb:")?;
    let channel = |text: &str| {
        let most = 16_u32.checked_pow(u32::try_from(text.len()).ok()?)? - 1;
        let value = u32::from_str_radix(text, 16).ok()?;
        (most > 0).then(|| f64::from(value) / f64::from(most))
    };
    let values: Option<Vec<f64>> = channels.split('/').map(channel).collect();
    let [red, green, blue] = values?.try_into().ok()?;
    // ITU-R BT.601 luma.
    let luma = 0.299 * red + 0.587 * green + 0.114 * blue;
    Some(if luma > 0.5 {
        Ground::Light
    } else {
        Ground::Dark
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn keys(text: &str) -> Vec<Event> {
        let key = |c, modifiers| Event::Key(KeyEvent::new(KeyCode::Char(c), modifiers));
        let mut alt = KeyModifiers::NONE;
        let mut events = Vec::new();
        for c in text.chars() {
            if c == '\u{1b}' {
                alt = KeyModifiers::ALT;
            } else {
                events.push(key(c, std::mem::replace(&mut alt, KeyModifiers::NONE)));
            }
        }
        events
    }

    #[test]
    fn an_answer_among_keys_is_taken_out_and_understood() {
        let mut listener = Listener::since(Instant::now());
        let (typed, ground) = listener.filter(keys("a\u{1b}]11;rgb:fdfd/f6f6/"));
        assert_eq!((typed, ground), (keys("a"), None));
        let (typed, ground) = listener.filter(keys("e3e3\u{1b}\\b"));
        assert_eq!((typed, ground), (keys("b"), Some(Ground::Light)));
        let (typed, ground) = listener.filter(keys("\u{1b}]x"));
        assert_eq!((typed, ground), (keys("\u{1b}]x"), None));
    }

    #[test]
    fn grounds_are_told_apart_by_brightness() {
        assert_eq!(parsed("11;rgb:0000/0000/0000"), Some(Ground::Dark));
        assert_eq!(parsed("11;rgb:f/f/f"), Some(Ground::Light));
        assert_eq!(parsed("11;rgb:00/2b/36"), Some(Ground::Dark));
        assert_eq!(parsed("11;rgb:zz/00/00"), None);
        assert_eq!(parsed("11;?"), None);
    }
}
