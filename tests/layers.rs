//! Holds the sources to their shape: which module may use which, what may lie at the top level, no
//! bare numbers where a quantity belongs, no paths of somebody's machine.
//!
//! Works on tokens, so comments, strings and the insides of macros need no care of their own: a
//! comment is no token, a string is one, a macro's argument is a group of them. What only a
//! compiler can know (a path through a re-export) is left out.

#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use proc_macro2::{Delimiter, TokenStream, TokenTree};
use quote::ToTokens;
use syn::{ImplItem, Item, Type, Visibility};

/// The layers from left to right; each uses only layers of an earlier row.
const ROWS: [&[&str]; 12] = [
    &["platform", "quantity"],
    &["model"],
    &["roads"],
    &["consumption"],
    &["calibrate"],
    &["solver"],
    &["doubt"],
    &["plan"],
    &["present"],
    &["io", "report", "tui"],
    &["cli"],
    &["main"],
];

/// The parts of `plan` from left to right; each uses only parts of an earlier row. Its `mod.rs` puts them together.
const PLAN_ROWS: [&str; 11] = [
    "under_way",
    "facts",
    "loadout",
    "policy",
    "trial",
    "search",
    "answers",
    "kept",
    "parts",
    "lay_out",
    "questions",
];

/// The parts of `plan` that hold what is known, and nothing that is in doubt.
const KNOWN: [&str; 3] = ["under_way", "facts", "loadout"];

/// What the top level may hold besides dotfiles.
const TOP_LEVEL: [&str; 8] = [
    "Cargo.lock",
    "Cargo.toml",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "sample-routes",
    "src",
    "tests",
];

/// Public functions and fields that take or give a bare number, and why that is right.
const BARE_NUMBERS: [(&str, &str); 0] = [];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file below `folder`, in a stable order.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// Every source file: its path below `src` or `src/core` with `/`, and its tokens.
fn sources() -> Vec<(String, TokenStream)> {
    let src = root().join("src");
    files(&src)
        .into_iter()
        .filter(|path| path.extension().is_some_and(|kind| kind == "rs"))
        .map(|path| {
            let name = path.strip_prefix(&src).unwrap().to_str().unwrap();
            let text = fs::read_to_string(&path).unwrap();
            let name = name.replace('\\', "/");
            let name = name.strip_prefix("core/").unwrap_or(&name).to_owned();
            (name, text.parse().unwrap())
        })
        .collect()
}

/// The layer of a file: `model/trip.rs` belongs to `model`, `quantity.rs` to `quantity`.
fn layer_of(file: &str) -> &str {
    let first = file.split('/').next().unwrap();
    first.strip_suffix(".rs").unwrap_or(first)
}

fn row_of(layer: &str) -> Option<usize> {
    ROWS.iter().position(|row| row.contains(&layer))
}

fn is_punct(token: Option<&TokenTree>, sign: char) -> bool {
    matches!(token, Some(TokenTree::Punct(punct)) if punct.as_char() == sign)
}

fn is_word(token: Option<&TokenTree>, word: &str) -> bool {
    matches!(token, Some(TokenTree::Ident(ident)) if ident == word)
}

/// The first names in what follows a `::`: `a::b` gives a, `{a::b, c}` gives a and c.
fn first_names(token: &TokenTree) -> Vec<String> {
    match token {
        TokenTree::Ident(ident) => vec![ident.to_string()],
        TokenTree::Group(group) if group.delimiter() == Delimiter::Brace => {
            let tokens: Vec<_> = group.stream().into_iter().collect();
            tokens
                .split(|token| is_punct(Some(token), ','))
                .filter_map(|part| part.first())
                .flat_map(first_names)
                .collect()
        }
        _ => Vec::new(),
    }
}

/// The names that directly follow `root::` anywhere in the tokens. `super` counts as a root too: a
/// layer's own file could leave the layer by it.
fn used_from(roots: &[&str], tokens: TokenStream, found: &mut BTreeSet<String>) {
    let tokens: Vec<_> = tokens.into_iter().collect();
    for (i, token) in tokens.iter().enumerate() {
        if let TokenTree::Group(group) = token {
            used_from(roots, group.stream(), found);
        }
        let is_root = roots.iter().any(|root| is_word(Some(token), root));
        if is_root && is_punct(tokens.get(i + 1), ':') && is_punct(tokens.get(i + 2), ':') {
            found.extend(tokens.get(i + 3).into_iter().flat_map(first_names));
        }
    }
}

