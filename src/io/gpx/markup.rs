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
pub(super) fn attributes(
    raw: &str,
    xml_1_1: bool,
    mut take: impl FnMut(&str, &str),
) -> Result<(), String> {
    let mut rest = raw;
    let mut earlier = [""; 4];
    let mut number = 0;
    while let Some(attribute) = next_attribute(&mut rest)? {
        let (key, value) = attribute;
        check_name(key)?;
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
        if value.bytes().any(|byte| byte == b'<' || byte == b'&') {
            take(key, &expand(value, xml_1_1)?);
        } else {
            take(key, value);
        }
    }
    Ok(())
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
    while let Ok(Some((other, _))) = next_attribute(&mut raw) {
        times += usize::from(other == key);
    }
    times
}

/// Takes the first attribute off what follows a tag's name.
#[inline]
fn next_attribute<'a>(rest: &mut &'a str) -> Result<Option<(&'a str, &'a str)>, String> {
    let text = *rest;
    let bytes = text.as_bytes();
    let blank = |byte: &u8| matches!(byte, b' ' | b'\t' | b'\r' | b'\n');
    let skip = |from: usize| from + bytes[from..].iter().take_while(|byte| blank(byte)).count();
    let start = skip(0);
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
    let length = bytes[start..]
        .iter()
        .take_while(|byte| **byte != b'=' && !blank(byte))
        .count();
    let end = start + length;
    let equals = skip(end);
    if bytes.get(equals) != Some(&b'=') {
        return Err(malformed());
    }
    let open = skip(equals + 1);
    let Some(quote @ (b'"' | b'\'')) = bytes.get(open) else {
        return Err(malformed());
    };
    let value = &bytes[open + 1..];
    let close = open
        + 1
        + value
            .iter()
            .position(|byte| byte == quote)
            .ok_or_else(malformed)?;
    *rest = &text[close + 1..];
    Ok(Some((&text[start..end], &text[open + 1..close])))
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
