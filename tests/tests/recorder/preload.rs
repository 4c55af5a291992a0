//! Preloaded libraries that change what the recorder sees of its machine (built with a C
//! compiler and the kernel's headers, Debian package build-essential).

use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_test_kit as kit;

/// Builds the library of `preload/NAME.c` in this folder.
pub(crate) fn library(name: &str, folder: &Path) -> PathBuf {
    let library = folder.join(name).with_extension("so");
    let sources = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/recorder/preload");
    let mut command = Command::new("cc");
    command
        .args(["-shared", "-fPIC", "-O1", "-o"])
        .arg(&library);
    command.arg(sources.join(name).with_extension("c"));
    let made = kit::run(command.arg("-ldl")).unwrap();
    assert!(made.status.success(), "{made:?}");
    library
}
