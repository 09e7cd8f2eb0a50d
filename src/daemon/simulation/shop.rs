//! The invented shop: its configuration in several versions, and what its gauges and loggers write.

use std::path::Path;

use super::dice::Dice;
use config::{self, Loaded};

/// The gauge that streams, and where its stylus rests free, in steps of its display.
pub(super) const STREAM: &str = "slow";
pub(super) const REST: i64 = -4000;

/// The gauges that answer when they are asked. Both are on one line that sends back what it is sent. The
/// button of the second counts too.
pub(super) const ASKED: [&str; 2] = ["probe", "caliper"];

/// How long they have to answer, in microseconds.
pub(super) const ANSWER_US: u64 = 400_000;

/// The profile of such a gauge.
const ASKED_PROFILE: &str = r#"
about = "asked by its channel"
frames = "line"
value = "decimal"
pattern = '(?<channel>[0-9]):(?<sign>[+-])(?<digits>[0-9]+\.[0-9]+)'

[tokens]
error = ['(?<channel>[0-9]):E[0-9]+']

[ask]
send = "?{channel}\r"
timeout_ms = 400
echo = true
"#;

/// What may change when the configuration is read again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(clippy::struct_excessive_bools, reason = "each stands for itself")]
pub(super) struct Layout {
    /// Whether the gauge `right` is there.
    right: bool,
    /// Whether `plate` and its checks have a coarser set-up.
    pub(super) coarse: bool,
    /// Whether there are two stations instead of one.
    apart: bool,
    /// Whether the plans ask for less.
    wide: bool,
}

impl Layout {
    pub(super) const FIRST: Self = Self { right: true, coarse: false, apart: false, wide: false };

    /// Another layout; usually a small change.
    pub(super) fn changed(self, dice: &mut Dice) -> Self {
        let mut new = self;
        match dice.below(5) {
            0 | 1 => new.right = !new.right,
            2 => new.coarse = !new.coarse,
            3 => new.wide = !new.wide,
            _ => new.apart = !new.apart,
        }
        new
    }

    /// Writes the configuration and reads it as the service does.
    pub(super) fn load(self, folder: &Path) -> Loaded {
        let plans = folder.join("plans");
        for sub in ["plans", "drops/height", "drops/plate", "drops/left"] {
            std::fs::create_dir_all(folder.join(sub)).unwrap();
        }
        let profiles = folder.join("profiles");
        if std::fs::create_dir(&profiles).is_ok() {
            let kept =
                Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("config/profiles");
            for name in ["signed-decimal.toml", "channel-value.toml"] {
                std::fs::copy(kept.join(name), profiles.join(name)).unwrap();
            }
            std::fs::write(profiles.join("asked.toml"), ASKED_PROFILE).unwrap();
        }
        std::fs::write(folder.join("bench.toml"), self.bench()).unwrap();
        std::fs::write(plans.join("spindle.toml"), self.spindle()).unwrap();
        std::fs::write(plans.join("nut.toml"), self.nut()).unwrap();
        let checked = config::load(&folder.join("bench.toml"));
        checked.loaded.unwrap_or_else(|| panic!("{:#?}", checked.findings))
    }

    #[expect(clippy::too_many_lines, reason = "it is one file")]
    fn bench(self) -> String {
        let step = if self.coarse { "0.0001" } else { "0.00001" };
        let mut text = format!(
            r#"
[bench]
name = "simulated"
unit = "in"
state = "state"
profiles = "profiles"

[[gauge]]
name = "plate"
kind = "indicator"
port = "/dev/serial/by-id/plate"
profile = "signed-decimal"
baud = 9600
unit = "in"
resolution = "{step} in"
uncertainty = "0.0000084 in"
repeatability = "0.000006 in"
travel = ["-0.010 in", "0.010 in"]
calibration_due = 2027-03-01
max_rate = 5

[[gauge]]
name = "left"
kind = "indicator"
port = "/dev/serial/by-id/pair"
profile = "channel-value"
channel = "1"
baud = 9600
unit = "mm"
resolution = "0.001 mm"

[[gauge]]
name = "height"
kind = "height"
unit = "in"
resolution = "0.00005 in"
uncertainty = "0.00004 in"

[[gauge]]
name = "slow"
kind = "indicator"
port = "/dev/serial/by-id/slow"
profile = "signed-decimal"
baud = 9600
unit = "in"
resolution = "0.00001 in"
capture = "settle"
travel = ["-0.050 in", "0.050 in"]
rest = "-0.0400 in"

[[gauge]]
name = "probe"
kind = "indicator"
port = "/dev/serial/by-id/asked"
profile = "asked"
channel = "1"
baud = 9600
unit = "mm"
resolution = "0.001 mm"
capture = "request"

[[gauge]]
name = "caliper"
kind = "indicator"
port = "/dev/serial/by-id/asked"
profile = "asked"
channel = "2"
baud = 9600
unit = "mm"
resolution = "0.001 mm"
capture = "request"
button = true

[[gauge]]
name = "eye"
kind = "dial"
resolution = "0.0001 in"

[[drop]]
name = "logger"
folder = "drops/height"
gauge = "height"
tags = "columns"
columns = {{ value = "Value", job = "Job", part = "Part", check = "Check", position = "Pos" }}

[[drop]]
name = "by-name"
folder = "drops/plate"
gauge = "plate"
tags = "name"
columns = {{ value = "Value" }}

[[drop]]
name = "to-active"
folder = "drops/left"
gauge = "left"
tags = "active"
columns = {{ value = "Value" }}
"#
        );
        if self.right {
            text += "\n[[gauge]]\nname = \"right\"\nkind = \"indicator\"\n\
                     port = \"/dev/serial/by-id/pair\"\nprofile = \"channel-value\"\n\
                     channel = \"2\"\nbaud = 9600\nunit = \"mm\"\nresolution = \"0.001 mm\"\n";
        }
        if self.apart {
            let right = if self.right { ", \"right\"" } else { "" };
            let stations = format!(
                "\n[[station]]\nname = \"one\"\ngauges = [\"plate\", \"height\", \"slow\", \"probe\"]\n\
                 \n[[station]]\nname = \"two\"\ngauges = [\"left\", \"eye\", \"caliper\"{right}]\n"
            );
            text += &stations;
        }
        text
    }

