//! What each command works with: the files it reads, what it takes from the environment, how it ends. A command
//! that stands not here by itself does as the one above it.

use config::{MACHINE_CONFIG, MACHINE_STATE, SOCKET};

/// What a command works with, each with what it is for.
pub(super) struct Manners {
    /// Files and folders.
    pub(super) files: Vec<(&'static str, String)>,
    /// Names of the environment.
    pub(super) environment: Vec<(&'static str, String)>,
    /// Exit codes.
    pub(super) exits: Vec<(&'static str, String)>,
}

/// A thing that a command works with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Use {
    /// The configuration, its plans and profiles.
    Configuration,
    /// The record, read.
    Record,
    /// The service, through its socket.
    Service,
    /// The times of the person's zone.
    Zone,
    /// Colours, and drawings where the terminal has the characters.
    Terminal,
    /// The login, where nobody says who does it.
    Login,
    /// What is given to the service by its supervisor.
    Supervisor,
}

use Use::{Configuration, Login, Record, Service, Supervisor, Terminal, Zone};

/// What changes something through the service.
const ASKS: &[Use] = &[Configuration, Service, Login];
/// What looks something up.
const LOOKS: &[Use] = &[Configuration, Record, Zone, Terminal];
/// Both.
const BOTH: &[Use] = &[Configuration, Record, Service, Zone, Terminal, Login];
/// What reads or writes the files that people write.
const WRITES: &[Use] = &[Configuration];

/// Each command, what it works with, and what its exit code 1 says where it has one.
const ALL: &[(&str, &[Use], Option<&str>)] = &[
    ("", &[], None),
    ("init", &[Configuration, Zone], None),
    ("serve", &[Configuration, Record, Service, Supervisor, Zone], None),
    ("forward", &[Configuration, Record, Service, Supervisor], None),
    ("demo", &[Terminal, Zone], None),
    ("practice", &[Terminal, Zone], None),
    ("config", WRITES, None),
    ("explain", &[Terminal], None),
    ("reload", &[Configuration, Service], None),
    ("doctor", BOTH, Some("Something stands between this person and a reading.")),
    ("status", &[Configuration, Service, Zone, Terminal], Some("Something is not well.")),
    ("job", BOTH, None),
    ("measure", ASKS, None),
    ("remeasure", ASKS, None),
    ("next", ASKS, Some("Every check has its verdict.")),
    ("confirm", ASKS, None),
    ("record", ASKS, None),
    ("run-in", ASKS, None),
    ("stack", ASKS, None),
    ("replace", ASKS, None),
    ("decide", ASKS, None),
    ("serial", ASKS, None),
    ("enter", ASKS, None),
    ("take", ASKS, None),
    ("void", ASKS, None),
    ("skip", ASKS, None),
    ("master", ASKS, None),
    ("prove", ASKS, None),
    ("register", BOTH, None),
    ("note", ASKS, None),
    ("attach", ASKS, None),
    ("attachments", LOOKS, Some("A file is missing, or is not as it was attached.")),
    ("person", ASKS, None),
    ("checked", ASKS, None),
    ("sign", ASKS, None),
    ("ack", ASKS, None),
    ("tail", &[Configuration, Service, Zone, Terminal], None),
    ("watch", &[Configuration, Service, Terminal], None),
    ("page", &[Configuration, Record, Service, Zone], None),
    ("readings", LOOKS, None),
    ("verdicts", LOOKS, None),
    ("budget", LOOKS, None),
    ("alerts", LOOKS, None),
    ("report", LOOKS, None),
    (
        "evaluate",
        &[Terminal],
        Some("The figure is not within its limit, or cannot be told apart from it."),
    ),
    ("study", &[Terminal], None),
    ("sheet", LOOKS, None),
    ("plan", &[Configuration, Terminal], None),
    ("gauge", WRITES, None),
    ("gauge listen", WRITES, Some("Nothing was heard that could be written down.")),
    ("gauge add", WRITES, Some("Nothing was heard that could be written down.")),
    ("gauge show", LOOKS, None),
    (
        "export",
        LOOKS,
        Some("A picture or paper of the job is missing; everything else is exported."),
    ),
    ("import", &[Configuration, Record], None),
    ("backup", LOOKS, Some("The copy is damaged, or a picture or paper of the record is.")),
    ("restore", &[Configuration, Record], None),
    ("verify", LOOKS, Some("Something in the record is not as it was stored.")),
    ("shop", WRITES, None),
    ("completions", &[], None),
    ("man", &[], None),
];

/// How the command of these words behaves.
pub(super) fn of(words: &str) -> Manners {
    let (_, uses, no) = row(words);
    let has = |one: Use| uses.contains(&one);
    let mut files = Vec::new();
    if words.is_empty() || has(Configuration) {
        files.extend(configuration());
    }
    if words.is_empty() || has(Record) || has(Service) {
        files.extend(record());
    }
    Manners { files, environment: environment(words, uses), exits: exits(uses, *no) }
}

fn row(words: &str) -> &'static (&'static str, &'static [Use], Option<&'static str>) {
    let own = |words: &str| ALL.iter().find(|(name, ..)| *name == words);
    let above = words.split(' ').next().unwrap_or_default();
    own(words).or_else(|| own(above)).unwrap_or(&ALL[0])
}

fn configuration() -> [(&'static str, String); 4] {
    [
        (
            "config/bench.toml",
            "The configuration, where it is in this folder. Plans are in plans and profiles in profiles beside it. \
             The first of these three that is there is used."
                .to_owned(),
        ),
        ("~/.config/tenths/bench.toml", "The configuration of a user.".to_owned()),
        (MACHINE_CONFIG, "The configuration of the whole machine.".to_owned()),
        (
            "plans/NAME.toml, profiles/NAME.toml",
            "Beside the configuration: what is measured, and how gauges talk.".to_owned(),
        ),
    ]
}

fn record() -> [(&'static str, String); 3] {
    let text = format!(
        "The record and the socket of the service ({SOCKET}) of a user. A state in bench.toml names another folder."
    );
    [
        ("~/.local/state/tenths", text),
        (MACHINE_STATE, format!("The same, where {MACHINE_CONFIG} is the configuration.")),
        ("attached", "In the same folder: pictures and papers.".to_owned()),
    ]
}

fn environment(words: &str, uses: &[Use]) -> Vec<(&'static str, String)> {
    let all = words.is_empty();
    let has = |one: Use| all || uses.contains(&one);
    let rows = [
        (has(Configuration), "TENTHS_CONFIG", "The configuration file, where --config names none."),
        (
            has(Configuration),
            "HOME, XDG_CONFIG_HOME, XDG_STATE_HOME",
            "Where configuration and record of a user are: below the two others, which are else ~/.config and \
             ~/.local/state.",
        ),
        (
            has(Supervisor),
            "STATE_DIRECTORY",
            "The folder of the record, given to the service by the service manager.",
        ),
        (has(Supervisor), "TENTHS_LOG", "How much the service writes into its log: info, debug."),
        (
            has(Supervisor),
            "NOTIFY_SOCKET, WATCHDOG_USEC, JOURNAL_STREAM",
            "Given to the service by the service manager.",
        ),
        (
            has(Zone),
            "TZ",
            "The zone of the times that are shown and typed; if unset, the machine's.",
        ),
        (has(Terminal), "NO_COLOR, TERM", "No colours with NO_COLOR, or on a dumb terminal."),
        (has(Terminal), "LC_ALL, LC_CTYPE, LANG", "Whether the terminal shows drawings."),
        (has(Login), "LOGNAME, USER", "Who does it, where no login is known and --by is left out."),
    ];
    rows.into_iter()
        .filter(|(has, ..)| *has)
        .map(|(_, name, text)| (name, text.to_owned()))
        .collect()
}

fn exits(uses: &[Use], no: Option<&str>) -> Vec<(&'static str, String)> {
    let reaches = uses.contains(&Record) || uses.contains(&Service);
    let mut exits = vec![("0", "Done.".to_owned())];
    exits.extend(no.map(|no| ("1", no.to_owned())));
    exits.push(("2", "Wrong arguments, a configuration with errors, or refused input.".to_owned()));
    let unreachable = if reaches {
        "The service or the record cannot be reached or used; a file cannot be read or written."
    } else {
        "A file cannot be read or written."
    };
    exits.push(("3", unreachable.to_owned()));
    exits.push(("70", "A bug.".to_owned()));
    exits
}

/// The names of the table.
#[cfg(test)]
pub(super) fn names() -> impl Iterator<Item = &'static str> {
    ALL.iter().map(|(name, ..)| *name)
}
