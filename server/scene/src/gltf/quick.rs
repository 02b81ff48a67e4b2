//! Reads well-behaved glTF in one go. Scenes have tens of thousands of nodes, and a reader that knows what it looks for
//! is several times faster than a general one.
//!
//! Nothing is explained here: whatever is wrong, odd or merely unusual is left to the careful reader, which begins
//! again and says what is the matter. So both must agree only on files without faults.

use super::json::Piece;
use super::nodes::Written;

/// As deep as serde_json goes.
const DEEPEST: usize = 128;

/// The parts of a glTF document, its nodes read.
#[derive(Default)]
pub(super) struct Parts<'a> {
    pub(super) asset: Option<Piece<'a>>,
    pub(super) scene: Option<u32>,
    pub(super) scenes: Option<Piece<'a>>,
    pub(super) nodes: Option<Vec<(Piece<'a>, Written)>>,
    pub(super) meshes: Option<Piece<'a>>,
    pub(super) accessors: Option<Piece<'a>>,
}

/// None: ask the careful reader. `most`: how many nodes there may be.
pub(super) fn read(whole: Piece<'_>, most: usize) -> Option<Parts<'_>> {
    let mut reader = Reader { whole, at: 0 };
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
    reader.space();
    (reader.at == whole.text.len()).then_some(parts)
}

fn once<T>(place: &mut Option<T>, value: T) -> Option<()> {
    place.replace(value).is_none().then_some(())
}

struct Reader<'a> {
    whole: Piece<'a>,
    at: usize,
}

impl<'a> Reader<'a> {
    fn bytes(&self) -> &'a [u8] {
        self.whole.text.as_bytes()
    }

    /// The next byte that is no white space; it is not taken.
    fn peek(&mut self) -> Option<u8> {
        self.space();
        self.bytes().get(self.at).copied()
    }

    fn space(&mut self) {
        while let Some(b' ' | b'\n' | b'\r' | b'\t') = self.bytes().get(self.at) {
            self.at += 1;
        }
    }

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
        loop {
            match *self.bytes().get(self.at)? {
                b'"' => break,
                b'\\' | 0..0x20 => return None,
                _ => self.at += 1,
            }
        }
        let string = self.whole.text.get(from..self.at);
        self.at += 1;
        string
    }

    fn string(&mut self) -> Option<String> {
        self.space();
        let from = self.at;
        if let Some(plain) = self.plain_string() {
            return Some(plain.to_owned());
        }
        self.at = from;
        self.take(b'"')?;
        loop {
            match *self.bytes().get(self.at)? {
                b'"' => break,
                b'\\' => self.at += 2,
                _ => self.at += 1,
            }
        }
        self.at += 1;
        serde_json::from_str(self.whole.text.get(from..self.at)?).ok()
    }

    fn digits(&mut self) -> Option<()> {
        let from = self.at;
        while self.bytes().get(self.at).is_some_and(u8::is_ascii_digit) {
            self.at += 1;
        }
        (self.at > from).then_some(())
    }

    fn number_text(&mut self) -> Option<&'a str> {
        self.space();
        let from = self.at;
        let next_is = |reader: &Self, bytes: &[u8]| {
            let next = reader.bytes().get(reader.at);
            next.is_some_and(|next| bytes.contains(next))
        };
        self.at += usize::from(next_is(self, b"-"));
        let zero = next_is(self, b"0");
        let whole = self.at;
        self.digits()?;
        if zero && self.at > whole + 1 {
            return None;
        }
        if next_is(self, b".") {
            self.at += 1;
            self.digits()?;
        }
        if next_is(self, b"eE") {
            self.at += 1;
            self.at += usize::from(next_is(self, b"+-"));
            self.digits()?;
        }
        self.whole.text.get(from..self.at)
    }

    fn number(&mut self) -> Option<f64> {
        let number: f64 = self.number_text()?.parse().ok()?;
        number.is_finite().then_some(number)
    }

    /// A number in a list of nodes, meshes or the like, written without sign, point or exponent.
    fn index(&mut self) -> Option<u32> {
        self.number_text()?.parse().ok()
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
                b'"' => drop(self.string()?),
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
        self.string()?;
        self.take(b':')
    }

    fn word(&mut self) -> Option<()> {
        let rest = self.bytes().get(self.at..)?;
        let word = ["true", "false", "null"]
            .into_iter()
            .find(|word| rest.starts_with(word.as_bytes()))?;
        self.at += word.len();
        Some(())
    }

    fn piece(&mut self) -> Option<Piece<'a>> {
        self.space();
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

    fn nodes(&mut self, most: usize) -> Option<Vec<(Piece<'a>, Written)>> {
        let mut nodes = Vec::new();
        self.list(|reader| {
            reader.space();
            let from = reader.at;
            let node = reader.node()?;
            nodes.push((reader.since(from)?, node));
            (nodes.len() <= most).then_some(())
        })?;
        Some(nodes)
    }

    fn node(&mut self) -> Option<Written> {
        let mut node = Written::default();
        self.object(|reader, key| match key {
            "name" => once(&mut node.name, reader.string()?),
            "children" => {
                let mut children = Vec::new();
                reader.list(|reader| {
                    children.push(reader.index()?);
                    Some(())
                })?;
                once(&mut node.children, children)
            }
            "matrix" => once(&mut node.matrix, Box::new(reader.numbers()?)),
            "translation" => once(&mut node.translation, reader.numbers()?),
            "rotation" => once(&mut node.rotation, reader.numbers()?),
            "scale" => once(&mut node.scale, reader.numbers()?),
            "mesh" => once(&mut node.mesh, reader.index()?),
            "extensions" => {
                let extensions = serde_json::from_str(reader.piece()?.text).ok()?;
                once(&mut node.extensions, extensions)
            }
            _ => reader.skip(),
        })?;
        Some(node)
    }
}

#[cfg(test)]
mod tests;
