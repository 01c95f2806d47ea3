//! Import: files in, what was measured and the trip out. All tracks are invented and lie in mid-ocean.

use crate::imported;
use crate::kept;
use crate::tracks;

use std::fmt::Write as _;
use std::fs;
use std::io::{self, Read};

use drystage::io::gpx;
use drystage::io::import::{self, Imported, Measurement, Options, Split};
use drystage::io::reading::{LONGEST_NAME, LineKind, Reading};
use drystage::model::Trip;
use drystage::model::track::Track;
use drystage::quantity::{Kilometres, Metres};
use encoding_rs::{
    Encoding, ISO_8859_2, ISO_8859_5, ISO_8859_15, KOI8_R, WINDOWS_1250, WINDOWS_1251, WINDOWS_1252,
};
use imported::{import, legs, note, places, refusal, trip_of, utf_16, written};
use proptest::prelude::*;
use serde_json::json;

/// Three points at the corners of a right angle, with heights.
const CORNER: &str = r#"<trk><name>Corner</name><trkseg>
<trkpt lat="-48.0" lon="-130.0"><ele>100</ele></trkpt>
<trkpt lat="-48.1" lon="-130.0"><ele>140</ele></trkpt>
<trkpt lat="-48.1" lon="-130.1"><ele>130</ele></trkpt>
</trkseg></trk>"#;

/// A GPX 1.1 file around `content`, which begins on its first line.
fn gpx_1_1(content: &str) -> String {
    format!(
        "<gpx version=\"1.1\" creator=\"test\" xmlns=\"http://www.topografix.com/GPX/1/1\">{content}</gpx>"
    )
}

/// A file with one short track of that name.
fn file(name: &str) -> String {
    gpx_1_1(&format!(
        "<trk><name>{name}</name><trkseg><trkpt lat=\"-48.0\" lon=\"-130.0\"><ele>100</ele></trkpt><trkpt lat=\"-48.1\" lon=\"-130.0\"/></trkseg></trk>"
    ))
}

fn read(text: &str) -> Reading {
    gpx::read(text.as_bytes(), false).unwrap()
}

fn measure(name: &str, bytes: &[u8]) -> Measurement {
    let (_directory, paths) = written(&[(name, bytes)]);
    import::measure(&paths, &Options::default()).unwrap()
}

/// What is wrong with a GPX file, a problem a line.
fn refused(bytes: &[u8]) -> String {
    let damage = gpx::read(bytes, false).expect_err("refused");
    let lines: Vec<String> = damage.iter().map(ToString::to_string).collect();
    lines.join("\n")
}

#[test]
fn what_was_measured_has_its_published_keys() {
    let gpx = gpx_1_1(&format!(
        r#"<wpt lat="-48.1" lon="-130.0"><name>Bend</name></wpt>
        <rte><name>Plan</name><rtept lat="-48.0" lon="-130.0"/><rtept lat="-48.1" lon="-130.0"/></rte>
        {CORNER}"#
    ));
    let found = serde_json::to_value(measure("a.gpx", gpx.as_bytes())).unwrap();
    let line = &found["files"][0]["lines"][1];
    assert_eq!(found["drystage_import"], 1);
    assert_eq!(found["files"][0]["waypoints"], 1);
    assert_eq!(found["files"][0]["passed_over"], json!([]));
    assert_eq!(
        found["files"][0]["lines"][0],
        json!({
            "kind": "route", "name": "Plan", "segment": 1, "points": 2, "length_m": line_of(-48.0, -48.1),
            "ascent_m": null, "descent_m": null, "ascent_raw_m": null, "box": [-130, -48.1, -130, -48],
        })
    );
    assert_eq!(line["kind"], "track");
    assert_eq!(line["points"], 3);
    assert_eq!(
        (&line["ascent_m"], &line["descent_m"], &line["ascent_raw_m"]),
        (&json!(40), &json!(10), &json!(40))
    );
    assert_eq!(line["box"], json!([-130.1, -48.1, -130, -48]));
    let keys = line.as_object().unwrap().keys().map(String::as_str);
    assert_eq!(
        keys.collect::<Vec<_>>().join(" "),
        "kind name segment points length_m ascent_m descent_m ascent_raw_m box"
    );
}

/// Length of a meridian arc by the geodesic crate.
fn line_of(lat1: f64, lat2: f64) -> f64 {
    use geo::{Distance, Geodesic, Point};
    Geodesic.distance(Point::new(-130.0, lat1), Point::new(-130.0, lat2))
}

