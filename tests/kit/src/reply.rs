//! What a command printed and how it ended, and what tests demand of it.

use std::process::Command;

use serde_json::Value;

/// What a command printed and how it ended.
///
/// A command that could not be started has no code, and the reason as its error.
#[derive(Debug, Clone)]
pub struct CommandReply {
    /// The command line.
    pub line: String,
    /// The exit code; none when a signal ended it.
    pub code: Option<i32>,
    /// What it printed to the standard output.
    pub out: String,
    /// What it printed to the standard error.
    pub error: String,
}

impl CommandReply {
    /// Runs a command to its end.
    pub fn of(command: &mut Command) -> Self {
        let words = std::iter::once(command.get_program()).chain(command.get_args());
        let words: Vec<_> = words.map(|word| word.to_string_lossy()).collect();
        let line = words.join(" ");
        match crate::run(command) {
            Ok(output) => Self {
                line,
                code: output.status.code(),
                out: String::from_utf8_lossy(&output.stdout).into_owned(),
                error: String::from_utf8_lossy(&output.stderr).into_owned(),
            },
            Err(reason) => Self {
                line,
                code: None,
                out: String::new(),
                error: reason.to_string(),
            },
        }
    }

    /// Both streams, one after the other.
    pub fn printed(&self) -> String {
        format!("{}{}", self.out, self.error)
    }

    /// Demands this exit code, and no panic.
    #[track_caller]
    pub fn ended(&self, code: i32) -> &Self {
        let said = format!("{}\n{}", self.line, self.printed());
        assert_eq!(self.code, Some(code), "{said}");
        assert!(!said.contains("panicked"), "{said}");
        self
    }

    /// Demands this exit code of the home tool, which prints something to the standard
    /// error exactly when it fails.
    #[track_caller]
    pub fn code(&self, code: i32) -> &Self {
        self.ended(code);
        let said = format!("{}\n{}", self.line, self.printed());
        assert_eq!(self.error.is_empty(), matches!(code, 0 | 3), "{said}");
        self
    }

    /// Demands that the command did its work: code 0, or 3 for doubts.
    #[track_caller]
    pub fn done(&self) -> &Self {
        self.ended(if self.code == Some(3) { 3 } else { 0 })
    }

    /// Demands that each of these was printed, wherever lines were broken.
    #[track_caller]
    pub fn says(&self, parts: &[&str]) -> &Self {
        let said = self.printed();
        let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in parts {
            assert!(
                flat.contains(part) || said.contains(part),
                "no {part:?} in what {} printed:\n{said}",
                self.line
            );
        }
        self
    }

    /// What it printed, read as JSON.
    #[track_caller]
    pub fn json(&self) -> Value {
        let read = serde_json::from_str(&self.out);
        assert!(
            read.is_ok(),
            "{} printed no JSON:\n{}",
            self.line,
            self.printed()
        );
        read.unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shell(script: &str) -> CommandReply {
        CommandReply::of(Command::new("sh").args(["-c", script]))
    }

    #[test]
    fn a_reply_holds_both_streams_and_the_code() {
        let reply = shell("echo out; echo error >&2; exit 1");
        reply.code(1).says(&["out", "error"]);
        assert_eq!(
            (reply.out.as_str(), reply.error.as_str()),
            ("out\n", "error\n")
        );
    }

    #[test]
    fn words_are_found_across_line_breaks() {
        shell("printf 'one\\ntwo'; exit 3")
            .done()
            .says(&["one two"]);
    }

    #[test]
    fn a_program_that_is_missing_is_named_and_is_no_success() {
        let reply = CommandReply::of(&mut Command::new("no-such-program"));
        assert_eq!(reply.code, None);
        assert!(reply.error.contains("no-such-program"), "{}", reply.error);
    }

    #[test]
    #[should_panic(expected = "panicked")]
    fn a_panic_is_never_right() {
        shell("echo thread panicked; exit 1").ended(1);
    }

    #[test]
    #[should_panic(expected = "left: false")]
    fn a_home_tool_that_fails_without_a_word_is_wrong() {
        shell("echo fine >&2").code(0);
    }
}
