//! "The bar is seated", said in every possible way, with every kind of gauge: it is stored and is no reading, and
//! nothing of the seating is taken before it.

use std::fs;
use std::time::Duration;

use wire::code::{Action, Code};

use crate::hands::Keys;
use crate::rig::{Bench, Gauge, Make};
use crate::watch::Terminal;

const PLAN: &str = "name = \"held\"\nunit = \"in\"\n[[part]]\nname = \"bar\"\nkind = \"bar\"\n\
    [[part.check]]\nname = \"out\"\nmeasures = \"bar-runout\"\ngauge = \"plate\"\npositions = 8\n\
    seatings = 4\ntouch = \"outside\"\nseating = \"0.000004 in\"\nbar = \"0.00001 in\"\n\
    stand = \"0 in\"\nclosure = false\nstations = [{ at = \"4 in\", tolerance = \"0.0002 in\" }]\n";

const STATION: &str = "[[station]]\nname = \"one\"\ngauges = [\"plate\"]\n\
                       pedal = \"keys:{dir}/pedal\"\nscanner = \"{dir}/scanner\"\n";

/// A gauge that answers a question mark.
const ASKED: &str = "about = \"asked by a question mark\"\nframes = \"line\"\nvalue = \"decimal\"\n\
    pattern = '(?<sign>[+-])(?<digits>[0-9]+\\.[0-9]+)'\n[ask]\nsend = \"?\\r\"\ntimeout_ms = 400\n";

struct Shop {
    bench: Bench,
    pedal: Keys,
    scanner: Gauge,
}

/// A bench whose only gauge is read so, the bar seated at 0 under way.
fn shop(capture: &str) -> Shop {
    let travel = "travel = [\"-0.010 in\", \"0.010 in\"]\nrest = \"-0.0080 in\"\n";
    let stream = ["settle", "sweep"].contains(&capture);
    let gauge = format!(
        "unit = \"in\"\nresolution = \"0.00001 in\"\nrepeatability = \"0.000006 in\"\n\
         uncertainty = \"0.000006 in\"\ncapture = \"{capture}\"\nrepeat_ms = 0\nmax_rate = 0\n{}",
        if stream { travel } else { "" }
    );
    let mut bench = Bench::new(&Make { gauge: &gauge, more: STATION, plan: PLAN });
    if capture == "request" {
        let path = bench.path("bench.toml");
        let profiles = bench.path("profiles");
        fs::create_dir(&profiles).unwrap();
        fs::write(profiles.join("asked.toml"), ASKED).unwrap();
        let text = fs::read_to_string(&path).unwrap().replace("signed-decimal", "asked");
        let own = |line: &str| line.starts_with("profiles = ");
        let lines =
            text.lines().map(|line| if own(line) { "profiles = \"profiles\"" } else { line });
        fs::write(&path, lines.collect::<Vec<_>>().join("\n")).unwrap();
    }
    let pedal = Keys::plugged(&bench.path("pedal"));
    let scanner = Gauge::plugged(bench.path("scanner"));
    bench.start();
    bench.until("both are read", || bench.lines(&["alerts", "--state", "open"]).is_empty());
    bench.ok(&["job", "open", "j1", "--plan", "held"]);
    bench.ok(&["measure", "bar/out"]);
    Shop { bench, pedal, scanner }
}

impl Shop {
    /// A whole seating keyed in; what is asked for then.
    fn entered(&self, touches: usize) -> String {
        let values: Vec<&str> = [
            "enter", "0", "0.00001", "0.00002", "0.00001", "0", "-0.00001", "-0.00002", "-0.00001",
        ]
        .into_iter()
        .take(touches + 1)
        .collect();
        self.bench.ok(&values)
    }

    fn foot(&self, held_ms: u64) {
        self.pedal.foot(true);
        std::thread::sleep(Duration::from_millis(held_ms));
        self.pedal.foot(false);
    }

    fn scan(&self, action: Action) {
        self.scanner.send(&format!("{}\r", Code::Action(action)));
    }

    /// What is to be done, as the status tells it.
    fn stands(&self) -> String {
        String::from_utf8(self.bench.run(&["status"]).stdout).unwrap()
    }

    #[track_caller]
    fn until_stands(&self, part: &str) {
        self.bench.until(part, || self.stands().contains(part));
    }

    /// Nothing was read, nothing was asked of the gauge, nothing is left to tell.
    #[track_caller]
    fn only_the_word(&self, readings: usize) {
        assert_eq!(self.bench.readings("j1").len(), readings, "the word is no reading");
        assert!(self.bench.plate.received().is_empty(), "the gauge was asked");
        let open = self.bench.lines(&["alerts", "--state", "open"]);
        assert!(open.is_empty(), "{open:?}");
    }
}

