//! What a program asks of the system, seen through `strace`.

use std::fs;
use std::path::Path;
use std::process::Command;

use tempfile::{NamedTempFile, TempPath};

use crate::{outside, program};

/// A run of Trunnion under `strace`.
#[derive(Debug)]
pub struct Traced {
    log: TempPath,
}

/// One call of the system, by any of the program's threads: `openat(AT_FDCWD, "a.xml", O_RDONLY) = 3`.
#[derive(Clone, Debug, PartialEq)]
pub struct Call {
    pub name: String,
    pub text: String,
}

impl Traced {
    /// None, which is said, where programs cannot be traced.
    pub fn new(what: &str) -> Option<Self> {
        let probe = Command::new("strace")
            .args(["-o", "/dev/null", "true"])
            .output();
        match probe {
            Ok(output) if output.status.success() => {}
            Ok(output) => {
                let why = String::from_utf8_lossy(&output.stderr);
                outside::skipped(what, &format!("strace does not work here: {}", why.trim()));
                return None;
            }
            Err(_) => {
                outside::skipped(what, "strace is not installed");
                return None;
            }
        }
        let log = NamedTempFile::with_prefix("trunnion-").expect("a file can be made");
        Some(Self {
            log: log.into_temp_path(),
        })
    }

    /// Trunnion with these arguments. The exit code is Trunnion's.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new("strace");
        command
            .args(["-f", "-y", "-qq", "-s", "300", "-o"])
            .arg(&self.log)
            .arg("--")
            .arg(program::path())
            .args(arguments);
        command
    }

    /// What has been called, once the program has ended.
    ///
    /// # Panics
    /// There is no log.
    pub fn calls(&self) -> Vec<Call> {
        let log = fs::read(&self.log).expect("strace writes its log");
        String::from_utf8_lossy(&log)
            .lines()
            .filter_map(call)
            .collect()
    }
}

/// A line of the log: a process id, blanks, a call. The second half of a call that was interrupted is none, nor is what
/// is said of signals and ends (`---`, `+++`).
fn call(line: &str) -> Option<Call> {
    let (_, text) = line.split_once(' ')?;
    let text = text.trim_start();
    let (name, _) = text.split_once('(')?;
    let is_name = name
        .bytes()
        .all(|byte| byte.is_ascii_alphanumeric() || byte == b'_');
    is_name.then(|| Call {
        name: name.to_owned(),
        text: text.to_owned(),
    })
}

impl Call {
    /// The paths between quotes.
    pub fn paths(&self) -> impl Iterator<Item = &Path> {
        self.text.split('"').skip(1).step_by(2).map(Path::new)
    }

    /// Talks with another computer or another program.
    pub fn is_network(&self) -> bool {
        const CALLS: [&str; 20] = [
            "socket",
            "socketpair",
            "connect",
            "bind",
            "listen",
            "accept",
            "accept4",
            "sendto",
            "sendmsg",
            "sendmmsg",
            "recvfrom",
            "recvmsg",
            "recvmmsg",
            "getsockname",
            "getpeername",
            "setsockopt",
            "getsockopt",
            "shutdown",
            "socketcall",
            "io_uring_setup",
        ];
        CALLS.contains(&self.name.as_str())
    }

    /// Starts a process, or acts on one. A thread is none.
    pub fn is_process(&self) -> bool {
        match self.name.as_str() {
            "clone" | "clone3" => !self.text.contains("CLONE_THREAD"),
            "fork" | "vfork" | "execve" | "execveat" | "ptrace" | "kill" | "process_vm_writev" => {
                true
            }
            _ => false,
        }
    }

    /// Changes something on a disk, or opens it for that.
    pub fn is_writing(&self) -> bool {
        const FLAGS: [&str; 6] = [
            "O_WRONLY",
            "O_RDWR",
            "O_CREAT",
            "O_TRUNC",
            "O_APPEND",
            "O_TMPFILE",
        ];
        const BEGINNINGS: [&str; 19] = [
            "creat",
            "unlink",
            "rename",
            "mkdir",
            "rmdir",
            "link",
            "symlink",
            "mknod",
            "truncate",
            "ftruncate",
            "fallocate",
            "chmod",
            "fchmod",
            "chown",
            "fchown",
            "lchown",
            "utime",
            "setxattr",
            "mount",
        ];
        match self.name.as_str() {
            "open" | "openat" | "openat2" => FLAGS.iter().any(|flag| self.text.contains(flag)),
            "write" | "writev" | "pwrite64" | "pwritev" | "sendfile" | "copy_file_range"
            | "splice" => self.is_about_a_file(),
            name => BEGINNINGS
                .iter()
                .any(|beginning| name.starts_with(beginning)),
        }
    }

    /// With -y a descriptor stands there with what it is: `5</tmp/a>`, `1<pipe:[7]>`, `4<anon_inode:[eventfd]>`.
    fn is_about_a_file(&self) -> bool {
        let arguments = self.text.get(self.name.len() + 1..).unwrap_or_default();
        arguments
            .trim_start_matches(|digit: char| digit.is_ascii_digit())
            .starts_with("</")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(line: &str) -> Call {
        call(line).unwrap()
    }

    #[test]
    fn lines_of_the_log() {
        let opened =
            of("15699 openat(AT_FDCWD</quay>, \"a.xml\", O_RDONLY|O_CLOEXEC) = 3</quay/a.xml>");
        assert_eq!(opened.name, "openat");
        assert_eq!(opened.paths().collect::<Vec<_>>(), [Path::new("a.xml")]);
        assert!(!opened.is_writing() && !opened.is_network() && !opened.is_process());
        for none in [
            "15700 <... openat resumed>)             = 6",
            "15700 +++ exited with 0 +++",
            "15700 --- SIGPIPE {si_signo=SIGPIPE} ---",
        ] {
            assert_eq!(call(none), None, "{none}");
        }
    }

    #[test]
    fn what_is_told_apart() {
        for line in [
            "1 openat(AT_FDCWD, \"a\", O_WRONLY|O_CREAT, 0666 <unfinished ...>",
            "1 unlinkat(AT_FDCWD, \"a\", 0) = 0",
            "1 renameat2(AT_FDCWD, \"a\", AT_FDCWD, \"b\", 0) = 0",
            "1 write(5</tmp/a>, \"x\", 1) = 1",
        ] {
            assert!(of(line).is_writing(), "{line}");
        }
        for line in [
            "1 write(1<pipe:[8]>, \"</a>\", 4) = 4",
            "1 write(4<anon_inode:[eventfd]>, \"\", 8) = 8",
        ] {
            assert!(!of(line).is_writing(), "{line}");
        }
        assert!(of("1 socket(AF_UNIX, SOCK_STREAM, 0) = 3").is_network());
        assert!(
            of("1 clone3({flags=CLONE_VM|CLONE_VFORK, exit_signal=SIGCHLD}, 88) = 2").is_process()
        );
        assert!(!of("1 clone3({flags=CLONE_VM|CLONE_THREAD}, 88 <unfinished ...>").is_process());
    }
}
