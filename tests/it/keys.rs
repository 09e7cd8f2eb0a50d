//! A request that is repeated is done once, whatever became of its first answer.

use serde_json::{Value, json};

use crate::rig::{Bench, Make, RING_PLAN, Wire};

fn started() -> Bench {
    let gauge = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"";
    let mut bench = Bench::new(&Make { gauge, more: "", plan: RING_PLAN });
    bench.start();
    bench.ok(&["job", "open", "t1", "--plan", "held"]);
    bench
}

fn wire(bench: &Bench) -> Wire {
    Wire::to(&bench.state.join("tenths.sock")).unwrap()
}

fn note(wire: &mut Wire, key: &str, text: &str) -> Value {
    let line = json!({"request": "note", "key": key, "job": "t1", "text": text});
    wire.ask(&line.to_string()).unwrap()
}

fn notes(bench: &Bench) -> Vec<String> {
    let shown = bench.lines(&["job", "show", "t1"]).remove(0);
    let notes = shown["notes"].as_array().unwrap();
    notes.iter().map(|note| note["text"].as_str().unwrap().to_owned()).collect()
}

/// Changes the record while no service runs.
fn changed(bench: &mut Bench, sql: &str) {
    bench.stop();
    let file = rusqlite::Connection::open(bench.state.join("tenths.db")).unwrap();
    assert!(file.execute(sql, []).unwrap() > 0, "{sql}");
    drop(file);
    bench.start();
}

#[track_caller]
fn is_refused(reply: &Value, says: &str) {
    assert_eq!(reply["schema"], "error/1", "{reply}");
    assert!(reply["text"].as_str().unwrap().contains(says), "{reply}");
    assert!(reply["hint"].is_string(), "{reply}");
}

#[test]
fn the_same_key_with_other_content_is_refused_and_not_done() {
    let mut bench = started();
    let mut there = wire(&bench);
    let done = note(&mut there, "k1", "first");
    assert_eq!(done["schema"], "noted/1", "{done}");
    let other = note(&mut there, "k1", "second");
    is_refused(&other, "another request");
    assert_eq!(other["exit"], 2);
    assert_eq!(note(&mut there, "k1", "first"), done, "the same request again");
    // The order of fields and what is left out are no content.
    let shuffled = r#"{"text":"first","job":"t1","by":null,"key":"k1","request":"note"}"#;
    assert_eq!(there.ask(shuffled).unwrap(), done);
    assert_eq!(notes(&bench), ["first"]);
    bench.kill();
    bench.plate.plug();
    bench.start();
    let mut there = wire(&bench);
    is_refused(&note(&mut there, "k1", "second"), "another request");
    assert_eq!(note(&mut there, "k1", "first"), done);
    assert_eq!(notes(&bench), ["first"]);
    // A key whose request was refused changed nothing: it may be mended and sent again.
    let missing = r#"{"request":"note","key":"k2","job":"t9","text":"third"}"#;
    assert_eq!(there.ask(missing).unwrap()["schema"], "error/1");
    assert_eq!(note(&mut there, "k2", "third")["schema"], "noted/1");
}

#[test]
fn a_key_is_never_done_twice_however_many_requests_came_after_it() {
    let mut bench = started();
    let mut there = wire(&bench);
    let done = note(&mut there, "old", "once");
    let lines: Vec<String> = (0..10_001)
        .map(|number| {
            format!(
                "{{\"request\":\"person\",\"key\":\"n{number}\",\"name\":\"p{}\"}}\n",
                number % 2
            )
        })
        .collect();
    for some in lines.chunks(100) {
        assert!(there.write(some.concat().as_bytes()));
        for _ in some {
            assert_eq!(there.hear().unwrap()["schema"], "person/1");
        }
    }
    bench.stop();
    bench.start();
    assert_eq!(note(&mut wire(&bench), "old", "once"), done);
    assert_eq!(notes(&bench), ["once"]);
}

#[test]
fn a_key_whose_answer_is_no_longer_kept_is_refused_and_not_done_again() {
    let mut bench = started();
    let mut there = wire(&bench);
    note(&mut there, "old", "once");
    note(&mut there, "new", "lately");
    let month = 31_i64 * 24 * 3600 * 1_000_000;
    let old = "SELECT min(id) FROM answer WHERE reply LIKE '%noted/1%'";
    changed(&mut bench, &format!("UPDATE asked SET wall = wall - {month} WHERE answer <= ({old})"));
    changed(&mut bench, &format!("UPDATE answer SET wall = wall - {month} WHERE id <= ({old})"));
    let mut there = wire(&bench);
    // Whoever asks something takes the replies away that are too old.
    note(&mut there, "newest", "now");
    is_refused(&note(&mut there, "old", "once"), "was done");
    is_refused(&note(&mut there, "old", "twice"), "another request");
    assert_eq!(note(&mut there, "new", "lately")["schema"], "noted/1");
    assert_eq!(notes(&bench), ["once", "lately", "now"]);
    bench.ok(&["verify"]);
}

#[test]
fn an_answer_that_was_damaged_does_not_go_out_as_it_stands() {
    let mut bench = started();
    let done = note(&mut wire(&bench), "k1", "once");
    let sql = "UPDATE answer SET reply = replace(reply, 'Written', 'Wr1tten') WHERE reply LIKE '%noted/1%'";
    assert!(done.to_string().contains("Written"), "{done}");
    changed(&mut bench, sql);
    let again = note(&mut wire(&bench), "k1", "once");
    is_refused(&again, "damaged");
    assert_eq!(again["exit"], 3);
    assert_eq!(notes(&bench), ["once"], "it is not done again");
    let found = bench.run(&["verify"]);
    assert_eq!(found.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&found.stdout).contains("answer"), "{found:?}");
}
