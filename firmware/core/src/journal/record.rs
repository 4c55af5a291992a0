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
    /// Counts the records of one journal from 1, without holes.
    pub seq: u64,
    /// The power-up that `mono_ns` and the sample counts belong to.
    pub boot: BootId,
    /// `CLOCK_MONOTONIC` in nanoseconds. Never steps; says nothing of the date.
    pub mono_ns: u64,
    /// What happened.
    pub event: JournalEvent,
}

/// What a record says. Sample counts are at 16 kHz and start from 0 at the
/// first sample of the trip, counting samples that were lost as well.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum JournalEvent {
    /// The recorder started; the first record of every journal.
    Start {
        /// Name and version of the software.
        software: ShortText,
    },
    /// What matters of `trip.json`, which has no checksum of its own. Follows the
    /// first record, and comes again in every further file of the journal.
    Trip {
        /// Version of the trip folder: 1. Whatever writes a newer one says so here.
        format: u32,
        /// The trip's number on its card.
        trip: u32,
        /// The board's id, six hexadecimal digits.
        board: ShortText,
        /// The station's call sign.
        call: Option<ShortText>,
        /// The operator's call sign.
        operator: Option<ShortText>,
        /// Samples a second of every audio file.
        sample_rate: u32,
        /// Bits a sample.
        bits: u16,
        /// Channels of an audio file.
        channels: u16,
    },
    /// An audio file was created.
    SegmentOpened {
        /// Number in the file's name, from 1.
        segment: u32,
        /// Which way the audio went.
        direction: AudioDirection,
        /// Sample count of its first sample.
        first_sample: u64,
    },
    /// An audio file was completed, its header written and synced.
    SegmentClosed {
        /// Number in the file's name.
        segment: u32,
        /// Which way the audio went.
        direction: AudioDirection,
        /// Sample count of its first sample.
        first_sample: u64,
        /// Samples in it.
        count: u64,
    },
    /// What a closed audio file holds, so that a copy can be held to it.
    SegmentSum {
        /// Number in the file's name.
        segment: u32,
        /// SHA-256 of the bytes of its samples (not of its header), in lower-case
        /// hexadecimal digits.
        sha256: Sha256Hex,
    },
    /// An audio file could not be written or synced: only its first `count`
    /// samples are to be trusted. What came after them stands in another file,
    /// or in a gap.
    SegmentAbandoned {
        /// Number in the file's name.
        segment: u32,
        /// Which way the audio went.
        direction: AudioDirection,
        /// Sample count of its first sample.
        first_sample: u64,
        /// Samples that were synced before the trouble.
        count: u64,
    },
    /// At the record's `mono_ns`, this many samples had arrived.
    Clock {
        /// Sample count.
        sample: u64,
    },
    /// A statement of UTC, raw as it came: the date may be wrong before a fix.
    TimeFix {
        /// RFC 3339 with as many decimals as the source gave.
        utc: ShortText,
        /// Where it came from.
        source: TimeSource,
        /// The receiver said that it had a fix at that moment.
        valid: bool,
        /// How far off the source says that it is at most, in milliseconds;
        /// left out where it does not say.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        within_ms: Option<f32>,
    },
    /// A pulse of the receiver: a full second began. Which one, it does not say.
    Pulse {},
    /// A statement of place, raw as it came.
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
        /// The receiver said that it had a fix at that moment.
        valid: bool,
    },
    /// The transmitter was keyed (`down`) or released.
    Ptt {
        /// Keyed.
        down: bool,
    },
    /// The mark button was pressed. Synced before it is acknowledged.
    Mark {},
    /// A long press took a mark back. Nothing is erased: the mark's own record
    /// stays where it is.
    MarkWithdrawn {
        /// The `mono_ns` of the mark that no longer counts.
        mark_ns: u64,
    },
    /// The rig's dial, as rig control told it.
    Dial {
        /// Frequency in hertz.
        hz: u64,
        /// Mode in rig control's word, such as "USB" or "FM".
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
    /// Samples that never arrived. They are counted but stand in no file.
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
    /// What was wrong is right again.
    Recovery {
        /// What.
        fault: RecorderFault,
        /// For a person.
        detail: FaultDetail,
    },
    /// The recorder stopped in order; the last record of a clean journal.
    Shutdown {
        /// Why.
        reason: ShutdownReason,
    },
}

/// Which way the audio went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AudioDirection {
    /// Received: what came back.
    Rx,
    /// Transmitted: what the operator said while the key was down.
    Tx,
}

impl AudioDirection {
    /// The word used in file names and records: "rx" or "tx".
    pub const fn name(self) -> &'static str {
        match self {
            Self::Rx => "rx",
            Self::Tx => "tx",
        }
    }
}

/// Who said what time it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TimeSource {
    /// A sentence on the serial port: late by 50 to 600 ms.
    Nmea,
    /// The GPS daemon.
    Gpsd,
    /// The board's own clock while the kernel called it synchronised.
    System,
    /// A pulse at the full second.
    Pulse,
}

/// Who said where we were.
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
    /// Samples came faster than they could be taken: the queue was full.
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

/// Why a recording ended in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ShutdownReason {
    /// The system asked (SIGTERM or SIGINT).
    Signal,
    /// Input from files came to its end.
    EndOfInput,
    /// The ignition went off.
    Ignition,
    /// The supply voltage fell.
    LowSupply,
}
