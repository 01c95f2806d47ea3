//! What a JSON Pointer leads to, in the names of the trip.

use serde_json::Value;

use super::shown;

/// What a pointer of a trip leads into, as `leg 4 to Dune Gate`; `None` if the pointer is clear by itself.
pub fn named(pointer: &str, document: &Value) -> Option<String> {
    let mut steps = pointer.split('/').skip(1);
    let (list, second) = (steps.next()?, steps.next()?);
    let (kind, index) = match list {
        "load" => (second, steps.next()?),
        list => (list, second),
    };
    let number: usize = index.parse().ok()?;
    let list = match list {
        "load" => document.get(list)?.get(kind),
        list => document.get(list),
    };
    let item = list.and_then(|list| list.get(number));
    let name = |key: &str| {
        let name = item?.get(key)?.as_str()?;
        Some(plain(name))
    };
    let with_name = |what: String, name: Option<String>| match name {
        Some(name) => format!("{what} {name}"),
        None => what,
    };
    let count = number.saturating_add(1);
    Some(match kind {
        "legs" => match name("to") {
            Some(to) => format!("leg {count} to {to}"),
            None => format!("leg {count}"),
        },
        "people" => with_name(format!("person {count}"), name("name")),
        "gear" => with_name(format!("gear {count}"), name("name")),
        "cans" => match item.and_then(|can| can.get("size_l")?.as_f64()) {
            Some(size) => format!("cans of {size} L"),
            None => format!("cans {count}"),
        },
        "what_ifs" => with_name(format!("what-if {count}"), name("name")),
        "log" => format!("fuel reading {count}"),
        _ => return None,
    })
}

/// A name in a message: short, on one line, without control characters.
fn plain(name: &str) -> String {
    let shown = shown(&name.into());
    shown.trim_matches('"').to_owned()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn pointers_have_the_names_of_the_trip() {
        let trip = json!({
            "legs": [{ "to": "Dune Gate" }, {}],
            "load": { "gear": [{ "name": "stove" }], "cans": [{ "size_l": 20 }] },
            "log": [{}]
        });
        for (pointer, name) in [
            ("/legs/0/sand_share", Some("leg 1 to Dune Gate")),
            ("/legs/1", Some("leg 2")),
            ("/load/gear/0/mass_kg", Some("gear 1 stove")),
            ("/load/cans/0", Some("cans of 20 L")),
            ("/log/0/how", Some("fuel reading 1")),
            ("/vehicle/tank_l", None),
            ("/rules", None),
        ] {
            assert_eq!(named(pointer, &trip).as_deref(), name, "{pointer}");
        }
    }
}
