//! A remark on a call sign.

use serde::Serialize;

/// What can be said of a call sign, in a line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(crate) struct CallSignRemark {
    /// "good", "known", "doubt" or "wrong".
    pub(crate) kind: &'static str,
    pub(crate) text: String,
}

impl CallSignRemark {
    pub(crate) fn new(kind: &'static str, text: impl Into<String>) -> Self {
        let text = text.into();
        Self { kind, text }
    }
}
