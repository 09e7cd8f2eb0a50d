//! Pictures and papers of a job.

use crate::event::{AttachAsked, Command};
use crate::fact::row::{Body, PaperType};
use crate::fact::seq::Seq;
use crate::reply::{Done, Refusal};
use crate::request::MOST_PAPERS;
use crate::tests::kit::{Kit, face};

/// A photo of so many bytes, which is known by its digest.
fn photo(digest: u8, bytes: u64) -> AttachAsked {
    AttachAsked {
        job: "j1".to_owned(),
        to: None,
        what: "as it came".to_owned(),
        name: "IMG 7.jpg".to_owned(),
        digest: [digest; 32],
        bytes,
        found: Some(PaperType::Jpeg),
    }
}

fn attach(kit: &mut Kit, asked: AttachAsked) -> Result<(Seq, Option<Seq>), Refusal> {
    let done = kit.ask(Command::Attach(Box::new(asked)))?;
    let Done::Attached(now) = done else { panic!("{done:?}") };
    Ok((now.id, now.same))
}

fn said(asked: AttachAsked) -> String {
    let mut kit = Kit::new(vec![face("face")]);
    let before = kit.rows.len();
    let refusal = attach(&mut kit, asked).unwrap_err();
    assert_eq!(kit.rows.len(), before, "a refused file leaves nothing behind");
    assert_eq!(refusal.exit, 2);
    format!("{}; {}", refusal.text, refusal.hint.unwrap())
}

#[test]
fn a_file_belongs_to_a_job_a_part_or_a_check() {
    let mut kit = Kit::new(vec![face("face")]);

    for (to, part, at) in [
        (None, None, None),
        (Some("ring".to_owned()), Some(0), None),
        (Some("ring/face".to_owned()), Some(0), Some(0)),
    ] {
        let (id, _) = attach(&mut kit, AttachAsked { to, ..photo(1, 10) }).unwrap();
        let kept = kit.job().attached.last().unwrap().clone();
        assert_eq!((kept.id, kept.attached.part, kept.attached.check), (id, part, at));
    }
}

#[test]
fn what_cannot_be_attached_is_refused_with_what_to_do() {
    let to = |to: &str| AttachAsked { to: Some(to.to_owned()), ..photo(1, 10) };
    let text = said(AttachAsked { job: "j2".to_owned(), ..photo(1, 10) });
    assert!(text.contains("no open job is named \"j2\"; open jobs: j1"), "{text}");
    assert!(said(to("rin")).contains("has no part \"rin\"; did you mean ring?"));
    assert!(said(to("ring/none")).contains("has no check \"ring/none\""));
    assert!(
        said(AttachAsked { what: " ".to_owned(), ..photo(1, 10) })
            .contains("what the file shows is empty")
    );
    assert!(
        said(AttachAsked { what: "a\u{1b}[2J".to_owned(), ..photo(1, 10) })
            .contains("cannot be printed")
    );
    assert!(said(AttachAsked { what: "x".repeat(301), ..photo(1, 10) }).contains("too long"));
    assert!(
        said(photo(1, 2_000_000_000))
            .contains("IMG 7.jpg has 2000 MB, and at most 20 MB are taken")
    );
    assert!(said(AttachAsked { found: None, ..photo(1, 10) }).contains("did not arrive"));
}

#[test]
fn the_same_bytes_count_once_and_a_job_has_its_limit() {
    let mut kit = Kit::new(vec![face("face")]);
    let (first, same) = attach(&mut kit, photo(1, 20_000_000)).unwrap();
    assert_eq!(same, None);
    assert_eq!(attach(&mut kit, photo(1, 20_000_000)).unwrap().1, Some(first));
    assert_eq!(kit.job().attached_bytes(), 20_000_000);
    let full = attach(&mut kit, photo(2, 10_000_001)).unwrap_err();
    assert!(
        full.text.contains("IMG 7.jpg has 11 MB, and job j1 has 20 of the 30 MB"),
        "{}",
        full.text
    );
    assert!(full.hint.unwrap().contains("attached_mb"));
    attach(&mut kit, photo(2, 10_000_000)).unwrap();
    // One that is taken back is kept, and so it still counts.
    kit.ask(Command::TakeAttachedBack {
        job: "j1".to_owned(),
        id: first,
        why: "blurred".to_owned(),
    })
    .unwrap();
    assert!(attach(&mut kit, photo(3, 1)).is_err());
    for _ in kit.job().attached.len()..MOST_PAPERS {
        attach(&mut kit, photo(2, 10_000_000)).unwrap();
    }
    assert!(attach(&mut kit, photo(2, 10_000_000)).unwrap_err().text.contains("500 files already"));
}

#[test]
fn one_is_taken_back_once_and_with_a_reason() {
    let mut kit = Kit::new(vec![face("face")]);
    let (id, _) = attach(&mut kit, photo(1, 10)).unwrap();
    let back =
        |id, why: &str| Command::TakeAttachedBack { job: "j1".to_owned(), id, why: why.to_owned() };
    assert!(kit.ask(back(Seq(99), "x")).unwrap_err().text.contains("has no attachment 99"));
    assert!(kit.ask(back(id, " ")).unwrap_err().text.contains("the reason is empty"));
    kit.ask(back(id, "the customer's own")).unwrap();
    assert!(kit.job().attached[0].taken_back);
    assert!(
        matches!(&kit.rows.last().unwrap().body, Body::AttachedTakenBack { attached, .. } if *attached == id)
    );
    assert!(kit.ask(back(id, "again")).unwrap_err().text.contains("was taken back before"));
}
