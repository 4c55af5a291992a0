//! Any bytes as a kept.json: it names nothing outside the trip's sound, and what is read is
//! written and read back the same.
#![no_main]

use std::path::{Component, Path};

use jumpseat_trip::RetentionManifest;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(kept) = RetentionManifest::parse(bytes) else {
        return;
    };
    for file in &kept.files {
        for name in [Some(&file.path), file.now.as_ref()].into_iter().flatten() {
            let mut parts = Path::new(name).components();
            assert_eq!(
                parts.next(),
                Some(Component::Normal("audio".as_ref())),
                "{name}"
            );
            assert!(matches!(parts.next(), Some(Component::Normal(_))), "{name}");
            assert_eq!(parts.next(), None, "{name}");
        }
    }
    let again = serde_json::to_vec(&kept).expect("a list in memory");
    assert_eq!(
        RetentionManifest::parse(&again).expect("our own kept.json"),
        kept
    );
});
