//! What all look-ups share: the filter, the forms of output, the page of a table.

use ::bench::Seq;
use ::record::{Filter, Place, Reader, StoreError};
use ::report::{CsvForm, CsvStyle, Table, csv_text};
use jiff::tz::TimeZone;
use quantity::{Unit, near};
use wire::{Published, printable};

use super::failure::{Failure, REFUSED};
use super::global::Global;
use super::screen::{self, Screen};
use super::sought::{About, Decimal, Sought};
use super::{bench, chosen};

/// Rows of a table when no number is given.
const TABLE_ROWS: usize = 50;

/// The form in which the result is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    Json,
    Csv,
    /// A table for a person.
    Table,
}

impl Form {
    pub(crate) const fn of(global: &Global, sought: &Sought) -> Self {
        if global.json {
            Self::Json
        } else if sought.csv || sought.spreadsheet.is_some() {
            Self::Csv
        } else {
            Self::Table
        }
    }
}

/// The part of a result that is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Page {
    /// All of it.
    Whole,
    /// This many of the oldest.
    First(usize),
    /// This many of the newest.
    Last(usize),
}

impl Page {
    /// A table without limits shows the newest; after a number, the ones that follow it.
    pub(crate) fn of(sought: &Sought, form: Form) -> Self {
        let count = |asked: u32| usize::try_from(asked).unwrap_or(usize::MAX);
        match (sought.first, sought.last) {
            (Some(first), _) => Self::First(count(first)),
            (None, Some(last)) => Self::Last(count(last)),
            (None, None) if form != Form::Table || sought.all => Self::Whole,
            (None, None) if sought.after.is_some() && sought.before.is_none() => {
                Self::First(TABLE_ROWS)
            }
            (None, None) => Self::Last(TABLE_ROWS),
        }
    }

    /// The records to show, out of those found (one more than fits), and a note about the others.
    pub(crate) fn shown<'f, T>(
        self,
        found: &'f [T],
        sought: &Sought,
        id: impl Fn(&T) -> u64,
    ) -> (&'f [T], Option<String>) {
        let given = |option: &str, number: Option<u64>| {
            number.map_or_else(String::new, |number| format!("{option} {number} "))
        };
        // Options that narrow the look-up from the other side stay in the note's command.
        match self {
            Self::First(count) if found.len() > count => {
                let shown = &found[..count];
                let last = shown.last().map_or(0, id);
                let (before, first) = (sought.before, sought.first.map(u64::from));
                let next = format!(
                    "--after {last} {}{}",
                    given("--before", before),
                    given("--first", first)
                );
                (shown, Some(format!("There are newer ones; the next page: {}", next.trim())))
            }
            Self::Last(count) if found.len() > count => {
                let shown = &found[found.len() - count..];
                let first = shown.first().map_or_else(|| id(&found[0]) + 1, &id);
                let (after, last) = (sought.after, sought.last.map(u64::from));
                let next = format!(
                    "{}--before {first} {}",
                    given("--after", after),
                    given("--last", last)
                );
                (shown, Some(format!("There are older ones; the next page: {}", next.trim())))
            }
            Self::Whole | Self::First(_) | Self::Last(_) => (found, None),
        }
    }
}

/// The filter, without the options of only one kind of record. A table asks for one row more than it shows, to know
/// whether there are more.
pub(crate) fn filter(sought: &Sought, job: Option<&String>, form: Form) -> Filter {
    let more = usize::from(form == Form::Table);
    let (first, last) = match Page::of(sought, form) {
        Page::Whole => (None, None),
        Page::First(count) => (Some(count.saturating_add(more)), None),
        Page::Last(count) => (None, Some(count.saturating_add(more))),
    };
    // Numbers in the record have 63 bits; none is larger.
    let id = |id: u64| Seq(id.min(i64::MAX.unsigned_abs()));
    Filter {
        job: job.cloned(),
        serial: sought.serial.clone(),
        customer: sought.customer.clone(),
        who: sought.who.clone(),
        part: sought.place().0.map(str::to_owned),
        check: sought.place().1.map(str::to_owned),
        gauge: sought.gauge.clone(),
        since: sought.since,
        until: sought.until,
        after: sought.after.map(id),
        before: sought.before.map(id),
        first,
        last,
        all: sought.all,
        ..Filter::default()
    }
}

