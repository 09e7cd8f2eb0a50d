//! What a start finds in a record that a person, or a disk, has changed: bytes of pages that flipped
//! anywhere in the file. The service reports it before anybody measures.

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::rig::{Bench, Dice, Make, RING_PLAN, Wire};

/// Records that are changed.
const RECORDS: usize = 69;

fn bench() -> Bench {
    Bench::new(&Make {
        gauge: "resolution = \"0.00001 in\"\nuncertainty = \"0.000009 in\"",
        more: "",
        plan: RING_PLAN,
    })
}

/// Asks something that must be done.
fn asked(wire: &mut Wire, key: &str, mut request: Value) {
    request["key"] = Value::from(key);
    let reply = wire.ask(&request.to_string()).unwrap();
    assert_ne!(reply["schema"], "error/1", "{request}: {reply}");
}

/// Jobs with a ring each, some of them closed: a file of about a hundred pages.
fn jobs(bench: &Bench, count: usize) {
    let mut wire = Wire::to(&bench.state.join("tenths.sock")).unwrap();
    let values: Vec<String> =
        [0, 1, 2, 3, 2, 1, 0, 1, 0].iter().map(|steps| format!("0.0000{steps} in")).collect();
    for number in 0..count {
        let job = format!("J-{number}");
        let key = |what: &str| format!("{what}-{number}");
        let open = json!({"request": "job-open", "name": job, "plan": "held", "serial": "S-1"});
        asked(&mut wire, &key("open"), open);
        asked(&mut wire, &key("measure"), json!({"request": "measure", "target": "ring/face"}));
        asked(&mut wire, &key("enter"), json!({"request": "enter", "values": values}));
        let text = "came in dirty, both faces wiped and stoned before the first touch";
        asked(&mut wire, &key("note"), json!({"request": "note", "job": job, "text": text}));
        if number % 3 == 0 {
            asked(&mut wire, &key("close"), json!({"request": "job-close", "why": "sent back"}));
        }
    }
}

/// Starts the service; whether it says of the record that something is wrong, and how.
fn started(bench: &mut Bench) -> Option<String> {
    fs::write(bench.path("log"), "").unwrap();
    bench.launch();
    let began = Instant::now();
    let status = loop {
        if let Some(status) = bench.heard() {
            break status;
        }
        if bench.has_ended() {
            let log = bench.log();
            assert!(log.contains("tenths verify") && log.contains("tenths restore"), "{log}");
            return Some(format!("refused: {log}"));
        }
        assert!(began.elapsed() < Duration::from_secs(30), "{}", bench.log());
        std::thread::sleep(Duration::from_millis(5));
    };
    let aside = status["set_aside"].as_array().unwrap().clone();
    let told = !aside.is_empty() || status["storage"]["state"] != "fine";
    told.then(|| {
        // Told everywhere: to who asks, in the log, in the feed, and what to do.
        assert_eq!(status["healthy"], false, "{status}");
        let text = aside[0]["text"].as_str().unwrap_or_default().to_owned();
        let says_what_to_do = ["tenths restore FILE", "Measure again"];
        assert!(says_what_to_do.iter().any(|what| text.contains(what)), "{text}");
        assert!(bench.log().contains("ERROR"), "{}", bench.log());
        text
    })
}

/// Flips some bytes of a page, near to each other, as a bad sector or a slip of a tool does.
fn flip(path: &Path, page: usize, dice: &mut Dice) {
    let mut bytes = fs::read(path).unwrap();
    let begin = page * 4096 + usize::try_from(dice.below(4000)).unwrap();
    let count = 1 + usize::try_from(dice.below(64)).unwrap();
    for byte in &mut bytes[begin..begin + count] {
        *byte ^= u8::try_from(1 + dice.below(255)).unwrap();
    }
    fs::write(path, bytes).unwrap();
}

#[test]
fn a_start_tells_every_damage_that_verify_finds_in_a_record_of_usual_size() {
    let mut bench = bench();
    bench.start();
    jobs(&bench, 60);
    bench.stop();
    let path = bench.state.join("tenths.db");
    let newest = bench.state.join("tenths.newest");
    let (whole, mark) = (fs::read(&path).unwrap(), fs::read(&newest).unwrap());
    let pages = whole.len() / 4096;
    assert!(pages > RECORDS, "{pages} pages");
    let mut dice = Dice::seeded(69);
    let (mut damaged, mut silent) = (0, Vec::new());
    for record in 0..RECORDS {
        let page = record * pages / RECORDS;
        fs::write(&path, &whole).unwrap();
        fs::write(&newest, &mark).unwrap();
        flip(&path, page, &mut dice);
        let found = bench.run(&["verify"]);
        // Bytes between the cells of a page mean nothing to anybody.
        if found.status.success() {
            continue;
        }
        damaged += 1;
        if started(&mut bench).is_none() {
            silent.push(format!("page {page}: {}", String::from_utf8_lossy(&found.stdout)));
        }
        bench.ended();
    }
    assert!(damaged > RECORDS / 3, "{damaged}");
    assert!(silent.is_empty(), "{} of {damaged} in silence: {silent:#?}", silent.len());
    fs::write(&path, &whole).unwrap();
    fs::write(&newest, &mark).unwrap();
    assert_eq!(started(&mut bench), None, "a whole record");
    bench.stop();
}