#[test]
fn a_file_measures_the_same_in_every_encoding() {
    let text = |label: &str| {
        format!(
            "<?xml version=\"1.0\" encoding=\"{label}\"?>\n{}",
            file("Größe é")
        )
    };
    let (utf_16_text, plain) = (text("UTF-16"), text("UTF-8"));
    let with_mark = |mark: &[u8], rest: Vec<u8>| [mark, &rest].concat();
    let encoded = |encoding: &'static Encoding, label: &str| {
        let text = text(label);
        encoding.encode(&text).0.into_owned()
    };
    let files: Vec<(&str, Vec<u8>)> = vec![
        (
            "UTF-8 with mark",
            with_mark(b"\xEF\xBB\xBF", plain.clone().into()),
        ),
        ("UTF-8 said to be UTF-16", utf_16_text.clone().into()),
        ("UTF-8 undeclared", file("Größe é").into()),
        (
            "UTF-16 LE with mark",
            with_mark(b"\xFF\xFE", utf_16(&utf_16_text, u16::to_le_bytes)),
        ),
        (
            "UTF-16 BE with mark",
            with_mark(b"\xFE\xFF", utf_16(&utf_16_text, u16::to_be_bytes)),
        ),
        ("UTF-16 LE", utf_16(&utf_16_text, u16::to_le_bytes)),
        ("UTF-16 BE", utf_16(&utf_16_text, u16::to_be_bytes)),
        ("ISO-8859-1", encoded(WINDOWS_1252, "ISO-8859-1")),
        ("windows-1252", encoded(WINDOWS_1252, "windows-1252")),
        ("ISO-8859-15", encoded(ISO_8859_15, "iso-8859-15")),
        ("ISO-8859-2", encoded(ISO_8859_2, "ISO-8859-2")),
        ("windows-1250", encoded(WINDOWS_1250, "windows-1250")),
    ];
    let lines = |bytes: &[u8]| measure("a.gpx", bytes).files.remove(0).lines;
    let expected = lines(plain.as_bytes());
    assert_eq!(expected[0].name.as_deref(), Some("Größe é"));
    for (name, bytes) in files {
        assert_eq!(lines(&bytes), expected, "{name}");
    }
    let cyrillic = |label: &str| {
        file("Соль").replacen(
            "<gpx",
            &format!("<?xml version='1.0' encoding='{label}'?><gpx"),
            1,
        )
    };
    for encoding in [ISO_8859_5, WINDOWS_1251, KOI8_R] {
        let label = encoding.name();
        let bytes = encoding.encode(&cyrillic(label)).0.into_owned();
        let name = lines(&bytes)[0].name.clone();
        assert_eq!(name.as_deref(), Some("Соль"), "{label}");
    }
}

#[test]
fn a_long_file_in_utf_16_keeps_its_characters_across_blocks() {
    let mut gpx = Vec::new();
    tracks::write_track(&mut gpx, 4000).unwrap();
    let text = String::from_utf8(gpx.clone())
        .unwrap()
        .replace("Invented", "𝄞é")
        .replace("UTF-8", "UTF-16");
    let wide = utf_16(&text, u16::to_le_bytes);
    let points = |bytes: &[u8]| gpx::read(bytes, false).unwrap().lines.remove(0).points;
    assert_eq!(points(&wide), points(&gpx));
    // A character of three bytes at every offset of a block's end.
    for shift in 0..4 {
        let padded = file(&"x".repeat(shift)).replace(
            "<trk>",
            &format!("<!--{}{}--><trk>", " ".repeat(shift), "€".repeat(60_000)),
        );
        assert_eq!(gpx::read(padded.as_bytes(), false).unwrap().lines.len(), 1);
    }
}

#[test]
fn versions_prefixes_and_forms_do_not_matter() {
    let points = |text: &str| read(text).lines.remove(0).points;
    let expected = points(&gpx_1_1(CORNER));
    let track = r#"<g:trk><g:trkseg>
        <g:trkpt lon="-130.0" lat="-48.0"><g:ele> 100 </g:ele></g:trkpt>
        <g:trkpt lat='-48.1' lon='-130.0' ><g:ele><![CDATA[140]]></g:ele><g:time>never</g:time></g:trkpt>
        <g:trkpt lat="-48.1" lon="&#45;130.1"><g:ele>1&#51;0</g:ele></g:trkpt></g:trkseg></g:trk>"#;
    let forms = [
        format!("<g:gpx xmlns:g='http://www.topografix.com/GPX/1/0' version='1.0'>{track}</g:gpx>"),
        format!("<gpx>{}</gpx>", track.replace("g:", "")),
        format!("<gpx xmlns='u' xmlns:g='u'>{track}</gpx>"),
        format!(
            "<!DOCTYPE gpx [<!ENTITY x 'y'>]>\n<?pi?><!-- - --><gpx version=\"2\" >{}</gpx >\n",
            track.replace("g:", "")
        ),
    ];
    for form in forms {
        assert_eq!(points(&form), expected, "{form}");
    }
}

