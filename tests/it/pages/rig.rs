//! `tenths page` as a process, and HTTP by hand: what is sent and what comes is all there is.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Stdio};
use std::time::{Duration, Instant};

use crate::rig::{Bench, Make};

/// A gauge of a face, as the other tests have it.
pub(crate) const GAUGE: &str = "unit = \"in\"\nresolution = \"0.00001 in\"\nuncertainty = \"0.0000084 in\"\n\
                     repeatability = \"0.000006 in\"\nrepeat_ms = 0\nmax_rate = 0\n\
                     travel = [\"-0.010 in\", \"0.010 in\"]";

/// How long a browser would wait for anything here.
const PATIENCE: Duration = Duration::from_secs(30);

/// A page that runs; it ends with the test.
pub(crate) struct Page {
    child: Child,
    /// `127.0.0.1:8480`.
    pub(crate) address: String,
    /// What it said at its start.
    pub(crate) said: String,
}

impl Page {
    /// The page of a bench at a free port.
    pub(crate) fn of(bench: &Bench, more: &[&str]) -> Self {
        Self::at(bench, "127.0.0.1:0", more)
    }

    pub(crate) fn at(bench: &Bench, address: &str, more: &[&str]) -> Self {
        let mut command = bench.command(&["page", "--listen", address]);
        command.args(more).stdout(Stdio::null()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        let mut said = String::new();
        BufReader::new(child.stderr.take().unwrap()).read_line(&mut said).unwrap();
        let address = said.split("http://").nth(1).map(|rest| rest.split('/').next().unwrap());
        let address = address.unwrap_or_else(|| panic!("{said}")).replace("0.0.0.0", "127.0.0.1");
        Self { child, address, said }
    }

    pub(crate) fn pid(&self) -> u32 {
        self.child.id()
    }

    pub(crate) fn connect(&self) -> TcpStream {
        let stream = TcpStream::connect(&self.address).unwrap();
        stream.set_read_timeout(Some(PATIENCE)).unwrap();
        stream
    }

    /// Sends bytes and reads until the other side ends.
    pub(crate) fn raw(&self, bytes: &[u8]) -> Answer {
        let mut stream = self.connect();
        // A refusal may end the connection before all is sent.
        drop(stream.write_all(bytes));
        Answer::read(&mut stream)
    }

    /// Asks for something as a browser of this machine does.
    pub(crate) fn ask(&self, method: &str, path: &str, lines: &str) -> Answer {
        let host = &self.address;
        self.raw(
            format!("{method} {path} HTTP/1.1\r\nHost: {host}\r\n{lines}Connection: close\r\n\r\n")
                .as_bytes(),
        )
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, "")
    }

    /// A stream of a station, begun.
    pub(crate) fn stream(&self) -> Stream {
        let mut stream = self.connect();
        let host = &self.address;
        write!(stream, "GET /live HTTP/1.1\r\nHost: {host}\r\n\r\n").unwrap();
        Stream { stream, heard: String::new() }
    }
}

impl Drop for Page {
    fn drop(&mut self) {
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

/// An answer.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    head: String,
    pub(crate) body: String,
}

impl Answer {
    fn read(stream: &mut TcpStream) -> Self {
        let mut bytes = Vec::new();
        // A connection that is reset has still said what it said.
        drop(stream.read_to_end(&mut bytes));
        Self::of(&String::from_utf8(bytes).unwrap())
    }

    pub(crate) fn of(text: &str) -> Self {
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((text, ""));
        let status = head.split(' ').nth(1).and_then(|code| code.parse().ok()).unwrap_or(0);
        Self { status, head: head.to_owned(), body: body.to_owned() }
    }

    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        let lines = self.head.lines().filter_map(|line| line.split_once(": "));
        lines.filter(|(own, _)| own.eq_ignore_ascii_case(name)).map(|(_, value)| value).next()
    }
}

/// A stream of events.
pub(crate) struct Stream {
    stream: TcpStream,
    pub(crate) heard: String,
}

impl Stream {
    /// Reads until something was heard, and forgets what came until then.
    pub(crate) fn until(&mut self, wanted: &str) -> String {
        let until = Instant::now() + PATIENCE;
        let mut bytes = [0; 8192];
        self.stream.set_read_timeout(Some(Duration::from_secs(5))).unwrap();
        while !self.heard.contains(wanted) {
            assert!(Instant::now() < until, "{wanted} does not come: {}", self.heard);
            match self.stream.read(&mut bytes) {
                Ok(0) => panic!("the stream ended before {wanted}: {}", self.heard),
                Ok(count) => self.heard += &String::from_utf8_lossy(&bytes[..count]),
                Err(_) => {}
            }
        }
        std::mem::take(&mut self.heard)
    }

    /// Everything that comes in a time.
    pub(crate) fn hear_for(&mut self, time: Duration) -> String {
        let until = Instant::now() + time;
        let mut bytes = [0; 8192];
        while let Some(left) = until.checked_duration_since(Instant::now()) {
            self.stream.set_read_timeout(Some(left.max(Duration::from_millis(1)))).unwrap();
            if let Ok(count) = self.stream.read(&mut bytes) {
                self.heard += &String::from_utf8_lossy(&bytes[..count]);
            }
        }
        std::mem::take(&mut self.heard)
    }
}

/// A bench with one face and a job.
pub(crate) fn bench() -> Bench {
    let plan = std::fs::read_to_string(
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("config/plans/ring.toml"),
    );
    let mut bench = Bench::new(&Make { gauge: GAUGE, more: "", plan: &plan.unwrap() });
    let file = bench.path("bench.toml");
    let named = std::fs::read_to_string(&file).unwrap().replace("\"rig\"", "\"grinding room\"");
    std::fs::write(&file, named).unwrap();
    bench.start();
    bench.until_gauge("plate", "live");
    bench
}

/// Touches of a face that leans, the closing one last.
pub(crate) const WEDGE: [&str; 9] = [
    "0.00019", "0.00026", "0.00024", "0.00016", "0.00007", "0.00000", "0.00002", "0.00010",
    "0.00019",
];

/// Opens a job and measures its face, which leans.
pub(crate) fn measured(bench: &Bench, job: &str, (serial, customer): (&str, &str)) {
    let whose = ["--serial", serial, "--customer", customer];
    bench.ok(&[&["job", "open", job, "--plan", "held"][..], &whose].concat());
    bench.ok(&["measure", "ring/face-a"]);
    bench.touches(&bench.plate, "plate", &WEDGE);
    bench.verdict(job, 1);
}
