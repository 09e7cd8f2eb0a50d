//! Bundles that are not what they say, from a slip to a bad intention.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use serde_json::Value;
use sha2::{Digest, Sha256};

use super::shop::{Shop, copied, other_bench, shop};
use super::{export, files};
use crate::rig::Bench;

/// Writes the list anew for what the files are now.
pub(super) fn listed_anew(bundle: &Path) {
    let list = bundle.join("manifest.json");
    let mut manifest: Value = serde_json::from_slice(&fs::read(&list).unwrap()).unwrap();
    for file in manifest["files"].as_array_mut().unwrap() {
        let bytes = fs::read(bundle.join(file["name"].as_str().unwrap())).unwrap();
        file["bytes"] = bytes.len().into();
        file["sha256"] = quantity::hexadecimal(&Sha256::digest(&bytes)).into();
    }
    let record = fs::read_to_string(bundle.join("record.jsonl")).unwrap_or_default();
    manifest["rows"] = record.lines().count().into();
    fs::write(list, manifest.to_string()).unwrap();
}

/// A bundle and a bench that does not take what was made of it.
struct Gate {
    bundle: PathBuf,
    bench: Bench,
    there: Vec<Value>,
}

impl Gate {
    fn new() -> (Self, Bench) {
        let Shop { bench: mut from } = shop();
        from.stop();
        let bundle = export(&from, "wh-1", "bundle");
        let bench = other_bench();
        bench.ok(&["import", export(&from, "wh-2", "open").to_str().unwrap()]);
        let there = bench.lines(&["readings", "--all"]);
        (Self { bundle, bench, there }, from)
    }

    /// Refused with a sentence, and nothing is changed.
    #[track_caller]
    fn refuses(&self, case: &str, change: impl FnOnce(&Path)) -> String {
        let copy = copied(&self.bundle, &self.bench.path(case));
        change(&copy);
        let said = self.bench.refused(2, &["import", copy.to_str().unwrap()]);
        assert!(said.contains("hint: nothing was changed"), "{case}: {said}");
        assert_eq!(self.bench.lines(&["readings", "--all"]), self.there, "{case}");
        assert!(self.bench.ok(&["verify"]).contains("All is as it was stored"), "{case}");
        said
    }

    #[track_caller]
    fn refuses_with(&self, case: &str, words: &[&str], change: impl FnOnce(&Path)) {
        let said = self.refuses(case, change);
        for word in words {
            assert!(said.contains(word), "{case}: {said}");
        }
    }

    /// The record changed, and the list made to fit.
    #[track_caller]
    fn refuses_record(&self, case: &str, words: &[&str], change: impl Fn(&str) -> String) {
        self.refuses_with(case, words, |bundle| {
            let path = bundle.join("record.jsonl");
            let before = fs::read_to_string(&path).unwrap();
            let after = change(&before);
            assert_ne!(before, after, "{case}");
            fs::write(path, after).unwrap();
            listed_anew(bundle);
        });
    }
}

#[test]
fn a_bundle_that_is_not_as_its_list_says_is_refused() {
    let (gate, _from) = Gate::new();
    gate.refuses_with("no-list", &["manifest.json: it is missing"], |bundle| {
        fs::remove_file(bundle.join("manifest.json")).unwrap();
    });
    gate.refuses_with("missing", &["verdicts.csv: it is missing"], |bundle| {
        fs::remove_file(bundle.join("verdicts.csv")).unwrap();
    });
    gate.refuses_with("extra", &["more.txt: it is no file of this bundle"], |bundle| {
        fs::write(bundle.join("more.txt"), "x").unwrap();
    });
    gate.refuses_with("longer", &["plan.toml: it has", "manifest.json says"], |bundle| {
        let path = bundle.join("plan.toml");
        fs::write(&path, fs::read_to_string(&path).unwrap() + " ").unwrap();
    });
    gate.refuses_with("changed", &["report.html: it is not the file that"], |bundle| {
        let path = bundle.join("report.html");
        fs::write(&path, fs::read_to_string(&path).unwrap().replacen("Job", "Jab", 1)).unwrap();
    });
    let list = |from: &'static str, to: &'static str| {
        move |bundle: &Path| {
            let path = bundle.join("manifest.json");
            let text = fs::read_to_string(&path).unwrap();
            assert!(text.contains(from), "{text}");
            fs::write(&path, text.replacen(from, to, 1)).unwrap();
        }
    };
    gate.refuses_with(
        "newer",
        &["it is bundle/2", "use a newer tenths"],
        list("bundle/1", "bundle/2"),
    );
    let says = ["it is bundle/0", "earlier version of tenths", "keep the folder"];
    gate.refuses_with("older", &says, list("bundle/1", "bundle/0"));
    gate.refuses_with("foreign", &["it is no list of a bundle"], list("{", "<"));
    let out = ["names \"../../bench.toml\"", "no file of a bundle"];
    gate.refuses_with("out", &out, list("plan.toml", "../../bench.toml"));
    gate.refuses_with("root", &["names \"/etc/passwd\""], list("plan.toml", "/etc/passwd"));
    gate.refuses_with("link", &["plan.toml: it is no plain file"], |bundle| {
        let path = bundle.join("plan.toml");
        fs::rename(&path, bundle.with_extension("plan")).unwrap();
        std::os::unix::fs::symlink(bundle.with_extension("plan"), path).unwrap();
    });
    gate.refuses_with("giant", &["readings.csv: it is longer than"], |bundle| {
        let file = File::options().write(true).open(bundle.join("readings.csv")).unwrap();
        file.set_len(3 << 30).unwrap();
    });
    let said = gate.bench.refused(2, &["import", gate.bench.path("nowhere").to_str().unwrap()]);
    assert!(said.contains("is no folder"), "{said}");
}