#[test]
fn elements_of_another_namespace_are_not_taken_for_those_of_the_format() {
    let gpx = gpx_1_1(
        r#"<trk><trkseg><trkpt lat="-48" lon="-130"><ele>7</ele><o:ele xmlns:o="other">9</o:ele>
        <extensions><ele>8</ele></extensions></trkpt></trkseg></trk>"#,
    );
    let reading = read(&gpx);
    assert_eq!(reading.lines[0].points[0].height, Some(Metres::new(7.0)));
    assert_eq!(
        reading.passed_over,
        [("o:ele".to_owned(), 1), ("extensions".to_owned(), 1)]
    );
}

/// Files that are no GPX, each with what is wrong with it.
fn broken() -> Vec<(&'static str, Vec<u8>)> {
    let inside = |text: &str| gpx_1_1(&format!("<trk><trkseg>\n{text}\n</trkseg></trk>"));
    vec![
        ("empty", Vec::new()),
        ("no element", b"<?xml version='1.0'?>\n".into()),
        ("another root", b"<kml>\n</kml>".into()),
        ("truncated", gpx_1_1(CORNER)[..190].into()),
        ("end tag that does not match", inside("<trkpt lat='1' lon='2'></trkseg>").into()),
        ("second root", format!("{}\n<gpx/>", gpx_1_1("")).into()),
        ("text behind the root", format!("{}\nx", gpx_1_1("")).into()),
        ("declaration in the second line", format!("\n<?xml version='1.0'?>{}", gpx_1_1("")).into()),
        ("attribute without quotes", inside("<trkpt lat=1 lon='2'/>").into()),
        ("attribute twice", inside("<trkpt lat='1' lat='1' lon='2'/>").into()),
        ("attributes that touch", inside("<trkpt lat='1'lon='2'/>").into()),
        ("less-than in an attribute", inside("<trkpt lat='<' lon='2'/>").into()),
        ("broken attribute of an unknown element", inside("<other a b='1'/>").into()),
        ("name that is none", inside("<1/>").into()),
        ("unclosed comment", inside("<!-- ").into()),
        ("two hyphens in a comment", inside("<!-- a -- b -->").into()),
        ("lone ampersand", inside("<other>a & b</other>").into()),
        ("unknown entity", inside("<other>&nbsp;</other>").into()),
        ("reference to a control character", inside("<other>&#27;</other>").into()),
        ("control character", inside("<other>\u{1b}[31m</other>").into()),
        ("end of a literal in text", inside("<other>]]></other>").into()),
        ("bytes that are not UTF-8", [inside("").as_bytes(), b"\n<!-- caf\xE9 -->"].concat()),
        ("half a character", [inside("").as_bytes(), b"\n\xE2\x82"].concat()),
        ("unknown encoding", b"<?xml version='1.0' encoding='x-secret\x1b'?><gpx/>".into()),
        ("UTF-32", b"\xFF\xFE\0\0<\0\0\0".into()),
        ("odd UTF-16", b"\xFF\xFE<\0g\0\n\0\x00\xD8x\0".into()),
        ("positions", inside("<trkpt lat='91' lon='2'/>\n<trkpt lat='1'/>\n<trkpt lat='NaN' lon='-180.1'/><trkpt lat='1,5' lon=''/>").into()),
        ("height that is no number", inside("<trkpt lat='1' lon='2'>\n<ele>12,5</ele></trkpt>").into()),
        ("waypoint without a position", gpx_1_1("\n<wpt><name>x</name></wpt>").into()),
    ]
}

#[test]
fn broken_files_are_refused_with_their_line() {
    let broken = broken();
    let table: Vec<String> = broken
        .iter()
        .map(|(name, bytes)| format!("{name}:\n  {}", refused(bytes).replace('\n', "\n  ")))
        .collect();
    insta::assert_snapshot!(table.join("\n"));
}

/// Lines end as the file ends them, and a column is a character, whatever its bytes.
#[test]
fn damage_is_reported_with_its_line_and_column() {
    let place_of_damage = |text: &str| {
        let whole = refused(text.as_bytes());
        let utf_16 = refused(&utf_16(text, u16::to_le_bytes));
        assert_eq!(utf_16, whole, "{text:?}");
        whole.split_once(": ").unwrap().0.to_owned()
    };
    for end in ["\n", "\r\n", "\r"] {
        let lines = ["<gpx>", "<!-- a", "b --> ", "<wpt lat='1'/></gpx>"].join(end);
        assert_eq!(place_of_damage(&lines), "line 4, column 1", "{end:?}");
    }
    for (text, place) in [
        ("<gpx>\n<!--ä€\u{1F98E}--><1/></gpx>", "line 2, column 11"),
        ("<gpx>\n<name>€ &x;</name></gpx>", "line 2, column 9"),
        ("<gpx>\n ]]></gpx>", "line 2, column 2"),
        ("<gpx>\n<!--€\n\u{1}--></gpx>", "line 3, column 1"),
        ("<gpx>\n<trk", "line 2, column 1"),
        ("<gpx>\n<trk>\n", "line 3, column 1"),
    ] {
        assert_eq!(place_of_damage(text), place, "{text}");
    }
    // However far it is from the first block.
    let far = format!("<gpx>\n<!--{}-->\u{1}", "€\r\n".repeat(60_000));
    assert_eq!(place_of_damage(&far), "line 60002, column 4");
    let far = format!("<gpx>\n<!--{}--><1/>", "€\r\n".repeat(60_000));
    assert_eq!(place_of_damage(&far), "line 60002, column 4");
}

