//! Files that were made to do harm, given to the program in every place where it reads one: it ends by itself, within
//! a bound of memory, says what is wrong in few words, and nothing of the file acts on the terminal.

#![cfg(target_os = "linux")]
#![expect(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::thread;

use assert_cmd::cargo::cargo_bin;
use drystage::io::journal;
use drystage::present::name::acts;
use tempfile::TempDir;

/// Address space of the program, in KiB: the threads' stacks and the program itself are part of it.
const MOST_MEMORY: u32 = 1_500_000;
/// An error that quotes what it found quotes the beginning.
const MOST_SAID: usize = 60_000;

/// A call that reads a file of the name `hostile`, and what else has to lie there for it.
const READERS: [(&str, &str); 9] = [
    ("trip", "report hostile"),
    ("check", "check hostile --format json"),
    ("table or track", "import hostile"),
    ("with salvage", "import hostile --salvage"),
    ("fill-ups", "calibrate trip.json hostile"),
    ("preferences", "--config hostile new -o -"),
    ("vehicle", "new --vehicle-from hostile -o -"),
    ("track of a leg", "report tracked.json"),
    ("stdin", "report -"),
];

/// A folder with a sound trip in it, and one of which a leg follows the hostile file.
fn place() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let example = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/example-trip.json");
    let text = fs::read_to_string(example).unwrap();
    fs::write(folder.path().join("trip.json"), &text).unwrap();
    let mut tracked: serde_json::Value = serde_json::from_str(&text).unwrap();
    tracked["legs"][0]["track"] = "hostile".into();
    fs::write(folder.path().join("tracked.json"), tracked.to_string()).unwrap();
    folder
}

fn call(folder: &Path, call: &str) -> Output {
    let stdin = fs::File::open(folder.join("hostile"));
    Command::new("sh")
        .env_clear()
        .current_dir(folder)
        .arg("-c")
        .arg(format!(
            "ulimit -c 0; ulimit -v {MOST_MEMORY}; exec \"$0\" --best-estimate {call}"
        ))
        .arg(cargo_bin("drystage"))
        .stdin(stdin.map_or_else(|_| Stdio::null(), Stdio::from))
        .output()
        .unwrap()
}

/// Gives what lies there as `hostile` to every reader; what each says.
fn read_everywhere(folder: &Path, kind: &str) -> Vec<(&'static str, i32, String)> {
    let read = |(reader, arguments): (&'static str, &str)| {
        let output = call(folder, arguments);
        let message = String::from_utf8(output.stderr).unwrap();
        let start: String = message.chars().take(400).collect();
        let status = output.status.code();
        assert!(
            matches!(status, Some(0..=2)),
            "{kind} as {reader}: {:?} {start}",
            output.status
        );
        assert!(message.len() < MOST_SAID, "{kind} as {reader}: {start}");
        for text in [String::from_utf8(output.stdout).unwrap(), message.clone()] {
            let found = text.chars().find(|&c| acts(c) && !matches!(c, '\n' | '\r'));
            assert_eq!(found, None, "{kind} as {reader}: {start}");
        }
        (reader, status.unwrap(), message)
    };
    // As many at once as a small machine bears.
    let (some, others) = READERS.split_at(READERS.len() / 2);
    thread::scope(|scope| {
        let some = scope.spawn(|| some.iter().copied().map(read).collect::<Vec<_>>());
        let others: Vec<_> = others.iter().copied().map(read).collect();
        [some.join().unwrap(), others].concat()
    })
}

fn utf_16(text: &str) -> Vec<u8> {
    let units = std::iter::once(0xfeff).chain(text.encode_utf16());
    units.flat_map(u16::to_le_bytes).collect()
}

