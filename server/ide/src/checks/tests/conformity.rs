//! Where reading has seen that all is as declared, who looks for mistakes finds none.

use std::fmt::Write as _;

use machine::Conformity;

use super::super::broken::Broken;
use super::super::local::{self, Local};
use super::super::site::Site;
use super::*;
use crate::random::Random;

/// All sorts of values and rules that the other dialects lack.
const CHEST: &str = r##"
[dialect]
name = "chest"
format = 1
[[document]]
name = "chest"
root = "chest"
[units]
length = "m"
[element.chest]
children = ["drawer*", "(lid | flap)", "tool{1,3}", "loose?", "drive*"]
order = "listed"
attributes.size = { type = "vector", count = 2, above = 0, separator = "x" }
[element.drawer]
children = ["label?", "tool*", "note?"]
attributes.name = { type = "name", of = "drawer", required = true }
attributes.paint = { type = "colour" }
attributes.level = { type = "integer", min = 1, max = 9 }
[element.label]
text = { type = "text", required = true }
[element.note]
text = { type = "word", words = ["old", "new"], list = { separator = ",", min = 1, max = 2 } }
[element.tool]
attributes.in = { type = "reference", of = "drawer", list = true, before = "#" }
attributes.nth = { type = "position", of = "drawer", first = 1 }
attributes.sheet = { type = "file", extensions = "txt" }
attributes.sharp = { type = "boolean" }
attributes.grip = "input"
attributes.at = { type = "node", accepts = ["drawer", "index-path"] }
[element.lid]
[element.flap]
[element.loose]
open = true
[element.drive]
children = ["move*", "both*"]
attributes.name = { type = "name", of = "drive" }
[element.move]
children = ["to"]
attributes.node = "index-path"
attributes.from = "number"
attributes.until = { type = "number", above = 0 }
attributes.sort = { type = "word", words = ["push", "show"], required = true }
[element.to]
text = "moved-value"
[element.both.attributes]
node = "index-path"
from = "number"
until = "number"
push = "moved-value"
show = "moved-value"
[inputs]
analog = ["wheel"]
digital = ["pedal"]
[[role.animation]]
at = "chest/drive"
name = "@name"
[[role.channel]]
at = "move"
node = "@node"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = { at = "@sort", translation = "push", visibility = "show" }
to = "to"
[[role.channel]]
at = "both"
node = "@node"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = "translation"
to = "@push"
[[role.channel]]
at = "both"
node = "@node"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = "visibility"
to = "@show"
"##;

const A_CHEST: &str = r##"<chest size="2x0.5" xmlns:own="urn:own">
  <drawer name="upper" paint="#ff8000" level="3" own:seen="yes">
    <label>Files and saws</label>
    <tool in="#upper" nth="1" sharp="true"/>
    <note>old, new</note>
  </drawer>
  <drawer name="lower"/>
  <own:drawer><nothing/></own:drawer>
  <flap/>
  <tool in="#upper #lower" sheet="files/saw.txt" grip="pedal" at="0/1"/>
  <tool at="lower"/>
  <loose kind="any"><wood nth="x">oak</wood></loose>
  <drive name="out">
    <move node="0/1" from="0" until="1.5" sort="push"><to>0 0 0.5</to></move>
    <move node="0/1" sort="show"><to>true</to></move>
    <move node="0/2" sort="show"><to><!-- or not --><![CDATA[false]]></to></move>
  </drive>
</chest>
"##;

/// What a mistake may be made of.
const PIECES: [&str; 16] = [
    "x",
    " ",
    "#",
    "-1",
    "1e3",
    "0/1",
    "true",
    "<tool/>",
    "<x/>",
    "<!-- trunnion: x -->",
    "text",
    "&amp;",
    "\"",
    "<",
    "/>",
    " x='1'",
];

/// What was found with a look at all entries: looking where it was seen that nothing is wrong, or not.
fn found(site: &Site<'_>, is_trusted: bool) -> Vec<Local> {
    let broken = Broken::of(site.tree());
    let mut found: Vec<Local> = Vec::new();
    for (at, entry) in site.outline.entries().iter().enumerate() {
        let holder = entry.portion.holder.map(|holder| &found[holder]);
        let conformity = match is_trusted {
            true => entry.conformity,
            false => Conformity::Doubtful,
        };
        let local = local::look_unless(conformity, site, &broken, at, holder, None, None);
        found.push(local);
    }
    found
}