/// What is sound before bytes that are no text is taken, in every encoding.
#[test]
fn salvage_takes_what_precedes_bytes_that_are_no_text() {
    let whole = gpx_1_1(&format!("{CORNER}<desc>?</desc>")).replace('\n', " ");
    let cut = whole.find('?').unwrap();
    let wide = |text: &str| utf_16(text, u16::to_be_bytes);
    for (begin, damage, rest) in [
        (
            whole[..cut].into(),
            vec![0xE9, b'<'],
            whole[cut + 1..].into(),
        ),
        (
            wide(&whole[..cut]),
            vec![0xD8, 0, 0, b'<'],
            wide(&whole[cut + 1..]),
        ),
    ] {
        let bytes = [begin, damage, rest].concat();
        let reading = gpx::read(bytes.as_slice(), true).unwrap();
        assert_eq!(reading.lines[0].points.len(), 3);
        let damage = &gpx::read(bytes.as_slice(), false).unwrap_err()[0];
        assert_eq!(
            (damage.line, damage.column),
            (1, cut as u64 + 1),
            "{damage}"
        );
    }
}

#[test]
fn what_is_no_text_and_what_is_empty_is_named() {
    for (bytes, named) in [
        (
            b"\x1F\x8B\x08\0\0\0\0\0".as_slice(),
            "is not text, but a gzip archive: unpack it first",
        ),
        (
            b"PK\x03\x04\x14\0",
            "is not text, but a zip archive: unpack it first",
        ),
        (b"\x89PNG\r\n\x1A\n\0\0", "is not text, but a PNG picture"),
        (b"\xFF\xD8\xFF\xE0\0", "is not text, but a JPEG picture"),
        (b"", "the file is empty"),
        (&[b' '; 100], "the file is empty"),
    ] {
        let message = refusal("a.gpx", bytes);
        assert!(
            message.contains(named) && !message.contains("column"),
            "{message}"
        );
    }
    // Blanks before a file's first character do not make it a table.
    let late = format!("{}{}", "\r\n".repeat(1000), gpx_1_1(""));
    assert!(refusal("a.gpx", &late).contains("two waypoints"));
}

/// As happens where marked files are put together.
#[test]
fn a_second_byte_order_mark_at_the_begin_is_passed_over() {
    let marked = format!("\u{feff}\u{feff}<?xml version='1.0'?>{}", file("a"));
    assert_eq!(read(&marked).lines[0].points.len(), 2);
}

/// Gives so many bytes at a time.
struct Dripping<'a>(&'a [u8], usize);

impl Read for Dripping<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let length = self.1.min(self.0.len()).min(into.len());
        let (given, rest) = self.0.split_at(length);
        into[..length].copy_from_slice(given);
        self.0 = rest;
        Ok(length)
    }
}

/// A file is read in pieces that end behind a `>`: tags, texts, comments and characters that a piece cuts are whole
/// again.
#[test]
fn the_same_comes_of_a_file_however_its_bytes_come() {
    let markup = gpx_1_1(
        "<!-- a > b --><metadata><name>5 &gt; 4 > 3 &amp; \u{e4}\u{20ac}\u{1f98e}</name></metadata>\n<?pi a > b?>\
         <x a='>' b=\">>\"><y/></x ><wpt lat='1' lon='2'><name><![CDATA[a > b]]> c</name></wpt>\n\
         <trk><name>\u{feff}\u{feff}></name><trkseg><trkpt lat = \"-48\" lon='-130'><ele> 1&#50; </ele></trkpt\n>\
         <trkpt lon='-130.1' lat='-48.1'/></trkseg></trk>",
    );
    let whole = format!("<!DOCTYPE gpx [ <!ENTITY a \">\"> ]>\n{markup}\n");
    let mut files = broken();
    files.push(("whole", whole.into_bytes()));
    // The first kilobyte is taken at once, to find the encoding in it.
    let behind_the_first = format!("{}<gpx", "<!-- -->".repeat(150));
    for (name, bytes) in files {
        let bytes = match String::from_utf8(bytes) {
            Ok(text) => text.replacen("<gpx", &behind_the_first, 1).into_bytes(),
            Err(error) => error.into_bytes(),
        };
        let read = |at_once| format!("{:?}", gpx::read(Dripping(&bytes, at_once), false));
        let at_once = read(usize::MAX);
        assert_eq!(at_once.starts_with("Ok"), name == "whole", "{at_once}");
        for few in 1..12 {
            assert_eq!(read(few), at_once, "{name}, {few} bytes at a time");
        }
    }
}

