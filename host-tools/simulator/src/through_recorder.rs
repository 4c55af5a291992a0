//! Runs a script through the recorder's own core into a trip folder.

use std::path::Path;

use jumpseat_recorder::config::Config;
use jumpseat_recorder::error::RecorderError;
use jumpseat_recorder::simulate::{self, Script, Simulated};

use crate::scenario::Station;

/// The board's id in every simulated trip.
pub const BOARD: &str = "3fa2c1";

/// Records the script in `script` as a new trip on `card`, as fast as possible.
pub fn record(script: &Path, station: &Station, card: &Path) -> Result<Simulated, RecorderError> {
    let text = format!(
        "[station]\ncall = \"{}\"\noperator = \"{}\"\n[card]\nboard = \"{BOARD}\"\n[sound]\nrx = 0\ntx = 1\n",
        station.call, station.operator
    );
    let config = Config::parse(&text).map_err(RecorderError::Device)?;
    simulate::run(Script::open(script)?, &config, card)
}
