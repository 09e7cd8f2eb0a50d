//! `tenths forward`: what it says of itself, and when it does not begin.

use std::io::{BufRead, BufReader};
use std::time::Duration;

use rustix::process::{Pid, Signal, kill_process};

use crate::rig::{Bench, Make, RING_PLAN};

const BROKER: &str = "[shop]\nbench = \"north\"\n[shop.broker]\nhost = \"127.0.0.1\"\nport = 1\n";

#[test]
fn nothing_is_sent_on_unless_something_is_configured() {
    let bench = Bench::new(&Make { gauge: "", more: "", plan: RING_PLAN });
    let err = bench.refused(2, &["forward"]);
    assert!(err.contains("there is nothing to send on") && err.contains("[shop.broker]"), "{err}");
    let more = "[shop]\nbench = \"North\"\n[shop.broker]\nhost = \"localhost\"\n";
    let bench = Bench::new(&Make { gauge: "", more, plan: RING_PLAN });
    let err = bench.refused(2, &["forward"]);
    assert!(err.contains("is no name for a bench") && err.contains("config check"), "{err}");
}

#[test]
fn it_says_in_one_line_what_it_does_and_ends_when_it_is_told() {
    let bench = Bench::new(&Make { gauge: "", more: BROKER, plan: RING_PLAN });
    for signal in [Signal::TERM, Signal::INT] {
        let mut child = bench.command(&["forward"]);
        let mut child =
            child.env("TENTHS_LOG", "off").stderr(std::process::Stdio::piped()).spawn().unwrap();
        let mut err = BufReader::new(child.stderr.take().unwrap());
        let mut line = String::new();
        err.read_line(&mut line).unwrap();
        let state = bench.state.display();
        assert_eq!(
            line,
            format!("tenths: sends the events to 127.0.0.1:1 as north; reads {state}\n")
        );
        // One at a time, and whoever is second is told so.
        let second = bench.refused(3, &["forward"]);
        assert!(second.contains("another `tenths forward` runs on"), "{second}");
        std::thread::sleep(Duration::from_millis(100));
        kill_process(Pid::from_child(&child), signal).unwrap();
        assert_eq!(child.wait().unwrap().code(), Some(0));
        line.clear();
        err.read_line(&mut line).unwrap();
        assert_eq!(line, "");
    }
}
