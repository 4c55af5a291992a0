//! What a field of a draft is worth.

use serde::Serialize;

use super::draft::ScoredField;

/// What a field is worth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FieldVerdict {
    /// As it was.
    Right,
    /// Not first, but among the alternatives.
    Alternative,
    /// Something else, and the truth is not among the alternatives.
    Wrong,
    /// Left empty.
    Blank,
}

impl FieldVerdict {
    pub(super) fn compare<T: PartialEq>(field: &ScoredField<T>, truth: &T) -> Self {
        match &field.value {
            Some(value) if value == truth => Self::Right,
            _ if field.alternatives.iter().any(|other| other.value == *truth) => Self::Alternative,
            Some(_) => Self::Wrong,
            None => Self::Blank,
        }
    }

    /// The same where the truth has several values, apart by "|", of which each is right.
    pub(super) fn compare_any(field: &ScoredField<String>, truth: &str) -> Self {
        let verdict = |truth: &str| Self::compare(field, &truth.to_owned());
        let all: Vec<Self> = truth.split('|').map(verdict).collect();
        let has = |wanted: &Self| all.contains(wanted);
        [Self::Right, Self::Alternative]
            .into_iter()
            .find(|wanted| has(wanted))
            .or(all.first().copied())
            .unwrap_or(Self::Blank)
    }

    /// A value that was not there to be found is right when blank.
    pub(super) fn compare_optional(field: &ScoredField<String>, truth: Option<&String>) -> Self {
        match (truth, &field.value) {
            (Some(truth), _) => Self::compare_any(field, truth),
            (None, None) => Self::Right,
            (None, Some(_)) => Self::Wrong,
        }
    }
}
