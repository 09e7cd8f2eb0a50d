//! A state folder that belongs to somebody else, who may put anything into it: root follows no link there,
//! and works there only as that user.

use std::fs;
use std::os::unix::fs::{MetadataExt, PermissionsExt, chown, symlink};
use std::path::{Path, PathBuf};

use crate::rig::{Bench, Make, RING_PLAN, as_nobody, skipped};

/// The user of the pretended service.
const THEM: u32 = 65534;

fn bench() -> Bench {
    Bench::new(&Make {
        gauge: "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"",
        more: "",
        plan: RING_PLAN,
    })
}

/// A record of the other user's, a copy of it that only root may read, and a bundle of a job that
/// it does not have yet.
struct Theirs {
    bench: Bench,
    copy: PathBuf,
    bundle: PathBuf,
    /// Name and bytes of every file in the state folder.
    files: Vec<(PathBuf, Vec<u8>)>,
}

fn mode(path: &Path, mode: u32) {
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
}

/// `None` where this does not run as root.
fn theirs() -> Option<Theirs> {
    if !rustix::process::geteuid().is_root() {
        return None;
    }
    let mut bench = bench();
    let private = bench.path("private");
    fs::create_dir(&private).unwrap();
    mode(&private, 0o700);
    bench.start();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    let (copy, bundle) = (private.join("monday.db"), private.join("J-2"));
    bench.ok(&["backup", copy.to_str().unwrap()]);
    bench.ok(&["job", "open", "J-2", "--plan", "held"]);
    bench.ok(&["export", "J-2", "--out", bundle.to_str().unwrap()]);
    bench.stop();
    bench.ok(&["restore", copy.to_str().unwrap()]);
    mode(&copy, 0o600);
    let state = bench.path("state");
    let aside = fs::read_dir(&state).unwrap().map(|entry| entry.unwrap().path());
    for path in aside.filter(|path| path.to_string_lossy().contains(".db.")) {
        fs::remove_file(path).unwrap();
    }
    mode(bench.dir.path(), 0o755);
    mode(&state, 0o2750);
    chown(&state, Some(THEM), Some(THEM)).unwrap();
    let read = |entry: fs::DirEntry| (entry.path(), fs::read(entry.path()).unwrap());
    let files = fs::read_dir(&state).unwrap().map(|entry| read(entry.unwrap())).collect();
    Some(Theirs { bench, copy, bundle, files })
}

impl Theirs {
    /// The state folder as it was in the beginning.
    fn anew(&self) {
        let state = self.bench.path("state");
        for entry in fs::read_dir(&state).unwrap() {
            fs::remove_file(entry.unwrap().path()).unwrap();
        }
        for (path, bytes) in &self.files {
            fs::write(path, bytes).unwrap();
            mode(path, 0o640);
            chown(path, Some(THEM), Some(THEM)).unwrap();
        }
    }

    /// What root runs, one after the other.
    fn commands(&self) -> Vec<Vec<String>> {
        let copy = self.copy.to_str().unwrap();
        let bundle = self.bundle.to_str().unwrap();
        let other = self.bench.path("private/tuesday.db");
        let other = other.to_str().unwrap();
        let all: [&[&str]; 6] = [
            &["restore", copy],
            &["import", bundle],
            &["readings"],
            &["verify"],
            &["backup", other],
            &["job", "show", "J-1"],
        ];
        all.iter().map(|words| words.iter().map(|word| (*word).to_owned()).collect()).collect()
    }
}

const NAMES: [&str; 11] = [
    "tenths.lock",
    "tenths.db",
    "tenths.db-wal",
    "tenths.db-shm",
    "tenths.db-journal",
    "tenths.db.restoring",
    "tenths.db.restoring-wal",
    "tenths.db.restoring-shm",
    "tenths.db.restoring-journal",
    "tenths.db.restoring-log",
    "tenths.newest",
];

const SECRET: &str = "root:$6$made-up:19000:0:99999:7:::\n";