/// Files that are damaged, endless, deep or of another kind.
fn damaged() -> Vec<(&'static str, Vec<u8>)> {
    let bomb = "<?xml version='1.0'?><!DOCTYPE gpx [<!ENTITY a 'lol'><!ENTITY b '&a;&a;&a;&a;'>]><gpx><trk><name>&b;</name></trk></gpx>";
    let outside = "<?xml version='1.0'?><!DOCTYPE gpx [<!ENTITY a SYSTEM 'file:///etc/passwd'>]><gpx><trk><name>&a;</name></trk></gpx>";
    vec![
        ("nothing", Vec::new()),
        ("zeros", vec![0; 1 << 20]),
        ("a mark", b"\xef\xbb\xbf".to_vec()),
        ("two marks", b"\xef\xbb\xbf\xef\xbb\xbf{}".to_vec()),
        ("no UTF-8", b"{\"name\":\"\xff\xfe\xc0\"}".to_vec()),
        ("half a character", b"to,distance_km\nA,\xe2\x82".to_vec()),
        (
            "half of UTF-16",
            utf_16("to,distance_km\nA,1\n\"A\",A\n")[..41].to_vec(),
        ),
        ("an endless line", vec![b'x'; 2 << 20]),
        ("an endless line of digits", vec![b'9'; 2 << 20]),
        ("endless lines", vec![b'\n'; 1 << 20]),
        (
            "an open quote",
            [b"to\n".to_vec(), vec![b'"'; 1_000_001]].concat(),
        ),
        (
            "an endless row",
            [b"to,x\nA".to_vec(), vec![b','; 1 << 20]].concat(),
        ),
        ("deep lists", b"[".repeat(100_000)),
        ("deep objects", b"{\"a\":".repeat(100_000)),
        (
            "deep features",
            [b"{\"features\":[".repeat(100_000), b"1".to_vec()].concat(),
        ),
        (
            "deep elements",
            [b"<gpx>".to_vec(), b"<a>".repeat(100_000)].concat(),
        ),
        (
            "deep patch",
            format!(
                "{{\"what_ifs\":[{{\"name\":\"a\",\"change\":{}",
                "[".repeat(100_000)
            )
            .into(),
        ),
        (
            "deep collections",
            b"{\"type\":\"GeometryCollection\",\"geometries\":[".repeat(100_000),
        ),
        (
            "many namespaces",
            format!("<gpx{}/>", " xmlns:a='b'".repeat(100_000)).into(),
        ),
        (
            "half a pair in UTF-16",
            b"\xfe\xff\0<\0g\0p\0x\0>\xd8\0\0<".to_vec(),
        ),
        (
            "half a pair in JSON",
            b"{\"type\":\"Feature\",\"properties\":{\"name\":\"\\ud800\"}}".to_vec(),
        ),
        ("a gzip archive", b"\x1f\x8b\x08\0\0\0\0\0\0\x03".to_vec()),
        ("a zip archive", b"PK\x03\x04\x14\0\0\0".to_vec()),
        ("a picture", b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR".to_vec()),
        ("a bomb of entities", bomb.into()),
        ("an entity from outside", outside.into()),
        (
            "keys twice",
            format!("{{{}}}", "\"a\":1,".repeat(100_000)).into(),
        ),
    ]
}

/// Files of no format, and of each format with one thing in it that is too much.
fn hostile() -> Vec<(&'static str, Vec<u8>)> {
    let long = "name ".repeat(200_000);
    let acting = "a\u{1b}[2J\u{9b}31m\u{7}\u{202e}b\u{2066}\u{feff}\u{2028}c";
    let escaped = "a\\u001b[2J\\u202eb\\u2066c";
    let trip = |name: &str| format!("{{\"drystage\":1,\"name\":\"{name}\",\"{name}\":1}}");
    let gpx = |inside: &str| format!("<?xml version='1.0'?><gpx version='1.1'>{inside}</gpx>");
    let track = |name: &str| {
        let point = "<trkpt lat='-48' lon='-130'/><trkpt lat='-48.1' lon='-130'/>";
        gpx(&format!(
            "<trk><name>{name}</name><trkseg>{point}</trkseg></trk><x {name}='1'/>"
        ))
    };
    let feature = |name: &str| {
        format!(
            "{{\"type\":\"Feature\",\"geometry\":{{\"type\":\"LineString\",\"coordinates\":[[1,2],[3,{name}]]}},\"properties\":{{\"name\":\"{name}\"}}}}"
        )
    };
    let table = |name: &str| format!("to,distance_km\nA,1\n\"{name}\",{name}\n");
    let fills = |name: &str| {
        format!("date,odometer_km,litres,to_brim\n2020-01-01,{name},1,yes\n{name},2,3,{name}\n")
    };
    let mut all = damaged();
    for (kind, name) in [
        ("a long name", &*long),
        ("what acts", acting),
        ("escapes", escaped),
        ("a huge number", "1e999"),
    ] {
        for (text, of) in [
            (trip(name), "trip"),
            (track(name), "track"),
            (feature(name), "feature"),
            (table(name), "table"),
            (fills(name), "fill-ups"),
            (
                format!("{{\"color\":\"{name}\",\"{name}\":{name}}}"),
                "preferences",
            ),
        ] {
            let kind = &*Box::leak(format!("{kind} in {of}").into_boxed_str());
            all.push((kind, text.clone().into()));
            if name.len() < 100 {
                all.push((
                    &*Box::leak(format!("{kind}, UTF-16").into_boxed_str()),
                    utf_16(&text),
                ));
            }
        }
    }
    all
}

#[test]
fn every_reader_bears_every_hostile_file() {
    let place = place();
    let path = place.path().join("hostile");
    for (kind, bytes) in hostile() {
        fs::write(&path, bytes).unwrap();
        read_everywhere(place.path(), kind);
        assert_eq!(journal::read(&path), None, "{kind}");
    }
}

/// No entity reaches another file.
#[test]
fn nothing_is_read_that_the_file_names() {
    let place = place();
    let text = "<?xml version='1.0'?><!DOCTYPE gpx [<!ENTITY a SYSTEM 'secret'>]><gpx><trk><name>&a;</name></trk></gpx>";
    fs::write(place.path().join("secret"), "do not tell").unwrap();
    fs::write(place.path().join("hostile"), text).unwrap();
    for (reader, _, message) in read_everywhere(place.path(), "an entity from outside") {
        assert!(!message.contains("do not tell"), "{reader}: {message}");
    }
}

/// What is no file: a device without end, a folder, nothing, a link to itself.
#[test]
fn what_is_no_file_is_reported() {
    use std::os::unix::fs::symlink;
    let place = place();
    let path = place.path().join("hostile");
    let refuse = |kind: &str, reasons: &[&str]| {
        for (reader, status, message) in read_everywhere(place.path(), kind) {
            if (kind, reader) == ("nothing", "track of a leg") {
                // The leg states its distance, so that the trip is planned without its track.
                assert_eq!(status, 0, "{message}");
                continue;
            }
            assert_eq!(status, 2, "{kind} as {reader}: {message}");
            if reader != "stdin" && reader != "check" {
                assert!(
                    reasons.iter().any(|reason| message.contains(reason)),
                    "{kind} as {reader}: {message}"
                );
            }
        }
        assert_eq!(journal::read(&path), None, "{kind}");
    };
    symlink("/dev/zero", &path).unwrap();
    refuse("a device without end", &[""]);
    fs::remove_file(&path).unwrap();
    refuse("nothing", &["file not found"]);
    symlink("hostile", &path).unwrap();
    refuse("a link to itself", &["symbolic links"]);
    fs::remove_file(&path).unwrap();
    fs::create_dir(&path).unwrap();
    refuse("a folder", &["directory", "folder"]);
}

/// Who names a pipe on the command line waits for what comes through it; a trip that names one must not keep anybody
/// waiting for ever.
#[test]
fn a_pipe_that_a_trip_names_is_not_waited_for() {
    let place = place();
    let path = place.path().join("hostile");
    assert!(
        Command::new("mkfifo")
            .arg(&path)
            .status()
            .unwrap()
            .success()
    );
    let output = Command::new(cargo_bin("drystage"))
        .env_clear()
        .current_dir(place.path())
        .args(["--best-estimate", "report", "tracked.json"])
        .output()
        .unwrap();
    let message = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(message.contains("cannot read the track file"), "{message}");
    assert!(message.contains("a pipe or a device"), "{message}");
    assert_eq!(journal::read(&path), None);
}

/// Whatever the trip file allows in its texts: marks that turn the direction of writing, ends of lines, markup.
#[test]
fn names_act_neither_on_the_terminal_nor_in_a_page() {
    let place = place();
    let path = place.path().join("trip.json");
    let name = "a\u{202e}c\u{2066}d\u{2028}e\u{61c}f\u{feff}g<script>&\"'";
    let mut trip: serde_json::Value = serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
    for place in [
        "/name",
        "/start/name",
        "/legs/2/to",
        "/legs/1/note",
        "/vehicle/name",
        "/load/gear/0/name",
        "/what_ifs/0/name",
        "/rules/currency",
    ] {
        let (above, key) = place.rsplit_once('/').unwrap();
        let short = if key == "currency" { "\u{202e}c" } else { name };
        trip.pointer_mut(above).unwrap()[key] = short.into();
    }
    fs::write(&path, trip.to_string()).unwrap();
    for arguments in [
        "report trip.json",
        "report trip.json --format json",
        "report trip.json --format html",
        "report trip.json --format csv",
        "report trip.json --format gpx",
        "report trip.json --format geojson",
        "report trip.json --show-work 3",
        "check trip.json",
        "check trip.json --format json",
        "new --vehicle-from trip.json -o -",
        "arrive trip.json 9 --odometer 48000 --left 50 --cans 20",
        "arrive trip.json 1 --odometer 48000 --left 50 --cans 20",
        "report trip.json --what-if nothing",
        "report trip.json --set /legs/2/to=5",
    ] {
        let output = call(place.path(), arguments);
        assert!(output.status.code().is_some());
        let texts = [output.stdout, output.stderr].map(|text| String::from_utf8(text).unwrap());
        for text in &texts {
            let found = text.chars().find(|&c| acts(c) && !matches!(c, '\n' | '\r'));
            assert_eq!(found, None, "{arguments}: {text:.400}");
        }
        assert!(!arguments.ends_with("html") || !texts[0].contains("<script>&"));
        assert!(texts.iter().any(|text| !text.is_empty()), "{arguments}");
    }
}
