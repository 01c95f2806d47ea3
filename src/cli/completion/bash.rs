//! The completion script for bash 3.2 and later.

use std::fmt::Write as _;

use clap::Command;

use super::{CommandSpec, Value, command_names, command_specs, filled};

/// What finds the command, and the word to complete. Bash takes the sign of `--units=us` as a word of its own.
const BEGIN: &str = r#"_drystage() {
    local cur="${COMP_WORDS[COMP_CWORD]}" prev="${COMP_WORDS[COMP_CWORD-1]}"
    local command="" words="" files="" options="" i arguments=0
    COMPREPLY=()
    if [[ "$cur" == "=" ]]; then
        cur=""
    elif [[ "$prev" == "=" ]]; then
        prev="${COMP_WORDS[COMP_CWORD-2]}"
    fi
    for (( i = 1; i < COMP_CWORD; i++ )); do
        case "${COMP_WORDS[i]}" in
            VALUED)
                i=$(( i + 1 ))
                if [[ "${COMP_WORDS[i]}" == "=" ]]; then i=$(( i + 1 )); fi ;;
            -?*) ;;
            COMMANDS)
                if [[ -z "$command" ]]; then
                    command="${COMP_WORDS[i]}"
                else
                    arguments=$(( arguments + 1 ))
                fi ;;
            *)
                if [[ -z "$command" ]]; then command="-"; fi
                arguments=$(( arguments + 1 )) ;;
        esac
    done
    case "$command $prev" in
"#;

/// What is offered by the words, files and options that were found.
const END: &str = r#"    esac
    if [[ "$cur" == -?* || ( "$cur" == "-" && -n "$options" ) ]]; then
        COMPREPLY=( $(compgen -W "$options" -- "$cur") )
        return 0
    fi
    local IFS=$'\n'
    COMPREPLY=( $(compgen -W "${words// /$'\n'}" -- "$cur") )
    if [[ -z "$files" ]]; then
        # Nothing else can stand here.
        compopt +o default +o bashdefault 2>/dev/null
    elif [[ -n "$words" && "$cur" != */* && "$cur" != "~"* ]]; then
        compopt -o filenames 2>/dev/null
        COMPREPLY+=( $(compgen -f -- "$cur") )
    fi
    return 0
}

complete -o bashdefault -o default -F _drystage drystage
"#;

/// The completion script for bash, with the options and words of this version.
pub(in crate::cli) fn script(program: &Command) -> String {
    let command_specs = command_specs(program);
    let mut text = filled(BEGIN, &command_specs, "|");
    for spec in &command_specs {
        for option in &spec.options {
            let Some(value) = &option.value else {
                continue;
            };
            let names = [Some(&option.long), option.short.as_ref()];
            let patterns = names.into_iter().flatten().flat_map(|name| {
                // The options of the program itself may follow its trip.
                let before: &[&str] = if spec.name.is_empty() {
                    &["", "-"]
                } else {
                    &[&spec.name]
                };
                before
                    .iter()
                    .map(move |command| format!("\"{command} {name}\""))
                    .collect::<Vec<_>>()
            });
            let patterns: Vec<String> = patterns.collect();
            let _ = writeln!(text, "        {}) {} ;;", patterns.join("|"), offer(value));
        }
    }
    text.push_str("        *)\n            case \"$command\" in\n");
    for spec in &command_specs {
        let options = spec.options.iter();
        let names = options.flat_map(|option| [Some(&option.long), option.short.as_ref()]);
        let names: Vec<&str> = names.flatten().map(String::as_str).collect();
        let is_program = spec.name.is_empty();
        let argument = if is_program {
            let commands = command_names(&command_specs).join(" ");
            format!("words=\"{commands}\"; files=1")
        } else {
            arguments(spec)
        };
        let _ = writeln!(
            text,
            "                \"{}\") options=\"{}\"; {argument} ;;",
            spec.name,
            names.join(" ")
        );
        if is_program {
            let _ = writeln!(
                text,
                "                \"-\") options=\"{}\" ;;",
                names.join(" ")
            );
        }
    }
    text.push_str("            esac ;;\n");
    text + END
}

/// What is offered in the place of a value.
fn offer(value: &Value) -> String {
    match value {
        Value::Words(words) => {
            let words: Vec<&str> = words.iter().map(|word| word.name.as_str()).collect();
            format!("words=\"{}\"", words.join(" "))
        }
        Value::File => "files=1".to_owned(),
        Value::Text => ":".to_owned(),
    }
}

/// What is offered as the argument of a command, by the number of those that are there.
fn arguments(spec: &CommandSpec) -> String {
    match spec.arguments.as_slice() {
        [] => ":".to_owned(),
        [one] => offer(one),
        several => {
            let cases = several
                .iter()
                .enumerate()
                .map(|(at, value)| format!("{at}) {} ;;", offer(value)));
            let cases: Vec<String> = cases.collect();
            format!("case $arguments in {} esac", cases.join(" "))
        }
    }
}
