//! The command line as a caller meets it: exit status, streams, messages.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use assert_cmd::cargo::cargo_bin;
use drystage::model::Trip;
use serde_json::{Value, json};

fn example() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/example-trip.json")
}

fn document() -> Value {
    serde_json::from_str(&fs::read_to_string(example()).unwrap()).unwrap()
}

/// The program in an environment of its own.
fn sampling() -> Command {
    let mut command = Command::new(cargo_bin("drystage"));
    command.env_clear().stdin(Stdio::null());
    command
}

/// The program without its samples, which most of what is tested here does not hang on.
fn drystage() -> Command {
    let mut command = sampling();
    command.arg("--best-estimate");
    command
}

fn run(arguments: &[&str]) -> Output {
    drystage().args(arguments).output().unwrap()
}

fn status(output: &Output) -> i32 {
    output.status.code().unwrap()
}

fn out(output: &Output) -> &str {
    std::str::from_utf8(&output.stdout).unwrap()
}

fn err(output: &Output) -> &str {
    std::str::from_utf8(&output.stderr).unwrap()
}

/// A trip file in a folder that is removed with the returned guard.
fn file(trip: &Value) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trip.json");
    fs::write(&path, serde_json::to_string_pretty(trip).unwrap()).unwrap();
    let name = path.to_str().unwrap().to_owned();
    (folder, name)
}

fn example_name() -> String {
    example().to_str().unwrap().to_owned()
}

#[test]
fn exit_status_tells_done_stopped_and_failed() {
    let trip = example_name();
    let mut overloaded = document();
    overloaded["vehicle"]["gvm_kg"] = json!(1500);
    let (_folder, overloaded) = file(&overloaded);
    let mut unusable = document();
    unusable["legs"][3]["sand_share"] = json!(1.4);
    let (_folder, unusable) = file(&unusable);

    let table: [(&[&str], i32); 15] = [
        (&[], 0),
        (&["--help"], 0),
        (&["--version"], 0),
        (&["schema"], 0),
        (&[&trip], 0),
        (&["report", &trip], 0),
        (&["report", &overloaded], 0),
        (&["check", &overloaded], 1),
        (&["check", &unusable], 2),
        (&["report", &unusable], 2),
        (&["report", "no-such-file.json"], 2),
        (&["report"], 2),
        (&["report", &trip, "--format", "pdf"], 2),
        (&["report", &trip, "--what-if", "no such"], 2),
        (&["report", &trip, "--set", "/legs/99/to=x"], 2),
    ];
    for (arguments, expected) in table {
        let output = run(arguments);
        assert_eq!(status(&output), expected, "{arguments:?}: {}", err(&output));
        assert_eq!(
            expected == 2,
            !output.stderr.is_empty(),
            "{arguments:?}: messages go to stderr, and only messages"
        );
        assert_eq!(expected == 2, output.stdout.is_empty(), "{arguments:?}");
    }
}

#[test]
fn mistyped_words_get_a_hint() {
    let trip = example_name();
    for (arguments, hint) in [
        (&["reprot", &trip] as &[&str], "did you mean `report`"),
        (&["chekc"], "did you mean `check`"),
        (&["report", &trip, "--formt", "json"], "--format"),
        (
            &["report", &trip, "--what-if", "tent"],
            "did you mean `tent on the roof`?",
        ),
        (&[&trip, "--set", "/vehicle/tank=5"], "`tank_l`"),
        (
            &["check", &trip, "--set", "/legs/0/surfac=rock"],
            "`surface`",
        ),
        (&["report", &trip, "--set", "/lgs/0/to=x"], "`legs`"),
        (&["report", &trip, "--unts", "us"], "--units"),
        (&["report", &trip, "--format", "jsn"], "'json'"),
        (&["man", "reprot"], "did you mean `report`?"),
        (&["completions", "bsh"], "'bash'"),
        (
            &[
                "arrive",
                &trip,
                "Cold Sprng",
                "--odometer",
                "48199",
                "--left",
                "39",
            ],
            "Did you mean `Cold Spring` (place 1)?",
        ),
    ] {
        let output = run(arguments);
        assert_eq!(status(&output), 2);
        assert!(
            err(&output).contains(hint),
            "{arguments:?}: {}",
            err(&output)
        );
    }
}

#[test]
fn a_hint_does_not_hang_on_where_the_trip_lies() {
    let root = tempfile::tempdir().unwrap();
    for folder in ["check/in", "check", "report", "schema", "a b", "."] {
        fs::create_dir_all(root.path().join(folder)).unwrap();
        let trip = Path::new(folder).join("check.json");
        fs::copy(example(), root.path().join(&trip)).unwrap();
        let output = drystage()
            .current_dir(root.path())
            .arg("reprot")
            .arg(&trip)
            .output()
            .unwrap();
        assert_eq!(status(&output), 2);
        assert!(
            err(&output).contains("did you mean `report`"),
            "{}: {}",
            trip.display(),
            err(&output)
        );
    }
}

#[test]
fn a_reason_is_reported_once() {
    for (arguments, reason) in [
        (
            &["report", "no-such-file.json"] as &[&str],
            "file not found",
        ),
        (&["import", "no-such-file.gpx", "-o", "-"], "file not found"),
        (
            &["schema", "-o", "no/such/folder/schema.json"],
            "folder not found",
        ),
    ] {
        let output = run(arguments);
        assert_eq!(status(&output), 2);
        assert_eq!(err(&output).matches(reason).count(), 1, "{}", err(&output));
        assert!(!err(&output).contains("os error"), "{}", err(&output));
    }
}

#[test]
fn every_problem_is_reported_with_its_place() {
    let mut trip = document();
    trip["legs"][3]["sand_share"] = json!(1.4);
    trip["vehicle"]["tank_l"] = json!(-5);
    trip["legs"][0]["surfice"] = json!("sealed");
    let (_folder, name) = file(&trip);
    let output = run(&["check", &name]);
    for part in [
        "/legs/3/sand_share",
        "1.4",
        "/vehicle/tank_l",
        "-5",
        "surfice",
    ] {
        assert!(err(&output).contains(part), "{part}: {}", err(&output));
    }
    let output = run(&["check", &name, "--format", "json"]);
    assert_eq!(status(&output), 2);
    let answer: Value = serde_json::from_str(out(&output)).unwrap();
    assert_eq!(answer["drystage_check"], 3);
    let problems = answer["problems"].as_array().unwrap();
    assert_eq!(problems.len(), 3, "{answer}");
    let of_share = |problem: &&Value| problem["pointer"] == "/legs/3/sand_share";
    let message = &problems.iter().find(of_share).unwrap()["message"];
    assert!(message.as_str().unwrap().contains("1.4"), "{message}");
    assert_eq!(answer["findings"], Value::Null);
}

