//! A serial server on the network: connected to, and noticed when it is gone without a word.

use std::io::{self, ErrorKind as Io};
use std::net::TcpStream;
use std::time::Duration;

use rustix::net::sockopt;

use super::open::Fault;

/// How long a connection may take to come about. A server on a bench's own network answers within
/// milliseconds; this leaves it time to start.
const PATIENCE: Duration = Duration::from_secs(10);

/// After so much silence the kernel asks whether the other side is still there, this often and so many
/// times: a cable that was pulled is noticed after about 11 seconds.
const ASKED_AFTER: Duration = Duration::from_secs(5);
const ASKED_EVERY: Duration = Duration::from_secs(2);
const ASKED_TIMES: u32 = 3;

/// How long a question may stay unacknowledged by the other side, in milliseconds.
const UNACKNOWLEDGED_MS: u32 = 11_000;

/// Connects to a server.
pub(super) async fn connect(host: &str, port: u16) -> Result<TcpStream, Fault> {
    match tokio::time::timeout(PATIENCE, connecting(host, port)).await {
        Ok(connected) => connected,
        Err(_) => Err(silent(host, port)),
    }
}

async fn connecting(host: &str, port: u16) -> Result<TcpStream, Fault> {
    let found = tokio::net::lookup_host((host, port)).await;
    let addresses: Vec<_> = found.map_err(|error| unknown(host, port, &error))?.collect();
    // A server with several addresses is tried at each.
    let stream = tokio::net::TcpStream::connect(addresses.as_slice()).await;
    let stream = stream.map_err(|error| fault(host, port, &error))?;
    watched(stream).map_err(|error| fault(host, port, &error))
}

/// Connects, waiting no longer than a moment. For those who only look.
///
/// # Errors
/// The sentence about what is in the way.
pub fn connected(host: &str, port: u16, patience: Duration) -> Result<TcpStream, String> {
    use std::net::ToSocketAddrs as _;
    let found = (host, port).to_socket_addrs();
    let addresses = found.map_err(|error| unknown(host, port, &error).into_text())?;
    let mut last = fault(host, port, &io::Error::from(Io::AddrNotAvailable));
    for address in addresses {
        match TcpStream::connect_timeout(&address, patience) {
            Ok(stream) => return Ok(stream),
            Err(error) => last = fault(host, port, &error),
        }
    }
    Err(last.into_text())
}

/// The connection as it is read: without delay for short questions, and with a look after the other side.
fn watched(stream: tokio::net::TcpStream) -> io::Result<TcpStream> {
    stream.set_nodelay(true)?;
    let stream = stream.into_std()?;
    sockopt::set_socket_keepalive(&stream, true)?;
    sockopt::set_tcp_keepidle(&stream, ASKED_AFTER)?;
    sockopt::set_tcp_keepintvl(&stream, ASKED_EVERY)?;
    sockopt::set_tcp_keepcnt(&stream, ASKED_TIMES)?;
    sockopt::set_tcp_user_timeout(&stream, UNACKNOWLEDGED_MS)?;
    Ok(stream)
}

fn unknown(host: &str, port: u16, error: &io::Error) -> Fault {
    if !has_network() {
        return forbidden(host, port);
    }
    Fault::Missing(format!(
        "{}: no address is known for {host} ({error}); mend the name, or write the address in numbers",
        shown(host, port)
    ))
}

fn silent(host: &str, port: u16) -> Fault {
    let shown = shown(host, port);
    Fault::Missing(format!("{shown} does not answer; is it switched on, and on this network?"))
}

fn fault(host: &str, port: u16, error: &io::Error) -> Fault {
    let shown = shown(host, port);
    let kind = error.kind();
    if !has_network() || matches!(kind, Io::PermissionDenied | Io::NetworkUnreachable) {
        forbidden(host, port)
    } else if kind == Io::ConnectionRefused {
        Fault::Missing(format!(
            "{shown} refuses the connection; is that the port of the serial server, and is nobody else connected?"
        ))
    } else if kind == Io::TimedOut {
        silent(host, port)
    } else {
        Fault::Missing(format!("{shown} is not reached: {error}"))
    }
}

/// The service as it is shipped has no network.
fn forbidden(host: &str, port: u16) -> Fault {
    Fault::Refused(format!(
        "{}: no network is open to this program; for the service the drop-in systemd/network.conf opens it, to \
         this address alone",
        shown(host, port)
    ))
}

/// Whether this program may make a socket of the network at all.
fn has_network() -> bool {
    std::net::UdpSocket::bind(("127.0.0.1", 0)).is_ok()
        || std::net::UdpSocket::bind(("::1", 0)).is_ok()
}

fn shown(host: &str, port: u16) -> String {
    config::PortName::Net { host: host.to_owned(), port }.to_string()
}
