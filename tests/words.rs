//! One term for one thing: words that were retired do not come back into what a reader sees. That is every text in the
//! source outside tests, the help of the command line, the schema of the JSON report, the manual and the README. Names
//! that were retired do not come back into the code, and no sentence of the guides is long.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::fs;
use std::path::{Path, PathBuf};

use proc_macro2::{TokenStream, TokenTree};

/// What was retired, and what is written instead. A word is looked for as a whole, in any case; a phrase as it is.
const RETIRED: &[(&str, &str)] = &[
    ("aboard", "on board"),
    ("spare", "in cans"),
    ("pump", "fuel stop; fuel pickup"),
    ("pumps", "fuel stops"),
    ("pour", "decant"),
    ("pours", "decanting"),
    ("poured", "decanted"),
    ("pouring", "decanting"),
    ("doubtful", "unconfirmed"),
    ("foretold", "predicted"),
    ("dial", "slider"),
    ("dials", "sliders"),
    ("notch", "step"),
    ("crew", "people"),
    ("odds", "probability"),
    ("stretch", "stage"),
    ("stretches", "stages"),
    ("refuge", "fuel stop to return to"),
    ("hinge", "critical fuel stop"),
    ("whoever", "name the person"),
    ("bears", "carries"),
    ("borne", "carried"),
    ("fitted to", "calibrated from"),
    ("at the wheel", "driving"),
    ("carry past", "skip"),
    ("carries past", "skips"),
    ("along the way", "on the route"),
    ("on the way", "under way; en route"),
    ("ways to make it fit", "fixes"),
    ("hangs on", "depends on"),
    ("hang on", "depend on"),
    ("as much as one likes", "unlimited"),
    ("for sure", "confirmed"),
    ("let down", "aired down"),
    ("passed over", "ignored"),
    ("put right", "corrected"),
    ("plain plan", "best estimate"),
    ("the plan plain", "best estimate"),
    ("at its likely value", "best estimate"),
    ("things", "gear"),
    ("load space", "cargo area"),
    ("heaviest moment", "heaviest departure"),
    ("nothing to tell", "no findings"),
    ("draws", "simulated trips"),
    ("is told", "is shown"),
    ("are told", "are shown"),
    ("must be left", "minimum"),
    ("taken up", "restored"),
];

/// Names that were retired, and what is written instead.
const RETIRED_NAMES: &[(&str, &str)] = &[
    ("aboard", "on_board"),
    ("spare", "in_cans"),
    ("pump", "fuel_stop"),
    ("pumps", "fuel_stops"),
    ("at_pump", "at_fuel_stop"),
    ("doubtful", "unconfirmed"),
    ("untold", "uninformed"),
    ("DrivenWay", "DrivenInterval"),
    ("FittedWay", "FittedInterval"),
    ("WaysBack", "Returns"),
    ("Behind", "Progress"),
    ("node_name", "place_name"),
];

/// The most words of a sentence in the guides.
const LONGEST: usize = 25;

