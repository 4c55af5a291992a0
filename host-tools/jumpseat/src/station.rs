//! Whose log this is.

use std::fs;
use std::io;
use std::path::Path;

use anyhow::{Context as _, Result};
use chrono::TimeDelta;
use jumpseat_log::Own;
use serde::Deserialize;

/// station.toml, all of it optional. What is not there is taken from the trip.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Station {
    /// The station's call sign, as used on the air.
    pub(crate) call: Option<String>,
    /// The operator's call sign.
    pub(crate) operator: Option<String>,
    /// Where trips are pulled from when nothing else is said.
    pub(crate) board: Option<String>,
    /// Contacts with one station on one band in one mode that began within so many
    /// minutes may be the same.
    pub(crate) duplicates_within_minutes: Option<u32>,
}

/// Where nobody set it: half an hour (our choice).
const USUAL_MINUTES: u32 = 30;

impl Station {
    /// Whose log it is.
    pub(crate) fn own(&self) -> Own {
        Own {
            call: self.call.clone(),
            operator: self.operator.clone(),
        }
    }

    /// Within which time contacts may be the same; what was asked for comes first.
    pub(crate) fn within(&self, asked: Option<u32>) -> TimeDelta {
        let minutes = asked.or(self.duplicates_within_minutes);
        TimeDelta::minutes(minutes.unwrap_or(USUAL_MINUTES).into())
    }

    /// Reads the file; a missing one says nothing.
    pub(crate) fn read(path: &Path) -> Result<Self> {
        let text = match fs::read_to_string(path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Self::default()),
            Err(error) => {
                return Err(error).with_context(|| format!("cannot read {}", path.display()));
            }
        };
        toml::from_str(&text).with_context(|| {
            format!(
                "cannot understand {}; it may hold `call = \"...\"`, `operator = \"...\"`, \
                 `board = \"ssh://...\"` and `duplicates_within_minutes = 30`, nothing else",
                path.display()
            )
        })
    }
}
