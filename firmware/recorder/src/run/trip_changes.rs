//! Begins and ends trips with the ignition and the supply, and ends the last one with the
//! process.

use jumpseat_core::journal::ShutdownReason;
use jumpseat_core::power::PowerAction;

use super::begin_trip::begin_trip;
use super::daemon::RecorderDaemon;
use crate::error::RecorderError;

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