#[test]
fn no_more_than_twenty_bad_points_are_reported() {
    let gpx = gpx_1_1(&format!(
        "<trk><trkseg>{}</trkseg></trk>",
        "<trkpt lat='x' lon='1'/>\n".repeat(1000)
    ));
    assert_eq!(refused(gpx.as_bytes()).lines().count(), 21);
}

#[test]
fn entities_never_grow() {
    let mut bomb = "<?xml version=\"1.0\"?>\n<!DOCTYPE gpx [\n<!ENTITY lol \"lol\">\n".to_owned();
    for n in 1..10 {
        let before = if n == 1 {
            "lol".to_owned()
        } else {
            format!("lol{}", n - 1)
        };
        let ten = format!("&{before};").repeat(10);
        writeln!(bomb, "<!ENTITY lol{n} \"{ten}\">").unwrap();
    }
    bomb += "]>\n<gpx><trk><name>&lol9;</name></trk></gpx>";
    assert_eq!(
        refused(bomb.as_bytes()),
        "line 14, column 17: unknown reference `&lol9;`; XML has &lt; &gt; &amp; &apos; &quot; and numbers of characters"
    );
    let attribute = bomb.replace("<name>&lol9;</name>", "<x a='&lol9;'/>");
    assert!(refused(attribute.as_bytes()).starts_with("line 14, column 11: unknown reference"));
}

#[test]
fn depth_and_size_are_bounded() {
    let deep = gpx_1_1(&format!(
        "{}{}",
        "<a>".repeat(10_000),
        "</a>".repeat(10_000)
    ));
    assert_eq!(
        refused(deep.as_bytes()),
        "line 1, column 842: elements are nested more than 256 deep"
    );
    let long = gpx_1_1(&format!("\n<!--{}-->", " ".repeat(6 << 20)));
    assert_eq!(
        refused(long.as_bytes()),
        "line 2, column 1: a piece of markup or text is longer than 4194304 bytes"
    );
    let many: Vec<String> = (0..100).map(|n| format!(" a{n}='1'")).collect();
    let wide = gpx_1_1(&format!("<a{}/>", many.concat()));
    assert!(refused(wide.as_bytes()).contains("more than 64 attributes"));
    let names: Vec<String> = (0..5000).map(|n| format!("<e{n}/>")).collect();
    assert_eq!(read(&gpx_1_1(&names.concat())).passed_over.len(), 100);
}

#[test]
fn names_hold_nothing_that_a_terminal_obeys() {
    let name_in = |file: &str| read(file).lines[0].name.as_deref().unwrap().to_owned();
    let name = "a\u{9b}31mred\u{202e}txt\u{7f}\u{85} &#10; b\u{feff}";
    assert_eq!(name_in(&file(name)), "aredtxt b");
    let escaped = format!("<?xml version='1.1'?>{}", file("x&#27;[2Jy&#7;"));
    assert_eq!(name_in(&escaped), "xy");
    let cut = name_in(&file(&"é".repeat(900)));
    assert_eq!(cut.chars().count(), LONGEST_NAME + 1);
}

#[test]
fn heights_that_are_none_are_unknown() {
    let point = |lat: f64, height: &str| format!("<trkpt lat='{lat}' lon='-130'>{height}</trkpt>");
    let gpx = gpx_1_1(&format!(
        "<trk><trkseg>{}{}{}{}{}{}</trkseg></trk>",
        point(-48.0, "<ele>NaN</ele>"),
        point(-48.1, "<ele/>"),
        point(-48.2, "<ele>inf</ele>"),
        point(-48.3, "<ele>-32768</ele>"),
        point(-48.4, "<ele>1e300</ele>"),
        point(-48.5, ""),
    ));
    let reading = read(&gpx);
    let mut points = reading.lines[0].points.iter();
    assert!(points.all(|point| point.height.is_none()));
    assert_eq!(reading.unusable_heights, 5);
    let line = &measure("a.gpx", gpx.as_bytes()).files[0].lines[0];
    assert_eq!(
        (line.ascent_m, line.descent_m, line.ascent_raw_m),
        (None, None, None)
    );
    let leg = &trip_of("a.gpx", &gpx).legs[0];
    assert_eq!((leg.ascent_m, leg.mean_altitude_m), (None, None));
}

