//! What ends or stops the program from outside: signals, or the events of a Windows console.

pub(super) use system::{HUNG_UP, stop, watch};

#[cfg(unix)]
mod system {
    use std::{io, thread};

    use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP};
    use signal_hook::iterator::Signals;
    use signal_hook::low_level::emulate_default_handler;

    /// Exit status of a program whose terminal is gone.
    pub(in crate::tui) const HUNG_UP: i32 = 128 + SIGHUP;

    /// Has a thread of its own end the program with an exit status, stop it, or have it go on, as signals demand.
    pub(in crate::tui) fn watch(end: fn(i32), stop: fn(), go_on: fn()) -> io::Result<()> {
        let mut signals = Signals::new([SIGTERM, SIGINT, SIGHUP, SIGQUIT, SIGTSTP, SIGCONT])?;
        let listen = move || {
            for signal in signals.forever() {
                match signal {
                    SIGTSTP => stop(),
                    SIGCONT => go_on(),
                    _ => end(128 + signal),
                }
            }
        };
        let name = "signals".to_owned();
        thread::Builder::new().name(name).spawn(listen)?;
        Ok(())
    }

    /// Stops the program; returns when it goes on.
    pub(in crate::tui) fn stop() -> io::Result<()> {
        emulate_default_handler(SIGTSTP)
    }
}

#[cfg(windows)]
mod system {
    use std::io;

    /// Exit status of a program whose console is gone: the one with which Windows itself ends it then
    /// (`STATUS_CONTROL_C_EXIT`, 0xC000013A).
    pub(in crate::tui) const HUNG_UP: i32 = -0x3FFF_FEC6;

    /// Has a thread of its own end the program with an exit status after Ctrl-C, Ctrl-Break, a closed window, logging off
    /// and shutting down. Windows may end it before the thread has done so, as a kill does; it stops none.
    pub(in crate::tui) fn watch(end: fn(i32), _stop: fn(), _go_on: fn()) -> io::Result<()> {
        ctrlc::set_handler(move || end(HUNG_UP)).map_err(io::Error::other)
    }

    /// Returns at once: no shell of Windows calls a stopped program back, so no key stops it.
    #[expect(clippy::unnecessary_wraps, reason = "elsewhere it may fail")]
    pub(in crate::tui) fn stop() -> io::Result<()> {
        Ok(())
    }
}
