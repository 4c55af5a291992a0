//! Trips of a few seconds of the demo drive's sound, with three minutes lost in between,
//! as the board writes them.

use std::fs;
use std::path::Path;

use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};
use jumpseat_core::journal::{
    AudioDirection, JournalEvent, JournalRecord, PositionSource, RecorderFault, ShutdownReason,
    TimeSource, clip,
};
use jumpseat_test_kit::demo_card;
use jumpseat_tests::journal_file;
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};

const RATE: u64 = 16_000;
const BEGIN_NS: u64 = 60_000_000_000;
const BOOT: &str = "025bfc02";

/// Part of a trip: where it begins in samples, which way it went, and the demo's file
/// whose first samples it takes.
type TripPiece = (u64, AudioDirection, &'static str, usize);

use AudioDirection::{Rx, Tx};

/// A call and its answer with speech in them, and far from these something else.
pub(crate) const WHOLE: &[TripPiece] = &[
    (0, Rx, "000001-rx.flac", 8_000),
    (8_000, Tx, "000002-tx.flac", 32_000),
    (40_000, Rx, "000005-rx.flac", 64_000),
    (200 * RATE, Rx, "000001-rx.flac", 8_000),
    (200 * RATE + 8_000, Tx, "000002-tx.flac", 8_000),
];

/// Writes a trip into the folder of a card.
pub(crate) fn write(card: &Path, number: u64, pieces: &[TripPiece]) {
    let trip = card.join(format!("trip-{number:06}-3fa2c1"));
    let demo = demo_card().join("trip-000001-3fa2c1");
    fs::create_dir_all(trip.join("audio")).unwrap();
    let header = fs::read_to_string(demo.join("trip.json")).unwrap();
    let header = header.replace("\"trip\":1,", &format!("\"trip\":{number},"));
    fs::write(trip.join("trip.json"), header).unwrap();
    let mut records = JournalBuilder(Vec::new());
    let software = clip("jumpseat-recorder 0.1.0");
    records.push(0, JournalEvent::Start { software });
    let dial = JournalEvent::Dial {
        hz: 14_287_500,
        mode: clip("USB"),
    };
    records.push(0, dial);
    let mut end = 0;
    for (segment, &(first_sample, direction, from, count)) in (1..).zip(pieces) {
        if first_sample > end {
            records.push(
                first_sample,
                JournalEvent::Gap {
                    first_sample: end,
                    count: first_sample - end,
                    fault: RecorderFault::Overflow,
                },
            );
        }
        records.push(
            first_sample,
            JournalEvent::SegmentOpened {
                segment,
                direction,
                first_sample,
            },
        );
        records.push(
            first_sample,
            JournalEvent::Clock {
                sample: first_sample,
            },
        );
        let samples = jumpseat_trip::read_sound(&demo.join("audio").join(from), count as u64);
        let samples = &samples.unwrap()[..count];
        let name = format!("audio/{segment:06}-{}.wav", direction.name());
        let sum = wav(&trip.join(name), samples);
        end = first_sample + count as u64;
        records.push(end, JournalEvent::Clock { sample: end });
        let count = count as u64;
        records.push(
            end,
            JournalEvent::SegmentClosed {
                segment,
                direction,
                first_sample,
                count,
            },
        );
        records.push(
            end,
            JournalEvent::SegmentSum {
                segment,
                sha256: clip(&sum),
            },
        );
    }
    records.push(60_000, JournalEvent::Mark {});
    for second in 0..end / RATE {
        records.fix(second);
    }
    let reason = ShutdownReason::Signal;
    records.push(end, JournalEvent::Shutdown { reason });
    let journal = journal_file::text(records.0).unwrap();
    fs::write(trip.join("journal.jsonl"), journal).unwrap();
}

struct JournalBuilder(Vec<JournalRecord>);

impl JournalBuilder {
    fn push(&mut self, sample: u64, event: JournalEvent) {
        self.0.push(JournalRecord {
            seq: 0,
            boot: clip(BOOT),
            mono_ns: BEGIN_NS + sample * 1_000_000_000 / RATE,
            event,
        });
    }

    fn fix(&mut self, second: u64) {
        let since = TimeDelta::seconds(1_778_770_931 + second as i64);
        let utc = DateTime::<Utc>::UNIX_EPOCH + since;
        let time = JournalEvent::TimeFix {
            utc: clip(&utc.to_rfc3339_opts(SecondsFormat::Secs, true)),
            source: TimeSource::Nmea,
            valid: true,
            within_ms: None,
        };
        self.push(second * RATE, time);
        let place = JournalEvent::PositionFix {
            lat: 41.5,
            lon: -109.6 + second as f64 * 2.8e-4,
            alt_m: None,
            speed_mps: Some(25.0),
            satellites: Some(9),
            hdop: Some(1.0),
            source: PositionSource::Nmea,
            valid: true,
        };
        self.push(second * RATE, place);
    }
}

/// Writes a WAV file; gives the checksum of its samples.
fn wav(path: &Path, samples: &[i16]) -> String {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE as u32,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(path, spec).unwrap();
    let mut sum = Sha256::new();
    for &sample in samples {
        wav.write_sample(sample).unwrap();
        sum.update(sample.to_le_bytes());
    }
    wav.finalize().unwrap();
    hex(&sum.finalize())
}
