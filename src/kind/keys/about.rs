//! What the keys are for: one description, for the printed tables of keys and for the documentation.

/// A key of a file that people write.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct About {
    /// The key; one inside a table of the section with the name of that table: `steady.minutes`.
    pub key: &'static str,
    /// What it says, with an example or its words.
    pub says: &'static str,
    /// What counts where it is left out; `must` where it may not be, empty where then nothing is said.
    pub left_out: &'static str,
}

/// Descriptions of keys: `"key" = "what it says", "what counts where it is left out";`
#[macro_export]
macro_rules! described {
    ($( $key:literal = $($says:literal)+, $left_out:expr; )*) => {
        [$( $crate::keys::About { key: $key, says: concat!($($says),+), left_out: $left_out } ),*]
    };
}

/// What a key that has to be written says under "left out".
pub const MUST: &str = "must";

/// The keys of every check, whatever it measures.
pub const EVERY: &[About] = &described! {
    "name" = "its name, once on a part; people say `PART/CHECK`", MUST;
    "measures" = "what is measured: one of the kinds below", MUST;
    "step" = "the step of the job it belongs to: `\"intake\"`, `\"teardown\"`, `\"inspection\"`, "
        "`\"decide\"`, `\"grind\"`, `\"pair\"`, `\"bearings\"`, `\"assembly\"`, `\"nut\"`, "
        "`\"run-in\"`, `\"final\"`, `\"hand-over\"`",
        "that of its part, or it follows from part and kind";
    "advance" = "`\"auto\"`: go on to the next check after one that conforms; or `\"hold\"`",
        "`\"hold\"`";
    "found" = "`\"PART/CHECK\"`: the check that measured the same as the spindle came in; it "
        "does not keep a job from being closed; report and `job compare` pair the two, station "
        "by station", "";
};

/// The keys of a check that is touched.
pub const TOUCHED: &[About] = &described! {
    "gauge" = "a gauge of bench.toml", MUST;
    "setup" = "how the part lies: `\"plate\"`, `\"anvil\"`, `\"supports\"`, `\"turning\"`",
        "must; what turns, a bar, a taper, a diameter, a face offset and an end float know it";
    "positions" = "how many places round each radius, counted from the index mark",
        "must, where it goes round";
    "radius" = "the radius that is touched: `\"1.25 in\"`", "must for a face, or `radii`";
    "radii" = "several radii, touched one after the other: `[\"1.2 in\", \"1.5 in\"]`", "";
    "touches" = "how often each position is touched, 1 to 10, one lift each; the mean counts, "
        "and U falls by what averages", "`1`";
    "passes" = "`2`: go round a second time, half a pitch on; not for a bar or a taper", "`1`";
    "closure" = "touch position 0 again at the end",
        "`true` on plate and anvil (not for a taper) and for a swept turn, else `false`";
    "middle" = "touch position 0, of a length the master, again half way round, too: an even "
        "drift can be taken out then", "`false`";
    "odds" = "how many times likelier an explanation of a round that did not close has to be "
        "before it is told", "`100`";
    "traps" = "how large something must be before it is asked about or withholds a verdict: `{ "
        "wild = 8, heat = 0.2 }`", "each as usual";
    "moves" = "`\"ring\"`: it turns under the stylus; `\"stand\"`: the stand slides, and a plate "
        "is less even under it, so the assumed ± is larger. Not for a check that turns: an "
        "indicator that is swung round the part sags", "`\"ring\"`";
    "touch" = "which surface: `\"near-face\"`, `\"far-face\"`, `\"outside\"`, `\"inside\"`; it "
        "decides on which side of a turn the axis lies", "`\"near-face\"`, of a bar `\"outside\"`";
    "direction" = "`\"ccw\"` or `\"cw\"`: how positions are counted, facing the measured face",
        "`\"ccw\"`";
    "down" = "the face on the plate, for the record", "";
    "face" = "the face that is measured: a grind at a check of another face leaves a flatness of "
        "this one as it was", "";
    "master" = "when a master is touched: `\"none\"`, `\"opening\"` or `\"both\"`",
        "`\"both\"` where a size is measured, else `\"none\"`";
};

/// The keys of the limits and of the master.
pub const LIMITS: &[About] = &described! {
    "tolerance" = "the largest figure that conforms: `\"0.0001 in\"`", "must, or `min` and `max`";
    "min" = "the smallest size that conforms", "must for a size";
    "max" = "the largest one", "must for a size";
    "aim" = "a tighter figure that is shown, never judged; not for a size or a bar", "";
    "nominal" = "the drawing's size; one far off it is asked about", "the middle of `min` and `max`";
    "master_size" = "the size of the master: `\"1.5000 in\"`", "must, or `master_name`";
    "master_name" = "the master's name in `tenths register`: its size and uncertainty there count",
        "";
    "master_uncertainty" = "standard uncertainty of the size of the master: `\"0.000004 in\"`; "
        "only where a size is measured", "0.00001 in, assumed";
};
