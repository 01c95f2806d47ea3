//! The command line as a caller meets it: exit status, streams, messages.

use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use drystage::model::Trip;
use serde_json::{Value, json};

use super::program::{self, assert_parts, done, in_one_line, parsed, refused, root};

fn example() -> String {
    root("tests/data/example-trip.json")
}

fn document() -> Value {
    read(&example())
}

fn read(path: &str) -> Value {
    parsed(&fs::read_to_string(path).unwrap())
}

/// The program without its simulation, which most of what is tested here does not depend on.
fn drystage() -> Command {
    let mut command = program::drystage();
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

/// The path of a sample.
fn sample(name: &str) -> String {
    root(&format!("sample-routes/{name}"))
}

/// A trip file in a folder that is removed with the returned guard.
fn file(trip: &Value) -> (tempfile::TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trip.json");
    fs::write(&path, serde_json::to_string_pretty(trip).unwrap()).unwrap();
    let name = path.to_str().unwrap().to_owned();
    (folder, name)
}

const TWO_WHAT_IFS: [&str; 4] = [
    "--what-if",
    "tent on the roof",
    "--what-if",
    "twice the sand",
];

#[test]
fn exit_status_tells_done_stopped_and_failed() {
    let trip = example();
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

const READING: [&str; 4] = ["--odometer", "48199", "--left", "39"];

#[test]
fn mistyped_words_get_a_hint() {
    let trip = example();
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
            &[&["arrive", &trip, "Cold Sprng"], &READING[..]].concat(),
            "Did you mean `Cold Spring` (place 1)?",
        ),
    ] {
        assert_parts(&refused(run(arguments)), &[hint]);
    }
}

#[test]
fn a_hint_does_not_hang_on_where_the_trip_lies() {
    let root = tempfile::tempdir().unwrap();
    for folder in ["check/in", "check", "report", "schema", "a b", "."] {
        fs::create_dir_all(root.path().join(folder)).unwrap();
        let trip = Path::new(folder).join("check.json");
        fs::copy(example(), root.path().join(&trip)).unwrap();
        let mut command = drystage();
        command.current_dir(root.path()).arg("reprot").arg(&trip);
        let message = refused(command.output().unwrap());
        assert_parts(&message, &["did you mean `report`"]);
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
        let message = refused(run(arguments));
        assert_eq!(message.matches(reason).count(), 1, "{message}");
        assert!(!message.contains("os error"), "{message}");
    }
}

#[test]
fn every_problem_is_reported_with_its_place() {
    let mut trip = document();
    trip["legs"][3]["sand_share"] = json!(1.4);
    trip["vehicle"]["tank_l"] = json!(-5);
    trip["legs"][0]["surfice"] = json!("sealed");
    let (_folder, name) = file(&trip);
    let message = refused(run(&["check", &name]));
    assert_parts(&message, &["/legs/3/sand_share", "1.4", "surfice"]);
    assert_parts(&message, &["/vehicle/tank_l", "-5"]);
    let output = run(&["check", &name, "--format", "json"]);
    assert_eq!(status(&output), 2);
    let answer = parsed(out(&output));
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
        let errors = parsed(&refused(run(arguments)));
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
        let errors = parsed(err(&run(&arguments)));
        assert_eq!(errors["errors"][0]["file"], file);
    }
    let errors = parsed(&refused(run(&["report", &name, "--errors", "json"])));
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
        .args(["report", &example(), "--format", "json"])
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
    let trip = example();
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
        let leg = &parsed(out(&output))["legs"][2];
        assert_eq!(leg["to"], evil, "JSON keeps names as they are");
    }
}

#[test]
fn a_dash_stands_for_the_standard_streams() {
    let mut command = drystage();
    command.args(["report", "-", "-o", "-", "--format", "json"]);
    command.stdin(fs::File::open(example()).unwrap());
    let from_file = run(&["report", &example(), "--format", "json"]);
    assert_eq!(done(command.output().unwrap()), done(from_file));
}