    #[expect(clippy::too_many_lines, reason = "it is one file")]
    fn spindle(self) -> String {
        let face = if self.wide || self.coarse { "0.0005" } else { "0.0001" };
        let mut text = format!(
            r#"
name = "spindle"
unit = "in"

[[part]]
name = "ring"
kind = "spacer"

[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.5 in"
tolerance = "{face} in"
closure = true

[[part.check]]
name = "face-quick"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 7
radius = "1.5 in"
tolerance = "{face} in"
closure = false
advance = "auto"

[[part.check]]
name = "slow"
measures = "parallelism"
gauge = "slow"
setup = "plate"
positions = 6
radius = "1.5 in"
tolerance = "0.0005 in"
closure = false

[[part.check]]
name = "asked"
measures = "parallelism"
gauge = "probe"
setup = "plate"
positions = 7
touches = 2
radius = "40 mm"
tolerance = "0.010 mm"
closure = true

[[part.check]]
name = "flat"
measures = "flatness"
gauge = "plate"
setup = "supports"
positions = 4
touches = 3
radii = ["1.2 in", "1.8 in"]
tolerance = "{face} in"

[[part.check]]
name = "block"
measures = "length"
gauge = "plate"
setup = "plate"
positions = 3
nominal = "0.2500 in"
min = "0.2490 in"
max = "0.2510 in"
master = "both"
master_size = "0.2500 in"

[[part.check]]
name = "length"
measures = "length"
gauge = "height"
setup = "plate"
positions = 4
nominal = "1.5000 in"
min = "1.4990 in"
max = "1.5010 in"
master = "none"
closure = false

[[part]]
name = "shim"
kind = "other"

[[part.check]]
name = "thin"
measures = "thickness-variation"
gauge = "left"
setup = "anvil"
positions = 8
radius = "40 mm"
tolerance = "0.005 mm"
closure = true

[[part.check]]
name = "answered"
measures = "thickness-variation"
gauge = "caliper"
setup = "anvil"
positions = 8
radius = "40 mm"
tolerance = "0.020 mm"
closure = true

[[part.check]]
name = "by-eye"
measures = "parallelism"
gauge = "eye"
setup = "plate"
positions = 7
radius = "1.5 in"
tolerance = "0.0005 in"
closure = false

[[part.check]]
name = "length"
measures = "length"
gauge = "height"
setup = "plate"
positions = 2
min = "1.4990 in"
max = "1.5010 in"
master = "none"
closure = false
temperatures = ["shim/warm", "shim/master-warm"]

[[part.check]]
name = "warm"
measures = "entry"
question = "Temperature of the shim"
unit = "°C"

[[part.check]]
name = "master-warm"
measures = "entry"
question = "Temperature of the master"
unit = "°C"
"#
        );
        if self.right {
            text += "\n[[part.check]]\nname = \"far\"\nmeasures = \"parallelism\"\n\
                     gauge = \"right\"\nsetup = \"plate\"\npositions = 7\nradius = \"40 mm\"\n\
                     tolerance = \"0.01 mm\"\n";
        }
        text + SHAFT
    }

    fn nut(self) -> String {
        let face = if self.wide { "0.0003" } else { "0.0002" };
        format!(
            r#"
name = "nut"
unit = "in"
rule = "simple"

[[part]]
name = "nut"
kind = "nut"

[[part.check]]
name = "face"
measures = "parallelism"
gauge = "plate"
setup = "plate"
positions = 8
radius = "1.3 in"
tolerance = "{face} in"
closure = true

[[part.check]]
name = "length"
measures = "length"
gauge = "height"
setup = "plate"
positions = 2
nominal = "1.5000 in"
min = "1.4990 in"
max = "1.5010 in"
master = "none"
closure = true
"#
        )
    }
}

/// The parts that are turned, paired, asked about and stacked.
const SHAFT: &str = r#"
[[part]]
name = "shaft"
kind = "shaft"

[[part.check]]
name = "turn"
measures = "runout"
gauge = "plate"
setup = "turning"
touch = "outside"
positions = 8
tolerance = "0.0003 in"
closure = false
stand = "0.000005 in"

[[part.check]]
name = "bar"
measures = "bar-runout"
gauge = "plate"
setup = "turning"
touch = "outside"
positions = 7
closure = false
stations = [{ at = "0.25 in", tolerance = "0.0001 in" }, { at = "3 in", tolerance = "0.0003 in" }]
predict = ["6 in"]

[[part]]
name = "pair"
kind = "other"

[[part.check]]
name = "match"
measures = "difference"
of = ["ring/length", "shim/length"]
tolerance = "0.0002 in"
arrangement = "back-to-back"
preload = "200 N"
deflection = "4 um"
offsets_left = ["pair/left"]
offsets_right = ["pair/right"]
offset_uncertainty = "0.2 um"

[[part.check]]
name = "left"
measures = "entry"
question = "Offset of the left bearing"
unit = "um"

[[part.check]]
name = "right"
measures = "entry"
question = "Offset of the right bearing"
unit = "um"

[[part]]
name = "lock"
kind = "nut"

[[part.check]]
name = "side"
measures = "confirm"
question = "Which side of the tongue is up?"
answers = ["hollow", "round"]
good = ["round"]

[[part.check]]
name = "torque"
measures = "entry"
question = "Torque of the nut"

[[stack]]
part = "ring"
ways = ["thrust-side", "open-side"]
mark = true

[[stack]]
part = "shim"

[[stack]]
part = "lock"
ways = ["thrust-side", "open-side"]
towards_nose = "thrust-side"
mark_deg = 0
"#;

/// Questions and entries as they are typed, and a check that is neither.
pub(super) const QUESTIONS: [&str; 7] = [
    "lock/side",
    "lock/torque",
    "pair/left",
    "pair/right",
    "shim/warm",
    "shim/master-warm",
    "ring/face",
];

/// Parts as they are typed, and one that no plan has.
pub(super) const PARTS: [&str; 6] = ["ring", "shim", "lock", "shaft", "nut", "moon"];

/// Part and check names as they are typed: those of both plans, and some that no plan has.
pub(super) const TARGETS: [(&str, &str); 24] = [
    ("ring", "asked"),
    ("ring", "asked"),
    ("shim", "answered"),
    ("shim", "answered"),
    ("ring", "slow"),
    ("ring", "slow"),
    ("ring", "face"),
    ("ring", "face-quick"),
    ("ring", "flat"),
    ("ring", "block"),
    ("ring", "length"),
    ("shim", "thin"),
    ("shim", "by-eye"),
    ("shim", "far"),
    ("nut", "face"),
    ("nut", "length"),
    ("shim", "length"),
    ("shaft", "turn"),
    ("shaft", "bar"),
    ("pair", "match"),
    ("lock", "side"),
    ("lock", "torque"),
    ("ring", "colour"),
    ("moon", ""),
];

/// What a gauge sends for this many of its steps, without the line end.
pub(super) fn frame(gauge: &str, steps: i64, coarse: bool) -> String {
    let sign = if steps < 0 { '-' } else { '+' };
    let steps = steps.unsigned_abs();
    match (gauge, coarse) {
        ("probe", _) => format!("1:{sign}{}.{:03}", steps / 1000, steps % 1000),
        ("caliper", _) => format!("2:{sign}{}.{:03}", steps / 1000, steps % 1000),
        ("left", _) => format!("1:{sign}{:05}.{:03}", steps / 1000, steps % 1000),
        ("right", _) => format!("2:{sign}{:05}.{:03}", steps / 1000, steps % 1000),
        (_, false) => format!("{sign}{}.{:05}", steps / 100_000, steps % 100_000),
        (_, true) => format!("{sign}{}.{:04}", steps / 10_000, steps % 10_000),
    }
}

/// Bytes that are no reading, or an odd one.
pub(super) fn nonsense(dice: &mut Dice) -> Vec<u8> {
    const ODDITIES: [&[u8]; 14] = [
        b"----\r",
        b"ERR 2\r",
        b"999999\r",
        b"+0.1\r",
        b"+0.0.12\r",
        b"\r\r",
        b"2:E04\r",
        b"7:+00000.001\r",
        b"1:+99999.999\r",
        b"1:------.---\r",
        b"+00.0001234567\r",
        b"+0.",
        b"+0.009900\r+0.00990\r",
        b"1:+000",
    ];
    if dice.one_in(2) {
        return dice.pick(&ODDITIES).to_vec();
    }
    let length = if dice.one_in(10) { 300 } else { 1 + dice.index(20) };
    (0..length).map(|_| dice.below(256).to_le_bytes()[0]).collect()
}
