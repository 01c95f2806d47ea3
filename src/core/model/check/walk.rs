//! A document beside the table of fields: every value by itself.

use json_patch::jsonptr::Pointer;
use serde_json::{Map, Value};

use super::renamed::renamed;
use super::{Found, shown, shown_key};
use crate::model::field::{self, Kind, LATITUDE, LONGITUDE, Node, TRACK_HEIGHT};
use crate::model::near::nearest;

/// The operations of RFC 6902 and the keys that each has besides `op`.
const OPERATIONS: [(&str, &[&str]); 6] = [
    ("add", &["path", "value"]),
    ("remove", &["path"]),
    ("replace", &["path", "value"]),
    ("move", &["from", "path"]),
    ("copy", &["from", "path"]),
    ("test", &["path", "value"]),
];
/// Characters of the longest path of a track's file.
const LONGEST_PATH: usize = 1000;

/// Adds to `found` whatever is wrong with a value by itself and with its parts.
pub(super) fn walk(node: &'static Node, document: &Value, found: &mut Found) {
    Walk {
        at: Vec::new(),
        found,
    }
    .value(node, document);
}

/// A step down into a document.
enum Step<'a> {
    Key(&'a str),
    Index(usize),
}

struct Walk<'a, 'f> {
    at: Vec<Step<'a>>,
    found: &'f mut Found,
}

impl<'a> Walk<'a, '_> {
    fn value(&mut self, node: &'static Node, value: &'a Value) {
        let kind = node.kind();
        match (kind, value) {
            (Kind::Object, Value::Object(object)) => self.object(node, object),
            (Kind::List { .. }, Value::Array(list)) => {
                if let Kind::List { at_most, .. } = kind
                    && list.len() > at_most
                {
                    let many = list.len();
                    return self.report(format!("must have at most {at_most} items, got {many}"));
                }
                if !kind.admits(value) {
                    self.report(format!("must be {kind}, got {}", list.len()));
                }
                if let Some(item) = &node.item {
                    for (index, value) in list.iter().enumerate() {
                        self.inside(Step::Index(index), |walk| walk.value(item, value));
                    }
                }
            }
            (Kind::Track, Value::Array(lines)) if has_lines(lines) => {
                for (index, line) in lines.iter().enumerate() {
                    self.inside(Step::Index(index), |walk| match line {
                        Value::Array(points) => walk.points(points),
                        other => {
                            walk.report(format!("must be a list of points, got {}", shown(other)));
                        }
                    });
                }
            }
            (Kind::Track, Value::Array(points)) => self.points(points),
            (Kind::Track, Value::String(path)) => self.path(path, value),
            (Kind::Patch, Value::Array(operations)) => {
                for (index, operation) in operations.iter().enumerate() {
                    self.inside(Step::Index(index), |walk| walk.operation(operation));
                }
            }
            _ => self.alone(kind, value),
        }
    }

    /// A value without parts, or one that should have had some.
    fn alone(&mut self, kind: Kind, value: &Value) {
        if !kind.admits(value) {
            let number = matches!(kind, Kind::Number { .. }) && !kind.has_type_of(value);
            let of_type = if number { "a number, " } else { "" };
            let hint = kind.fraction_hint(value);
            self.report(format!(
                "must be {of_type}{kind}, got {}{hint}",
                shown(value)
            ));
        }
    }

    fn object(&mut self, node: &'static Node, object: &'a Map<String, Value>) {
        for (key, value) in object {
            self.inside(Step::Key(key), |walk| match node.child(key) {
                Some(child) => walk.value(child, value),
                // Words that nobody will read take their time when there are millions.
                None if walk.found.is_full() => walk.found.more += 1,
                None => walk.report(unknown(node, key)),
            });
        }
        for child in &node.children {
            if child.is_required() && !object.contains_key(child.key) {
                self.inside(Step::Key(child.key), |walk| walk.report(missing(child)));
            }
        }
    }

    fn points(&mut self, points: &'a [Value]) {
        if points.len() < 2 {
            self.report(format!("must have at least 2 points, got {}", points.len()));
        }
        for (index, point) in points.iter().enumerate() {
            self.inside(Step::Index(index), |walk| match point {
                Value::Array(numbers) if matches!(numbers.len(), 2 | 3) => {
                    let kinds = [LONGITUDE, LATITUDE, TRACK_HEIGHT];
                    for (index, (kind, number)) in kinds.into_iter().zip(numbers).enumerate() {
                        walk.inside(Step::Index(index), |walk| walk.alone(kind, number));
                    }
                }
                Value::Array(numbers) => walk.report(format!(
                    "must be [lon, lat] or [lon, lat, altitude], got a list of {}",
                    numbers.len()
                )),
                other => walk.report(format!(
                    "must be [lon, lat] or [lon, lat, altitude], got {}",
                    shown(other)
                )),
            });
        }
    }

    fn path(&mut self, path: &str, value: &Value) {
        if !lies_below(path) {
            self.report(format!(
                "must be a path inside the trip's folder, with / between folders and without .., got {}",
                shown(value)
            ));
        }
    }

    fn operation(&mut self, operation: &'a Value) {
        let Value::Object(object) = operation else {
            return self.alone(Kind::Object, operation);
        };
        let word = object.get("op").and_then(Value::as_str);
        let Some((op, keys)) = OPERATIONS.iter().find(|(op, _)| Some(*op) == word) else {
            let words = OPERATIONS.map(|(op, _)| op).join(", ");
            let got = object.get("op").map_or("nothing".to_owned(), shown);
            return self.inside(Step::Key("op"), |walk| {
                walk.report(format!("must be one of {words}, got {got}"));
            });
        };
        for (key, value) in object {
            self.inside(Step::Key(key), |walk| match key.as_str() {
                "op" => {}
                key if !keys.contains(&key) => {
                    walk.report(format!(
                        "unknown key; `{op}` has only {}",
                        keys.join(" and ")
                    ));
                }
                "value" => {}
                _ if value.as_str().is_some_and(|p| Pointer::parse(p).is_ok()) => {}
                _ => walk.report(format!(
                    "must be a JSON Pointer such as /legs/0/surface, got {}",
                    shown(value)
                )),
            });
        }
        for key in keys.iter().filter(|&&key| !object.contains_key(key)) {
            self.inside(Step::Key(key), |walk| {
                walk.report(format!("is missing; `{op}` needs {}", keys.join(" and ")));
            });
        }
    }

    fn inside(&mut self, step: Step<'a>, look: impl FnOnce(&mut Self)) {
        self.at.push(step);
        look(self);
        self.at.pop();
    }

    fn report(&mut self, message: String) {
        let mut at = String::new();
        for step in &self.at {
            at.push('/');
            match step {
                Step::Key(key) => at.push_str(&shown_key(key)),
                Step::Index(index) => at.push_str(&index.to_string()),
            }
        }
        self.found.add(at, message);
    }
}

