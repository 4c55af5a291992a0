//! The SHA-256 of a file.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::Path;

use jumpseat_files::open_regular_file;
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};

/// Bytes read at once.
const BUFFER_BYTES: usize = 1 << 18;

/// What a file holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileChecksum {
    /// SHA-256 in hex.
    pub sha256: String,
    /// The file's length.
    pub bytes: u64,
}

/// Reads a regular file; `read` receives the number of bytes of each piece.
///
/// # Errors
/// Those of the system.
pub fn file_checksum(path: &Path, read: &dyn Fn(u64)) -> io::Result<FileChecksum> {
    let mut digest = Sha256::new();
    let bytes = add_to_digest(&mut open_regular_file(path)?, &mut digest, read)?;
    Ok(FileChecksum {
        sha256: hex(&digest.finalize()),
        bytes,
    })
}

/// Adds the rest of a file to a digest; returns its length.
pub(crate) fn add_to_digest(
    file: &mut File,
    digest: &mut Sha256,
    read: &dyn Fn(u64),
) -> io::Result<u64> {
    let mut buffer = vec![0; BUFFER_BYTES];
    let mut bytes = 0;
    loop {
        match file.read(&mut buffer) {
            Ok(0) => return Ok(bytes),
            Ok(count) => {
                digest.update(&buffer[..count]);
                bytes += count as u64;
                read(count as u64);
            }
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn the_checksum_is_the_published_one() {
        // FIPS 180-4 example: SHA-256 of "abc".
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("abc");
        fs::write(&path, "abc").unwrap();
        let found = file_checksum(&path, &|_| ()).unwrap();
        assert_eq!(
            found.sha256,
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
        assert_eq!(found.bytes, 3);
    }
}
