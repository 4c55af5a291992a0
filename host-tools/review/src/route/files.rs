//! What is no page: sounds, pictures, our own files, and what was exported.

use std::fs;
use std::sync::PoisonError;

use hyper::StatusCode;

use super::{House, Problem};
use crate::http::{Reply, Request};
use crate::page;
use crate::sound::{Form, Picture, Piece};

fn piece((trip, direction, span): (&str, &str, &str)) -> Result<Piece, Problem> {
    Piece::of(trip, direction, span)
        .ok_or_else(|| Problem::Missing("There is no such piece of sound.".into()))
}

pub(super) fn sound(
    house: &House,
    request: &Request,
    at: (&str, &str, &str),
    form: &str,
) -> Result<Reply, Problem> {
    let piece = piece(at)?;
    let form = Form::of(form)
        .ok_or_else(|| Problem::Missing("Sound is raw.wav, level.wav or clean.wav.".into()))?;
    let open = house.open(&piece.trip)?;
    Ok(house.sounds.reply(request, &open, &piece, form)?)
}

pub(super) fn picture(
    house: &House,
    request: &Request,
    at: (&str, &str, &str),
) -> Result<Reply, Problem> {
    let piece = piece(at)?;
    let open = house.open(&piece.trip)?;
    let picture = Picture::of(&open, &piece, house.desk.kept())?;
    Ok(Reply::tagged(
        request,
        "image/png",
        &picture.tag,
        picture.png,
    ))
}

pub(super) fn asset(request: &Request, name: &str) -> Result<Reply, Problem> {
    let missing = || Problem::Missing("There is no such file.".into());
    let (kind, text) = page::asset(name).ok_or_else(missing)?;
    let tag = concat!("v", env!("CARGO_PKG_VERSION"));
    let tag = format!("{tag}-{:x}", fingerprint(text.as_bytes()));
    Ok(Reply::tagged(request, kind, &tag, text.into()))
}

/// Tells versions of our own files apart (FNV-1a).
fn fingerprint(bytes: &[u8]) -> u64 {
    bytes.iter().fold(0xcbf2_9ce4_8422_2325, |hash, &byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// A file that was exported from this page since the server started.
pub(super) fn exported(house: &House, index: &str) -> Result<Reply, Problem> {
    let missing = || Problem::Missing("That file was not exported from this page.".into());
    let index: usize = index.parse().map_err(|_| missing())?;
    let files = house.exported.lock();
    let files = files.unwrap_or_else(PoisonError::into_inner);
    let file = files.get(index).cloned().ok_or_else(missing)?;
    drop(files);
    let bytes = fs::read(&file).map_err(|error| {
        Problem::Failed(format!(
            "cannot read {}: {error}. Export it again",
            file.display()
        ))
    })?;
    let name = file.file_name().unwrap_or_default().to_string_lossy();
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
    let name: String = name.chars().filter(|&c| plain(c)).collect();
    Ok(
        Reply::new(StatusCode::OK, "application/octet-stream", bytes)
            .with(
                "content-disposition",
                format!("attachment; filename=\"{name}\""),
            )
            .with("cache-control", "no-store"),
    )
}
