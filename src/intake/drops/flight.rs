//! Files handed over whose result is not known yet. The next files are read meanwhile, so that files which
//! arrive together are stored together.

use std::collections::VecDeque;
use std::ffi::OsString;

use tokio::sync::oneshot;

use crate::{Closed, Fate};

/// The most files handed over without a result, so that a touch has to wait for no more than these.
const MOST: usize = 16;

/// The most bytes in all of them.
const MOST_BYTES: u64 = 256 << 10;

/// A file whose result is not known yet.
#[derive(Debug)]
struct Flight {
    name: OsString,
    bytes: u64,
    fate: oneshot::Receiver<Fate>,
}

/// All such files, in the order they were handed over.
#[derive(Debug, Default)]
pub(super) struct Flights {
    flights: VecDeque<Flight>,
    bytes: u64,
}

impl Flights {
    pub(super) fn is_empty(&self) -> bool {
        self.flights.is_empty()
    }

    /// Whether the next file has to wait.
    pub(super) fn is_full(&self) -> bool {
        self.flights.len() >= MOST || self.bytes >= MOST_BYTES
    }

    pub(super) fn told(&mut self, name: OsString, bytes: u64, fate: oneshot::Receiver<Fate>) {
        self.bytes += bytes;
        self.flights.push_back(Flight { name, bytes, fate });
    }

    /// Waits for the first result, and returns all that are known by then.
    pub(super) async fn landed(&mut self) -> Result<Vec<(OsString, Fate)>, Closed> {
        let mut landed = Vec::new();
        while let Some(first) = self.flights.front_mut() {
            let fate = if landed.is_empty() {
                (&mut first.fate).await.map_err(|_| Closed)?
            } else {
                match first.fate.try_recv() {
                    Ok(fate) => fate,
                    Err(oneshot::error::TryRecvError::Empty) => break,
                    Err(oneshot::error::TryRecvError::Closed) => return Err(Closed),
                }
            };
            if let Some(flight) = self.flights.pop_front() {
                self.bytes -= flight.bytes;
                landed.push((flight.name, fate));
            }
        }
        Ok(landed)
    }
}
