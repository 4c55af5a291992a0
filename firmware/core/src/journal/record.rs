//! The records of trip folder format version 1.

use heapless::String;
use serde::{Deserialize, Serialize};

/// Names one power-up of one board: eight lower-case hexadecimal digits.
pub type BootId = String<8>;
/// A short word such as a mode ("USB") or a date and time (RFC 3339).
pub type ShortText = String<40>;
/// A SHA-256 in hexadecimal digits.
pub type Sha256Hex = String<64>;
/// A sentence for a person, cut at 160 bytes.
pub type FaultDetail = String<160>;

/// Copies as much of `text` as fits; control characters become spaces, so that
/// a record stays one short line whatever a device sends.
pub fn clip<const N: usize>(text: &str) -> String<N> {
    let mut copy = String::new();
    for letter in text.chars() {
        let letter = if letter.is_control() { ' ' } else { letter };
        if copy.push(letter).is_err() {
            break;
        }
    }
    copy
}

/// One line of the journal.
///
/// `mono_ns` is the instant that the record is about, not the instant at which
/// it was written: a key edge found by the debouncer 8 ms later carries the time
/// of the edge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct JournalRecord {
    /// Counts the records of one journal from 1, without gaps.
    pub seq: u64,
    /// The power-up that `mono_ns` and the sample counts belong to.
    pub boot: BootId,
    /// `CLOCK_MONOTONIC` in nanoseconds. Never steps; unrelated to the date.
    pub mono_ns: u64,
    /// What happened.
    pub event: JournalEvent,
}

/// What a record reports. Sample counts are at 16 kHz, start from 0 at the first sample of
/// the trip, and include samples that were lost.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JournalEvent {
    /// The recorder started; the first record of every journal.
    Start {
        /// Name and version of the software.
        software: ShortText,
    },
    /// The fields of `trip.json` that matter most, because that file has no checksum.
    /// Follows the first record, and is repeated in every further file of the journal.
    Trip {
        /// Version of the trip folder: 1. A writer of a newer version states it here.
        format: u32,
        /// The trip's number on its card.
        trip: u32,
        /// The board's id, six hexadecimal digits.
        board: ShortText,
        /// The station's call sign.
        call: Option<ShortText>,
        /// The operator's call sign.
        operator: Option<ShortText>,
        /// Samples per second of every audio file.
        sample_rate: u32,
        /// Bits per sample.
        bits: u16,
        /// Channels of an audio file.
        channels: u16,
    },
    /// An audio file was created.
    SegmentOpened {
        /// Number in the file's name, from 1.
        segment: u32,
        /// Received or transmitted.
        direction: AudioDirection,
        /// Sample count of its first sample.
        first_sample: u64,
    },
    /// An audio file was completed, its header written and synced.
    SegmentClosed {
        /// Number in the file's name.
        segment: u32,
        /// Received or transmitted.
        direction: AudioDirection,
        /// Sample count of its first sample.
        first_sample: u64,
        /// Samples in it.
        count: u64,
    },
    /// The checksum of a closed audio file, which every copy must match.
    SegmentSum {
        /// Number in the file's name.
        segment: u32,
        /// SHA-256 of the bytes of its samples (not of its header), in lower-case
        /// hexadecimal digits.
        sha256: Sha256Hex,
    },
    /// An audio file could not be written or synced: only its first `count` samples can be
    /// trusted. Later ones are in another file, or in a gap.
    SegmentAbandoned {
        /// Number in the file's name.
        segment: u32,
        /// Received or transmitted.
        direction: AudioDirection,
        /// Sample count of its first sample.
        first_sample: u64,
        /// Samples that were synced before the failure.
        count: u64,
    },
    /// At the record's `mono_ns`, this many samples had arrived.
    Clock {
        /// Sample count.
        sample: u64,
    },
    /// UTC as the source reported it, unchanged: the date may be wrong before a fix.
    TimeFix {
        /// RFC 3339 with as many decimals as the source gave.
        utc: ShortText,
        /// Where it came from.
        source: TimeSource,
        /// The receiver claimed a fix at that moment.
        valid: bool,
        /// Upper bound on its error by the source's own account, in milliseconds; left out
        /// where it gives none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        within_ms: Option<f32>,
    },
    /// A pulse of the receiver: a full second began. The pulse does not identify which.
    Pulse {},
    /// A position as the source reported it, unchanged.
    PositionFix {
        /// Latitude in degrees, north positive, -90 to 90.
        lat: f64,
        /// Longitude in degrees, east positive, -180 to 180.
        lon: f64,
        /// Metres above mean sea level.
        alt_m: Option<f32>,
        /// Speed over ground in metres per second.
        speed_mps: Option<f32>,
        /// Satellites used.
        satellites: Option<u8>,
        /// Horizontal dilution of precision.
        hdop: Option<f32>,
        /// Where it came from.
        source: PositionSource,
        /// The receiver claimed a fix at that moment.
        valid: bool,
    },
    /// The transmitter was keyed (`down`) or released.
    Ptt {
        /// Keyed.
        down: bool,
    },
    /// The mark button was pressed. Synced before it is acknowledged.
    Mark {},
    /// A long press withdrew a mark. Nothing is erased: the mark's own record stays where
    /// it is.
    MarkWithdrawn {
        /// The `mono_ns` of the mark that no longer counts.
        mark_ns: u64,
    },
    /// The rig's dial setting, as rig control reported it.
    Dial {
        /// Frequency in hertz.
        hz: u64,
        /// Mode as rig control names it, such as "USB" or "FM".
        mode: ShortText,
    },
    /// Audio level of one channel since the last such record.
    Level {
        /// Which channel.
        direction: AudioDirection,
        /// Root mean square, in dB below full scale (0 is a full-scale square wave).
        rms_dbfs: f32,
        /// Highest magnitude, in dB below full scale.
        peak_dbfs: f32,
        /// Samples at either end of the scale.
        clipped: u32,
    },
    /// Samples that never arrived. They are counted but are in no file.
    Gap {
        /// Sample count of the first missing sample.
        first_sample: u64,
        /// How many are missing.
        count: u64,
        /// Why.
        fault: RecorderFault,
    },
    /// Something went wrong; recording goes on as far as it can.
    Fault {
        /// What.
        fault: RecorderFault,
        /// For a person.
        detail: FaultDetail,
    },
    /// A fault is over.
    Recovery {
        /// What.
        fault: RecorderFault,
        /// For a person.
        detail: FaultDetail,
    },
    /// The recorder ended properly; the last record of a complete journal.
    Shutdown {
        /// Why.
        reason: ShutdownReason,
    },
}

