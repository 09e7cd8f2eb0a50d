//! A table for a browser: every column stands there, on a narrow screen as a list for each row.

use maud::{Markup, html};

use super::Table;
use crate::Ink;

impl Table {
    /// The table as markup. The cells of the column with the heading `linked` lead where `links` says, row by row;
    /// an empty link leads nowhere. That column comes first, and one without any text is left out.
    #[must_use]
    pub fn markup(&self, linked: &str, links: &[String]) -> Markup {
        let any = |at: usize| {
            self.rows.iter().any(|row| row.cells.get(at).is_some_and(|cell| !cell.is_empty()))
        };
        let leads = |at: &usize| self.columns[*at].title == linked;
        let (mut shown, rest): (Vec<usize>, Vec<usize>) =
            (0..self.columns.len()).filter(|at| any(*at)).partition(leads);
        shown.extend(rest);
        let first = shown.first().copied();
        let link = |row: usize, at: usize| {
            let here = self.columns[at].title == linked;
            links.get(row).filter(|link| here && !link.is_empty())
        };
        html! {
            table.stack {
                thead { tr {
                    @for at in &shown {
                        th.n[self.columns[*at].right] scope="col" { (self.columns[*at].title) }
                    }
                } }
                tbody { @for (number, row) in self.rows.iter().enumerate() {
                    tr.gone[row.faint] {
                        @for at in &shown {
                            @let cell = row.cells.get(*at).map_or("", String::as_str);
                            @let ink = row.inks.iter().find(|(own, _)| own == at).map(|(_, ink)| *ink);
                            @let inside = html! {
                                @match link(number, *at) {
                                    Some(link) => { a href=(link) { (inked(cell, ink)) } }
                                    None => (inked(cell, ink)),
                                }
                            };
                            @if Some(*at) == first && !self.columns[*at].right {
                                th scope="row" { (inside) }
                            } @else {
                                td.n[self.columns[*at].right] data-label=(self.columns[*at].title) { (inside) }
                            }
                        }
                    }
                } }
            }
        }
    }
}

/// A cell, isolated from the direction of the text around it; one with a colour is a mark of words.
fn inked(cell: &str, ink: Option<Ink>) -> Markup {
    let class = match ink {
        Some(Ink::Green) => "v plain in",
        Some(Ink::Red) => "v plain out",
        Some(Ink::Yellow) => "v plain open",
        None => return html! { bdi { (cell) } },
    };
    html! { strong class=(class) { (cell) } }
}

#[cfg(test)]
mod tests {
    use crate::{Column, Ink, Table};

    #[test]
    fn a_table_for_a_browser_holds_texts_as_texts() {
        let mut table = Table::new(&[
            Column::number("id", 0),
            Column::words("job", 0),
            Column::words("empty", 0),
            Column::words("verdict", 0),
        ]);
        let row = ["7", "<b>J</b>\u{202e}", "", "OUT"].map(str::to_owned);
        table.push(&row);
        table.ink("verdict", Ink::Red);
        let page = table.markup("job", &["/job/%3Cb%3E".to_owned()]).into_string();
        assert!(
            page.contains("<a href=\"/job/%3Cb%3E\"><bdi>&lt;b&gt;J&lt;/b&gt;\\u{202e}</bdi></a>"),
            "{page}"
        );
        assert!(page.contains("<strong class=\"v plain out\">OUT</strong>"), "{page}");
        assert!(!page.contains("empty") && page.contains("data-label=\"verdict\""), "{page}");
        let unlinked = table.markup("job", &[]).into_string();
        assert!(!unlinked.contains("<a "), "{unlinked}");
    }
}
