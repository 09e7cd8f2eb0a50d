//! One connection to a broker, from its first packet to its last.
//!
//! Each connection is a new client of the library with the same name, and begins at the first line that was not
//! acknowledged. So nothing but our own cursor says what is sent again, and in which order. The broker loses
//! nothing by that: of a client that only publishes with quality 1 a session holds nothing on its side (OASIS
//! MQTT 3.1.1, section 4.1).

use std::collections::VecDeque;
use std::time::{Duration, Instant};

use rumqttc::{
    AsyncClient, ConnectionError, Event, EventLoop, LastWill, MqttOptions, Outgoing, Packet, QoS,
    Transport,
};
use tokio::sync::mpsc;
use tokio::task::JoinHandle;

use config::{Broker, Reach};
use wire::PresenceLine;

use super::topics::Topics;
use super::trouble::Trouble;
use crate::{NoSecret, secret, trusting};

/// At most this many messages are on their way at once. Fewer than the library's own limit, so that its packet
/// numbers never meet.
pub(super) const WINDOW: usize = 100;
/// The library's limit.
const INFLIGHT: u16 = 1_000;
/// The longest message: a verdict over a thousand positions with room to spare.
const LONGEST: usize = 4 * 1024 * 1024;
/// A connection that is quiet for this long is looked at.
const KEEP_ALIVE: Duration = Duration::from_secs(20);
/// How long a connection may take to come about.
const PATIENCE_S: u64 = 15;
/// A message that is not acknowledged for this long ends the connection.
const UNANSWERED: Duration = Duration::from_mins(1);

/// What a message is, for when it is acknowledged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Sent {
    /// The last message of a line of the feed.
    Line(u64),
    /// Any other.
    Other,
}

/// A message on its way.
struct Flying {
    what: Sent,
    /// The number of its packet, once it was written.
    packet: Option<u16>,
    acknowledged: bool,
    since: Instant,
}

/// A connection.
pub(super) struct Connection {
    client: AsyncClient,
    events: mpsc::UnboundedReceiver<Result<Event, ConnectionError>>,
    driver: JoinHandle<()>,
    flying: VecDeque<Flying>,
    host: String,
}

impl Drop for Connection {
    fn drop(&mut self) {
        self.driver.abort();
    }
}

impl Connection {
    /// Connects, with the last will that the bench is gone.
    pub(super) async fn open(
        broker: &Broker,
        bench: &str,
        topics: &Topics,
    ) -> Result<Self, Trouble> {
        let options = options(broker, bench, topics)?;
        let host = options.broker_address().0;
        let (client, mut events) = AsyncClient::new(options, WINDOW * 4);
        events.network_options.set_connection_timeout(PATIENCE_S);
        events.network_options.set_tcp_nodelay(true);
        match events.poll().await {
            Ok(Event::Incoming(Packet::ConnAck(_))) => {}
            Ok(other) => {
                return Err(Trouble::new(format!("it begins with {other:?}"), "is it a broker?"));
            }
            Err(error) => return Err(Trouble::of(&error, &host)),
        }
        let (tell, heard) = mpsc::unbounded_channel();
        let driver = tokio::spawn(drive(events, tell));
        Ok(Self { client, events: heard, driver, flying: VecDeque::new(), host })
    }

    /// Whether there is room for the messages of one more line.
    pub(super) fn has_room(&self) -> bool {
        self.flying.len() < WINDOW
    }

    /// Whether everything was acknowledged.
    pub(super) fn is_level(&self) -> bool {
        self.flying.is_empty()
    }

    /// Sends a message behind all others.
    pub(super) async fn send(
        &mut self,
        what: Sent,
        (topic, retained): (String, bool),
        text: String,
    ) -> Result<(), Trouble> {
        let sent = self.client.publish(topic, QoS::AtLeastOnce, retained, text).await;
        if sent.is_err() {
            return Err(self.why_it_ended().await);
        }
        let since = Instant::now();
        self.flying.push_back(Flying { what, packet: None, acknowledged: false, since });
        Ok(())
    }