#[test]
fn errors_can_be_had_as_json() {
    let mut trip = document();
    trip["legs"][3]["sand_share"] = json!(1.4);
    let (_folder, name) = file(&trip);
    for arguments in [
        &["report", &name, "--errors", "json"] as &[&str],
        &["report", "no-such-file.json", "--errors=json"],
        &["report", "--no-such-flag", "--errors=json"],
    ] {
        let output = run(arguments);
        assert_eq!(status(&output), 2);
        let errors: Value = serde_json::from_str(err(&output)).unwrap();
        assert_eq!(errors["drystage_errors"], 1);
        assert!(errors["errors"][0]["message"].as_str().unwrap().len() > 5);
    }
    for (arguments, file) in [
        (
            ["import", "none.gpx", "-o", "-", "--errors=json"],
            "none.gpx",
        ),
        (["new", "--errors", "json", "-o", &name], name.as_str()),
    ] {
        let errors: Value = serde_json::from_str(err(&run(&arguments))).unwrap();
        assert_eq!(errors["errors"][0]["file"], file);
    }
    let output = run(&["report", &name, "--errors", "json"]);
    let errors: Value = serde_json::from_str(err(&output)).unwrap();
    let error = &errors["errors"][0];
    assert_eq!(error["file"], name);
    assert_eq!(error["pointer"], "/legs/3/sand_share");
    let text = fs::read_to_string(&name).unwrap();
    let [line, column] =
        ["line", "column"].map(|key| usize::try_from(error[key].as_u64().unwrap()).unwrap());
    let written = text.lines().nth(line - 1).unwrap();
    assert!(written[column - 1..].starts_with("\"sand_share\": 1.4"));
    let leg = format!("leg 4 to {}", trip["legs"][3]["to"].as_str().unwrap());
    assert_eq!(error["part"], leg);
}

