//! The ids of the board and of its power-up, which need no clock.

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_core::journal::BootId;

use crate::config::RecorderConfig;
use crate::error::RecorderError;

const MACHINE_ID_FILE: &str = "/etc/machine-id";
const BOOT_ID_FILE: &str = "/proc/sys/kernel/random/boot_id";

/// The board's id: the config's, or else the first six digits of the machine's id.
///
/// # Errors
/// [`RecorderError::Config`] when there is neither.
pub fn board_id(config: &RecorderConfig) -> Result<String, RecorderError> {
    if let Some(board) = &config.card.board {
        return Ok(board.clone());
    }
    let machine = fs::read_to_string(MACHINE_ID_FILE).unwrap_or_default();
    let digits: String = machine
        .chars()
        .filter(char::is_ascii_hexdigit)
        .map(|digit| digit.to_ascii_lowercase())
        .take(6)
        .collect();
    if digits.len() == 6 {
        Ok(digits)
    } else {
        Err(RecorderError::Config {
            path: PathBuf::from(MACHINE_ID_FILE),
            problem: "holds no machine id; set board = \"3fa2c1\" (six digits of your own \
                      choice) under [card] in the config file"
                .to_owned(),
        })
    }
}

/// The power-up's id: the first eight digits of the kernel's boot id.
///
/// # Errors
/// [`RecorderError::Io`] when the kernel's id cannot be read.
pub fn boot_id() -> Result<BootId, RecorderError> {
    let path = Path::new(BOOT_ID_FILE);
    let text = fs::read_to_string(path)
        .map_err(|source| RecorderError::io("read the boot id from", path, source))?;
    let mut id = BootId::new();
    for digit in text.chars().filter(char::is_ascii_hexdigit).take(8) {
        // It fits: eight digits at most are taken.
        let _fits = id.push(digit);
    }
    Ok(id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_kernel_tells_its_boot_id() {
        assert_eq!(boot_id().unwrap().len(), 8);
    }
}
