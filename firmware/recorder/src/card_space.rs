//! Frees space on a card that is nearly full: removes the oldest trips whose copy the home
//! computer confirmed, and never anything else.
//!
//! The home computer leaves a receipt, `receipts/TRIP.json`, with the hash of every file
//! that it copied. The board accepts it only after hashing its own files: each of them must
//! be in the receipt with its length and its hash.
//!
//! Whoever holds the key of the pull account can write anything there. So a receipt is read
//! up to a limit and only for a trip that is on the card, only ordinary files are read, no
//! link is followed, and files that belong to no trip are removed.

mod receipt;
mod removal;
mod stray_receipts;

pub use removal::free_space;
pub use stray_receipts::remove_stray_receipts;
