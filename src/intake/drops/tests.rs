use std::fs;
use std::io::Write as _;
use std::path::Path;

use tokio::sync::mpsc;

use super::*;
use crate::{Arrival, StopSwitch};
use config::Tags;
use gauge::{Columns, RowFormat};
use quantity::{Name, Unit};

fn a_drop(folder: &Path, complete: Complete) -> Drop {
    Drop {
        name: Name::new("logger").unwrap(),
        folder: folder.to_owned(),
        gauge: Name::new("height").unwrap(),
        tags: Tags::Active,
        format: format(),
        complete,
        quiet_us: 200_000,
    }
}

fn format() -> RowFormat {
    RowFormat {
        columns: Columns { value: "Value".to_owned(), ..Columns::default() },
        delimiter: b',',
        decimal: b'.',
        skip_lines: 0,
        unit: Some(Unit::Inch),
        time_zone: None,
    }
}

/// A watcher that runs, and a record that takes whatever parses.
struct Desk {
    news: mpsc::Receiver<Arrival>,
    _switch: StopSwitch,
}

/// What a file brought.
#[derive(Debug, PartialEq, Eq)]
struct Brought {
    name: String,
    rows: u32,
    found: bool,
    why: String,
}

fn start(drop: Drop) -> Desk {
    let (sender, news) = mpsc::channel(8);
    let (switch, stop) = StopSwitch::new();
    tokio::spawn(watch_drop(drop, Outlet::<Arrival>::new(sender), stop));
    Desk { news, _switch: switch }
}

impl Desk {
    async fn folder(&mut self) -> Option<String> {
        let news = tokio::time::timeout(Duration::from_secs(8), self.news.recv()).await;
        let News::Folder { missing, .. } = news.expect("news of the folder").unwrap().news else {
            panic!("something else than the folder")
        };
        missing
    }

    /// The next file within `wait`, with what became of it already told.
    async fn file_within(&mut self, wait: Duration) -> Option<Brought> {
        loop {
            let news = tokio::time::timeout(wait, self.news.recv()).await.ok()?.unwrap().news;
            if let News::Waiting { .. } = news {
                continue;
            }
            let News::File(read) = news else { panic!("no file") };
            let seen = &read.file.seen;
            let bad: Vec<String> = read.file.bad.iter().map(ToString::to_string).collect();
            let why = if bad.is_empty() { seen.why.clone() } else { bad.join("\n") };
            let brought = Brought {
                name: seen.name.clone(),
                rows: seen.rows,
                found: read.found,
                why: why.clone(),
            };
            let fate = if why.is_empty() { Fate::Taken } else { Fate::Refused(why) };
            read.fate.send(fate).unwrap();
            return Some(brought);
        }
    }

    async fn file(&mut self) -> Brought {
        self.file_within(Duration::from_secs(8)).await.expect("a file within eight seconds")
    }

    async fn nothing(&mut self) {
        let brought = self.file_within(Duration::from_millis(300)).await;
        assert_eq!(brought, None);
    }
}

fn brought(name: &str, rows: u32) -> Brought {
    let (name, why) = (name.to_owned(), String::new());
    Brought { name, rows, found: false, why }
}

#[tokio::test]
async fn a_file_is_read_when_its_writer_closes_it_and_not_before() {
    let folder = tempfile::tempdir().unwrap();
    let mut desk = start(a_drop(folder.path(), Complete::Close));
    assert_eq!(desk.folder().await, None);
    let mut file = fs::File::create(folder.path().join("a.csv")).unwrap();
    file.write_all(b"Value\n0.1\n0.2").unwrap();
    desk.nothing().await;
    file.write_all(b"5\n").unwrap();
    drop(file);
    assert_eq!(desk.file().await, brought("a.csv", 2));
}

#[tokio::test]
async fn a_file_renamed_in_is_complete_and_temporary_names_are_not_looked_at() {
    let folder = tempfile::tempdir().unwrap();
    let mut desk = start(a_drop(folder.path(), Complete::Close));
    assert_eq!(desk.folder().await, None);
    fs::write(folder.path().join("a.csv.part"), "Value\n0.1\n").unwrap();
    fs::write(folder.path().join(".hidden.csv"), "Value\n0.1\n").unwrap();
    desk.nothing().await;
    fs::rename(folder.path().join("a.csv.part"), folder.path().join("a.csv")).unwrap();
    assert_eq!(desk.file().await, brought("a.csv", 1));
}

