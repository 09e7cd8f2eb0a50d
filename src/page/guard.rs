//! What every request passes before it is answered, and what every answer says.

use std::sync::Arc;
use std::time::Instant;

use axum::extract::{Request, State};
use axum::http::header::{
    ALLOW, CACHE_CONTROL, CONNECTION, CONTENT_LENGTH, CONTENT_SECURITY_POLICY, COOKIE, HOST,
    HeaderName, REFERRER_POLICY, RETRY_AFTER, SET_COOKIE, TRANSFER_ENCODING,
    X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use axum::http::{HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::Response;

use crate::files;
use crate::limits::{ADDRESS, ANSWER, WRONG_TOKEN};
use crate::routes::Site;
use crate::sheet;

/// Only files of this page are loaded and run; it sends nothing elsewhere, and stands in no other page.
pub(crate) const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; \
    connect-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'";

/// What every answer says beside its own.
const ALWAYS: [(HeaderName, &str); 6] = [
    (X_CONTENT_TYPE_OPTIONS, "nosniff"),
    (REFERRER_POLICY, "no-referrer"),
    (X_FRAME_OPTIONS, "DENY"),
    (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
    (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    (HeaderName::from_static("permissions-policy"), "camera=(), geolocation=(), microphone=()"),
];

/// Lets a request in or refuses it.
pub(crate) async fn guard(State(site): State<Arc<Site>>, request: Request, next: Next) -> Response {
    let refusal = match refused(&site, &request) {
        Some(refusal) => Some(refusal),
        None => stranger(&site, Shown::of(&request)).await,
    };
    let mut answer = match refusal {
        Some(refusal) => refusal,
        None => match tokio::time::timeout(ANSWER, next.run(request)).await {
            Ok(answer) => answer,
            Err(_) => site.says(StatusCode::SERVICE_UNAVAILABLE, "The answer took too long.", None),
        },
    };
    let headers = answer.headers_mut();
    for (name, value) in ALWAYS {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers.entry(CONTENT_SECURITY_POLICY).or_insert(const { HeaderValue::from_static(POLICY) });
    headers.entry(CACHE_CONTROL).or_insert(const { HeaderValue::from_static("no-store") });
    answer
}

/// The answer to a request that is not let in.
fn refused(site: &Site, request: &Request) -> Option<Response> {
    let header = |name: HeaderName| request.headers().get(name).map(HeaderValue::as_bytes);
    if ![Method::GET, Method::HEAD].contains(request.method()) {
        let text = "This page only shows. Nothing can be sent to it.";
        let mut answer = site.says(StatusCode::METHOD_NOT_ALLOWED, text, None);
        answer.headers_mut().insert(ALLOW, HeaderValue::from_static("GET, HEAD"));
        return Some(closing(answer));
    }
    let empty = header(CONTENT_LENGTH).is_none_or(|length| length == b"0");
    if !empty || header(TRANSFER_ENCODING).is_some() {
        let text = "A request to look at something has nothing behind it.";
        return Some(closing(site.says(StatusCode::BAD_REQUEST, text, None)));
    }
    let host = header(HOST).and_then(|host| std::str::from_utf8(host).ok());
    let host = request.uri().authority().map_or(host, |authority| Some(authority.as_str()));
    if !site.door.answers_to(host) {
        let text = "This page answers to the names of this machine only.";
        let hint = "Use http://127.0.0.1 or http://localhost with its port.";
        return Some(closing(site.says(StatusCode::FORBIDDEN, text, Some(hint))));
    }
    let asked = request.uri().path_and_query().map_or("", |asked| asked.as_str());
    if asked.len() > ADDRESS {
        return Some(site.says(StatusCode::URI_TOO_LONG, "The address is too long.", None));
    }
    if !site.bucket.takes(Instant::now()) {
        let text = "Too many requests at once.";
        let mut answer = site.says(StatusCode::TOO_MANY_REQUESTS, text, Some("Try again soon."));
        answer.headers_mut().insert(RETRY_AFTER, HeaderValue::from_static("2"));
        return Some(answer);
    }
    None
}

/// What a request shows of who it comes from.
struct Shown {
    path: String,
    query: String,
    cookies: String,
}

impl Shown {
    fn of(request: &Request) -> Self {
        let cookies = request.headers().get(COOKIE).and_then(|cookies| cookies.to_str().ok());
        Self {
            path: request.uri().path().to_owned(),
            query: request.uri().query().unwrap_or_default().to_owned(),
            cookies: cookies.unwrap_or_default().to_owned(),
        }
    }
}

/// A refusal after which the connection ends: what else comes on it is not read.
fn closing(mut answer: Response) -> Response {
    answer.headers_mut().insert(CONNECTION, HeaderValue::from_static("close"));
    answer
}

/// The answer to somebody who has not shown the token yet, or shows it now.
async fn stranger(site: &Site, Shown { path, query, cookies }: Shown) -> Option<Response> {
    let token = site.door.token.as_ref()?;
    if files::is_file(&path) {
        return None;
    }
    let shown = query.split('&').find_map(|field| field.strip_prefix("token="));
    if let Some(shown) = shown {
        // A base32 text may end in `=`, which some write as `%3D`.
        let shown = shown.replace("%3D", "=").replace("%3d", "=");
        if !token.is(&shown) {
            // One after the other: who guesses waits.
            let _turn = site.guesses.lock().await;
            tokio::time::sleep(WRONG_TOKEN).await;
            let text = "That is not the token.";
            return Some(site.says(StatusCode::UNAUTHORIZED, text, Some(ASK)));
        }
        // A page that leads on by itself, and no redirection: with that a browser would leave the cookie out when it
        // came by a link of elsewhere.
        let mut answer = sheet::leads_to_start(site);
        let kept = HeaderValue::from_str(&token.to_keep()).ok()?;
        answer.headers_mut().insert(SET_COOKIE, kept);
        return Some(answer);
    }
    if token.lets_in(&cookies) {
        return None;
    }
    Some(site.says(StatusCode::UNAUTHORIZED, "This page needs a token.", Some(ASK)))
}

/// What a stranger is told.
const ASK: &str =
    "Ask for the address with the token: it ends in /?token=… and is needed once in each browser.";
