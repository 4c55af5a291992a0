//! What the pages are made from, and why there may be no page.

use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use hyper::StatusCode;
use jumpseat_logbook::{Logbook, LogbookError};

use crate::backend::{BackendError, ReviewBackend};
use crate::http::AccessGuard;
use crate::open_trips::{OpenTrip, OpenTrips};
use crate::sound::SoundCache;

/// What the pages are made from.
pub(crate) struct ReviewSite {
    pub(crate) backend: Arc<dyn ReviewBackend>,
    guard: AccessGuard,
    pub(crate) open_trips: OpenTrips,
    pub(crate) sounds: SoundCache,
    /// Files that were exported since the start, to be fetched again.
    pub(crate) exported: Mutex<Vec<PathBuf>>,
}

impl std::fmt::Debug for ReviewSite {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        // Not the secrets.
        f.debug_struct("ReviewSite").finish_non_exhaustive()
    }
}

impl ReviewSite {
    pub(crate) fn new(backend: Arc<dyn ReviewBackend>, guard: AccessGuard) -> Self {
        Self {
            backend,
            guard,
            open_trips: OpenTrips::default(),
            sounds: SoundCache::default(),
            exported: Mutex::default(),
        }
    }

    pub(crate) fn guard(&self) -> &AccessGuard {
        &self.guard
    }

    /// Prepares a trip and its pictures before they are asked for. What fails here fails
    /// again, with a message, when the page is opened.
    pub(crate) fn prepare(&self, trip: &str) {
        let _ = crate::sound::prepare(&*self.backend, &self.open_trips, trip);
    }

    pub(crate) fn open(&self, trip: &str) -> Result<Arc<OpenTrip>, PageError> {
        self.open_trips.open(&*self.backend, trip)?.ok_or_else(|| {
            PageError::Missing("There is no trip with that name in the library.".into())
        })
    }

    pub(crate) fn logbook(&self) -> Result<Logbook, PageError> {
        Ok(self.backend.logbook()?)
    }
}

/// Why there is no page.
pub(crate) enum PageError {
    /// What was asked for is not there.
    Missing(String),
    /// It changed meanwhile; nothing was done.
    Changed(String),
    /// The request makes no sense.
    Wrong(String),
    /// It did not work.
    Failed(String),
}

impl From<BackendError> for PageError {
    fn from(trouble: BackendError) -> Self {
        Self::Failed(trouble.0)
    }
}

impl From<LogbookError> for PageError {
    fn from(error: LogbookError) -> Self {
        let words = error.to_string();
        match error {
            LogbookError::NoEntry { .. } | LogbookError::NoAction { .. } => Self::Missing(words),
            LogbookError::Stale { .. }
            | LogbookError::Undone { .. }
            | LogbookError::ChangedSince { .. }
            | LogbookError::NotJoined { .. }
            | LogbookError::NotSplit { .. } => Self::Changed(words),
            _ => Self::Failed(words),
        }
    }
}

impl PageError {
    pub(crate) fn status_and_text(self) -> (StatusCode, String) {
        match self {
            Self::Missing(words) => (StatusCode::NOT_FOUND, words),
            Self::Changed(words) => (StatusCode::CONFLICT, words),
            Self::Wrong(words) => (StatusCode::BAD_REQUEST, words),
            Self::Failed(words) => (StatusCode::INTERNAL_SERVER_ERROR, words),
        }
    }
}
