use super::*;
use ::record::trial::{history, parse};
use bench::{Body, Seq};

/// The rows of the history that belong to one job, and the boots.
fn of_job(job: u64, files: &[u64]) -> Vec<Row> {
    let rows = history().rows;
    let mut its: Vec<Seq> = vec![Seq(job)];
    let began = |row: &&Row| matches!(&row.body, Body::AttemptBegan(it) if it.job == Seq(job));
    its.extend(rows.iter().filter(began).map(|row| row.seq));
    let alerts: Vec<Seq> = rows
        .iter()
        .filter(|row| matches!(&row.body, Body::AlertRaised(one) if one.job == Some(Seq(job))))
        .map(|row| row.seq)
        .collect();
    let belongs = |row: &Row| match &row.body {
        Body::Started { .. } => row.seq.0 < job,
        Body::JobOpened(_) => row.seq == Seq(job),
        Body::JobActive { .. }
        | Body::PersonAt { .. }
        | Body::Repeated(_)
        | Body::CheckActive { .. }
        | Body::ProofBegan(_)
        | Body::Proved(_)
        | Body::Registered(_)
        | Body::FileRefused(_) => false,
        Body::FileTaken(_) => files.contains(&row.seq.0),
        Body::JobClosed { job: of }
        | Body::JobReopened { job: of, .. }
        | Body::StackPlaced { job: of, .. }
        | Body::StackTaken { job: of, .. }
        | Body::SpotMarked { job: of, .. }
        | Body::PartReplaced { job: of, .. }
        | Body::Signed { job: of, .. }
        | Body::Intake { job: of, .. }
        | Body::JobEdited { job: of, .. }
        | Body::Decided { job: of, .. }
        | Body::Serial { job: of, .. }
        | Body::RuleChanged { job: of, .. }
        | Body::WentOn { job: of, .. }
        | Body::AttachedTakenBack { job: of, .. }
        | Body::Noted { job: of, .. } => *of == Seq(job),
        Body::Attached(attached) => attached.job == Seq(job),
        Body::AttemptBegan(began) => began.job == Seq(job),
        Body::Reading(reading) => reading.job == Some(Seq(job)),
        Body::Verdict(verdict) => its.contains(&verdict.attempt),
        Body::AlertRaised(alert) => alert.job == Some(Seq(job)),
        Body::AlertSeen { alert } | Body::AlertCleared { alert } => alerts.contains(alert),
        Body::Marked { attempt, .. } => attempt.is_some_and(|attempt| its.contains(&attempt)),
        Body::AttemptEnded { attempt, .. }
        | Body::Skipped { attempt, .. }
        | Body::Asked { attempt, .. }
        | Body::MasterNext { attempt }
        | Body::Seated { attempt, .. }
        | Body::TurnUnderWay { attempt, .. }
        | Body::Swept { attempt, .. }
        | Body::Answered { attempt, .. } => its.contains(attempt),
        Body::SpeedStep(step) => its.contains(&step.attempt),
        Body::LogWentOn(went) => its.contains(&went.attempt),
        Body::Temperature(one) => its.contains(&one.attempt),
    };
    rows.into_iter().filter(belongs).collect()
}

fn lines(job: u64, files: &[u64]) -> Vec<String> {
    of_job(job, files).iter().map(|row| record_line(row, None).unwrap()).collect()
}

fn taken(lines: &[String]) -> Result<Vec<Row>, (usize, String)> {
    let mut record = RecordLines::new(parse);
    let rows = lines.iter().enumerate();
    rows.map(|(at, line)| record.take(line).map(|(row, _)| row).map_err(|what| (at, what)))
        .collect()
}

#[test]
fn every_row_of_a_job_comes_back_from_its_line() {
    for (job, files) in [(3, [0]), (31, [36]), (47, [0])] {
        let (rows, lines) = (of_job(job, &files), lines(job, &files));
        assert!(rows.len() > 8);
        let back = taken(&lines).unwrap();
        for (row, back) in rows.iter().zip(&back) {
            if matches!(row.body, Body::JobReopened { .. }) {
                assert_eq!((row.seq, row.at), (back.seq, back.at));
            } else {
                assert_eq!(row, back);
            }
        }
        assert_eq!(rows.len(), back.len());
    }
    let screen = Body::JobActive { station: quantity::Name::new("b").unwrap(), job: None };
    assert_eq!(record_line(&Row { body: screen, ..of_job(3, &[]).remove(0) }, None), None);
}