#[test]
fn a_reader_who_has_enough_is_no_failure() {
    let mut child = drystage()
        .args(["report", &example_name(), "--format", "json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // The reading end is closed before anything is written.
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(err(&output), "");
    assert_eq!(status(&output), 0);
}

#[test]
fn without_a_terminal_there_are_no_escapes() {
    let trip = example_name();
    for arguments in [
        &[&trip as &str] as &[&str],
        &["--help"],
        &["report", &trip, "--color", "auto"],
        &["report"],
    ] {
        let output = drystage()
            .env("TERM", "xterm-256color")
            .args(arguments)
            .output()
            .unwrap();
        assert!(!output.stdout.contains(&0x1b) && !output.stderr.contains(&0x1b));
    }
    assert!(out(&run(&[&trip])).starts_with("Four days to the salt edge (invented)\n"));
}

#[test]
fn control_characters_of_names_never_get_out() {
    let mut trip = document();
    let evil = "a\u{1b}[2J\u{9b}31mb\u{7}\u{202e}c\nd";
    trip["name"] = json!(evil);
    trip["legs"][2]["to"] = json!(evil);
    trip["vehicle"]["name"] = json!(evil);
    trip["load"]["gear"][0]["name"] = json!(evil);
    trip["rules"]["currency"] = json!("\u{1b}c");
    trip["what_ifs"][0]["name"] = json!(evil);
    trip["what_ifs"][0]["change"][0]["path"] = json!("/no/\u{1b}such");
    let (_folder, name) = file(&trip);
    for arguments in [
        &["report", &name] as &[&str],
        &["report", &name, "--format", "json"],
        &["report", &name, "--show-work", "3"],
        &["report", &name, "--what-if", evil],
        &["check", &name],
        &["check", &name, "--format", "json", "--errors", "json"],
        &["report", "\u{1b}[2J.json"],
        &["report", &name, "--set", "/x\u{1b}[2J/y=1"],
        &["report", &name, "--format", "\u{1b}[2J"],
        &["\u{1b}[2J", "\u{9b}2J"],
    ] {
        let output = run(arguments);
        for text in [out(&output), err(&output)] {
            let found = text
                .chars()
                .find(|&c| c != '\n' && (c.is_control() || c == '\u{202e}'));
            assert_eq!(found, None, "{arguments:?}: {text:?}");
        }
    }
    let output = run(&["report", &name, "--format", "json"]);
    if status(&output) == 0 {
        let report: Value = serde_json::from_str(out(&output)).unwrap();
        assert_eq!(
            report["legs"][2]["to"], evil,
            "JSON keeps names as they are"
        );
    }
}

#[test]
fn a_dash_stands_for_the_standard_streams() {
    let output = drystage()
        .args(["report", "-", "-o", "-", "--format", "json"])
        .stdin(fs::File::open(example()).unwrap())
        .output()
        .unwrap();
    assert_eq!(status(&output), 0, "{}", err(&output));
    let from_file = run(&["report", &example_name(), "--format", "json"]);
    assert_eq!(out(&output), out(&from_file));
}

#[test]
fn nothing_is_overwritten_without_force() {
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("plan.txt");
    let name = target.to_str().unwrap();
    let trip = example_name();
    assert_eq!(status(&run(&["report", &trip, "-o", name])), 0);
    let first = fs::read(&target).unwrap();
    let again = run(&["report", &trip, "-o", name, "--units", "us"]);
    assert_eq!(status(&again), 2);
    assert!(err(&again).contains("--force"), "{}", err(&again));
    assert_eq!(fs::read(&target).unwrap(), first);
    let forced = run(&["report", &trip, "-o", name, "--units", "us", "--force"]);
    assert_eq!(status(&forced), 0, "{}", err(&forced));
    assert_ne!(fs::read(&target).unwrap(), first);
    let left: Vec<_> = fs::read_dir(folder.path()).unwrap().collect();
    assert_eq!(left.len(), 1, "nothing else is left behind");
    let nowhere = folder.path().join("no/such/folder/plan.txt");
    let output = run(&["report", &trip, "-o", nowhere.to_str().unwrap()]);
    assert_eq!(status(&output), 2);
}

#[test]
fn the_same_input_gives_the_same_bytes_anywhere() {
    let trip = example_name();
    for format in ["text", "json"] {
        let arguments = ["report", &trip, "--format", format];
        let plain = run(&arguments);
        let folder = tempfile::tempdir().unwrap();
        let elsewhere = drystage()
            .args(arguments)
            .current_dir(folder.path())
            .envs([
                ("TZ", "Pacific/Chatham"),
                ("LANG", "de_DE.UTF-8"),
                ("LC_ALL", "tr_TR.UTF-8"),
                ("HOME", "nowhere"),
                ("COLUMNS", "33"),
            ])
            .output()
            .unwrap();
        assert_eq!(plain.stdout, elsewhere.stdout);
    }
}

#[test]
fn values_can_be_set_for_one_plan() {
    let trip = example_name();
    let fuel = |settings: &[&str]| {
        let mut arguments = vec!["report", &trip, "--format", "json"];
        for setting in settings {
            arguments.extend(["--set", setting]);
        }
        let output = run(&arguments);
        assert_eq!(status(&output), 0, "{}", err(&output));
        let report: Value = serde_json::from_str(out(&output)).unwrap();
        report["totals"]["fuel_l"].as_f64().unwrap()
    };
    let before = fs::read(example()).unwrap();
    let stated = fuel(&[]);
    assert!(fuel(&["/legs/0/distance_km=242"]) > stated);
    assert!(fuel(&["/legs/0/surface=gravel", "/legs/0/idle_h=1"]) > stated);
    assert_eq!(
        fs::read(example()).unwrap(),
        before,
        "the file stays as it is"
    );
    let wrong = run(&["report", &trip, "--set", "/legs/0/surface=lava"]);
    assert_eq!(status(&wrong), 2);
    assert!(err(&wrong).contains("/legs/0/surface"), "{}", err(&wrong));
}

/// A paper that does not say how its trip was changed would be taken for the trip's own.
#[test]
fn what_was_changed_stands_in_the_report() {
    let trip = example_name();
    let set = ["--set", "/rules/reserve/litres=8"];
    let what_if = ["--what-if", "tent on the roof"];
    let several = [
        "--what-if",
        "tent on the roof",
        "--what-if",
        "twice the sand",
    ];
    for (changes, change_line) in [
        (&[][..], None),
        (&set, Some("Changed: /rules/reserve/litres=8\n")),
        (&what_if, Some("Changed: tent on the roof\n")),
        (
            &[set, what_if].concat(),
            Some("Changed: /rules/reserve/litres=8; tent on the roof\n"),
        ),
        (
            &[&set[..], &several].concat(),
            Some("Changed: /rules/reserve/litres=8\n"),
        ),
    ] {
        let output = run(&[&["report", &trip], changes].concat());
        let text = out(&output);
        match change_line {
            Some(change_line) => assert!(text.contains(change_line), "{text}"),
            None => assert!(!text.contains("Changed"), "{text}"),
        }
    }
    let arguments = [&["report", &trip, "--format", "json"], &set[..], &what_if].concat();
    let report: Value = serde_json::from_str(out(&run(&arguments))).unwrap();
    assert_eq!(report["set"], json!(["/rules/reserve/litres=8"]));
    assert_eq!(report["what_ifs"], json!(["tent on the roof"]));
}

const TWO_WHAT_IFS: [&str; 4] = [
    "--what-if",
    "tent on the roof",
    "--what-if",
    "twice the sand",
];

#[test]
fn several_what_ifs_stand_side_by_side() {
    let trip = example_name();
    let mut arguments = vec!["report", &trip];
    arguments.extend(TWO_WHAT_IFS);
    let table = run(&arguments);
    for name in ["as in the trip", "tent on the roof", "twice the sand"] {
        assert!(out(&table).contains(name), "{}", out(&table));
    }
    assert!(out(&table).lines().all(|line| line.chars().count() <= 80));
    arguments.extend(["--format", "json"]);
    let output = run(&arguments);
    let compared: Value = serde_json::from_str(out(&output)).unwrap();
    assert_eq!(compared["drystage_compare"], 2);
    let fuel: Vec<f64> = compared["plans"]
        .as_array()
        .unwrap()
        .iter()
        .map(|plan| plan["totals"]["fuel_l"].as_f64().unwrap())
        .collect();
    assert_eq!(fuel.len(), 3);
    assert!(fuel[1] > fuel[0] && fuel[2] > fuel[0], "{fuel:?}");
}

#[test]
fn hostile_files_are_refused_and_never_panic() {
    let folder = tempfile::tempdir().unwrap();
    let deep = "[".repeat(200_000);
    let texts: [(&str, &[u8]); 8] = [
        ("empty", b""),
        ("no-json", b"\x00\xff\xfe"),
        ("list", b"[]"),
        ("null", b"null"),
        ("deep", deep.as_bytes()),
        ("double", br#"{"drystage":1,"drystage":1}"#),
        ("huge", br#"{"drystage":1e999}"#),
        ("half", br#"{"drystage":1,"vehicle":{"#),
    ];
    for (name, bytes) in texts {
        let path = folder.path().join(name);
        fs::write(&path, bytes).unwrap();
        let output = run(&["check", path.to_str().unwrap()]);
        assert_eq!(status(&output), 2, "{name}");
        let message = err(&output);
        assert!(
            !message.contains("panicked") && message.contains(name),
            "{name}: {message}"
        );
    }
    assert_eq!(
        status(&run(&["report", folder.path().to_str().unwrap()])),
        2
    );
}

#[test]
fn an_imported_track_can_be_planned() {
    let folder = tempfile::tempdir().unwrap();
    let trip = folder.path().join("trip.json");
    let trip = trip.to_str().unwrap();
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-routes");
    let track = samples.join("plateau-loop.gpx");
    let track = track.to_str().unwrap();

    let output = run(&["import", track, "-o", trip]);
    assert_eq!(status(&output), 0, "{}", err(&output));
    assert!(err(&output).contains("placeholder"), "{}", err(&output));
    assert_eq!(status(&run(&["report", trip])), 0);
    let again = run(&["import", track, "-o", trip]);
    assert_eq!(status(&again), 2);
    assert!(err(&again).contains("--force"), "{}", err(&again));
    let lent = run(&[
        "import",
        track,
        "-o",
        trip,
        "--force",
        "--split",
        "50km",
        "--climb-threshold",
        "10",
        "--vehicle-from",
        &example_name(),
    ]);
    assert_eq!(status(&lent), 0, "{}", err(&lent));
    let saved: Value = serde_json::from_str(&fs::read_to_string(trip).unwrap()).unwrap();
    assert_eq!(saved["vehicle"]["name"], document()["vehicle"]["name"]);
    assert!(saved["legs"].as_array().unwrap().len() >= 9);

    let measured = run(&["import", track, "--format", "json"]);
    assert_eq!(status(&measured), 0);
    let measured: Value = serde_json::from_str(out(&measured)).unwrap();
    assert_eq!(measured["drystage_import"], 1);
    assert_eq!(measured["files"][0]["lines"].as_array().unwrap().len(), 2);

    let to_stdout = run(&["import", track, "-o", "-"]);
    let trip: Value = serde_json::from_str(out(&to_stdout)).unwrap();
    assert_eq!(trip["drystage"], 1);
}

#[test]
fn damage_in_a_track_is_reported_with_its_line_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (track, trip) = (
        folder.path().join("bad.gpx"),
        folder.path().join("trip.json"),
    );
    let text = "<gpx version=\"1.1\"><trk><trkseg>\n<trkpt lat=\"-48\" lon=\"-130\"/>\n\
                <trkpt lat=\"-48.1\" lon=\"-130\"/>\n<trkpt lat=\"91\" lon=\"0\"/>\n\
                </trkseg></trk></gpx>";
    fs::write(&track, text).unwrap();
    let (track, trip_name) = (track.to_str().unwrap(), trip.to_str().unwrap());
    let output = run(&["import", track, "-o", trip_name, "--errors", "json"]);
    assert_eq!(status(&output), 2);
    let errors: Value = serde_json::from_str(err(&output)).unwrap();
    assert_eq!(errors["errors"][0]["line"], 4);
    assert!(!trip.exists());
    let salvaged = run(&["import", track, "-o", trip_name, "--salvage"]);
    assert_eq!(status(&salvaged), 0, "{}", err(&salvaged));
    for wrong in [
        &["import", track] as &[&str],
        &["import", "-o", trip_name],
        &["import", track, "-o", trip_name, "--split", "often"],
        &["import", track, "-o", trip_name, "--climb-threshold", "-1"],
        &["import", track, "-o", "-", "--format", "json"],
    ] {
        assert_eq!(status(&run(wrong)), 2, "{wrong:?}");
    }
}

/// A trip with a track file for its first leg, which is not there.
fn without_its_track() -> Value {
    let mut trip = document();
    trip["legs"][0]["track"] = json!("tracks/first.gpx");
    trip
}

#[test]
fn a_trip_without_its_track_file_is_planned_from_what_it_states() {
    let (folder, name) = file(&without_its_track());
    let output = run(&["report", &name]);
    assert_eq!(status(&output), 0, "{}", err(&output));
    let words = out(&output)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    for part in [
        "track file `tracks/first.gpx` not found",
        "The plan uses the distance and climb as set.",
        "Put the file beside the trip",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
    let (_folder, with_file) = file(&document());
    let plain = run(&["report", &with_file, "--format", "csv"]);
    let missing = run(&["report", &name, "--format", "csv"]);
    assert_eq!(out(&missing), out(&plain), "the stated figures are used");

    // What is there and damaged is an error, missing or not.
    fs::create_dir(folder.path().join("tracks")).unwrap();
    fs::write(folder.path().join("tracks/first.gpx"), "<gpx><trk>").unwrap();
    let damaged = run(&["report", &name]);
    assert_eq!(status(&damaged), 2);
    assert!(
        err(&damaged).contains("cannot read the track file"),
        "{}",
        err(&damaged)
    );

    let mut nothing = without_its_track();
    nothing["legs"][0]
        .as_object_mut()
        .unwrap()
        .remove("distance_km");
    let (_folder, nothing) = file(&nothing);
    let output = run(&["report", &nothing]);
    assert_eq!(status(&output), 2);
    assert!(
        err(&output).contains(
            "track file not found: `tracks/first.gpx`. Put it beside the trip, or set `distance_km`"
        ),
        "{}",
        err(&output)
    );
}

/// The example trip as a table that was edited: a leg cut in two, one changed, the last one gone.
fn edited(table: &str) -> String {
    let mut lines: Vec<String> = table.lines().map(str::to_owned).collect();
    let columns: Vec<String> = lines[0].split(',').map(str::to_owned).collect();
    let column = |name: &str| columns.iter().position(|column| column == name).unwrap();
    let with = |line: &str, changes: &[(&str, &str)]| {
        let mut cells: Vec<String> = line.split(',').map(str::to_owned).collect();
        for (name, value) in changes {
            (*value).clone_into(&mut cells[column(name)]);
        }
        cells.join(",")
    };
    let mut cut: Vec<String> = vec![String::new(); columns.len()];
    "Halfway".clone_into(&mut cut[column("to")]);
    "11 km".clone_into(&mut cut[column("distance_km")]);
    lines[4] = with(&lines[4], &[("sand_share", "55%"), ("from", "Halfway")]);
    lines.insert(4, cut.join(","));
    lines.pop();
    lines.join("\n") + "\n"
}

#[test]
fn a_table_goes_into_a_trip_and_all_else_survives() {
    let mut before = without_its_track();
    let last = before["legs"][5]["to"].clone();
    before["what_ifs"].as_array_mut().unwrap().push(json!({
        "name": "last leg on sand",
        "change": [
            { "op": "test", "path": "/legs/5/to", "value": last },
            { "op": "add", "path": "/legs/5/sand_share", "value": 0.5 }
        ]
    }));
    before["start"]["odometer_km"] = json!(88210);
    before["log"] = json!([
        { "place_number": 0, "odometer_km": 88210, "tank_left_l": 50 },
        { "place_number": 1, "odometer_km": 88290, "tank_left_l": 40 }
    ]);
    let (folder, name) = file(&before);
    let table = run(&["report", &name, "--from-start", "--format", "csv"]);
    assert_eq!(status(&table), 0, "{}", err(&table));
    let path = folder.path().join("table.csv");
    let path_name = path.to_str().unwrap();
    fs::write(&path, edited(out(&table))).unwrap();

    let preview = run(&["import", path_name, "--into", &name]);
    assert_eq!(status(&preview), 0, "{}", err(&preview));
    let words = out(&preview)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    for part in [
        "3 changes to the trip:",
        "- leg 4 to Halfway: new",
        "- leg 5 to Dune Gate: sand 40 -> 55 %",
        &format!(
            "- leg 6 to {}: removed",
            before["legs"][5]["to"].as_str().unwrap()
        ),
        "What-if `last leg on sand` no longer fits the trip",
        "The files state no track for 1 leg between the same places",
        "Preview only",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
    assert!(!words.contains("placeholder"), "{words}");
    let untouched: Value = serde_json::from_str(&fs::read_to_string(&name).unwrap()).unwrap();
    assert_eq!(untouched, before);

    let kept = run(&["import", path_name, "--into", &name, "-o", &name]);
    assert_eq!(status(&kept), 2, "{}", out(&kept));
    assert!(err(&kept).contains("--force"), "{}", err(&kept));
    let written = run(&["import", path_name, "--into", &name, "-o", &name, "--force"]);
    assert_eq!(status(&written), 0, "{}", err(&written));
    assert!(
        out(&written).contains("6 legs, 3 changes"),
        "{}",
        out(&written)
    );
    let after: Value = serde_json::from_str(&fs::read_to_string(&name).unwrap()).unwrap();
    let read = |trip: &Value| serde_json::from_value::<Trip>(trip.clone()).unwrap();
    let (is, was) = (read(&after), read(&before));
    assert_eq!(
        (is.name, is.vehicle, is.load),
        (was.name, was.vehicle, was.load)
    );
    assert_eq!((is.rules, is.log), (was.rules, was.log));
    assert_eq!(after["start"]["odometer_km"], 88210);
    assert_eq!(after["legs"][0]["track"], before["legs"][0]["track"]);
    assert_eq!(after["legs"][4]["sand_share"], 0.55);
    let sand = &after["what_ifs"][1]["change"];
    assert_eq!(sand[0]["path"], "/legs/4/to");
    assert_eq!(sand[1]["path"], "/legs/4/sand_share");
    assert_eq!(
        status(&run(&["report", &name, "--what-if", "twice the sand"])),
        0
    );
}

#[test]
fn a_table_without_a_start_keeps_that_of_the_trip() {
    let (folder, name) = file(&document());
    let table = folder.path().join("table.csv");
    fs::write(&table, "to,distance_km\nA,50\n").unwrap();
    let table = table.to_str().unwrap();
    let output = run(&["import", table, "--into", &name, "-o", "-"]);
    assert_eq!(status(&output), 0, "{}", err(&output));
    let after: Value = serde_json::from_str(out(&output)).unwrap();
    assert_eq!(after["start"], document()["start"]);
    assert_eq!(after["legs"], json!([{ "to": "A", "distance_km": 50 }]));

    let both = run(&["import", table, "--into", &name, "--vehicle-from", &name]);
    assert_eq!(status(&both), 2);
    assert!(err(&both).contains("--vehicle-from"), "{}", err(&both));
}

/// A reading is never thrown away: its place has to stay.
#[test]
fn a_table_without_the_place_of_a_reading_is_refused() {
    let mut trip = document();
    trip["log"] = json!([{ "place_number": 2, "odometer_km": 88300, "tank_left_l": 30 }]);
    let place = trip["legs"][1]["to"].as_str().unwrap().to_owned();
    let (folder, name) = file(&trip);
    let table = folder.path().join("table.csv");
    fs::write(&table, "to,distance_km\nA,50\n").unwrap();
    let output = run(&["import", table.to_str().unwrap(), "--into", &name]);
    assert_eq!(status(&output), 2);
    let reason =
        format!("place 2, `{place}`, has a fuel reading, but the new legs do not lead there");
    assert!(err(&output).contains(&reason), "{}", err(&output));
}

#[test]
fn completions_are_scripts_of_their_shell() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let output = run(&["completions", shell]);
        assert_eq!(status(&output), 0, "{shell}");
        for word in ["report", "import", "what-if", "delimiter"] {
            assert!(out(&output).contains(word), "{shell}: {word}");
        }
    }
    let script = run(&["completions", "bash"]);
    let mut bash = Command::new("bash")
        .arg("-n")
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    bash.stdin
        .take()
        .unwrap()
        .write_all(&script.stdout)
        .unwrap();
    assert!(bash.wait().unwrap().success());
    assert_eq!(status(&run(&["completions", "no-shell"])), 2);
}

#[test]
fn every_command_has_a_manual_page() {
    let page = run(&["man"]);
    assert_eq!(status(&page), 0);
    for words in [
        ".TH drystage 1",
        "Examples:",
        "Exit status:",
        "drystage\\-report",
    ] {
        assert!(out(&page).contains(words), "{words}");
    }
    for command in [
        "report",
        "import",
        "check",
        "new",
        "schema",
        "completions",
        "man",
        "arrive",
        "calibrate",
        "manual",
        "paths",
    ] {
        let page = run(&["man", command]);
        assert_eq!(status(&page), 0, "{command}");
        assert!(
            out(&page).contains(&format!(".TH drystage-{command} 1")),
            "{command}: {}",
            out(&page)
        );
    }
    assert!(out(&run(&["man", "report"])).contains("what\\-if"));
    let unknown = run(&["man", "reprot"]);
    assert_eq!(status(&unknown), 2);
    assert!(
        err(&unknown).contains("The commands are report, range, import"),
        "{}",
        err(&unknown)
    );
}

#[test]
fn a_new_trip_can_be_checked_planned_and_lent_a_vehicle() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("new.json");
    let name = path.to_str().unwrap();
    assert_eq!(status(&run(&["new", "-o", name])), 0);
    assert_eq!(
        status(&run(&["new", "-o", name])),
        2,
        "nothing is overwritten"
    );
    assert_eq!(status(&run(&["check", name])), 0);
    assert!(out(&run(&["report", name])).contains("First camp"));
    let lent = run(&["new", "--vehicle-from", &example_name()]);
    let trip: Value = serde_json::from_str(out(&lent)).unwrap();
    assert_eq!(trip["vehicle"]["name"], document()["vehicle"]["name"]);
    assert_eq!(trip["load"]["gear"][2]["name"], "recovery gear");
    assert_eq!(trip["start"]["name"], "Last fuel stop");
}

/// Text to the screen, everything else to a file that nothing overwrites.
#[test]
fn every_form_of_the_report_goes_to_a_file_or_to_stdout() {
    let (trip, folder) = (example_name(), tempfile::tempdir().unwrap());
    for (format, begins) in [
        ("text", "Four days"),
        ("json", "{\n"),
        ("html", "<!DOCTYPE html>"),
        ("csv", "from,from_lat,"),
        (
            "gpx",
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\"",
        ),
        ("geojson", "{\n"),
    ] {
        let path = folder.path().join(format);
        let name = path.to_str().unwrap();
        let output = run(&["report", &trip, "--format", format, "-o", name]);
        assert_eq!(status(&output), 0, "{format}: {}", err(&output));
        assert!(
            output.stdout.is_empty() && output.stderr.is_empty(),
            "{format}"
        );
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.starts_with(begins), "{format}: {}", &text[..80]);
    }
    let path = folder.path().join("gpx");
    let (written, name) = (fs::read(&path).unwrap(), path.to_str().unwrap());
    let again = ["report", &trip, "--format", "gpx", "-o", name];
    assert_eq!(status(&run(&again)), 2, "nothing is overwritten");
    assert_eq!(status(&run(&[&again[..], &["--force"]].concat())), 0);
    assert_eq!(run(&again[..4]).stdout, written);
}

#[test]
fn tables_take_the_delimiter_and_the_mark_that_a_spreadsheet_wants() {
    let trip = example_name();
    let table = |more: &[&str]| {
        let output = run(&[&["report", &trip, "--format", "csv"], more].concat());
        assert_eq!(status(&output), 0);
        out(&output).to_owned()
    };
    assert!(table(&["--delimiter", "semicolon"]).starts_with("from;from_lat;"));
    assert!(table(&["--delimiter", "tab", "--bom"]).starts_with("\u{feff}from\tfrom_lat\t"));
}

/// A table read by another reader holds the same, whatever parts its cells.
#[test]
fn tables_hold_the_same_whatever_parts_their_cells() {
    let trip = example_name();
    let cells = |sign: &str, delimiter: u8| -> Vec<Vec<String>> {
        let output = run(&["report", &trip, "--format", "csv", "--delimiter", sign]);
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .delimiter(delimiter)
            .from_reader(output.stdout.as_slice());
        let rows = reader.records().map(Result::unwrap);
        rows.map(|row| row.iter().map(str::to_owned).collect())
            .collect()
    };
    let commas = cells("comma", b',');
    assert_eq!(commas, cells("semicolon", b';'));
    assert_eq!(commas, cells("tab", b'\t'));
    let (head, legs) = commas.split_first().unwrap();
    let at = |name: &str| head.iter().position(|column| column == name).unwrap();
    let stated = document()["legs"].clone();
    for (leg, cells) in stated.as_array().unwrap().iter().zip(legs) {
        assert_eq!(cells[at("to")], leg["to"].as_str().unwrap());
        let km: f64 = cells[at("distance_km")].parse().unwrap();
        assert_eq!(Some(km), leg["distance_km"].as_f64());
    }
    let output = run(&[
        "report",
        &trip,
        "--format",
        "csv",
        "--delimiter",
        "semicolon",
    ]);
    insta::assert_snapshot!("cli-legs-semicolon", out(&output));
}

#[test]
fn what_cannot_stand_side_by_side_says_so() {
    let trip = example_name();
    for format in ["csv", "gpx", "geojson"] {
        let both = [
            "--what-if",
            "tent on the roof",
            "--what-if",
            "twice the sand",
        ];
        let output = run(&[&["report", &trip, "--format", format], &both[..]].concat());
        assert_eq!(status(&output), 2);
        assert!(
            err(&output).contains("text, html and json"),
            "{}",
            err(&output)
        );
    }
    let output = run(&[
        "report",
        &trip,
        "--format",
        "html",
        "--what-if",
        "tent on the roof",
        "--what-if",
        "twice the sand",
    ]);
    for name in ["as in the trip", "tent on the roof", "twice the sand"] {
        assert!(out(&output).contains(name), "{name}");
    }
}

#[test]
fn values_can_be_set_for_a_check() {
    let trip = example_name();
    let output = run(&["check", &trip, "--set", "/vehicle/gvm_kg=1500"]);
    assert_eq!(status(&output), 1, "{}", err(&output));
    assert!(out(&output).contains("no-go:"));
    assert_eq!(
        status(&run(&["check", &trip, "--set", "/vehicle/gvm=1500"])),
        2
    );
}

#[test]
fn an_import_is_shown_before_anything_is_written() {
    let track = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-routes/plateau-loop.gpx");
    let folder = tempfile::tempdir().unwrap();
    let output = drystage()
        .current_dir(&folder)
        .arg("import")
        .arg(&track)
        .output()
        .unwrap();
    assert_eq!(status(&output), 0, "{}", err(&output));
    for words in ["legs from Lamp Hollow", "Bent Saddle: ", "Preview only"] {
        assert!(out(&output).contains(words), "{words}: {}", out(&output));
    }
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 0);
    let miles = drystage()
        .args(["import", "--units", "us"])
        .arg(&track)
        .output()
        .unwrap();
    assert!(
        out(&miles).contains(" mi,") && out(&miles).contains(" ft climb"),
        "{}",
        out(&miles)
    );
}

/// The program without a command, and every command.
const COMMANDS: [&str; 12] = [
    "",
    "report",
    "import",
    "arrive",
    "calibrate",
    "check",
    "new",
    "schema",
    "completions",
    "man",
    "manual",
    "paths",
];

/// The help as it is read, of the program and of each command.
#[test]
fn the_help_of_each_command_says_what_it_does_and_has_examples() {
    for command in COMMANDS {
        let arguments: &[&str] = if command.is_empty() { &[] } else { &[command] };
        for (form, name) in [("-h", "summary"), ("--help", "help")] {
            let output = run(&[arguments, &[form]].concat());
            assert_eq!(status(&output), 0);
            assert!(output.stderr.is_empty());
            let text = out(&output);
            assert!(
                text.lines().all(|line| line.chars().count() <= 100),
                "{text}"
            );
            if form == "--help"
                && !["schema", "completions", "man", "manual", "paths"].contains(&command)
            {
                assert!(text.contains("Examples:"), "{command}");
            }
            insta::assert_snapshot!(format!("{name}-{command}"), text);
        }
    }
}

/// Options are accepted by every command, so that they may stand before it, and listed where they are used.
#[test]
fn a_help_lists_only_the_options_that_its_command_uses() {
    for (option, commands) in [
        ("--ascii", &[""] as &[&str]),
        ("--no-mouse", &[""]),
        ("--color", &[""]),
        ("--force", &["report", "import", "new", "schema"]),
        ("--seed", &["", "report", "arrive", "calibrate", "check"]),
        (
            "--best-estimate",
            &["", "report", "arrive", "calibrate", "check"],
        ),
        (
            "--units",
            &["", "report", "import", "arrive", "calibrate", "check"],
        ),
    ] {
        for command in COMMANDS {
            let arguments: &[&str] = if command.is_empty() { &[] } else { &[command] };
            let output = run(&[arguments, &["--help"]].concat());
            let is_listed = out(&output)
                .lines()
                .any(|line| line.trim_start().starts_with(option));
            assert_eq!(is_listed, commands.contains(&command), "{command} {option}");
        }
    }
    let output = run(&["schema", "--ascii", "--seed", "3"]);
    assert_eq!(status(&output), 0, "{}", err(&output));
}

/// A file of another kind is answered with the command that reads it.
#[test]
fn a_file_of_another_kind_is_answered_with_its_command() {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-routes");
    let sample = |name: &str| samples.join(name).to_str().unwrap().to_owned();
    let folder = tempfile::tempdir().unwrap();
    let written = |name: &str, text: &str| {
        let path = folder.path().join(name);
        fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let [track, fills, trip] = [
        "plateau-loop.gpx",
        "plateau-loop-fills.csv",
        "plateau-loop.json",
    ]
    .map(sample);
    let legs = written("legs.csv", "to,distance_km\nA,10\n");
    let map = written(
        "map.geojson",
        "{\"type\": \"FeatureCollection\", \"features\": []}",
    );
    for (arguments, hint) in [
        (&["check", &track] as &[&str], "drystage import "),
        (&["report", &map], "drystage import "),
        (&["report", &legs], "drystage import "),
        (&["check", &fills], "drystage calibrate TRIP "),
        (&["import", &fills], "drystage calibrate TRIP "),
        (&["calibrate", &trip, &legs], "drystage import "),
        (&["import", &trip], "drystage FILE"),
    ] {
        let output = run(arguments);
        assert_eq!(status(&output), 2, "{arguments:?}");
        let lines: Vec<&str> = err(&output).lines().collect();
        let [line] = lines.as_slice() else {
            panic!("{arguments:?}: {lines:?}")
        };
        assert!(
            line.starts_with("error: ") && line.contains(hint),
            "{arguments:?}: {line}"
        );
    }
}

/// The trip file has fractions; per cent have their sign, in the value or in the heading of a column.
#[test]
fn shares_are_fractions_unless_they_have_the_sign_of_per_cent() {
    let trip = example_name();
    let set = |value: &str| {
        run(&[
            "check",
            &trip,
            "--set",
            &format!("/legs/3/sand_share={value}"),
        ])
    };
    for value in ["0.35", "35%", "35 %"] {
        assert!(status(&set(value)) < 2, "{value}: {}", err(&set(value)));
    }
    for (value, hint) in [
        ("40", "for 40 % write 0.4)"),
        ("95", "for 95 % write 0.95)"),
        ("\"much\"", "must be a number"),
    ] {
        assert!(err(&set(value)).contains(hint), "{}", err(&set(value)));
    }
    let folder = tempfile::tempdir().unwrap();
    let table = folder.path().join("legs.csv");
    let share = |heading: &str, cell: &str| {
        fs::write(&table, format!("to,distance_km,{heading}\nA,10,{cell}\n")).unwrap();
        let output = run(&["import", table.to_str().unwrap(), "-o", "-"]);
        if status(&output) != 0 {
            return Err(err(&output).to_owned());
        }
        let trip: Value = serde_json::from_str(out(&output)).unwrap();
        Ok(trip["legs"][0]["sand_share"].as_f64().unwrap())
    };
    for (heading, cell, fraction) in [
        ("sand_share", "0.4", 0.4),
        ("sand_share", "40 %", 0.4),
        ("sand %", "40", 0.4),
        ("sand %", "0", 0.0),
        ("Sand share (%)", "0.4 %", 0.004),
        ("sand_%", "100", 1.0),
    ] {
        assert_eq!(share(heading, cell), Ok(fraction), "{heading} {cell}");
    }
    let refused = share("sand %", "0.4").unwrap_err();
    assert!(refused.contains("may mean 0.4 % or 40 %"), "{refused}");
    let refused = share("sand_share", "40").unwrap_err();
    assert!(refused.contains("for 40 % write 0.4"), "{refused}");
    let refused = share("distance %", "40").unwrap_err();
    assert!(refused.contains("unknown column"), "{refused}");
}

/// Unless `--best-estimate` is said a plan is one at the success target, in every form, and the same in all of them.
#[test]
fn probabilities_are_reported_unless_only_a_best_estimate_is_asked_for() {
    let sample = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-routes/forest-weekend.json"
    );
    let output_of = |arguments: &[&str]| {
        let mut command = Command::new(cargo_bin("drystage"));
        let output = command.args(arguments).arg(sample).output().unwrap();
        assert_eq!(status(&output), 0);
        out(&output).to_owned()
    };
    let text = output_of(&["report"]);
    let json: Value = serde_json::from_str(&output_of(&["report", "--format", "json"])).unwrap();
    let finish = json["outcomes"]["finish_reserve_intact"]["share"]
        .as_f64()
        .unwrap();
    let words: Vec<&str> = text.split_whitespace().collect();
    assert!(
        words.join(" ").contains(&format!(
            "{:.1} % finish with the reserve intact",
            finish * 100.0
        )),
        "{text}"
    );
    assert!(text.contains("HOW SURE"));
    let plain: Value = serde_json::from_str(&output_of(&[
        "--best-estimate",
        "report",
        "--format",
        "json",
    ]))
    .unwrap();
    assert!(plain["outcomes"].is_null());
    let plain = output_of(&["report", "--best-estimate"]);
    let words: Vec<&str> = plain.split_whitespace().collect();
    let sentence = "there are no probabilities and no fuel checks";
    assert!(words.join(" ").contains(sentence), "{plain}");
}

/// Whatever plans takes changes, and none of them is saved.
#[test]
fn every_call_that_plans_takes_changes() {
    let (_folder, trip) = file(&document());
    let before = fs::read(&trip).unwrap();
    let changed = [
        "--set",
        "/rules/reserve/litres=8",
        "--what-if",
        "tent on the roof",
    ];
    let change_line = "Changed: /rules/reserve/litres=8; tent on the roof\n";
    let shown = run(&[&[&trip as &str], &changed[..]].concat());
    assert!(out(&shown).contains(change_line), "{}", err(&shown));
    assert_eq!(
        out(&shown),
        out(&run(&[&["report", &trip], &changed[..]].concat()))
    );
    let check = ["check", &trip, "--set", "/vehicle/gvm_kg=1610"];
    assert_eq!(status(&run(&check)), 0);
    let with_tent = [&check[..], &["--what-if", "tent on the roof"]].concat();
    assert_eq!(status(&run(&with_tent)), 1);
    assert_eq!(fs::read(&trip).unwrap(), before);

    let arrive = [
        "arrive",
        &trip,
        "1",
        "--odometer",
        "48199",
        "--left",
        "39",
        "--cans",
        "0",
    ];
    let output = run(&[&arrive[..], &changed].concat());
    assert!(out(&output).contains(change_line), "{}", err(&output));
    let saved: Value = serde_json::from_slice(&fs::read(&trip).unwrap()).unwrap();
    assert_eq!(saved["rules"], document()["rules"]);
    assert_eq!(saved["log"][0]["tank_left_l"], 39);

    for arguments in [
        &["--set", "/a=1", "report", &trip] as &[&str],
        &["--what-if", "tent on the roof"],
        &[
            &trip,
            "--what-if",
            "tent on the roof",
            "--what-if",
            "twice the sand",
        ],
    ] {
        let output = run(arguments);
        assert_eq!(status(&output), 2, "{arguments:?}");
        assert!(err(&output).contains("--what-if"), "{}", err(&output));
    }
}

#[test]
fn the_seed_decides_the_draws_and_nothing_else() {
    let trip = example_name();
    let report = |seed: &str| {
        let mut command = Command::new(cargo_bin("drystage"));
        let arguments = ["report", &trip, "--format", "json", "--seed", seed];
        let output = command.env_clear().args(arguments).output().unwrap();
        serde_json::from_str::<Value>(out(&output)).unwrap()
    };
    let (one, again, other) = (report("1"), report("1"), report("2"));
    assert_eq!(one, again);
    assert_ne!(one["outcomes"], other["outcomes"]);
    assert_eq!(
        one["cans"]["best_estimate_l"],
        other["cans"]["best_estimate_l"]
    );
    assert_eq!(status(&run(&["report", &trip, "--seed", "-1"])), 2);
}

/// Who reads stderr as JSON gets JSON of what is only to be known, too.
#[test]
fn notes_can_be_had_as_json() {
    let folder = tempfile::tempdir().unwrap();
    let track = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/sample-routes/plateau-loop.gpx"
    );
    let trip = folder.path().join("trip.json");
    let arguments = |form: &'static str| {
        let trip = trip.to_str().unwrap();
        let output = run(&["import", track, "-o", trip, "--force", "--errors", form]);
        assert_eq!(status(&output), 0, "{}", err(&output));
        err(&output).to_owned()
    };
    let lines = arguments("text");
    let notes: Value = serde_json::from_str(&arguments("json")).unwrap();
    assert_eq!(notes["drystage_notes"], 1);
    let notes: Vec<&str> = notes["notes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|note| note.as_str().unwrap())
        .collect();
    assert!(!notes.is_empty());
    assert_eq!(lines.lines().collect::<Vec<_>>(), notes);
}

