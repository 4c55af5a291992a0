//! A value that comes from judgement, with what speaks for and against it.

use serde::{Deserialize, Serialize};

use crate::{Doubt, Evidence};

/// Another value that it may be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Alternative<T> {
    /// The value.
    pub value: T,
    /// How likely, 0 to 1.
    pub probability: f64,
}

/// A value, how sure it is, what else it may be, where it comes from, and why it may be
/// wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Estimate<T> {
    /// The best value; `None` when nothing can be said.
    pub value: Option<T>,
    /// How likely the value is, 0 to 1; `None` when no model stated it.
    pub probability: Option<f64>,
    /// Other values, likeliest first.
    #[serde(default = "Vec::new")]
    pub alternatives: Vec<Alternative<T>>,
    /// Of a measured value: the truth lies within this on either side, in seconds of a
    /// time and in metres of a position. Only those of times are stored.
    #[serde(
        default,
        rename = "uncertainty_s",
        skip_serializing_if = "Option::is_none"
    )]
    pub uncertainty: Option<f64>,
    /// Why it may be wrong, or why there is none.
    #[serde(default)]
    pub doubts: Vec<Doubt>,
    /// Where it comes from.
    #[serde(default)]
    pub evidence: Vec<Evidence>,
}

impl<T> Estimate<T> {
    /// A value, or none, with its doubts.
    pub const fn new(value: Option<T>, doubts: Vec<Doubt>) -> Self {
        Self {
            value,
            probability: None,
            alternatives: Vec::new(),
            uncertainty: None,
            doubts,
            evidence: Vec::new(),
        }
    }

    /// A value that follows from what was recorded.
    pub fn known(value: T, evidence: Vec<Evidence>) -> Self {
        Self {
            evidence,
            ..Self::new(Some(value), Vec::new())
        }
    }

    /// Nothing can be said, for this reason.
    pub fn unknown(doubt: impl Into<Doubt>) -> Self {
        Self::new(None, vec![doubt.into()])
    }

    /// The same with one more doubt.
    #[must_use]
    pub fn doubting(mut self, doubt: impl Into<Doubt>) -> Self {
        self.doubts.push(doubt.into());
        self
    }

    /// There is a value, and nothing speaks against it.
    pub fn is_undoubted(&self) -> bool {
        self.value.is_some() && self.doubts.is_empty()
    }
}

impl<T> Default for Estimate<T> {
    fn default() -> Self {
        Self::new(None, Vec::new())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{DraftDoubt, TimeDoubt};

    #[track_caller]
    fn check(estimate: &Estimate<u64>, json: &str) {
        assert_eq!(serde_json::to_string(estimate).unwrap(), json);
        assert_eq!(
            serde_json::from_str::<Estimate<u64>>(json).unwrap(),
            *estimate
        );
    }

    #[test]
    fn the_stored_form_has_the_keys_of_older_logbooks() {
        check(
            &Estimate::unknown(DraftDoubt::NotHeard),
            r#"{"value":null,"probability":null,"alternatives":[],"doubts":["not heard yet"],"evidence":[]}"#,
        );
        let full = Estimate {
            value: Some(3),
            probability: Some(0.75),
            alternatives: vec![Alternative {
                value: 4,
                probability: 0.25,
            }],
            uncertainty: Some(0.5),
            doubts: vec![TimeDoubt::NoClockPair.into(), Doubt::Other("moved".into())],
            evidence: vec![Evidence {
                over: None,
                segment: Some(7),
                start_s: 1.5,
                end_s: 2.0,
            }],
        };
        check(
            &full,
            r#"{"value":3,"probability":0.75,"alternatives":[{"value":4,"probability":0.25}],"uncertainty_s":0.5,"doubts":["the journal has no clock pair: samples are put in time by guess","moved"],"evidence":[{"segment":7,"start_s":1.5,"end_s":2.0}]}"#,
        );
    }

    #[test]
    fn what_older_programs_left_out_is_empty() {
        let json = r#"{"value":3,"probability":null}"#;
        let read: Estimate<u64> = serde_json::from_str(json).unwrap();
        assert_eq!(read, Estimate::known(3, Vec::new()));
    }
}
