//! A serial server on this machine, as far as a gauge behind it can tell.

use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

const PATIENCE: Duration = Duration::from_secs(40);

pub(super) struct Server {
    listener: TcpListener,
}

impl Server {
    pub(super) fn new() -> Self {
        let listener = TcpListener::bind(("127.0.0.1", 0)).unwrap();
        listener.set_nonblocking(true).unwrap();
        Self { listener }
    }

    /// As it stands in bench.toml.
    pub(super) fn port(&self) -> String {
        format!("tcp:127.0.0.1:{}", self.listener.local_addr().unwrap().port())
    }

    pub(super) fn accepted(&mut self) -> Connection {
        self.accepted_within(PATIENCE).expect("somebody connects")
    }

    pub(super) fn accepted_within(&mut self, patience: Duration) -> Option<Connection> {
        let until = Instant::now() + patience;
        loop {
            match self.listener.accept() {
                Ok((stream, _)) => {
                    stream.set_nonblocking(false).unwrap();
                    return Some(Connection(stream));
                }
                Err(_) if Instant::now() < until => std::thread::sleep(Duration::from_millis(10)),
                Err(_) => return None,
            }
        }
    }
}

/// The gauge's side of a connection.
pub(super) struct Connection(TcpStream);

impl Connection {
    pub(super) fn send(&self, bytes: &[u8]) {
        (&self.0).write_all(bytes).unwrap();
    }

    /// All that was written from the other side until it ended or nothing more came for a moment.
    pub(super) fn received(&self) -> Vec<u8> {
        self.0.set_read_timeout(Some(Duration::from_millis(300))).unwrap();
        let (mut all, mut part) = (Vec::new(), [0; 256]);
        while let Ok(count @ 1..) = (&self.0).read(&mut part) {
            all.extend(&part[..count]);
        }
        all
    }

    /// From now on each question mark is answered with this.
    pub(super) fn answering(self, answer: &str) -> Answering {
        let shared = Arc::new(Shared {
            answer: Mutex::new(answer.to_owned()),
            asked: AtomicUsize::new(0),
            ends: AtomicBool::new(false),
        });
        let its = Arc::clone(&shared);
        let thread = std::thread::spawn(move || its.answer(&self));
        Answering { shared, thread: Some(thread) }
    }
}

struct Shared {
    answer: Mutex<String>,
    asked: AtomicUsize,
    ends: AtomicBool,
}

impl Shared {
    fn answer(&self, connection: &Connection) {
        connection.0.set_read_timeout(Some(Duration::from_millis(50))).unwrap();
        let mut part = [0; 256];
        while !self.ends.load(Ordering::Relaxed) {
            match (&connection.0).read(&mut part) {
                Ok(0) => return,
                Ok(count) => {
                    for _ in part[..count].iter().filter(|byte| **byte == b'?') {
                        self.asked.fetch_add(1, Ordering::Relaxed);
                        let answer = self.answer.lock().unwrap().clone();
                        if (&connection.0).write_all(answer.as_bytes()).is_err() {
                            return;
                        }
                    }
                }
                Err(_) => {}
            }
        }
    }
}

/// A gauge that answers when it is asked.
pub(super) struct Answering {
    shared: Arc<Shared>,
    thread: Option<JoinHandle<()>>,
}

impl Answering {
    pub(super) fn answers(&self, answer: &str) {
        answer.clone_into(&mut self.shared.answer.lock().unwrap());
    }

    /// How often it was asked.
    pub(super) fn asked(&self) -> usize {
        self.shared.asked.load(Ordering::Relaxed)
    }
}

impl Drop for Answering {
    fn drop(&mut self) {
        self.shared.ends.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            drop(thread.join());
        }
    }
}
