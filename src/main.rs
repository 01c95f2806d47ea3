//! Hands the arguments to the commands and sets the exit status.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(drystage::cli::run(std::env::args_os()))
}