#[test]
fn segments_are_never_joined() {
    let gpx = gpx_1_1(
        r#"<trk><name>Day</name><trkseg><trkpt lat="-48" lon="-130"/><trkpt lat="-48.1" lon="-130"/></trkseg>
        <trkseg></trkseg>
        <trkseg><trkpt lat="-49" lon="-130"/><trkpt lat="-49.1" lon="-130"/></trkseg></trk>"#,
    );
    let lines = measure("a.gpx", gpx.as_bytes()).files.remove(0).lines;
    let segments: Vec<usize> = lines.iter().map(|line| line.segment).collect();
    assert_eq!(segments, [1, 3]);
    let total: Metres = lines.iter().map(|line| line.length_m).sum();
    assert!((total.get() - line_of(-48.0, -48.1) - line_of(-49.0, -49.1)).abs() < 1e-6);
    // In a trip the gap of 100 km is a leg of its own, without a distance.
    let trip = trip_of("a.gpx", &gpx);
    let stated: Vec<(&str, bool)> = trip
        .legs
        .iter()
        .map(|leg| (leg.to.as_str(), leg.distance_km.is_some()))
        .collect();
    assert_eq!(
        stated,
        [
            ("end of Day", true),
            ("start of Day, segment 3", false),
            ("end of Day, segment 3", true)
        ]
    );
}

#[test]
fn the_date_line_is_crossed_the_short_way() {
    let gpx = gpx_1_1(
        r#"<wpt lat="-48" lon="180"><name>Line</name></wpt><trk><trkseg>
        <trkpt lat="-48" lon="179.9"/><trkpt lat="-48" lon="-179.9"/></trkseg></trk>"#,
    );
    let line = &measure("a.gpx", gpx.as_bytes()).files[0].lines[0];
    let extent = serde_json::to_value(line.extent).unwrap();
    assert_eq!(extent, json!([179.9, -48, -179.9, -48]));
    let length = line.length_m.get();
    assert!((length - 14_919.0).abs() < 10.0, "{length}");
    let trip = trip_of("a.gpx", &gpx);
    assert_eq!(trip.legs[0].to, "Line");
    assert_eq!(trip.legs[0].distance_km, trip.legs[1].distance_km);
}

/// The crate `gpx` reads the same file and has to find the same points.
#[test]
fn a_second_reader_finds_the_same_points() {
    let mut generated = Vec::new();
    tracks::write_track(&mut generated, 500).unwrap();
    let sample = fs::read("sample-routes/plateau-loop.gpx").unwrap();
    for bytes in [generated, sample] {
        let theirs = ::gpx::read(bytes.as_slice()).unwrap();
        let ours = gpx::read(bytes.as_slice(), false).unwrap();
        let tracks = theirs.tracks.iter();
        let segments: Vec<_> = tracks.flat_map(|track| &track.segments).collect();
        assert_eq!(segments.len(), ours.lines.len());
        for (theirs, ours) in segments.iter().zip(&ours.lines) {
            assert_eq!(ours.kind, LineKind::Track);
            assert_eq!(theirs.points.len(), ours.points.len());
            for (theirs, ours) in theirs.points.iter().zip(&ours.points) {
                let (lon, lat) = theirs.point().x_y();
                assert_eq!((lon, lat), (ours.lon.get(), ours.lat.get()));
                assert_eq!(theirs.elevation, ours.height.map(Metres::get));
            }
        }
        assert_eq!(theirs.waypoints.len(), ours.waypoints.len());
    }
}

#[test]
fn salvage_takes_what_precedes_the_damage() {
    let whole = gpx_1_1(CORNER);
    let cut = whole.find("<ele>130").unwrap() + 6;
    let reading = gpx::read(&whole.as_bytes()[..cut], true).unwrap();
    assert_eq!(reading.lines[0].points.len(), 2);
    assert_eq!(reading.lines[0].name.as_deref(), Some("Corner"));
    assert_eq!(reading.salvaged_before.unwrap().line, 4);

    let options = Options {
        salvage: true,
        ..Options::default()
    };
    let imported = import(&[("a.gpx", &whole.as_bytes()[..cut])], &options).unwrap();
    note(&imported, "damaged at line 4");
    assert_eq!(imported.measurement.files[0].salvaged_before_line, Some(4));

    let bad = whole.replace(
        "lat=\"-48.1\" lon=\"-130.1\"",
        "lat=\"-98.1\" lon=\"-130.1\"",
    );
    let control = whole.replace("<ele>130", "<ele>\u{1}30");
    for damaged in [bad, control] {
        let reading = gpx::read(damaged.as_bytes(), true).unwrap();
        assert_eq!(reading.lines[0].points.len(), 2);
    }
}

