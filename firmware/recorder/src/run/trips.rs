//! Begins and ends trips, with the process and with the ignition.

use std::sync::mpsc::Sender;

use jumpseat_core::journal::{BootId, RecorderFault, ShutdownReason};
use jumpseat_core::power::PowerAction;

use super::RecorderDaemon;
use super::last_trip::LastTripFile;
use crate::config::RecorderConfig;
use crate::device_message::DeviceMessage;
use crate::engine::RecordingEngine;
use crate::error::RecorderError;
use crate::monotonic;
use crate::storage::{DiskStorage, SyncDurability};

impl RecorderDaemon {
    /// Begins or ends a trip at `at_ns`, up to which the lines are known. Later sound is
    /// left out of the trip that ends, because its key edges may not have arrived yet.
    pub(super) fn act(
        &mut self,
        action: PowerAction,
        at_ns: u64,
        notice: &mut dyn FnMut(&str),
    ) -> Result<(), RecorderError> {
        match action {
            PowerAction::BeginTrip => {
                self.intake.discard(at_ns);
                let engine = begin_trip(&self.config, &self.boot, &self.arrivals)?;
                self.dir = engine.dir();
                self.engine = Some(engine);
                notice(&format!(
                    "ignition on: recording into {}",
                    self.dir.display()
                ));
                // The new trip starts without a dial reading.
                self.dial.read_now();
            }
            PowerAction::CloseTrip => {
                self.close_and_tell(ShutdownReason::Ignition, at_ns, notice);
                notice(&format!("ignition off: {} is closed", self.dir.display()));
            }
            PowerAction::CloseAndPowerDown => {
                self.close_and_tell(ShutdownReason::LowSupply, at_ns, notice);
                notice(&format!(
                    "the supply is failing: {} is closed",
                    self.dir.display()
                ));
                notice(&self.vehicle.power_down());
            }
            PowerAction::PowerDown => notice(&self.vehicle.power_down()),
        }
        Ok(())
    }

    /// Writes what has arrived by `at_ns` and completes the trip, if one is under way.
    pub(super) fn close(
        &mut self,
        reason: ShutdownReason,
        at_ns: u64,
    ) -> Result<(), RecorderError> {
        let Some(mut engine) = self.engine.take() else {
            return Ok(());
        };
        engine.settle_lines(at_ns);
        let drained = self.intake.finish(&mut engine, at_ns);
        engine.finish(reason, at_ns)?;
        drained
    }

    /// Closes the trip and reports an error without ending the process.
    fn close_and_tell(&mut self, reason: ShutdownReason, at_ns: u64, notice: &mut dyn FnMut(&str)) {
        if let Err(error) = self.close(reason, at_ns) {
            notice(&error.to_string());
        }
    }
}

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
    last_trip.keep(engine.number(), arrivals.clone());
    doubts.extend(engine.take_doubts());
    for detail in doubts {
        let told = DeviceMessage::Notice {
            fault: RecorderFault::Storage,
            detail,
            at_ns: now_ns,
        };
        // The caller holds the receiver.
        let _heard = arrivals.send(told);
    }
    if config.dial.rigctld.is_none() {
        engine.fault(RecorderFault::Dial, "no rig control is configured", now_ns);
    }
    if !config.gps.is_some() {
        engine.fault(RecorderFault::Gps, "no receiver is configured", now_ns);
    }
    Ok(engine)
}
