//! The receipt that a pull leaves, before the board's own check.

use std::fs;

use jumpseat_recorder::card_space::free_space;
use jumpseat_recorder::storage::{DiskStorage, SyncDurability};

use crate::card;
use crate::server::Server;

#[test]
fn the_board_believes_the_receipt_of_what_is_the_same_and_no_other() {
    let server = Server::start();
    let card = server.card();
    for number in 1..=3 {
        card::trip(&card, number, &[50_000, 70_001]);
    }
    let output = server.pull(server.port, &server.at("home"));
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{said}");
    assert!(card.join("pull-lease").exists());

    // One byte of the second trip is another now; the third is being recorded.
    let changed = card.join("trip-000002-3fa2c1/audio/000001-rx.wav");
    let mut bytes = fs::read(&changed).unwrap();
    bytes[1000] ^= 1;
    fs::write(&changed, bytes).unwrap();
    let gone = free_space(
        &mut DiskStorage::new(SyncDurability::Synced),
        &card,
        u64::MAX,
        "trip-000003-3fa2c1",
    )
    .unwrap();
    assert_eq!(gone, ["trip-000001-3fa2c1"]);
    assert!(changed.exists());
}
