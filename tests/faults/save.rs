//! Every step of a save: refused by the system, or the last that the program ever does.

use std::fmt;
use std::fs::{self, File};
use std::io;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, SystemTime};

use drystage::io::disk::{Disk, Readers, System};
use drystage::io::save::{Existing, SaveError, save};
use signal_hook::consts::SIGKILL;

use super::faulty::{ACCES, DQUOT, Fault, Faulty, IO, NOSPC};

const OLD: &str = "the old text, and more of it";
const NEW: &str = "the new text";

/// The steps of a save in the place of an old file, writes counted once.
const STEPS: [&str; 7] = [
    "look",
    "make",
    "copy_mode_and_owner",
    "write",
    "sync",
    "replace",
    "sync the folder",
];

fn save_new(disk: &dyn Disk, path: &Path) -> Result<(), SaveError> {
    save(disk, path, Existing::Replace, |out| {
        out.write_all(NEW.as_bytes())
    })
}

/// The text of a file, and how many parts lie beside it; nothing else may.
fn found(path: &Path) -> (Option<String>, usize) {
    let mut parts = 0;
    for entry in fs::read_dir(path.parent().unwrap()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.starts_with(".drystage-") {
            parts += 1;
        } else {
            assert_eq!(name, "trip.json");
        }
    }
    (fs::read_to_string(path).ok(), parts)
}

#[test]
fn a_step_that_is_refused_leaves_what_was_there_and_says_why() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trip.json");
    for (error, reason) in [
        (NOSPC, "the disk is full"),
        (IO, "Input/output error"),
        (ACCES, "permission denied"),
        (DQUOT, "the disk quota is used up"),
    ] {
        for old in [None, Some(OLD)] {
            let mut refused = Vec::new();
            for at in 0.. {
                match old {
                    Some(old) => fs::write(&path, old).unwrap(),
                    None => drop(fs::remove_file(&path)),
                }
                let disk = Faulty::slow(Fault::Error(error), at, 5);
                let done = save_new(&disk, &path);
                let (text, parts) = found(&path);
                assert_eq!(parts, 0, "{:?}", disk.steps());
                let Err(error) = done else {
                    assert_eq!(text.as_deref(), Some(NEW));
                    break;
                };
                let steps = disk.steps();
                let last = steps[at];
                refused.push(last);
                let is_placed = last == "sync the folder";
                let expected = if is_placed { Some(NEW) } else { old };
                assert_eq!(text.as_deref(), expected, "{last}: {error}");
                assert_eq!(matches!(error, SaveError::Unsettled { .. }), is_placed);
                let message = error.to_string();
                assert!(message.ends_with(reason), "{last}: {message}");
                let file = if last == "make" { folder.path() } else { &path };
                assert!(
                    message.contains(file.to_str().unwrap()),
                    "{last}: {message}"
                );
            }
            refused.dedup();
            let expected = STEPS
                .into_iter()
                .filter(|step| old.is_some() || *step != "copy_mode_and_owner");
            assert_eq!(refused, expected.collect::<Vec<_>>());
        }
    }
}

#[test]
fn what_is_written_in_pieces_and_interrupted_is_whole() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trip.json");
    let disk = Faulty::slow(Fault::None, 0, 1);
    save_new(&disk, &path).unwrap();
    assert_eq!(found(&path), (Some(NEW.to_owned()), 0));
    let writes = disk.steps().iter().filter(|step| **step == "write").count();
    assert!(writes >= 2 * NEW.len() - 1, "{writes}");
}

/// Not a test: saves, and is killed at a step.
#[test]
#[ignore = "is started by the test below"]
fn child_saves() {
    let [path, at] = ["DRYSTAGE_PATH", "DRYSTAGE_AT"].map(|name| std::env::var(name).unwrap());
    let disk = Faulty::slow(Fault::Kill, at.parse().unwrap(), 5);
    save_new(&disk, Path::new(&path)).unwrap();
}

#[test]
fn a_kill_at_any_step_leaves_the_old_text_or_the_new_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trip.json");
    let mut texts = Vec::new();
    for at in 0.. {
        for part in fs::read_dir(folder.path()).unwrap() {
            fs::remove_file(part.unwrap().path()).unwrap();
        }
        fs::write(&path, OLD).unwrap();
        let mut child = Command::new(std::env::current_exe().unwrap());
        child.args(["--ignored", "--exact", "save::child_saves"]);
        child.env("DRYSTAGE_PATH", &path);
        child.env("DRYSTAGE_AT", at.to_string());
        let status = child.output().unwrap().status;
        let (text, parts) = found(&path);
        let text = text.unwrap();
        if status.success() {
            assert_eq!((text.as_str(), parts), (NEW, 0));
            break;
        }
        assert_eq!(status.signal(), Some(SIGKILL));
        assert!(parts <= 1, "{at}: {parts} parts");
        texts.push(text);
        // Whatever lies there is in nobody's way.
        save_new(&System, &path).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), NEW);
    }
    // Six steps and the further pieces that are written before the name changes hands, and one after it.
    let last = texts.pop();
    assert_eq!(last.as_deref(), Some(NEW));
    assert!(
        texts.len() > STEPS.len() && texts.iter().all(|text| text == OLD),
        "{texts:?}"
    );
}

