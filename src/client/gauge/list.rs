//! `gauge list`: the serial ports with their stable names, who may open them, and which gauge is on which.

use std::collections::BTreeMap;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

use crate::failure::Failure;
use crate::global::Global;
use crate::{bench, query, screen};
use ::report::{Column, Table};
use config::{self, Port};
use intake::{group_name, holder_of};
use wire::{PortLine, port_line};

/// The folders where ports are found.
struct Folders {
    /// Stable names.
    by_id: PathBuf,
    /// Devices.
    dev: PathBuf,
    /// The kernel's description of each terminal.
    sys: PathBuf,
}

pub(super) fn run(global: &Global) -> Result<u8, Failure> {
    let folders = Folders {
        by_id: "/dev/serial/by-id".into(),
        dev: "/dev".into(),
        sys: "/sys/class/tty".into(),
    };
    // A person who sets up a bench has no configuration yet, or one with mistakes.
    let loaded = bench::config_path(global).ok().and_then(|path| config::load(&path).loaded);
    let ports = loaded.map_or_else(Vec::new, |loaded| loaded.ports);
    let lines: Vec<PortLine> = found(&folders, &ports).iter().map(told).collect();
    if global.json {
        query::print_json(&lines.iter().map(port_line).collect::<Vec<_>>())?;
        return Ok(0);
    }
    let none = "There is no serial port. Plug a cable in; if it does not show up, a driver may be missing.";
    query::print_table(&table(&lines), none, &[])?;
    for line in lines.iter().filter(|line| !line.may_open) {
        screen::say(&hint(line));
    }
    Ok(0)
}

/// A port and the gauges on it.
#[derive(Debug, PartialEq, Eq)]
struct PortFound {
    /// The name to use in the configuration.
    name: PathBuf,
    device: PathBuf,
    stable: bool,
    gauges: Vec<String>,
}

/// Every port once: first those with stable names, then devices without one, then ports that only the
/// configuration names.
fn found(folders: &Folders, ports: &[Port]) -> Vec<PortFound> {
    let mut by_device: BTreeMap<PathBuf, PortFound> = BTreeMap::new();
    let mut add = |name: PathBuf, stable: bool| {
        let Ok(device) = name.canonicalize() else { return };
        let gauges = gauges_on(&device, ports);
        by_device.entry(device.clone()).or_insert(PortFound { name, device, stable, gauges });
    };
    for name in entries(&folders.by_id) {
        add(name, true);
    }
    let serial = |path: &PathBuf| is_serial(path, &folders.sys);
    for name in entries(&folders.dev).into_iter().filter(serial) {
        add(name, false);
    }
    for port in ports {
        add(port.path.clone(), false);
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

fn gauges_on(device: &Path, ports: &[Port]) -> Vec<String> {
    let same = |port: &&Port| port.path.canonicalize().is_ok_and(|path| path == device);
    ports.iter().filter(same).flat_map(|port| port.gauges.iter().map(ToString::to_string)).collect()
}

fn told(found: &PortFound) -> PortLine {
    use rustix::fs::Access;
    let metadata = std::fs::metadata(&found.device).ok();
    let gid = metadata.as_ref().map(MetadataExt::gid);
    let groups = rustix::process::getgroups().unwrap_or_default();
    let own = rustix::process::getgid();
    let both = Access::READ_OK | Access::WRITE_OK;
    PortLine {
        port: found.name.display().to_string(),
        device: found.device.display().to_string(),
        stable: found.stable,
        gauges: found.gauges.clone(),
        held_by: holder_of(&found.device),
        may_open: rustix::fs::access(&found.device, both).is_ok(),
        owner: metadata.as_ref().map_or(0, MetadataExt::uid),
        group: gid.and_then(group_name),
        in_group: groups.iter().chain([&own]).any(|group| Some(group.as_raw()) == gid),
        mode: format!("{:04o}", metadata.as_ref().map_or(0, MetadataExt::mode) & 0o7777),
    }
}

fn table(lines: &[PortLine]) -> Table {
    let mut table = Table::new(&[
        Column::words("port", 0),
        Column::words("gauge", 0),
        Column::words("you may open it", 0),
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
            line.held_by.clone().unwrap_or_default(),
            if line.in_group { format!("{group} (you are in it)") } else { group },
            line.mode.clone(),
            line.device.clone(),
        ]);
    }
    table
}

/// What to do about a port that the caller may not open.
fn hint(line: &PortLine) -> String {
    let port = wire::printable(&line.port);
    match &line.group {
        Some(group) if group != "root" && !line.in_group => format!(
            "hint: {port} is open to group {group}; add yourself with: usermod -aG {group} YOU, then log in again\n"
        ),
        Some(_) | None => format!("hint: {port} is open to root alone; install the udev rule\n"),
    }
}

#[cfg(test)]
mod tests {
    use std::fs;
    use std::os::unix::fs::symlink;

    use super::*;

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
        let folders = Folders { by_id: at("by-id"), dev: at("dev"), sys: at("sys") };
        let found = found(&folders, &[]);
        let names: Vec<_> =
            found.iter().map(|f| f.name.file_name().unwrap().to_str().unwrap()).collect();
        assert_eq!(names, ["usb-Cable_07-if00-port0", "ttyACM0", "ttyS0", "ttyUSB0"]);
        assert!(found[0].stable && found[0].device.ends_with("ttyUSB1") && !found[1].stable);
    }

    #[test]
    fn who_may_open_is_told_with_what_to_do() {
        let line = |group: &str, in_group| PortLine {
            port: "/dev/ttyUSB0".to_owned(),
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
