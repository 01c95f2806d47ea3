//! `drystage manual`: pages about keys, the trip file, tables, import and the method.
//!
//! Lists of keys, fields and columns come from the tables that the program itself uses.

use std::fmt::Write as _;

use clap::ValueEnum;

use super::args::Manual;
use super::failure::Failure;
use super::{DONE, files};
use crate::io::csv::fills;
use crate::model::field::{self, Field, IfAbsent};
use crate::present::leg_table::{self, Column};
use crate::report::page::Page;
use crate::tui::keymap::{BINDINGS, Group};

/// A page of the manual.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Topic {
    /// All keys of the screen
    Keys,
    /// Every key of the trip file, with its range and default
    TripFile,
    /// Columns of leg tables and of fill-up logs
    Tables,
    /// How tracks and tables become a trip
    Import,
    /// How the plan is calculated, and its sources
    Method,
}

/// Prints a page, or the list of pages.
pub(crate) fn run(asked: &Manual) -> Result<u8, Failure> {
    files::print(&asked.page.map_or_else(list, text))?;
    Ok(DONE)
}

fn list() -> String {
    let mut text = String::from("Manual pages, printed by drystage manual PAGE:\n");
    for topic in Topic::value_variants() {
        if let Some(value) = topic.to_possible_value() {
            let help = value.get_help().map(ToString::to_string);
            let _ = writeln!(
                text,
                "  {:<10} {}",
                value.get_name(),
                help.unwrap_or_default()
            );
        }
    }
    text
}

fn text(topic: Topic) -> String {
    match topic {
        Topic::Keys => keys(),
        Topic::TripFile => trip_file(),
        Topic::Tables => tables(),
        Topic::Import => written(include_str!("import.txt")).text,
        Topic::Method => written(include_str!("method.txt")).text,
    }
}

fn keys() -> String {
    let mut page = Page::default();
    page.line("KEYS");
    for group in Group::ALL {
        page.heading(group.title(), "");
        for binding in BINDINGS.iter().filter(|binding| binding.group == group) {
            let names = binding.keys.iter().map(|key| match key.name().as_str() {
                " " => "Space".to_owned(),
                name => name.to_owned(),
            });
            let names: Vec<String> = names.collect();
            entry(&mut page, &names.join(" "), 20, binding.label);
        }
    }
    page.text
}

fn trip_file() -> String {
    let mut page = written(include_str!("trip-file.txt"));
    for field in field::all() {
        let name = field.path.replace("/*", "/N");
        page.heading(&name, "");
        page.paragraph("    ", 4, field.help);
        let default = match field.if_absent {
            IfAbsent::Refused => "required".to_owned(),
            IfAbsent::Nothing => "optional".to_owned(),
            _ => format!("default: {}", field.if_absent),
        };
        page.paragraph("    ", 4, &format!("{}; {default}", field.kind));
    }
    page.text
}

fn tables() -> String {
    let mut page = written(include_str!("tables.txt"));
    page.heading("LEG TABLE", "");
    columns(&mut page, &leg_table::FROM, "/start");
    columns(&mut page, &leg_table::LEG, "/legs/*");
    page.heading("FILL-UP LOG", "");
    for (names, help) in fills::COLUMN_HELP {
        entry(&mut page, names, 24, help);
    }
    page.text
}

fn columns(page: &mut Page, columns: &[Column], of: &str) {
    for column in columns {
        let help = field::field(&format!("{of}{}", column.pointer));
        entry(page, column.name, 24, help.map_or("", help_of));
    }
}

const fn help_of(field: &'static Field) -> &'static str {
    field.help
}

/// A name, and its text beside it from a column on.
fn entry(page: &mut Page, name: &str, column: usize, text: &str) {
    let first = format!("  {name}");
    let gap = column.saturating_sub(first.chars().count()).max(2);
    page.paragraph(&format!("{first}{}", " ".repeat(gap)), column, text);
}

/// A page as it is written in the source: a line is a heading in capitals, an item that begins with `- `, or a
/// paragraph.
fn written(source: &str) -> Page {
    let mut page = Page::default();
    for line in source.lines() {
        match line.strip_prefix("- ") {
            Some(item) => page.paragraph("- ", 2, item),
            None => page.paragraph("", 0, line),
        }
    }
    page
}
