//! What is too much is refused, what is too slow is ended, and the bench notices nothing of it.

use std::io::{Read, Write};
use std::net::TcpStream;
use std::time::{Duration, Instant};

use super::rig::{Page, bench};

/// How long a connection takes to end from the other side.
fn ends_after(stream: &mut TcpStream) -> Duration {
    let began = Instant::now();
    stream.set_read_timeout(Some(Duration::from_secs(25))).unwrap();
    let mut bytes = Vec::new();
    let ended = stream.read_to_end(&mut bytes);
    let timed_out = ended.is_err_and(|error| error.kind() == std::io::ErrorKind::WouldBlock);
    assert!(!timed_out, "the connection is kept");
    began.elapsed()
}

#[test]
fn whoever_sends_slowly_or_nothing_loses_the_place() {
    let bench = bench();
    let page = Page::of(&bench, &[]);
    let mut silent = page.connect();
    let mut slow = page.connect();
    slow.write_all(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: ").unwrap();
    let mut drip = slow.try_clone().unwrap();
    let dripping = std::thread::spawn(move || {
        while drip.write_all(b"a").is_ok() {
            std::thread::sleep(Duration::from_millis(300));
        }
    });
    // One that was answered and asks nothing more.
    let mut idle = page.connect();
    write!(idle, "GET /page.js HTTP/1.1\r\nHost: {}\r\n\r\n", page.address).unwrap();
    for (name, stream) in [("silent", &mut silent), ("slow", &mut slow), ("idle", &mut idle)] {
        assert!(ends_after(stream) < Duration::from_secs(20), "{name}");
    }
    dripping.join().unwrap();
    assert_eq!(page.get("/jobs").status, 200);
}

#[test]
fn there_is_room_for_so_many_connections_and_streams() {
    let bench = bench();
    let page = Page::of(&bench, &[]);
    let mut streams: Vec<_> = (0..16).map(|_| page.stream()).collect();
    for stream in &mut streams {
        stream.until("event: beat");
    }
    let one_more = page.get("/live");
    assert_eq!(one_more.status, 503, "{}", one_more.body);
    assert_eq!(page.get("/jobs").status, 200, "other pages are there all the same");
    // One that goes makes room.
    drop(streams.pop());
    let made_room = (0..50).any(|_| {
        std::thread::sleep(Duration::from_millis(100));
        let mut stream = page.stream();
        stream.hear_for(Duration::from_millis(300)).contains("200 OK")
    });
    assert!(made_room);
    drop(streams);
    std::thread::sleep(Duration::from_millis(500));
    let held: Vec<TcpStream> = (0..64).map(|_| page.connect()).collect();
    let refused = (0..20).any(|_| {
        let answer = page.get("/jobs");
        answer.status == 503 && answer.body.contains("Too many browsers")
    });
    assert!(refused, "the 65th connection is told that there is no place");
    drop(held);
    std::thread::sleep(Duration::from_millis(500));
    assert_eq!(page.get("/jobs").status, 200);
}

#[test]
fn heads_and_rates_have_their_limits_and_a_touch_does_not_wait() {
    let bench = bench();
    bench.ok(&["job", "open", "J-1", "--plan", "held"]);
    bench.ok(&["measure", "ring/face-a"]);
    let page = Page::of(&bench, &[]);
    let long = page.ask("GET", "/", &format!("X-Long: {}\r\n", "x".repeat(40_000)));
    assert!([400, 431].contains(&long.status), "{}", long.status);
    let many: String = (0..200).fold(String::new(), |lines, at| lines + &format!("X-{at}: 1\r\n"));
    assert!([400, 431].contains(&page.ask("GET", "/", &many).status));
    assert!([0, 400].contains(&page.raw(b"\x16\x03\x01 no http\r\n\r\n").status));
    // Three hundred in one go, on one connection: the first are answered, the last are not.
    let one = format!("HEAD /icon.svg HTTP/1.1\r\nHost: {}\r\n", page.address);
    let all = format!("{one}\r\n").repeat(299) + &one + "Connection: close\r\n\r\n";
    let mut stream = page.connect();
    stream.write_all(all.as_bytes()).unwrap();
    let mut answers = String::new();
    stream.read_to_string(&mut answers).unwrap();
    let count = |status: &str| answers.matches(status).count();
    assert_eq!(count("HTTP/1.1 200 ") + count("HTTP/1.1 429 "), 300, "{answers}");
    assert!(
        count("HTTP/1.1 429 ") > 0 && count("HTTP/1.1 200 ") >= 100,
        "{}",
        count("HTTP/1.1 429 ")
    );
    // From several sides at once: meanwhile touches are taken as ever.
    let statuses = std::thread::scope(|scope| {
        let ask = || (0..150).map(|_| page.get("/job/J-1").status).collect::<Vec<u16>>();
        let asking: Vec<_> = (0..3).map(|_| scope.spawn(ask)).collect();
        let began = Instant::now();
        bench.touches(&bench.plate, "plate", &["0.00001", "0.00002", "0.00001"]);
        assert!(began.elapsed() < Duration::from_secs(10), "{:?}", began.elapsed());
        asking.into_iter().flat_map(|asking| asking.join().unwrap()).collect::<Vec<u16>>()
    });
    assert!(statuses.contains(&200), "{statuses:?}");
    assert!(statuses.iter().all(|status| [200, 429, 503].contains(status)), "{statuses:?}");
    assert_eq!(bench.placed("J-1").len(), 3);
    let files = std::fs::read_dir(format!("/proc/{}/fd", page.pid())).unwrap().count();
    assert!(files < 80, "{files} files are open");
}

#[test]
fn a_list_has_fifty_rows_and_the_way_to_the_older_ones() {
    let bench = bench();
    for number in 0..53 {
        bench.ok(&[
            "job",
            "open",
            &format!("J-{number:03}"),
            "--plan",
            "held",
            "--customer",
            "A & B",
        ]);
    }
    let page = Page::of(&bench, &[]);
    let rows = |body: &str| body.matches("href=\"/job/").count();
    let first = page.get("/jobs?customer=A+%26+B").body;
    assert_eq!(rows(&first), 50);
    assert!(first.contains("J-052") && !first.contains("J-002<"), "the newest first");
    let older =
        first.split("<p class=\"pages\"><a href=\"").nth(1).unwrap().split('"').next().unwrap();
    let second = page.get(&older.replace("&amp;", "&")).body;
    assert_eq!(rows(&second), 3, "{second}");
    assert!(second.contains("J-002") && !second.contains("Older ones"), "{second}");
}
