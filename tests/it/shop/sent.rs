//! A bench's record goes to the shop, row by row as it is stored.

use std::fs;
use std::time::Duration;

use super::{Forward, arrives, bench_of, link, measured, newest};
use crate::postgres::{DATABASE, Postgres};
use crate::rig::Bench;

#[test]
fn every_row_is_in_the_shop_as_it_is_on_the_bench() {
    let server = Postgres::of_a_shop(&["north"]);
    let bench = bench_of(&server, "north");
    measured(&bench, "J-1", 40);
    bench.ok(&["note", "J-1", "came in dirty: \"Öl\"", "--by", "Ada"]);
    picture(&bench);
    let forward = Forward::of(&bench);
    arrives(&server, &bench, "north");
    assert!(newest(&bench) > 512, "several blocks are sealed");
    assert_eq!(server.value("SELECT count(*) FROM seal"), (newest(&bench) / 256).to_string());
    // What comes now goes, too, and before long.
    bench.touches(&bench.plate, "plate", &["+0.00003"]);
    measured(&bench, "J-2", 2);
    arrives(&server, &bench, "north");
    assert_eq!(link(&bench)["to"], format!("127.0.0.1:{}", server.port));
    // What a job is looked up by.
    let found =
        server.sql(DATABASE, "SELECT job, word FROM sought WHERE what = 'serial' ORDER BY job");
    assert_eq!(found.iter().map(|row| row[1].as_str()).collect::<Vec<_>>(), ["s-j-1", "s-j-2"]);
    // The picture is there as bytes.
    let kept = fs::read_dir(bench.state.join("attached")).unwrap().next().unwrap().unwrap();
    let bytes = fs::read(kept.path()).unwrap();
    let theirs = server.value(&format!(
        "SELECT encode(bytes, 'hex') FROM paper WHERE kept_as = '{}'",
        kept.file_name().display()
    ));
    assert!(theirs.len() == bytes.len() * 2 && theirs.len() > 100);
    let hex = bytes.iter().fold(String::new(), |hex, byte| hex + &format!("{byte:02x}"));
    assert_eq!(theirs, hex);
    let status = || String::from_utf8(bench.run(&["status"]).stdout).unwrap();
    let (to, newest) = (format!("shop's record 127.0.0.1:{}: ", server.port), newest(&bench));
    assert!(status().contains(&format!("{to}everything was sent, last ")), "{}", status());
    assert_eq!(link(&bench)["newest"], newest);
    assert_eq!(forward.ended(), Some(0));
    assert!(
        status().contains(&format!("{to}nothing is sent: tenths forward does not run")),
        "{}",
        status()
    );
    // The next one finds its place by itself.
    measured(&bench, "J-3", 1);
    let _forward = Forward::of(&bench);
    arrives(&server, &bench, "north");
}

/// Attaches a small picture.
fn picture(bench: &Bench) {
    let file = bench.path("p.png");
    image(&file);
    bench.ok(&["attach", "J-1", file.to_str().unwrap(), "--what", "as it came in"]);
}

fn image(path: &std::path::Path) {
    let pixels =
        image::RgbImage::from_fn(16, 16, |x, y| image::Rgb([u8::try_from(x * y).unwrap(), 7, 9]));
    pixels.save(path).unwrap();
}

#[test]
fn a_clock_a_day_off_is_told_and_does_no_harm() {
    let Some(library) = faketime() else {
        return crate::rig::skipped("a_clock_a_day_off", "there is no libfaketime");
    };
    let server = Postgres::of_a_shop(&["north", "south"]);
    let mut north = bench_of(&server, "north");
    north.stop();
    // Wound back in the middle of its work; then ahead.
    for (ahead, job, said) in [("+1d", "J-a", "24 h ahead of"), ("-2d", "J-b", "2 days behind")] {
        let clock =
            ["env".to_owned(), format!("LD_PRELOAD={library}"), format!("FAKETIME={ahead}")];
        north.before = clock.to_vec();
        north.start();
        measured(&north, job, 3);
        let forward = Forward::of(&north);
        arrives(&server, &north, "north");
        let remark = link(&north)["remark"].as_str().unwrap().to_owned();
        assert!(
            remark.contains("the clock of north is") && remark.contains("keep their order"),
            "{remark}"
        );
        assert!(remark.contains(said), "{remark}");
        forward.kill();
        north.stop();
    }
    let south = bench_of(&server, "south");
    measured(&south, "J-9", 1);
    let _forward = Forward::of(&south);
    arrives(&server, &south, "south");
    assert!(link(&south)["remark"].is_null());
}

/// The library that gives a program another clock.
fn faketime() -> Option<String> {
    let places = fs::read_dir("/usr/lib").into_iter().flatten().flatten();
    let named = places.map(|place| place.path().join("faketime/libfaketime.so.1"));
    named.into_iter().find(|path| path.exists()).map(|path| path.display().to_string())
}

#[test]
fn it_gives_way_to_everybody_else() {
    let server = Postgres::of_a_shop(&["north"]);
    let bench = bench_of(&server, "north");
    let forward = Forward::of(&bench);
    arrives(&server, &bench, "north");
    std::thread::sleep(Duration::from_millis(100));
    for task in fs::read_dir(format!("/proc/{}/task", forward.child.id())).unwrap() {
        let stat = fs::read_to_string(task.unwrap().path().join("stat")).unwrap();
        let fields: Vec<&str> = stat.rsplit(')').next().unwrap().split_whitespace().collect();
        // Fields 19 (nice) and 41 (policy; 5 is SCHED_IDLE) of proc(5), counted from the third here.
        assert!(fields[16] == "10" || fields[38] == "5", "{stat}");
    }
}
