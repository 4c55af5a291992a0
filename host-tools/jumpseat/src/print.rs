//! Standard output, without a panic when its reader goes away.

use std::io::{self, Write as _};

use anyhow::Result;
use serde::Serialize;

/// Prints text as it is.
pub(crate) fn text(text: &str) -> Result<()> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(())
}

/// Prints a line.
pub(crate) fn line(line: &str) -> Result<()> {
    text(&format!("{line}\n"))
}

/// Prints a value as JSON, readable by people too.
pub(crate) fn json<T: Serialize>(value: &T) -> Result<()> {
    line(&serde_json::to_string_pretty(value)?)
}

/// Tells on standard error what went wrong beside the work itself.
pub(crate) fn warning(words: &str) {
    eprintln!("jumpseat: warning: {words}");
}