/// The message for a required field that is missing.
pub(crate) fn missing(node: &Node) -> String {
    format!("is missing; must be {}", node.kind())
}

/// The message for an unknown key: its name now, the nearest key of the object, or where else the key belongs.
pub(crate) fn unknown(node: &Node, key: &str) -> String {
    let path = node.field.map_or("", |field| field.path);
    if let Some(now) = renamed(path, key) {
        return format!("`{key}` is now `{now}`");
    }
    if let Some(near) = nearest(key, node.children.iter().map(|child| child.key)) {
        return format!("unknown key; did you mean `{near}`?");
    }
    if let Some(elsewhere) = field::all().find(|field| field.key() == key) {
        return format!("unknown key here; move it to {}", elsewhere.path);
    }
    let known: Vec<_> = node.children.iter().map(|child| child.key).collect();
    format!("unknown key; the keys here are {}", known.join(", "))
}

/// A track's file must be inside the trip's folder: a trip of somebody else must not name other files.
fn lies_below(path: &str) -> bool {
    let drive = path.get(1..2) == Some(":") && path.starts_with(|c: char| c.is_alphabetic());
    let text = Kind::Text {
        longest: LONGEST_PATH,
        lines: false,
    };
    text.admits_text(path)
        && !drive
        && !path.contains('\\')
        && path.split('/').all(|part| !matches!(part, "" | ".."))
}

/// Whether a track is a list of lines and not of points.
fn has_lines(track: &[Value]) -> bool {
    let first = track.first().and_then(Value::as_array);
    first.is_some_and(|first| first.first().is_some_and(Value::is_array))
}
