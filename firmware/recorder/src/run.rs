//! The daemon: starts the device threads, and feeds the engine with their messages until it
//! is asked to stop.

mod begin_trip;
mod card_upkeep;
mod daemon;
mod last_trip;
mod main_loop;
mod trip_changes;
mod vehicle;

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use crate::config::RecorderConfig;
use crate::error::RecorderError;
use crate::sound::SoundDevice;
use daemon::RecorderDaemon;

/// Records until `stop` is set. `notice` takes messages for the system's log. Recording
/// does not wait for any device; with `strict`, or when the config says so, a device that
/// fails at its first attempt ends it instead.
///
/// # Errors
/// [`RecorderError::Io`] when the card cannot be written,
/// [`RecorderError::Device`] for a device that failed and is not waited for. The trip
/// recorded until then is complete.
pub fn run(
    config: &RecorderConfig,
    device: Box<dyn SoundDevice>,
    strict: bool,
    stop: &Arc<AtomicBool>,
    notice: &mut dyn FnMut(&str),
) -> Result<PathBuf, RecorderError> {
    let mut daemon = RecorderDaemon::start(config, device, strict || !config.wait_for_devices)?;
    daemon.report_start(notice);
    let ended = daemon.serve(stop, notice);
    let dir = daemon.finish()?;
    ended.map(|()| dir)
}
