//! The outcome of listening to a receiver.

use crate::error::RecorderError;

/// How listening ended.
pub(super) struct ListenOutcome {
    /// Something was understood before it ended.
    pub(super) heard: bool,
    /// Why it ended.
    pub(super) error: RecorderError,
}
