//! Where something was said while a drive is assembled.

use jumpseat_values::{Evidence, Span};

/// A stretch of one over, in seconds of trip time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct OverStretch {
    /// Index into [`crate::AssemblyInput::overs`].
    pub(crate) over: usize,
    pub(crate) start_s: f64,
    pub(crate) end_s: f64,
}

impl OverStretch {
    pub(crate) const fn new(over: usize, span: Span) -> Self {
        Self {
            over,
            start_s: span.start_s,
            end_s: span.end_s,
        }
    }

    pub(crate) const fn span(&self) -> Span {
        Span::new(self.start_s, self.end_s)
    }
}

impl From<OverStretch> for Evidence {
    fn from(stretch: OverStretch) -> Self {
        Self::in_over(stretch.over, stretch.span())
    }
}
