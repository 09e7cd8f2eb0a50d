//! Nothing is lost, and nothing comes out of order, whatever becomes of broker, way and sender.

use std::fs;
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::os::unix::fs::PermissionsExt as _;
use std::process::Command;
use std::time::Duration;

use rustix::process::Signal;

use super::{Forward, alerts, bench, complete, link, measured, own_feed, shop, until_told};
use crate::certificates::Authority;
use crate::mosquitto::Mosquitto;
use crate::rig::Dice;

#[test]
fn a_broker_that_is_gone_for_a_whole_job_is_told_all_of_it() {
    let mut broker = Mosquitto::started("");
    // Known to the broker, which keeps messages for it from its first moment on.
    let listener = broker.listener("watcher", "tenths/#", &[]);
    broker.stop();
    let bench = bench(&shop(broker.port, ""));
    let forward = Forward::of(&bench);
    measured(&bench);
    alerts(&bench, 5);
    measured(&bench);
    bench.until("it is said", || link(&bench)["state"] == "broken");
    let text = bench.run(&["status"]).stdout;
    let text = String::from_utf8(text).unwrap();
    assert!(text.contains("NOT REACHED: nobody answers there"), "{text}");
    assert!(text.contains("1 link to the shop is broken"), "{text}");
    let doctor = String::from_utf8(bench.run(&["doctor"]).stdout).unwrap();
    assert!(doctor.contains("look  shop: broker localhost:"), "{doctor}");
    assert!(listener.feed().is_empty());
    broker.start();
    let own = own_feed(&bench);
    until_told(&bench, &listener, &own);
    complete(&listener, &own);
    assert_eq!(listener.feed().len(), own.len(), "each once");
    bench.until("it is level", || link(&bench)["state"] == "level");
    let link = link(&bench);
    assert_eq!(link["newest"], own.len());
    assert_eq!((&link["waiting"], &link["wrong"]), (&0.into(), &serde_json::Value::Null));
    forward.ends();
    assert_eq!(super::link(&bench)["state"], "ended");
}

#[test]
fn a_broker_that_is_restarted_in_the_middle_misses_nothing() {
    let mut broker = Mosquitto::started("");
    let listener = broker.listener("watcher", "tenths/#", &[]);
    let bench = bench(&shop(broker.port, ""));
    let _forward = Forward::of(&bench);
    for round in 0..4 {
        alerts(&bench, 30);
        if round % 2 == 0 {
            measured(&bench);
        }
        broker.stop();
        alerts(&bench, 10);
        broker.start();
    }
    let own = own_feed(&bench);
    assert!(own.len() > 200, "{}", own.len());
    until_told(&bench, &listener, &own);
    complete(&listener, &own);
}

#[test]
fn a_slow_broker_and_a_slow_way_are_waited_for() {
    let broker = Mosquitto::started("");
    let listener = broker.listener("watcher", "tenths/#", &[]);
    // 24 kB/s, and each answer 40 ms late.
    let way = slow_way(broker.port, 24_000);
    let bench = bench(&shop(way, ""));
    alerts(&bench, 60);
    let _forward = Forward::of(&bench);
    bench.until("it began", || !listener.feed().is_empty());
    broker.signal(Signal::STOP);
    measured(&bench);
    std::thread::sleep(Duration::from_secs(4));
    broker.signal(Signal::CONT);
    let own = own_feed(&bench);
    until_told(&bench, &listener, &own);
    complete(&listener, &own);
    assert!(!Forward::said(&bench).contains("WARN"), "{}", Forward::said(&bench));
}

#[test]
fn a_wrong_password_is_told_and_a_right_one_needs_no_restart() {
    let mut broker = Mosquitto::new("password_file {dir}/users\n");
    let users = broker.path("users");
    let mut made = Command::new("mosquitto_passwd");
    let mut made = made.args(["-b", "-c"]).arg(&users).args(["north", "right"]).spawn().unwrap();
    assert!(made.wait().unwrap().success());
    Mosquitto::give(&users);
    broker.start();
    let listener = broker.listener("watcher", "tenths/#", &["-u", "north", "-P", "right"]);
    let bench = bench(&shop(broker.port, "user = \"north\"\nsecret = \"broker.secret\"\n"));
    let secret = bench.path("broker.secret");
    measured(&bench);
    let _forward = Forward::of(&bench);
    bench.until("there is none", || Forward::said(&bench).contains("cannot be read"));
    fs::write(&secret, "wrong\n").unwrap();
    fs::set_permissions(&secret, fs::Permissions::from_mode(0o640)).unwrap();
    bench.until("it is refused", || {
        link(&bench)["wrong"] == "the broker refuses the user or the password"
    });
    assert!(link(&bench)["hint"].as_str().unwrap().contains("user and secret"));
    assert_eq!(link(&bench)["state"], "held", "it does not pass by itself");
    fs::write(&secret, "right\n").unwrap();
    let own = own_feed(&bench);
    until_told(&bench, &listener, &own);
    complete(&listener, &own);
    let said = Forward::said(&bench);
    assert!(!said.contains("wrong\n") && !said.contains("right\n"), "{said}");
}

