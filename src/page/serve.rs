//! The page as a server: it takes connections, as many as it has places for, and lets none of them hold a place for
//! nothing.

use std::fmt;
use std::future::Future;
use std::io;
use std::net::SocketAddr;
use std::os::unix::fs::{FileTypeExt, PermissionsExt};
use std::path::{Path, PathBuf};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite, AsyncWriteExt, ReadBuf};
use tokio::net::{TcpListener, UnixListener};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time::{Sleep, sleep};

use crate::door::{Door, DoorError, Way};
use crate::limits::{CONNECTIONS, HEAD, HEAD_BYTES, HEAD_LINES, STUCK};
use crate::routes::{Site, router};
use crate::source::Source;

/// A page that is offered, and waits to be served.
#[derive(Debug)]
pub struct Opened {
    listener: Listener,
    router: Router,
    sentence: String,
}

#[derive(Debug)]
enum Listener {
    Tcp(TcpListener),
    Unix(UnixListener, #[expect(dead_code, reason = "it is there for its end")] Swept),
}

/// Takes the socket away again when the page ends.
#[derive(Debug)]
struct Swept(PathBuf);

impl Drop for Swept {
    fn drop(&mut self) {
        // It may be gone already.
        drop(std::fs::remove_file(&self.0));
    }
}

impl Opened {
    /// What is offered and to whom.
    #[must_use]
    pub fn sentence(&self) -> &str {
        &self.sentence
    }
}

/// Opens the door: from here on a browser can connect. Runs within a runtime.
///
/// # Errors
/// Another program is there already, or this one may not listen there.
pub async fn open(door: Door, source: Arc<dyn Source>) -> Result<Opened, DoorError> {
    let (listener, place) = match &door.way {
        Way::Address(address) => {
            let bound = TcpListener::bind(address).await.and_then(|listener| {
                let address = listener.local_addr()?;
                Ok((listener, address))
            });
            let taken = |error| DoorError::Taken { place: address.to_string(), error };
            let (listener, address) = bound.map_err(taken)?;
            (Listener::Tcp(listener), format!("http://{address}/"))
        }
        Way::Socket(path) => {
            let place = path.display().to_string();
            let taken = |error| DoorError::Taken { place: place.clone(), error };
            let listener = socket(path).map_err(taken)?;
            (Listener::Unix(listener, Swept(path.clone())), format!("the socket {place}"))
        }
    };
    let sentence = door.sentence(&place, &source.name());
    Ok(Opened { listener, router: router(Site::new(door, source)), sentence })
}

/// A socket for its owner and its group. One that is left over from a page that was killed is taken away first.
fn socket(path: &Path) -> io::Result<UnixListener> {
    let is_socket =
        std::fs::symlink_metadata(path).is_ok_and(|about| about.file_type().is_socket());
    if is_socket && std::os::unix::net::UnixStream::connect(path).is_err() {
        std::fs::remove_file(path)?;
    }
    // Until its rights are set nobody else may connect.
    let before = rustix::process::umask(rustix::fs::Mode::from_raw_mode(0o177));
    let listener = UnixListener::bind(path);
    rustix::process::umask(before);
    let listener = listener?;
    std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o660))?;
    Ok(listener)
}

/// Serves the page until `stop` is ready.
pub async fn serve(opened: Opened, stop: impl Future<Output = ()>) {
    let places = Arc::new(Semaphore::new(CONNECTIONS));
    let mut stop = std::pin::pin!(stop);
    let Opened { listener, router, .. } = opened;
    loop {
        let accepted: io::Result<Box<dyn Pipe>> = tokio::select! {
            accepted = accept(&listener) => accepted,
            () = &mut stop => return,
        };
        let Ok(stream) = accepted else {
            // Too many open files, for example: a pause lets some of them go.
            sleep(std::time::Duration::from_millis(100)).await;
            continue;
        };
        match Arc::clone(&places).try_acquire_owned() {
            Ok(place) => drop(tokio::spawn(connection(stream, router.clone(), place))),
            Err(_) => drop(tokio::spawn(full(stream))),
        }
    }
}

async fn accept(listener: &Listener) -> io::Result<Box<dyn Pipe>> {
    match listener {
        Listener::Tcp(listener) => {
            let (stream, _): (_, SocketAddr) = listener.accept().await?;
            // A digit that waits for the next packet is late.
            stream.set_nodelay(true)?;
            Ok(Box::new(stream))
        }
        Listener::Unix(listener, _) => Ok(Box::new(listener.accept().await?.0)),
    }
}

/// What a browser is told where every place is taken.
const FULL: &[u8] = b"HTTP/1.1 503 Service Unavailable\r\nContent-Type: text/plain; charset=utf-8\r\nRetry-After: 5\r\n\
X-Content-Type-Options: nosniff\r\nContent-Length: 40\r\nConnection: close\r\n\r\nToo many browsers look. Try again soon.\r\n";

async fn full(mut stream: Box<dyn Pipe>) {
    let told = async {
        stream.write_all(FULL).await?;
        stream.shutdown().await
    };
    // Whoever does not listen is not waited for.
    drop(tokio::time::timeout(HEAD, told).await);
}

async fn connection(stream: Box<dyn Pipe>, router: Router, place: OwnedSemaphorePermit) {
    let served = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD)
        .max_buf_size(HEAD_BYTES)
        .max_headers(HEAD_LINES)
        .serve_connection(TokioIo::new(Patient::of(stream)), TowerToHyperService::new(router));
    // A browser that goes away, or speaks something else, is no news.
    drop(served.await);
    drop(place);
}

/// A connection, whatever it goes over.
trait Pipe: AsyncRead + AsyncWrite + Send + Unpin {}

impl<T: AsyncRead + AsyncWrite + Send + Unpin> Pipe for T {}

/// A connection that ends when nothing of what is written to it is taken for long: its place is for somebody who
/// reads.
struct Patient {
    stream: Box<dyn Pipe>,
    stuck: Option<Pin<Box<Sleep>>>,
}

impl fmt::Debug for Patient {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Patient").finish_non_exhaustive()
    }
}

impl Patient {
    fn of(stream: Box<dyn Pipe>) -> Self {
        Self { stream, stuck: None }
    }

    fn held<T>(
        &mut self,
        cx: &mut Context<'_>,
        polled: Poll<io::Result<T>>,
    ) -> Poll<io::Result<T>> {
        if polled.is_ready() {
            self.stuck = None;
            return polled;
        }
        let stuck = self.stuck.get_or_insert_with(|| Box::pin(sleep(STUCK)));
        stuck.as_mut().poll(cx).map(|()| Err(io::ErrorKind::TimedOut.into()))
    }
}

impl AsyncRead for Patient {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(cx, buf)
    }
}

impl AsyncWrite for Patient {
    fn poll_write(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let polled = Pin::new(&mut self.stream).poll_write(cx, bytes);
        self.held(cx, polled)
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        let polled = Pin::new(&mut self.stream).poll_flush(cx);
        self.held(cx, polled)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        let polled = Pin::new(&mut self.stream).poll_shutdown(cx);
        self.held(cx, polled)
    }
}
