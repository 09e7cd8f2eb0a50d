//! What reaches a shell and a terminal.

use super::*;

#[test]
fn the_shell_gets_completions_and_a_manual() {
    let bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan() });
    for shell in ["bash", "zsh", "fish"] {
        let text = bench.ok(&["completions", shell]);
        assert!(text.contains("tenths") && text.contains("TENTHS_COMPLETE"), "{shell}");
    }
    let manual = bench.ok(&["man"]);
    assert!(manual.contains(".TH") && manual.contains("remeasure"));
    assert!(bench.ok(&["--version"]).starts_with("tenths "));
    assert!(bench.ok(&["--help"]).contains("remeasure"));
}

/// Bytes that could steer a terminal: C0 but for line ends, DEL, C1 as UTF-8.
fn steering(bytes: &[u8]) -> Option<String> {
    let text = String::from_utf8_lossy(bytes);
    let found = text.chars().find(|c| (c.is_control() && *c != '\n') || *c == '\u{202e}');
    found.map(|c| format!("{c:?} in {text:?}"))
}

#[test]
fn nothing_from_outside_reaches_a_terminal_raw() {
    let nasty = "\u{1b}[2J\u{1b}]0;owned\u{7}\u{9b}31m\u{8}\u{7f}\r\u{202e}";
    let bench = started();
    bench.ok(&["job", "open", "s1", "--plan", "held", "--serial", nasty, "--customer", nasty]);
    bench.ok(&["measure", "ring/face"]);
    let feed = Follower::of(bench.spawn(&["tail", "--json", "--since", "0"]));
    bench.touches(&bench.plate, "plate", &["0.00001", "\u{1b}[31m0.00001", "\u{9b}31m\u{7f}"]);
    bench.ok(&["void", "--why", nasty]);
    bench.ok(&["skip", "--why", nasty]);
    bench.ok(&["note", "s1", nasty]);
    bench.refused(2, &["job", "open", nasty, "--plan", "held"]);
    bench.ok(&["measure", "--stop"]);
    bench.verdict("s1", 1);
    bench.until("an alert in the feed", || !feed.seen().is_empty());
    let commands = [
        &["status"][..],
        &["job", "list"],
        &["job", "show", "s1"],
        &["readings", "--all"],
        &["verdicts", "--all"],
        &["alerts", "--all"],
        &["measure", nasty],
        &["job", "open", nasty, "--plan", nasty],
        &["job", "use", nasty],
        &["readings", nasty],
        &["readings", "--state", nasty],
        &["enter", nasty],
        &["status", "--station", nasty],
        &["remeasure", nasty],
        &[nasty],
        &["note", nasty, nasty],
        &["backup", "/nowhere/\u{1b}[2J"],
        &["--config", "/nowhere/\u{1b}[2J", "status"],
    ];
    for arguments in commands {
        for form in [None, Some("--json"), Some("--csv")] {
            let looks_up = ["readings", "verdicts", "alerts"].contains(&arguments[0]);
            if form == Some("--csv") && !looks_up {
                continue;
            }
            let arguments: Vec<_> = arguments.iter().copied().chain(form).collect();
            let output = bench.run(&arguments);
            assert_eq!(steering(&output.stdout), None, "{arguments:?}");
            assert_eq!(steering(&output.stderr), None, "{arguments:?}");
        }
    }
    let mut tail = bench.command(&["tail", "--since", "0"]);
    let mut tail = tail.stdout(Stdio::piped()).spawn().unwrap();
    std::thread::sleep(Duration::from_millis(500));
    tail.kill().unwrap();
    let output = tail.wait_with_output().unwrap();
    assert!(!output.stdout.is_empty());
    assert_eq!(steering(&output.stdout), None);
    bench.signal(rustix::process::Signal::USR1);
    bench.until("the frames in the log", || bench.log().contains("not taken"));
    assert_eq!(steering(bench.log().as_bytes()), None);
}

#[test]
fn names_of_files_reach_a_terminal_escaped() {
    let drop = "[[drop]]\nname = \"logger\"\nfolder = \"{dir}/drop\"\ngauge = \"plate\"\n\
                tags = \"columns\"\ncolumns = { value = \"Value\", job = \"Job\", part = \"Part\", check = \"Check\" }\n";
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: drop, plan: &plan() });
    bench.start();
    bench.ok(&["job", "open", "s1", "--plan", "held"]);
    bench.until("watched", || bench.drop_line("logger")["state"] == "watching");
    let nasty = "\u{1b}[2J\u{9b}31m\u{202e}\n\u{7f}";
    let text =
        format!("Value,Job,Part,Check\n0.00001,{nasty},ring,face\n\u{1b}]0;x\u{7},s1,ring,face\n");
    bench.drop_file(&format!("{nasty}.csv"), &text);
    bench.until("refused", || bench.drop_line("logger")["refused"] == 1);
    bench.drop_file(&format!("{nasty}2.csv"), "Value,Job,Part,Check\n0.00001,s1,ring,face\n");
    bench.until("taken", || bench.drop_line("logger")["files"] == 1);
    let beside = bench.path("drop").join(format!("{nasty}.csv.why"));
    bench.until("the reasons", || beside.exists());
    assert_eq!(steering(&fs::read(beside).unwrap()), None);
    assert_eq!(steering(bench.log().as_bytes()), None);
    let copy = bench.path(&format!("{nasty}.db")).display().to_string();
    let commands = [
        &["status"][..],
        &["alerts", "--all"],
        &["readings", "--all"],
        &["backup", &copy],
        &["verify", &copy],
        &["verify", &format!("{copy}x")],
    ];
    for arguments in commands {
        for form in [None, Some("--json")] {
            let arguments: Vec<_> = arguments.iter().copied().chain(form).collect();
            let output = bench.run(&arguments);
            assert_eq!(steering(&output.stdout), None, "{arguments:?}");
            assert_eq!(steering(&output.stderr), None, "{arguments:?}");
        }
    }
    fs::remove_file(&copy).unwrap();
    let told = bench.ok(&["backup", &copy, "--json"]);
    assert_eq!(steering(told.as_bytes()), None);
    assert_eq!(bench.readings("s1").len(), 1);
}
