//! Reads well-behaved glTF in one go. Scenes have tens of thousands of nodes, and a reader that knows what it looks for
//! is several times faster than a general one.
//!
//! Nothing is explained here: whatever is wrong, odd or merely unusual is left to the careful reader, which begins
//! again and says what is the matter. So both must agree only on files without faults.

use super::json::Piece;
use super::nodes::{NodeEntry, Written};

/// Powers of ten.
const POWERS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// Which bytes stand for themselves in a string.
const PLAIN: [bool; 256] = {
    let mut plain = [true; 256];
    let mut control = 0;
    while control < b' ' {
        plain[control as usize] = false;
        control += 1;
    }
    plain[b'"' as usize] = false;
    plain[b'\\' as usize] = false;
    plain
};

/// As deep as serde_json goes.
const DEEPEST: usize = 128;

/// So many nodes tell how many more there may be.
const SAMPLE: usize = 256;

/// The parts of a glTF document, its nodes read.
#[derive(Default)]
pub(super) struct Parts<'a> {
    pub(super) asset: Option<Piece<'a>>,
    pub(super) scene: Option<u32>,
    pub(super) scenes: Option<Piece<'a>>,
    pub(super) nodes: Option<Vec<NodeEntry<'a>>>,
    pub(super) meshes: Option<Piece<'a>>,
    pub(super) accessors: Option<Piece<'a>>,
}

