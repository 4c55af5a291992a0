//! Reads numbers and texts from the border file, byte by byte.

use thiserror::Error;

/// Why border data cannot be read. The bytes are part of the program, so this means a
/// damaged build.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum AreaMapError {
    /// It does not begin as a border file does.
    #[error("this is not border data of a kind this version reads")]
    Unknown,
    /// It ends too early, or a number or a text in it makes no sense.
    #[error("the border data is damaged near byte {at}")]
    Damaged {
        /// Offset in bytes where reading stopped.
        at: usize,
    },
}

/// A place in the bytes of a border file.
pub(super) struct MapReader<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> MapReader<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Self {
        Self { bytes, at: 0 }
    }

    pub(super) fn at_end(&self) -> bool {
        self.at == self.bytes.len()
    }

    pub(super) fn damaged(&self) -> AreaMapError {
        AreaMapError::Damaged { at: self.at }
    }

    pub(super) fn bytes(&mut self, count: usize) -> Result<&'a [u8], AreaMapError> {
        let end = self.at.checked_add(count).ok_or(self.damaged())?;
        let found = self.bytes.get(self.at..end).ok_or(self.damaged())?;
        self.at = end;
        Ok(found)
    }

    /// An unsigned number, seven bits a byte, lowest first, at most 32 bits.
    pub(super) fn number(&mut self) -> Result<u32, AreaMapError> {
        let mut value = 0u64;
        for shift in (0..35).step_by(7) {
            let byte = self.bytes(1)?[0];
            value |= u64::from(byte & 127) << shift;
            if byte < 128 {
                return u32::try_from(value).map_err(|_| self.damaged());
            }
        }
        Err(self.damaged())
    }

    /// A signed number: 0, -1, 1, -2 ... are written as 0, 1, 2, 3 ...
    pub(super) fn signed(&mut self) -> Result<i32, AreaMapError> {
        let value = self.number()?;
        Ok((value >> 1) as i32 ^ -((value & 1) as i32))
    }

    /// How many things follow, each at least `least` bytes long: more than the rest can hold
    /// is damage, so that a false count cannot ask for memory.
    pub(super) fn count(&mut self, least: usize) -> Result<usize, AreaMapError> {
        let count = self.number()? as usize;
        let room = (self.bytes.len() - self.at) / least;
        if count <= room {
            Ok(count)
        } else {
            Err(self.damaged())
        }
    }

    pub(super) fn text(&mut self) -> Result<&'a str, AreaMapError> {
        let length = self.count(1)?;
        let raw = self.bytes(length)?;
        std::str::from_utf8(raw).map_err(|_| self.damaged())
    }

    /// A finite number in IEEE 754 double precision, lowest byte first.
    pub(super) fn float(&mut self) -> Result<f64, AreaMapError> {
        let mut raw = [0; 8];
        raw.copy_from_slice(self.bytes(8)?);
        let value = f64::from_le_bytes(raw);
        if value.is_finite() {
            Ok(value)
        } else {
            Err(self.damaged())
        }
    }
}
