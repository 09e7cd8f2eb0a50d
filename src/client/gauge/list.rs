//! `gauge list`: the ports with their stable names, who may open them, and which gauge is on which: serial lines,
//! adapters that type, and serial servers that the configuration names.

use std::collections::BTreeMap;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use crate::failure::Failure;
use crate::global::Global;
use crate::{bench, query, screen};
use ::report::{Column, Table};
use config::{self, Port, PortName};
use intake::{group_name, holder_of};
use wire::{PortLine, PortWay, port_line};

/// The folders where ports are found.
struct Folders {
    /// Stable names of serial lines.
    by_id: PathBuf,
    /// Stable names of input devices.
    input: [PathBuf; 2],
    /// Devices.
    dev: PathBuf,
    /// The kernel's description of each terminal.
    sys: PathBuf,
    /// The kernel's description of each input device.
    sys_input: PathBuf,
}

pub(super) fn run(global: &Global) -> Result<u8, Failure> {
    let folders = Folders {
        by_id: "/dev/serial/by-id".into(),
        input: ["/dev/input/by-id".into(), "/dev/input/by-path".into()],
        dev: "/dev".into(),
        sys: "/sys/class/tty".into(),
        sys_input: "/sys/class/input".into(),
    };
    // A person who sets up a bench has no configuration yet, or one with mistakes.
    let loaded = bench::config_path(global).ok().and_then(|path| config::load(&path).loaded);
    let ports = loaded.map_or_else(Vec::new, |loaded| loaded.ports);
    let lines: Vec<PortLine> =
        found(&folders, &ports).iter().map(|one| told(one, &folders)).collect();
    if global.json {
        query::print_json(&lines.iter().map(port_line).collect::<Vec<_>>())?;
        return Ok(0);
    }
    let none = "There is no serial port and no adapter that types. Plug one in; if it does not show up, a driver may be \
                missing. A serial server on the network is written tcp:HOST:PORT.";
    query::print_table(&table(&lines), none, &[])?;
    for line in lines.iter().filter(|line| !line.may_open) {
        screen::say(&hint(line));
    }
    if lines.iter().any(|line| line.way == PortWay::Keys && line.gauges.is_empty()) {
        screen::say(
            "A port that begins with keys: is taken for tenths alone while it is open: nothing it types reaches a \
             window. Name the gauge's adapter, never the keyboard you type on.\n",
        );
    }
    Ok(0)
}

/// A port and the gauges on it.
#[derive(Debug, PartialEq, Eq)]
struct PortFound {
    /// The name to use in the configuration.
    name: PortName,
    /// The name that all names of its device lead to.
    device: PortName,
    stable: bool,
    gauges: Vec<String>,
}

/// Every port once: first those with stable names, then devices without one, then ports that only the
/// configuration names.
fn found(folders: &Folders, ports: &[Port]) -> Vec<PortFound> {
    let mut by_device: BTreeMap<PortName, PortFound> = BTreeMap::new();
    let mut add = |name: PortName, stable: bool| {
        let device = name.resolved();
        // A stable name that leads nowhere is left from a device that is gone.
        if name.device().is_some_and(|path| !path.exists()) {
            return;
        }
        let gauges = gauges_on(&device, ports);
        by_device.entry(device.clone()).or_insert(PortFound { name, device, stable, gauges });
    };
    for name in entries(&folders.by_id) {
        add(PortName::Serial(name), true);
    }
    let serial = |path: &PathBuf| is_serial(path, &folders.sys);
    for name in entries(&folders.dev).into_iter().filter(serial) {
        add(PortName::Serial(name), false);
    }
    let types = |path: &PathBuf| types(path.as_path(), &folders.sys_input);
    for folder in &folders.input {
        for name in entries(folder).into_iter().filter(types) {
            add(PortName::Keys(name), true);
        }
    }
    for name in entries(&folders.dev.join("input")).into_iter().filter(types) {
        add(PortName::Keys(name), false);
    }
    for port in ports {
        add(port.name.clone(), matches!(port.name, PortName::Net { .. }));
    }
    let mut all: Vec<PortFound> = by_device.into_values().collect();
    all.sort_by(|a, b| (!a.stable, &a.name).cmp(&(!b.stable, &b.name)));
    all
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let Ok(entries) = folder.read_dir() else { return Vec::new() };
    let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort();
    paths
}

/// Whether a device is a serial port that exists. The kernel makes names for four to thirty-two built-in ports
/// whether the machine has them or not, and gives type 0 to those it does not have.
fn is_serial(path: &Path, sys: &Path) -> bool {
    let Some(name) = path.file_name().and_then(|name| name.to_str()) else { return false };
    let plugged = ["ttyUSB", "ttyACM", "ttyAMA", "ttyXR", "rfcomm"];
    if plugged.iter().any(|start| name.starts_with(start)) {
        return true;
    }
    let kind = || std::fs::read_to_string(sys.join(name).join("type")).ok();
    name.starts_with("ttyS") && kind().is_some_and(|kind| kind.trim() != "0")
}