/// Received or transmitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AudioDirection {
    /// Received: the radio's output.
    Rx,
    /// Transmitted: what the operator said while the key was down.
    Tx,
}

impl AudioDirection {
    /// The name used in file names and records: "rx" or "tx".
    pub const fn name(self) -> &'static str {
        match self {
            Self::Rx => "rx",
            Self::Tx => "tx",
        }
    }
}

/// Where a time came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TimeSource {
    /// A sentence on the serial port, which arrives 50 to 600 ms late.
    Nmea,
    /// The GPS daemon.
    Gpsd,
    /// The board's own clock while the kernel called it synchronised.
    System,
    /// A pulse at the full second.
    Pulse,
}

/// Where a position came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PositionSource {
    /// A sentence on the serial port.
    Nmea,
    /// The GPS daemon.
    Gpsd,
}

/// What can go wrong without ending the recording.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RecorderFault {
    /// The sound device is absent, was unplugged or reported an error.
    Sound,
    /// Samples arrived faster than they were taken: the queue was full.
    Overflow,
    /// No samples arrive although the device is open.
    NoSamples,
    /// The GPS receiver or its daemon does not answer.
    Gps,
    /// Rig control is not configured or does not answer.
    Dial,
    /// A line (PTT, mark, lamp or sounder) cannot be read or driven.
    Line,
    /// The card is full or nearly so.
    CardFull,
    /// Writing or syncing failed.
    Storage,
}

/// Why a recording ended properly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ShutdownReason {
    /// The system asked for it (SIGTERM or SIGINT).
    Signal,
    /// The input files ended.
    EndOfInput,
    /// The ignition went off.
    Ignition,
    /// The supply voltage fell.
    LowSupply,
}
