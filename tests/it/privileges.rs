//! The table of `SECURITY.md`, line by line: owner, group and others are three users.

use std::fs;
use std::os::unix::fs::{PermissionsExt, chown};
use std::process::Command;

use crate::rig::{Bench, Make, RING_PLAN, skipped};

/// Owner and group of the state folder; a member of the group; one who is not.
const OWNER: (u32, u32) = (65_531, 65_531);
const MEMBER: (u32, u32) = (65_532, 65_531);
const OTHER: (u32, u32) = (65_533, 65_533);

fn as_user(bench: &Bench, (uid, gid): (u32, u32), arguments: &[&str]) -> Command {
    let mut command = Command::new("setpriv");
    command.args([format!("--reuid={uid}"), format!("--regid={gid}")]);
    command.arg("--clear-groups").arg(env!("CARGO_BIN_EXE_tenths")).args(arguments);
    command.env("TENTHS_CONFIG", bench.path("bench.toml")).env("NO_COLOR", "1");
    command.stdin(std::process::Stdio::null());
    command
}

/// Exit code and standard error of a command of somebody.
fn ran(bench: &Bench, who: (u32, u32), arguments: &[&str]) -> (i32, String) {
    let output = as_user(bench, who, arguments).output().unwrap();
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code().unwrap(), err)
}

fn shop() -> Option<Bench> {
    if !rustix::process::geteuid().is_root() {
        skipped("who may do what", "only root can become three users");
        return None;
    }
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"";
    let mut bench = Bench::new(&Make { gauge, more: "", plan: RING_PLAN });
    if !as_user(&bench, OWNER, &["--version"]).output().is_ok_and(|out| out.status.success()) {
        skipped("who may do what", "setpriv cannot become another user here");
        return None;
    }
    fs::set_permissions(bench.dir.path(), fs::Permissions::from_mode(0o755)).unwrap();
    chown(&bench.state, Some(OWNER.0), Some(OWNER.1)).unwrap();
    fs::set_permissions(&bench.state, fs::Permissions::from_mode(0o750)).unwrap();
    let serve = as_user(&bench, OWNER, &["serve"]);
    bench.launch_as(serve);
    bench.until_up();
    Some(bench)
}

#[test]
fn the_table_of_privileges_holds() {
    let Some(mut bench) = shop() else { return };
    let may = |who, arguments: &[&str]| {
        let (code, err) = ran(&bench, who, arguments);
        assert_eq!(code, 0, "{who:?} {arguments:?}: {err}");
    };
    let may_not = |who, arguments: &[&str]| {
        let (code, err) = ran(&bench, who, arguments);
        assert!(code == 3 || code == 2, "{who:?} {arguments:?}: {code} {err}");
        assert!(err.starts_with("tenths: "), "{err}");
    };
    // Change something through the service, ask it, read the record.
    may(OWNER, &["job", "open", "t1", "--plan", "held"]);
    may(MEMBER, &["note", "t1", "by a member"]);
    may_not(OTHER, &["note", "t1", "by somebody"]);
    for who in [OWNER, MEMBER] {
        for read in [&["job", "show", "t1"][..], &["readings"], &["verdicts"], &["verify"]] {
            may(who, read);
        }
        // The gauge is not to be opened by them: the answer is no, but there is one.
        let (code, err) = ran(&bench, who, &["status"]);
        assert!(code < 2, "{code} {err}");
    }
    for refused in [&["job", "show", "t1"][..], &["readings"], &["status"], &["verify"]] {
        may_not(OTHER, refused);
    }
    // Write the files of the record: by the rights of each file.
    for entry in fs::read_dir(&bench.state).unwrap() {
        let path = entry.unwrap().path();
        let mode = fs::metadata(&path).unwrap().permissions().mode() & 0o777;
        let allowed = if path.ends_with("tenths.sock") { 0o660 } else { 0o640 };
        assert_eq!(mode & !allowed, 0, "{path:?} has {mode:o}");
    }
    // Restore, the service stopped.
    let copy = bench.path("copy.db");
    bench.ok(&["backup", copy.to_str().unwrap()]);
    fs::set_permissions(&copy, fs::Permissions::from_mode(0o644)).unwrap();
    bench.stop();
    let restore = ["restore", copy.to_str().unwrap()];
    for who in [MEMBER, OTHER] {
        let (code, err) = ran(&bench, who, &restore);
        assert_eq!(code, 3, "{err}");
    }
    let (code, err) = ran(&bench, OWNER, &restore);
    assert_eq!(code, 0, "{err}");
}

#[test]
fn whose_process_asked_stands_beside_the_name_that_was_given() {
    let Some(bench) = shop() else { return };
    let asked = |who, arguments: &[&str]| {
        let (code, err) = ran(&bench, who, arguments);
        assert_eq!(code, 0, "{who:?} {arguments:?}: {err}");
    };
    asked(MEMBER, &["job", "open", "t1", "--plan", "held", "--by", "Somebody Else"]);
    asked(OWNER, &["measure", "ring/face"]);
    asked(MEMBER, &["enter", "0.00001 in", "--by", "Somebody Else"]);
    asked(OWNER, &["job", "close", "t1", "--why", "tried"]);
    let reading = bench.lines(&["readings", "t1"]).remove(0);
    assert_eq!(
        (&reading["by"], &reading["caller"]["uid"]),
        (&"Somebody Else".into(), &65_532.into())
    );
    assert!(reading["caller"]["pid"].as_u64().unwrap() > 1, "{reading}");
    let job = bench.lines(&["job", "show", "t1"]).remove(0);
    assert_eq!((&job["by"], &job["caller"]["uid"]), (&"Somebody Else".into(), &65_532.into()));
    assert_eq!(job["closed_caller"]["uid"], 65_531, "{job}");
}