/// What is wrong with what one file uses.
fn wrong_arrows(file: &str, tokens: TokenStream) -> Vec<String> {
    let layer = layer_of(file);
    if layer == "lib" {
        return Vec::new();
    }
    let Some(row) = row_of(layer) else {
        return vec![format!("{file}: `{layer}` is none of the layers")];
    };
    let roots: &[&str] = if layer == "main" {
        &["crate", "drystage"]
    } else {
        &["crate", "super"]
    };
    let mut used = BTreeSet::new();
    used_from(roots, tokens, &mut used);
    used.iter()
        .filter(|name| *name != layer)
        .filter_map(|name| {
            let points_back = row_of(name)? >= row;
            let past_cli = layer == "main" && name != "cli";
            (points_back || past_cli).then(|| {
                format!("{file}: `{layer}` must not use `{name}`, which is no layer to its left")
            })
        })
        .collect()
}

#[test]
fn modules_use_only_what_stands_to_their_left() {
    let wrong: Vec<_> = sources()
        .into_iter()
        .flat_map(|(file, tokens)| wrong_arrows(&file, tokens))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn an_arrow_that_points_back_is_found() {
    let wrong = |file: &str, text: &str| !wrong_arrows(file, text.parse().unwrap()).is_empty();
    assert!(wrong("model/trip.rs", "use crate::plan::Plan;"));
    assert!(wrong(
        "model/trip.rs",
        "use crate::{quantity::Litres, plan::Plan};"
    ));
    assert!(wrong(
        "report/json.rs",
        "fn f() { crate::io::json::read(); }"
    ));
    assert!(wrong(
        "report/json.rs",
        "fn f() { assert!(crate::tui::x()) }"
    ));
    assert!(wrong("plan/mod.rs", "use super::report::text;"));
    assert!(wrong("elsewhere.rs", ""));
    assert!(wrong("main.rs", "fn main() { drystage::plan::x() }"));
    assert!(!wrong("main.rs", "fn main() { drystage::cli::run() }"));
    assert!(!wrong(
        "plan/mod.rs",
        "//! [`crate::report`]\nuse crate::{model::Trip, plan::finding};"
    ));
    assert!(!wrong(
        "report/json.rs",
        "const S: &str = \"crate::io::x\"; use crate::present::y;"
    ));
}

/// The names that are taken from the root of `plan` in a module that is `depth` modules below it: what follows
/// `plan::`, or as many `super::` as lead there. `*` is a name too.
fn used_from_plan(depth: usize, tokens: TokenStream, found: &mut BTreeSet<String>) {
    let tokens: Vec<_> = tokens.into_iter().collect();
    let is_path = |at: usize| is_punct(tokens.get(at), ':') && is_punct(tokens.get(at + 1), ':');
    for (i, token) in tokens.iter().enumerate() {
        if let TokenTree::Group(group) = token {
            let is_module = i > 1 && is_word(tokens.get(i - 2), "mod");
            used_from_plan(depth + usize::from(is_module), group.stream(), found);
        }
        let goes_on = i > 1 && is_word(tokens.get(i.wrapping_sub(3)), "super") && is_path(i - 2);
        let end = if is_word(Some(token), "plan") && is_path(i + 1) {
            i + 3
        } else if is_word(Some(token), "super") && !goes_on {
            let supers = (0..tokens.len())
                .take_while(|n| is_word(tokens.get(i + 3 * n), "super") && is_path(i + 3 * n + 1))
                .count();
            if supers != depth {
                continue;
            }
            i + 3 * supers
        } else {
            continue;
        };
        match tokens.get(end) {
            Some(TokenTree::Group(group)) => {
                let inner: Vec<_> = group.stream().into_iter().collect();
                let parts = inner.split(|token| is_punct(Some(token), ','));
                found.extend(parts.filter_map(|part| part.first().map(ToString::to_string)));
            }
            Some(token) => {
                found.insert(token.to_string());
            }
            None => {}
        }
    }
}

/// What is wrong with what one file of `plan` uses of the others.
fn wrong_in_plan(file: &str, tokens: TokenStream) -> Vec<String> {
    let Some(below) = file.strip_prefix("plan/") else {
        return Vec::new();
    };
    if ["mod.rs", "tests.rs"].contains(&below) {
        return Vec::new();
    }
    let part = layer_of(below);
    let row_of = |name: &str| PLAN_ROWS.iter().position(|row| *row == name);
    let Some(row) = row_of(part) else {
        return vec![format!("{file}: `{part}` is none of the parts of `plan`")];
    };
    let depth = below.split('/').count() - usize::from(below.ends_with("/mod.rs"));
    let mut used = BTreeSet::new();
    used_from_plan(depth, tokens.clone(), &mut used);
    let mut wrong: Vec<String> = used
        .iter()
        .filter(|name| *name != part && row_of(name).is_none_or(|used| used >= row))
        .map(|name| format!("{file}: `{part}` must not use `{name}`, which is not to its left"))
        .collect();
    let mut of_plan = BTreeSet::new();
    used_from(&["Plan"], tokens.clone(), &mut of_plan);
    let plans_anew = of_plan.contains("best_estimate") || of_plan.contains("at_target");
    if plans_anew && part != "questions" {
        wrong.push(format!("{file}: only questions may plan a trip anew"));
    }
    let mut layers = BTreeSet::new();
    used_from(&["crate"], tokens, &mut layers);
    if KNOWN.contains(&part) && layers.contains("doubt") {
        wrong.push(format!("{file}: `{part}` must know of no doubt"));
    }
    wrong
}

#[test]
fn the_plan_goes_in_one_direction() {
    let wrong: Vec<_> = sources()
        .into_iter()
        .flat_map(|(file, tokens)| wrong_in_plan(&file, tokens))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn an_arrow_that_points_back_in_the_plan_is_found() {
    let wrong = |file: &str, text: &str| !wrong_in_plan(file, text.parse().unwrap()).is_empty();
    assert!(wrong("plan/facts.rs", "use crate::plan::policy::Policy;"));
    assert!(wrong("plan/facts.rs", "use super::policy::Policy;"));
    assert!(wrong("plan/facts.rs", "use crate::{plan::policy, model};"));
    assert!(wrong("plan/policy/mod.rs", "use super::{facts, trial};"));
    assert!(wrong(
        "plan/policy/target/mod.rs",
        "fn f() { super::super::search::choose() }"
    ));
    assert!(wrong(
        "plan/lay_out/card.rs",
        "mod tests { use super::super::super::questions::fixes; }"
    ));
    assert!(wrong(
        "plan/parts/legs.rs",
        "fn f() { assert!(crate::plan::lay_out::x()) }"
    ));
    assert!(wrong("plan/search/mod.rs", "use super::*;"));
    assert!(wrong("plan/trial.rs", "use crate::plan::*;"));
    assert!(wrong("plan/trial.rs", "use crate::plan::Finding;"));
    assert!(wrong("plan/elsewhere.rs", ""));
    assert!(wrong(
        "plan/lay_out/mod.rs",
        "fn f() { Plan::best_estimate(trip) }"
    ));
    assert!(wrong("plan/facts.rs", "use crate::doubt::study::Effort;"));
    assert!(!wrong("plan/policy/mod.rs", "use super::{facts, loadout};"));
    assert!(!wrong(
        "plan/policy/target/mod.rs",
        "use super::Instructions;"
    ));
    assert!(!wrong(
        "plan/policy/mod.rs",
        "use crate::plan::policy::target;"
    ));
    assert!(!wrong("plan/facts.rs", "mod tests { use super::*; }"));
    assert!(!wrong(
        "plan/questions/dry.rs",
        "fn f() { Plan::best_estimate(trip) }"
    ));
    assert!(!wrong(
        "plan/policy/mod.rs",
        "//! [`crate::plan::search`]\n"
    ));
    assert!(!wrong("solver/fuel.rs", "use super::cans;"));
}

/// What of a file's items gives or takes a bare `f64` across the module's border: public functions,
/// public methods and public fields of public types. `pub(super)` and `pub(in …)` stay within.
fn bare_numbers(items: &[Item]) -> Vec<String> {
    let kept: BTreeSet<String> = items
        .iter()
        .filter_map(|item| match item {
            Item::Struct(item) if !crosses(&item.vis) => Some(item.ident.to_string()),
            Item::Enum(item) if !crosses(&item.vis) => Some(item.ident.to_string()),
            _ => None,
        })
        .collect();
    let mut found = Vec::new();
    for item in items {
        match item {
            Item::Fn(item) if crosses(&item.vis) && has_f64(&item.sig) => {
                found.push(item.sig.ident.to_string());
            }
            Item::Struct(item) if crosses(&item.vis) => {
                let public = item.fields.iter().filter(|field| crosses(&field.vis));
                found.extend(public.filter(|field| has_f64(&field.ty)).map(|field| {
                    let name = field
                        .ident
                        .as_ref()
                        .map_or_else(String::new, ToString::to_string);
                    format!("{}.{name}", item.ident)
                }));
            }
            Item::Impl(item) if !kept.contains(&type_name(&item.self_ty)) => {
                for inner in &item.items {
                    if let ImplItem::Fn(method) = inner
                        && crosses(&method.vis)
                        && has_f64(&method.sig)
                    {
                        found.push(format!(
                            "{}::{}",
                            type_name(&item.self_ty),
                            method.sig.ident
                        ));
                    }
                }
            }
            Item::Mod(item) if crosses(&item.vis) => {
                found.extend(
                    item.content
                        .iter()
                        .flat_map(|(_, inner)| bare_numbers(inner)),
                );
            }
            _ => {}
        }
    }
    found
}

fn crosses(visibility: &Visibility) -> bool {
    match visibility {
        Visibility::Public(_) => true,
        Visibility::Restricted(within) => within.path.is_ident("crate"),
        Visibility::Inherited => false,
    }
}

fn has_f64(part: &impl ToTokens) -> bool {
    fn in_tokens(tokens: TokenStream) -> bool {
        tokens.into_iter().any(|token| match token {
            TokenTree::Group(group) => in_tokens(group.stream()),
            token => is_word(Some(&token), "f64"),
        })
    }
    in_tokens(part.to_token_stream())
}

fn type_name(of: &Type) -> String {
    match of {
        Type::Path(path) => path.path.segments.last().unwrap().ident.to_string(),
        _ => String::new(),
    }
}

#[test]
fn no_bare_number_crosses_a_module_boundary() {
    let guarded = ["model", "consumption", "solver", "doubt", "plan"];
    let mut seen = BTreeSet::new();
    for (file, tokens) in sources() {
        if guarded.contains(&layer_of(&file)) {
            let found = bare_numbers(&syn::parse2::<syn::File>(tokens).unwrap().items);
            seen.extend(found.into_iter().map(|name| format!("{file} {name}")));
        }
    }
    let allowed: BTreeSet<_> = BARE_NUMBERS
        .iter()
        .map(|(at, _)| (*at).to_owned())
        .collect();
    assert_eq!(seen, allowed, "found on the left, allowed on the right");
}

#[test]
fn a_bare_number_is_found() {
    let found = |text: &str| bare_numbers(&syn::parse_str::<syn::File>(text).unwrap().items);
    assert_eq!(
        found("pub fn length(x: &[f64]) -> Litres { x }"),
        ["length"]
    );
    assert_eq!(
        found("pub struct A { pub n: usize, pub x: Option<f64>, y: f64 }"),
        ["A.x"]
    );
    assert_eq!(
        found("impl<T> A<T> { pub(crate) const fn b(self) -> Option<f64> { 1.0 } }"),
        ["A::b"]
    );
    assert!(found("pub fn a(x: Litres) -> Litres { let y: f64 = 1.0; }").is_empty());
    assert!(found("pub(super) fn a(x: f64) {} fn b(x: f64) {}").is_empty());
    assert!(found("pub(super) struct A { pub x: f64 } impl A { pub fn b(x: f64) {} }").is_empty());
}

/// The names at the top level: what is committed, or, outside a clone, what lies there.
fn top_level() -> BTreeSet<String> {
    let listed = Command::new("git")
        .args(["ls-files"])
        .current_dir(root())
        .output()
        .ok()
        .filter(|output| output.status.success() && !output.stdout.is_empty());
    match listed {
        Some(output) => String::from_utf8(output.stdout)
            .unwrap()
            .lines()
            .map(|path| path.split('/').next().unwrap().to_owned())
            .collect(),
        None => fs::read_dir(root())
            .unwrap()
            .map(|entry| entry.unwrap())
            // Where cargo builds, whatever it is called.
            .filter(|entry| !entry.path().join("CACHEDIR.TAG").exists())
            .map(|entry| entry.file_name().into_string().unwrap())
            .collect(),
    }
}

#[test]
fn the_top_level_holds_only_what_it_may() {
    let extra: Vec<_> = top_level()
        .into_iter()
        .filter(|name| !name.starts_with('.') && !TOP_LEVEL.contains(&name.as_str()))
        .collect();
    assert!(extra.is_empty(), "must not lie at the top level: {extra:?}");
}

#[test]
fn no_path_of_a_machine_stands_in_a_file() {
    let folders = ["home", "root", "work", "Users"];
    let mut wrong = Vec::new();
    let single = [
        "README.md",
        "DEVELOPERS.md",
        "Cargo.toml",
        ".ci/run",
        ".ci/check-other-systems",
    ];
    let mut paths: Vec<_> = single
        .iter()
        .map(|name| root().join(name))
        .filter(|path| path.exists())
        .collect();
    for folder in ["src", "tests", "sample-routes"] {
        paths.extend(files(&root().join(folder)));
    }
    for path in paths {
        let bytes = fs::read(&path).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        for (n, line) in text.lines().enumerate() {
            if folders
                .iter()
                .any(|name| line.contains(&format!("/{name}/")))
            {
                wrong.push(format!("{}:{}: {line}", path.display(), n + 1));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
