//! Waveform and spectrogram of a strip as one picture, cached in the library.

mod paint;

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_files::write_private;
use jumpseat_logbook::EntryFilter;
use jumpseat_values::display;
use sha2::{Digest, Sha256};

use super::scale::PICTURE_SCALE;
use super::{SoundPiece, piece_of, strips};
use crate::open_trips::{OpenTrip, OpenTrips};
use crate::view::EntryState;
use crate::{BackendError, ReviewBackend};

/// Raised when the pictures change their look.
const PICTURE_VERSION: u32 = 1;

/// A picture and the tag that identifies it.
pub(crate) struct SoundPicture {
    pub(crate) tag: String,
    pub(crate) png: Vec<u8>,
}

impl SoundPicture {
    /// The cached picture, or a new one, which is then cached.
    pub(crate) fn load_or_make(
        open: &OpenTrip,
        piece: &SoundPiece,
        kept: &Path,
    ) -> Result<Self, BackendError> {
        let tag = tag(open, piece);
        let file = file(kept, &tag);
        if let Ok(png) = fs::read(&file) {
            return Ok(Self { tag, png });
        }
        let samples = piece.samples(open, 0, piece.count)?;
        let png = paint::paint(&samples, open.rate(), &PICTURE_SCALE).map_err(BackendError::of)?;
        // A full disk must not prevent looking; the picture is made again next time.
        let _ = write_private(&file, &png);
        Ok(Self { tag, png })
    }
}

fn file(kept: &Path, tag: &str) -> PathBuf {
    kept.join("pictures").join(format!("{tag}.png"))
}

/// Identifies what a picture is made of: the piece and its files.
fn tag(open: &OpenTrip, piece: &SoundPiece) -> String {
    let mut hash = Sha256::new();
    hash.update(PICTURE_VERSION.to_le_bytes());
    hash.update(open.trip.id());
    hash.update(piece.direction.name());
    hash.update(piece.first.to_le_bytes());
    hash.update(piece.count.to_le_bytes());
    let end = piece.first.saturating_add(piece.count);
    for segment in open.trip.segments() {
        let within = segment.first_sample < end && piece.first < segment.end();
        if !within || segment.direction != piece.direction {
            continue;
        }
        let data = fs::metadata(&segment.path);
        let length = data.as_ref().map_or(0, fs::Metadata::len);
        let changed = data.ok().and_then(|data| data.modified().ok());
        let changed = changed.and_then(|at| at.duration_since(std::time::UNIX_EPOCH).ok());
        hash.update(segment.number.to_le_bytes());
        hash.update(length.to_le_bytes());
        hash.update(changed.unwrap_or_default().as_nanos().to_le_bytes());
    }
    let digest = hash.finalize();
    let (half, _) = digest.split_at(16);
    display::hex(half)
}

/// Reads a trip and makes the pictures of its undecided entries, so that the page finds
/// both ready. Returns the number of pictures.
pub(crate) fn prepare(
    backend: &dyn ReviewBackend,
    open_trips: &OpenTrips,
    trip: &str,
) -> Result<usize, BackendError> {
    let Some(open) = open_trips.open(backend, trip)? else {
        return Ok(0);
    };
    let logbook = backend.logbook()?;
    let entries = logbook
        .entries(&EntryFilter::Trip(trip))
        .map_err(BackendError::of)?;
    let mut made = 0;
    for entry in entries
        .iter()
        .filter(|entry| EntryState::of(entry).is_open())
    {
        let Some(draft) = &entry.draft else { continue };
        for strip in strips(draft, open.rate()) {
            SoundPicture::load_or_make(&open, &piece_of(trip, &strip), backend.cache_folder())?;
            made += 1;
        }
    }
    Ok(made)
}
