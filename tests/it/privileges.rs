//! The table of `SECURITY.md`, line by line; owner, group and others are three users.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::os::unix::fs::{PermissionsExt, chown};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::Duration;

use crate::rig::{Bench, Follower, Make, RING_PLAN, Wire, skipped};

/// Owner and group of the state folder; a member of the group; one who is not.
const OWNER: (u32, u32) = (65_531, 65_531);
const MEMBER: (u32, u32) = (65_532, 65_531);
const OTHER: (u32, u32) = (65_533, 65_533);

/// A program of somebody.
fn program_of((uid, gid): (u32, u32), program: &Path) -> Command {
    let mut command = Command::new("setpriv");
    command.args([format!("--reuid={uid}"), format!("--regid={gid}")]);
    command.arg("--clear-groups").arg(program);
    command
}

fn as_user(bench: &Bench, who: (u32, u32), arguments: &[&str]) -> Command {
    let mut command = program_of(who, Path::new(env!("CARGO_BIN_EXE_tenths")));
    command.args(arguments);
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
    let open = bench.path("open");
    fs::create_dir(&open).unwrap();
    fs::set_permissions(&open, fs::Permissions::from_mode(0o777)).unwrap();
    let named = |who: (u32, u32)| open.join(format!("{}.html", who.0)).display().to_string();
    let page = |who| ["report".to_owned(), "t1".to_owned(), "--out".to_owned(), named(who)];
    for who in [OWNER, MEMBER] {
        may(who, &page(who).each_ref().map(String::as_str));
    }
    may_not(OTHER, &page(OTHER).each_ref().map(String::as_str));
    for refused in [&["job", "show", "t1"][..], &["readings"], &["status"], &["verify"], &["tail"]]
    {
        may_not(OTHER, refused);
    }
    // The feed: an alert of the open job is in it.
    for who in [OWNER, MEMBER] {
        let mut tail = as_user(&bench, who, &["tail", "--json", "--since", "0"]);
        let child = tail.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let feed = Follower::of(child);
        bench.until("the feed is told", || !feed.seen().is_empty());
    }
    // Write the files of the record: by the rights of each file.
    for entry in fs::read_dir(&bench.state).unwrap() {
        let path = entry.unwrap().path();
        let mode = fs::metadata(&path).unwrap().permissions().mode() & 0o777;
        let allowed = if path.ends_with("tenths.sock") { 0o660 } else { 0o640 };
        assert_eq!(mode & !allowed, 0, "{path:?} has {mode:o}");
    }
    // Restore and import, the service stopped.
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
    let bundle = bundle_of_elsewhere(&bench);
    let import = ["import", bundle.as_str()];
    for who in [MEMBER, OTHER] {
        let (code, err) = ran(&bench, who, &import);
        assert_eq!(code, 3, "{who:?}: {err}");
        assert!(err.starts_with("tenths: "), "{err}");
    }
    let (code, err) = ran(&bench, OWNER, &import);
    assert_eq!(code, 0, "{err}");
    let jobs = bench.lines(&["job", "list"]);
    assert!(jobs.iter().any(|job| job["name"] == "elsewhere-1"), "{jobs:?}");
}

/// A job of another bench, in a folder that everybody can read.
fn bundle_of_elsewhere(bench: &Bench) -> String {
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"";
    let mut other = Bench::new(&Make { gauge, more: "", plan: RING_PLAN });
    other.start();
    other.ok(&["job", "open", "elsewhere-1", "--plan", "held"]);
    other.ok(&["measure", "ring/face"]);
    other.ok(&["enter", "0.00001 in", "0.00002 in"]);
    other.ok(&["skip", "--why", "a slot"]);
    other.ok(&["note", "elsewhere-1", "came in dirty"]);
    let folder = bench.path("handed-on");
    other.ok(&["export", "elsewhere-1", "--out", folder.to_str().unwrap()]);
    fs::set_permissions(&folder, fs::Permissions::from_mode(0o755)).unwrap();
    for file in fs::read_dir(&folder).unwrap() {
        let file = file.unwrap().path();
        fs::set_permissions(file, fs::Permissions::from_mode(0o644)).unwrap();
    }
    other.stop();
    folder.display().to_string()
}

/// The environment in which the test below holds places, as another user.
const HOLD: &str = "TENTHS_TEST_HOLDS_PLACES";