#[test]
fn the_same_input_gives_the_same_bytes_anywhere() {
    let trip = example();
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
    let trip = example();
    let fuel = |settings: &[&str]| {
        let mut arguments = vec!["report", &trip, "--format", "json"];
        for setting in settings {
            arguments.extend(["--set", setting]);
        }
        let report = parsed(&done(run(&arguments)));
        report["totals"]["fuel_l"].as_f64().unwrap()
    };
    let before = fs::read(example()).unwrap();
    let stated = fuel(&[]);
    assert!(fuel(&["/legs/0/distance_km=242"]) > stated);
    assert!(fuel(&["/legs/0/surface=gravel", "/legs/0/idle_h=1"]) > stated);
    let after = fs::read(example()).unwrap();
    assert_eq!(after, before, "the file stays as it is");
    let wrong = ["report", &trip, "--set", "/legs/0/surface=lava"];
    assert_parts(&refused(run(&wrong)), &["/legs/0/surface"]);
}

/// A paper that does not say how its trip was changed would be taken for the trip's own.
#[test]
fn what_was_changed_stands_in_the_report() {
    let trip = example();
    let set = ["--set", "/rules/reserve/litres=8"];
    let what_if = ["--what-if", "tent on the roof"];
    for (changes, change_line) in [
        (&[][..], None),
        (&set, Some("Changed: /rules/reserve/litres=8\n")),
        (&what_if, Some("Changed: tent on the roof\n")),
        (
            &[set, what_if].concat(),
            Some("Changed: /rules/reserve/litres=8; tent on the roof\n"),
        ),
        (
            &[&set[..], &TWO_WHAT_IFS].concat(),
            Some("Changed: /rules/reserve/litres=8\n"),
        ),
    ] {
        let text = done(run(&[&["report", &trip], changes].concat()));
        match change_line {
            Some(change_line) => assert!(text.contains(change_line), "{text}"),
            None => assert!(!text.contains("Changed"), "{text}"),
        }
    }
    let arguments = [&["report", &trip, "--format", "json"], &set[..], &what_if].concat();
    let report = parsed(&done(run(&arguments)));
    assert_eq!(report["set"], json!(["/rules/reserve/litres=8"]));
    assert_eq!(report["what_ifs"], json!(["tent on the roof"]));
}

/// The plans that a comparison has.
const COMPARED: [&str; 3] = ["as in the trip", "tent on the roof", "twice the sand"];

