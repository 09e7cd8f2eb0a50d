//! The keys of a profile.

use bench::plan::keys::{About, MUST, described};

use super::Described;

pub(super) const TABLES: [Described; 1] =
    [("profile", "", "the top of a profile, `profiles/NAME.toml`", "", PROFILE)];

const PROFILE: &[About] = &described! {
    "about" = "what kind of gauge it is, for people", "";
    "frames" = "where a frame ends: `\"line\"`, at CR, LF or both; `\"fixed\"`: so many bytes; "
        "`\"block\"`: several lines, one of which holds the value", MUST;
    "length" = "with `\"fixed\"`: the bytes in a frame", "with `\"fixed\"` must";
    "gap_ms" = "with `\"fixed\"`: the silence between two frames", "";
    "block" = "the lines of one frame", "with `\"block\"` must";
    "block.begins" = "its first line, a regular expression; no other line may look like it", MUST;
    "block.ends" = "its last line, a regular expression", "with `lines` alone the block ends there";
    "block.lines" = "how many lines it has, empty ones apart", "with `ends` alone the last line ends it";
    "block.value_line" = "the line that holds the value, from 1; only with `lines`",
        "the only line that the pattern fits";
    "block.gap_ms" = "the silence that ends a block, whether it is whole or not", "`500`";
    "value" = "how the value is carried: `\"decimal\"`, `\"counts\"` (times a scale) or "
        "`\"packed\"` (four bits a digit)", MUST;
    "pattern" = "a regular expression for the whole frame, with the named parts `sign`, `whole` "
        "and `fraction` (or `digits`), `unit`, `channel`", "must, unless the value is packed";
    "scale" = "the length of one count, where all such gauges count alike", "the gauge's own";
    "unit" = "where all such gauges are set the same", "the gauge's own";
    "spellings.*" = "how a unit is spelled: `M = \"mm\"`", "`in`, `mm`, `um`, `inch`, `\"`";
    "places.*" = "how many decimals a unit has: `in = 5`", "those of the gauge's resolution";
    "tokens" = "what it sends when it has no value, each a regular expression for the whole frame",
        "such frames are damaged";
    "tokens.blank" = "a display with dashes", "";
    "tokens.error" = "an error", "";
    "tokens.overload" = "beyond its travel", "";
    "tokens.no_gauge" = "nothing plugged in", "";
    "tokens.low_battery" = "the end of a frame that says so; its value counts", "";
    "ask" = "how it is asked, for `capture = \"request\"` and `ask_every_ms`", "";
    "ask.send" = "the bytes: `\"?\\r\"`", MUST;
    "ask.timeout_ms" = "how long an answer may take", "`1000`";
    "ask.echo" = "`true`: it sends back what it was asked before it answers", "`false`";
    "packed" = "the digits of a packed value", "";
    "packed.layout" = "one character a digit: `0`-`9` `A`-`F` always the same, `s` sign, `n` "
        "value, `p` decimals, `u` unit, `x` anything", MUST;
    "packed.first_half" = "which half of a byte comes first: `\"high\"` or `\"low\"`", "`\"high\"`";
    "packed.plus" = "what stands at `s`: `\"0\"` or `[\"0\", \"2\"]`", MUST;
    "packed.minus" = "likewise", MUST;
    "packed.units.*" = "what stands at `u`: `1 = \"in\"`", "";
    "examples.*" = "a frame and what it reads as: a value, or `blank`, `error`, `overload`, `no "
        "gauge`, `low battery`, `damaged`; the program refuses a profile that misreads its own", "";
};