#[tokio::test]
async fn a_file_that_grew_gives_only_its_new_rows() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.csv");
    let mut desk = start(a_drop(folder.path(), Complete::Close));
    assert_eq!(desk.folder().await, None);
    fs::write(&path, "Value\n0.1\n0.2\n").unwrap();
    assert_eq!(desk.file().await, brought("a.csv", 2));
    let append = |text: &str| {
        let mut file = fs::File::options().append(true).open(&path).unwrap();
        file.write_all(text.as_bytes()).unwrap();
    };
    append("0.3\n");
    assert_eq!(desk.file().await, brought("a.csv", 3));
    append("0.4\n0.5\n");
    assert_eq!(desk.file().await, brought("a.csv", 5));
}

fn read_now(drop: &Drop, name: &str) -> Box<DroppedFile> {
    let Content::Whole { file, .. } = read::read(drop, OsStr::new(name)) else {
        panic!("no whole file")
    };
    file
}

#[test]
fn another_file_that_begins_alike_is_another_series() {
    let folder = tempfile::tempdir().unwrap();
    let put = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    put("a.csv", "Value\n0.1\n");
    put("b.csv", "Value\n0.1\n0.2\n");
    put("c.csv", "Value\n0.11\n0.2\n");
    let series = |tags, name| {
        let drop = Drop { tags, ..a_drop(folder.path(), Complete::Close) };
        read_now(&drop, name).seen.series
    };
    assert_ne!(series(Tags::Active, "a.csv"), series(Tags::Active, "b.csv"));
    // With columns that tag them, the rows are the same whatever the file is called.
    assert_eq!(series(Tags::Columns, "a.csv"), series(Tags::Columns, "b.csv"));
    assert_ne!(series(Tags::Columns, "a.csv"), series(Tags::Columns, "c.csv"));
    // A file that grows stays the series that it is.
    let before = series(Tags::Active, "a.csv");
    put("a.csv", "Value\n0.1\n0.2\n");
    assert_eq!(series(Tags::Active, "a.csv"), before);
}

#[tokio::test]
async fn a_last_line_without_its_end_waits_for_it_or_for_quiet() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.csv");
    let mut desk = start(a_drop(folder.path(), Complete::Close));
    assert_eq!(desk.folder().await, None);
    fs::write(&path, "Value\n0.1\n0.2").unwrap();
    assert_eq!(desk.file_within(Duration::from_millis(100)).await, None, "a cut number was read");
    fs::write(&path, "Value\n0.1\n0.25\n").unwrap();
    assert_eq!(desk.file_within(Duration::from_millis(150)).await, Some(brought("a.csv", 2)));
    fs::write(folder.path().join("b.csv"), "Value\r0.1\r0.2").unwrap();
    assert_eq!(desk.file().await, brought("b.csv", 2), "some never end their last line");
}

#[tokio::test]
async fn what_is_no_plain_file_is_told_once_and_never_opened() {
    use std::os::unix::fs::OpenOptionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("pipe.csv");
    let mut desk = start(a_drop(folder.path(), Complete::Quiet));
    assert_eq!(desk.folder().await, None);
    rustix::fs::mkfifoat(rustix::fs::CWD, &pipe, rustix::fs::Mode::from_raw_mode(0o666)).unwrap();
    let told = desk.file().await;
    assert!(told.why.starts_with("it is a pipe"), "{}", told.why);
    for _ in 0..100 {
        // With no reader there is nobody to write to.
        let flags = rustix::fs::OFlags::NONBLOCK.bits().cast_signed();
        let written = fs::File::options().write(true).custom_flags(flags).open(&pipe);
        assert!(written.is_err(), "the pipe was opened");
        fs::set_permissions(&pipe, std::os::unix::fs::PermissionsExt::from_mode(0o644)).unwrap();
        assert_eq!(desk.file_within(Duration::from_millis(5)).await, None, "told again");
    }
}