#[derive(Default)]
struct Counts {
    conforming: usize,
    quiet: usize,
    faulty: usize,
}

impl Counts {
    fn add(&mut self, fixture: &Fixture) {
        let view = fixture.view();
        let Some(site) = Site::of(&view) else { return };
        let (trusted, looked_into) = (found(&site, true), found(&site, false));
        for ((entry, trusted), local) in site.outline.entries().iter().zip(trusted).zip(looked_into)
        {
            assert_eq!(format!("{trusted:?}"), format!("{local:?}"), "{fixture:?}");
            if entry.portion.element().is_none() {
                self.conforming += usize::from(entry.conformity > Conformity::Doubtful);
                self.quiet += usize::from(local.findings.is_empty());
                self.faulty += usize::from(!local.findings.is_empty());
            }
        }
    }
}

/// Channels name the animation that they belong to.
const FAR: &str = r##"
[dialect]
name = "far"
format = 1
[[document]]
name = "far"
root = "far"
[element.far]
children = ["drive+", "move*", "note?"]
[element.drive]
attributes.name = { type = "name", of = "drive", required = true }
[element.move]
children = ["to"]
attributes.drive = { type = "reference", of = "drive", required = true }
attributes.node = "index-path"
attributes.from = "number"
attributes.until = { type = "number", above = 0 }
[element.to]
text = { type = "vector", count = 3 }
[element.note]
text = "text"
[[role.animation]]
at = "//drive"
name = "@name"
[[role.channel]]
at = "//move"
animation = "@drive"
node = "@node"
begin = "@from"
end = "@until"
[[role.channel.motion]]
property = "translation"
to = "to"
"##;

const A_FAR_ONE: &str = r##"<far>
  <drive name="out"/>
  <drive name="in"/>
  <move drive="in" node="0/1" from="0" until="1.5"><to>0 0 1</to></move>
  <move drive="out" node="0/1" from="0" until="2"><to>0 0 -1</to></move>
  <note>to and fro</note>
</far>
"##;

/// The same with a prefix: pieces that have none lack it.
const A_PREFIXED_CHEST: &str = r##"<c:chest size="2x0.5" xmlns:own="urn:own" xmlns:c="urn:chest">
  <c:drawer name="upper" paint="#ff8000" level="3" own:seen="yes">
    <c:label>Files and saws</c:label>
    <c:tool in="#upper" nth="1" sharp="true"/>
    <c:note>old, new</c:note>
  </c:drawer>
  <c:drawer name="lower"/>
  <own:drawer><nothing/></own:drawer>
  <c:flap/>
  <c:tool in="#upper #lower" sheet="files/saw.txt" grip="pedal" at="0/1"/>
  <c:tool at="lower"/>
  <c:drive name="out">
    <c:move node="0/1" from="0" until="1.5" sort="push"><c:to>0 0 0.5</c:to></c:move>
  </c:drive>
</c:chest>
"##;

