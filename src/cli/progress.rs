//! Work that takes seconds shows on stderr that it goes on, and for how long by now; only on a terminal, and gone once
//! it is done.

use std::io::{self, IsTerminal, Write};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use crate::quantity::Share;

/// So often it is shown how long the work takes; quicker work shows nothing.
const EVERY: Duration = Duration::from_secs(1);

/// Does some work, and shows that on stderr while it lasts.
pub(crate) fn shown<T>(what: &str, work: impl FnOnce() -> T) -> T {
    if io::stderr().is_terminal() {
        shown_on(io::stderr(), EVERY, what, work)
    } else {
        work()
    }
}

fn shown_on<T>(
    mut out: impl Write + Send,
    every: Duration,
    what: &str,
    work: impl FnOnce() -> T,
) -> T {
    let (done, is_done) = mpsc::channel::<()>();
    thread::scope(|scope| {
        scope.spawn(move || {
            let start = Instant::now();
            let mut is_shown = false;
            while is_done.recv_timeout(every) == Err(RecvTimeoutError::Timeout) {
                // Nobody waits for the words, so what cannot be written is left.
                let _ = write!(out, "\r{what}: {} s", start.elapsed().as_secs());
                let _ = out.flush();
                is_shown = true;
            }
            if is_shown {
                let _ = write!(out, "\r\x1b[K");
                let _ = out.flush();
            }
        });
        let result = work();
        drop(done);
        result
    })
}

/// Shows on stderr how far some work is and how long the rest takes, on a terminal only; the line goes with the work.
pub(crate) fn counted(what: &'static str) -> Arc<dyn Fn(Share) -> bool + Send + Sync> {
    let start = Instant::now();
    let shown = Mutex::new(start);
    let is_shown = io::stderr().is_terminal();
    Arc::new(move |done: Share| {
        let mut last = shown.lock().unwrap_or_else(PoisonError::into_inner);
        if is_shown && last.elapsed() >= EVERY {
            *last = Instant::now();
            let passed = start.elapsed().as_secs_f64();
            let left = passed * (1.0 - done.get()) / done.get().max(1e-3);
            // What cannot be written is left.
            let _ = write!(
                io::stderr(),
                "\r{what}: {:.0} %, {left:.0} s left\x1b[K{}",
                done.get() * 100.0,
                if done.get() > 0.99 { "\r\x1b[K" } else { "" }
            );
        }
        true
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Clone, Default)]
    struct Kept(Arc<Mutex<Vec<u8>>>);

    impl Write for Kept {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.lock().expect("one writes").extend(bytes);
            Ok(bytes.len())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    fn output_of(every: Duration, work: impl FnOnce()) -> String {
        let out = Kept::default();
        shown_on(out.clone(), every, "Simulating trips", work);
        let bytes = out.0.lock().expect("nobody writes any more").clone();
        String::from_utf8(bytes).expect("words")
    }

    #[test]
    fn long_work_is_shown_and_cleared_and_quick_work_is_not() {
        let long = output_of(Duration::from_millis(1), || {
            thread::sleep(Duration::from_millis(50));
        });
        assert!(long.starts_with("\rSimulating trips: 0 s"), "{long:?}");
        assert!(long.ends_with("\r\x1b[K"), "{long:?}");
        assert_eq!(output_of(Duration::from_secs(60), || ()), "");
    }
}
