//! Pictures that are attached while the service dies.

use std::collections::BTreeSet;
use std::fs;
use std::time::{Duration, Instant};

use crate::rig::{Bench, Dice, Make};
use crate::slips::{GAUGE, PLAN};
use crate::{Outcome, Play, Row};

pub(crate) const ROWS: [Row; 1] = [Row {
    fault: "the service is killed while a picture is attached",
    how: "`SIGKILL` at random moments of an `attach` of some megabytes, whose client comes back by itself; \
          `verify` after each, and at the end no file that no row names",
    share: |count| (count / 4).max(5),
    play,
}];

/// Kills in one record; then another begins.
const IN_ONE: usize = 30;

fn play(play: &mut Play) -> Outcome {
    let mut outcome = play.in_records(IN_ONE, one_record);
    outcome.told =
        "the client waits, sends the same request again, and says what came of it".into();
    outcome
}

/// A picture that no other try has.
fn picture(dice: &mut Dice) -> Vec<u8> {
    let mut bytes = Vec::new();
    image::codecs::jpeg::JpegEncoder::new(&mut bytes)
        .encode_image(&image::RgbImage::new(32, 32))
        .unwrap();
    // What stands behind the end of a picture belongs to the file.
    let many = 100_000 + dice.below(5_000_000);
    bytes.extend(dice.below(u64::MAX).to_le_bytes());
    bytes.resize(usize::try_from(many).unwrap(), 7);
    bytes
}

fn one_record(play: &mut Play, round: u64, count: usize, outcome: &mut Outcome) {
    let mut dice = Dice::seeded(play.seed * 1000 + round);
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: PLAN });
    let text = fs::read_to_string(bench.path("bench.toml")).unwrap();
    let text = text.replacen("[bench]", "[bench]\nattached_mb = 10000", 1);
    fs::write(bench.path("bench.toml"), text).unwrap();
    bench.start();
    bench.ok(&["job", "open", "f1", "--plan", "held"]);
    let mut acknowledged = BTreeSet::new();
    for _ in 0..count {
        let bytes = picture(&mut dice);
        let path = bench.path("picture.jpg");
        fs::write(&path, &bytes).unwrap();
        let sending = bench.spawn(&["attach", "f1", path.to_str().unwrap(), "--what", "x"]);
        std::thread::sleep(Duration::from_micros(dice.below(150_000)));
        let began = Instant::now();
        bench.kill();
        bench.launch();
        bench.until_up();
        outcome.answered_after(began.elapsed());
        if sending.wait_with_output().unwrap().status.success() {
            acknowledged.insert(blake3::hash(&bytes).to_hex().to_string());
            outcome.acknowledges("pictures", 1);
        }
        outcome.tries += 1;
        play.progress(outcome);
    }
    let lines = bench.lines(&["attachments", "f1"]);
    let named = lines.iter().map(|one| one["digest"].as_str().unwrap().to_owned());
    let named: BTreeSet<String> = named.collect();
    outcome.lost += acknowledged.difference(&named).count();
    outcome.doubled += lines.len() - named.len();
    let verified = bench.run(&["verify"]);
    outcome.must(verified.status.success(), || String::from_utf8_lossy(&verified.stdout).into());
    bench.stop();
    bench.launch();
    bench.until_up();
    let kept = fs::read_dir(bench.state.join("attached")).map_or_else(
        |_| BTreeSet::new(),
        |all| all.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect(),
    );
    outcome
        .must(kept == named, || format!("{} files of {} that are named", kept.len(), named.len()));
    bench.stop();
}
