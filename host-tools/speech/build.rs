//! Makes the fingerprint of the recogniser, and unpacks the weights that it carries.

mod fingerprint {
    include!("build/fingerprint.rs");
}

use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};

/// The weights as `model/export.py` packs them: raw deflate.
const PACKED_WEIGHTS: &str = "model/hear.onnx.deflate";
/// No file of weights is larger, in bytes.
const MOST_WEIGHTS: usize = 100_000_000;

fn main() -> Result<(), Box<dyn Error>> {
    let root = std::env::var("CARGO_MANIFEST_DIR")?;
    let inputs = fingerprint::read(Path::new(&root))?;
    for path in &inputs.watched {
        println!("cargo:rerun-if-changed={}", path.display());
    }
    println!(
        "cargo:rustc-env=SPEECH_FINGERPRINT={}",
        fingerprint::digest(&inputs.contents)
    );
    if std::env::var_os("CARGO_FEATURE_RTEN").is_some() {
        unpack(&Path::new(&root).join(PACKED_WEIGHTS))?;
    }
    Ok(())
}

/// Writes the weights in the file `packed` to where `src/runtime.rs` takes them from.
fn unpack(packed: &Path) -> Result<(), Box<dyn Error>> {
    let named = |path: &Path, error: &dyn std::fmt::Display| format!("{}: {error}", path.display());
    let bytes = fs::read(packed).map_err(|error| named(packed, &error))?;
    let weights = miniz_oxide::inflate::decompress_to_vec_with_limit(&bytes, MOST_WEIGHTS)
        .map_err(|error| named(packed, &error))?;
    let out = PathBuf::from(std::env::var("OUT_DIR")?).join("hear.onnx");
    fs::write(&out, weights).map_err(|error| named(&out, &error))?;
    Ok(())
}
