//! Receipts as the home computer writes them, for tests of the board that reads them.

use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};

/// A file of a receipt: its path from the trip's folder, length and checksum.
pub fn receipt_file(path: &str, content: &[u8]) -> Value {
    let sum: String = Sha256::digest(content)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    json!({"path": path, "bytes": content.len(), "sha256": sum})
}

/// The text of the receipt of a trip.
pub fn receipt_text(trip: &str, files: &[Value]) -> String {
    json!({"format": 1, "trip": trip, "files": files}).to_string()
}
