//! Values in a dialect's own habits: checked, split, read and written.

use dialect::{Dialect, EndValue, Kinded, Leaf, Property, Quantity, ValueFault, ValueType};

/// Decimal comma, centimetres, radians, milliseconds, marked index paths.
const QUAY: &str = r##"
[dialect]
name = "quay"
format = 1

[units]
length = "cm"
angle = "rad"
time = "ms"

[notation]
decimal-mark = ","
yes = ["on", "1"]
no = ["off", "0"]

[notation.index-path]
separator = "."
after-root = ":"
root-mark = "#"
first = 1

[inputs]
analog = ["axis-a"]
digital = ["key-a", "key-b"]

[[document]]
name = "rig"
root = "rig"

[element.rig.attributes]
free = "text"
name = { type = "name", of = "handle" }
answer = "boolean"
other-answer = { type = "boolean", yes = "yea", no = "nay" }
whole = { type = "integer", min = 0, max = 5 }
share = { type = "number", above = 0, below = 1 }
height = { type = "number", quantity = "length" }
metres = { type = "number", unit = "m" }
time = { type = "number", quantity = "time" }
place = { type = "vector", count = 3, min = -1, quantity = "length" }
pair = { type = "vector", count = 2, separator = ";" }
times = { type = "number", quantity = "time", list = { min = 2, max = 2 } }
colour = { type = "word", words = ["red", "blue"] }
colours = { type = "word", words = ["red", "blue"], list = { separator = "|", min = 1 } }
reference = { type = "reference", of = "handle" }
marked = { type = "reference", of = "handle", before = "[", after = "]", list = { separator = ";" } }
row-end = { type = "moved-value", separator = "/" }
position = { type = "position", of = "handle", first = 1 }
node = "node"
path = "index-path"
sound = { type = "file", extensions = [".OGG", "wav"] }
input = "input"
key = { type = "input", kind = "digital" }
end = "moved-value"
metre-end = { type = "moved-value", unit = ["m", "deg"] }
ends = { type = "moved-value", list = true }
split-ends = { type = "moved-value", list = { separator = "~" } }
factor = "number"

[[role.alias]]
at = "rig"
name = "@name"
path = "@path"
"##;

