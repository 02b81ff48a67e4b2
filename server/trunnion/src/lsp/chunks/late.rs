//! Text that is made while it goes out. What goes before it says how long it is, so it is made twice.

use std::fmt;
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

#[derive(Clone)]
pub(crate) struct Late {
    /// In bytes.
    length: usize,
    write: Arc<Writing>,
}

type Writing = dyn Fn(&mut dyn Write) -> io::Result<()> + Send + Sync;

impl Late {
    /// What `write` writes: now, to see how long it is, and again when it goes out. It must be the same each time.
    pub(crate) fn new(
        write: impl Fn(&mut dyn Write) -> io::Result<()> + Send + Sync + 'static,
    ) -> Self {
        let mut counter = Counter(0);
        // It takes everything.
        let _ = write(&mut counter);
        Self {
            length: counter.0,
            write: Arc::new(write),
        }
    }

    /// In bytes.
    pub(crate) fn len(&self) -> usize {
        self.length
    }

    /// Writes as much as was told, whatever comes: with one byte more or less, nothing that follows could be read, and
    /// with a panic nothing would.
    pub(crate) fn write_to(&self, output: &mut dyn Write) -> io::Result<()> {
        let mut exact = Exact {
            output,
            left: self.length,
        };
        if let Ok(written) = catch_unwind(AssertUnwindSafe(|| (self.write)(&mut exact))) {
            written?;
        }
        let blanks = vec![b' '; exact.left];
        output.write_all(&blanks)
    }
}

impl fmt::Debug for Late {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Late")
            .field("length", &self.length)
            .finish_non_exhaustive()
    }
}

/// Counts the bytes.
struct Counter(usize);

impl Write for Counter {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0 += bytes.len();
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// Lets so many bytes through.
struct Exact<'o> {
    output: &'o mut dyn Write,
    left: usize,
}

impl Write for Exact<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let fitting = &bytes[..bytes.len().min(self.left)];
        self.output.write_all(fitting)?;
        self.left -= fitting.len();
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.output.flush()
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    /// What goes out if this is written first and then `write` is called.
    fn second(
        first: &'static str,
        write: impl Fn(&mut dyn Write) -> io::Result<()> + Send + Sync + 'static,
    ) -> String {
        let times = AtomicUsize::new(0);
        let late = Late::new(move |output| match times.fetch_add(1, Ordering::Relaxed) {
            0 => output.write_all(first.as_bytes()),
            _ => write(output),
        });
        assert_eq!(late.len(), first.len());
        let mut written = Vec::new();
        late.write_to(&mut written).unwrap();
        String::from_utf8(written).unwrap()
    }

    #[test]
    fn it_is_made_while_it_goes_out() {
        let again = second("[1,2]", |output| {
            output.write_all(b"[3")?;
            output.write_all(b",4]")
        });
        assert_eq!(again, "[3,4]");
    }

    #[test]
    fn it_is_as_long_as_was_told() {
        assert_eq!(second("1", |output| output.write_all(b"12")), "1");
        assert_eq!(second("123", |output| output.write_all(b"1")), "1  ");
        let panics = |output: &mut dyn Write| {
            output.write_all(b"1")?;
            panic!("it did not, before")
        };
        assert_eq!(second("12", panics), "1 ");
    }

    #[test]
    fn an_output_that_takes_nothing_is_told_of() {
        let late = Late::new(|output| output.write_all(b"1"));
        let mut nothing: [u8; 0] = [];
        assert!(late.write_to(&mut &mut nothing[..]).is_err());
    }
}
