//! Which address shows what.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Instant;

use axum::Router;
use axum::extract::{Path, Query, State};
use axum::http::header::{CONTENT_SECURITY_POLICY, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use tokio::sync::{Mutex, Semaphore};

use crate::door::{Door, digest};
use crate::limits::{Bucket, READERS, ROWS, STREAMS, TURN};
use crate::live::Hub;
use crate::sheet;
use crate::source::{JobAt, Sought, Source, Told, Wrong};
use crate::{bench, files, guard, live, office};

/// Everything the page has.
#[derive(Debug)]
pub(crate) struct Site {
    pub(crate) door: Door,
    pub(crate) source: Arc<dyn Source>,
    /// The name of the bench or the shop.
    pub(crate) name: String,
    pub(crate) version: String,
    pub(crate) bucket: Bucket,
    /// Whoever showed a wrong token waits here.
    pub(crate) guesses: Mutex<()>,
    readers: Arc<Semaphore>,
    pub(crate) streams: Arc<Semaphore>,
    pub(crate) hub: Hub,
    /// What the report may have: its own style, and nothing else.
    report_policy: HeaderValue,
}

impl Site {
    pub(crate) fn new(door: Door, source: Arc<dyn Source>) -> Arc<Self> {
        let style = base64(&digest(report::report_style().as_bytes()));
        let policy = format!(
            "default-src 'none'; style-src 'sha256-{style}'; img-src data:; frame-ancestors 'none'; base-uri 'none'; \
             form-action 'none'"
        );
        Arc::new(Self {
            door,
            name: source.name(),
            hub: Hub::new(Arc::clone(&source)),
            source,
            version: files::version(),
            bucket: Bucket::new(Instant::now()),
            guesses: Mutex::new(()),
            readers: Arc::new(Semaphore::new(READERS)),
            streams: Arc::new(Semaphore::new(STREAMS)),
            report_policy: HeaderValue::from_str(&policy).expect("it is made of ASCII signs"),
        })
    }

    /// A page that says a sentence.
    pub(crate) fn says(&self, status: StatusCode, text: &str, hint: Option<&str>) -> Response {
        sheet::sentence(self, status, text, hint)
    }

    fn told(&self, told: &Told) -> Response {
        let status = match told.wrong {
            Wrong::NotThere => StatusCode::NOT_FOUND,
            Wrong::Asked => StatusCode::BAD_REQUEST,
            Wrong::Away => StatusCode::SERVICE_UNAVAILABLE,
        };
        self.says(status, &told.text, told.hint.as_deref())
    }

    /// Asks the source on a thread of its own, when it is this request's turn, and makes something of the answer there.
    pub(crate) async fn ask<T: Send + 'static>(
        self: &Arc<Self>,
        question: impl FnOnce(&Self) -> Result<T, Told> + Send + 'static,
    ) -> Result<T, Response> {
        let turn = Arc::clone(&self.readers).acquire_owned();
        let Ok(Ok(turn)) = tokio::time::timeout(TURN, turn).await else {
            let text = "Others read the record just now.";
            return Err(self.says(StatusCode::SERVICE_UNAVAILABLE, text, Some("Try again soon.")));
        };
        let site = Arc::clone(self);
        let asked = tokio::task::spawn_blocking(move || {
            let answer = question(&site);
            drop(turn);
            answer
        });
        let Ok(answer) = asked.await else {
            let text = "This could not be shown.";
            return Err(self.says(StatusCode::INTERNAL_SERVER_ERROR, text, None));
        };
        answer.map_err(|told| self.told(&told))
    }
}

/// Base64 (RFC 4648, section 4), as policies name a digest.
fn base64(bytes: &[u8]) -> String {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut made = String::new();
    for three in bytes.chunks(3) {
        let byte = |at: usize| u32::from(three.get(at).copied().unwrap_or(0));
        let all = byte(0) << 16 | byte(1) << 8 | byte(2);
        for at in 0..4_usize {
            let sign = SIGNS[(all >> (18 - 6 * at) & 63) as usize];
            made.push(if at <= three.len() { char::from(sign) } else { '=' });
        }
    }
    made
}

pub(crate) fn router(site: Arc<Site>) -> Router {
    Router::new()
        .route("/", get(start))
        .route("/live", get(live::follow))
        .route("/jobs", get(jobs))
        .route("/job", get(job_asked))
        .route("/job/report", get(report_or_job))
        .route("/job/{name}", get(job))
        .route("/job/{name}/report", get(report_page))
        .route("/alerts", get(alerts))
        .route(files::STYLE_PATH, get(files::style))
        .route(files::SCRIPT_PATH, get(files::script))
        .route(files::ICON_PATH, get(files::icon))
        .fallback(nothing)
        .layer(from_fn_with_state(Arc::clone(&site), guard::guard))
        .with_state(site)
}