/// The number of an input device, `event3`, whatever name leads to it.
fn event(path: &Path) -> Option<String> {
    let device = path.canonicalize().ok()?;
    let name = device.file_name()?.to_str()?;
    name.starts_with("event").then(|| name.to_owned())
}

/// Whether an input device can type a number: it has the keys 1 to 0 and Enter. The kernel shows its keys as words
/// of 64 bits, the lowest last.
fn types(path: &Path, sys_input: &Path) -> bool {
    /// `KEY_1` to `KEY_0` (2 to 11) and `KEY_ENTER` (28) of `linux/input-event-codes.h`.
    const NEEDED: u64 = 0b1111_1111_1100 | 1 << 28;
    let keys = event(path).and_then(|event| {
        std::fs::read_to_string(sys_input.join(event).join("device/capabilities/key")).ok()
    });
    let lowest = keys.as_deref().and_then(|keys| keys.split_whitespace().next_back());
    let lowest = lowest.and_then(|word| u64::from_str_radix(word, 16).ok());
    lowest.is_some_and(|keys| keys & NEEDED == NEEDED)
}

/// What an input device calls itself.
fn calls_itself(path: &Path, sys_input: &Path) -> Option<String> {
    let name = std::fs::read_to_string(sys_input.join(event(path)?).join("device/name")).ok()?;
    Some(name.trim().to_owned()).filter(|name| !name.is_empty())
}

fn gauges_on(device: &PortName, ports: &[Port]) -> Vec<String> {
    let same = |port: &&Port| port.name.resolved() == *device;
    ports.iter().filter(same).flat_map(|port| port.gauges.iter().map(ToString::to_string)).collect()
}

fn told(found: &PortFound, folders: &Folders) -> PortLine {
    use rustix::fs::Access;
    let device = found.device.device();
    let metadata = device.and_then(|device| std::fs::metadata(device).ok());
    let gid = metadata.as_ref().map(MetadataExt::gid);
    let groups = rustix::process::getgroups().unwrap_or_default();
    let own = rustix::process::getgid();
    let (way, access) = match found.name {
        PortName::Serial(_) => (PortWay::Serial, Access::READ_OK | Access::WRITE_OK),
        PortName::Keys(_) => (PortWay::Keys, Access::READ_OK),
        PortName::Net { .. } => (PortWay::Network, Access::empty()),
    };
    let mode = metadata.as_ref().map(|metadata| format!("{:04o}", metadata.mode() & 0o7777));
    PortLine {
        port: found.name.to_string(),
        way,
        calls_itself: device
            .filter(|_| way == PortWay::Keys)
            .and_then(|device| calls_itself(device, &folders.sys_input)),
        device: device.map_or_else(String::new, |device| device.display().to_string()),
        stable: found.stable,
        gauges: found.gauges.clone(),
        held_by: device.and_then(holder_of),
        may_open: device.is_none_or(|device| rustix::fs::access(device, access).is_ok()),
        owner: metadata.as_ref().map_or(0, MetadataExt::uid),
        group: gid.and_then(group_name),
        in_group: groups.iter().chain([&own]).any(|group| Some(group.as_raw()) == gid),
        mode: mode.unwrap_or_default(),
    }
}

fn table(lines: &[PortLine]) -> Table {
    let mut table = Table::new(&[
        Column::words("port", 0),
        Column::words("gauge", 0),
        Column::words("you may open it", 0),
        Column::words("what it is", 2),
        Column::words("held by", 1),
        Column::words("group", 2),
        Column::words("mode", 3),
        Column::words("device", 4),
    ]);
    for line in lines {
        let group = line.group.clone().unwrap_or_default();
        table.push(&[
            line.port.clone(),
            line.gauges.join(", "),
            if line.may_open { "yes" } else { "no" }.to_owned(),
            what(line),
            line.held_by.clone().unwrap_or_default(),
            if line.in_group { format!("{group} (you are in it)") } else { group },
            line.mode.clone(),
            line.device.clone(),
        ]);
    }
    table
}

/// What a port is, in words.
fn what(line: &PortLine) -> String {
    match (line.way, &line.calls_itself) {
        (PortWay::Serial, _) => "serial line".to_owned(),
        (PortWay::Keys, Some(name)) => format!("types ({name})"),
        (PortWay::Keys, None) => "types".to_owned(),
        (PortWay::Network, _) => "network".to_owned(),
    }
}