    /// Waits until something happens, and returns the newest line that was acknowledged with all before it.
    pub(super) async fn heard(&mut self) -> Result<Option<u64>, Trouble> {
        match self.events.recv().await {
            Some(Err(error)) => Err(Trouble::of(&error, &self.host)),
            Some(Ok(Event::Outgoing(Outgoing::Publish(packet)))) => {
                if let Some(next) = self.flying.iter_mut().find(|one| one.packet.is_none()) {
                    next.packet = Some(packet);
                }
                Ok(None)
            }
            Some(Ok(Event::Incoming(Packet::PubAck(ack)))) => Ok(self.acknowledged(ack.pkid)),
            None | Some(Ok(Event::Incoming(Packet::Disconnect))) => Err(Trouble::silent()),
            Some(Ok(_)) => Ok(None),
        }
    }

    /// A message was acknowledged. Those before it may not be yet: a line counts when all before it do.
    fn acknowledged(&mut self, packet: u16) -> Option<u64> {
        let is = |one: &&mut Flying| one.packet == Some(packet) && !one.acknowledged;
        if let Some(one) = self.flying.iter_mut().find(is) {
            one.acknowledged = true;
        }
        let mut newest = None;
        while let Some(first) = self.flying.pop_front_if(|first| first.acknowledged) {
            if let Sent::Line(number) = first.what {
                newest = Some(number);
            }
        }
        newest
    }

    /// Why nothing can be sent any more.
    async fn why_it_ended(&mut self) -> Trouble {
        loop {
            match self.events.recv().await {
                Some(Err(error)) => return Trouble::of(&error, &self.host),
                Some(Ok(_)) => {}
                None => return Trouble::silent(),
            }
        }
    }

    /// Lines on their way are of a feed that is no more: their acknowledgement says nothing.
    pub(super) fn forget_lines(&mut self) {
        self.flying.iter_mut().for_each(|one| one.what = Sent::Other);
    }

    /// An error where a message waits for its acknowledgement for too long.
    pub(super) fn patience(&self) -> Result<(), Trouble> {
        match self.flying.front() {
            Some(first) if first.since.elapsed() > UNANSWERED => Err(Trouble::silent()),
            Some(_) | None => Ok(()),
        }
    }

    /// Ends the connection in order: the broker forgets the last will.
    pub(super) async fn end(&mut self) {
        if self.client.disconnect().await.is_ok() {
            // The packet goes out, or the connection ends.
            while let Some(Ok(event)) = self.events.recv().await {
                if event == Event::Outgoing(Outgoing::Disconnect) {
                    break;
                }
            }
        }
    }
}

/// Runs a connection until it breaks. A poll must never be dropped half-way: its packet would be lost.
async fn drive(mut events: EventLoop, tell: mpsc::UnboundedSender<Result<Event, ConnectionError>>) {
    loop {
        let event = events.poll().await;
        let ends = event.is_err();
        if tell.send(event).is_err() || ends {
            return;
        }
    }
}

/// How to connect. Secret and certificate are read each time, so that a new one needs no restart.
fn options(broker: &Broker, bench: &str, topics: &Topics) -> Result<MqttOptions, Trouble> {
    let (host, port, transport) = match &broker.reach {
        Reach::Tls { host, port, ca } => {
            let hint = "look at ca under [shop.broker]: who signed the broker's certificate";
            let tls = trusting(ca).map_err(|text| Trouble::new(text, hint).held())?;
            (host.clone(), *port, Transport::tls_with_config(tls.into()))
        }
        Reach::Loopback { host, port } => {
            // An address with colons needs brackets before its port.
            let host = if host.contains(':') { format!("[{host}]") } else { host.clone() };
            (host, *port, Transport::tcp())
        }
        Reach::Socket { folder, .. } => {
            let text = format!("{} is no broker: it has no socket", folder.display());
            return Err(Trouble::new(text, "write host = \"broker.example\"").held());
        }
    };
    let mut options = MqttOptions::new(client_name(bench), host, port);
    options.set_transport(transport).set_clean_session(false).set_inflight(INFLIGHT);
    options.set_keep_alive(KEEP_ALIVE).set_max_packet_size(LONGEST, LONGEST);
    if let Some(user) = &broker.user {
        let password = broker.secret.as_ref().map(secret).transpose();
        let password = password
            .map_err(|error: NoSecret| Trouble::new(error.to_string(), error.hint()).held())?;
        options.set_credentials(user, password.unwrap_or_default());
    }
    let will = PresenceLine::gone(bench, None).line();
    options.set_last_will(LastWill::new(topics.presence(), will, QoS::AtLeastOnce, true));
    Ok(options)
}

/// The name of the client at the broker: the same each time, so that a connection that the broker has not given
/// up yet is replaced and not joined.
fn client_name(bench: &str) -> String {
    format!("tenths-{bench}")
}
