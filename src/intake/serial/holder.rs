//! Who holds a port: best effort, from what the kernel shows of other programs.

use std::os::unix::fs::MetadataExt;
use std::path::Path;

/// The program that has a device open, as `name (process 123)`. Programs of other users are seen
/// only by their lock, and only its process number.
pub(crate) fn of(path: &Path) -> Option<String> {
    let device = std::fs::metadata(path).ok()?;
    let own = std::process::id();
    let pid = by_open_file(&device, own).or_else(|| by_lock(device.ino(), own))?;
    let name = std::fs::read_to_string(format!("/proc/{pid}/comm")).unwrap_or_default();
    match name.trim() {
        "" => Some(format!("process {pid}")),
        name => Some(format!("{name} (process {pid})")),
    }
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

/// A line of the lock table reads `1: FLOCK ADVISORY WRITE 4711 00:06:123 0 EOF`: the process,
/// then the device of the folder's file system and the inode.
fn by_lock(inode: u64, own: u32) -> Option<u32> {
    let locks = std::fs::read_to_string("/proc/locks").ok()?;
    locks.lines().find_map(|line| holder_in(line, inode)).filter(|pid| *pid != own)
}

fn holder_in(line: &str, inode: u64) -> Option<u32> {
    let mut fields = line.split_whitespace().skip(4);
    let pid = fields.next()?.parse().ok()?;
    let locked: u64 = fields.next()?.rsplit(':').next()?.parse().ok()?;
    (line.contains("FLOCK") && locked == inode).then_some(pid)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lock_table_names_the_process() {
        let line = "2: FLOCK  ADVISORY  WRITE 4711 00:06:123 0 EOF";
        assert_eq!(holder_in(line, 123), Some(4711));
        assert_eq!(holder_in(line, 12), None);
        assert_eq!(holder_in("3: POSIX  ADVISORY  WRITE 4711 00:06:123 0 EOF", 123), None);
    }
}