/// What to do about a port that the caller may not open.
fn hint(line: &PortLine) -> String {
    let port = wire::printable(&line.port);
    // Whoever is in the group of input devices can read every keyboard of the machine.
    let by_group = line.group.as_ref().filter(|_| line.way == PortWay::Serial);
    match by_group {
        Some(group) if group != "root" && !line.in_group => format!(
            "hint: {port} is open to group {group}; add yourself with: usermod -aG {group} YOU, then log in again\n"
        ),
        Some(_) | None if line.way == PortWay::Keys => format!(
            "hint: {port} is not open to you; name the adapter in the lines for input devices of the udev rule \
             60-tenths.rules\n"
        ),
        Some(_) | None => format!("hint: {port} is open to root alone; install the udev rule\n"),
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::os::unix::fs::symlink;

    use super::*;

    fn folders(root: &Path) -> Folders {
        let at = |name: &str| root.join(name);
        Folders {
            by_id: at("by-id"),
            input: [at("input-id"), at("input-path")],
            dev: at("dev"),
            sys: at("sys"),
            sys_input: at("sys-input"),
        }
    }

    fn end_of(name: &PortName) -> String {
        name.device().unwrap().file_name().unwrap().to_str().unwrap().to_owned()
    }

    #[test]
    fn what_can_type_a_number_is_a_port_and_a_mouse_is_none() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        // The keys of a keyboard, of a mouse with five buttons and of a power button, as a machine shows them.
        let keyboard = "1000000000007 ff9f207ac14057ff febeffdfffefffff fffffffffffffffe";
        for (event, keys) in
            [(0, "10000000000000 0"), (1, keyboard), (2, keyboard), (3, "1f0000 0 0 0 0")]
        {
            let sys = at(&format!("sys-input/event{event}/device"));
            fs::create_dir_all(sys.join("capabilities")).unwrap();
            fs::write(sys.join("capabilities/key"), format!("{keys}\n")).unwrap();
            fs::write(sys.join("name"), format!("Device {event}\n")).unwrap();
            fs::create_dir_all(at("dev/input")).unwrap();
            fs::write(at(&format!("dev/input/event{event}")), "").unwrap();
        }
        for name in ["input-id", "input-path"] {
            fs::create_dir_all(at(name)).unwrap();
            symlink(at("dev/input/event2"), at(name).join("adapter-event-kbd")).unwrap();
        }
        let folders = folders(folder.path());
        let lines: Vec<PortLine> =
            found(&folders, &[]).iter().map(|one| told(one, &folders)).collect();
        let told: Vec<_> = lines
            .iter()
            .map(|line| (line.port.rsplit('/').next().unwrap(), line.stable, what(line)))
            .collect();
        let types = |event: u8| format!("types (Device {event})");
        assert_eq!(told, [("adapter-event-kbd", true, types(2)), ("event1", false, types(1))]);
        assert!(
            lines[0].port.starts_with("keys:") && lines[0].port.contains("input-id"),
            "{lines:?}"
        );
    }

    #[test]
    fn ports_are_found_once_and_by_their_stable_names() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        for name in ["dev", "by-id", "sys/ttyS0", "sys/ttyS1"] {
            fs::create_dir_all(at(name)).unwrap();
        }
        for name in ["ttyUSB0", "ttyUSB1", "ttyACM0", "ttyS0", "ttyS1", "ttyS2", "tty1", "null"] {
            fs::write(at("dev").join(name), "").unwrap();
        }
        fs::write(at("sys/ttyS0/type"), "4\n").unwrap();
        fs::write(at("sys/ttyS1/type"), "0\n").unwrap();
        symlink("../dev/ttyUSB1", at("by-id/usb-Cable_07-if00-port0")).unwrap();
        symlink("../dev/ttyUSB9", at("by-id/usb-Gone-if00-port0")).unwrap();
        let found = found(&folders(folder.path()), &[]);
        let names: Vec<_> = found.iter().map(|one| end_of(&one.name)).collect();
        assert_eq!(names, ["usb-Cable_07-if00-port0", "ttyACM0", "ttyS0", "ttyUSB0"]);
        assert!(found[0].stable && end_of(&found[0].device) == "ttyUSB1" && !found[1].stable);
    }

    #[test]
    fn who_may_open_is_told_with_what_to_do() {
        let line = |group: &str, in_group| PortLine {
            port: "/dev/ttyUSB0".to_owned(),
            way: PortWay::Serial,
            calls_itself: None,
            device: "/dev/ttyUSB0".to_owned(),
            stable: false,
            gauges: Vec::new(),
            held_by: None,
            may_open: false,
            owner: 0,
            group: Some(group.to_owned()),
            in_group,
            mode: "0660".to_owned(),
        };
        assert!(hint(&line("dialout", false)).contains("usermod -aG dialout"));
        assert!(hint(&line("root", false)).contains("udev rule"));
        let json = port_line(&line("dialout", false));
        assert!(json.starts_with("{\"schema\":\"port/1\",\"port\":\"/dev/ttyUSB0\","), "{json}");
    }
}