#[test]
fn several_what_ifs_stand_side_by_side() {
    let trip = example();
    let mut arguments = vec!["report", &trip];
    arguments.extend(TWO_WHAT_IFS);
    let table = done(run(&arguments));
    assert_parts(&table, &COMPARED);
    assert!(table.lines().all(|line| line.chars().count() <= 80));
    arguments.extend(["--format", "json"]);
    let compared = parsed(&done(run(&arguments)));
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
fn an_imported_track_can_be_planned() {
    let folder = tempfile::tempdir().unwrap();
    let trip = folder.path().join("trip.json");
    let trip = trip.to_str().unwrap();
    let track = &sample("plateau-loop.gpx");

    let output = run(&["import", track, "-o", trip]);
    assert_parts(err(&output), &["placeholder"]);
    done(output);
    done(run(&["report", trip]));
    let options = ["--force", "--split", "50km", "--climb-threshold", "10"];
    let lent = ["import", track, "-o", trip, "--vehicle-from", &example()];
    done(run(&[&lent[..], &options].concat()));
    let saved = read(trip);
    assert_eq!(saved["vehicle"]["name"], document()["vehicle"]["name"]);
    assert!(saved["legs"].as_array().unwrap().len() >= 9);

    let measured = parsed(&done(run(&["import", track, "--format", "json"])));
    assert_eq!(measured["drystage_import"], 1);
    assert_eq!(measured["files"][0]["lines"].as_array().unwrap().len(), 2);

    let trip = parsed(&done(run(&["import", track, "-o", "-"])));
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
    let import = ["import", track, "-o", trip_name, "--errors", "json"];
    let errors = parsed(&refused(run(&import)));
    assert_eq!(errors["errors"][0]["line"], 4);
    assert!(!trip.exists());
    done(run(&["import", track, "-o", trip_name, "--salvage"]));
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
    assert_parts(
        &in_one_line(&done(run(&["report", &name]))),
        &[
            "track file `tracks/first.gpx` not found",
            "The plan uses the distance and climb as set.",
            "Put the file beside the trip",
        ],
    );
    let (_folder, with_file) = file(&document());
    let plain = run(&["report", &with_file, "--format", "csv"]);
    let missing = run(&["report", &name, "--format", "csv"]);
    assert_eq!(out(&missing), out(&plain), "the stated figures are used");

    // What is there and damaged is an error, missing or not.
    fs::create_dir(folder.path().join("tracks")).unwrap();
    fs::write(folder.path().join("tracks/first.gpx"), "<gpx><trk>").unwrap();
    let damaged = refused(run(&["report", &name]));
    assert_parts(&damaged, &["cannot read the track file"]);

    let mut nothing = without_its_track();
    let leg = nothing["legs"][0].as_object_mut().unwrap();
    leg.remove("distance_km");
    let (_folder, nothing) = file(&nothing);
    let reason =
        "track file not found: `tracks/first.gpx`. Put it beside the trip, or set `distance_km`";
    assert_parts(&refused(run(&["report", &nothing])), &[reason]);
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
    let table = done(run(&["report", &name, "--from-start", "--format", "csv"]));
    let path = folder.path().join("table.csv");
    let path_name = path.to_str().unwrap();
    fs::write(&path, edited(&table)).unwrap();

    let words = in_one_line(&done(run(&["import", path_name, "--into", &name])));
    let removed = before["legs"][5]["to"].as_str().unwrap();
    assert_parts(
        &words,
        &[
            "3 changes to the trip:",
            "- leg 4 to Halfway: new",
            "- leg 5 to Dune Gate: sand 40 -> 55 %",
            &format!("- leg 6 to {removed}: removed"),
            "What-if `last leg on sand` no longer fits the trip",
            "The files state no track for 1 leg between the same places",
            "Preview only",
        ],
    );
    assert!(!words.contains("placeholder"), "{words}");
    assert_eq!(read(&name), before);

    let import = ["import", path_name, "--into", &name, "-o", &name];
    assert_parts(&refused(run(&import)), &["--force"]);
    let written = done(run(&[&import[..], &["--force"]].concat()));
    assert_parts(&written, &["6 legs, 3 changes"]);
    let after = read(&name);
    let trip = |document: &Value| serde_json::from_value::<Trip>(document.clone()).unwrap();
    let (is, was) = (trip(&after), trip(&before));
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
    done(run(&["report", &name, "--what-if", "twice the sand"]));
}

#[test]
fn a_table_without_a_start_keeps_that_of_the_trip() {
    let (folder, name) = file(&document());
    let table = folder.path().join("table.csv");
    fs::write(&table, "to,distance_km\nA,50\n").unwrap();
    let table = table.to_str().unwrap();
    let after = parsed(&done(run(&["import", table, "--into", &name, "-o", "-"])));
    assert_eq!(after["start"], document()["start"]);
    assert_eq!(after["legs"], json!([{ "to": "A", "distance_km": 50 }]));

    let both = ["import", table, "--into", &name, "--vehicle-from", &name];
    assert_parts(&refused(run(&both)), &["--vehicle-from"]);
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
    let import = ["import", table.to_str().unwrap(), "--into", &name];
    let reason =
        format!("place 2, `{place}`, has a fuel reading, but the new legs do not lead there");
    assert_parts(&refused(run(&import)), &[&reason]);
}

#[test]
fn completions_are_scripts_of_their_shell() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let script = done(run(&["completions", shell]));
        assert_parts(&script, &["report", "import", "what-if", "delimiter"]);
    }
    let script = run(&["completions", "bash"]);
    let mut bash = Command::new("bash")
        .arg("-n")
        .stdin(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = bash.stdin.take().unwrap();
    stdin.write_all(&script.stdout).unwrap();
    drop(stdin);
    assert!(bash.wait().unwrap().success());
}

#[test]
fn every_command_has_a_manual_page() {
    let parts = [
        ".TH drystage 1",
        "Examples:",
        "Exit status:",
        "drystage\\-report",
    ];
    assert_parts(&done(run(&["man"])), &parts);
    for command in &COMMANDS[1..] {
        let title = format!(".TH drystage-{command} 1");
        assert_parts(&done(run(&["man", command])), &[&title]);
    }
    assert_parts(&done(run(&["man", "report"])), &["what\\-if"]);
    let unknown = refused(run(&["man", "reprot"]));
    assert_parts(&unknown, &["The commands are report, range, import"]);
}

