//! Pictures and papers of a job, through the real program.

mod carried;
mod handed;
mod hostile;
mod killed;

use std::collections::BTreeSet;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};

use crate::rig::{Bench, Make, as_nobody, skipped};

const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"";

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"ring\"\nkind = \"spacer\"\n\
                    [[part.check]]\nname = \"face\"\nmeasures = \"parallelism\"\ngauge = \"plate\"\n\
                    setup = \"plate\"\npositions = 8\nradius = \"1.5 in\"\ntolerance = \"0.0001 in\"\n";

pub(crate) fn made() -> Bench {
    Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN })
}

/// A bench whose service runs, with the job `a1` open.
fn bench() -> Bench {
    let mut bench = made();
    bench.start();
    bench.ok(&["job", "open", "a1", "--plan", "held"]);
    bench
}

/// An Exif block that says who made the camera, that the picture stands on its side (6), and a place.
const EXIF: &[u8] = b"Exif\0\0II*\0\x08\0\0\0\x02\0\x0f\x01\x02\0\x0c\0\0\0\x26\0\0\0\
                      \x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0MAKER-Kamera 51.0504N";

/// A photo as a camera writes it. Each number gives another one.
pub(crate) fn photo(number: u8) -> Vec<u8> {
    let picture = image::RgbImage::from_fn(640, 400, |x, y| {
        let (x, y) = (u8::try_from(x % 251).unwrap(), u8::try_from(y % 241).unwrap());
        image::Rgb([x.wrapping_mul(number), y, x ^ y])
    });
    let mut plain = Vec::new();
    image::codecs::jpeg::JpegEncoder::new(&mut plain).encode_image(&picture).unwrap();
    let length = u16::try_from(EXIF.len() + 2).unwrap().to_be_bytes();
    [&plain[..2], &[0xff, 0xe1], &length, EXIF, &plain[2..]].concat()
}

/// A PDF that holds what it must.
pub(crate) fn pdf() -> Vec<u8> {
    b"%PDF-1.4\n1 0 obj <</Author (MAKER)>> endobj\nxref\n0 1\ntrailer <<>>\nstartxref\n42\n%%EOF\n"
        .to_vec()
}

/// A file beside the bench.
pub(crate) fn file(bench: &Bench, name: &str, bytes: &[u8]) -> String {
    let path = bench.path(name);
    fs::write(&path, bytes).unwrap();
    path.to_str().unwrap().to_owned()
}

/// Attaches and gives the number.
pub(crate) fn attach(bench: &Bench, name: &str, bytes: &[u8], to: &str) -> u64 {
    let path = file(bench, name, bytes);
    let line =
        bench.lines(&["attach", "a1", &path, "--to", to, "--what", "what it shows"]).remove(0);
    assert_eq!(line["digest"], blake3::hash(bytes).to_hex().as_str());
    line["id"].as_u64().unwrap()
}

pub(crate) fn folder(bench: &Bench) -> PathBuf {
    bench.state.join("attached")
}

