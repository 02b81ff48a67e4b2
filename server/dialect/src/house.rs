//! The dialect that is built in.

use std::sync::{Arc, OnceLock};

use crate::model::Dialect;

/// The text of the house dialect: an example to start a dialect from.
pub(crate) const HOUSE: &str = include_str!("house.dialect.toml");

pub(crate) fn house() -> Arc<Dialect> {
    static DIALECT: OnceLock<Arc<Dialect>> = OnceLock::new();
    let dialect = DIALECT.get_or_init(|| {
        // The file is part of the program; the tests read it.
        Arc::new(Dialect::read(HOUSE, None).unwrap_or_default())
    });
    Arc::clone(dialect)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_house_dialect_reads_without_problems() {
        if let Err(problems) = Dialect::read(HOUSE, None) {
            let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
            panic!("{}", lines.join("\n"));
        }
        assert_eq!(house().name, "house");
    }
}