#[test]
fn a_new_trip_can_be_checked_planned_and_lent_a_vehicle() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("new.json");
    let name = path.to_str().unwrap();
    done(run(&["new", "-o", name]));
    done(run(&["check", name]));
    assert_parts(&done(run(&["report", name])), &["First camp"]);
    let trip = parsed(&done(run(&["new", "--vehicle-from", &example()])));
    assert_eq!(trip["vehicle"]["name"], document()["vehicle"]["name"]);
    assert_eq!(trip["load"]["gear"][2]["name"], "recovery gear");
    assert_eq!(trip["start"]["name"], "Last fuel stop");
}

#[test]
fn every_form_of_the_report_goes_to_a_file_or_to_stdout() {
    let (trip, folder) = (example(), tempfile::tempdir().unwrap());
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
        let report = ["report", &trip, "--format", format, "-o", name];
        let output = run(&report);
        assert!(output.stderr.is_empty(), "{format}: {}", err(&output));
        assert_eq!(done(output), "", "{format}");
        let text = fs::read_to_string(&path).unwrap();
        assert!(text.starts_with(begins), "{format}: {}", &text[..80]);
        assert_eq!(done(run(&report[..4])), text);
    }
}

#[test]
fn tables_take_the_delimiter_and_the_mark_that_a_spreadsheet_wants() {
    let trip = example();
    let table = |more: &[&str]| done(run(&[&["report", &trip, "--format", "csv"], more].concat()));
    assert!(table(&["--delimiter", "semicolon"]).starts_with("from;from_lat;"));
    assert!(table(&["--delimiter", "tab", "--bom"]).starts_with("\u{feff}from\tfrom_lat\t"));
}

/// A table read by another reader holds the same, whatever parts its cells.
#[test]
fn tables_hold_the_same_whatever_parts_their_cells() {
    let trip = example();
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
    let report = ["report", &trip, "--format", "csv", "--delimiter"];
    let output = run(&[&report[..], &["semicolon"]].concat());
    insta::assert_snapshot!("cli-legs-semicolon", out(&output));
}

#[test]
fn what_cannot_stand_side_by_side_says_so() {
    let trip = example();
    for format in ["csv", "gpx", "geojson"] {
        let report = ["report", &trip, "--format", format];
        let output = run(&[&report[..], &TWO_WHAT_IFS].concat());
        assert_parts(&refused(output), &["text, html and json"]);
    }
    let report = ["report", &trip, "--format", "html"];
    let page = done(run(&[&report[..], &TWO_WHAT_IFS].concat()));
    assert_parts(&page, &COMPARED);
}

#[test]
fn an_import_is_shown_before_anything_is_written() {
    let track = &sample("plateau-loop.gpx");
    let folder = tempfile::tempdir().unwrap();
    let mut command = drystage();
    command.current_dir(&folder).args(["import", track]);
    assert_parts(
        &done(command.output().unwrap()),
        &["legs from Lamp Hollow", "Bent Saddle: ", "Preview only"],
    );
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 0);
    let miles = done(run(&["import", "--units", "us", track]));
    assert_parts(&miles, &[" mi,", " ft climb"]);
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
            assert!(output.stderr.is_empty());
            let text = done(output);
            let is_narrow = text.lines().all(|line| line.chars().count() <= 100);
            assert!(is_narrow, "{text}");
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
            let help = done(run(&[arguments, &["--help"]].concat()));
            let mut lines = help.lines().map(str::trim_start);
            let is_listed = lines.any(|line| line.starts_with(option));
            assert_eq!(is_listed, commands.contains(&command), "{command} {option}");
        }
    }
    done(run(&["schema", "--ascii", "--seed", "3"]));
}

/// A file of another kind is answered with the command that reads it.
#[test]
fn a_file_of_another_kind_is_answered_with_its_command() {
    let folder = tempfile::tempdir().unwrap();
    let written = |name: &str, text: &str| {
        let path = folder.path().join(name);
        fs::write(&path, text).unwrap();
        path.to_str().unwrap().to_owned()
    };
    let [track, fills, trip] =
        [".gpx", "-fills.csv", ".json"].map(|end| sample(&format!("plateau-loop{end}")));
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
        let message = refused(run(arguments));
        let is_short = message.starts_with("error: ") && message.lines().count() == 1;
        assert!(is_short, "{arguments:?}: {message}");
        assert_parts(&message, &[hint]);
    }
}

