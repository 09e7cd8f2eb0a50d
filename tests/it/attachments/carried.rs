//! Files go along: with a copy of the record and back, and with a job to another bench and on.

use std::fs;
use std::path::Path;

use super::{attach, bench, folder, kept, made, name_of, pdf, photo};
use crate::rig::Bench;

fn at(bench: &Bench, name: &str) -> String {
    bench.path(name).to_str().unwrap().to_owned()
}

#[test]
fn a_copy_has_the_files_and_brings_them_back() {
    let mut bench = bench();
    attach(&bench, "one.jpg", &photo(1), "ring");
    attach(&bench, "two.pdf", &pdf(), "ring/face");
    let copy = at(&bench, "monday.db");
    let said = bench.ok(&["backup", &copy]);
    assert!(said.contains("2 pictures and papers went along."), "{said}");
    let beside = bench.path("monday.db.attached");
    assert_eq!(kept(&beside), [name_of(&photo(1)), name_of(&pdf())].into());
    assert_eq!(fs::read(beside.join(name_of(&photo(1)))).unwrap(), photo(1));
    assert!(
        bench
            .ok(&["verify", &copy])
            .contains("Read 2 pictures and papers.\nAll is as it was stored.")
    );
    assert!(bench.refused(2, &["backup", &copy]).contains("already there"));

    // What came after the copy is kept with the record that is put aside.
    attach(&bench, "three.jpg", &photo(3), "ring");
    bench.stop();
    fs::remove_file(folder(&bench).join(name_of(&photo(1)))).unwrap();
    fs::write(folder(&bench).join(name_of(&pdf())), b"%PDF other").unwrap();
    let said = bench.ok(&["restore", &copy]);
    let aside =
        said.lines().find_map(|line| line.strip_prefix("The record before is kept as ")).unwrap();
    let aside = aside.trim_end_matches('.').to_owned();
    bench.start();
    assert_eq!(kept(&folder(&bench)), [name_of(&photo(1)), name_of(&pdf())].into());
    assert!(bench.ok(&["verify"]).ends_with("All is as it was stored.\n"));
    assert_eq!(bench.lines(&["attachments", "a1"]).len(), 2);
    let of_aside = kept(Path::new(&format!("{aside}.attached")));
    assert_eq!(of_aside, [name_of(&pdf()), name_of(&photo(3))].into(), "what it had, as it was");
    let said = String::from_utf8(bench.run(&["verify", &aside]).stdout).unwrap();
    assert!(said.contains("one.jpg") && said.contains("its file is missing"), "{said}");
    assert!(said.contains("two.pdf") && !said.contains("three.jpg"), "{said}");
}

#[test]
fn a_missing_picture_keeps_nobody_from_a_copy_or_from_restoring_it() {
    let mut bench = bench();
    attach(&bench, "one.jpg", &photo(1), "ring");
    attach(&bench, "two.jpg", &photo(2), "ring");
    fs::remove_file(folder(&bench).join(name_of(&photo(1)))).unwrap();
    let copy = at(&bench, "copy.db");
    let output = bench.run(&["backup", &copy]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("The record is copied to"), "{said}");
    assert!(
        said.contains("NOT as attached, in the record as in the copy: the picture one.jpg"),
        "{said}"
    );
    bench.stop();
    let said = bench.ok(&["restore", &copy]);
    assert!(said.contains("NOT as attached: the picture one.jpg"), "{said}");
    bench.start();
    assert_eq!(kept(&folder(&bench)), [name_of(&photo(2))].into());
}

/// Every file of a folder and of the one in it.
fn all(folder: &Path) -> std::collections::BTreeMap<String, Vec<u8>> {
    let mut found = std::collections::BTreeMap::new();
    for at in [folder.to_owned(), folder.join("attached")] {
        for entry in fs::read_dir(at).unwrap().map(Result::unwrap) {
            if entry.file_type().unwrap().is_file() {
                found.insert(
                    entry.file_name().into_string().unwrap(),
                    fs::read(entry.path()).unwrap(),
                );
            }
        }
    }
    found
}