#[test]
fn the_sample_track_splits_at_its_waypoints() {
    let bytes = fs::read("sample-routes/plateau-loop.gpx").unwrap();
    let imported = import(&[("loop.gpx", &bytes)], &Options::default()).unwrap();
    note(&imported, "placeholder");
    let Imported {
        trip, measurement, ..
    } = imported;
    assert_eq!(trip.start.name, "Lamp Hollow");
    let places = places(&trip);
    assert_eq!(places.last(), Some(&"Lamp Hollow"));
    assert!(places.contains(&"White Hem"), "{places:?}");
    let vehicle = trip.vehicle.name.as_deref();
    assert_eq!(vehicle, Some("placeholder vehicle: enter your own"));

    // The legs are the lines of the file, cut.
    let lines = &measurement.files[0].lines;
    let legs = trip.legs.len() as f64;
    let cut: Kilometres = trip.legs.iter().filter_map(|leg| leg.distance_km).sum();
    let whole: Metres = lines.iter().map(|line| line.length_m).sum();
    assert!(
        (Metres::from(cut) - whole).get().abs() < legs,
        "{cut:?} {whole:?}"
    );
    let cut: Metres = trip.legs.iter().filter_map(|leg| leg.ascent_m).sum();
    let whole: Metres = lines.iter().filter_map(|line| line.ascent_m).sum();
    assert!((cut - whole).get().abs() < 0.1 * legs, "{cut:?} {whole:?}");
    for leg in &trip.legs {
        let distance = leg.distance_km.unwrap();
        let [ascent, descent] = [leg.ascent_m, leg.descent_m].map(Option::unwrap);
        let way = |height: Metres, grade: Option<drystage::quantity::Grade>| {
            grade.map_or(0.0, |grade| height.get() / grade.get())
        };
        let climbs = way(ascent, leg.ascent_grade) + way(descent, leg.descent_grade);
        assert!(climbs <= Metres::from(distance).get() * 1.01, "{leg:?}");
        let Some(Track::Inline(points)) = &leg.track else {
            panic!("a track")
        };
        assert!(points.points().len() >= 2);
    }
}

/// The simplified track strays from the one that was read by its tolerance at most.
#[test]
fn a_kept_track_is_thinned_and_stays_near() {
    use drystage::model::climb::THRESHOLD;
    use drystage::model::survey::Profile;
    let mut gpx = Vec::new();
    tracks::write_track(&mut gpx, 5000).unwrap();
    let imported = import(&[("a.gpx", &gpx)], &Options::default()).unwrap();
    let Some(Track::Inline(points)) = &imported.trip.legs[0].track else {
        panic!("a track")
    };
    let count = points.points().len();
    assert!((10..500).contains(&count), "{count}");
    let kept = Profile::from_points(points.points(), THRESHOLD).length;
    let whole = imported.measurement.files[0].lines[0].length_m;
    assert!(kept < whole && kept > whole * 0.9, "{kept:?} {whole:?}");
}

#[test]
fn lines_split_every_so_many_kilometres_or_not_at_all() {
    let gpx = gpx_1_1(CORNER);
    let with = |split| {
        let options = Options {
            split: Some(split),
            ..Options::default()
        };
        import(&[("a.gpx", gpx.as_bytes())], &options).unwrap().trip
    };
    let whole = with(Split::Segments);
    let (to, km) = legs(&whole)[0];
    assert_eq!((whole.legs.len(), to), (1, "end of Corner"));
    let parts = with(Split::Every(Kilometres::new(5.0)));
    assert_eq!(places(&parts), ["km 5", "km 10", "km 15", "end of Corner"]);
    let found = legs(&parts);
    let are_5_km = found[..3].iter().all(|leg| (leg.1 - 5.0).abs() < 0.0015);
    assert!(are_5_km, "{found:?}");
    assert!((found.iter().map(|leg| leg.1).sum::<f64>() - km).abs() < 0.005);
    assert_eq!("50km".parse(), Ok(Split::Every(Kilometres::new(50.0))));
    let message = "0km".parse::<Split>().unwrap_err().to_string();
    assert!(message.contains("0.1 to 10000 km"), "{message}");
}