/// The trip file has fractions; per cent have their sign, in the value or in the heading of a column.
#[test]
fn shares_are_fractions_unless_they_have_the_sign_of_per_cent() {
    let trip = example();
    let set = |value: &str| {
        let setting = format!("/legs/3/sand_share={value}");
        run(&["check", &trip, "--set", &setting])
    };
    for value in ["0.35", "35%", "35 %"] {
        assert!(status(&set(value)) < 2, "{value}: {}", err(&set(value)));
    }
    for (value, hint) in [
        ("40", "for 40 % write 0.4)"),
        ("95", "for 95 % write 0.95)"),
        ("\"much\"", "must be a number"),
    ] {
        assert_parts(&refused(set(value)), &[hint]);
    }
    let folder = tempfile::tempdir().unwrap();
    let table = folder.path().join("legs.csv");
    let share = |heading: &str, cell: &str| {
        fs::write(&table, format!("to,distance_km,{heading}\nA,10,{cell}\n")).unwrap();
        let output = run(&["import", table.to_str().unwrap(), "-o", "-"]);
        if status(&output) != 0 {
            return Err(err(&output).to_owned());
        }
        let leg = &parsed(out(&output))["legs"][0];
        Ok(leg["sand_share"].as_f64().unwrap())
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
    let trip = sample("forest-weekend.json");
    let output_of = |arguments: &[&str]| {
        let mut command = program::drystage();
        done(command.args(arguments).arg(&trip).output().unwrap())
    };
    let text = in_one_line(&output_of(&["report"]));
    let json = parsed(&output_of(&["report", "--format", "json"]));
    let finish = &json["outcomes"]["finish_reserve_intact"]["share"];
    let per_cent = finish.as_f64().unwrap() * 100.0;
    let finish = format!("{per_cent:.1} % finish with the reserve intact");
    assert_parts(&text, &[&finish, "HOW SURE"]);
    let arguments = ["--best-estimate", "report", "--format", "json"];
    assert!(parsed(&output_of(&arguments))["outcomes"].is_null());
    let plain = in_one_line(&output_of(&["report", "--best-estimate"]));
    assert_parts(&plain, &["there are no probabilities and no fuel checks"]);
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
    let shown = done(run(&[&[&trip as &str], &changed[..]].concat()));
    assert_parts(&shown, &[change_line]);
    let report = done(run(&[&["report", &trip], &changed[..]].concat()));
    assert_eq!(shown, report);
    let check = ["check", &trip, "--set", "/vehicle/gvm_kg=1610"];
    done(run(&check));
    let with_tent = [&check[..], &["--what-if", "tent on the roof"]].concat();
    let stopped = run(&with_tent);
    assert_eq!(status(&stopped), 1);
    assert_parts(out(&stopped), &["no-go:"]);
    assert_eq!(fs::read(&trip).unwrap(), before);

    let arrive = ["arrive", &trip, "1", "--cans", "0"];
    let text = done(run(&[&arrive[..], &READING, &changed].concat()));
    assert_parts(&text, &[change_line]);
    let saved = read(&trip);
    assert_eq!(saved["rules"], document()["rules"]);
    assert_eq!(saved["log"][0]["tank_left_l"], 39);

    for arguments in [
        &["--set", "/a=1", "report", &trip] as &[&str],
        &["--what-if", "tent on the roof"],
        &[&[&trip as &str], &TWO_WHAT_IFS[..]].concat(),
    ] {
        assert_parts(&refused(run(arguments)), &["--what-if"]);
    }
}

#[test]
fn the_seed_decides_the_draws_and_nothing_else() {
    let trip = example();
    let report = |seed: &str| {
        let arguments = ["report", &trip, "--format", "json", "--seed", seed];
        parsed(&done(program::drystage().args(arguments).output().unwrap()))
    };
    let (one, again, other) = (report("1"), report("1"), report("2"));
    assert_eq!(one, again);
    assert_ne!(one["outcomes"], other["outcomes"]);
    let [one, other] = [one, other].map(|report| report["cans"]["best_estimate_l"].clone());
    assert_eq!(one, other);
    refused(run(&["report", &trip, "--seed", "-1"]));
}

/// Who reads stderr as JSON gets JSON of what is only to be known, too.
#[test]
fn notes_can_be_had_as_json() {
    let folder = tempfile::tempdir().unwrap();
    let track = &sample("plateau-loop.gpx");
    let trip = folder.path().join("trip.json");
    let notes = |form: &str| {
        let trip = trip.to_str().unwrap();
        let output = run(&["import", track, "-o", trip, "--force", "--errors", form]);
        let notes = err(&output).to_owned();
        done(output);
        notes
    };
    let (lines, json) = (notes("text"), parsed(&notes("json")));
    assert_eq!(json["drystage_notes"], 1);
    assert!(!lines.is_empty());
    assert_eq!(lines.lines().collect::<Value>(), json["notes"]);
}

/// Whatever is written to a named file is not written over another.
#[test]
fn every_file_that_is_written_is_kept_unless_forced() {
    let folder = tempfile::tempdir().unwrap();
    let there = folder.path().join("there");
    let name = there.to_str().unwrap();
    let table = folder.path().join("legs.csv");
    fs::write(&table, "to,distance_km\na,10\n").unwrap();
    let (trip, table) = (example(), table.to_str().unwrap().to_owned());
    let mut calls: Vec<Vec<&str>> = vec![vec!["new"], vec!["schema"], vec!["import", &table]];
    for format in ["text", "json", "html", "csv", "gpx", "geojson"] {
        calls.push(vec!["report", &trip, "--format", format]);
    }
    for call in calls {
        fs::write(&there, "mine").unwrap();
        let call = [&call[..], &["-o", name]].concat();
        assert_parts(&refused(run(&call)), &["--force"]);
        assert_eq!(fs::read_to_string(&there).unwrap(), "mine", "{call:?}");
        done(run(&[&call[..], &["--force"]].concat()));
        assert_ne!(fs::read_to_string(&there).unwrap(), "mine", "{call:?}");
    }
    let left = fs::read_dir(folder.path()).unwrap().count();
    assert_eq!(left, 2, "nothing else is left behind");
}

/// What is printed as JSON has a schema that is printed, too, and holds to it.
#[test]
fn schemas_describe_what_is_printed() {
    let trip = example();
    let json = ["--format", "json"];
    let [plateau, fills, track] =
        [".json", "-fills.csv", ".gpx"].map(|end| sample(&format!("plateau-loop{end}")));
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
        let document = parsed(out(&run(&call)));
        let is_valid_by = |schema: &[&str]| {
            let schema = parsed(&done(run(schema)));
            let validator = jsonschema::validator_for(&schema).unwrap();
            validator.is_valid(&document)
        };
        assert!(is_valid_by(&["schema", of]), "{of}");
        assert!(!is_valid_by(&["schema"]), "{of}");
    }
}