/// Whatever is written to a named file is not written over another.
#[test]
fn every_file_that_is_written_is_kept_unless_forced() {
    let folder = tempfile::tempdir().unwrap();
    let there = folder.path().join("there");
    let name = there.to_str().unwrap();
    let table = folder.path().join("legs.csv");
    fs::write(&table, "to,distance_km\na,10\n").unwrap();
    let (trip, table) = (example_name(), table.to_str().unwrap().to_owned());
    let mut calls: Vec<Vec<&str>> = vec![vec!["new"], vec!["schema"], vec!["import", &table]];
    for format in ["text", "json", "html", "csv", "gpx", "geojson"] {
        calls.push(vec!["report", &trip, "--format", format]);
    }
    for call in calls {
        fs::write(&there, "mine").unwrap();
        let call = [&call[..], &["-o", name]].concat();
        let kept = run(&call);
        assert_eq!(status(&kept), 2, "{call:?}");
        assert!(err(&kept).contains("--force"), "{call:?}: {}", err(&kept));
        assert_eq!(fs::read_to_string(&there).unwrap(), "mine", "{call:?}");
        assert_eq!(
            status(&run(&[&call[..], &["--force"]].concat())),
            0,
            "{call:?}"
        );
        assert_ne!(fs::read_to_string(&there).unwrap(), "mine", "{call:?}");
    }
}

