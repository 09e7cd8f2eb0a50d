//! Who is let in: names of this machine, a token, a socket.

use std::fs;
use std::io::{Read, Write};
use std::os::unix::fs::PermissionsExt;
use std::os::unix::net::UnixStream;
use std::process::Stdio;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};

use super::rig::{Answer, Page, bench};
use crate::rig::in_time;

#[test]
fn a_page_of_elsewhere_cannot_point_its_own_name_here() {
    let bench = bench();
    let page = Page::of(&bench, &[]);
    let port = page.address.rsplit(':').next().unwrap();
    let with = |host: &str| {
        page.raw(format!("GET /jobs HTTP/1.1\r\n{host}Connection: close\r\n\r\n").as_bytes())
    };
    for host in [
        format!("Host: localhost:{port}\r\n"),
        format!("Host: [::1]:{port}\r\n"),
        "Host: 127.0.0.1\r\n".to_owned(),
    ] {
        assert_eq!(with(&host).status, 200, "{host}");
    }
    for host in [
        "Host: evil.example\r\n",
        "Host: 127.0.0.1.evil.example\r\n",
        "Host: 192.168.1.1\r\n",
        "",
        "Host: \r\n",
    ] {
        let answer = with(host);
        assert!([400, 403].contains(&answer.status), "{host}: {}", answer.status);
        assert!(!answer.body.contains("Search"), "{host}");
    }
    let absolute = page.raw(
        b"GET http://evil.example/jobs HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n",
    );
    assert_eq!(absolute.status, 403);
}

#[test]
fn other_machines_need_a_token_and_it_is_never_shown_again() {
    let bench = bench();
    let said = bench.refused(2, &["page", "--listen", "0.0.0.0:0"]);
    assert!(said.contains("--token-file"), "{said}");
    let file = bench.path("page.token");
    let given = ["page", "--listen", "0.0.0.0:0", "--token-file", file.to_str().unwrap()];
    bench.refused(2, &given);
    fs::write(&file, "short\n").unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o600)).unwrap();
    assert!(bench.refused(2, &given).contains("too short"));
    let token = "K3VJ7QXW5MZP2TRD8HNB";
    fs::write(&file, format!("{token}\n")).unwrap();
    fs::set_permissions(&file, fs::Permissions::from_mode(0o644)).unwrap();
    assert!(bench.refused(2, &given).contains("everyone on this machine can read the token"));
    fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
    let page = Page::at(&bench, "0.0.0.0:0", &given[3..]);
    assert!(
        page.said.contains("everyone who knows the token") && page.said.contains("not encrypted"),
        "{}",
        page.said
    );
    assert!(!page.said.contains(token));
    for path in ["/", "/jobs", "/live", "/job/x", "/elsewhere"] {
        let answer = page.get(path);
        assert_eq!(answer.status, 401, "{path}");
        assert!(!answer.body.contains("station"), "{path}: {}", answer.body);
    }
    assert_eq!(page.get("/page.css").status, 200);
    let began = Instant::now();
    let wrong = page.get("/?token=K3VJ7QXW5MZP2TRD8HNC");
    assert!(wrong.status == 401 && wrong.header("set-cookie").is_none());
    assert!(began.elapsed() >= Duration::from_secs(1), "who guesses waits");
    let right = page.get(&format!("/?token={token}"));
    let cookie = right.header("set-cookie").unwrap();
    assert!(
        cookie.contains("HttpOnly")
            && cookie.contains("SameSite=Strict")
            && !cookie.contains(token),
        "{cookie}"
    );
    assert!(
        right.status == 200 && !right.body.contains(token) && right.body.contains("url=/"),
        "{}",
        right.body
    );
    let kept = format!("Cookie: other=1; {}\r\n", cookie.split(';').next().unwrap());
    assert_eq!(page.ask("GET", "/jobs", &kept).status, 200);
    assert_eq!(page.ask("GET", "/jobs", "Cookie: tenths-page=0\r\n").status, 401);
    assert_eq!(page.ask("GET", "/jobs", &format!("Cookie: tenths-page={token}\r\n")).status, 401);
    // Behind it other names are right.
    let named = page.raw(
        format!("GET /jobs HTTP/1.1\r\nHost: bench.shop:80\r\n{kept}Connection: close\r\n\r\n")
            .as_bytes(),
    );
    assert_eq!(named.status, 200);
}

#[test]
fn a_web_server_in_front_comes_by_a_socket_of_its_group() {
    let bench = bench();
    let path = bench.path("page.sock");
    let given = ["page", "--socket", path.to_str().unwrap()];
    // One that a killed page left behind is no hindrance.
    drop(std::os::unix::net::UnixListener::bind(&path).unwrap());
    let mut child = bench.command(&given).stderr(Stdio::null()).spawn().unwrap();
    assert!(in_time(|| UnixStream::connect(&path).is_ok()));
    assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o660);
    let said = bench.refused(3, &given);
    assert!(said.contains("page.sock"), "{said}");
    let mut stream = UnixStream::connect(&path).unwrap();
    stream
        .write_all(b"GET /jobs HTTP/1.1\r\nHost: shop.example\r\nConnection: close\r\n\r\n")
        .unwrap();
    let mut text = String::new();
    stream.read_to_string(&mut text).unwrap();
    assert_eq!(Answer::of(&text).status, 200);
    kill_process(Pid::from_child(&child), Signal::TERM).unwrap();
    assert!(child.wait().unwrap().success());
    assert!(!path.exists(), "the socket is taken away");
}
