//! Replies that are not pages: sounds, pictures, our own files, and exported files.

use std::fs;
use std::sync::PoisonError;

use hyper::StatusCode;

use crate::http::{ReviewReply, ReviewRequest};
use crate::page;
use crate::site::{PageError, ReviewSite};
use crate::sound::{SoundPicture, SoundPiece, SoundProcessing};

fn piece((trip, direction, span): (&str, &str, &str)) -> Result<SoundPiece, PageError> {
    SoundPiece::parse(trip, direction, span)
        .ok_or_else(|| PageError::Missing("There is no such sound.".into()))
}

pub(super) fn sound(
    site: &ReviewSite,
    request: &ReviewRequest,
    at: (&str, &str, &str),
    form: &str,
) -> Result<ReviewReply, PageError> {
    let piece = piece(at)?;
    let form = SoundProcessing::from_file_name(form)
        .ok_or_else(|| PageError::Missing("Sound is raw.wav, level.wav or clean.wav.".into()))?;
    let open = site.open(&piece.trip)?;
    Ok(site.sounds.reply(request, &open, &piece, form)?)
}

pub(super) fn picture(
    site: &ReviewSite,
    request: &ReviewRequest,
    at: (&str, &str, &str),
) -> Result<ReviewReply, PageError> {
    let piece = piece(at)?;
    let open = site.open(&piece.trip)?;
    let picture = SoundPicture::load_or_make(&open, &piece, site.backend.cache_folder())?;
    Ok(ReviewReply::tagged(
        request,
        "image/png",
        &picture.tag,
        picture.png,
    ))
}

pub(super) fn asset(request: &ReviewRequest, name: &str) -> Result<ReviewReply, PageError> {
    let missing = || PageError::Missing("There is no such file.".into());
    let (kind, text) = page::asset(name).ok_or_else(missing)?;
    let tag = concat!("v", env!("CARGO_PKG_VERSION"));
    let tag = format!("{tag}-{:x}", fingerprint(text.as_bytes()));
    Ok(ReviewReply::tagged(request, kind, &tag, text.into()))
}

/// Tells versions of our own files apart (FNV-1a).
fn fingerprint(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, &byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// A file that was exported from this page since the server started.
pub(super) fn exported(site: &ReviewSite, index: &str) -> Result<ReviewReply, PageError> {
    let missing = || PageError::Missing("That file was not exported from this page.".into());
    let index: usize = index.parse().map_err(|_| missing())?;
    let files = site.exported.lock();
    let files = files.unwrap_or_else(PoisonError::into_inner);
    let file = files.get(index).cloned().ok_or_else(missing)?;
    drop(files);
    let bytes = fs::read(&file).map_err(|error| {
        PageError::Failed(format!(
            "cannot read {}: {error}. Export it again",
            file.display()
        ))
    })?;
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
    let name: String = name.chars().filter(|&c| plain(c)).collect();
    Ok(
        ReviewReply::new(StatusCode::OK, "application/octet-stream", bytes)
            .with_header(
                "content-disposition",
                format!("attachment; filename=\"{name}\""),
            )
            .with_header("cache-control", "no-store"),
    )
}
