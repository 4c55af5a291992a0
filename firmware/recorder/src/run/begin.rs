//! A trip begins: with the process, and with the ignition.

use jumpseat_core::journal::{BootId, Fault};

use crate::config::Config;
use crate::engine::Engine;
use crate::error::RecorderError;
use crate::mono;
use crate::storage::{Disk, Durability};

/// Makes the folder of the next trip and writes into its journal what is missing.
pub(super) fn begin_trip(config: &Config, boot: &BootId) -> Result<Engine, RecorderError> {
    let storage = Box::new(Disk::new(Durability::Synced));
    let now_ns = mono::now_ns();
    let mut engine = Engine::start(storage, &config.card.dir, config, boot.clone(), now_ns)?;
    if config.dial.rigctld.is_none() {
        engine.fault(Fault::Dial, "no rig control is configured", now_ns);
    }
    if !config.gps.is_some() {
        engine.fault(Fault::Gps, "no receiver is configured", now_ns);
    }
    Ok(engine)
}