/// Asks the record. If a serial number has several jobs, a table is for the newest and says so; a script has to
/// name one.
pub(crate) fn ask<T>(
    filter: &Filter,
    form: Form,
    question: impl Fn(&Filter) -> Result<T, StoreError>,
) -> Result<T, Failure> {
    let answer = question(filter);
    let Err(StoreError::SeveralJobs { by_serial: true, jobs, typed }) = &answer else {
        return answer.map_err(bench::no_record);
    };
    let (Some(newest), Form::Table) = (jobs.first(), form) else {
        return answer.map_err(bench::no_record);
    };
    screen::say(&of_newest(typed, newest, jobs));
    let filter = Filter { job: Some(newest.clone()), ..filter.clone() };
    question(&filter).map_err(bench::no_record)
}

/// Refuses a gauge that gave no result and that nobody knows: neither the bench nor the record has one of that name.
fn gauge_is_known(
    global: &Global,
    sought: &Sought,
    record: &Reader,
    nothing: bool,
) -> Result<(), Failure> {
    let Some(gauge) = sought.gauge.as_deref().filter(|_| nothing) else { return Ok(()) };
    let Some(known) = bench::gauges(global) else { return Ok(()) };
    let only = Filter { gauge: Some(gauge.to_owned()), last: Some(1), ..Filter::default() };
    let readings = record.readings(&only).map_err(bench::no_record)?;
    let alerts = record.alerts(&only).map_err(bench::no_record)?;
    let kept = !readings.is_empty() || !alerts.is_empty();
    if kept || known.iter().any(|name| name == gauge) {
        return Ok(());
    }
    let near = near::names(gauge, known.iter().cloned());
    let near = if near.is_empty() { known } else { near };
    let text = format!("there is no gauge {gauge:?}; there is {}", near.join(", "));
    Err(Failure::new(REFUSED, text, "type it as it is written there"))
}

/// Whether everything belongs to the job that was named, spelled in the same way, so that its column says nothing new.
pub(crate) fn of_one_job<'a>(
    typed: Option<&str>,
    mut places: impl Iterator<Item = Option<&'a Place>>,
) -> bool {
    places.all(|place| typed == place.map(|place| place.job.as_str()))
}

/// The note that the newest of several jobs is shown.
pub(crate) fn of_newest(typed: &str, newest: &str, jobs: &[String]) -> String {
    let others: Vec<String> = jobs.iter().skip(1).take(10).map(|job| printable(job)).collect();
    format!(
        "This is {}, the newest of {} jobs of serial {}; before it: {}.\n",
        printable(newest),
        jobs.len(),
        printable(typed),
        others.join(", ")
    )
}

/// Finds the value that a typed word means; `what` names the kind of word in the error.
pub(crate) fn word_of<T: Copy>(
    what: &str,
    typed: Option<&str>,
    known: &[(&'static str, T)],
) -> Result<Option<T>, Failure> {
    let Some(typed) = typed else { return Ok(None) };
    // The words are accepted as tables show them, `DOES NOT CONFORM`, and as scripts use them.
    let plain = typed.trim().to_lowercase().replace([' ', '_'], "-");
    let found = known.iter().find(|(word, _)| *word == plain).map(|(_, value)| *value);
    found.map(Some).ok_or_else(|| {
        let words: Vec<_> = known.iter().map(|(word, _)| *word).collect();
        let near = near::names(&plain, words.iter().map(|word| (*word).to_owned()));
        let meant = near.first().map_or_else(String::new, |near| format!("did you mean {near}? "));
        Failure::new(
            REFUSED,
            format!("there is no {what} {typed:?}"),
            format!("{meant}one of: {}", words.join(", ")),
        )
    })
}

/// Prints lines of JSON.
pub(crate) fn print_json(lines: &[String]) -> Result<(), Failure> {
    Ok(screen::lines(lines)?)
}

/// A look-up and where it looks.
pub(crate) struct LookUp<'a> {
    pub(crate) global: &'a Global,
    pub(crate) sought: &'a Sought,
    pub(crate) form: Form,
    pub(crate) record: &'a Reader,
    /// What is looked up.
    pub(crate) about: About,
    /// The columns of comma-separated values.
    pub(crate) columns: &'a [&'a str],
}

/// What a person sees of a look-up.
pub(crate) struct Listed {
    pub(crate) table: Table,
    /// What is said where there are no rows.
    pub(crate) none: &'static str,
    /// What is said below the table.
    pub(crate) notes: Vec<String>,
}

/// The most records held in memory at a time.
const PART: usize = 50_000;

