//! Lines of the socket, scanned codes, and an exported job.

use proptest::prelude::*;

use crate::mutate::{Bytes, changed, corpus, files, tried};
use config::parse_plan;
use quantity::Name;
use wire::code::{Blocked, Code, JobTag};
use wire::{RecordLines, parse_manifest, parse_request, record_line};

fn lines(folder: &str, ending: &str) -> Vec<Vec<u8>> {
    let whole = files(folder, ending);
    let lines = whole.iter().flat_map(|file| file.split(|byte| *byte == b'\n'));
    lines.filter(|line| !line.is_empty()).map(<[u8]>::to_vec).collect()
}

/// The names in a line of JSON: each text before a colon.
fn names(line: &str) -> Vec<&str> {
    let (mut found, mut begin, mut end, mut escaped) = (Vec::new(), None, None, false);
    for (at, c) in line.char_indices() {
        match (begin, c) {
            (Some(_), _) if escaped => escaped = false,
            (Some(_), '\\') => escaped = true,
            (Some(from), '"') => (begin, end) = (None, line.get(from..at)),
            (None, '"') => begin = Some(at + 1),
            (None, ':') => found.extend(end.take()),
            _ => {}
        }
    }
    found
}

fn request_holds(line: &str) -> Result<(), TestCaseError> {
    match parse_request(line) {
        Err(why) => prop_assert!(!why.trim().is_empty()),
        Ok(request) => {
            let again = request.to_line();
            prop_assert_eq!(parse_request(&again), Ok(request), "{}", again);
            let mut said = names(line);
            said.sort_unstable();
            let twice = said.windows(2).find(|pair| pair[0] == pair[1]);
            prop_assert!(
                twice.is_none(),
                "{twice:?} is said twice in {line}, and one is not heard"
            );
        }
    }
    Ok(())
}

#[test]
fn requests() {
    for line in lines("fixtures/requests", "refused.jsonl") {
        let line = String::from_utf8(line).unwrap();
        assert!(parse_request(&line).is_err(), "{line}");
    }
    for line in lines("fixtures/requests", "lines.jsonl") {
        let line = String::from_utf8(line).unwrap();
        assert!(parse_request(&line).is_ok(), "{line}");
    }
    let requests = corpus(lines("fixtures/requests", ".jsonl"));
    tried("requests", &changed(requests), |Bytes(bytes)| {
        request_holds(&String::from_utf8_lossy(&bytes))
    });
    // A field of another line, or of the same, beside those that are there.
    let at = any::<prop::sample::Index>;
    tried("requests, a field more", &(at(), at(), at(), at()), |(one, other, place, field)| {
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
        let (one, other) =
            (&requests[one.index(requests.len())], &requests[other.index(requests.len())]);
        let other = text(other);
        let fields: Vec<&str> = other.trim_matches(['{', '}']).split(',').collect();
        let one = text(one);
        let mut line: Vec<&str> = one.trim_matches(['{', '}']).split(',').collect();
        line.insert(place.index(line.len() + 1), fields[field.index(fields.len())]);
        request_holds(&format!("{{{}}}", line.join(",")))
    });
}

#[test]
fn scans() {
    let job = JobTag::of(&Name::new("J-1042").unwrap());
    let codes = corpus(tests_of(job).into_iter().map(String::into_bytes).collect());
    tried("scans", &changed(codes), |Bytes(bytes)| {
        let text = String::from_utf8_lossy(&bytes);
        match Code::parse(&text) {
            Ok(code) => prop_assert_eq!(code.to_string(), text),
            Err(why) => prop_assert!(!why.to_string().is_empty()),
        }
        Ok(())
    });
    // One character misread, or two neighbours exchanged, is never another code.
    let place =
        (any::<prop::sample::Index>(), any::<prop::sample::Index>(), b'!'..=b'~', any::<bool>());
    tried("misread scans", &place, |(which, at, new, swap)| {
        let whole = &codes[which.index(codes.len())];
        let mut bytes = whole.clone();
        let at = at.index(bytes.len());
        if swap && at + 1 < bytes.len() {
            bytes.swap(at, at + 1);
        } else {
            bytes[at] = new;
        }
        let text = String::from_utf8_lossy(&bytes);
        prop_assert!(bytes == *whole || Code::parse(&text).is_err(), "{text} is a code");
        Ok(())
    });
}

/// A code of each kind, as the sheet prints them.
fn tests_of(job: JobTag) -> Vec<String> {
    use bench::plan::CheckAt;
    use bench::row::Stage;
    let at = CheckAt { part: 3, check: 1 };
    let codes = [
        Code::Job(job),
        Code::Check { job, at },
        Code::Skip(Blocked::Slot),
        Code::Answer { job, at, answer: 2 },
        Code::Value(-25),
        Code::Value(20),
        Code::Stack { job, stage: Stage::Built, place: 4, way: None },
    ];
    codes.iter().map(ToString::to_string).collect()
}

#[test]
fn jobs_handed_over() {
    let record = corpus(files("fixtures/bundles", ".jsonl"));
    let parse = |text: &str| parse_plan(text, "plan").map_err(|_| "no plan".to_owned());
    tried("bundles", &changed(record), |Bytes(bytes)| {
        let text = String::from_utf8_lossy(&bytes);
        let mut taken = RecordLines::new(parse);
        for line in text.lines() {
            match taken.take(line) {
                Ok((row, caller)) => {
                    let back = record_line(&row, caller.as_ref());
                    prop_assert_eq!(back, Some(line.to_owned()));
                }
                Err(why) => {
                    prop_assert!(!why.trim().is_empty());
                    break;
                }
            }
        }
        Ok(())
    });
    let manifests = corpus(files("fixtures/bundles", "manifest.json"));
    tried("manifests", &changed(manifests), |Bytes(bytes)| {
        let text = String::from_utf8_lossy(&bytes);
        match parse_manifest(&text) {
            Ok(manifest) => {
                let again = parse_manifest(&manifest.text());
                prop_assert_eq!(again, Ok(manifest.clone()));
                prop_assert!(
                    names(&manifest.text()) >= names(&text),
                    "something of {text} is lost"
                );
            }
            Err(why) => prop_assert!(!why.trim().is_empty()),
        }
        Ok(())
    });
}
