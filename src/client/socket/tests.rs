use std::io::{BufRead, BufReader};
use std::os::unix::net::UnixListener;
use std::thread::JoinHandle;

use super::*;
use crate::failure::Told;
use ::bench::{Command, Request};
use wire::{error_line, hello_line};

/// What a pretend service does with one connection.
enum Does {
    /// Hears a request and answers.
    Answers(String),
    /// Hears a request and hangs up.
    HangsUp,
    /// Says something else than the greeting.
    Greets(String),
}

/// A pretend service for a number of connections. Returns what it heard.
fn service(path: &Path, script: Vec<Does>) -> JoinHandle<Vec<String>> {
    let listener = UnixListener::bind(path).unwrap();
    std::thread::spawn(move || script.into_iter().map(|does| once(&listener, does)).collect())
}

fn once(listener: &UnixListener, does: Does) -> String {
    let (mut stream, _) = listener.accept().unwrap();
    let greeting = if let Does::Greets(other) = &does { other.clone() } else { hello_line() };
    stream.write_all(format!("{greeting}\n").as_bytes()).unwrap();
    let mut heard = String::new();
    BufReader::new(&stream).read_line(&mut heard).unwrap();
    if let Does::Answers(line) = does {
        stream.write_all(format!("{line}\n").as_bytes()).unwrap();
    }
    heard.trim().to_owned()
}

fn request() -> Incoming {
    let request = Request { station: None, by: None, login: None, command: Command::Next };
    Incoming::Change { key: "k1".to_owned(), request }
}

fn failed(outcome: Result<Reply, Failure>) -> Told {
    match outcome {
        Err(Failure::Told(told)) => told,
        other => panic!("{other:?}"),
    }
}

const NOTED: &str = r#"{"schema":"noted/1","job_id":7,"text":"Written down."}"#;

#[test]
fn after_a_broken_connection_the_same_request_is_sent_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s");
    let heard = service(&path, vec![Does::HangsUp, Does::HangsUp, Does::Answers(NOTED.to_owned())]);
    let reply = ask(&path, &request()).unwrap();
    assert_eq!((reply.exit, reply.text.as_str(), reply.line.as_str()), (0, "Written down.", NOTED));
    let line = request().to_line();
    assert_eq!(heard.join().unwrap(), [line.clone(), line.clone(), line]);
}

#[test]
fn a_refusal_is_a_reply() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s");
    let refusal = error_line("every check has a verdict", Some("close the job"), 1);
    let heard = service(&path, vec![Does::Answers(refusal)]);
    let reply = ask(&path, &request()).unwrap();
    assert_eq!((reply.exit, reply.hint.as_deref()), (1, Some("close the job")));
    assert_eq!(heard.join().unwrap().len(), 1);
}

#[test]
fn without_a_service_nothing_is_sent_and_the_hint_says_how_to_start_it() {
    let folder = tempfile::tempdir().unwrap();
    let told = failed(ask(&folder.path().join("s"), &request()));
    assert_eq!(told.exit, UNREACHABLE);
    assert!(told.text.contains("not running"), "{}", told.text);
    let hint = told.hint.unwrap();
    assert!(hint.contains("tenths serve") && hint.contains("systemctl status tenths"), "{hint}");
}

#[test]
fn another_language_is_not_talked_to() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("s");
    let newer = r#"{"schema":"hello/1","version":"9.0.0","protocol":9}"#.to_owned();
    let heard = service(&path, vec![Does::Greets(newer)]);
    let told = failed(ask(&path, &request()));
    assert_eq!(told.exit, UNREACHABLE);
    assert!(told.text.contains("version 9.0.0"), "{}", told.text);
    assert_eq!(heard.join().unwrap(), [""], "nothing was asked");
}

#[test]
fn what_is_too_long_is_refused_before_it_is_sent() {
    let folder = tempfile::tempdir().unwrap();
    let note = Command::Note { job: "J".to_owned(), text: "x".repeat(MAX_LINE), closed: None };
    let request = Request { station: None, by: None, login: None, command: note };
    let asked = Incoming::Change { key: "k1".to_owned(), request };
    assert_eq!(failed(ask(&folder.path().join("s"), &asked)).exit, REFUSED);
}

#[test]
fn lines_come_whole_however_they_arrive() {
    let (near, mut far) = UnixStream::pair().unwrap();
    let mut lines = Lines { stream: near, held: Vec::new() };
    far.write_all(b"one\ntw").unwrap();
    assert_eq!(lines.next().unwrap(), "one");
    assert_eq!(lines.held_line().unwrap(), None);
    far.write_all(b"o\n\xff\n").unwrap();
    assert_eq!(lines.next().unwrap(), "two");
    assert!(matches!(lines.next(), Err(Trouble::Strange(_))));
    drop(far);
    assert!(matches!(lines.next(), Err(Trouble::Broken(_))));
}
