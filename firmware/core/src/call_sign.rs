//! Checks whether a text can be a call sign, for the board's config and the home tools.
//! Follows RR Article 19, and common practice for the parts beside a stroke.

mod shape;

use heapless::String;
use thiserror::Error;

pub use shape::{CallSignShape, is_prefix, is_single_letter_prefix, split_home_call};

/// Longest call sign accepted, in bytes, strokes included. No rule sets it; it is far
/// longer than any call sign on the air.
pub const MAX_CALL_SIGN_BYTES: usize = 32;
/// Most strokes accepted (our choice).
const MAX_STROKES: usize = 3;

/// Why a text cannot be a call sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum CallSignError {
    /// The text is empty.
    #[error("the call sign is empty")]
    Empty,
    /// Longer than [`MAX_CALL_SIGN_BYTES`] bytes.
    #[error("a call sign has at most {MAX_CALL_SIGN_BYTES} characters")]
    TooLong,
    /// A character other than the letters A to Z, digits and strokes.
    #[error("a call sign has only letters A to Z, digits and strokes, not {0:?}")]
    Character(char),
    /// An empty part before, after or between strokes.
    #[error("there is nothing on one side of a stroke")]
    EmptyPart,
    /// More than three strokes.
    #[error("a call sign has at most three strokes")]
    ManyStrokes,
    /// No part has the letters and the digit of a call sign.
    #[error("no part of it has the letters and the digit of a call sign")]
    NotACall,
}

/// Normalizes a call sign: capital letters, no surrounding space, and 0 for a slashed zero
/// (Ø). One of its parts between strokes can be a home call, which [`split_home_call`]
/// takes apart. Unusual forms are accepted, because special event stations are unusual on
/// purpose.
///
/// # Errors
/// [`CallSignError`] when the text cannot be a call sign.
pub fn normalized(text: &str) -> Result<String<MAX_CALL_SIGN_BYTES>, CallSignError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(CallSignError::Empty);
    }
    if text.len() > MAX_CALL_SIGN_BYTES {
        return Err(CallSignError::TooLong);
    }
    let mut normalized = String::new();
    for character in text.chars() {
        let character = match character {
            'Ø' | 'ø' => '0',
            'A'..='Z' | 'a'..='z' | '0'..='9' | '/' => character.to_ascii_uppercase(),
            other => return Err(CallSignError::Character(other)),
        };
        normalized
            .push(character)
            .map_err(|_| CallSignError::TooLong)?;
    }
    let parts = || normalized.split('/');
    if parts().count() > MAX_STROKES + 1 {
        Err(CallSignError::ManyStrokes)
    } else if parts().any(str::is_empty) {
        Err(CallSignError::EmptyPart)
    } else if parts().all(|part| split_home_call(part.as_bytes()).is_none()) {
        Err(CallSignError::NotACall)
    } else {
        Ok(normalized)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: Result<&str, CallSignError>) {
        let found = normalized(text);
        assert_eq!(found.as_deref(), expected.as_ref().copied(), "{text:?}");
    }

    #[test]
    fn what_can_be_a_call_sign_is_written_one_way() {
        for (text, expected) in [
            ("W7QTM", "W7QTM"),
            (" w7qtm/p ", "W7QTM/P"),
            ("kbøqse", "KB0QSE"),
            ("F/W7QTM/P", "F/W7QTM/P"),
            ("GB100QRA", "GB100QRA"),
            ("3DA0QR", "3DA0QR"),
        ] {
            check(text, Ok(expected));
        }
    }

    #[test]
    fn what_cannot_is_refused_with_the_reason() {
        for (text, expected) in [
            ("", CallSignError::Empty),
            ("  ", CallSignError::Empty),
            ("W7", CallSignError::NotACall),
            ("59", CallSignError::NotACall),
            ("Ruth", CallSignError::NotACall),
            ("12345", CallSignError::NotACall),
            ("W7 QTM", CallSignError::Character(' ')),
            ("W7QTM mobile", CallSignError::Character(' ')),
            ("W7QTM/", CallSignError::EmptyPart),
            ("/W7QTM", CallSignError::EmptyPart),
            ("A/B/C/W7QTM/P", CallSignError::ManyStrokes),
            ("W7QTMW7QTMW7QTMW7QTMW7QTMW7QTMW7Q", CallSignError::TooLong),
        ] {
            check(text, Err(expected));
        }
    }
}