#[test]
fn a_line_says_what_it_is_in_plain_words() {
    let lines = lines(3, &[]);
    assert_eq!(
        lines[4],
        concat!(
            r#"{"schema":"record/1","seq":8,"wall_us":1800000020000136,"mono_us":25000000,"#,
            r#""by":"Ada","fact":"reading","says":{"job":3,"attempt":5,"gauge":"plate","#,
            r#""source":"keyed","value":{"length":3048000,"unit":"in","places":5},"#,
            r#""as_sent":"+0.00012","state":"master"}}"#
        )
    );
}

#[test]
fn a_line_from_anybody_is_refused_with_what_is_wrong_with_it() {
    let at = |fact: &str| {
        let lines = lines(31, &[36]);
        lines.iter().position(|line| line.contains(&format!("\"fact\":\"{fact}\""))).unwrap()
    };
    let cases = [
        ("reading", "{\"schema\"", "{schema", "key must be a string"),
        ("reading", "record/1", "record/2", "use a newer tenths"),
        ("reading", "record/1", "record/x", "is expected"),
        ("reading", "record/1", "record/0", "written by an earlier version of tenths"),
        ("reading", "\"attempt\":33", "\"attempt\":34", "attempt 34 is not above it"),
        ("reading", "\"file\":36", "\"file\":35", "file 35 is not above it"),
        ("reading", "\"seq\":37", "\"seq\":36", "its number 36 does not follow 36"),
        ("reading", "\"seq\":37", "\"seq\":18446744073709551615", "does not follow"),
        ("reading", "\"places\":4", "\"places\":200", "no value has 200 places"),
        ("reading", "\"places\":4", "\"places\":4,\"more\":1", "unknown field `more`"),
        ("reading", "\"places\":4", "\"places\": 4", "not written as this program"),
        ("reading", "\"state\":\"placed\"", "\"state\":\"lost\"", "unknown variant `lost`"),
        ("reading", "\"position\":2", "\"position\":4000000000", "no check has a position"),
        ("reading", "\"unit\":\"mm\"", "\"unit\":\"ell\"", "there is no unit \"ell\""),
        ("reading", "\"drop\":", "\"air\":", "unknown variant `air`"),
        ("reading", "\"as_sent\":\"+0.00012\",", "", "missing field `as_sent`"),
        ("reading", "\"wall_us\":1", "\"wall_us\":999", "outside the years"),
        ("attempt-began", "\"part\":1", "\"part\":7", "the plan has no check 1 of a part 7"),
        ("attempt-began", "\"engine\":3", "\"engine\":\"x\"", "invalid type"),
        (
            "attempt-began",
            "\"engine\":3",
            "\"engine\":4",
            "judged by version 4 of the arithmetic, this program knows version 3: use a newer tenths",
        ),
        ("job-opened", "\"name\":\"S-1042\"", "\"name\":\"\"", "a name may not be empty"),
        ("file-taken", "0707", "07", "is no digest"),
        ("job-closed", "job-closed", "job-lost", "the fact \"job-lost\" is not known"),
    ];
    for (fact, from, to, says) in cases {
        let mut lines = lines(31, &[36]);
        let at = at(fact);
        let changed = lines[at].replacen(from, to, 1);
        assert_ne!(changed, lines[at], "{from}");
        lines[at] = changed;
        let (line, what) = taken(&lines).unwrap_err();
        assert_eq!(line, at, "{to}: {what}");
        assert!(what.contains(says), "{to}: {what}");
    }
    let mut twice = lines(31, &[36]);
    twice.push(twice[1].replace("\"seq\":31", "\"seq\":99"));
    assert_eq!(taken(&twice).unwrap_err().1, "a second job is opened");
    let mut loud = lines(47, &[]);
    let alert = loud.iter().position(|line| line.contains("alert-raised")).unwrap();
    loud[alert] = loud[alert].replacen("\"kind\":\"out-so-far\"", "\"kind\":\"space-low\"", 1);
    let what = "\"space-low\" is no alert of a job";
    assert_eq!(taken(&loud).unwrap_err(), (alert, what.to_owned()));
    let early = lines(31, &[36]).split_off(2);
    assert_eq!(taken(&early).unwrap_err(), (0, "the job is not opened yet".to_owned()));
    assert!(RecordLines::new(parse).job().is_err());
}