#[test]
fn a_certificate_that_does_not_fit_lets_nothing_out() {
    let folder = tempfile::tempdir().unwrap();
    let (ours, theirs) =
        (Authority::new(folder.path(), "ours"), Authority::new(folder.path(), "theirs"));
    let port = |broker: &Mosquitto| broker.port;
    for (by, names, wrong) in [
        (&theirs, "DNS:localhost", "nobody in `ca` has signed it"),
        (&ours, "DNS:broker.example", "it is not one of localhost"),
        (&ours, "DNS:localhost", ""),
    ] {
        let mut broker = Mosquitto::new("certfile {dir}/server.pem\nkeyfile {dir}/server.key\n");
        let server = names.replace([':', '.'], "-");
        let (pem, key) = by.signs(&server, names);
        for (from, to) in [(pem, "server.pem"), (key, "server.key")] {
            fs::copy(from, broker.path(to)).unwrap();
            Mosquitto::give(&broker.path(to));
        }
        broker.start();
        let ca = format!("ca = \"{}\"\n", ours.ca().display());
        let bench = bench(&shop(port(&broker), &ca));
        let trusted = by.ca();
        let trusted = ["--cafile", trusted.to_str().unwrap(), "--insecure", "-h", "localhost"];
        let listener = broker.listener("watcher", "tenths/#", &trusted);
        measured(&bench);
        let _forward = Forward::of(&bench);
        if wrong.is_empty() {
            let own = own_feed(&bench);
            until_told(&bench, &listener, &own);
            complete(&listener, &own);
        } else {
            bench.until(wrong, || {
                link(&bench)["wrong"].as_str().is_some_and(|text| text.contains(wrong))
            });
            assert!(listener.heard().is_empty());
        }
    }
}

#[test]
fn killed_50_times_in_the_middle_it_goes_on_where_it_was() {
    let mut dice = Dice::seeded(50);
    let broker = Mosquitto::started("");
    let listener = broker.listener("watcher", "tenths/#", &[]);
    let bench = bench(&shop(slow_way(broker.port, 150_000), ""));
    for _ in 0..5 {
        measured(&bench);
        alerts(&bench, 50);
    }
    let own = own_feed(&bench);
    assert!(own.len() >= 500, "{}", own.len());
    let mut moments = std::collections::BTreeSet::new();
    for _ in 0..50 {
        let forward = Forward::of(&bench);
        std::thread::sleep(Duration::from_millis(40 + dice.below(460)));
        forward.kill();
        moments.insert(listener.feed().last().map_or(0, |line| line["seq"].as_u64().unwrap()));
    }
    let _forward = Forward::of(&bench);
    until_told(&bench, &listener, &own);
    complete(&listener, &own);
    assert!(moments.len() > 10, "the kills met the middle hardly ever: {moments:?}");
    // It kept its place: not everything came each time.
    let heard = listener.feed().len();
    assert!(heard < own.len() * 12, "{heard} of {}", own.len());
    eprintln!("{} lines, {heard} heard, ended at {} places", own.len(), moments.len());
}

/// A way to a port on which so many bytes a second get through to it, and answers come late. Its port.
fn slow_way(to: u16, rate: u32) -> u16 {
    let door = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = door.local_addr().unwrap().port();
    std::thread::spawn(move || {
        for near in door.incoming().map_while(Result::ok) {
            let Ok(far) = TcpStream::connect(("127.0.0.1", to)) else { continue };
            let back = (far.try_clone().unwrap(), near.try_clone().unwrap());
            std::thread::spawn(move || {
                carry(near, far, |count| Duration::from_secs(1) * count / rate);
            });
            std::thread::spawn(move || carry(back.0, back.1, |_| Duration::from_millis(40)));
        }
    });
    port
}

fn carry(mut from: TcpStream, mut to: TcpStream, pause: impl Fn(u32) -> Duration) {
    let mut bytes = [0; 2_048];
    while let Ok(count @ 1..) = from.read(&mut bytes) {
        std::thread::sleep(pause(u32::try_from(count).unwrap()));
        if to.write_all(&bytes[..count]).is_err() {
            break;
        }
    }
    // The other side sees an end as well.
    let _gone = to.shutdown(std::net::Shutdown::Both);
    let _gone = from.shutdown(std::net::Shutdown::Both);
}
