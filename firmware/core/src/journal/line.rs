//! Encodes a record as a journal line, and verifies the checksum of a line.

use core::fmt::Write as _;

use crc::{CRC_32_ISCSI, Crc};
use heapless::Vec;

use super::JournalRecord;

/// Longest line in bytes, newline included.
pub const MAX_JOURNAL_LINE: usize = 512;

/// CRC-32C (Castagnoli), the polynomial of RFC 3720 §12.1.
const LINE_CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISCSI);

/// A space and eight hexadecimal digits.
const TRAILER_BYTES: usize = 9;

/// Why a line is not a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum JournalLineError {
    /// The record does not fit in [`MAX_JOURNAL_LINE`].
    #[error("the record is longer than a journal line may be")]
    TooLong,
    /// The line is too short, or its last nine bytes are not a space and a checksum.
    #[error("the line does not end in a checksum")]
    NoChecksum,
    /// The checksum is not that of the text before it.
    #[error("the checksum does not match: the line is damaged")]
    Damaged,
}

/// Encodes a record as one line: JSON, a space, CRC-32C in hex, a newline.
pub fn encode(record: &JournalRecord) -> Result<Vec<u8, MAX_JOURNAL_LINE>, JournalLineError> {
    let mut line = Vec::<u8, MAX_JOURNAL_LINE>::new();
    line.resize_default(MAX_JOURNAL_LINE)
        .map_err(|_| JournalLineError::TooLong)?;
    let length =
        serde_json_core::to_slice(record, &mut line).map_err(|_| JournalLineError::TooLong)?;
    line.truncate(length);
    let sum = LINE_CRC.checksum(&line);
    writeln!(line, " {sum:08x}").map_err(|_| JournalLineError::TooLong)?;
    Ok(line)
}

/// Checks a line (with or without its newline) and returns its JSON part.
pub fn verify(line: &[u8]) -> Result<&[u8], JournalLineError> {
    let line = line.strip_suffix(b"\n").unwrap_or(line);
    let cut = line
        .len()
        .checked_sub(TRAILER_BYTES)
        .ok_or(JournalLineError::NoChecksum)?;
    let (json, trailer) = line.split_at(cut);
    let digits = match trailer.split_first() {
        Some((b' ', digits)) => digits,
        _ => return Err(JournalLineError::NoChecksum),
    };
    let mut sum = 0_u32;
    for &digit in digits {
        let value = match digit {
            b'0'..=b'9' => digit - b'0',
            b'a'..=b'f' => digit - b'a' + 10,
            _ => return Err(JournalLineError::NoChecksum),
        };
        sum = (sum << 4) | u32::from(value);
    }
    if sum == LINE_CRC.checksum(json) {
        Ok(json)
    } else {
        Err(JournalLineError::Damaged)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{AudioDirection, JournalEvent};
    use super::*;

    fn record(event: JournalEvent) -> JournalRecord {
        JournalRecord {
            seq: 7,
            boot: "9f2c41d0".try_into().unwrap(),
            mono_ns: 12_345,
            event,
        }
    }

    #[track_caller]
    fn check(event: JournalEvent, json: &str) {
        let line = encode(&record(event.clone())).unwrap();
        assert_eq!(line.last(), Some(&b'\n'));
        let text = verify(&line).unwrap();
        assert_eq!(core::str::from_utf8(text).unwrap(), json);
        let (back, used) = serde_json_core::from_slice::<JournalRecord>(text).unwrap();
        assert_eq!((back, used), (record(event), text.len()));
    }

    #[test]
    fn a_record_is_one_readable_line_and_reads_back() {
        check(
            JournalEvent::Ptt { down: true },
            r#"{"seq":7,"boot":"9f2c41d0","mono_ns":12345,"event":{"ptt":{"down":true}}}"#,
        );
        check(
            JournalEvent::Mark {},
            r#"{"seq":7,"boot":"9f2c41d0","mono_ns":12345,"event":{"mark":{}}}"#,
        );
        check(
            JournalEvent::SegmentClosed {
                segment: 3,
                direction: AudioDirection::Tx,
                first_sample: 16,
                count: 99,
            },
            r#"{"seq":7,"boot":"9f2c41d0","mono_ns":12345,"event":{"segment_closed":{"segment":3,"direction":"tx","first_sample":16,"count":99}}}"#,
        );
        check(
            JournalEvent::Dial {
                hz: 14_250_000,
                mode: "USB".try_into().unwrap(),
            },
            r#"{"seq":7,"boot":"9f2c41d0","mono_ns":12345,"event":{"dial":{"hz":14250000,"mode":"USB"}}}"#,
        );
    }

    #[test]
    fn the_longest_header_fits_in_a_line() {
        // A character that must be escaped takes two bytes.
        let worst = || "\"".repeat(40).as_str().try_into().unwrap();
        let header = JournalEvent::Trip {
            format: u32::MAX,
            trip: u32::MAX,
            board: worst(),
            call: Some(worst()),
            operator: Some(worst()),
            sample_rate: u32::MAX,
            bits: u16::MAX,
            channels: u16::MAX,
        };
        let longest = JournalRecord {
            seq: u64::MAX,
            boot: "9f2c41d0".try_into().unwrap(),
            mono_ns: u64::MAX,
            event: header,
        };
        let line = encode(&longest).unwrap();
        let text = verify(&line).unwrap();
        let mut unescaped = [0; MAX_JOURNAL_LINE];
        let read = serde_json_core::from_slice_escaped::<JournalRecord>(text, &mut unescaped);
        assert_eq!(read.unwrap().0, longest);
    }

    #[test]
    fn the_checksum_is_the_published_one() {
        // RFC 3720 appendix B.4: CRC-32C of 32 bytes of zeros, and of ones.
        assert_eq!(LINE_CRC.checksum(&[0; 32]), 0x8a91_36aa);
        assert_eq!(LINE_CRC.checksum(&[0xff; 32]), 0x62a8_ab43);
    }

    #[test]
    fn any_single_flipped_bit_is_found() {
        let line = encode(&record(JournalEvent::Ptt { down: false })).unwrap();
        for bit in 0..(line.len() - 1) * 8 {
            let mut torn = line.clone();
            torn[bit / 8] ^= 1 << (bit % 8);
            assert!(verify(&torn).is_err(), "bit {bit}");
        }
    }
}
