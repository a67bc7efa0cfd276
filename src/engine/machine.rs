//! What the machine has, as far as queries may use it.

use std::fs;
use std::thread::available_parallelism;

/// Most memory that queries take unasked, bytes.
const MOST_UNASKED: u64 = 512 << 20;

/// Queries take this part of the machine's memory.
const PART: u64 = 8;

/// Threads to work with: one for each core the process may use.
pub fn threads() -> usize {
    available_parallelism().map_or(1, usize::from)
}

/// Memory for queries: an eighth of what the process may use, at most 512 MiB.
pub fn memory_bytes() -> usize {
    let own = [total(), of_group()].into_iter().flatten().min();
    let part = own.map_or(MOST_UNASKED, |own| (own / PART).min(MOST_UNASKED));
    usize::try_from(part).unwrap_or(usize::MAX)
}

/// The machine's memory, where the system says it.
fn total() -> Option<u64> {
    let text = fs::read_to_string("/proc/meminfo").ok()?;
    let line = text.lines().find_map(|line| line.strip_prefix("MemTotal:"))?;
    let kib: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kib * 1024)
}

/// The limit of the process's control group, as of a container, where there is one.
fn of_group() -> Option<u64> {
    let text = fs::read_to_string("/sys/fs/cgroup/memory.max").ok()?;
    text.trim().parse().ok()
}
