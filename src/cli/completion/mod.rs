//! Completion scripts for the shells whose generated ones fail: the first word of the program is a command or a trip,
//! and generated scripts know one or the other.
//!
//! The scripts are made of the definitions of the command line. They find the command among the words typed so far.
//! Then they offer its options, the words of an option or argument that has a closed list, and files where files are
//! expected.

mod bash;
mod fish;
mod zsh;

use clap::{Arg, Command, ValueHint};

pub(super) use bash::script as bash;
pub(super) use fish::script as fish;
pub(super) use zsh::script as zsh;

/// What follows an option, or is an argument.
enum Value {
    /// One of these words.
    Words(Vec<Word>),
    /// A path, which the shell completes itself.
    File,
    /// Any other text, which cannot be completed.
    Text,
}

/// A word with its meaning.
struct Word {
    name: String,
    help: String,
}

/// An option of a command.
struct Choice {
    /// With its dashes.
    long: String,
    /// With its dash.
    short: Option<String>,
    help: String,
    /// `None` for a flag.
    value: Option<Value>,
    /// Whether it can be repeated.
    is_repeated: bool,
}

/// A command, or the program without one.
struct CommandSpec {
    /// Empty for the program itself.
    name: String,
    help: String,
    options: Vec<Choice>,
    /// Its arguments, in order; the last is for all that follow.
    arguments: Vec<Value>,
}

impl CommandSpec {
    fn new(name: &str, command: &Command, commands: &[Word]) -> Self {
        let is_shown = |arg: &&Arg| !arg.is_hide_set();
        let options = command.get_arguments().filter(is_shown).filter_map(|arg| {
            Some(Choice {
                long: format!("--{}", arg.get_long()?),
                short: arg.get_short().map(|short| format!("-{short}")),
                help: help_of(arg),
                value: arg.get_action().takes_values().then(|| value_of(arg)),
                is_repeated: matches!(arg.get_action(), clap::ArgAction::Append),
            })
        });
        let is_of_commands = ["man", "help"].contains(&name);
        let arguments = if is_of_commands {
            let words = commands.iter().map(Word::again);
            vec![Value::Words(words.collect())]
        } else {
            command.get_positionals().map(value_of).collect()
        };
        Self {
            name: name.to_owned(),
            help: command
                .get_about()
                .map_or_else(String::new, ToString::to_string),
            options: options.collect(),
            arguments,
        }
    }
}

impl Word {
    fn again(&self) -> Self {
        Self {
            name: self.name.clone(),
            help: self.help.clone(),
        }
    }
}

/// The program itself, and after it every command.
fn command_specs(program: &Command) -> Vec<CommandSpec> {
    let mut commands: Vec<Word> = program
        .get_subcommands()
        .filter(|command| command.get_name() != "help")
        .map(|command| Word {
            name: command.get_name().to_owned(),
            help: command
                .get_about()
                .map_or_else(String::new, ToString::to_string),
        })
        .collect();
    commands.push(Word {
        name: "help".to_owned(),
        help: "Print the help of a command".to_owned(),
    });
    let mut command_specs = vec![CommandSpec::new("", program, &commands)];
    for command in &commands {
        command_specs.push(match program.find_subcommand(&command.name) {
            Some(found) if command.name != "help" => {
                CommandSpec::new(&command.name, found, &commands)
            }
            _ => CommandSpec {
                help: command.help.clone(),
                ..CommandSpec::new("help", &Command::new("help"), &commands)
            },
        });
    }
    command_specs
}

/// A part of a script with the options that a value follows and the commands in it.
fn filled(part: &str, command_specs: &[CommandSpec], separator: &str) -> String {
    let options = options_with_values(command_specs).join(separator);
    let commands = command_names(command_specs).join(separator);
    part.replace("VALUED", &options)
        .replace("COMMANDS", &commands)
}

/// The names of the commands, the program itself left out.
fn command_names(command_specs: &[CommandSpec]) -> Vec<&str> {
    let commands = command_specs[1..].iter();
    commands.map(|spec| spec.name.as_str()).collect()
}

/// Every option that a value follows, of any command, once.
fn options_with_values(command_specs: &[CommandSpec]) -> Vec<&str> {
    let options = command_specs.iter().flat_map(|spec| &spec.options);
    let mut names: Vec<&str> = options
        .filter(|option| option.value.is_some())
        .flat_map(|option| [Some(option.long.as_str()), option.short.as_deref()])
        .flatten()
        .collect();
    names.sort_unstable();
    names.dedup();
    names
}

fn value_of(arg: &Arg) -> Value {
    let words = arg.get_possible_values();
    if !words.is_empty() {
        let words = words.iter().map(|word| Word {
            name: word.get_name().to_owned(),
            help: word
                .get_help()
                .map_or_else(String::new, ToString::to_string),
        });
        return Value::Words(words.collect());
    }
    match arg.get_value_hint() {
        ValueHint::AnyPath | ValueHint::FilePath => Value::File,
        _ => Value::Text,
    }
}

fn help_of(arg: &Arg) -> String {
    arg.get_help().map_or_else(String::new, ToString::to_string)
}

/// The text between single quotes of a shell that ends and begins them again around one of its own.
fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', r"'\''"))
}
