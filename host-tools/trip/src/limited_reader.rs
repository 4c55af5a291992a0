//! A reader that fails where a text is longer than a limit.

use std::io::{self, BufRead, Read};

/// Reads like what is in it, and fails where more comes than `left` bytes.
pub(crate) struct LimitedReader<R> {
    text: R,
    left: u64,
}

impl<R: BufRead> LimitedReader<R> {
    pub(crate) fn new(text: R, left: u64) -> Self {
        Self { text, left }
    }

    /// Bytes that may still come.
    pub(crate) fn left(&self) -> u64 {
        self.left
    }
}

impl<R: BufRead> Read for LimitedReader<R> {
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        let piece = self.fill_buf()?;
        let count = piece.len().min(bytes.len());
        bytes[..count].copy_from_slice(&piece[..count]);
        self.consume(count);
        Ok(count)
    }
}

impl<R: BufRead> BufRead for LimitedReader<R> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        let piece = self.text.fill_buf()?;
        if self.left == 0 && !piece.is_empty() {
            return Err(io::Error::other("it is longer than any journal is"));
        }
        let most = usize::try_from(self.left).unwrap_or(usize::MAX);
        Ok(&piece[..piece.len().min(most)])
    }

    fn consume(&mut self, count: usize) {
        self.left = self.left.saturating_sub(count as u64);
        self.text.consume(count);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(limit: u64, expected: Result<&str, ()>) {
        let mut text = String::new();
        let read = LimitedReader::new(&b"three words here"[..], limit).read_to_string(&mut text);
        assert_eq!(read.map(|_| text.as_str()).map_err(drop), expected);
    }

    #[test]
    fn what_is_too_long_is_an_error_and_not_a_shorter_text() {
        check(17, Ok("three words here"));
        check(16, Ok("three words here"));
        check(15, Err(()));
        check(0, Err(()));
    }
}