#[test]
fn lines_that_nobody_measured_are_refused_with_their_place() {
    let (gate, _from) = Gate::new();
    let line = |fact: &str| {
        let record = files(&gate.bundle).remove("record.jsonl").unwrap();
        let record = String::from_utf8(record).unwrap();
        let fact = format!("\"fact\":\"{fact}\"");
        1 + record.lines().position(|line| line.contains(&fact)).unwrap()
    };
    let reading = format!("record.jsonl, line {}: ", line("reading"));
    gate.refuses_record("no-json", &[&reading, "EOF while parsing"], |text| {
        let at = text.find("\"fact\":\"reading\"").unwrap();
        let end = at + text[at..].find('\n').unwrap();
        format!("{}{}", &text[..end - 1], &text[end..])
    });
    gate.refuses_record("stray", &[&reading, "attempt 9999 is not above it"], |text| {
        let at = text.find("\"fact\":\"reading\"").unwrap();
        let attempt = at + text[at..].find("\"attempt\":").unwrap() + 10;
        let end = attempt + text[attempt..].find(',').unwrap();
        format!("{}9999{}", &text[..attempt], &text[end..])
    });
    gate.refuses_record("newer-line", &["line 1: it is record/2", "newer tenths"], |text| {
        text.replacen("record/1", "record/2", 1)
    });
    gate.refuses_record("blank", &["line 1: "], |text| format!("\n{text}"));
    gate.refuses_record("cut", &["its last line has no end"], |text| text.trim_end().to_owned());
    gate.refuses_record("empty", &["line 1: "], |_| "\n".to_owned());
    gate.refuses_record("long", &["line 1: it is longer than"], |text| "x".repeat(5 << 20) + text);
    gate.refuses_record("other-job", &["it is of job wh-3, manifest.json says"], |text| {
        text.replacen("\"name\":\"wh-1\"", "\"name\":\"wh-3\"", 1)
    });
    // A tenth off a reading, everything else made to fit: the verdict does not follow any more.
    gate.refuses_record(
        "better",
        &["verdict ", "computed again, it differs in means, value"],
        |text| text.replacen("\"length\":3302000", "\"length\":1302000", 1),
    );
    gate.refuses_record("verdict", &["computed again, it differs in verdict"], |text| {
        text.replacen("\"word\":\"does-not-conform\"", "\"word\":\"conforms\"", 1)
    });
    gate.refuses_record("extreme", &["verdict "], |text| {
        text.replacen("\"length\":3302000", "\"length\":-9223372036854775808", 1)
    });
}

#[test]
fn a_name_is_never_used_twice() {
    let (gate, from) = Gate::new();
    let said = from.refused(2, &["import", gate.bundle.to_str().unwrap()]);
    assert!(said.contains("already has a job named wh-1, opened on 20"), "{said}");
    gate.bench.ok(&["import", gate.bundle.to_str().unwrap()]);
    let said = gate.bench.refused(2, &["import", gate.bundle.to_str().unwrap()]);
    assert!(said.contains(", imported on 20"), "{said}");
    assert!(said.contains("a name is never used twice"), "{said}");
}
