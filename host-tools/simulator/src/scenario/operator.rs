//! Who drives.

use crate::scenario::talk::spell;

/// The operator's first name.
pub(super) const OPERATOR_NAME: &str = "Martin";
/// The operator's call sign.
pub(super) const OWN_CALL: &str = "W7QTM";

/// The operator's call sign as he says it.
pub(super) fn own() -> String {
    spell(OWN_CALL)
}