impl LookUp<'_> {
    /// Looks up and prints: for a script all there is, for a person the page that `table` makes of
    /// it, with what is to be said below.
    pub(crate) fn print<T: Published>(
        &self,
        filter: &Filter,
        question: impl Fn(&Filter) -> Result<Vec<T>, StoreError>,
        table: impl FnOnce(&[T], Vec<String>) -> Result<Listed, Failure>,
    ) -> Result<(), Failure> {
        let Self { global, sought, form, record, about, columns } = *self;
        if form != Form::Table {
            let chosen = sought.columns.as_ref();
            let chosen = chosen.map(|names| chosen::of_file(names, columns, about.command()));
            let columns = chosen.transpose()?;
            let columns = columns.as_deref().unwrap_or(self.columns);
            gauge_is_known(global, sought, record, true)?;
            let question = |filter: &Filter| ask(filter, form, &question);
            let printed = Printed { sought, form, columns };
            return in_parts(PART, filter, question, T::number, |found, begins| {
                printed.print(found, begins)
            });
        }
        let found = ask(filter, form, question)?;
        gauge_is_known(global, sought, record, found.is_empty())?;
        let (shown, more) = Page::of(sought, form).shown(&found, sought, |one| one.number().0);
        let Listed { mut table, none, notes } = table(shown, more.into_iter().collect())?;
        if let Some(names) = &sought.columns {
            let lines: Vec<_> = shown.iter().map(Published::fields).collect();
            table = chosen::of_table(names, &table, (columns, &lines), about.command())?;
        }
        print_table(&table, none, &notes)
    }
}

/// How the result for a script is printed.
pub(crate) struct Printed<'a> {
    pub(crate) sought: &'a Sought,
    pub(crate) form: Form,
    pub(crate) columns: &'a [&'a str],
}

impl Printed<'_> {
    /// Prints lines of JSON, or separated values below their headings or without them.
    pub(crate) fn print<T: Published>(&self, found: &[T], heading: bool) -> Result<(), Failure> {
        if self.form == Form::Json {
            return Ok(screen::lines(&found.iter().map(Published::line).collect::<Vec<_>>())?);
        }
        let lines = found.iter().map(Published::fields);
        let text = csv_text(self.columns, lines, csv_form(self.sought));
        let text = text.map_err(|text| Failure::plain(70, text))?;
        let begin = if heading { 0 } else { text.find('\n').map_or(0, |end| end + 1) };
        Ok(screen::text(&text[begin..])?)
    }
}

/// How the file of separated values is written.
fn csv_form(sought: &Sought) -> CsvForm {
    let style = match sought.spreadsheet.unwrap_or(sought.decimal) {
        Decimal::Point => CsvStyle::Point,
        Decimal::Comma => CsvStyle::Comma,
    };
    CsvForm { style, sheet: sought.spreadsheet.map(|_| TimeZone::system()) }
}

/// Asks for one part after the other and passes each on, with whether it is the first: all records may be more than
/// the memory holds. A look-up with a limit is a single part.
fn in_parts<T>(
    size: usize,
    filter: &Filter,
    question: impl Fn(&Filter) -> Result<Vec<T>, Failure>,
    id: fn(&T) -> Seq,
    mut each: impl FnMut(&[T], bool) -> Result<(), Failure>,
) -> Result<(), Failure> {
    let mut filter = filter.clone();
    let whole = filter.first.is_none() && filter.last.is_none();
    if whole {
        filter.first = Some(size);
    }
    let mut begins = true;
    loop {
        let found = question(&filter)?;
        each(&found, begins)?;
        match found.last() {
            Some(last) if whole && found.len() >= size => filter.after = Some(id(last)),
            Some(_) | None => return Ok(()),
        }
        begins = false;
    }
}

/// Prints a table that fits the window, and says what was left out of it.
pub(crate) fn print_table(table: &Table, none: &str, notes: &[String]) -> Result<(), Failure> {
    if table.is_empty() {
        return Ok(screen::sentence(none)?);
    }
    let to = Screen::of_stdout();
    let fitted = table.fitted(to.width);
    screen::text(&to.painted(&fitted))?;
    for note in notes {
        screen::say(&format!("{note}\n"));
    }
    if !fitted.left_out.is_empty() {
        screen::say(&format!(
            "No room for: {}. A wider window, --csv or --json has it.\n",
            fitted.left_out.join(", ")
        ));
    }
    if fitted.cut > 0 {
        screen::say("Long texts are cut, which … shows; --csv or --json has them whole.\n");
    }
    Ok(())
}

