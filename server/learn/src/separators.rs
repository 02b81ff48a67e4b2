//! What stands between the members of a list.

use dialect::Separator;

/// The separator that a mark is; blanks around it do not matter, and blanks alone are any white space.
pub(crate) fn separator(mark: &str) -> Separator {
    match mark.trim() {
        "" => Separator::WhiteSpace,
        mark => Separator::Text(mark.to_owned()),
    }
}

/// The members of a value, or all of it if nothing separates. `" "` is any white space; around other marks white space does
/// not matter.
pub(crate) fn members<'v>(value: &'v str, mark: Option<&str>) -> Vec<&'v str> {
    match mark {
        None => vec![value],
        Some(" ") => value.split_whitespace().collect(),
        Some(mark) => value.split(mark).map(str::trim).collect(),
    }
}