/// What is printed as JSON has a schema that is printed, too, and holds to it.
#[test]
fn schemas_describe_what_is_printed() {
    let trip = example_name();
    let json = ["--format", "json"];
    let samples = concat!(env!("CARGO_MANIFEST_DIR"), "/sample-routes");
    let [plateau, fills, track] = [
        "plateau-loop.json",
        "plateau-loop-fills.csv",
        "plateau-loop.gpx",
    ]
    .map(|name| format!("{samples}/{name}"));
    let documents: [(&str, Vec<&str>); 6] = [
        (
            "calibration",
            [&["calibrate", &plateau, &fills], &json[..]].concat(),
        ),
        ("import", [&["import", &track], &json[..]].concat()),
        ("report", [&["report", &trip], &json[..]].concat()),
        (
            "compare",
            [&["report", &trip], &json[..], &TWO_WHAT_IFS].concat(),
        ),
        ("check", [&["check", &trip], &json[..]].concat()),
        ("range", [&["range", &trip], &json[..]].concat()),
    ];
    for (of, call) in documents {
        let schema: Value = serde_json::from_str(out(&run(&["schema", of]))).unwrap();
        let validator = jsonschema::validator_for(&schema).unwrap();
        let document: Value = serde_json::from_str(out(&run(&call))).unwrap();
        assert!(validator.is_valid(&document), "{of}");
        let of_trip = serde_json::from_str(out(&run(&["schema"]))).unwrap();
        assert!(
            !jsonschema::validator_for(&of_trip)
                .unwrap()
                .is_valid(&document),
            "{of}"
        );
    }
}