/// Not a test by itself: it is run as a member of the group by the one below, takes every place
/// there is, and asks on each of them, so that none gives way, until its input ends.
#[test]
fn holds_places() {
    let Some(socket) = std::env::var_os(HOLD) else { return };
    let mut held = Vec::new();
    while let Some(wire) = Wire::to_if_free(Path::new(&socket)) {
        held.push(wire);
        assert!(held.len() < 1000, "there is no limit");
    }
    let mut out = std::io::stdout();
    writeln!(out, "holds {}", held.len()).unwrap();
    out.flush().unwrap();
    let (ended, ends) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let read = std::io::stdin().read_to_end(&mut Vec::new());
        ended.send(read.is_ok()).unwrap();
    });
    let most = held.len();
    while ends.recv_timeout(Duration::from_millis(200)).is_err() {
        // On a slow machine one may have asked nothing for too long: its place is taken again.
        held.retain_mut(|wire| {
            let reply = wire.ask(r#"{"request":"status"}"#);
            reply.is_some_and(|reply| reply["schema"] == "status/1")
        });
        while held.len() < most
            && let Some(wire) = Wire::to_if_free(Path::new(&socket))
        {
            held.push(wire);
        }
    }
}

/// A member of the group that holds every place it gets, and how many those are.
struct Crowd {
    child: Child,
    out: BufReader<ChildStdout>,
    places: usize,
}

impl Crowd {
    fn at(bench: &Bench) -> Self {
        let mut command = program_of(MEMBER, &std::env::current_exe().unwrap());
        command.args(["privileges::holds_places", "--exact", "--nocapture"]);
        command.env(HOLD, bench.state.join("tenths.sock")).stderr(Stdio::null());
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let holds = |line: String| line.split_once("holds ")?.1.parse().ok();
        let mut lines = out.by_ref().lines().map_while(Result::ok);
        let places = lines.find_map(holds).expect("it took its places");
        Self { child, out, places }
    }

    fn gone(mut self) {
        drop(self.child.stdin.take());
        self.out.read_to_end(&mut Vec::new()).unwrap();
        assert!(self.child.wait().unwrap().success());
    }
}

#[test]
fn a_member_who_takes_every_place_keeps_neither_owner_nor_root_out() {
    let Some(bench) = shop() else { return };
    let crowd = Crowd::at(&bench);
    assert_eq!(crowd.places, 64, "the reserved place is none of a member's");
    for _ in 0..3 {
        bench.until("another member is kept out, and told by whom", || {
            let (code, err) = ran(&bench, MEMBER, &["status"]);
            let held = err.contains("held 64 by") && err.contains(&format!("uid {}", MEMBER.0));
            code == 3 && held
        });
        // The test itself is root, and the owner is another user.
        let (code, err) = ran(&bench, OWNER, &["status"]);
        assert!(code < 2, "{code} {err}");
        let root = bench.run(&["status"]);
        assert!(root.status.code() < Some(2), "{root:?}");
    }
    let (code, err) = ran(&bench, OWNER, &["job", "open", "t1", "--plan", "held"]);
    assert_eq!(code, 0, "a change comes through: {err}");
    crowd.gone();
    bench.until("members get in again", || ran(&bench, MEMBER, &["status"]).0 < 2);
}

