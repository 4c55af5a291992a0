//! What our commands said and how they ended.

use std::path::Path;
use std::process::{Command, Output};

use jumpseat_tests::tools;

/// What a command of ours said and how it ended.
pub(crate) struct CommandReply {
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) error: String,
}

pub(crate) fn run(program: &str, arguments: &[&str]) -> CommandReply {
    said(&tools::run(Command::new(tools::built(program).unwrap()).args(arguments)).unwrap())
}

pub(crate) fn said(output: &Output) -> CommandReply {
    CommandReply {
        code: output.status.code(),
        out: String::from_utf8_lossy(&output.stdout).into_owned(),
        error: String::from_utf8_lossy(&output.stderr).into_owned(),
    }
}

impl CommandReply {
    /// It ended with this code, and its words (both streams) hold all of these.
    #[track_caller]
    pub(crate) fn assert_says(&self, code: i32, words: &[&str]) {
        let all = format!("{}{}", self.out, self.error);
        assert_eq!(self.code, Some(code), "{all}");
        for word in words {
            assert!(all.contains(word), "no {word:?} in:\n{all}");
        }
        assert!(!all.contains("panicked"), "{all}");
    }
}

pub(crate) fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}
