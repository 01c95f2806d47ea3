//! One term for one thing: words that were retired do not come back into what a reader sees. That is every text in the
//! source outside tests, the help of the command line, the manual and the README.

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

/// Where a retired word may be: the file, a part of the text, and why.
const ALLOWED: &[(&str, &str, &str)] = &[(
    "src/model/check/renamed.rs",
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
        texts(tokens, name == "src/cli/args.rs", &mut all);
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

/// An exception that no text needs any more goes.
#[test]
fn every_exception_is_needed() {
    for (file, part, why) in ALLOWED {
        let text = fs::read_to_string(root().join(file)).unwrap();
        assert!(text.contains(part), "{file}: {part} ({why})");
    }
}
