//! The files of the page itself: one style sheet, one script, one picture. They are in the program.

use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};

use crate::door::{digest, hex};

const STYLE: &str = include_str!("assets/page.css");
const SCRIPT: &str = include_str!("assets/page.js");
const ICON: &str = include_str!("assets/icon.svg");

/// The files by the path of each.
pub(crate) const STYLE_PATH: &str = "/page.css";
pub(crate) const SCRIPT_PATH: &str = "/page.js";
pub(crate) const ICON_PATH: &str = "/icon.svg";

/// Whether a path is that of a file that says nothing about anybody.
pub(crate) fn is_file(path: &str) -> bool {
    [STYLE_PATH, SCRIPT_PATH, ICON_PATH].contains(&path)
}

/// What is put behind the path of a file, so that a browser takes a new one as soon as there is one.
pub(crate) fn version() -> String {
    let all = [STYLE, SCRIPT, ICON].concat();
    hex(&digest(all.as_bytes())[..6])
}

pub(crate) async fn style() -> Response {
    file("text/css; charset=utf-8", STYLE)
}

pub(crate) async fn script() -> Response {
    file("text/javascript; charset=utf-8", SCRIPT)
}

pub(crate) async fn icon() -> Response {
    file("image/svg+xml", ICON)
}

fn file(kind: &'static str, text: &'static str) -> Response {
    ([(CONTENT_TYPE, kind), (CACHE_CONTROL, "max-age=86400")], text).into_response()
}
