//! How a command ends: its exit code and its error message.

use std::process::ExitCode;

use crate::print;

/// The result of a command that did what was asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CommandOutcome {
    /// Nothing is left to do.
    Done,
    /// There are doubts for a person to look at.
    Doubts,
}

impl CommandOutcome {
    /// `Doubts` if there are any, else `Done`.
    pub(crate) fn doubtful(doubts: bool) -> Self {
        if doubts { Self::Doubts } else { Self::Done }
    }
}

/// Wrong usage: these arguments can never work.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub(crate) struct UsageError(pub(crate) String);

/// Prints an error and returns the exit code: 0 done, 1 failed, 2 wrong usage, 3 done with
/// doubts. When the command line itself cannot be read, clap exits with 2 before.
pub(crate) fn exit(outcome: anyhow::Result<CommandOutcome>) -> ExitCode {
    match outcome {
        Ok(CommandOutcome::Done) => ExitCode::SUCCESS,
        Ok(CommandOutcome::Doubts) => ExitCode::from(3),
        Err(error) => {
            if is_broken_pipe(&error) {
                return ExitCode::SUCCESS;
            }
            print::aside(&format!("jumpseat: {}", error_message(&error)));
            ExitCode::from(if error.is::<UsageError>() { 2 } else { 1 })
        }
    }
}

/// An error with its causes in one line. A cause that is in the text already is not repeated.
pub(crate) fn error_message(error: &anyhow::Error) -> String {
    let mut said = String::new();
    for cause in error.chain().map(ToString::to_string) {
        // SQLite repeats a message with its number, which adds nothing.
        let (words, _) = cause.split_once(": Error code ").unwrap_or((&cause, ""));
        if !said.contains(words) {
            let between = if said.is_empty() { "" } else { ": " };
            said.push_str(between);
            said.push_str(&cause);
        }
    }
    said
}

/// Whether the reader of our output went away (`jumpseat log | head`), which is not a failure.
fn is_broken_pipe(error: &anyhow::Error) -> bool {
    error
        .downcast_ref::<std::io::Error>()
        .is_some_and(|error| error.kind() == std::io::ErrorKind::BrokenPipe)
}

#[cfg(test)]
mod tests {
    use anyhow::anyhow;

    use super::error_message;

    #[track_caller]
    fn check(causes: &[&'static str], expected: &str) {
        let mut rest = causes.iter().rev();
        let first = rest.next().copied().unwrap_or_default();
        let error = rest.fold(anyhow!(first), |error, cause| error.context(*cause));
        assert_eq!(error_message(&error), expected);
    }

    #[test]
    fn nothing_is_repeated() {
        check(&["no room"], "no room");
        check(
            &["cannot write a.adi", "no room"],
            "cannot write a.adi: no room",
        );
        check(
            &[
                "cannot open it: read-only",
                "read-only: Error code 1544: IT",
            ],
            "cannot open it: read-only",
        );
        check(
            &["could not write a.adi: no room. Make some", "no room"],
            "could not write a.adi: no room. Make some",
        );
    }
}