/// Where a retired word may be: the file, a part of the text, and why.
const ALLOWED: &[(&str, &str, &str)] = &[(
    "src/core/model/check/renamed.rs",
    "crew",
    "a former key of the trip file, which is refused with its name now",
)];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn files(folder: &Path, kind: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path, kind));
        } else if path.extension().is_some_and(|extension| extension == kind) {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// The path of a file below the top level, with `/`.
fn name_of(path: &Path) -> String {
    let name = path.strip_prefix(root()).unwrap().to_str().unwrap();
    name.replace('\\', "/")
}

/// The texts between quotes, and with `docs` the doc comments, that are outside attributes and tests.
fn texts(tokens: TokenStream, docs: bool, found: &mut Vec<String>) {
    let tokens: Vec<TokenTree> = tokens.into_iter().collect();
    let mut at = 0;
    let mut is_test = false;
    while let Some(token) = tokens.get(at) {
        at += 1;
        match token {
            TokenTree::Punct(sign) if sign.as_char() == '#' => {
                let is_inner =
                    matches!(tokens.get(at), Some(TokenTree::Punct(sign)) if sign.as_char() == '!');
                at += usize::from(is_inner);
                if let Some(TokenTree::Group(attribute)) = tokens.get(at) {
                    let text = attribute.stream().to_string();
                    is_test |= text.replace(' ', "") == "cfg(test)";
                    if docs && text.starts_with("doc") {
                        texts(attribute.stream(), false, found);
                    }
                    at += 1;
                }
            }
            TokenTree::Group(_) if std::mem::take(&mut is_test) => {}
            TokenTree::Group(group) => texts(group.stream(), docs, found),
            // A test module in a file of its own.
            TokenTree::Punct(sign) if sign.as_char() == ';' => is_test = false,
            TokenTree::Literal(literal) => {
                if let Ok(text) = syn::parse_str::<syn::LitStr>(&literal.to_string()) {
                    found.push(text.value());
                }
            }
            _ => {}
        }
    }
}

/// Whether a text has the word or phrase, not as a part of another word or of a key.
fn has(text: &str, sought: &str) -> bool {
    let is_letter = |c: char| c.is_alphanumeric() || c == '_' || c == '-';
    text.match_indices(sought).any(|(at, _)| {
        !text[..at].ends_with(is_letter) && !text[at + sought.len()..].starts_with(is_letter)
    })
}

/// A text without what is in braces: names of variables that are filled in.
fn without_places(text: &str) -> String {
    let parts = text
        .split('{')
        .enumerate()
        .map(|(nth, part)| match part.split_once('}') {
            Some((_, rest)) if nth > 0 => rest,
            _ => part,
        });
    parts.collect::<Vec<_>>().join(" ")
}

fn retired(file: &str, text: &str) -> Vec<String> {
    let lower = without_places(&text.to_lowercase());
    RETIRED
        .iter()
        .filter(|(word, _)| has(&lower, word))
        .filter(|_| {
            !ALLOWED
                .iter()
                .any(|(of, part, _)| file.ends_with(of) && text.contains(part))
        })
        .map(|(word, instead)| format!("{file}: `{word}` ({instead}) in {text:?}"))
        .collect()
}

#[test]
fn retired_words_do_not_come_back() {
    let mut found = Vec::new();
    for path in files(&root().join("src"), "rs") {
        let name = name_of(&path);
        if name.ends_with("/tests.rs") || name.ends_with("/tanks.rs") {
            continue;
        }
        let tokens = fs::read_to_string(&path).unwrap().parse().unwrap();
        let mut all = Vec::new();
        // Their doc comments are the help and the descriptions of the schema.
        let docs = name == "src/cli/args.rs" || name.starts_with("src/report/json/");
        texts(tokens, docs, &mut all);
        found.extend(all.iter().flat_map(|text| retired(&name, text)));
    }
    let written = files(&root().join("src"), "txt")
        .into_iter()
        .chain([root().join("README.md")]);
    for path in written {
        let name = name_of(&path);
        let text = fs::read_to_string(&path).unwrap();
        found.extend(text.lines().flat_map(|line| retired(&name, line)));
    }
    assert!(
        found.is_empty(),
        "{} texts:\n{}",
        found.len(),
        found.join("\n")
    );
}

/// Every name in a stream of tokens, those in attributes and tests included.
fn names(tokens: TokenStream, found: &mut Vec<String>) {
    for token in tokens {
        match token {
            TokenTree::Ident(name) => found.push(name.to_string()),
            TokenTree::Group(group) => names(group.stream(), found),
            _ => {}
        }
    }
}

#[test]
fn retired_names_do_not_come_back() {
    let mut found = Vec::new();
    for folder in ["src", "tests"] {
        for path in files(&root().join(folder), "rs") {
            let mut all = Vec::new();
            names(
                fs::read_to_string(&path).unwrap().parse().unwrap(),
                &mut all,
            );
            for (name, instead) in RETIRED_NAMES {
                if all.iter().any(|other| other == name) {
                    found.push(format!("{}: `{name}` ({instead})", name_of(&path)));
                }
            }
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The sentences of a guide: its paragraphs, items of lists and cells of tables, without blocks of code.
fn sentences(text: &str) -> Vec<String> {
    let prose = text
        .split("```")
        .step_by(2)
        .collect::<Vec<_>>()
        .join("\n\n");
    let mut parts = vec![String::new()];
    for line in prose.lines().map(str::trim) {
        let begins = line.starts_with(['-', '#', '|'])
            || line.split('.').next().unwrap().parse::<u32>().is_ok();
        if line.is_empty() || begins {
            parts.push(String::new());
        }
        for cell in line.split(" | ") {
            if cell != line {
                parts.push(String::new());
            }
            let last = parts.last_mut().unwrap();
            last.push(' ');
            last.push_str(cell);
        }
    }
    let mut found = Vec::new();
    for part in parts {
        let mut sentence = Vec::new();
        for word in part.split_whitespace() {
            let ended = sentence.last().is_some_and(|last: &&str| {
                last.trim_end_matches(['*', ')', '`', '"'])
                    .ends_with(['.', '!', '?', ':'])
            });
            if ended && word.starts_with(|c: char| c.is_uppercase() || "`(*\"".contains(c)) {
                found.push(sentence.join(" "));
                sentence.clear();
            }
            sentence.push(word);
        }
        found.push(sentence.join(" "));
    }
    found
}

#[test]
fn no_sentence_of_the_guides_is_long() {
    let manual = files(&root().join("src"), "txt");
    let guides = ["README.md", "DEVELOPERS.md"].map(|name| root().join(name));
    let mut long = Vec::new();
    for path in manual.into_iter().chain(guides) {
        for sentence in sentences(&fs::read_to_string(&path).unwrap()) {
            let words = sentence.split_whitespace();
            let count = words
                .filter(|word| word.contains(char::is_alphanumeric))
                .count();
            if count > LONGEST {
                long.push(format!("{}: {count} words: {sentence}", name_of(&path)));
            }
        }
    }
    assert!(long.is_empty(), "{}", long.join("\n"));
}

/// An exception that no text needs any more goes.
#[test]
fn every_exception_is_needed() {
    for (file, part, why) in ALLOWED {
        let text = fs::read_to_string(root().join(file)).unwrap();
        assert!(text.contains(part), "{file}: {part} ({why})");
    }
}
