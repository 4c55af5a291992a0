//! The number of a trip when several recorders start at once.

use jumpseat_core::journal::BootId;
use jumpseat_recorder::config::RecorderConfig;
use jumpseat_recorder::engine::RecordingEngine;

use crate::support::WrappedDisk;

#[test]
fn a_start_that_finds_its_number_taken_takes_the_next() {
    let card = tempfile::tempdir().unwrap();
    let config = RecorderConfig::parse("card.board = \"3fa2c1\"").unwrap();
    let boot: BootId = "9f2c41d0".try_into().unwrap();
    let contended = Box::new(WrappedDisk::contended(3));
    let mut engine = RecordingEngine::start(contended, card.path(), &config, boot, 0).unwrap();
    assert_eq!((engine.number(), engine.take_doubts()), (4, Vec::new()));
}