#[tokio::test]
async fn a_found_file_waits_until_it_stands_still() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("old.csv");
    fs::write(&path, "Value\n0.1\n").unwrap();
    let mut desk = start(a_drop(folder.path(), Complete::Quiet));
    assert_eq!(desk.folder().await, None);
    assert_eq!(desk.file_within(Duration::from_millis(120)).await, None);
    let mut file = fs::File::options().append(true).open(&path).unwrap();
    file.write_all(b"0.2\n").unwrap();
    assert_eq!(desk.file_within(Duration::from_millis(120)).await, None, "it moved meanwhile");
    let found = desk.file().await;
    assert_eq!(found, brought("old.csv", 2), "it was written while the folder was watched");
    desk.nothing().await;
}

#[tokio::test]
async fn reasons_are_written_beside_a_refused_file_and_go_when_it_is_mended() {
    let folder = tempfile::tempdir().unwrap();
    let (path, why) = (folder.path().join("a.csv"), folder.path().join("a.csv.why"));
    let mut desk = start(a_drop(folder.path(), Complete::Close));
    assert_eq!(desk.folder().await, None);
    fs::write(&path, "Value\n0.1\nabc\n0.2\nx\n").unwrap();
    let refused = desk.file().await;
    assert!(refused.why.contains("line 3:") && refused.why.contains("line 5:"), "{}", refused.why);
    desk.nothing().await;
    assert_eq!(fs::read_to_string(&why).unwrap(), format!("{}\n", refused.why));
    fs::write(&path, "Value\n0.1\n0.2\n").unwrap();
    assert_eq!(desk.file().await.why, "");
    desk.nothing().await;
    assert!(!why.exists());
}

#[tokio::test]
async fn links_are_not_followed() {
    let (folder, outside) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let target = outside.path().join("a.csv");
    fs::write(&target, "Value\n0.1\n").unwrap();
    let mut desk = start(a_drop(folder.path(), Complete::Quiet));
    assert_eq!(desk.folder().await, None);
    std::os::unix::fs::symlink(&target, folder.path().join("link.csv")).unwrap();
    fs::create_dir(folder.path().join("folder.csv")).unwrap();
    let mut told = [desk.file().await, desk.file().await];
    told.sort_by(|one, other| one.name.cmp(&other.name));
    assert!(told[0].why.starts_with("it is a folder"), "{}", told[0].why);
    assert!(told[1].why.starts_with("it is a link"), "{}", told[1].why);
    fs::write(folder.path().join("folder.csv/x.csv"), "Value\n0.1\n").unwrap();
    fs::write(&target, "Value\n0.1\n0.2\n").unwrap();
    desk.nothing().await;
}

#[tokio::test]
async fn a_folder_that_vanishes_and_returns_is_looked_through() {
    let parent = tempfile::tempdir().unwrap();
    let folder = parent.path().join("drop");
    let mut desk = start(a_drop(&folder, Complete::Close));
    assert!(desk.folder().await.is_some_and(|why| why.contains("is not there; make it")));
    fs::create_dir(&folder).unwrap();
    assert_eq!(desk.folder().await, None);
    fs::write(folder.join("a.csv"), "Value\n0.1\n").unwrap();
    assert_eq!(desk.file().await, brought("a.csv", 1));
    fs::rename(&folder, parent.path().join("away")).unwrap();
    assert!(desk.folder().await.is_some_and(|why| why.contains("is gone; put it back")));
    fs::write(parent.path().join("away").join("b.csv"), "Value\n0.2\n").unwrap();
    fs::rename(parent.path().join("away"), &folder).unwrap();
    assert_eq!(desk.folder().await, None);
    let found = desk.file().await;
    assert_eq!(found, Brought { found: true, ..brought("b.csv", 1) }, "only what is new");
    desk.nothing().await;
}

#[test]
fn a_file_that_is_too_long_is_refused_with_a_way_out() {
    let folder = tempfile::tempdir().unwrap();
    let file = fs::File::create(folder.path().join("long.csv")).unwrap();
    file.set_len(read::MAX_BYTES + 1).unwrap();
    let drop = a_drop(folder.path(), Complete::Close);
    let file = read_now(&drop, "long.csv");
    assert!(file.seen.why.contains("more than 16 MiB; split it"), "{}", file.seen.why);
    let rows = format!("Value\n{}", "0.1\n".repeat(100_001));
    fs::write(folder.path().join("many.csv"), rows).unwrap();
    let file = read_now(&drop, "many.csv");
    assert!(file.seen.why.contains("100001 rows"), "{}", file.seen.why);
}
