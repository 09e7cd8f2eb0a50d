//! The tables of `bench.toml`.

use bench::plan::keys::{About, MUST, described};

use super::Described;

pub(super) const TABLES: [Described; 6] = [
    ("bench", "[bench]", "the place and its record", "bench", BENCH),
    ("gauge", "[[gauge]]", "an instrument; one for each", "gauge", GAUGE),
    ("drop", "[[drop]]", "a folder in which a logger puts its files", "drop", DROP),
    ("station", "[[station]]", "a place where one person measures", "station", STATION),
    ("sound", "[sound]", "the sounds of `watch` and `tail`", "sound", SOUND),
    ("shop", "[shop]", "the head of the report; all of it may be left out", "shop", SHOP),
];

const BENCH: &[About] = &described! {
    "name" = "a name for the place; people, alerts and reports show it", "`\"bench\"`";
    "unit" = "the unit that people read: `\"in\"` or `\"mm\"`", MUST;
    "state" = "the folder of the record and of the service's socket",
        "`/var/lib/tenths` for `/etc/tenths/bench.toml`, else `~/.local/state/tenths`";
    "plans" = "the folder of the plans", "`\"plans\"`";
    "profiles" = "the folder of the profiles", "`\"profiles\"`";
    "people" = "who has a badge on the sheet: `[\"A. Example\", \"B. Sample\"]`", "nobody";
    "rule" = "`\"guarded\"`: U is allowed for; `\"simple\"`, only where it is agreed with the "
        "customer: the value alone decides", "`\"guarded\"`";
    "unproven" = "`\"note\"`: verdicts of a gauge that is not proven say so; `\"withhold\"`: "
        "they are withheld", "`\"note\"`";
    "proof_days" = "how many days a proof counts; `0`: for ever", "`30`";
    "attached_mb" = "how many megabytes of pictures and papers a job may have", "`200`";
};

const GAUGE: &[About] = &described! {
    "name" = "its name; plans say it", MUST;
    "kind" = "`\"indicator\"`, `\"height\"`, `\"dial\"` (read by eye) or `\"thermometer\"`", MUST;
    "resolution" = "the smallest step it shows: `\"0.00001 in\"`, `\"0.1 C\"`", MUST;
    "unit" = "`\"in\"`, `\"mm\"` or `\"um\"`: what its numbers are in where they do not say it",
        "what its frames say";
    "uncertainty" = "standard uncertainty of one reading, everything included: lifts on one "
        "spot, the form of the plate",
        "a poor one is assumed, and every verdict says so, until the bench has seen enough";
    "repeatability" = "standard deviation of ten lifts on one spot", "likewise";
    "sign" = "`\"-\"` where the plunger going in counts down", "`\"+\"`";
    "travel" = "what it shows at its stops: `[\"-0.010 in\", \"0.010 in\"]`", "for a stream must";
    "serial" = "its serial number: another one begins a new history", "";
    "calibration_due" = "the last day of its calibration: `2027-03-01`", "";
    "lever_angle" = "degrees between stylus and surface, 0 to 30; nothing is corrected, a steep "
        "one is refused", "`0`";
    "port" = "where it is heard: `\"/dev/serial/by-id/…\"`; `\"keys:/dev/input/by-id/…\"`, an "
        "adapter that types; `\"tcp:HOST:PORT\"`, a serial server",
        "its readings are keyed in, or come in files";
    "profile" = "how it talks: `\"signed-decimal\"` is `profiles/signed-decimal.toml`",
        "with a port must";
    "channel" = "which of several gauges on one port: `\"1\"`", "";
    "scale" = "the length of one count, for a profile that gives counts: `\"0.00001 in\"`", "";
    "baud" = "bits a second", "`9600`";
    "data_bits" = "5 to 8", "`8`";
    "parity" = "`\"none\"`, `\"even\"` or `\"odd\"`", "`\"none\"`";
    "stop_bits" = "`1` or `2`", "`1`";
    "capture" = "`\"send\"`: each frame is a reading; `\"settle\"`: a stream, read when it "
        "stands still after a lift; `\"sweep\"`: the same, and whole turns; `\"request\"`: it is "
        "asked", "`\"send\"`";
    "rest" = "what a stream shows with nothing under the stylus: `\"-0.0080 in\"`", "it is learned";
    "button" = "`true`: the button of a gauge that is asked counts, too", "`false`";
    "ask_every_ms" = "a gauge that is asked is asked again and again, this long after the question "
        "before, and gives a stream", "it is not";
    "repeat_ms" = "the same value within this time is the same press", "`300`";
    "max_rate" = "more frames a second than this for 3 s mute the gauge; `0`: never", "`5`";
};

