//! Files that are not taken, and clients that do not keep to what was agreed.

use std::fs::{self, File};
use std::io::{BufRead, BufReader, Read, Write};
use std::os::unix::net::UnixStream;
use std::time::{Duration, Instant};

use serde_json::Value;

use super::{bench, file, folder, kept, name_of, photo};
use crate::rig::Bench;

#[test]
fn what_is_no_picture_and_no_paper_is_refused_by_its_content() {
    let bench = bench();
    let whole = {
        let mut bytes = Vec::new();
        image::RgbImage::new(60, 60)
            .write_to(&mut std::io::Cursor::new(&mut bytes), image::ImageFormat::Png)
            .unwrap();
        bytes
    };
    let program = fs::read("/bin/true").unwrap();
    let cases: [(&str, &[u8], &str); 8] = [
        ("photo.jpg", &program, "it is a program"),
        ("photo.jpg", b"#!/bin/sh\nexit\n", "it is a script"),
        ("photo.png", &whole[..whole.len() / 2], "it is a PNG picture that is cut off"),
        ("photo.jpg", &photo(1)[..9000], "it is a JPEG picture that is cut off"),
        (
            "drawing.png",
            b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>",
            "it is an SVG drawing",
        ),
        ("page.pdf", b"<!doctype html><script>alert(1)</script>", "it is a web page"),
        ("paper.pdf", b"%PDF-1.7\n1 0 obj\n", "it is a PDF that is cut off"),
        ("empty.jpg", b"", "it is empty"),
    ];
    for (name, bytes, says) in cases {
        let path = file(&bench, name, bytes);
        let said = bench.refused(2, &["attach", "a1", &path, "--what", "x"]);
        assert!(said.contains(&format!("{name} is not taken: {says}")), "{said}");
    }
    let said =
        bench.refused(2, &["attach", "a1", bench.dir.path().to_str().unwrap(), "--what", "x"]);
    assert!(said.contains("is no plain file"), "{said}");
    let said = bench.refused(2, &["attach", "a1", "/nowhere.jpg", "--what", "x"]);
    assert!(said.contains("cannot read /nowhere.jpg"), "{said}");
    assert!(kept(&folder(&bench)).is_empty(), "a refused file leaves nothing behind");
    assert!(bench.lines(&["attachments", "a1"]).is_empty());
}

#[test]
fn two_gigabytes_are_refused_by_their_size_and_not_read() {
    let bench = bench();
    let path = bench.path("film.jpg");
    File::create(&path).unwrap().set_len(2 << 30).unwrap();
    let began = Instant::now();
    let said = bench.refused(2, &["attach", "a1", path.to_str().unwrap(), "--what", "x"]);
    assert!(said.contains("has 2148 MB, and at most 20 MB are taken"), "{said}");
    // Two thousand million bytes take longer to read than that, however they are read here.
    assert!(began.elapsed() < Duration::from_millis(700), "{:?}", began.elapsed());
    // A client that does not look for itself is told before it has sent a byte.
    let mut client = Client::of(&bench);
    let reply = client.ask(&request("k1", &[0; 32], 2 << 30));
    assert!(reply["text"].as_str().unwrap().contains("at most 20 MB"), "{reply}");
    assert_eq!(
        client.ask(r#"{"request":"status"}"#)["schema"],
        "status/1",
        "the connection goes on"
    );
}

struct Client {
    writing: UnixStream,
    reading: BufReader<UnixStream>,
}

impl Client {
    fn of(bench: &Bench) -> Self {
        let writing = UnixStream::connect(bench.state.join("tenths.sock")).unwrap();
        writing.set_read_timeout(Some(Duration::from_secs(30))).unwrap();
        let mut client = Self { reading: BufReader::new(writing.try_clone().unwrap()), writing };
        assert_eq!(client.hear()["schema"], "hello/1");
        client
    }

    fn hear(&mut self) -> Value {
        let mut line = String::new();
        self.reading.read_line(&mut line).unwrap();
        serde_json::from_str(&line).unwrap_or(Value::Null)
    }

    fn ask(&mut self, line: &str) -> Value {
        self.writing.write_all(format!("{line}\n").as_bytes()).unwrap();
        self.hear()
    }
}

fn request(key: &str, digest: &[u8; 32], bytes: u64) -> String {
    let digest = blake3::Hash::from_bytes(*digest).to_hex();
    format!(
        r#"{{"request":"attach","key":"{key}","job":"a1","what":"x","name":"x.jpg","digest":"{digest}","bytes":{bytes}}}"#
    )
}

#[test]
fn a_client_that_sends_something_else_is_refused_and_one_that_dawdles_holds_nobody_up() {
    let bench = bench();
    let good = photo(5);
    let digest = *blake3::hash(&good).as_bytes();
    // Other bytes than were promised.
    let mut client = Client::of(&bench);
    assert_eq!(client.ask(&request("k1", &digest, 100))["schema"], "send/1");
    client.writing.write_all(&good[..100]).unwrap();
    let reply = client.hear();
    assert!(reply["text"].as_str().unwrap().contains("changed while it was attached"), "{reply}");
    // A program, whatever the client thinks of it.
    let program = fs::read("/bin/true").unwrap();
    let sum = *blake3::hash(&program).as_bytes();
    assert_eq!(client.ask(&request("k2", &sum, program.len() as u64))["schema"], "send/1");
    client.writing.write_all(&program).unwrap();
    let reply = client.hear();
    assert!(reply["text"].as_str().unwrap().contains("it is a program"), "{reply}");
    assert!(kept(&folder(&bench)).is_empty());

    // Three that stop in the middle take the places of three files, and of nothing else.
    let mut slow: Vec<Client> = (0..3)
        .map(|nth| {
            let mut client = Client::of(&bench);
            let line = request(&format!("s{nth}"), &digest, good.len() as u64);
            assert_eq!(client.ask(&line)["schema"], "send/1");
            client.writing.write_all(&good[..500]).unwrap();
            client
        })
        .collect();
    let began = Instant::now();
    bench.ok(&["note", "a1", "work goes on"]);
    assert!(began.elapsed() < Duration::from_secs(3), "{:?}", began.elapsed());
    let path = file(&bench, "good.jpg", &good);
    let said = bench.refused(3, &["attach", "a1", &path, "--what", "x"]);
    assert!(said.contains("other files are just being attached"), "{said}");
    let reply = slow[0].hear();
    assert!(reply["text"].as_str().unwrap().contains("it came too slowly"), "{reply}");
    assert_eq!(slow[0].reading.read(&mut [0]).unwrap(), 0, "that connection is over");
    // One that leaves in the middle.
    drop(slow);
    bench.until("a place is free", || {
        bench.run(&["attach", "a1", &path, "--what", "x"]).status.success()
    });
    assert_eq!(kept(&folder(&bench)), [name_of(&good)].into());
    assert!(bench.ok(&["verify"]).ends_with("All is as it was stored.\n"));
}

#[test]
fn the_same_request_sent_twice_is_done_once() {
    let bench = bench();
    let good = photo(6);
    let line = request("once", blake3::hash(&good).as_bytes(), good.len() as u64);
    let mut client = Client::of(&bench);
    let mut send = || {
        assert_eq!(client.ask(&line)["schema"], "send/1");
        client.writing.write_all(&good).unwrap();
        client.hear()
    };
    let (first, second) = (send(), send());
    assert_eq!((&first["schema"], &first), (&"attached/1".into(), &second));
    assert_eq!(bench.lines(&["attachments", "a1"]).len(), 1);
}
