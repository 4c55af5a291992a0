//! Whatever changes what is heard changes the recogniser's fingerprint.

mod fingerprint {
    include!("../build/fingerprint.rs");
}

use std::collections::BTreeSet;
use std::error::Error;
use std::io;
use std::path::Path;

use fingerprint::{digest, read};

type Contents = Vec<(String, Vec<u8>)>;

fn contents() -> io::Result<Contents> {
    Ok(read(Path::new(env!("CARGO_MANIFEST_DIR")))?.contents)
}

/// The fingerprint with `text` in a file replaced by `other`.
fn changed(file: &str, text: &str, other: &str) -> Result<String, Box<dyn Error>> {
    let mut contents = contents()?;
    let found = contents.iter_mut().find(|(path, _)| path == file);
    let (_, bytes) = found.ok_or_else(|| format!("{file} is not hashed"))?;
    let before = String::from_utf8(bytes.clone())?;
    if !before.contains(text) {
        return Err(format!("{file} does not say {text}").into());
    }
    *bytes = before.replacen(text, other, 1).into_bytes();
    Ok(digest(&contents))
}

#[test]
fn it_is_the_hash_of_the_files_that_are_there() {
    assert_eq!(jumpseat_speech::fingerprint(), digest(&contents().unwrap()));
}

#[test]
fn a_changed_tuning_value_sense_or_calibration_changes_it() {
    for (file, text, other) in [
        (
            "src/lattice_step.rs",
            "BEAM_STATES: usize = 320",
            "BEAM_STATES: usize = 321",
        ),
        ("src/calibration.rs", "(0.6, 0.773)", "(0.6, 0.772)"),
        ("src/activity/speech_spans.rs", "0.42", "0.43"),
        ("src/hearing.rs", "pub text: String", "pub said: String"),
        (
            "model/vocabulary.tsv",
            "clear\tword\t-\t-\tclear\tsigning_off",
            "clear\tword\t-\t-\tclear\t-",
        ),
    ] {
        assert_ne!(
            changed(file, text, other).unwrap(),
            jumpseat_speech::fingerprint(),
            "{file}"
        );
    }
}

#[test]
fn every_byte_of_every_file_counts() {
    let contents = contents().unwrap();
    for index in 0..contents.len() {
        // The digest of a file and not of all: the weights are long.
        let one = &contents[index..=index];
        let mut other = one.to_vec();
        let at = other[0].1.len() / 2;
        other[0].1[at] ^= 1;
        assert_ne!(digest(one), digest(&other), "{}", one[0].0);
        other = one.to_vec();
        other[0].0.push('x');
        assert_ne!(digest(one), digest(&other), "{}", one[0].0);
    }
}

#[test]
fn every_source_file_and_all_that_is_included_is_hashed() {
    let contents = contents().unwrap();
    let hashed: BTreeSet<&str> = contents.iter().map(|(path, _)| path.as_str()).collect();
    let mut included = Vec::new();
    for (path, bytes) in &contents {
        let Ok(text) = std::str::from_utf8(bytes) else {
            continue;
        };
        for (at, _) in text
            .match_indices("include_")
            .filter(|_| path.starts_with("src/"))
        {
            let Some((_, rest)) = text[at..].split_once("(\"") else {
                continue;
            };
            // What the build script unpacks is hashed as it is packed.
            if rest.starts_with("OUT_DIR") {
                continue;
            }
            let folder = Path::new(path).parent().unwrap();
            included.push((folder.join(rest.split('"').next().unwrap()), path));
        }
    }
    assert!(!included.is_empty(), "the weights are included somewhere");
    for (file, by) in included {
        let mut plain: Vec<&str> = Vec::new();
        for part in file.to_str().unwrap().split('/') {
            match part {
                ".." => drop(plain.pop()),
                part => plain.push(part),
            }
        }
        assert!(
            hashed.contains(plain.join("/").as_str()),
            "{by} includes {plain:?}"
        );
    }
    for wanted in [
        "model/hear.onnx.deflate",
        "model/pieces.tsv",
        "src/lib.rs",
        "src/activity/floor.rs",
        "Cargo.lock",
    ] {
        assert!(hashed.contains(wanted), "{wanted}");
    }
}