/// None: ask the careful reader. `most`: how many nodes there may be.
pub(super) fn read(whole: Piece<'_>, most: usize) -> Option<Parts<'_>> {
    let bytes = whole.text.as_bytes();
    let mut reader = Reader {
        whole,
        bytes,
        at: 0,
    };
    let mut parts = Parts::default();
    reader.object(|reader, key| match key {
        "asset" => once(&mut parts.asset, reader.piece()?),
        "scene" => once(&mut parts.scene, reader.index()?),
        "scenes" => once(&mut parts.scenes, reader.piece()?),
        "meshes" => once(&mut parts.meshes, reader.piece()?),
        "accessors" => once(&mut parts.accessors, reader.piece()?),
        "nodes" => once(&mut parts.nodes, reader.nodes(most)?),
        _ => reader.skip(),
    })?;
    reader.peek();
    (reader.at == whole.text.len()).then_some(parts)
}

fn once<T>(place: &mut Option<T>, value: T) -> Option<()> {
    place.is_none().then(|| *place = Some(value))
}

/// How many bytes from the first on stand for themselves in a string. Most strings are short, and there are many: eight
/// bytes are looked at together.
fn plain_length(bytes: &[u8]) -> usize {
    let mut at = 0;
    while let Some(eight) = bytes.get(at..).and_then(<[u8]>::first_chunk) {
        let others = not_plain(u64::from_le_bytes(*eight));
        if others != 0 {
            return at + others.trailing_zeros() as usize / 8;
        }
        at += 8;
    }
    let rest = bytes.get(at..).unwrap_or_default();
    let plain = rest.iter().position(|byte| !PLAIN[usize::from(*byte)]);
    at + plain.unwrap_or(rest.len())
}

/// The highest bit of the lowest of eight bytes that does not stand for itself, if there is one. That of bytes above it
/// may be there without cause (Warren, “Hacker's Delight”, second edition, section 6-1).
fn not_plain(eight: u64) -> u64 {
    let each = |byte: u8| u64::from_ne_bytes([byte; 8]);
    let below = |bytes: u64, least: u8| bytes.wrapping_sub(each(least)) & !bytes;
    let control = below(eight, b' ');
    let quote = below(eight ^ each(b'"'), 1);
    let escape = below(eight ^ each(b'\\'), 1);
    (control | quote | escape) & each(0x80)
}

struct Reader<'a> {
    whole: Piece<'a>,
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Reader<'a> {
    /// The next byte that is no white space; it is not taken.
    #[inline(always)]
    fn peek(&mut self) -> Option<u8> {
        let mut at = self.at;
        loop {
            match self.bytes.get(at) {
                Some(b' ' | b'\n' | b'\r' | b'\t') => at += 1,
                next => {
                    self.at = at;
                    return next.copied();
                }
            }
        }
    }

    #[inline]
    fn take(&mut self, byte: u8) -> Option<()> {
        let found = self.peek()? == byte;
        self.at += usize::from(found);
        found.then_some(())
    }

    fn object(&mut self, mut member: impl FnMut(&mut Self, &'a str) -> Option<()>) -> Option<()> {
        self.take(b'{')?;
        if self.take(b'}').is_some() {
            return Some(());
        }
        loop {
            let key = self.plain_string()?;
            self.take(b':')?;
            member(self, key)?;
            if self.take(b',').is_none() {
                return self.take(b'}');
            }
        }
    }

    fn list(&mut self, mut entry: impl FnMut(&mut Self) -> Option<()>) -> Option<()> {
        self.take(b'[')?;
        if self.take(b']').is_some() {
            return Some(());
        }
        loop {
            entry(self)?;
            if self.take(b',').is_none() {
                return self.take(b']');
            }
        }
    }

    /// A string without escapes.
    fn plain_string(&mut self) -> Option<&'a str> {
        self.take(b'"')?;
        let from = self.at;
        let end = from + plain_length(self.bytes.get(from..)?);
        if self.bytes.get(end) != Some(&b'"') {
            return None;
        }
        self.at = end + 1;
        self.whole.text.get(from..end)
    }

    fn string(&mut self) -> Option<String> {
        self.peek()?;
        let from = self.at;
        if let Some(plain) = self.plain_string() {
            return Some(plain.to_owned());
        }
        self.at = from;
        self.take(b'"')?;
        loop {
            match *self.bytes.get(self.at)? {
                b'"' => break,
                b'\\' => self.at += 2,
                _ => self.at += 1,
            }
        }
        self.at += 1;
        serde_json::from_str(self.whole.text.get(from..self.at)?).ok()
    }

    /// Buffers are written as strings of megabytes, which nobody needs a copy of.
    fn skip_string(&mut self) -> Option<()> {
        let from = self.at;
        if self.plain_string().is_none() {
            self.at = from;
            drop(self.string()?);
        }
        Some(())
    }

    /// Digits, at least one: how many, and `number` continued by them; that is right for up to 19 in all.
    #[inline]
    fn digits(&mut self, mut number: u64) -> Option<(usize, u64)> {
        let (from, mut at) = (self.at, self.at);
        while let Some(digit @ b'0'..=b'9') = self.bytes.get(at) {
            number = number
                .wrapping_mul(10)
                .wrapping_add(u64::from(digit - b'0'));
            at += 1;
        }
        self.at = at;
        let count = at - from;
        (count > 0).then_some((count, number))
    }

    /// The next byte, white space or not.
    #[inline]
    fn next(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    fn number(&mut self) -> Option<f64> {
        let negative = self.peek()? == b'-';
        let from = self.at;
        self.at += usize::from(negative);
        let zero = self.next() == Some(b'0');
        let (whole, mut digits) = self.digits(0)?;
        if zero && whole > 1 {
            return None;
        }
        let mut decimals = 0;
        if self.next() == Some(b'.') {
            self.at += 1;
            (decimals, digits) = self.digits(digits)?;
        }
        let has_exponent = matches!(self.next(), Some(b'e' | b'E'));
        if has_exponent {
            self.at += 1;
            self.at += usize::from(matches!(self.next(), Some(b'+' | b'-')));
            self.digits(0)?;
        }
        // Both are exact, so their quotient is the nearest there is (Clinger, “How to read floating point numbers
        // accurately”, 1990).
        let number = match POWERS.get(decimals) {
            Some(power) if whole + decimals <= 15 && !has_exponent => digits as f64 / power,
            _ => self
                .whole
                .text
                .get(from..self.at)?
                .parse::<f64>()
                .ok()?
                .abs(),
        };
        let number = if negative { -number } else { number };
        number.is_finite().then_some(number)
    }

    /// A number in a list of nodes, meshes or the like, written without sign, point or exponent.
    fn index(&mut self) -> Option<u32> {
        let zero = self.peek()? == b'0';
        let (count, number) = self.digits(0)?;
        let goes_on = matches!(self.next(), Some(b'.' | b'e' | b'E'));
        let is_plain = count <= 10 && !(zero && count > 1) && !goes_on;
        u32::try_from(number).ok().filter(|_| is_plain)
    }

    fn numbers<const N: usize>(&mut self) -> Option<[f64; N]> {
        let (mut numbers, mut count) = ([0.0; N], 0);
        self.list(|reader| {
            *numbers.get_mut(count)? = reader.number()?;
            count += 1;
            Some(())
        })?;
        (count == N).then_some(numbers)
    }

    fn skip(&mut self) -> Option<()> {
        let mut open = Vec::new();
        loop {
            match self.peek()? {
                b'{' => {
                    self.at += 1;
                    if self.take(b'}').is_none() {
                        self.key()?;
                        open.push(b'}');
                        if open.len() > DEEPEST {
                            return None;
                        }
                        continue;
                    }
                }
                b'[' => {
                    self.at += 1;
                    if self.take(b']').is_none() {
                        open.push(b']');
                        if open.len() > DEEPEST {
                            return None;
                        }
                        continue;
                    }
                }
                b'"' => self.skip_string()?,
                b'-' | b'0'..=b'9' => drop(self.number()?),
                _ => self.word()?,
            }
            // Behind a value: what is open goes on or ends.
            loop {
                let Some(&end) = open.last() else {
                    return Some(());
                };
                if self.take(b',').is_some() {
                    if end == b'}' {
                        self.key()?;
                    }
                    break;
                }
                self.take(end)?;
                open.pop();
            }
        }
    }

    fn key(&mut self) -> Option<()> {
        self.skip_string()?;
        self.take(b':')
    }

    fn word(&mut self) -> Option<()> {
        let rest = self.bytes.get(self.at..)?;
        let word = ["true", "false", "null"]
            .into_iter()
            .find(|word| rest.starts_with(word.as_bytes()))?;
        self.at += word.len();
        Some(())
    }

    fn piece(&mut self) -> Option<Piece<'a>> {
        self.peek()?;
        let from = self.at;
        self.skip()?;
        self.since(from)
    }

    fn since(&self, from: usize) -> Option<Piece<'a>> {
        Some(Piece {
            text: self.whole.text.get(from..self.at)?,
            start: self.whole.start + from,
        })
    }

    fn nodes(&mut self, most: usize) -> Option<Vec<NodeEntry<'a>>> {
        let mut nodes: Vec<NodeEntry<'a>> = Vec::new();
        let mut children = Vec::new();
        // Where the room was last reckoned, and how many nodes there were then. Only what was read since then tells how large
        // the nodes to come may be: the first one may be as large as all others together.
        let (mut at, mut count) = (self.at, 0);
        self.list(|reader| {
            if nodes.len() == nodes.capacity() {
                // A list that doubles each time it is full would leave twice its size behind.
                let (read, rest) = (reader.at - at, reader.bytes.len() - reader.at);
                let likely = rest * (nodes.len() - count) / read.max(1);
                let more = likely.max(nodes.len() / 4).max(SAMPLE);
                nodes.reserve_exact(more.min((most - nodes.len()).saturating_add(1)));
                (at, count) = (reader.at, nodes.len());
            }
            reader.peek()?;
            let from = reader.at;
            // Nodes are large: each is written where it stays.
            nodes.push(NodeEntry {
                piece: reader.whole,
                written: Written::default(),
            });
            let node = nodes.last_mut()?;
            reader.node(&mut node.written, &mut children)?;
            node.piece = reader.since(from)?;
            (nodes.len() <= most).then_some(())
        })?;
        Some(nodes)
    }

    /// `children`: room to work in.
    fn node(&mut self, node: &mut Written, children: &mut Vec<u32>) -> Option<()> {
        self.object(|reader, key| match key {
            "name" => once(&mut node.name, reader.string()?.into()),
            "children" => {
                children.clear();
                reader.list(|reader| {
                    children.push(reader.index()?);
                    Some(())
                })?;
                // As much room as they take, had at once.
                once(&mut node.children, children.as_slice().into())
            }
            "matrix" => once(&mut node.matrix, Box::new(reader.numbers()?)),
            "translation" => once(&mut node.translation, reader.numbers()?),
            "rotation" => once(&mut node.rotation, Box::new(reader.numbers()?)),
            "scale" => once(&mut node.scale, Box::new(reader.numbers()?)),
            "mesh" => once(&mut node.mesh, reader.index()?),
            "extensions" => {
                let extensions = serde_json::from_str(reader.piece()?.text).ok()?;
                once(&mut node.extensions, extensions)
            }
            _ => reader.skip(),
        })
    }
}

#[cfg(test)]
mod tests;