/// A what-if that takes something away cannot be applied twice; that is no fault of the trip.
#[test]
fn a_what_if_is_not_held_against_what_it_makes() {
    let trip = &sample("dune-coast.json");
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
    let output_of = |arguments: &[&str]| {
        let output = program::drystage().args(arguments).output().unwrap();
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
    let mut document = read(&sample("plateau-loop.json"));
    for leg in document["legs"].as_array_mut().unwrap() {
        leg.as_object_mut().unwrap().remove("track");
    }
    fs::write(&trip, document.to_string()).unwrap();
    let name = trip.to_str().unwrap();
    let arrive = |place: &str, odometer: &str, more: &[&str]| {
        let values = ["--odometer", odometer, "--left", "30", "--cans", "9.5"];
        run(&[&["arrive", name, place], &values[..], more].concat())
    };
    assert_parts(
        &refused(arrive("0", "87000", &["--sure"])),
        &["--odometer 87000: 1210 km less than at Lamp Hollow: odometers do not count back"],
    );
    done(arrive("0", "88210", &[]));
    assert_parts(
        &refused(arrive("High Pens", "88823", &[])),
        &["613 km since Lamp Hollow, where 72 km are planned; add --sure if the reading is right"],
    );
    done(arrive("High Pens", "88823", &["--sure"]));
}
