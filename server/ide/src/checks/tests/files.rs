use expect_test::expect;

use super::*;

#[test]
fn a_file_that_is_not_there() {
    check(
        r#"<sounds><sound id="a" file="horn.ogg"/></sounds>"#,
        expect![[r#"
        error file-missing at `horn.ogg`: There is no file `horn.ogg`.
    "#]],
    );
}

#[test]
fn a_file_with_a_wrong_ending_is_not_missing_as_well() {
    check(
        r#"<sounds><sound id="a" file="horn.mp3"/></sounds>"#,
        expect![[r#"
        error wrong-type at `horn.mp3`: `horn.mp3` does not fit here: `file` must be a file ending in `.ogg` or `.wav`.
    "#]],
    );
}
