// One hash over all that decides what is heard in a recording: the weights, the vocabulary,
// every source file of this crate and of the vocabulary's, and the versions of the
// libraries that do its arithmetic. Used by `build.rs`, and by `tests/fingerprint.rs`.
//
// Whole files are hashed and no table of chosen constants: a constant can be left out of a
// table, and a changed line of code changes what is heard as well. A changed comment makes
// every over be heard once more, which costs time and nothing else.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use sha2::{Digest as _, Sha256};

/// Folders and files of the crate that decide, and what files in them have for an ending.
const DECIDING: [(&str, &[&str]); 7] = [
    ("src", &["rs"]),
    ("vocabulary/src", &["rs"]),
    ("vocabulary/build.rs", &["rs"]),
    ("build.rs", &["rs"]),
    ("build", &["rs"]),
    ("model", &["deflate", "tsv"]),
    ("Cargo.toml", &["toml"]),
];
/// The libraries that run the model and the Fourier transforms, with all whose names begin so.
const ARITHMETIC: [&str; 3] = ["rten", "realfft", "rustfft"];

/// What the fingerprint is made of.
pub(crate) struct Inputs {
    /// Paths from the crate's folder, with a slash between their parts, and what is there.
    pub(crate) contents: Vec<(String, Vec<u8>)>,
    /// Files and folders after whose change it is to be made again.
    pub(crate) watched: Vec<PathBuf>,
}

/// Reads what decides, in order of the paths.
///
/// # Errors
/// A file or folder that cannot be read, with its path.
pub(crate) fn read(root: &Path) -> io::Result<Inputs> {
    let mut inputs = Inputs {
        contents: Vec::new(),
        watched: Vec::new(),
    };
    for (name, endings) in DECIDING {
        let path = root.join(name);
        gather(&path, name, endings, &mut inputs.contents)?;
        inputs.watched.push(path);
    }
    if let Some(lock) = root.ancestors().map(|folder| folder.join("Cargo.lock")).find(|lock| lock.is_file()) {
        let text = fs::read_to_string(&lock).map_err(|error| named(&lock, &error))?;
        inputs.contents.push(("Cargo.lock".to_owned(), versions(&text).into_bytes()));
        inputs.watched.push(lock);
    }
    inputs.contents.sort();
    Ok(inputs)
}

/// The SHA-256 of all contents with their paths and lengths, in hexadecimal.
pub(crate) fn digest(contents: &[(String, Vec<u8>)]) -> String {
    let mut hash = Sha256::new();
    for (path, bytes) in contents {
        for part in [path.as_bytes(), bytes] {
            hash.update((part.len() as u64).to_le_bytes());
            hash.update(part);
        }
    }
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

fn gather(path: &Path, name: &str, endings: &[&str], contents: &mut Vec<(String, Vec<u8>)>) -> io::Result<()> {
    if path.is_dir() {
        for entry in fs::read_dir(path).map_err(|error| named(path, &error))? {
            let inside = entry.map_err(|error| named(path, &error))?;
            let name = format!("{name}/{}", inside.file_name().to_string_lossy());
            gather(&inside.path(), &name, endings, contents)?;
        }
        return Ok(());
    }
    let ending = path.extension().unwrap_or_default();
    if endings.iter().any(|wanted| ending == *wanted) {
        let bytes = fs::read(path).map_err(|error| named(path, &error))?;
        contents.push((name.to_owned(), bytes));
    }
    Ok(())
}

fn named(path: &Path, error: &io::Error) -> io::Error {
    io::Error::new(error.kind(), format!("{}: {error}", path.display()))
}

/// The packages of a Cargo.lock that do arithmetic: names, versions and checksums.
fn versions(lock: &str) -> String {
    let arithmetic = |package: &&str| {
        ARITHMETIC.iter().any(|name| package.trim_start().starts_with(&format!("name = \"{name}")))
    };
    let packages = lock.split("[[package]]").filter(arithmetic);
    packages.collect()
}
