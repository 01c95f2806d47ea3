//! The parts of XML that the event reader leaves to its caller: attributes, references, names.

use crate::io::text::plain;

/// Attributes of one element.
const MOST_ATTRIBUTES: usize = 64;
/// Text without the blanks of XML around it.
#[inline]
pub(super) fn trimmed(text: &str) -> &str {
    text.trim_matches(|c| matches!(c, ' ' | '\t' | '\r' | '\n'))
}

/// Hands each attribute with its value to `take`, and checks that the tag is well-formed.
#[inline]
pub(super) fn attributes(
    raw: &str,
    xml_1_1: bool,
    mut take: impl FnMut(&str, &str),
) -> Result<(), String> {
    let mut rest = raw;
    let mut earlier = [""; 4];
    let mut number = 0;
    while let Some(attribute) = next_attribute(&mut rest)? {
        let Attribute { key, value, plain } = attribute;
        if earlier[..number.min(earlier.len())].contains(&key) {
            return Err(twice(key));
        }
        match earlier.get_mut(number) {
            Some(place) => *place = key,
            // A tag with so many attributes is rare: those before are read again.
            None if times(key, &raw[..raw.len() - rest.len()]) > 1 => return Err(twice(key)),
            None => {}
        }
        number += 1;
        if number > MOST_ATTRIBUTES {
            return Err(format!(
                "an element must have at most {MOST_ATTRIBUTES} attributes, got more"
            ));
        }
        if plain {
            take(key, value);
        } else {
            take(key, &expand(value, xml_1_1)?);
        }
    }
    Ok(())
}

/// Checks that a tag is well-formed of which no attribute is wanted.
#[inline]
pub(super) fn check_attributes(raw: &str, xml_1_1: bool) -> Result<(), String> {
    if raw.is_empty() {
        return Ok(());
    }
    attributes(raw, xml_1_1, |_, _| {})
}

fn twice(key: &str) -> String {
    format!(
        "an attribute must stand once, got `{}` twice",
        plain(key, 40)
    )
}

/// How often an attribute stands in `raw`.
fn times(key: &str, mut raw: &str) -> usize {
    let mut times = 0;
    while let Ok(Some(other)) = next_attribute(&mut raw) {
        times += usize::from(other.key == key);
    }
    times
}

/// An attribute as it stands in its tag.
struct Attribute<'a> {
    key: &'a str,
    value: &'a str,
    /// Whether the value is what it says: it holds no reference, nor what an attribute must not hold.
    plain: bool,
}

/// Takes the first attribute off what follows a tag's name.
#[inline]
fn next_attribute<'a>(rest: &mut &'a str) -> Result<Option<Attribute<'a>>, String> {
    let text = *rest;
    let bytes = text.as_bytes();
    let run = |from: usize, of: fn(u8) -> bool| {
        let run = bytes[from..].iter().take_while(|byte| of(**byte));
        from + run.count()
    };
    let start = run(0, is_blank);
    if start == bytes.len() {
        return Ok(None);
    }
    if start == 0 {
        return Err("attributes must be separated by a space".to_owned());
    }
    let malformed = || {
        format!(
            "attributes must be name=\"value\", got `{}`",
            plain(&text[start..], 40)
        )
    };
    let end = run(start, |byte| byte != b'=' && !is_blank(byte));
    let equals = run(end, is_blank);
    if bytes.get(equals) != Some(&b'=') {
        return Err(malformed());
    }
    let open = run(equals + 1, is_blank);
    let Some(quote @ (b'"' | b'\'')) = bytes.get(open) else {
        return Err(malformed());
    };
    let ends = |byte: &u8| byte == quote;
    let value = &bytes[open + 1..];
    let special = |byte: &u8| ends(byte) || matches!(byte, b'<' | b'&');
    let met = value.iter().position(special).ok_or_else(malformed)?;
    let plain = ends(&value[met]);
    let length = if plain {
        met
    } else {
        value.iter().position(ends).ok_or_else(malformed)?
    };
    let key = &text[start..end];
    check_name(key)?;
    let close = open + 1 + length;
    *rest = &text[close + 1..];
    Ok(Some(Attribute {
        key,
        value: &text[open + 1..close],
        plain,
    }))
}

#[inline]
const fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\r' | b'\n')
}

/// An attribute's value with its references resolved.
fn expand(value: &str, xml_1_1: bool) -> Result<String, String> {
    if value.contains('<') {
        return Err("an attribute's value must not hold `<`".to_owned());
    }
    let mut pieces = value.split('&');
    let mut expanded = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let (reference, text) = piece
            .split_once(';')
            .ok_or("`&` must begin a reference that ends with `;`")?;
        expanded.push(resolve(reference, xml_1_1)?);
        expanded.push_str(text);
    }
    Ok(expanded)
}

/// The character that a reference stands for.
pub(super) fn resolve(reference: &str, xml_1_1: bool) -> Result<char, String> {
    let number = reference
        .strip_prefix('#')
        .map(|digits| match digits.strip_prefix('x') {
            Some(hex) => u32::from_str_radix(hex, 16),
            None => digits.parse(),
        });
    let character = match (reference, number) {
        ("lt", _) => Some('<'),
        ("gt", _) => Some('>'),
        ("amp", _) => Some('&'),
        ("apos", _) => Some('\''),
        ("quot", _) => Some('"'),
        (_, Some(Ok(number))) => char::from_u32(number).filter(|&c| {
            let control = c < ' ' && !matches!(c, '\t' | '\n' | '\r');
            !matches!(c, '\0' | '\u{FFFE}' | '\u{FFFF}') && (!control || xml_1_1)
        }),
        _ => None,
    };
    character.ok_or_else(|| {
        format!(
            "a reference must be one of &lt; &gt; &amp; &apos; &quot; or a character's number, got `&{};`",
            plain(reference, 40)
        )
    })
}

/// Refuses what can be no name in XML; of characters beyond ASCII all are let pass.
#[inline]
pub(super) fn check_name(name: &str) -> Result<(), String> {
    let bytes = name.as_bytes();
    let starts =
        |byte: u8| byte.is_ascii_alphabetic() || matches!(byte, b'_' | b':') || byte >= 0x80;
    let sound = bytes.first().is_some_and(|&byte| starts(byte))
        && bytes.len() <= 1024
        && bytes
            .iter()
            .all(|&byte| starts(byte) || byte.is_ascii_digit() || matches!(byte, b'-' | b'.'));
    if sound {
        Ok(())
    } else {
        Err(format!("must be a name, got `{}`", plain(name, 40)))
    }
}