#[test]
fn a_way_out_and_back_meets_the_same_place_twice() {
    let gpx = gpx_1_1(
        r#"<wpt lat="-48.2" lon="-130"><name>Well</name><desc>brackish</desc></wpt><wpt lat="-48" lon="-130"><name>Camp</name></wpt>
        <wpt lat="-48.4" lon="-130"><name>Turn</name></wpt><wpt lat="-40" lon="-130"><name>Elsewhere</name></wpt>
        <trk><trkseg><trkpt lat="-48" lon="-130"/><trkpt lat="-48.2" lon="-130"/><trkpt lat="-48.4" lon="-130"/>
        <trkpt lat="-48.2" lon="-130"/><trkpt lat="-48" lon="-130"/></trkseg></trk>"#,
    );
    let imported = import(&[("a.gpx", gpx.as_bytes())], &Options::default()).unwrap();
    note(&imported, "Elsewhere");
    let trip = imported.trip;
    assert_eq!(trip.start.name, "Camp");
    assert_eq!(places(&trip), ["Well", "Turn", "Well", "Camp"]);
    assert_eq!(trip.legs[0].note.as_deref(), Some("brackish"));
}

#[test]
fn routes_and_bare_waypoints_become_places() {
    let route = gpx_1_1(
        r#"<rte><name>Plan</name><rtept lat="-48" lon="-130"><name>A</name></rtept><rtept lat="-48.2" lon="-130"/>
        <rtept lat="-48.4" lon="-130"><name>B</name></rtept></rte>"#,
    );
    let trip = trip_of("r.gpx", &route);
    assert_eq!(trip.start.name, "A");
    assert_eq!(places(&trip), ["Plan, point 2", "B"]);
    for leg in &trip.legs {
        assert!(leg.distance_km.is_none() && leg.lat.is_some(), "{leg:?}");
    }

    let waypoints = gpx_1_1(
        r#"<wpt lat="-48" lon="-130"><name>A</name></wpt><wpt lat="-49" lon="-130"><name>A</name></wpt>"#,
    );
    let trip = trip_of("w.gpx", &waypoints);
    assert_eq!(
        (trip.start.name.as_str(), places(&trip)),
        ("A", vec!["A (2)"])
    );

    let nothing = refusal("n.gpx", &gpx_1_1(""));
    assert!(nothing.contains("two waypoints"), "{nothing}");
    let (_folder, paths) = written(&[("n.gpx", gpx_1_1("").as_bytes())]);
    let measured = import::measure(&paths, &Options::default()).unwrap_err();
    assert!(measured.to_string().contains("two waypoints"), "{measured}");
}

/// A leg is at most 5,000 km long; the way out is named.
#[test]
fn a_track_that_is_too_long_for_a_leg_says_how_to_cut_it() {
    let points: Vec<String> = (0..8)
        .map(|n| format!("<trkpt lat='0' lon='{}'/>", -170 + n * 8))
        .collect();
    let points = points.concat();
    let gpx = gpx_1_1(&format!(
        "<trk><name>Far</name><trkseg>{points}</trkseg></trk>"
    ));
    assert_eq!(
        refusal("a.gpx", &gpx),
        "the imported trip: /legs/0/distance_km: must be 0 to 5000 km, got 6233.891 on the leg to `end of Far`; split the track with --split 100km"
    );
}

#[test]
fn another_trip_lends_its_vehicle() {
    let lender: Trip = serde_json::from_str(include_str!("../data/example-trip.json")).unwrap();
    let options = Options {
        vehicle_from: Some(Box::new(lender.clone())),
        ..Options::default()
    };
    let trip = import(&[("a.gpx", gpx_1_1(CORNER).as_bytes())], &options)
        .unwrap()
        .trip;
    assert_eq!(
        (trip.vehicle, trip.load, trip.rules),
        (lender.vehicle, lender.load, lender.rules)
    );
}

proptest! {
    #![proptest_config(kept::cases("import", 256))]

    #[test]
    fn random_bytes_are_no_trouble(bytes in prop::collection::vec(any::<u8>(), 0..400), salvage: bool) {
        let _ = gpx::read(bytes.as_slice(), salvage);
        let text = String::from_utf8_lossy(&bytes);
        let _ = drystage::io::csv::read(&text);
        let _ = drystage::io::text::read_table(bytes.as_slice());
    }

    #[test]
    fn spoilt_files_are_no_trouble(changes in prop::collection::vec((0_usize..4000, any::<u8>(), 0_u8..3), 1..8), salvage: bool) {
        let mut bytes = gpx_1_1(&format!("<metadata><name>x</name></metadata><wpt lat='-48' lon='-130'><name>&amp;</name></wpt>{CORNER}<rte><rtept lat='1' lon='2'/></rte>")).into_bytes();
        for (at, byte, how) in changes {
            let at = at % bytes.len();
            match how {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                _ => { bytes.remove(at); }
            }
        }
        match gpx::read(bytes.as_slice(), salvage) {
            Ok(reading) => {
                for point in reading.lines.iter().flat_map(|line| &line.points) {
                    prop_assert!(point.lat.get().abs() <= 90.0 && point.lon.get().abs() <= 180.0);
                }
            }
            Err(damage) => prop_assert!(!salvage && damage.iter().all(|fault| fault.line >= 1)),
        }
    }
}
