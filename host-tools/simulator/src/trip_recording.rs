//! Runs a script through the recorder's own core into a trip folder.

use std::path::Path;

use jumpseat_recorder::config::RecorderConfig;
use jumpseat_recorder::error::RecorderError;
use jumpseat_recorder::simulate::{self, SimulatedTrip, SimulationScript};

use crate::scenario::OperatorStation;

/// The board's id in every simulated trip.
pub const SIMULATED_BOARD: &str = "3fa2c1";

/// Records the script in `script` as a new trip on `card`, as fast as possible.
pub fn record(
    script: &Path,
    station: &OperatorStation,
    card: &Path,
) -> Result<SimulatedTrip, RecorderError> {
    let text = format!(
        "[station]\ncall = \"{}\"\noperator = \"{}\"\n[card]\nboard = \"{SIMULATED_BOARD}\"\n[sound]\nrx = 0\ntx = 1\n",
        station.call, station.operator
    );
    let config = RecorderConfig::parse(&text).map_err(RecorderError::Device)?;
    simulate::run(SimulationScript::open(script)?, &config, card)
}
