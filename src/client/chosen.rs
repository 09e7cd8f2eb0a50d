//! The columns that a person or a script chose with `--columns`.

use jiff::tz::TimeZone;

use ::report::{Chosen, Column, Table, column_text, is_figure};
use quantity::near;
use serde_json::Value;

use super::failure::{Failure, REFUSED};

/// The names of columns, in the order in which they were typed. One value of the command line: the parser of
/// arguments would take a list for an option that may be repeated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Names(Vec<String>);

/// Reads `job,check,verdict`: names with commas between them.
pub(crate) fn names(text: &str) -> Result<Names, String> {
    let names: Vec<String> = text.split(',').map(|name| name.trim().to_owned()).collect();
    if names.iter().any(String::is_empty) {
        return Err(
            "a column has no name; write the names with commas: job,check,verdict".to_owned()
        );
    }
    let twice = names.iter().enumerate().find(|(at, name)| names[..*at].contains(name));
    match twice {
        Some((_, name)) => Err(format!("{name} stands there twice")),
        None => Ok(Names(names)),
    }
}

/// The columns of a file of separated values that were chosen, in the order in which they were named.
pub(crate) fn of_file<'c>(
    names: &Names,
    columns: &[&'c str],
    command: &str,
) -> Result<Vec<&'c str>, Failure> {
    let find = |name: &String| {
        let found = columns.iter().find(|column| alike(column, name)).copied();
        found.ok_or_else(|| unknown(name, columns.iter().map(|&column| column.to_owned()), command))
    };
    names.0.iter().map(find).collect()
}

/// A table with the columns that were chosen: those it has anyway, by their headings, and every column of the file of
/// separated values, by its name there.
pub(crate) fn of_table(
    names: &Names,
    table: &Table,
    (columns, lines): (&[&str], &[Value]),
    command: &str,
) -> Result<Table, Failure> {
    let zone = TimeZone::system();
    let titles: Vec<&str> = table.titles().map(heading).collect();
    let find = |name: &String| {
        if let Some(at) = titles.iter().position(|title| alike(title, name)) {
            return Ok(Chosen::Own(at));
        }
        let Some(path) = columns.iter().find(|column| alike(column, name)) else {
            let known = titles.iter().chain(columns).map(|&known| known.to_owned());
            return Err(unknown(name, known, command));
        };
        let cells = lines.iter().map(|line| column_text(line, path, &zone)).collect();
        let column = Column { right: is_figure(path), ..Column::words("", 0) };
        Ok(Chosen::Other(Column { title: (*path).to_owned().into(), ..column }, cells))
    };
    let chosen: Vec<Chosen> = names.0.iter().map(find).collect::<Result<_, _>>()?;
    Ok(table.chosen(&chosen))
}

/// A heading without the unit behind it, and without the sign in front: `value, in`, `±U`.
fn heading(title: &str) -> &str {
    title.split(',').next().unwrap_or(title).trim_start_matches('±')
}

/// Whether a person means this column: in any letter case, with a hyphen for a blank.
fn alike(known: &str, typed: &str) -> bool {
    let plain = |text: &str| text.trim_start_matches('±').to_lowercase().replace('-', " ");
    plain(known) == plain(typed)
}

fn unknown(name: &str, known: impl Iterator<Item = String>, command: &str) -> Failure {
    let near = near::names(name, known);
    let meant =
        if near.is_empty() { String::new() } else { format!("did you mean {}? ", near.join(", ")) };
    let hint =
        format!("{meant}all names stand in the first line of: tenths {command} --csv --last 1");
    Failure::new(REFUSED, format!("there is no column {name:?}"), hint)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_read_with_commas_between_them() {
        assert_eq!(names("job, check,±U").unwrap().0, ["job", "check", "±U"]);
        assert!(names("job,,check").unwrap_err().contains("commas"));
        assert!(names("").unwrap_err().contains("no name"));
        assert!(names("job,check,job").unwrap_err().contains("twice"));
    }

    #[test]
    fn a_column_is_found_as_a_table_or_a_file_calls_it() {
        for (known, typed) in
            [("value, in", "value"), ("±U", "u"), ("±U", "±U"), ("counts as", "Counts-As")]
        {
            assert!(alike(heading(known), typed), "{known} {typed}");
        }
        assert!(!alike("value", "values"));
        let columns = ["id", "job", "figures.tilt"];
        let typed = names("figures.tilt,ID").unwrap();
        assert_eq!(of_file(&typed, &columns, "verdicts").unwrap(), ["figures.tilt", "id"]);
        let Err(Failure::Told(said)) = of_file(&names("jop").unwrap(), &columns, "verdicts") else {
            panic!("refused")
        };
        assert_eq!(said.text, "there is no column \"jop\"");
        assert!(said.hint.unwrap().starts_with("did you mean job? all names stand"));
    }
}
