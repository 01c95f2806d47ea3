//! The completion script for fish 3.0 and later.

use std::fmt::Write as _;

use clap::Command;

use super::{Value, command_specs, filled};

/// What finds the command: its name, `trip` after a trip, or `none`. Whether a number of its arguments are there.
const FIND: &str = r"function __drystage_words
    set -l words (commandline -opc)
    set -e words[1]
    set -l is_value 0
    for word in $words
        if test $is_value = 1
            set is_value 0
            continue
        end
        switch $word
            case VALUED
                set is_value 1
            case '-?*'
            case '*'
                echo $word
        end
    end
end

function __drystage_is
    set -l words (__drystage_words)
    set -l command none
    if set -q words[1]
        if contains -- $words[1] COMMANDS
            set command $words[1]
        else
            set command trip
        end
    end
    contains -- $command $argv
end

function __drystage_has
    test (count (__drystage_words)) -eq $argv[1]
end

complete -c drystage -e
complete -c drystage -f
complete -c drystage -n '__drystage_is none' -F
";

/// The completion script for fish, with the options and words of this version.
pub(in crate::cli) fn script(program: &Command) -> String {
    let command_specs = command_specs(program);
    let mut text = filled(FIND, &command_specs, " ");
    for spec in &command_specs[1..] {
        let _ = writeln!(
            text,
            "complete -c drystage -n '__drystage_is none' -a {} -d {}",
            spec.name,
            quoted(&spec.help)
        );
    }
    for spec in &command_specs {
        let is = match spec.name.as_str() {
            "" => "__drystage_is none trip".to_owned(),
            name => format!("__drystage_is {name}"),
        };
        for option in &spec.options {
            let short = option.short.as_deref().map_or_else(String::new, |short| {
                format!(" -s {}", short.trim_start_matches('-'))
            });
            let _ = writeln!(
                text,
                "complete -c drystage -n '{is}'{short} -l {} -d {}{}",
                option.long.trim_start_matches('-'),
                quoted(&option.help),
                match &option.value {
                    None => String::new(),
                    Some(Value::File) => " -r -F".to_owned(),
                    Some(value) => format!(" -x{}", listed(value)),
                }
            );
        }
        if spec.name.is_empty() {
            continue;
        }
        let last = spec.arguments.len();
        for (at, value) in spec.arguments.iter().enumerate() {
            // The last argument may be repeated, and a file may follow it anywhere.
            let has = if last > 1 || matches!(value, Value::Words(_)) {
                format!("; and __drystage_has {}", at + 1)
            } else {
                String::new()
            };
            let offered = match value {
                Value::File => " -F".to_owned(),
                value => listed(value),
            };
            if !offered.is_empty() {
                let _ = writeln!(text, "complete -c drystage -n '{is}{has}'{offered}");
            }
        }
    }
    text
}

/// The words of a value with their meanings, as an option of `complete`.
fn listed(value: &Value) -> String {
    let Value::Words(words) = value else {
        return String::new();
    };
    let lines = words.iter().map(|word| {
        let help = word.help.replace(['\\', '\''], "");
        format!("{}\\t'{}'", word.name, help)
    });
    let lines: Vec<String> = lines.collect();
    format!(" -a \"{}\"", lines.join("\n").replace(['"', '$'], ""))
}

/// A text in single quotes.
fn quoted(text: &str) -> String {
    format!("'{}'", text.replace('\\', r"\\").replace('\'', r"\'"))
}
