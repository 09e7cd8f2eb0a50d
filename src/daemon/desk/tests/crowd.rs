//! Several clients at once: requests that arrive together are stored together, and each client gets the
//! answer it would have got alone.

use super::*;
use bench::Command;

/// Keeps the record from storing until all requests made inside have arrived, so that they are taken
/// together. Returns how many commits that took.
fn together<T>(works: &Works, ask: impl FnOnce(&Works) -> T) -> (T, usize) {
    works.record.set(Mood::Refuses);
    works.send(frame(0));
    works.until_failing();
    let asked = ask(works);
    let before = works.record.0.lock().unwrap().commits;
    works.record.set(Mood::Well);
    works.until("well", |shown| shown.storage.state == StorageState::Fine);
    (asked, before)
}

fn commits_since(works: &Works, before: usize) -> usize {
    // One for the frame that waited, and one for the news that the record refused and works again.
    works.record.0.lock().unwrap().commits - before - 2
}

fn request(command: Command) -> Request {
    Request { station: None, by: None, login: None, command }
}

fn close_job(name: &str) -> Request {
    request(Command::JobClose { name: Some(name.to_owned()), why: Some("sent away".to_owned()) })
}

fn reopen_job(name: &str) -> Request {
    request(Command::JobReopen { name: name.to_owned(), found: None })
}

fn note(job: &str) -> Request {
    let (job, text) = (job.to_owned(), "paid".to_owned());
    request(Command::Note { job, text, closed: None })
}

fn count(record: &StandIn, what: fn(&Body) -> bool) -> usize {
    record.bodies().iter().filter(|body| what(body)).count()
}

#[test]
fn what_eight_clients_ask_together_is_stored_in_one_commit() {
    let works = works();
    let (answers, before) = together(&works, |works| {
        let ask = |n| works.ask(&format!("k{n}"), open_job(&format!("J{n}")));
        (0..8).map(ask).collect::<Vec<_>>()
    });
    for (n, answer) in answers.into_iter().enumerate() {
        let line = answer.blocking_recv().unwrap().line;
        assert!(line.contains("opened/1") && line.contains(&format!("\"J{n}\"")), "{line}");
    }
    assert_eq!(commits_since(&works, before), 1, "commits for eight requests");
    let (record, ended) = works.end();
    assert_eq!(ended, Ok(()));
    assert_eq!(count(&record, |body| matches!(body, Body::JobOpened(_))), 8);
}

#[test]
fn a_key_that_comes_twice_in_one_batch_is_done_once_and_both_get_the_reply() {
    let works = works();
    let ((first, again, other, late), before) = together(&works, |works| {
        let first = works.ask("k1", open_job("J1"));
        let again = works.ask("k1", open_job("J1"));
        let other = works.ask("k1", open_job("J2"));
        (first, again, other, works.ask("k2", note("J1")))
    });
    let line = first.blocking_recv().unwrap().line;
    assert!(line.contains("opened/1"), "{line}");
    assert_eq!(again.blocking_recv().unwrap().line, line);
    let other = other.blocking_recv().unwrap().line;
    assert!(other.contains("was used for another request before"), "{other}");
    assert!(late.blocking_recv().unwrap().line.contains("noted/1"));
    // The request under a key is stored before another request with that key is refused.
    assert_eq!(commits_since(&works, before), 2);
    let (record, _) = works.end();
    assert_eq!(count(&record, |body| matches!(body, Body::JobOpened(_))), 1);
}

#[test]
fn a_name_is_used_and_asked_for_in_one_batch() {
    let works = works();
    let (answers, _) = together(&works, |works| {
        let asked = [
            open_job("J1"),
            open_job("J1"),
            open_job("j1"),
            note("J1"),
            close_job("J1"),
            open_job("J1"),
            note("J1"),
            reopen_job("J1"),
            reopen_job("J1"),
            note("J1"),
            close_job("J1"),
            close_job("J1"),
        ];
        let ask = |(n, request)| works.ask(&format!("k{n}"), request);
        asked.into_iter().enumerate().map(ask).collect::<Vec<_>>()
    });
    let lines: Vec<String> = answers.into_iter().map(|a| a.blocking_recv().unwrap().line).collect();
    let good: Vec<bool> = lines.iter().map(|line| !line.contains("error/1")).collect();
    let expected = [true, false, false, true, true, false, true, true, true, true, true, false];
    assert_eq!(good, expected, "{lines:#?}");
    let (record, ended) = works.end();
    assert_eq!(ended, Ok(()));
    assert_eq!(count(&record, |body| matches!(body, Body::JobOpened(_))), 1);
    assert_eq!(count(&record, |body| matches!(body, Body::JobReopened { .. })), 1);
    assert_eq!(count(&record, |body| matches!(body, Body::Noted { .. })), 3);
}

#[test]
fn a_commit_that_is_refused_answers_nobody_who_shares_it() {
    let works = works();
    works.record.set(Mood::Refuses);
    works.send(frame(0));
    works.until_failing();
    let ask = |n| works.ask(&format!("k{n}"), open_job(&format!("J{n}")));
    let mut answers: Vec<_> = (0..5).map(ask).collect();
    std::thread::sleep(Duration::from_millis(50));
    assert!(answers.iter_mut().all(|answer| answer.try_recv().is_err()));
    works.stopping.store(true, Ordering::Relaxed);
    let given_up = works.thread.join().unwrap().unwrap_err();
    assert_eq!((given_up.ours, given_up.waiting), (false, 5), "{given_up:?}");
    for answer in answers {
        assert!(answer.blocking_recv().is_err(), "never acknowledged");
    }
    assert_eq!(count(&works.record, |body| matches!(body, Body::JobOpened(_))), 0);
}
