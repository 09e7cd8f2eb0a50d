//! What the service costs while nobody touches anything: eight open ports, no frames.

#![expect(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod support;

use std::fs;
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

/// How long the idle service is watched.
const WATCHED: Duration = Duration::from_secs(30);

fn main() {
    let dir = support::bench_folder(8);
    let ports: Vec<_> =
        (0..8).map(|port| support::Pty::at(&dir.path().join(format!("gauge-{port}")))).collect();
    let mut service = Command::new(env!("CARGO_BIN_EXE_tenths"))
        .arg("--config")
        .arg(dir.path().join("bench.toml"))
        .arg("serve")
        .stderr(Stdio::null())
        .spawn()
        .expect("the service");
    // Time to open the ports and to come to rest.
    thread::sleep(Duration::from_secs(3));
    let before = Cost::of(service.id());
    thread::sleep(WATCHED);
    let after = Cost::of(service.id());
    let seconds = WATCHED.as_secs_f64();
    let wakes = after.wakes - before.wakes;
    let cpu = after.cpu_ns - before.cpu_ns;
    println!(
        "idle, {} ports, {seconds} s: {:.2} wake-ups/s, {:.2} ms CPU in 10 s, {:.1} MB resident",
        ports.len(),
        f64::from(u32::try_from(wakes).expect("few")) / seconds,
        f64::from(u32::try_from(cpu / 1000).expect("little")) / 1000.0 * 10.0 / seconds,
        f64::from(u32::try_from(after.resident_kb).expect("small")) / 1024.0,
    );
    drop(service.kill());
    drop(service.wait());
}

/// What a process has cost so far.
struct Cost {
    wakes: u64,
    cpu_ns: u64,
    resident_kb: u64,
}

impl Cost {
    fn of(process: u32) -> Self {
        let mut cost = Self { wakes: 0, cpu_ns: 0, resident_kb: 0 };
        for task in fs::read_dir(format!("/proc/{process}/task")).expect("running") {
            let task = task.expect("a thread").path();
            let status = fs::read_to_string(task.join("status")).expect("status");
            cost.wakes += number(&status, "voluntary_ctxt_switches:");
            cost.resident_kb = number(&status, "VmRSS:");
            // Nanoseconds on a processor, the first of three numbers.
            let schedstat = fs::read_to_string(task.join("schedstat")).expect("schedstat");
            let ran = schedstat.split_whitespace().next().expect("a number");
            cost.cpu_ns += ran.parse::<u64>().expect("a number");
        }
        cost
    }
}

fn number(status: &str, key: &str) -> u64 {
    let line = status.lines().find(|line| line.starts_with(key)).expect("the key");
    line.split_whitespace().nth(1).expect("a number").parse().expect("a number")
}
