//! What the self-test found.

use std::fmt;

use serde::Serialize;

/// How an input is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Health {
    /// As it should be.
    Good,
    /// It may be right; a person should look.
    Doubtful,
    /// It does not work.
    Failed,
}

/// One line of the report.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// Which input: "station", "card", "sound", "channel 0", "ptt", "mark", "gps", "dial", "sounder".
    pub input: String,
    /// How it is.
    pub health: Health,
    /// What was heard or seen.
    pub seen: String,
    /// What to do about it; empty when there is nothing to do.
    pub advice: String,
}

impl Finding {
    pub(super) fn good(input: &str, seen: String) -> Self {
        Self::new(input, Health::Good, seen, "")
    }

    pub(super) fn doubtful(input: &str, seen: String, advice: &str) -> Self {
        Self::new(input, Health::Doubtful, seen, advice)
    }

    pub(super) fn failed(input: &str, seen: String, advice: &str) -> Self {
        Self::new(input, Health::Failed, seen, advice)
    }

    fn new(input: &str, health: Health, seen: String, advice: &str) -> Self {
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
pub struct Report {
    /// The findings.
    pub findings: Vec<Finding>,
}

impl Report {
    /// The worst of all findings.
    pub fn worst(&self) -> Health {
        self.findings
            .iter()
            .map(|finding| finding.health)
            .max()
            .unwrap_or(Health::Good)
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for finding in &self.findings {
            let word = match finding.health {
                Health::Good => "good",
                Health::Doubtful => "look",
                Health::Failed => "FAIL",
            };
            // Further lines of a finding stand below its first.
            let seen = finding.seen.replace('\n', "\n                  ");
            writeln!(f, "{word}  {:<11} {seen}", finding.input)?;
            if !finding.advice.is_empty() {
                writeln!(f, "                  -> {}", finding.advice)?;
            }
        }
        Ok(())
    }
}