const DROP: &[About] = &described! {
    "name" = "its name", MUST;
    "folder" = "where the files appear", MUST;
    "gauge" = "the gauge that was read", MUST;
    "tags" = "what says job, part and check: `\"columns\"`, `\"name\"` (the file is called "
        "`JOB__PART__CHECK.csv`) or `\"active\"` (what is measured just now)", MUST;
    "columns" = "the names in the header: `{ value = \"Value\", position = \"Pos\" }`", MUST;
    "columns.value" = "the readings", MUST;
    "columns.unit" = "their unit", "that of the gauge";
    "columns.time" = "when they were taken", "when the file came";
    "columns.job" = "the job", "with `tags = \"columns\"` must";
    "columns.part" = "the part", "likewise";
    "columns.check" = "the check", "likewise";
    "columns.position" = "the position; of a run-in the place", "one after the other";
    "delimiter" = "what stands between cells: `\",\"`, `\";\"`, a vertical bar or a tab", "`\",\"`";
    "decimal" = "`\".\"` or `\",\"`", "`\".\"`";
    "skip_lines" = "how many lines stand before the header", "`0`";
    "time_zone" = "the zone of the logger's clock: `\"Europe/Berlin\"`", "that of this machine";
    "complete" = "when a file is whole: `\"close\"`, or on a network share `\"quiet\"`",
        "`\"close\"`";
    "quiet_ms" = "how long nothing may have changed", "`2000`";
};

const STATION: &[About] = &described! {
    "name" = "its name", MUST;
    "gauges" = "its gauges; each belongs to one station", MUST;
    "pedal" = "a foot switch: `\"/dev/input/by-id/…\"`, or a modem line of a serial port: "
        "`\"cts:/dev/serial/…\"` (`dsr:`, `dcd:`, `ri:`)", "";
    "scanner" = "on a serial port, `\"/dev/serial/by-id/…\"`, or one that types, "
        "`\"/dev/input/by-id/…\"`", "";
};

const SOUND: &[About] = &described! {
    "player" = "a command that plays: `\"aplay -q\"`; `{file}` in it stands for a file to play",
        "the bell of the terminal";
    "follow" = "`true`: a tone that follows the live value; the player then has to be fed on its "
        "standard input", "`false`";
    "volume" = "0 to 100", "`80`";
    "mute" = "`true`: no sound", "`false`";
    "pitch" = "0.5 to 2: how high", "`1`";
    "station" = "`[[sound.station]]`: another voice for a station", "";
    "station.name" = "the station", MUST;
    "station.volume" = "its own", "that of `[sound]`";
    "station.mute" = "its own", "likewise";
    "station.pitch" = "its own", "likewise";
};

const SHOP: &[About] = &described! {
    "name" = "its name, 120 characters at most", "no name";
    "address" = "its address: `[\"1 Sample Lane\", \"Exampletown\"]`, 8 lines at most", "no address";
    "mark" = "a PNG or JPEG file beside `bench.toml`, 1 MiB at most: `\"mark.png\"`", "no mark";
    "bench" = "the name of this bench in the shop: a-z, 0-9 and `_`, first a letter",
        "with a table below must";
    "database" = "`[shop.database]`: the record of the shop, a PostgreSQL database that \
        `tenths forward` sends this bench's record on to", "nothing is sent";
    "database.host" = "the server's name, as its certificate has it, or the folder of a local \
        socket: `\"/run/postgresql\"`", MUST;
    "database.port" = "its TCP port", "`5432`";
    "database.database" = "the name of the database", MUST;
    "database.user" = "the role to log in as", "the name of this bench";
    "database.secret" = "a file beside `bench.toml` with the password, or \
        `\"credential:NAME\"`, one that systemd gives the unit", "no password";
    "database.ca" = "a file with the certificate of who signed the server's",
        "for another machine must";
    "broker" = "`[shop.broker]`: an MQTT broker that `tenths forward` tells verdicts, alerts and \
        the state of gauges", "nobody is told";
    "broker.host" = "its name, as its certificate has it", MUST;
    "broker.port" = "its TCP port", "`1883`, with `ca` `8883`";
    "broker.user" = "the user to log in as", "none";
    "broker.secret" = "as of the database", "no password";
    "broker.ca" = "as of the database", "likewise";
};
