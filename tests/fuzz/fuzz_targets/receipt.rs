//! Any bytes as the receipt of a trip on a full card: the trip is removed only if the receipt
//! lists both of its files with their true lengths and checksums. `@1` and `@2` stand for
//! these checksums, which no mutation would find.
#![no_main]

use std::io::Write as _;
use std::path::Path;

use jumpseat_memory_card::MemoryCard;
use jumpseat_recorder::card_layout::RECEIPTS_FOLDER;
use jumpseat_recorder::card_space::{free_space, remove_stray_receipts};
use jumpseat_recorder::storage::CardStorage;
use libfuzzer_sys::fuzz_target;
use serde_json::Value;
use sha2::{Digest as _, Sha256};

const TRIP: &str = "trip-000001-3fa2c1";
const FILES: [(&str, &[u8]); 2] = [("trip.json", b"{}"), ("audio/000001-rx.wav", b"some sound")];

fn sum(content: &[u8]) -> String {
    Sha256::digest(content)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

fn put(card: &mut MemoryCard, path: &Path, content: &[u8]) {
    let mut file = card.create(path).expect("a card without end");
    file.write_all(content).expect("a card without end");
    file.sync().expect("a card without end");
}

/// Whether the receipt is true, found by other means than the board's own.
fn is_true(receipt: &[u8]) -> bool {
    let Ok(receipt) = serde_json::from_slice::<Value>(receipt) else {
        return false;
    };
    let listed = receipt["files"].as_array().map_or(&[][..], Vec::as_slice);
    FILES.iter().all(|(path, content)| {
        listed.iter().any(|file| {
            file["path"] == *path
                && file["bytes"] == content.len()
                && file["sha256"] == sum(content).as_str()
        })
    })
}

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    let text = text
        .replace("@1", &sum(FILES[0].1))
        .replace("@2", &sum(FILES[1].1));
    for receipt in [bytes, text.as_bytes()] {
        let mut card = MemoryCard::new();
        let root = Path::new("card");
        for folder in [
            "card",
            &format!("card/{TRIP}"),
            &format!("card/{TRIP}/audio"),
            "card/receipts",
        ] {
            card.make_dir(Path::new(folder))
                .expect("a card without end");
        }
        for (path, content) in FILES {
            put(&mut card, &root.join(TRIP).join(path), content);
        }
        put(
            &mut card,
            &root.join(RECEIPTS_FOLDER).join(format!("{TRIP}.json")),
            receipt,
        );
        card.set_capacity(1);
        // A failure here is reported, and is not what this target tests.
        let _ = remove_stray_receipts(&mut card, root);
        let gone = free_space(&mut card, root, u64::MAX, "trip-000002-3fa2c1").unwrap_or_default();
        assert!(
            gone.is_empty() || is_true(receipt),
            "it went for {:?}",
            String::from_utf8_lossy(receipt)
        );
    }
});
