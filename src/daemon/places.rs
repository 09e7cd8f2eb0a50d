//! The places at the control socket. The number of connections that ask and of those that follow is
//! limited, and an idle connection does not keep others out.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use tokio::sync::Notify;
use tokio::time::Instant;

use super::peer::Peer;

/// The most connections that ask. Root and the service's own user have one more.
const ASKING: usize = 64;

/// The most connections that follow the feed or a station. Root and the service's own user have one
/// more.
const FOLLOWING: usize = 64;

/// A connection without a request for this long is ended.
const IDLE: Duration = Duration::from_mins(1);

/// A connection without a request for this long gives way when no other place is free.
const GIVES_WAY: Duration = Duration::from_secs(2);

/// At most this many holders of places are named.
const NAMED: usize = 3;

/// All places.
#[derive(Clone, Default)]
pub(super) struct Places(Arc<Mutex<Taken>>);

#[derive(Default)]
struct Taken {
    next: u64,
    seats: BTreeMap<u64, Held>,
    /// Whether it was reported that all places are taken, since one was last free.
    told: bool,
}

/// One place that is taken.
struct Held {
    peer: Peer,
    follows: bool,
    /// Since when it is idle; `None` while it is being answered.
    idle: Option<Instant>,
    way: Arc<Notify>,
}

/// The place of a connection. Dropping it gives it back.
pub(super) struct Seat {
    places: Places,
    id: u64,
    peer: Peer,
    way: Arc<Notify>,
}

impl Places {
    fn taken(&self) -> MutexGuard<'_, Taken> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// A place for a connection, or the sentence that there is none.
    pub(super) fn admit(&self, peer: Peer) -> Result<Seat, String> {
        let mut taken = self.taken();
        if !taken.has_room(peer, false) {
            taken.longest_idle_gives_way();
        }
        if !taken.has_room(peer, false) {
            let text = taken.full(false);
            if !std::mem::replace(&mut taken.told, true) {
                tracing::warn!("a client was turned away: {text}");
            }
            return Err(text);
        }
        taken.told = false;
        let (id, way) = (taken.next, Arc::new(Notify::new()));
        taken.next += 1;
        let held = Held { peer, follows: false, idle: Some(Instant::now()), way: Arc::clone(&way) };
        taken.seats.insert(id, held);
        Ok(Seat { places: self.clone(), id, peer, way })
    }
}

impl Taken {
    fn count(&self, follows: bool) -> usize {
        self.seats.values().filter(|held| held.follows == follows).count()
    }

    fn has_room(&self, peer: Peer, follows: bool) -> bool {
        let most = if follows { FOLLOWING } else { ASKING };
        self.count(follows) < most + usize::from(peer.is_privileged())
    }

    fn longest_idle_gives_way(&mut self) {
        let idle = self.seats.iter().filter(|(_, held)| !held.follows);
        let longest = idle.filter_map(|(id, held)| Some((held.idle?, *id))).min();
        let Some((_, id)) = longest.filter(|(since, _)| since.elapsed() >= GIVES_WAY) else {
            return;
        };
        if let Some(held) = self.seats.remove(&id) {
            held.way.notify_one();
        }
    }

    /// The sentence that there is no place, and who holds them.
    fn full(&self, follows: bool) -> String {
        let mut by: BTreeMap<Peer, usize> = BTreeMap::new();
        for held in self.seats.values().filter(|held| held.follows == follows) {
            *by.entry(held.peer).or_default() += 1;
        }
        let mut by: Vec<(usize, Peer)> =
            by.into_iter().map(|(peer, count)| (count, peer)).collect();
        by.sort_by_key(|(count, peer)| (std::cmp::Reverse(*count), *peer));
        let named = by.iter().take(NAMED).map(|(count, peer)| format!("{count} by {peer}"));
        let mut named: Vec<String> = named.collect();
        let others: usize = by.iter().skip(NAMED).map(|(count, _)| count).sum();
        if others > 0 {
            named.push(format!("{others} by others"));
        }
        let what = if follows { "followers" } else { "connections" };
        format!(
            "the service runs but has no free place: {} {what}, held {}",
            self.count(follows),
            named.join(", ")
        )
    }
}

/// What to do when there is no place.
pub(super) const FULL_HINT: &str = "end the programs that hold connections; what has asked nothing \
                                    for a while gives way by itself";

impl Seat {
    /// Who has the place.
    pub(super) const fn peer(&self) -> Peer {
        self.peer
    }

    fn change(&self, change: impl FnOnce(&mut Held)) {
        if let Some(held) = self.places.taken().seats.get_mut(&self.id) {
            change(held);
        }
    }

    /// A request is being answered.
    pub(super) fn works(&self) {
        self.change(|held| held.idle = None);
    }

    /// The connection follows something from now on; an error where too many do.
    pub(super) fn follows(&self) -> Result<(), String> {
        let mut taken = self.places.taken();
        match taken.seats.get(&self.id) {
            Some(held) if !held.follows => {}
            Some(_) | None => return Ok(()),
        }
        if !taken.has_room(self.peer, true) {
            return Err(taken.full(true));
        }
        if let Some(held) = taken.seats.get_mut(&self.id) {
            held.follows = true;
        }
        Ok(())
    }

    /// A request was answered. Waits until the connection has been idle for too long or has to give way,
    /// and returns the sentence about it.
    pub(super) async fn rests(&self) -> String {
        self.change(|held| held.idle = Some(Instant::now()));
        tokio::select! {
            () = self.way.notified() => {
                "this connection asked nothing, and others had no place".to_owned()
            }
            () = tokio::time::sleep(IDLE) => {
                format!("this connection asked nothing for {} s", IDLE.as_secs())
            }
        }
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        self.places.taken().seats.remove(&self.id);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const OWN: Peer = Peer { uid: 0, pid: 7 };
    const OTHER: Peer = Peer { uid: 65_533, pid: 8 };

    fn taken_by(places: &Places, peer: Peer, count: usize) -> Vec<Seat> {
        (0..count).map(|_| places.admit(peer).unwrap_or_else(|text| panic!("{text}"))).collect()
    }

    #[tokio::test(start_paused = true)]
    async fn whoever_asks_nothing_gives_way_the_longest_first() {
        let places = Places::default();
        let seats = taken_by(&places, OTHER, ASKING);
        let text = places.admit(OTHER).err().unwrap();
        assert!(text.contains("64 connections, held 64 by uid 65533 (process 8)"), "{text}");
        let reserved = places.admit(OWN).unwrap_or_else(|text| panic!("{text}"));
        assert!(places.admit(OWN).is_err(), "there is one reserved place");
        drop(reserved);
        tokio::time::sleep(GIVES_WAY).await;
        seats[0].works();
        let late = places.admit(OTHER);
        assert!(late.is_ok(), "the second gave way");
        assert!(seats[1].rests().await.contains("others had no place"));
        assert!(seats[2].rests().await.contains("for 60 s"));
    }

    #[tokio::test(start_paused = true)]
    async fn followers_have_places_of_their_own() {
        let places = Places::default();
        let following = taken_by(&places, OTHER, FOLLOWING);
        for seat in &following {
            seat.follows().unwrap();
        }
        let asking = taken_by(&places, OTHER, ASKING);
        let text = asking[0].follows().unwrap_err();
        assert!(text.contains("64 followers"), "{text}");
        assert_eq!(following[0].follows(), Ok(()), "it follows already");
        tokio::time::sleep(IDLE).await;
        assert!(places.admit(OTHER).is_ok(), "one that asked nothing gave way, and no follower");
        assert_eq!(places.taken().count(true), FOLLOWING);
    }
}