const TO_SEAT: &str = "take the bar out, turn it and seat it, then take";

fn seated_every_way(capture: &str) {
    let mut shop = shop(capture);
    let said = shop.entered(8);
    assert!(said.contains("Take the bar out, turn it to 90, seat it"), "{said}");
    shop.until_stands(TO_SEAT);
    // The foot that may have taken the last touch is not the one that says "seated".
    shop.foot(100);
    shop.bench.until("it is told", || {
        let open = shop.bench.lines(&["alerts", "--state", "open"]);
        open.iter().any(|one| one["text"].as_str().unwrap().contains("the last touch was just now"))
    });
    assert!(shop.stands().contains(TO_SEAT));
    std::thread::sleep(Duration::from_millis(2100));
    shop.foot(100);
    shop.bench.until("the bar is seated", || !shop.stands().contains(TO_SEAT));
    assert!(shop.stands().contains("bar at 90, touch 1 of 8"), "{}", shop.stands());
    shop.only_the_word(8);
    // A hold takes the word back, and no touch with it.
    shop.foot(1200);
    shop.until_stands(TO_SEAT);
    // A foot that comes down may mean a touch: a gauge that is asked is asked then.
    assert_eq!(shop.bench.plate.received() == b"?\r", capture == "request");
    shop.only_the_word(8);

    shop.scan(Action::Take);
    shop.bench.until("the bar is seated", || !shop.stands().contains(TO_SEAT));
    shop.only_the_word(8);
    shop.scan(Action::Void);
    shop.until_stands(TO_SEAT);
    shop.only_the_word(8);
    shop.scan(Action::Take);
    shop.bench.until("the bar is seated", || !shop.stands().contains(TO_SEAT));
    shop.entered(8);
    shop.until_stands("bar at 180");

    let screen = Terminal::with_watch(&shop.bench, (100, 40), &[]);
    screen.until(&["space the bar is seated"]);
    screen.press(" ");
    shop.bench.until("the bar is seated", || !shop.stands().contains(TO_SEAT));
    shop.only_the_word(16);
    drop(screen);
    shop.entered(8);
    // It is still a fact after a restart.
    shop.bench.ok(&["take"]);
    shop.bench.kill();
    shop.bench.start();
    assert!(shop.stands().contains("bar at 270, touch 1 of 8"), "{}", shop.stands());
    let said = shop.entered(8);
    assert!(said.contains("Done."), "{said}");
    assert_eq!(shop.bench.verdict("j1", 1)["taken"], 32);
    shop.bench.ok(&["verify"]);
    shop.bench.stop();
}

#[test]
fn a_bar_is_seated_by_foot_scan_and_key_with_a_gauge_that_sends() {
    seated_every_way("send");
}

#[test]
fn a_bar_is_seated_by_foot_scan_and_key_with_a_stream() {
    seated_every_way("settle");
}

#[test]
fn a_bar_is_seated_by_foot_scan_and_key_with_a_gauge_that_sweeps() {
    seated_every_way("sweep");
}

#[test]
fn a_bar_is_seated_by_foot_scan_and_key_with_a_gauge_that_is_asked() {
    seated_every_way("request");
}

/// A stream goes on while the bar is out: what stands still then is no touch, nor is the first still
/// value after the word without a lift.
#[test]
fn a_stream_takes_nothing_while_the_bar_is_out() {
    let shop = shop("settle");
    shop.entered(8);
    let stand = |text: &str, ms: u64| {
        for _ in 0..ms / 33 {
            shop.bench.plate.send(&format!("{text}\r"));
            std::thread::sleep(Duration::from_millis(33));
        }
    };
    stand("-0.00800", 600);
    stand("+0.00003", 900);
    stand("-0.00800", 600);
    stand("+0.00004", 900);
    assert_eq!(shop.bench.readings("j1").len(), 8, "the bar is out");
    shop.bench.ok(&["take"]);
    stand("+0.00004", 900);
    assert_eq!(shop.bench.readings("j1").len(), 8, "nothing was lifted since");
    stand("-0.00800", 600);
    stand("+0.00002", 900);
    shop.bench.until("the touch", || shop.bench.readings("j1").len() == 9);
    let placed = shop.bench.placed("j1");
    assert_eq!(placed[8]["value"], "0.00002");
    assert_eq!(placed[8]["position"], 8);
}
