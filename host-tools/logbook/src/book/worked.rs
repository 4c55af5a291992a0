//! Stations that were worked before.

use serde::Serialize;

use super::{Logbook, database};
use crate::LogbookError;
use jumpseat_entries::home_call;

/// What the log holds of a station.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WorkedStation {
    /// Contacts with it.
    pub contacts: u64,
    /// Start of the last one, RFC 3339; `None` where no time is known.
    pub last: Option<String>,
    /// The operator's name in the newest contact that has one.
    pub name: Option<String>,
}

impl Logbook {
    /// Whether a station was worked before, on the road or at home, here or in an
    /// imported log: what makes a doubtful call sign likelier.
    pub fn worked_before(&self, call: &str) -> Result<Option<WorkedStation>, LogbookError> {
        let worked = self
            .connection
            .prepare_cached(
                "SELECT count(*), max(on_utc),
                 (SELECT data ->> '$.name' FROM contacts WHERE home = ?1
                  AND data ->> '$.name' IS NOT NULL ORDER BY on_utc DESC LIMIT 1)
                 FROM contacts WHERE home = ?1",
            )
            .and_then(|mut query| {
                query.query_row([home_call(call)], |row| {
                    Ok(WorkedStation {
                        contacts: row.get(0)?,
                        last: row.get(1)?,
                        name: row.get(2)?,
                    })
                })
            })
            .map_err(database(&self.path, "be read"))?;
        Ok((worked.contacts > 0).then_some(worked))
    }
}