/// A what-if that takes something away cannot be applied twice; that is no fault of the trip.
#[test]
fn a_what_if_is_not_held_against_what_it_makes() {
    let trip = concat!(env!("CARGO_MANIFEST_DIR"), "/sample-routes/dune-coast.json");
    for arguments in [
        &["report", trip] as &[&str],
        &["report", trip, "--what-if", "no rack"],
        &["check", trip, "--what-if", "no rack"],
    ] {
        let output = run(arguments);
        assert!(!out(&output).contains("no longer fits"), "{}", out(&output));
    }
}

/// Each run seeds its hash maps anew and deals the samples out to its threads as it likes; what it says hangs on
/// neither.
#[test]
fn every_run_says_the_same() {
    let sample = |name: &str| format!("{}/sample-routes/{name}", env!("CARGO_MANIFEST_DIR"));
    let output_of = |arguments: &[&str]| {
        let output = sampling().args(arguments).output().unwrap();
        assert!(!output.stdout.is_empty(), "{}", err(&output));
        output.stdout
    };
    let [trip, track] = ["forest-weekend.json", "plateau-loop.gpx"].map(sample);
    for arguments in [
        &["report", &trip, "--format", "json"][..],
        &["report", &trip],
        &["import", &track],
    ] {
        assert_eq!(output_of(arguments), output_of(arguments), "{arguments:?}");
    }
}

