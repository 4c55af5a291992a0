//! The result of the self-test.

use std::fmt;

use serde::Serialize;

/// The state of an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum InputHealth {
    /// It works.
    Good,
    /// It may be right; a person should check it.
    Doubtful,
    /// It does not work.
    Failed,
}

/// One line of the report.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CheckFinding {
    /// Which input: "station", "card", "sound", "channel 0", "ptt", "mark", "gps", "dial", "sounder".
    pub input: String,
    /// The state of the input.
    pub health: InputHealth,
    /// What was measured or observed.
    pub seen: String,
    /// What to do about it; empty when there is nothing to do.
    pub advice: String,
}

impl CheckFinding {
    pub(super) fn good(input: &str, seen: String) -> Self {
        Self::new(input, InputHealth::Good, seen, "")
    }

    pub(super) fn doubtful(input: &str, seen: String, advice: &str) -> Self {
        Self::new(input, InputHealth::Doubtful, seen, advice)
    }

    pub(super) fn failed(input: &str, seen: String, advice: &str) -> Self {
        Self::new(input, InputHealth::Failed, seen, advice)
    }

    fn new(input: &str, health: InputHealth, seen: String, advice: &str) -> Self {
        Self {
            input: input.to_owned(),
            health,
            seen,
            advice: advice.to_owned(),
        }
    }
}

/// All findings, in the order in which the inputs are tested.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CheckReport {
    /// The findings.
    pub findings: Vec<CheckFinding>,
}

impl CheckReport {
    /// The worst of all findings.
    pub fn worst(&self) -> InputHealth {
        self.findings
            .iter()
            .map(|finding| finding.health)
            .max()
            .unwrap_or(InputHealth::Good)
    }
}

impl fmt::Display for CheckReport {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for finding in &self.findings {
            let word = match finding.health {
                InputHealth::Good => "good",
                InputHealth::Doubtful => "look",
                InputHealth::Failed => "FAIL",
            };
            // Further lines of a finding are indented below its first.
            let seen = finding.seen.replace('\n', "\n                  ");
            writeln!(f, "{word}  {:<11} {seen}", finding.input)?;
            if !finding.advice.is_empty() {
                writeln!(f, "                  -> {}", finding.advice)?;
            }
        }
        Ok(())
    }
}
