//! Which program holds a port, as far as the kernel shows it.

use std::os::unix::fs::MetadataExt;
use std::path::Path;

use ::record::process;

/// The program that has a device open, as `name (process 123, user ada)`. A program of another user can
/// only be recognised by its lock.
pub fn holder_of(path: &Path) -> Option<String> {
    let device = std::fs::metadata(path).ok()?;
    by_open_file(&device, std::process::id()).map(process).or_else(|| ::record::holder_of(path))
}

fn by_open_file(device: &std::fs::Metadata, own: u32) -> Option<u32> {
    let processes = std::fs::read_dir("/proc").ok()?.flatten();
    let numbers = processes.filter_map(|entry| entry.file_name().to_str()?.parse().ok());
    numbers.filter(|pid| *pid != own).find(|pid| has_open(*pid, device))
}

fn has_open(pid: u32, device: &std::fs::Metadata) -> bool {
    let Ok(files) = std::fs::read_dir(format!("/proc/{pid}/fd")) else { return false };
    files.flatten().any(|file| {
        let same =
            |open: std::fs::Metadata| open.rdev() == device.rdev() && open.ino() == device.ino();
        std::fs::metadata(file.path()).is_ok_and(same)
    })
}