/// A slip of the finger at the odometer is refused before the verdict moves: it went back, or counts far more than is
/// planned; `--sure` accepts the latter alone.
#[test]
fn an_odd_odometer_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let trip = folder.path().join("trip.json");
    let mut document: serde_json::Value =
        serde_json::from_str(include_str!("../../sample-routes/plateau-loop.json")).unwrap();
    for leg in document["legs"].as_array_mut().unwrap() {
        leg.as_object_mut().unwrap().remove("track");
    }
    std::fs::write(&trip, document.to_string()).unwrap();
    let name = trip.to_str().unwrap();
    let arrive = |place: &str, odometer: &str, more: &[&str]| {
        let values = ["--odometer", odometer, "--left", "30", "--cans", "9.5"];
        run(&[&["arrive", name, place], &values[..], more].concat())
    };
    let before = std::fs::read_to_string(&trip).unwrap();
    let back = arrive("0", "87000", &["--sure"]);
    assert_eq!(status(&back), 2);
    assert!(
        err(&back).contains(
            "--odometer 87000: 1210 km less than at Lamp Hollow: odometers do not count back"
        ),
        "{}",
        err(&back)
    );
    assert_eq!(status(&arrive("0", "88210", &[])), 0);
    let far = arrive("High Pens", "88823", &[]);
    assert_eq!(status(&far), 2);
    assert!(
        err(&far).contains(
            "613 km since Lamp Hollow, where 72 km are planned; add --sure if the reading is right"
        ),
        "{}",
        err(&far)
    );
    assert_ne!(std::fs::read_to_string(&trip).unwrap(), before);
    assert_eq!(status(&arrive("High Pens", "88823", &["--sure"])), 0);
}
