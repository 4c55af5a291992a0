//! Whether a new file contains the one in the library. No file of the library is replaced
//! by one that does not contain it.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use jumpseat_files::open_regular_file;

use crate::source_trip::is_wav;

/// Bytes of the header of every WAV file that a board writes.
const WAV_HEADER_BYTES: usize = 44;
/// The two fields of the header that grow with the sound: the length of the file and that
/// of the samples.
const WAV_LENGTH_FIELDS: [std::ops::Range<usize>; 2] = [4..8, 40..44];

/// Whether `new` begins with the bytes of `old`. For a WAV file: whether it begins with its
/// samples, and has the same header apart from the lengths.
///
/// # Errors
/// Those of the system, reading either.
pub(crate) fn contains_file(new: &Path, old: &Path) -> io::Result<bool> {
    let (mut one, mut other) = (open_regular_file(old)?, open_regular_file(new)?);
    if is_wav(&new.to_string_lossy()) || is_wav(&old.to_string_lossy()) {
        let (mut own, mut theirs) = (header(&mut one)?, header(&mut other)?);
        for at in WAV_LENGTH_FIELDS.into_iter().flatten() {
            for header in [&mut own, &mut theirs] {
                header.get_mut(at).into_iter().for_each(|byte| *byte = 0);
            }
        }
        if !theirs.starts_with(&own) {
            return Ok(false);
        }
    }
    is_beginning(one, other)
}

/// The header, or as much of it as there is.
fn header(file: &mut File) -> io::Result<Vec<u8>> {
    let mut header = Vec::new();
    file.take(WAV_HEADER_BYTES as u64)
        .read_to_end(&mut header)?;
    Ok(header)
}

/// Whether the rest of `new` begins with the rest of `old`.
fn is_beginning(mut old: impl Read, mut new: impl Read) -> io::Result<bool> {
    let mut own = vec![0; 1 << 18];
    let mut theirs = own.clone();
    loop {
        let count = match old.read(&mut own) {
            Ok(0) => return Ok(true),
            Ok(count) => count,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
            Err(error) => return Err(error),
        };
        match new.read_exact(&mut theirs[..count]) {
            Ok(()) => {}
            Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => return Ok(false),
            Err(error) => return Err(error),
        }
        if own[..count] != theirs[..count] {
            return Ok(false);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[track_caller]
    fn check(name: &str, old: &[u8], new: &[u8], expected: bool) {
        let folder = tempfile::tempdir().unwrap();
        let (here, part) = (folder.path().join(name), folder.path().join(".x.part"));
        fs::write(&here, old).unwrap();
        fs::write(&part, new).unwrap();
        assert_eq!(contains_file(&part, &here).unwrap(), expected);
    }

    /// A WAV file as a board writes it: lengths in the header, then samples.
    fn wav(length: u32, samples: &[u8]) -> Vec<u8> {
        let form = b"WAVEfmt \x10\0\0\0\x01\0\x01\0\x80\x3e\0\0\0\x7d\0\0\x02\0\x10\0data";
        let whole = (length + 36).to_le_bytes();
        [&b"RIFF"[..], &whole, form, &length.to_le_bytes(), samples].concat()
    }

    #[test]
    fn what_a_file_grew_to_holds_what_it_was() {
        let journal = "journal.jsonl";
        check(journal, b"one\n", b"one\ntwo\n", true);
        check(journal, b"", b"one\n", true);
        check(journal, b"one\n", b"one\n", true);
        check(journal, b"one\n", b"two\none\n", false);
        check(journal, b"one\ntwo\n", b"one\n", false);
        check(journal, &vec![b'x'; 600_000], &vec![b'x'; 700_000], true);
        let mut flipped = vec![b'x'; 700_000];
        flipped[599_999] = b'y';
        check(journal, &vec![b'x'; 600_000], &flipped, false);
        // A header that says something else of its length is no growth of a text.
        check(journal, &wav(0, b"abcd"), &wav(4, b"abcd"), false);
    }

    #[test]
    fn a_wav_file_that_was_closed_holds_the_samples_of_the_open_one() {
        let sound = "000001-rx.wav";
        check(sound, &wav(0, b"abcd"), &wav(6, b"abcdef"), true);
        check(sound, &wav(0, b"abcd"), &wav(4, b"abcd"), true);
        check(sound, &wav(0, b"")[..30], &wav(4, b"abcd"), true);
        check(sound, b"", &wav(4, b"abcd"), true);
        check(sound, &wav(4, b"abcd"), &wav(6, b"abXdef"), false);
        check(sound, &wav(4, b"abcd"), &wav(2, b"ab"), false);
        let mut other = wav(6, b"abcdef");
        other[24] ^= 1;
        check(sound, &wav(4, b"abcd"), &other, false);
        check(sound, b"no sound", &wav(4, b"abcd"), false);
    }
}
