//! How a command ended.

use std::process::ExitCode;

use crate::print;

/// A command that did what was asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CommandOutcome {
    /// Nothing is left to do about it.
    Done,
    /// There are doubts that need a person.
    Doubts,
}

impl CommandOutcome {
    /// Done, unless there are doubts.
    pub(crate) fn doubtful(doubts: bool) -> Self {
        if doubts { Self::Doubts } else { Self::Done }
    }
}

/// The command was used wrongly: what was given can never work.
#[derive(Debug, thiserror::Error)]
#[error("{0}")]
pub(crate) struct UsageError(pub(crate) String);

/// The exit code: 0 done, 1 failed, 2 used wrongly, 3 done with doubts. The last
/// also when the command line itself cannot be read (clap exits with 2).
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

/// What went wrong and why, each thing once: some errors tell their cause themselves.
pub(crate) fn error_message(error: &anyhow::Error) -> String {
    let mut said = String::new();
    for cause in error.chain().map(ToString::to_string) {
        // SQLite tells a thing again with its number, which says nothing more.
        let (words, _) = cause.split_once(": Error code ").unwrap_or((&cause, ""));
        if !said.contains(words) {
            let between = if said.is_empty() { "" } else { ": " };
            said.push_str(between);
            said.push_str(&cause);
        }
    }
    said
}

/// The reader of our output went away (`jumpseat log | head`): not our failure.
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
    fn nothing_is_said_twice() {
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
