//! Whether what a start reads fits into the memory that the service may have.

use std::path::Path;

use rusqlite::Connection;

/// The approximate memory of one reading of an open job while it is read, bytes: 404 MB were measured for
/// 1,000,000 readings.
const A_READING: u64 = 404;
/// The most of the largest jobs that are named.
const NAMED: usize = 5;

/// An open job and its readings.
type Load = (String, u64);

/// The warning where open jobs need more memory than there may be. It comes before the memory is taken,
/// because a process over the limit is killed without a message.
pub(super) fn warning(conn: &Connection) -> Option<String> {
    let limit = limit()?;
    let rows: i64 = conn.query_row("SELECT max(last) FROM counter", [], |row| row.get(0)).ok()?;
    if fits(rows.max(0).cast_unsigned(), limit) {
        return None;
    }
    let sql = "SELECT j.key, count(*) FROM pending p JOIN fact j ON j.seq = p.fact
               JOIN reading r ON r.job = j.seq WHERE p.kind = 'job-opened' GROUP BY j.seq ORDER BY 2 DESC";
    let mut statement = conn.prepare(sql).ok()?;
    let found = statement
        .query_map([], |row| Ok((row.get::<_, String>(0)?, row.get::<_, i64>(1)?.cast_unsigned())));
    sentence(&found.ok()?.flatten().collect::<Vec<Load>>(), limit)
}

/// Whether it fits; a fifth is kept for everything else.
const fn fits(readings: u64, limit: u64) -> bool {
    readings.saturating_mul(A_READING) <= limit / 5 * 4
}

fn sentence(open: &[Load], limit: u64) -> Option<String> {
    let readings = open.iter().map(|(_, count)| count).sum::<u64>();
    if fits(readings, limit) {
        return None;
    }
    let named: Vec<String> =
        open.iter().take(NAMED).map(|(name, count)| format!("{name} ({count})")).collect();
    let needed = readings.saturating_mul(A_READING) / 1_000_000;
    Some(format!(
        "the open jobs have {readings} readings, which take about {needed} MB of memory; the service may have {} MB, \
         and is ended by the system where it needs more. Give it more for once (systemctl edit tenths: \
         MemoryMax=), then close the jobs that are done, the largest first: {}",
        limit / 1_000_000,
        named.join(", ")
    ))
}

/// The memory limit of this process's control group, bytes; `None` where there is none.
fn limit() -> Option<u64> {
    let own = std::fs::read_to_string("/proc/self/cgroup").ok()?;
    let group = own.lines().find_map(|line| line.strip_prefix("0::/"))?;
    let path = Path::new("/sys/fs/cgroup").join(group).join("memory.max");
    std::fs::read_to_string(path).ok()?.trim().parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn jobs_that_do_not_fit_are_named_the_largest_first() {
        let open = [("J-2".to_owned(), 1_900_000), ("J-1".to_owned(), 100_000)];
        assert_eq!(sentence(&open, 2_000_000_000), None);
        let said = sentence(&open, 512 << 20).unwrap();
        assert!(said.contains("2000000 readings") && said.contains("808 MB"), "{said}");
        assert!(said.contains("536 MB") && said.ends_with("J-2 (1900000), J-1 (100000)"), "{said}");
        // What was measured to fit: 1,000,000 in 512 MB.
        assert!(fits(1_000_000, 512 << 20));
    }
}
