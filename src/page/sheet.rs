//! The sheet that every page stands on: its head with where one can go, its files, its foot.

use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use maud::{DOCTYPE, Markup, html};

use crate::files::{ICON_PATH, SCRIPT_PATH, STYLE_PATH};
use crate::routes::Site;
use wire::printable;

/// Which of the places a page belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Place {
    /// What a station shows now.
    Bench,
    Jobs,
    Alerts,
    /// None of them.
    Elsewhere,
}

/// A text from outside: what could reorder or hide the text around it becomes visible signs, and its direction is its
/// own.
pub(crate) fn free(text: &str) -> Markup {
    html! { bdi { (printable(text)) } }
}

/// A whole page.
pub(crate) fn sheet(site: &Site, place: Place, title: &str, body: &Markup) -> Html<String> {
    let file = |path: &str| format!("{path}?v={}", site.version);
    let live = place == Place::Bench;
    let whole = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (printable(title)) " · tenths" }
                link rel="icon" type="image/svg+xml" href=(file(ICON_PATH));
                link rel="stylesheet" href=(file(STYLE_PATH));
                script src=(file(SCRIPT_PATH)) {}
                @if live { noscript { meta http-equiv="refresh" content="5"; } }
            }
            body.live[live] {
                a.skip href="#main" { "To what is shown" }
                header.top {
                    a.own href="/" { (scale()) span { "tenths" } }
                    p.whose { (free(&site.name)) }
                    nav aria-label="Pages" {
                        (way("/", "Bench", place == Place::Bench))
                        (way("/jobs", "Jobs", place == Place::Jobs))
                        (way("/alerts", "Alerts", place == Place::Alerts))
                    }
                    div.switches {
                        @if live { button #sound type="button" aria-pressed="false" hidden { "Sound off" } }
                        button #theme type="button" hidden { "Dark" }
                    }
                }
                (body)
            }
        }
    };
    Html(whole.into_string())
}

fn way(to: &str, name: &str, here: bool) -> Markup {
    html! { a href=(to) aria-current=[here.then_some("page")] { (name) } }
}

/// The sign of the page: the divisions of a dial and its hand.
fn scale() -> Markup {
    html! {
        svg.sign viewBox="0 0 32 32" width="32" height="32" aria-hidden="true" {
            path.div d="M4.7 22.5 l2.6-1.5 M3 16 h3 M4.7 9.5 l2.6 1.5 M9.5 4.7 l1.5 2.6 M16 3 v4.5 M22.5 4.7 l-1.5 2.6 M27.3 9.5 l-2.6 1.5 M29 16 h-3 M27.3 22.5 l-2.6 -1.5" {}
            path.hand d="M16 20 L22.6 8.6" {}
            circle.hub cx="16" cy="20" r="3.2" {}
        }
    }
}

/// A page that says a sentence, and what to do.
pub(crate) fn sentence(
    site: &Site,
    status: StatusCode,
    text: &str,
    hint: Option<&str>,
) -> Response {
    let body = html! {
        main #main.sentence tabindex="-1" {
            h1 { (begun(&printable(text))) }
            @if let Some(hint) = hint { p { (begun(&printable(hint))) } }
            p.code { (status.as_u16()) " " (status.canonical_reason().unwrap_or_default()) }
        }
    };
    (status, sheet(site, Place::Elsewhere, text, &body)).into_response()
}

/// A sentence of a command line as one of a page: it begins with a capital letter and ends.
pub(crate) fn begun(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    let end = if text.ends_with(['.', '?', '!', '…']) { "" } else { "." };
    format!("{first}{}{end}", letters.as_str())
}

/// The page of somebody who was just let in: it leads to the start.
pub(crate) fn leads_to_start(site: &Site) -> Response {
    let whole = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="refresh" content="0; url=/";
                title { "tenths" }
                link rel="stylesheet" href={ (STYLE_PATH) "?v=" (site.version) };
            }
            body { main.sentence { h1 { "This browser is let in." } p { a href="/" { "To the bench" } } } }
        }
    };
    Html(whole.into_string()).into_response()
}