type Fields = Query<BTreeMap<String, String>>;

fn given(
    fields: &Result<Fields, axum::extract::rejection::QueryRejection>,
    name: &str,
) -> Option<String> {
    let Ok(Query(fields)) = fields else { return None };
    let text = fields.get(name)?.trim();
    // Signs that bend the text around them are in no name, and a form that comes back must not be bent either.
    let plain =
        |sign: &char| wire::printable(sign.encode_utf8(&mut [0; 4])).len() == sign.len_utf8();
    let text: String = text.chars().filter(plain).take(200).collect();
    (!text.is_empty()).then_some(text)
}

type Asked = Result<Fields, axum::extract::rejection::QueryRejection>;

async fn nothing(State(site): State<Arc<Site>>) -> Response {
    site.says(StatusCode::NOT_FOUND, "There is nothing here.", None)
}

/// The bench: the station that is named, or the only one, or a list of them.
async fn start(State(site): State<Arc<Site>>, asked: Asked) -> Response {
    let station = given(&asked, "station");
    let shown = site.ask(move |site| bench::start(site, station.as_deref()));
    shown.await.map_or_else(|refusal| refusal, IntoResponse::into_response)
}

async fn jobs(State(site): State<Arc<Site>>, asked: Asked) -> Response {
    let open = match given(&asked, "state").as_deref() {
        Some("open") => Some(true),
        Some("closed") => Some(false),
        Some(_) | None => None,
    };
    let field = |name| given(&asked, name);
    let sought = Sought {
        name: field("name"),
        serial: field("serial"),
        customer: field("customer"),
        person: field("person"),
        since: field("since"),
        until: field("until"),
        open,
        before: field("before"),
    };
    // A search without a result is an answer, with the form still there to change it.
    let shown =
        site.ask(move |site| Ok(office::jobs(site, &sought, &site.source.jobs(&sought, ROWS))));
    shown.await.map_or_else(|refusal| refusal, IntoResponse::into_response)
}

async fn job_asked(State(site): State<Arc<Site>>, asked: Asked) -> Response {
    match given(&asked, "name") {
        Some(name) => one_job(&site, JobAt { name, bench: given(&asked, "bench") }).await,
        None => nothing(State(site)).await,
    }
}

/// The report of a job that no path can name, or a job with this name.
async fn report_or_job(State(site): State<Arc<Site>>, asked: Asked) -> Response {
    let bench = given(&asked, "bench");
    match given(&asked, "name") {
        Some(name) => one_report(&site, JobAt { name, bench }).await,
        None => one_job(&site, JobAt { name: "report".to_owned(), bench }).await,
    }
}

type Named = Result<Path<String>, axum::extract::rejection::PathRejection>;

async fn job(State(site): State<Arc<Site>>, name: Named, asked: Asked) -> Response {
    let Ok(Path(name)) = name else { return nothing(State(site)).await };
    one_job(&site, JobAt { name, bench: given(&asked, "bench") }).await
}

async fn report_page(State(site): State<Arc<Site>>, name: Named, asked: Asked) -> Response {
    let Ok(Path(name)) = name else { return nothing(State(site)).await };
    one_report(&site, JobAt { name, bench: given(&asked, "bench") }).await
}

async fn one_job(site: &Arc<Site>, at: JobAt) -> Response {
    let shown = site.ask(move |site| Ok(office::job(site, &site.source.job(&at)?)));
    shown.await.map_or_else(|refusal| refusal, IntoResponse::into_response)
}

async fn one_report(site: &Arc<Site>, at: JobAt) -> Response {
    match site.ask(move |site| site.source.report(&at)).await {
        Ok(page) => {
            let kind = HeaderValue::from_static("text/html; charset=utf-8");
            let said =
                [(CONTENT_TYPE, kind), (CONTENT_SECURITY_POLICY, site.report_policy.clone())];
            (said, page).into_response()
        }
        Err(refusal) => refusal,
    }
}

async fn alerts(State(site): State<Arc<Site>>, asked: Asked) -> Response {
    let before = given(&asked, "before");
    let shown = site.ask(move |site| {
        let found = site.source.alerts(before.as_deref(), ROWS)?;
        Ok(office::alerts(site, before.as_deref(), &found))
    });
    shown.await.map_or_else(|refusal| refusal, IntoResponse::into_response)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The examples of RFC 4648, section 10.
    #[test]
    fn base64_is_that_of_its_standard() {
        let known = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("foobar", "Zm9vYmFy"),
        ];
        for (text, made) in known {
            assert_eq!(base64(text.as_bytes()), made);
        }
    }
}