fn documents() -> [(&'static str, &'static str, &'static str); 7] {
    [
        (
            "a.machine.xml",
            include_str!("../../../../dialect/src/house.dialect.toml"),
            include_str!("../../../../../corpus/ternholt/machines/bram-6.machine.xml"),
        ),
        (
            "a.rig.xml",
            include_str!("../../../../../corpus/dialects/yard/yard.dialect.toml"),
            include_str!("../../../../../corpus/dialects/yard/rigs/dorrik-9.rig.xml"),
        ),
        (
            "a.card",
            include_str!("../../../../../corpus/dialects/slip/slip.dialect.toml"),
            include_str!("../../../../../corpus/dialects/slip/cards/fennor-4.card"),
        ),
        (
            "a.xml",
            include_str!("../../../tests/deck.dialect.toml"),
            "<deck>\n<item sort='post' name='a'/>\n<item sort='crew'>\n<item sort='hand' grips='a'/>\n</item>\n</deck>",
        ),
        ("b.xml", CHEST, A_CHEST),
        ("b.xml", CHEST, A_PREFIXED_CHEST),
        ("c.xml", FAR, A_FAR_ONE),
    ]
}

/// The same, so often that it is cut into portions, with elements of others among them.
fn long(text: &str) -> String {
    let tree = syntax::parse(text);
    let content = tree.root().and_then(|root| root.content_range());
    let content = content.expect("it has some");
    let (start, end) = (usize::from(content.start()), usize::from(content.end()));
    let times = 40_000 / (end - start);
    let others = "\n<own:x xmlns:own=\"urn:own\"/>\n";
    text[..start].to_owned() + &text[start..end].repeat(times) + others + &text[start..]
}

/// Lines, values and pieces of a document change places.
fn spoil(text: &mut String, random: &mut Random) {
    let quotes = |text: &str| {
        text.match_indices('"')
            .map(|(at, _)| at)
            .collect::<Vec<_>>()
    };
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let line = random.below(lines.len());
    let start: usize = lines[..line].iter().map(|line| line.len()).sum();
    let end = start + lines[line].len();
    match random.below(4) {
        0 => text.replace_range(start..end, ""),
        1 => {
            let other = lines[random.below(lines.len())].to_owned();
            text.insert_str(start, &other);
        }
        2 => {
            let quotes = quotes(text);
            let value = |nth: usize| quotes[2 * nth] + 1..quotes[2 * nth + 1];
            let (here, there) = (
                random.below(quotes.len() / 2 + 1),
                random.below(quotes.len() / 2 + 1),
            );
            if 2 * here.max(there) + 1 < quotes.len() {
                let other = text[value(there)].to_owned();
                text.replace_range(value(here), &other);
            }
        }
        _ => {
            let at = text.floor_char_boundary(random.below(text.len() + 1));
            text.insert_str(at, PIECES[random.below(PIECES.len())]);
        }
    }
}

#[test]
fn nothing_is_wrong_where_all_is_as_declared() {
    let mut random = Random::new(1);
    for (file, dialect, text) in documents() {
        let dialect = Dialect::read(dialect, None);
        let dialect = Arc::new(dialect.unwrap_or_else(|problems| panic!("{problems:#?}")));
        let fixture = |text: &str| Fixture::of(text, vec![dialect.clone()]).at(file);
        let mut sound = Counts::default();
        sound.add(&fixture(text));
        let told = said(&fixture(text));
        assert!(sound.conforming > 0 && sound.faulty == 0, "{file}: {told}");
        let mut counts = Counts::default();
        for round in 0..200 {
            let is_long = round % 20 == 0;
            let mut spoilt = if is_long { long(text) } else { text.to_owned() };
            for _ in 0..=random.below(if is_long { 8 } else { 3 }) {
                spoil(&mut spoilt, &mut random);
            }
            counts.add(&fixture(&spoilt));
        }
        let mut said = String::new();
        let Counts {
            conforming,
            quiet,
            faulty,
        } = counts;
        let _ = write!(
            said,
            "{file}: {conforming} of {quiet} quiet ones conform, {faulty} have faults"
        );
        // What is broken around may keep mistakes from being told.
        assert!(
            conforming * 4 > quiet && conforming > 20 && faulty > 20,
            "{said}"
        );
    }
}

#[test]
fn what_moves_two_properties_is_looked_into() {
    let dialect = Arc::new(Dialect::read(CHEST, None).expect("it is sound"));
    let with = |moved: &str| {
        let text = A_CHEST.replace("<drive name=\"out\">", &format!("<drive>{moved}"));
        let mut counts = Counts::default();
        counts.add(&Fixture::of(&text, vec![dialect.clone()]).at("b.xml"));
        (counts.conforming, counts.faulty)
    };
    let both = |values: &str| format!("<both node=\"0/1\" from=\"0\" until=\"1\" {values}/>");
    assert_eq!(with(""), (1, 0));
    assert_eq!(with(&both("show=\"true\"")), (1, 0));
    // One of the two counts, and both values are measured by it.
    assert_eq!(with(&both("push=\"true\" show=\"true\"")), (0, 0));
    assert_eq!(with(&both("push=\"0 0 1\" show=\"true\"")), (0, 1));
}

/// Where channels name their animation, what they move is known too late.
#[test]
fn moved_values_far_from_their_animations_are_looked_into() {
    let conforming = |dialect: &str| {
        let dialect = Dialect::read(dialect, None).expect("it is sound");
        let mut counts = Counts::default();
        counts.add(&Fixture::of(A_FAR_ONE, vec![Arc::new(dialect)]).at("c.xml"));
        (counts.conforming, counts.faulty)
    };
    assert_eq!(conforming(FAR), (1, 0));
    let moved = FAR.replace("{ type = \"vector\", count = 3 }", "\"moved-value\"");
    assert_eq!(conforming(&moved), (0, 0));
}