/// The heading of a column of values in a unit.
pub(crate) const fn value_title(unit: Unit) -> &'static str {
    match unit {
        Unit::Inch => "value, in",
        Unit::Millimetre => "value, mm",
        Unit::Micrometre => "value, um",
        Unit::Other(_) => "value",
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use clap::Parser;
    use quantity::Wall;

    use super::*;
    use crate::args::{Cli, Command};
    use crate::sought::QueryArgs;

    pub(crate) fn args(typed: &[&str]) -> (Global, QueryArgs) {
        let cli = Cli::try_parse_from(["tenths", "readings"].iter().chain(typed)).unwrap();
        let Command::Readings(args) = cli.command else { panic!("{typed:?}") };
        (cli.global, args)
    }

    #[test]
    fn every_filter_reaches_the_record() {
        let (global, args) = args(&[
            "J-1042",
            "--part",
            "inner",
            "--check",
            "face-a",
            "--gauge",
            "plate",
            "--since",
            "2027-03-01T00:00:00Z",
            "--until",
            "2027-03-02T00:00:00Z",
            "--serial",
            "S7",
            "--customer",
            "sedge",
            "--who",
            "ann",
            "--after",
            "3",
            "--before",
            "18446744073709551615",
            "--last",
            "7",
            "--all",
            "--csv",
        ]);
        let form = Form::of(&global, &args.sought);
        assert_eq!(form, Form::Csv);
        let text = |text: &str| Some(text.to_owned());
        let expected = Filter {
            job: text("J-1042"),
            part: text("inner"),
            check: text("face-a"),
            gauge: text("plate"),
            since: Some(Wall::parse("2027-03-01").unwrap()),
            until: Some(Wall::parse("2027-03-02").unwrap()),
            serial: text("S7"),
            customer: text("sedge"),
            who: text("ann"),
            after: Some(Seq(3)),
            before: Some(Seq(i64::MAX.unsigned_abs())),
            last: Some(7),
            all: true,
            ..Filter::default()
        };
        assert_eq!(filter(&args.sought, args.job.as_ref(), form), expected);
    }

    #[test]
    fn a_table_is_short_unless_asked_and_scripts_get_everything() {
        let page = |typed: &[&str]| {
            let (global, args) = args(typed);
            Page::of(&args.sought, Form::of(&global, &args.sought))
        };
        assert_eq!(page(&[]), Page::Last(50));
        assert_eq!(page(&["--before", "9"]), Page::Last(50));
        assert_eq!(page(&["--after", "9"]), Page::First(50));
        assert_eq!(page(&["--after", "3", "--before", "9"]), Page::Last(50));
        assert_eq!(page(&["--all"]), Page::Whole);
        assert_eq!(page(&["--last", "400"]), Page::Last(400));
        assert_eq!(page(&["--first", "4", "--json"]), Page::First(4));
        assert_eq!(page(&["--json"]), Page::Whole);
        assert_eq!(page(&["--csv"]), Page::Whole);
    }

    #[test]
    fn a_page_names_the_option_that_shows_the_next_one() {
        let found: Vec<u64> = (0..51).collect();
        let (_, QueryArgs { sought, .. }) = args(&[]);
        let (shown, said) = Page::Last(50).shown(&found, &sought, |id| *id);
        assert_eq!(
            (shown, said.as_deref()),
            (&found[1..], Some("There are older ones; the next page: --before 1"))
        );
        let (shown, said) = Page::First(2).shown(&found, &sought, |id| *id);
        assert_eq!(
            (shown, said.as_deref()),
            (&found[..2], Some("There are newer ones; the next page: --after 1"))
        );
        assert_eq!(Page::Whole.shown(&found, &sought, |id| *id), (&found[..], None));
        assert_eq!(Page::Last(51).shown(&found, &sought, |id| *id), (&found[..], None));
    }

    #[test]
    fn the_next_page_is_as_long_and_as_narrow_as_this_one() {
        let found: Vec<u64> = (20..31).collect();
        let next = |typed: &[&str]| {
            let (global, QueryArgs { sought, .. }) = args(typed);
            let page = Page::of(&sought, Form::of(&global, &sought));
            page.shown(&found, &sought, |id| *id).1.unwrap()
        };
        let older = next(&["--after", "14", "--last", "2"]);
        assert_eq!(older, "There are older ones; the next page: --after 14 --before 29 --last 2");
        let newer = next(&["--before", "90", "--after", "14", "--first", "3"]);
        assert_eq!(newer, "There are newer ones; the next page: --after 22 --before 90 --first 3");
    }

    #[test]
    fn what_nothing_can_fit_is_refused() {
        for none in ["--last", "--first"] {
            assert!(Cli::try_parse_from(["tenths", "readings", none, "0"]).is_err(), "{none} 0");
        }
        let said = |typed: &[&str]| {
            let (_, args) = args(typed);
            match args.sought.makes_sense(crate::sought::About::Readings) {
                Ok(()) => None,
                Err(Failure::Told(said)) => Some((said.exit, said.text)),
                Err(Failure::ClosedPipe) => panic!("{typed:?}"),
            }
        };
        let (exit, text) = said(&["--since", "2027-03-02", "--until", "2027-03-01"]).unwrap();
        assert!(exit == 2 && text.contains("is later than --until"), "{text}");
        assert_eq!(said(&["--since", "2027-03-01", "--until", "2027-03-01"]), None);
        assert!(said(&["--part", "a", "--check", "b/c"]).is_some());
        assert_eq!(said(&["--part", "b", "--check", "b/c"]), None);
    }

    #[test]
    fn a_check_is_found_as_tables_print_it() {
        let (global, args) = args(&["--check", "inner-spacer/face-a"]);
        let filter = filter(&args.sought, None, Form::of(&global, &args.sought));
        let both = (filter.part.as_deref(), filter.check.as_deref());
        assert_eq!(both, (Some("inner-spacer"), Some("face-a")));
    }

    #[test]
    fn what_cannot_narrow_is_refused_and_not_ignored() {
        use crate::sought::About::{Alerts, Jobs, Readings, Verdicts};
        let fits = |typed: &[&str]| {
            let (_, args) = args(typed);
            [Readings, Verdicts, Alerts, Jobs].map(|about| args.sought.makes_sense(about).is_ok())
        };
        assert_eq!(fits(&["--part", "a", "--check", "b"]), [true, true, true, false]);
        assert_eq!(fits(&["--gauge", "a"]), [true, true, true, false]);
        assert_eq!(fits(&["--verdict", "conforms"]), [true, true, false, false]);
        assert_eq!(fits(&["--level", "note"]), [false, false, true, false]);
        assert_eq!(fits(&["--kind", "out"]), [false, false, true, false]);
        let any =
            ["--serial", "a", "--customer", "b", "--who", "c", "--since", "today", "--after", "1"];
        assert_eq!(fits(&any), [true; 4]);
    }

    #[test]
    fn everything_is_asked_for_in_parts_that_join() {
        let all: Vec<Seq> = (1..=10).map(Seq).collect();
        let question = |filter: &Filter| {
            let wanted = |id: &&Seq| filter.after.is_none_or(|after| **id > after);
            let left: Vec<Seq> = all.iter().filter(wanted).copied().collect();
            Ok(left.into_iter().take(filter.first.unwrap_or(usize::MAX)).collect::<Vec<_>>())
        };
        for (size, parts) in [(3, 4), (5, 3), (10, 2), (11, 1)] {
            let (mut came, mut begun) = (Vec::new(), Vec::new());
            let each = |found: &[Seq], begins| {
                came.extend_from_slice(found);
                begun.push(begins);
                Ok(())
            };
            in_parts(size, &Filter::default(), question, |id| *id, each).unwrap();
            assert_eq!(came, all, "parts of {size}");
            assert_eq!(begun.len(), parts);
            assert!(begun[0] && begun[1..].iter().all(|begins| !begins));
        }
        let limited = Filter { first: Some(4), ..Filter::default() };
        let mut came = 0;
        let each = |found: &[Seq], _| {
            came += found.len();
            Ok(())
        };
        in_parts(2, &limited, question, |id| *id, each).unwrap();
        assert_eq!(came, 4);
    }

    #[test]
    fn an_unknown_state_is_refused_with_the_known_ones() {
        let known = [("placed", 1), ("void", 2)];
        assert_eq!(word_of("state", Some("void"), &known).unwrap(), Some(2));
        assert_eq!(word_of("state", None, &known).unwrap(), None);
        let Err(Failure::Told(said)) = word_of("state", Some("viod"), &known) else {
            panic!("refused")
        };
        assert_eq!(
            (said.exit, said.hint.as_deref()),
            (2, Some("did you mean void? one of: placed, void"))
        );
        let words = [("does-not-conform", 1), ("conforms", 2)];
        for typed in ["DOES NOT CONFORM", "does-not-conform", " Does_not-Conform "] {
            assert_eq!(word_of("verdict", Some(typed), &words).unwrap(), Some(1), "{typed}");
        }
        let Err(Failure::Told(said)) = word_of("verdict", Some("lathe"), &words) else {
            panic!("refused")
        };
        assert_eq!(said.hint.as_deref(), Some("one of: does-not-conform, conforms"));
    }
}