#[test]
fn who_asked_stands_with_each_fact_and_is_of_another_bench_where_it_came_along() {
    let Some(bench) = shop() else { return };
    let asked = |who, arguments: &[&str]| {
        let (code, err) = ran(&bench, who, arguments);
        assert_eq!(code, 0, "{who:?} {arguments:?}: {err}");
    };
    asked(OWNER, &["job", "open", "t1", "--plan", "held"]);
    asked(OWNER, &["measure", "ring/face"]);
    asked(OWNER, &["enter", "0.00001 in", "0.00002 in", "0.00003 in"]);
    asked(MEMBER, &["void", "--why", "slipped"]);
    asked(MEMBER, &["skip", "5", "--why", "a slot"]);
    asked(MEMBER, &["note", "t1", "came in dirty"]);
    asked(MEMBER, &["job", "rule", "t1", "simple", "--why", "agreed"]);
    asked(MEMBER, &["replace", "ring", "--why", "worn"]);
    asked(OWNER, &["job", "close", "t1", "--why", "tried"]);
    asked(MEMBER, &["checked", "t1", "--by", "Somebody Else"]);
    let facts = |bench: &Bench| {
        let job = bench.lines(&["job", "show", "t1"]).remove(0);
        let verdict = bench.lines(&["verdicts", "t1"]).remove(0);
        let void = |line: &&serde_json::Value| line["state"] == "void";
        let reading = bench.lines(&["readings", "t1", "--all"]).iter().find(void).cloned().unwrap();
        let facts = [
            ("note", job["notes"][0]["caller"].clone()),
            ("skip", job["left_out"][0]["caller"].clone()),
            ("rule", job["rules"][0]["caller"].clone()),
            ("replaced", job["replaced"][0]["caller"].clone()),
            ("checked", job["checked"][0]["caller"].clone()),
            ("void", reading["voided_caller"].clone()),
        ];
        let others = [
            ("opened", job["caller"].clone()),
            ("closed", job["closed_caller"].clone()),
            ("went on", job["went_on"][0]["caller"].clone()),
            ("reading", reading["caller"].clone()),
            ("began", verdict["began_caller"].clone()),
        ];
        facts.map(|fact| (MEMBER.0, fact)).into_iter().chain(others.map(|fact| (OWNER.0, fact)))
    };
    for (uid, (what, caller)) in facts(&bench) {
        assert_eq!(caller["uid"], uid, "{what}: {caller}");
        assert!(caller.get("elsewhere").is_none(), "{what}: {caller}");
    }
    // Handed on and taken over, and handed on from there: the same bytes, and told as of elsewhere.
    let (first, second) = (bench.path("first"), bench.path("second"));
    bench.ok(&["export", "t1", "--out", first.to_str().unwrap()]);
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"";
    let other = Bench::new(&Make { gauge, more: "", plan: RING_PLAN });
    other.ok(&["import", first.to_str().unwrap()]);
    for (uid, (what, caller)) in facts(&other) {
        assert_eq!((&caller["uid"], &caller["elsewhere"]), (&uid.into(), &true.into()), "{what}");
    }
    other.ok(&["export", "t1", "--out", second.to_str().unwrap()]);
    assert_eq!(crate::handover::files(&first), crate::handover::files(&second));
    other.ok(&["verify"]);
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

/// Ways to say that something is not there, where the truth is that one may not see it.
const NOT_THERE: [&str; 5] =
    ["not there", "there is no", "is not running", "does not run", "No such file"];

#[test]
fn what_somebody_may_not_is_never_told_as_not_there() {
    let Some(mut bench) = shop() else { return };
    bench.ok(&["job", "open", "t1", "--plan", "held"]);
    let open = bench.path("open");
    fs::create_dir(&open).unwrap();
    fs::set_permissions(&open, fs::Permissions::from_mode(0o777)).unwrap();
    let out = |name: &str| open.join(name).display().to_string();
    let (page, bundle, copy) = (out("p.html"), out("bundle"), out("copy.db"));
    let config = bench.path("bench.toml").display().to_string();
    let all: [&[&str]; 19] = [
        &["status"],
        &["reload"],
        &["tail"],
        &["watch", "--json"],
        &["note", "t1", "by somebody"],
        &["enter", "0"],
        &["readings"],
        &["verdicts"],
        &["alerts"],
        &["budget", "1"],
        &["job", "list"],
        &["job", "show", "t1"],
        &["job", "compare", "t1", "t2"],
        &["attachments", "t1"],
        &["report", "t1", "--out", &page],
        &["sheet", "t1"],
        &["export", "t1", "--out", &bundle],
        &["verify"],
        &["backup", &copy],
    ];
    for arguments in all {
        let (code, err) = ran(&bench, OTHER, arguments);
        assert_eq!(code, 3, "{arguments:?}: {err}");
        assert!(err.contains("you may not"), "{arguments:?}: {err}");
        assert!(err.contains(&config), "{arguments:?} names no configuration: {err}");
        let told = NOT_THERE.iter().find(|words| err.contains(**words));
        assert_eq!(told, None, "{arguments:?}: {err}");
    }
    let output = as_user(&bench, OTHER, &["doctor"]).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("you may not read") && said.contains("you may not use"), "{said}");
    // A record that somebody named, in a folder that they may not look into, and one that they may not read.
    let named = bench.state.join("tenths.db").display().to_string();
    let (code, err) = ran(&bench, OTHER, &["verify", &named]);
    assert!(code == 3 && err.contains("you may not read the record"), "{err}");
    fs::set_permissions(&bench.state, fs::Permissions::from_mode(0o755)).unwrap();
    let (code, err) = ran(&bench, OTHER, &["readings"]);
    assert!(code == 3 && err.contains("you may not read the record"), "{err}");
    // The service is not there, the record is not there: by which configuration stands beside it.
    bench.stop();
    let (code, err) = ran(&bench, OWNER, &["status"]);
    assert!(code == 3 && err.contains("not running") && err.contains(&config), "{err}");
    let nowhere = out("nowhere");
    let (code, err) = ran(&bench, OWNER, &["readings", "--state-folder", &nowhere]);
    assert!(
        code == 3 && err.contains("there is no record") && err.contains("--state-folder"),
        "{err}"
    );
    // The configuration itself.
    fs::set_permissions(&config, fs::Permissions::from_mode(0o600)).unwrap();
    let (code, err) = ran(&bench, OTHER, &["status"]);
    assert!(code == 2 && err.contains("you may not read it") && err.contains(&config), "{err}");
}
