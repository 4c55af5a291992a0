//! Begins a trip on the board's card.

use std::sync::mpsc::Sender;

use jumpseat_core::journal::{BootId, RecorderFault};

use super::last_trip::LastTripFile;
use crate::config::RecorderConfig;
use crate::device_message::DeviceMessage;
use crate::engine::RecordingEngine;
use crate::error::RecorderError;
use crate::monotonic;
use crate::storage::{DiskStorage, SyncDurability};

/// Creates the folder of the next trip and records which inputs are not configured.
pub(super) fn begin_trip(
    config: &RecorderConfig,
    boot: &BootId,
    arrivals: &Sender<DeviceMessage>,
) -> Result<RecordingEngine, RecorderError> {
    let storage = Box::new(DiskStorage::new(SyncDurability::Synced));
    let now_ns = monotonic::now_ns();
    let last_trip = LastTripFile::at(&config.card.last_trip);
    let mut doubts = Vec::new();
    let last = last_trip.read(&mut doubts);
    let card = &config.card.dir;
    let mut engine =
        RecordingEngine::start_after(storage, card, config, boot.clone(), now_ns, last)?;
    last_trip.write_in_background(engine.number(), arrivals.clone());
    doubts.extend(engine.take_doubts());
    for detail in doubts {
        let notice = DeviceMessage::Notice {
            fault: RecorderFault::Storage,
            detail,
            at_ns: now_ns,
        };
        // The caller holds the receiver.
        let _sent = arrivals.send(notice);
    }
    if config.dial.rigctld.is_none() {
        engine.fault(RecorderFault::Dial, "no rig control is configured", now_ns);
    }
    if !config.gps.is_some() {
        engine.fault(RecorderFault::Gps, "no receiver is configured", now_ns);
    }
    Ok(engine)
}
