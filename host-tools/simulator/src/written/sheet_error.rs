//! What is wrong with a file of conversations.

use std::path::PathBuf;

/// Why a file of conversations cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum SheetError {
    /// The file cannot be read.
    #[error("cannot read {}: {source}; look at the path and its permissions", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A line does not keep the format.
    #[error("{} line {line}: {fault}; tests/conversations/FORMAT.md says what may stand there", path.display())]
    Line {
        /// Which file.
        path: PathBuf,
        /// From 1; for a conversation as a whole, the line of its title.
        line: usize,
        /// What is wrong.
        fault: SheetFault,
    },
}

/// What is wrong with a line. Nothing of the line is quoted but single words of the format:
/// a report on the judge's part must not show what its hands wrote.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SheetFault {
    /// Before the first title.
    #[error("this line stands before the first '# title'")]
    BeforeTitle,
    /// Neither a turn nor a header line nor a direction.
    #[error("this is no turn, no header line and no stage direction")]
    NotUnderstood,
    /// A header line is missing.
    #[error("the conversation has no line '{0}:'")]
    Missing(&'static str),
    /// A header line has a value that it cannot have.
    #[error("'{0}:' has a value that it cannot have")]
    Value(&'static str),
    /// A word that is not in the table of kinds.
    #[error("there is no kind '{0}'")]
    Kind(String),
    /// A word of a station's line.
    #[error("a station's line has a word that it cannot have")]
    StationWord,
    /// A station's line without a country, or with one that has no prefixes here.
    #[error("a station's line needs a country that is in the table of prefixes, not '{0}'")]
    Country(String),
    /// Somebody speaks, or is spoken of, who has no line in the header.
    #[error("'{0}' has no line in the header")]
    Unknown(String),
    /// A slot that does not exist.
    #[error("there is no such slot: the part in braces with {0} characters")]
    Slot(usize),
    /// A stage direction that does not exist.
    #[error("there is no such stage direction")]
    Direction,
    /// A bracket or a brace without its other half.
    #[error("a bracket or a brace has no other half")]
    Bracket,
    /// Figures among the words.
    #[error("figures stand among the words: numbers are written as they are said")]
    Figure,
    /// A turn without words.
    #[error("nothing is said in this turn")]
    Empty,
}
