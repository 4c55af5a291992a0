//! Waveform and spectrogram of a strip as one picture, kept in the library.

mod paint;

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_files::write_private;
use jumpseat_logbook::Filter;
use jumpseat_values::display;
use sha2::{Digest, Sha256};

use super::{Piece, piece_of, strips};
use crate::shelf::{Open, Shelf};
use crate::view::State;
use crate::{Desk, Trouble};

/// Raised when the pictures look different.
const FORM: u32 = 1;

/// Pixels a second and heights, in the page's units.
pub(crate) struct Scale {
    pub(crate) per_second: f64,
    pub(crate) wave: u32,
    pub(crate) spectrum: u32,
}

/// The one scale of all pictures.
pub(crate) const SCALE: Scale = Scale {
    per_second: 110.0,
    wave: 40,
    spectrum: 80,
};

/// A picture, and a tag that tells it from others.
pub(crate) struct Picture {
    pub(crate) tag: String,
    pub(crate) png: Vec<u8>,
}

impl Picture {
    /// The picture that is kept, or a new one, which is kept then.
    pub(crate) fn of(open: &Open, piece: &Piece, kept: &Path) -> Result<Self, Trouble> {
        let tag = tag(open, piece);
        let file = file(kept, &tag);
        if let Ok(png) = fs::read(&file) {
            return Ok(Self { tag, png });
        }
        let samples = piece.samples(open, 0, piece.count)?;
        let png = paint::paint(&samples, open.rate(), &SCALE).map_err(Trouble::of)?;
        // A full disk must not keep anybody from looking; the next time it is made again.
        let _ = write_private(&file, &png);
        Ok(Self { tag, png })
    }
}

fn file(kept: &Path, tag: &str) -> PathBuf {
    kept.join("pictures").join(format!("{tag}.png"))
}

/// Names what a picture is made of: the piece, and the files that it lies in.
fn tag(open: &Open, piece: &Piece) -> String {
    let mut hash = Sha256::new();
    hash.update(FORM.to_le_bytes());
    hash.update(open.trip.id());
    hash.update(piece.direction.word());
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

/// Reads a trip and makes the pictures of all of its entries that nobody decided, so
/// that the page finds both ready. Gives how many pictures there are.
pub(crate) fn prepare(desk: &dyn Desk, shelf: &Shelf, trip: &str) -> Result<usize, Trouble> {
    let Some(open) = shelf.open(desk, trip)? else {
        return Ok(0);
    };
    let logbook = desk.logbook()?;
    let entries = logbook.entries(&Filter::Trip(trip)).map_err(Trouble::of)?;
    let mut made = 0;
    for entry in entries.iter().filter(|entry| State::of(entry).is_open()) {
        let Some(draft) = &entry.draft else { continue };
        for strip in strips(draft, open.rate()) {
            Picture::of(&open, &piece_of(trip, &strip), desk.kept())?;
            made += 1;
        }
    }
    Ok(made)
}