/// What a killed program left goes with a later save; what somebody works on, or may work on, stays.
#[test]
fn parts_that_are_nobodys_are_taken_away() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trip.json");
    let long_ago = SystemTime::now() - Duration::from_secs(2 * 3600);
    let made = |name: &str, when: SystemTime| {
        let file = File::create(folder.path().join(name)).unwrap();
        file.set_modified(when).unwrap();
        file
    };
    made(".drystage-dead.part", long_ago);
    made(".drystage-young.part", SystemTime::now());
    made("drystage-other.part", long_ago);
    let worked_on = made(".drystage-held.part", long_ago);
    worked_on.lock().unwrap();
    fs::create_dir(folder.path().join(".drystage-folder.part")).unwrap();
    symlink(
        "drystage-other.part",
        folder.path().join(".drystage-link.part"),
    )
    .unwrap();
    save_new(&System, &path).unwrap();
    let mut left: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    left.sort();
    assert_eq!(
        left,
        [
            ".drystage-folder.part",
            ".drystage-held.part",
            ".drystage-link.part",
            ".drystage-young.part",
            "drystage-other.part",
            "trip.json"
        ]
    );
}

/// A part is locked while it is filled.
#[test]
fn a_part_that_is_worked_on_is_locked() {
    let folder = tempfile::tempdir().unwrap();
    let part = System.make(folder.path(), Readers::Usual).unwrap();
    assert!(File::open(part.path()).unwrap().try_lock().is_err());
}

/// The system, and something that somebody else does just before the new text takes its place.
struct Meanwhile<F>(F);

impl<F> fmt::Debug for Meanwhile<F> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Meanwhile")
    }
}

impl<F: Fn() + Sync> Disk for Meanwhile<F> {
    fn sync(&self, file: &File) -> io::Result<()> {
        (self.0)();
        System.sync(file)
    }
}

#[test]
fn what_others_do_meanwhile_is_not_written_through() {
    let folder = tempfile::tempdir().unwrap();
    let [path, first, second] =
        ["trip.json", "first.json", "second.json"].map(|name| folder.path().join(name));
    // The file is taken away: it is there again.
    fs::write(&path, OLD).unwrap();
    save_new(&Meanwhile(|| fs::remove_file(&path).unwrap()), &path).unwrap();
    assert_eq!(fs::read_to_string(&path).unwrap(), NEW);
    // A file appears that is not to be replaced.
    let appears = Meanwhile(|| fs::write(&first, OLD).unwrap());
    let done = save(&appears, &first, Existing::Keep, |out| out.write_all(b"x"));
    assert!(matches!(done, Err(SaveError::Exists(_))), "{done:?}");
    assert_eq!(fs::read_to_string(&first).unwrap(), OLD);
    // The link leads elsewhere now: what it led to when the save began is what is saved.
    fs::remove_file(&path).unwrap();
    symlink("first.json", &path).unwrap();
    fs::write(&second, OLD).unwrap();
    let turned = Meanwhile(|| {
        fs::remove_file(&path).unwrap();
        symlink("second.json", &path).unwrap();
    });
    save_new(&turned, &path).unwrap();
    let texts = [&first, &second].map(|path| fs::read_to_string(path).unwrap());
    assert_eq!(texts, [NEW, OLD]);
    // A folder takes its place.
    let folded = Meanwhile(|| {
        fs::remove_file(&first).unwrap();
        fs::create_dir(&first).unwrap();
    });
    let message = save_new(&folded, &first).unwrap_err().to_string();
    assert!(
        message.starts_with(&format!(
            "cannot replace {}: is a folder, not a file",
            first.display()
        )),
        "{message}"
    );
    assert!(first.is_dir());
}

#[test]
fn links_lead_to_the_file_that_is_saved() {
    let folder = tempfile::tempdir().unwrap();
    let far = folder.path().join("far");
    fs::create_dir(&far).unwrap();
    let link = folder.path().join("trip.json");
    // To another folder, dangling: the file is made there.
    symlink("far/real.json", &link).unwrap();
    save_new(&System, &link).unwrap();
    assert_eq!(fs::read_to_string(far.join("real.json")).unwrap(), NEW);
    assert!(link.is_symlink());
    // A folder that is none.
    fs::remove_file(&link).unwrap();
    symlink("none/real.json", &link).unwrap();
    let message = save_new(&System, &link).unwrap_err().to_string();
    assert!(
        message.contains("none") && message.contains("folder not found"),
        "{message}"
    );
    assert!(link.is_symlink());
    // Another name of the same file keeps the old text.
    let [one, other] = ["one.json", "other.json"].map(|name| far.join(name));
    fs::write(&one, OLD).unwrap();
    fs::set_permissions(&one, fs::Permissions::from_mode(0o600)).unwrap();
    fs::hard_link(&one, &other).unwrap();
    save_new(&System, &one).unwrap();
    let texts = [&one, &other].map(|path| fs::read_to_string(path).unwrap());
    assert_eq!(texts, [NEW, OLD]);
    assert_eq!(
        fs::metadata(&one).unwrap().permissions().mode() & 0o777,
        0o600
    );
}
