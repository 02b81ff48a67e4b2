//! The client's process, watched from outside: an editor that crashed says no `exit`, and its end of the wire may stay
//! open in another process.

use std::time::Duration;

const EVERY: Duration = Duration::from_secs(2);

/// A process that was seen alive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Process {
    id: u32,
    begun: u64,
}

impl Process {
    /// The process with this id. None where it cannot be watched: on systems without `/proc`, and if it cannot be seen
    /// from here (the client may live in another container).
    pub(crate) fn see(id: u32) -> Option<Self> {
        start_time(id).map(|begun| Self { id, begun })
    }

    /// Returns once the process is gone.
    pub(crate) async fn gone(self) {
        while start_time(self.id) == Some(self.begun) {
            tokio::time::sleep(EVERY).await;
        }
    }
}

/// When a living process started, in clock ticks since boot, so that a new process with an old id is told apart.
/// Source: proc_pid_stat(5), fields 3 (state) and 22 (when it started).
fn start_time(id: u32) -> Option<u64> {
    let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).ok()?;
    // The second field is a name in parentheses and may hold anything.
    let (_, fields) = stat.rsplit_once(')')?;
    let mut fields = fields.split_ascii_whitespace();
    let state = fields.next()?;
    let dead = matches!(state, "Z" | "X" | "x");
    fields.nth(18)?.parse().ok().filter(|_| !dead)
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    #[tokio::test]
    async fn the_end_of_a_process_is_noticed() {
        let mut child = std::process::Command::new("sleep")
            .arg("600")
            .spawn()
            .unwrap();
        let process = Process::see(child.id()).unwrap();
        let gone = tokio::spawn(process.gone());
        tokio::task::yield_now().await;
        assert!(!gone.is_finished());
        child.kill().unwrap();
        // Not waited for, so it stays as a zombie, which is gone for us.
        tokio::time::timeout(Duration::from_secs(60), gone)
            .await
            .expect("noticed")
            .unwrap();
        child.wait().unwrap();
    }

    #[test]
    fn a_process_that_cannot_be_seen_is_not_watched() {
        // Above the largest id that Linux gives (proc_sys_kernel(5), pid_max: 2^22).
        assert_eq!(Process::see(5_000_000), None);
        assert!(Process::see(std::process::id()).is_some());
    }
}