#[test]
fn a_job_goes_with_its_pictures_from_bench_to_bench_byte_for_byte() {
    let bench = bench();
    attach(&bench, "one.jpg", &photo(1), "ring/face");
    let two = attach(&bench, "two.pdf", &pdf(), "ring");
    attach(&bench, "again.jpg", &photo(1), "ring");
    bench.ok(&["attach", "a1", "--remove", &two.to_string(), "--why", "of another spindle"]);
    let bundle = at(&bench, "bundle");
    let said = bench.ok(&["export", "a1", "--out", &bundle]);
    assert!(said.contains("the originals, with what cameras wrote into them"), "{said}");
    let sent = all(Path::new(&bundle));
    assert_eq!(sent[&format!("{}.jpg", name_of(&photo(1)))], photo(1));
    assert_eq!(sent[&format!("{}.pdf", name_of(&pdf()))], pdf());

    let mut other = made();
    let said = other.ok(&["import", &bundle]);
    assert!(said.contains("2 pictures and papers came along."), "{said}");
    other.start();
    assert_eq!(kept(&folder(&other)), [name_of(&photo(1)), name_of(&pdf())].into());
    let lines = other.lines(&["attachments", "a1"]);
    assert_eq!(lines.len(), 3);
    assert_eq!(lines[1]["taken_back"]["why"], "of another spindle");
    assert!(other.ok(&["verify"]).ends_with("All is as it was stored.\n"));
    let again = at(&other, "again");
    other.ok(&["export", "a1", "--out", &again]);
    assert_eq!(all(Path::new(&again)), sent, "byte for byte");
}

#[test]
fn a_bundle_with_another_picture_is_refused_and_leaves_nothing() {
    let bench = bench();
    attach(&bench, "one.jpg", &photo(1), "ring");
    let bundle = at(&bench, "bundle");
    bench.ok(&["export", "a1", "--out", &bundle]);
    let picture = bench.path("bundle/attached").join(format!("{}.jpg", name_of(&photo(1))));
    let other = made();
    let refused = |says: &str| {
        let said = other.refused(2, &["import", &bundle]);
        assert!(said.contains(says), "{said}");
        assert!(kept(&folder(&other)).is_empty());
        assert!(
            !other.state.join("tenths.db").exists() || other.lines(&["job", "list"]).is_empty()
        );
    };
    let mut changed = photo(1);
    let middle = changed.len() / 2;
    changed[middle] ^= 4;
    fs::write(&picture, &changed).unwrap();
    refused("it is not the file that the list was made for");
    // Whoever also mends the list is found out by the name, which the record has.
    let list = bench.path("bundle/manifest.json");
    let text = fs::read_to_string(&list).unwrap();
    let sum = |bytes: &[u8]| {
        use sha2::Digest as _;
        quantity::hexadecimal(&sha2::Sha256::digest(bytes))
    };
    fs::write(&list, text.replace(&sum(&photo(1)), &sum(&changed))).unwrap();
    refused("it is not the file that its name is the digest of");
    fs::write(&list, &text).unwrap();
    fs::write(&picture, &photo(1)[..100]).unwrap();
    refused("it has 100 bytes, the list says");
    fs::remove_file(&picture).unwrap();
    refused("it is missing");
    fs::write(&picture, photo(1)).unwrap();
    fs::write(bench.path("bundle/attached/more.jpg"), photo(2)).unwrap();
    refused("it is no file of this bundle");
    fs::remove_file(bench.path("bundle/attached/more.jpg")).unwrap();
    fs::write(&list, text.replace("attached/", "../../")).unwrap();
    refused("which is no picture or paper of a bundle");
    fs::write(&list, &text).unwrap();
    other.ok(&["import", &bundle]);
}

#[test]
fn a_job_whose_picture_is_gone_is_handed_on_and_that_is_said_on_both_sides() {
    let bench = bench();
    attach(&bench, "one.jpg", &photo(1), "ring");
    attach(&bench, "two.jpg", &photo(2), "ring");
    fs::remove_file(folder(&bench).join(name_of(&photo(1)))).unwrap();
    let bundle = at(&bench, "bundle");
    let output = bench.run(&["export", "a1", "--out", &bundle]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("NOT in the export: the picture one.jpg"), "{said}");
    let other = made();
    let said = other.ok(&["import", &bundle]);
    assert!(said.contains("1 more were missing already where it comes from."), "{said}");
    assert!(String::from_utf8(other.run(&["verify"]).stdout).unwrap().contains("one.jpg"));
}