/// A signature stands under the newest change above it, names its seal and its person.
#[test]
fn a_signature_that_is_made_up_does_not_come_in() {
    let job = history().bench.jobs.keys().next_back().unwrap().0;
    let all = lines(job, &[]);
    assert_eq!(taken(&all).unwrap().len(), all.len());
    let at = all.iter().position(|line| line.contains("\"fact\":\"signed\"")).unwrap();
    let with = |change: fn(&str) -> String| {
        let mut lines = all.clone();
        lines[at] = change(&all[at]);
        assert_ne!(lines[at], all[at]);
        taken(&lines).unwrap_err()
    };
    let (_, why) = with(|line| line.replacen("\"of\":", "\"of\":1", 1));
    assert!(why.contains("is not the newest that it could be signed under"), "{why}");
    let (_, why) = with(|line| line.replacen("\"seal\":\"", "\"seal\":\"x", 1));
    assert!(why.contains("is not a seal"), "{why}");
    let (_, why) = with(|line| line.replacen("\"by\":\"Ada\",", "", 1));
    assert_eq!(why, "nobody signed it");
}

#[test]
fn a_job_is_closed_and_opened_again_by_turns_and_not_without_end() {
    let mut record = lines(31, &[36]);
    let closing = record.iter().rposition(|line| line.contains("job-closed")).unwrap();
    record.truncate(closing + 1);
    let closed = record[closing].clone();
    let seq = of_job(31, &[36])[closing].seq.0;
    let turn = |fact: &str, after: u64| {
        let line = closed.replace("job-closed", fact);
        line.replacen(&format!("\"seq\":{seq}"), &format!("\"seq\":{}", seq + after), 1)
    };
    let with = |more: &[String]| taken(&[&record[..], more].concat());
    let told = |more: &[String]| with(more).unwrap_err().1;
    assert_eq!(told(&[turn("job-closed", 1)]), "the job is closed already");
    let twice = [turn("job-reopened", 1), turn("job-reopened", 2)];
    assert_eq!(told(&twice), "the job is not closed above it");
    let before = record.iter().filter(|line| line.contains("job-reopened")).count();
    let left = lines::MOST_REOPENINGS - before;
    let mut many: Vec<String> = (1..=2 * left as u64)
        .map(|at| turn(if at % 2 == 1 { "job-reopened" } else { "job-closed" }, at))
        .collect();
    assert!(with(&many).is_ok());
    many.push(turn("job-reopened", 2 * left as u64 + 1));
    assert_eq!(told(&many), "no job is opened again more than 1000 times");
}

fn listed() -> Manifest {
    let file = |name: &str| FileLine { name: name.to_owned(), bytes: 7, sha256: "0a".repeat(32) };
    Manifest::new("S-1042", true, 12, FILES.map(file).to_vec())
}

#[test]
fn a_list_is_read_back_and_names_the_files_of_a_bundle_alone() {
    let list = listed();
    assert_eq!(parse_manifest(&list.text()), Ok(list.clone()));
    let text = list.text();
    for (from, to, says) in [
        ("bundle/1", "bundle/2", "it is bundle/2, this program knows bundle/1: use a newer tenths"),
        ("bundle/1", "bundle/0", "it is bundle/0, written by an earlier version of tenths"),
        ("bundle/1", "parcel/1", "it is \"parcel/1\" where bundle/1 is expected"),
        ("\"plan.toml\"", "\"../../etc/passwd\"", "which is no file of a bundle"),
        ("\"plan.toml\"", "\"/etc/passwd\"", "which is no file of a bundle"),
        ("\"plan.toml\"", "\"alerts.csv\"", "it names alerts.csv twice"),
        ("\"rows\": 12", "\"rows\": -1", "invalid value"),
        ("{", "[", "it is no list of a bundle"),
    ] {
        let what = parse_manifest(&text.replacen(from, to, 1)).unwrap_err();
        assert!(what.contains(says), "{to}: {what}");
    }
    let mut short = list;
    short.files.pop();
    assert_eq!(parse_manifest(&short.text()).unwrap_err(), "it does not name verdicts.csv");
}

#[test]
fn who_asked_goes_along_and_is_of_another_bench_then() {
    let row = of_job(3, &[]).remove(1);
    let asked = Caller { uid: 1000, pid: 4242, login: Some("ann".to_owned()), elsewhere: false };
    let line = record_line(&row, Some(&asked)).unwrap();
    assert!(line.contains(r#""caller":{"uid":1000,"pid":4242,"login":"ann"}"#), "{line}");
    let mut record = RecordLines::new(parse);
    assert_eq!(record.take(&line).unwrap(), (row, Some(Caller { elsewhere: true, ..asked })));
    let odd =
        [(r#""ann""#, r#""""#), (r#""uid":1000"#, r#""uid":-1"#), (r#""pid""#, r#""process""#)];
    for (what, other) in odd {
        let wrong = line.replace(what, other);
        assert!(RecordLines::new(parse).take(&wrong).is_err(), "{wrong}");
    }
}
