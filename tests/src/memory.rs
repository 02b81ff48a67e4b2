//! What memory a process holds, as Linux says it.

/// Memory in KiB that is in use now. Source: proc_pid_status(5), `VmRSS`.
pub fn resident(process: u32) -> Option<u64> {
    of(process, "VmRSS:")
}

/// The most that ever was. Source: proc_pid_status(5), `VmHWM`.
pub fn peak(process: u32) -> Option<u64> {
    of(process, "VmHWM:")
}

fn of(process: u32, field: &str) -> Option<u64> {
    let status = std::fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find(|line| line.starts_with(field))?;
    line.split_ascii_whitespace().nth(1)?.parse().ok()
}