/// The names in the folder of files.
pub(crate) fn kept(folder: &Path) -> BTreeSet<String> {
    let Ok(entries) = fs::read_dir(folder) else { return BTreeSet::new() };
    entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

pub(crate) fn name_of(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex().to_string()
}

#[test]
fn a_picture_belongs_to_a_job_a_part_or_a_check_and_is_kept_as_it_was() {
    let mut bench = bench();
    let path = file(&bench, "IMG 7.jpg", &photo(1));
    let said = bench.ok(&["attach", "a1", &path, "--what", "as it came"]);
    assert!(said.contains("the picture IMG 7.jpg belongs to job a1 now"), "{said}");
    let said =
        bench.ok(&["attach", "a1", &path, "--to", "ring/face", "--what", "pitting", "--by", "Ada"]);
    assert!(
        said.contains("belongs to ring/face of job a1 now. Its bytes are those of attachment"),
        "{said}"
    );
    attach(&bench, "report.pdf", &pdf(), "ring");
    assert_eq!(kept(&folder(&bench)), [name_of(&photo(1)), name_of(&pdf())].into());
    assert_eq!(fs::read(folder(&bench).join(name_of(&photo(1)))).unwrap(), photo(1));
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(
        (mode(&folder(&bench)), mode(&folder(&bench).join(name_of(&pdf())))),
        (0o750, 0o640)
    );

    let lines = bench.lines(&["attachments", "a1"]);
    let seen: Vec<_> = lines
        .iter()
        .map(|one| (one["part"].as_str(), one["check"].as_str(), one["type"].as_str().unwrap()))
        .collect();
    assert_eq!(
        seen,
        [(None, None, "jpeg"), (Some("ring"), Some("face"), "jpeg"), (Some("ring"), None, "pdf")]
    );
    assert_eq!(
        (&lines[1]["by"], &lines[1]["what"], &lines[1]["wrong"]),
        (&"Ada".into(), &"pitting".into(), &serde_json::Value::Null)
    );
    assert_eq!(fs::read(lines[2]["path"].as_str().unwrap()).unwrap(), pdf());
    let shown = bench.ok(&["job", "show", "a1"]);
    assert!(shown.contains("by Ada: pitting") && shown.contains("picture"), "{shown}");

    // Taken back, it is still there, with the reason.
    let id = lines[1]["id"].to_string();
    bench.ok(&["attach", "a1", "--remove", &id, "--why", "another spindle"]);
    assert!(
        bench
            .refused(2, &["attach", "a1", "--remove", &id, "--why", "x"])
            .contains("taken back before")
    );
    bench.stop();
    bench.start();
    let lines = bench.lines(&["attachments", "a1"]);
    assert_eq!(lines[1]["taken_back"]["why"], "another spindle");
    assert!(bench.ok(&["attachments", "a1"]).contains("TAKEN BACK: another spindle"));
    assert!(
        bench.ok(&["verify"]).contains("Read 2 pictures and papers.\nAll is as it was stored.")
    );
    // A closed job takes none; opened again it does.
    bench.ok(&["job", "close", "a1", "--why", "the test is over"]);
    assert!(
        bench
            .refused(2, &["attach", "a1", &path, "--what", "late"])
            .contains("no open job is named \"a1\"")
    );
    bench.ok(&["job", "reopen", "a1"]);
    bench.ok(&["attach", "a1", &path, "--what", "late"]);
}

#[test]
fn a_damaged_or_missing_one_is_told_by_verify_at_the_start_and_in_the_list() {
    let mut bench = bench();
    let (one, two, three) = (photo(1), photo(2), photo(3));
    for (name, bytes) in [("one.jpg", &one), ("two.jpg", &two), ("three.jpg", &three)] {
        attach(&bench, name, bytes, "ring");
    }
    let at = |bytes: &[u8]| folder(&bench).join(name_of(bytes));
    let mut changed = one.clone();
    changed[one.len() / 2] ^= 1;
    let (first, second, third) = (at(&one), at(&two), at(&three));
    fs::write(&first, &changed).unwrap();
    fs::remove_file(&second).unwrap();
    fs::File::options().write(true).open(&third).unwrap().set_len(10).unwrap();

    let output = bench.run(&["verify"]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1), "{said}");
    let told = |name: &str, what: &str| {
        let line =
            said.lines().find(|line| line.contains(name)).unwrap_or_else(|| panic!("{said}"));
        assert!(line.contains(what) && line.starts_with("DIFFERENT  attached, row "), "{line}");
    };
    told("one.jpg", "bytes of it have changed");
    told("two.jpg", "its file is missing");
    told("three.jpg", "its file has 10 bytes");
    assert!(said.ends_with("NOT AS STORED.\n"), "{said}");
    let listed = bench.run(&["attachments", "a1"]);
    assert_eq!(listed.status.code(), Some(1));
    assert!(String::from_utf8(listed.stdout).unwrap().contains("ITS FILE IS MISSING"));

    // The start tells all of it; the rest goes on.
    bench.stop();
    bench.start();
    let alerts = bench.lines(&["alerts"]);
    let of = |bench: &Bench| {
        let alerts = bench.lines(&["alerts", "--state", "open"]);
        alerts.iter().filter(|one| one["kind"] == "record-damaged").count()
    };
    assert_eq!(of(&bench), 3, "{alerts:?}");
    assert!(bench.ok(&["alerts"]).contains("two.jpg"));
    // The same file again mends it at once, whichever way it was damaged.
    attach(&bench, "one.jpg", &one, "ring");
    attach(&bench, "two.jpg", &two, "ring");
    assert_eq!(of(&bench), 1);
    fs::write(&third, &three).unwrap();
    assert!(bench.ok(&["verify"]).ends_with("All is as it was stored.\n"));
    bench.stop();
    bench.start();
    assert_eq!(of(&bench), 0);
}

#[test]
fn the_service_need_not_be_able_to_read_the_file() {
    let mut bench = made();
    let Some(serve) = as_nobody(&bench, &["serve"]) else {
        return skipped("a file that the service may not read", "nobody else can be had");
    };
    bench.launch_as(serve);
    bench.until_up();
    bench.ok(&["job", "open", "a1", "--plan", "held"]);
    let path = file(&bench, "mine.jpg", &photo(4));
    fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).unwrap();
    bench.ok(&["attach", "a1", &path, "--what", "mine alone"]);
    assert_eq!(fs::read(folder(&bench).join(name_of(&photo(4)))).unwrap(), photo(4));
    assert!(bench.ok(&["verify"]).ends_with("All is as it was stored.\n"));
}

#[test]
fn a_job_has_a_limit_that_bench_toml_sets() {
    let mut bench = made();
    let text = fs::read_to_string(bench.path("bench.toml")).unwrap();
    fs::write(bench.path("bench.toml"), text.replacen("[bench]", "[bench]\nattached_mb = 1", 1))
        .unwrap();
    bench.start();
    bench.ok(&["job", "open", "a1", "--plan", "held"]);
    let long = |number: u8| [photo(number), vec![0; 600_000]].concat();
    attach(&bench, "one.jpg", &long(1), "ring");
    let path = file(&bench, "two.jpg", &long(2));
    let said = bench.refused(2, &["attach", "a1", &path, "--what", "x"]);
    assert!(said.contains("job a1 has 1 of the 1 MB that one job may have"), "{said}");
    assert!(said.contains("`attached_mb` under [bench]"), "{said}");
    assert_eq!(
        kept(&folder(&bench)),
        [name_of(&long(1))].into(),
        "a refused file leaves nothing behind"
    );
}