#[test]
fn links_in_a_folder_of_somebody_else_lead_root_nowhere() {
    let Some(theirs) = theirs() else {
        return skipped("links in a folder of somebody else", "this does not run as root");
    };
    let private = theirs.bench.path("private");
    let (secret, absent) = (private.join("shadow"), private.join("absent"));
    for name in NAMES {
        let link = theirs.bench.path("state").join(name);
        for kind in ["soft", "hard", "to nothing"] {
            for words in theirs.commands() {
                theirs.anew();
                fs::write(&secret, SECRET).unwrap();
                mode(&secret, 0o600);
                drop(fs::remove_file(&link));
                match kind {
                    "soft" => symlink(&secret, &link).unwrap(),
                    "hard" => fs::hard_link(&secret, &link).unwrap(),
                    _ => symlink(&absent, &link).unwrap(),
                }
                let words: Vec<&str> = words.iter().map(String::as_str).collect();
                let output = theirs.bench.run(&words);
                let told = format!("{name}, {kind}, {words:?}: {output:?}");
                assert!([0, 1, 2, 3].contains(&output.status.code().unwrap()), "{told}");
                assert_eq!(fs::read_to_string(&secret).unwrap(), SECRET, "{told}");
                let found = fs::metadata(&secret).unwrap();
                assert_eq!((found.uid(), found.gid()), (0, 0), "{told}");
                assert_eq!(found.mode() & 0o777, 0o600, "{told}");
                assert!(!absent.exists(), "{told}");
                for entry in fs::read_dir(theirs.bench.path("state")).unwrap() {
                    let path = entry.unwrap().path();
                    let found = fs::symlink_metadata(&path).unwrap();
                    if found.is_file() && found.ino() != fs::metadata(&secret).unwrap().ino() {
                        assert_eq!(found.uid(), THEM, "{told}: {}", path.display());
                        let inside = fs::read(&path).unwrap();
                        assert!(!inside.starts_with(b"root:"), "{told}: {}", path.display());
                    }
                }
                drop(fs::remove_file(private.join("tuesday.db")));
            }
        }
    }
}

#[test]
fn what_root_puts_into_a_folder_of_somebody_else_is_theirs() {
    let Some(theirs) = theirs() else {
        return skipped("what root puts into a folder", "this does not run as root");
    };
    theirs.anew();
    let Theirs { mut bench, copy, bundle, .. } = theirs;
    bench.ok(&["restore", copy.to_str().unwrap()]);
    bench.ok(&["import", bundle.to_str().unwrap()]);
    bench.ok(&["verify"]);
    for entry in fs::read_dir(bench.path("state")).unwrap() {
        let path = entry.unwrap().path();
        let found = fs::symlink_metadata(&path).unwrap();
        assert_eq!((found.uid(), found.gid()), (THEM, THEM), "{}", path.display());
        assert_eq!(found.mode() & 0o027, 0, "{}", path.display());
    }
    // A copy is the caller's, wherever it lies, and what cannot be their own is refused.
    let kept = bench.path("private/wednesday.db");
    bench.ok(&["backup", kept.to_str().unwrap()]);
    assert_eq!(fs::metadata(&kept).unwrap().uid(), 0);
    let said = bench.refused(2, &["restore", "/dev/null"]);
    assert!(said.contains("hint: "), "{said}");
    let text = bench.path("private/notes.db");
    fs::write(&text, "no record\n").unwrap();
    let said = bench.refused(2, &["restore", text.to_str().unwrap()]);
    assert!(said.contains("not a record"), "{said}");
    let link = bench.path("private/link.db");
    symlink(&kept, &link).unwrap();
    bench.ok(&["restore", kept.to_str().unwrap()]);
    let output = bench.run(&["serve"]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("belongs to") && said.contains("hint: "), "{said}");
    let Some(serve) = as_nobody(&bench, &["serve"]) else {
        return skipped("the service of somebody else", "no setpriv here");
    };
    bench.launch_as(serve);
    bench.until_up();
    assert_eq!(bench.lines(&["job", "list"]).len(), 2);
    bench.stop();
}
