//! First names of many countries, and how common each is: `model/first_names.tsv`.

use std::sync::LazyLock;

/// Columns: letters a to z, the name as it is written, and its class.
const TABLE: &str = include_str!("../model/first_names.tsv");

/// A first name.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct FirstName {
    /// As it is spoken: a to z.
    pub(crate) letters: &'static str,
    /// As it is written.
    pub(crate) written: &'static str,
    /// One more is half as common; 0 for the commonest.
    pub(crate) class: u8,
    /// As pieces spell it: with the space before it, '_'.
    pub(crate) spelled: String,
}

static NAMES: LazyLock<Vec<FirstName>> = LazyLock::new(|| {
    let mut names: Vec<FirstName> = TABLE.lines().filter_map(name).collect();
    names.sort_by_key(|name| name.letters);
    names
});

/// The name in a row of the table.
fn name(row: &'static str) -> Option<FirstName> {
    let mut columns = row.split('\t');
    let letters = columns.next()?;
    Some(FirstName {
        letters,
        written: columns.next()?,
        class: columns.next()?.parse().ok()?,
        spelled: format!("_{letters}"),
    })
}

/// All of them, by their letters.
pub(crate) fn first_names() -> &'static [FirstName] {
    &NAMES
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_a_name_and_none_stands_twice() {
        let rows = TABLE.lines().filter(|row| !row.starts_with('#')).count();
        assert_eq!(first_names().len(), rows);
        let names = first_names();
        assert!(
            names
                .windows(2)
                .all(|pair| pair[0].letters < pair[1].letters)
        );
        for name in names {
            let fair = |letter: char| letter.is_ascii_lowercase();
            assert!(
                name.letters.chars().all(fair) && name.class < 16,
                "{name:?}"
            );
        }
    }
}
