//! The rule files that come with the tool: their texts, and what the build has read in them (`src/build.rs`).

use super::ast::FileSaid;

include!(concat!(env!("OUT_DIR"), "/shipped_rules.rs"));

/// What each of them says.
pub(crate) fn as_read() -> Vec<FileSaid> {
    let table = include_bytes!(concat!(env!("OUT_DIR"), "/shipped_rules.table"));
    postcard::from_bytes(table).expect("the build wrote the table with these very types")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::parse::parse;
    use crate::source::FileId;

    /// What the tool carries along is what its reader finds in the texts now.
    #[test]
    fn the_table_of_shipped_rules_is_not_stale() {
        let table = as_read();
        assert_eq!(table.len(), SHIPPED.len());
        for (at, ((path, text), read)) in SHIPPED.iter().zip(&table).enumerate() {
            let (said, problems) = parse(FileId(at as u32), text);
            assert!(problems.is_empty(), "{path}: {problems:?}");
            assert_eq!(format!("{said:?}"), format!("{read:?}"), "{path}");
        }
    }
}
