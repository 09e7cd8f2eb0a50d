//! The control socket when many clients are connected, or when somebody removes its file.

use std::fs;
use std::os::unix::fs::{FileTypeExt, PermissionsExt};
use std::path::Path;

use crate::rig::{Bench, Follower, Make, RING_PLAN, Wire};

fn started() -> Bench {
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"";
    let mut bench = Bench::new(&Make { gauge, more: "", plan: RING_PLAN });
    bench.start();
    bench
}

fn socket(bench: &Bench) -> std::path::PathBuf {
    bench.state.join("tenths.sock")
}

/// As many connections as there are places, the reserved one of the service's own user included.
fn all_places(bench: &Bench, ask: Option<&str>) -> Vec<Wire> {
    let mut held = Vec::new();
    while let Some(mut wire) = Wire::to_if_free(&socket(bench)) {
        if let Some(ask) = ask {
            let reply = wire.ask(ask).unwrap();
            if reply["schema"] == "error/1" {
                break;
            }
        }
        held.push(wire);
        assert!(held.len() < 1000, "there is no limit");
    }
    held
}

#[test]
fn idle_connections_lock_nobody_out_and_the_truth_is_told_meanwhile() {
    let bench = started();
    let mut held = all_places(&bench, None);
    let err = bench.refused(3, &["status"]);
    assert!(err.contains("the service runs but has no free place"), "{err}");
    let own = format!("uid {}, process {}", rustix::process::getuid().as_raw(), std::process::id());
    assert!(err.contains(&format!("{} connections", held.len())) && err.contains(&own), "{err}");
    assert!(!err.contains("not running") && err.contains("hint: "), "{err}");
    let err = bench.refused(3, &["job", "open", "t1", "--plan", "held", "--json"]);
    assert!(err.contains("no free place"), "{err}");
    assert!(held.len() >= 64, "{}", held.len());
    // Whoever asks nothing gives way; whoever asks now and then is not the first.
    let status = r#"{"request":"status"}"#;
    bench.until("somebody gives way", || bench.run(&["status"]).status.success());
    let last = held.len() - 1;
    assert_eq!(held[last].ask(status).unwrap()["schema"], "status/1");
    let told = held[0].hear().expect("the first one is told");
    assert!(told["text"].as_str().unwrap().contains("others had no place"), "{told}");
    assert!(held[0].hear().is_none(), "and cut off");
}

#[test]
fn followers_do_not_take_the_places_of_those_who_ask() {
    let bench = started();
    let following = all_places(&bench, Some(r#"{"request":"tail"}"#));
    assert!(following.len() >= 64, "{}", following.len());
    bench.ok(&["job", "open", "t1", "--plan", "held"]);
    let err = bench.refused(3, &["tail"]);
    assert!(err.contains(&format!("{} followers", following.len())), "{err}");
    drop(following);
    bench.until("places are free", || {
        Wire::to(&socket(&bench)).unwrap().ask(r#"{"request":"tail"}"#).unwrap()["schema"]
            == "tail/1"
    });
}

fn is_socket(path: &Path) -> bool {
    path.symlink_metadata().is_ok_and(|found| found.file_type().is_socket())
}

#[test]
fn a_socket_that_was_taken_away_is_made_again_and_that_is_told() {
    let mut bench = started();
    let path = socket(&bench);
    let feed = Follower::of(bench.spawn(&["tail", "--json", "--since", "0"]));
    bench.ok(&["job", "open", "t1", "--plan", "held"]);
    fs::remove_file(&path).unwrap();
    bench.until("it is made again", || is_socket(&path));
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o660);
    bench.ok(&["note", "t1", "by the new one"]);
    let told = |event: &str, says: &str| {
        feed.seen().iter().any(|line| {
            let alert = &line["alert"];
            line["event"] == event
                && alert["kind"] == "socket-lost"
                && alert["text"].as_str().unwrap().contains(says)
        })
    };
    bench.until("it is told", || told("raised", "taken away") && told("cleared", "taken away"));
    assert!(bench.log().contains("taken away"), "{}", bench.log());
    // Something else in its place is not followed, not removed, and told.
    let other = bench.path("somebody-s");
    fs::write(&other, "text").unwrap();
    fs::set_permissions(&other, fs::Permissions::from_mode(0o600)).unwrap();
    fs::remove_file(&path).unwrap();
    std::os::unix::fs::symlink(&other, &path).unwrap();
    bench.until("it is told", || told("raised", "a link"));
    assert!(path.is_symlink());
    fs::remove_file(&path).unwrap();
    bench.until("it is made again", || is_socket(&path));
    bench.ok(&["note", "t1", "and on"]);
    bench.until("it is well", || told("cleared", "a link"));
    fs::remove_file(&path).unwrap();
    std::os::unix::fs::symlink(&other, &path).unwrap();
    bench.stop();
    assert!(path.is_symlink(), "the end of the service took something else away");
    let err = bench.refused_serve(3);
    assert!(err.contains("a link") && err.contains("move it away"), "{err}");
    assert_eq!(fs::read_to_string(&other).unwrap(), "text");
    assert_eq!(fs::metadata(&other).unwrap().permissions().mode() & 0o777, 0o600);
}
