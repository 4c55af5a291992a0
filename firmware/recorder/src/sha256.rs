//! SHA-256 digests as the journal and the receipts write them.

use core::fmt::Write as _;

use jumpseat_core::journal::Sha256Hex;
use sha2::{Digest as _, Sha256};

/// The digest in lower-case hexadecimal digits.
pub(crate) fn hex(digest: Sha256) -> Sha256Hex {
    let mut text = Sha256Hex::new();
    for byte in digest.finalize() {
        // It fits: 32 bytes are 64 digits.
        let _fits = write!(text, "{byte:02x}");
    }
    text
}
