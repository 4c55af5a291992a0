//! Makes the fingerprint of the recogniser.

mod fingerprint {
    include!("build/fingerprint.rs");
}

use std::error::Error;
use std::path::Path;

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
    Ok(())
}