fn quay() -> Dialect {
    Dialect::read(QUAY, None).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

fn value_type(dialect: &Dialect, attribute: &str) -> ValueType {
    let root = dialect.root_context(&dialect.documents[0]);
    let leaf = Leaf::Attribute(attribute.to_owned());
    dialect
        .element(root)
        .unwrap()
        .value_at(&leaf)
        .unwrap()
        .value
        .clone()
}

/// What is wrong with a value, as `[part] fault`, joined by `; `.
fn faults(attribute: &str, value: &str) -> String {
    faults_of(attribute, value, None)
}

fn faults_of(attribute: &str, value: &str, property: Option<Property>) -> String {
    let dialect = quay();
    let value_type = value_type(&dialect, attribute);
    let found = dialect.check_value(&value_type, value, property);
    let lines = found.into_iter().map(|problem| {
        let part = &value[problem.range];
        match problem.fault {
            ValueFault::WrongType { expected } => format!("[{part}] expected {expected}"),
            ValueFault::OutOfRange { expected, nearest } => {
                format!("[{part}] expected {expected}, nearest {nearest:?}")
            }
            ValueFault::UnknownWord { nearest, .. } => format!("[{part}] meant {nearest:?}"),
            ValueFault::WrongInputKind { expected } => format!("[{part}] asks for {expected:?}"),
            ValueFault::WrongCount { expected, found } => {
                format!("[{part}] expected {expected}, found {found}")
            }
        }
    });
    lines.collect::<Vec<_>>().join("; ")
}

/// A fifth of all texts of up to three of some pieces that values of all sorts are made of, as every attribute and with every
/// property: whether a value fits, what is wrong with it, and what its reading shows of it must agree.
#[test]
fn what_fits_has_no_faults() {
    let pieces = [
        "", " ", "1", "0,5 ", "-2 ", "7 8 9", "on", "yea", "axis-a", "key-a", "red", "|", "~", ";",
        "#1:2", "..", "é", "x.wav", "1e999",
    ];
    let dialect = quay();
    let root = dialect.element(dialect.root_context(&dialect.documents[0]));
    let (mut fitting, mut faulty, mut numbers, mut ends) = (0, 0, 0, 0);
    for at in (0..pieces.len().pow(3)).step_by(5) {
        let piece = |place: u32| pieces[at / pieces.len().pow(place) % pieces.len()];
        let value = [piece(0), piece(1), piece(2)].concat();
        for declared in &root.expect("a root").attributes {
            let value_type = &declared.value;
            let number = dialect.read_number(&value);
            if number.is_some_and(|number| dialect.number_fits(value_type, number)) {
                numbers += 1;
                assert!(dialect.fits(value_type, &value, None), "{value:?}");
            }
            let properties = Property::WORDS.iter().map(|(_, property)| Some(*property));
            for property in properties.chain([None]) {
                let told = format!("{} = {value:?}, {property:?}", declared.name);
                let fits = dialect.fits(value_type, &value, property);
                let faults = dialect.check_value(value_type, &value, property);
                assert_eq!(fits, faults.is_empty(), "{told}: {faults:?}");
                fitting += usize::from(fits);
                faulty += usize::from(!fits);
                if let Some(property) = property
                    && dialect.end_fits(value_type, property)
                    && dialect.read_end(value_type, &value, property).is_some()
                {
                    ends += 1;
                    assert!(fits, "{told}");
                }
            }
        }
    }
    assert!(fitting > 10_000 && faulty > 10_000, "{fitting} {faulty}");
    assert!(numbers > 20 && ends > 20, "{numbers} {ends}");
}

#[test]
fn free_text_is_never_wrong() {
    assert_eq!(faults("free", " anything <&> "), "");
    assert_eq!(faults("free", ""), "");
}

#[test]
fn booleans_have_their_own_words() {
    assert_eq!(faults("answer", "on"), "");
    assert_eq!(faults("answer", "0"), "");
    assert_eq!(
        faults("answer", "true"),
        "[true] expected `on`, `1`, `off` or `0`"
    );
    assert_eq!(faults("other-answer", "yea"), "");
    assert_eq!(faults("other-answer", "on"), "[on] expected `yea` or `nay`");
}

#[test]
fn numbers_have_bounds() {
    assert_eq!(faults("whole", "5"), "");
    assert_eq!(
        faults("whole", "6"),
        "[6] expected from 0 to 5, nearest Some(\"5\")"
    );
    assert_eq!(
        faults("whole", "1,5"),
        "[1,5] expected a whole number from 0 to 5"
    );
    assert_eq!(faults("share", "0,5"), "");
    assert_eq!(
        faults("share", "0"),
        "[0] expected above 0 and below 1, nearest None"
    );
    assert_eq!(
        faults("share", "0.5"),
        "[0.5] expected a number above 0 and below 1"
    );
    assert_eq!(
        faults("height", " x "),
        "[x] expected a number, in centimetres"
    );
}

#[test]
fn vectors_have_a_count() {
    assert_eq!(faults("place", "1 2,5 3"), "");
    assert_eq!(
        faults("place", "1 2"),
        "[1 2] expected 3 numbers at least -1, in centimetres"
    );
    assert_eq!(
        faults("place", "1 x -2"),
        "[x] expected 3 numbers at least -1, in centimetres; \
         [-2] expected at least -1, nearest Some(\"-1\")"
    );
    assert_eq!(faults("pair", "1,5; 2"), "");
    assert_eq!(
        faults("pair", "1 2"),
        "[1 2] expected 2 numbers separated by `;`"
    );
}

#[test]
fn lists_have_separators_and_counts() {
    assert_eq!(faults("times", "0 250"), "");
    assert_eq!(faults("times", "0"), "[0] expected 2 members, found 1");
    assert_eq!(
        faults("times", "0 a"),
        "[a] expected a number, in milliseconds"
    );
    assert_eq!(faults("colours", "red | blue"), "");
    // One mistake, not two: the mark between the members is another one.
    assert_eq!(
        faults("times", "0;250"),
        "[0;250] expected 2 members, found 1"
    );
    assert_eq!(faults("colours", "red|bleu"), "[bleu] meant Some(\"blue\")");
    assert_eq!(faults("colours", "red||blue"), "[] meant None");
    assert_eq!(
        faults("colours", " "),
        "[ ] expected at least 1 member separated by `|`, found 0"
    );
}

#[test]
fn names_and_positions() {
    assert_eq!(faults("name", "mast"), "");
    assert_eq!(faults("name", " "), "[ ] expected a name for this handle");
    assert_eq!(faults("reference", ""), "[] expected the name of a handle");
    assert_eq!(faults("position", "1"), "");
    assert_eq!(
        faults("position", "0"),
        "[0] expected the position of a handle, counted from 1"
    );
}

#[test]
fn nodes_are_names_or_paths() {
    assert_eq!(faults("node", "mast"), "");
    assert_eq!(faults("node", "#1:2.3"), "");
    assert_eq!(
        faults("node", "#1:2:3"),
        "[:] expected an index path such as `#1:3.2` (expected `.` here, as in `#1:3.2`)"
    );
    assert_eq!(faults("path", "#1"), "");
    assert!(faults("path", "mast").starts_with("[mast] expected an index path"));
}

#[test]
fn files_have_extensions() {
    assert_eq!(faults("sound", "a/b.ogg"), "");
    assert_eq!(faults("sound", "B.WAV"), "");
    assert_eq!(
        faults("sound", "b.mp3"),
        "[b.mp3] expected a file ending in `.ogg` or `.wav`"
    );
    assert_eq!(
        faults("sound", ""),
        "[] expected a file ending in `.ogg` or `.wav`"
    );
}

#[test]
fn inputs_are_known_and_of_the_right_kind() {
    assert_eq!(faults("input", "axis-a"), "");
    assert_eq!(faults("input", "key-b"), "");
    assert_eq!(faults("input", "axis-b"), "[axis-b] meant Some(\"axis-a\")");
    assert_eq!(faults("key", "key-a"), "");
    assert_eq!(faults("key", "axis-a"), "[axis-a] asks for Digital");
}

#[test]
fn moved_values_follow_the_property() {
    assert_eq!(faults_of("end", "1 2 3", Some(Property::Translation)), "");
    assert_eq!(faults_of("end", "on", Some(Property::Visibility)), "");
    assert_eq!(
        faults_of("end", "on", Some(Property::Rotation)),
        "[on] expected 3 numbers, in radians"
    );
    assert_eq!(
        faults_of("end", "1 2 3", Some(Property::Visibility)),
        "[1 2 3] expected `on`, `1`, `off` or `0`"
    );
    assert_eq!(
        faults_of("end", "1 1 x", Some(Property::Scale)),
        "[x] expected 3 factors"
    );
    assert_eq!(faults_of("end", "off", None), "");
}

/// The members of a value.
fn items(attribute: &str, value: &str, property: Option<Property>) -> Vec<String> {
    let dialect = quay();
    let items = dialect.items(&value_type(&dialect, attribute), value, property);
    items
        .into_iter()
        .map(|item| value[item].to_owned())
        .collect()
}

#[test]
fn a_list_of_vectors_is_split_by_count_where_the_separator_is_the_same() {
    let moved = Some(Property::Translation);
    assert_eq!(items("ends", "1 2 3  4 5 6", moved), ["1 2 3", "4 5 6"]);
    assert_eq!(items("ends", "1 2 3 4", moved), ["1 2 3", "4"]);
    assert_eq!(
        items("ends", "on off", Some(Property::Visibility)),
        ["on", "off"]
    );
    assert_eq!(
        items("split-ends", "1 2 3 ~ 4 5 6", moved),
        ["1 2 3", "4 5 6"]
    );
    assert_eq!(items("height", " 12 ", None), ["12"]);
    assert_eq!(items("free", " a ", None), [" a "]);
}

#[test]
fn quantities_come_in_base_units() {
    let dialect = quay();
    let read = |attribute, text, quantity| {
        dialect.read_quantity(&value_type(&dialect, attribute), text, quantity)
    };
    assert_eq!(read("height", "62,5", Some(Quantity::Length)), Some(0.625));
    assert_eq!(read("metres", "62,5", Some(Quantity::Length)), Some(62.5));
    assert_eq!(read("time", "1500", Some(Quantity::Time)), Some(1.5));
    assert_eq!(read("factor", "2", None), Some(2.0));
    assert_eq!(read("factor", "200", Some(Quantity::Length)), Some(2.0));
    assert_eq!(read("height", "62.5", Some(Quantity::Length)), None);
}

#[test]
fn ends_of_motions_read_and_write_in_the_dialects_units() {
    let dialect = quay();
    let end = value_type(&dialect, "end");
    let metre_end = value_type(&dialect, "metre-end");
    let read = |value_type, text, property| dialect.read_end(value_type, text, property);
    assert_eq!(
        read(&end, "130 0 -2,5", Property::Translation),
        Some(EndValue::Vector([1.3, 0.0, -0.025]))
    );
    assert_eq!(
        read(&metre_end, "1,3 0 0", Property::Translation),
        Some(EndValue::Vector([1.3, 0.0, 0.0]))
    );
    assert_eq!(
        read(&end, "off", Property::Visibility),
        Some(EndValue::Visible(false))
    );
    assert_eq!(read(&end, "1 2", Property::Translation), None);
    let Some(EndValue::Vector([quarter, ..])) =
        read(&end, "1,5707963267948966 0 0", Property::Rotation)
    else {
        panic!("no angles");
    };
    assert!((quarter - 90.0).abs() < 1e-12);

    let write = |value_type, value, property| dialect.write_end(value_type, value, property);
    let there = EndValue::Vector([1.3, 0.0, -0.025]);
    assert_eq!(
        write(&end, there, Property::Translation).as_deref(),
        Some("130 0 -2,5")
    );
    assert_eq!(
        write(&metre_end, there, Property::Translation).as_deref(),
        Some("1,3 0 -0,025")
    );
    let hidden = EndValue::Visible(false);
    assert_eq!(
        write(&end, hidden, Property::Visibility).as_deref(),
        Some("off")
    );
    assert_eq!(write(&end, hidden, Property::Translation), None);
}

#[test]
fn a_single_number_is_a_uniform_scale() {
    let dialect = quay();
    let factor = value_type(&dialect, "factor");
    let twice = EndValue::Vector([2.0; 3]);
    assert_eq!(dialect.read_end(&factor, "2", Property::Scale), Some(twice));
    assert_eq!(
        dialect
            .write_end(&factor, twice, Property::Scale)
            .as_deref(),
        Some("2")
    );
    let uneven = EndValue::Vector([2.0, 1.0, 1.0]);
    assert_eq!(dialect.write_end(&factor, uneven, Property::Scale), None);
    assert_eq!(dialect.read_end(&factor, "2", Property::Translation), None);
}

#[test]
fn descriptions_fit_into_a_sentence() {
    let dialect = quay();
    let describe = |attribute| dialect.describe(&value_type(&dialect, attribute));
    assert_eq!(describe("share"), "a number above 0 and below 1");
    assert_eq!(
        describe("node"),
        "the name of a handle or an index path such as `#1:3.2`"
    );
    assert_eq!(
        describe("colours"),
        "at least 1 of these, separated by `|`: `red` or `blue`"
    );
    assert_eq!(
        describe("times"),
        "2 of these, separated by blanks: a number, in milliseconds"
    );
    assert_eq!(
        describe("marked"),
        "any number of these, separated by `;`: the name of a handle, written `[…]`"
    );
    let row = value_type(&dialect, "row-end");
    let expected = |property| match &dialect.check_value(&row, "1 2 3", Some(property))[..] {
        [problem] => match &problem.fault {
            ValueFault::WrongType { expected } => expected.clone(),
            other => panic!("{other:?}"),
        },
        problems => panic!("{problems:?}"),
    };
    let length = expected(Property::Translation);
    assert_eq!(length, "3 numbers separated by `/`, in centimetres");
    assert_eq!(expected(Property::Scale), "3 factors separated by `/`");
}
