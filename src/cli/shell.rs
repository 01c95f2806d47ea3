//! `drystage completions` and `drystage man`: both made of the definitions of the command line.

use clap::Command;
use clap_complete::Shell;

use super::args::{Completions, Man, program};
use super::completion;
use super::failure::Failure;
use super::{DONE, files};
use crate::model::near::nearest;

/// Prints the completions for a shell.
pub(crate) fn completions(asked: &Completions) -> Result<u8, Failure> {
    let mut program = program();
    files::print(&match asked.shell {
        Shell::Bash => completion::bash(&program),
        Shell::Zsh => completion::zsh(&program),
        Shell::Fish => completion::fish(&program),
        other => {
            let mut text = Vec::new();
            clap_complete::generate(other, &mut program, "drystage", &mut text);
            String::from_utf8_lossy(&text).into_owned()
        }
    })?;
    Ok(DONE)
}

/// Prints the manual page of the program, or of one of its commands.
pub(crate) fn man(asked: &Man) -> Result<u8, Failure> {
    let mut program = program();
    program.build();
    let page = match &asked.command {
        None => program,
        Some(name) => program
            .find_subcommand(name)
            .cloned()
            .map(|command| command.version(env!("CARGO_PKG_VERSION")))
            .ok_or_else(|| no_such(name, &program))?,
    };
    let mut text = Vec::new();
    clap_mangen::Man::new(page)
        .render(&mut text)
        .map_err(|error| Failure::Failed(error.into()))?;
    files::print(&String::from_utf8_lossy(&text))?;
    Ok(DONE)
}

fn no_such(name: &str, program: &Command) -> Failure {
    let commands: Vec<&str> = program
        .get_subcommands()
        .map(Command::get_name)
        .filter(|name| *name != "help")
        .collect();
    let near = nearest(name, commands.iter().copied());
    let near = near.map_or_else(
        || ".".to_owned(),
        |near| format!("; did you mean `{near}`?"),
    );
    Failure::Wrong(format!(
        "there is no command `{name}`{near} The commands are {}",
        commands.join(", ")
    ))
}
