//! The completion script for zsh.

use std::fmt::Write as _;

use clap::Command;

use super::{Choice, CommandSpec, Value, command_specs, filled, quoted};

/// What finds the command. The words before it are taken away, so that its own arguments are counted from it.
const FIND: &str = r#"    local i command=""
    for (( i = 2; i < CURRENT; i++ )); do
        case "${words[i]}" in
            (VALUED) (( i++ )) ;;
            (-?*) ;;
            (COMMANDS) command="${words[i]}"; break ;;
            (*) break ;;
        esac
    done
    if [[ -n "$command" ]]; then
        words=("${(@)words[i,-1]}")
        (( CURRENT -= i - 1 ))
    fi
    case "$command" in
"#;

const END: &str = r#"    esac
}

_drystage_first() {
    local ret=1
    _describe -t commands 'command' drystage_commands && ret=0
    _files && ret=0
    return ret
}

if [ "${funcstack[1]}" = "_drystage" ]; then
    _drystage "$@"
else
    compdef _drystage drystage
fi
"#;

/// The completion script for zsh, with the options and words of this version.
pub(in crate::cli) fn script(program: &Command) -> String {
    let command_specs = command_specs(program);
    let mut text =
        "#compdef drystage\n\n_drystage() {\n    local -a drystage_commands=(\n".to_owned();
    for spec in &command_specs[1..] {
        let entry = format!("{}:{}", spec.name, spec.help.replace(':', r"\:"));
        let _ = writeln!(text, "        {}", quoted(&entry));
    }
    text.push_str("    )\n");
    text += &filled(FIND, &command_specs, "|");
    for spec in &command_specs {
        let _ = writeln!(text, "        (\"{}\") _arguments -s -S \\", spec.name);
        for option in &spec.options {
            let _ = writeln!(text, "            {} \\", specified(option));
        }
        let _ = writeln!(text, "            {} ;;", arguments(spec));
    }
    text + END
}

/// An option as `_arguments` wants it: `'(-o --output)'{-o+,--output=}'[help]:FILE:_files'`.
fn specified(option: &Choice) -> String {
    let Choice {
        long,
        short,
        help,
        value,
        is_repeated,
    } = option;
    let help = help
        .replace('[', r"\[")
        .replace(']', r"\]")
        .replace(':', r"\:");
    let (sign, plus, action) = match value {
        None => ("", "", String::new()),
        Some(value) => ("=", "+", format!(":value:{}", action(value))),
    };
    let rest = quoted(&format!("[{help}]{action}"));
    match short {
        Some(short) => format!("'({short} {long})'{{{short}{plus},{long}{sign}}}{rest}"),
        None if *is_repeated => format!("'*{long}{sign}'{rest}"),
        None => format!("'{long}{sign}'{rest}"),
    }
}

/// What is offered in the place of a value.
fn action(value: &Value) -> String {
    match value {
        Value::Words(words) => {
            let words: Vec<String> = words
                .iter()
                .map(|word| {
                    let help = word.help.replace(['\\', '"'], "").replace(':', r"\:");
                    format!("{}\\:\"{help}\"", word.name)
                })
                .collect();
            format!("(({}))", words.join(" "))
        }
        Value::File => "_files".to_owned(),
        Value::Text => " ".to_owned(),
    }
}

/// The arguments of a command; that of the program itself is a command or a trip.
fn arguments(spec: &CommandSpec) -> String {
    if spec.name.is_empty() {
        return "'1: :_drystage_first'".to_owned();
    }
    let last = spec.arguments.len();
    let all = spec.arguments.iter().enumerate().map(|(at, value)| {
        let action = action(value);
        let number = (at + 1).to_string();
        let place = if spec.name == "import" && at + 1 == last {
            "*"
        } else {
            &number
        };
        quoted(&format!("{place}:argument:{action}"))
    });
    let all: Vec<String> = all.collect();
    all.join(" ")
}
