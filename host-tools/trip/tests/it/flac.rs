//! A kept trip may hold FLAC.

use std::fs;
use std::path::Path;

use flacenc::bitsink::ByteSink;
use flacenc::component::BitRepr;
use flacenc::error::Verify;
use jumpseat_core::journal::AudioDirection;
use jumpseat_trip::{FlacFile, HealthVerdict, SegmentState, Timeline, health};

use crate::folder::{TestTripFolder, damage_of, ramp};

fn write_flac(path: &Path, samples: &[i16]) {
    let config = flacenc::config::Encoder::default().into_verified().unwrap();
    let samples: Vec<i32> = samples.iter().map(|&sample| sample.into()).collect();
    let source = flacenc::source::MemSource::from_samples(&samples, 1, 16, 16_000);
    let stream = flacenc::encode_with_fixed_block_size(&config, source, config.block_size).unwrap();
    let mut sink = ByteSink::new();
    stream.write(&mut sink).unwrap();
    fs::write(path, sink.as_slice()).unwrap();
}

/// A whole trip whose transmit segment was packed.
fn packed() -> TestTripFolder {
    let folder = TestTripFolder::whole();
    let wav = folder.audio(2, AudioDirection::Tx);
    let samples: Vec<i16> = (0..16_000_i32)
        .map(|n| (n * 7_919 % 65_536 - 32_768) as i16)
        .collect();
    write_flac(&wav.with_extension("flac"), &samples);
    fs::remove_file(wav).unwrap();
    folder
}

#[test]
fn flac_reads_to_the_same_samples() {
    let folder = packed();
    let trip = folder.open().unwrap();
    assert_eq!(damage_of(&trip), [""; 0]);
    assert_eq!(trip.segments()[1].state, SegmentState::Closed);
    let samples = trip.read_segment(2).unwrap();
    assert_eq!(samples.len(), 16_000);
    for (n, &sample) in (0..).zip(&samples) {
        assert_eq!(i32::from(sample), n * 7_919 % 65_536 - 32_768, "{n}");
    }
}

#[test]
fn a_cut_flac_gives_what_is_there_and_check_says_so() {
    let folder = packed();
    let path = folder.audio(2, AudioDirection::Tx).with_extension("flac");
    let bytes = fs::read(&path).unwrap();
    fs::write(&path, &bytes[..bytes.len() / 2]).unwrap();
    let trip = folder.open().unwrap();
    let samples = trip.read_segment(2).unwrap();
    assert!(
        (4_000..12_000).contains(&samples.len()),
        "{}",
        samples.len()
    );
    let report = health(&trip, &Timeline::of(&trip));
    assert_eq!(report.verdict, HealthVerdict::Doubtful);
    assert!(report.to_string().contains("of 16000 samples"), "{report}");
}

#[test]
fn what_only_says_flac_is_told() {
    let folder = packed();
    let path = folder.audio(2, AudioDirection::Tx).with_extension("flac");
    fs::write(&path, "fLaC and nothing more").unwrap();
    let trip = folder.open().unwrap();
    assert_eq!(trip.segments()[1].state, SegmentState::Missing);
    let damage = damage_of(&trip);
    assert!(
        damage[0].contains("not a sound file of a trip"),
        "{damage:?}"
    );
}

#[test]
fn of_a_wav_and_a_flac_the_boards_own_wav_is_taken() {
    let folder = TestTripFolder::whole();
    let wav = folder.audio(2, AudioDirection::Tx);
    write_flac(&wav.with_extension("flac"), &[1; 16_000]);
    let trip = folder.open().unwrap();
    assert_eq!(trip.read_segment(2).unwrap(), ramp(32_000, 16_000));
    assert!(damage_of(&trip)[0].starts_with("audio/000002-tx.flac: this file does not belong"));
}

/// Where the header has the number of samples, whose first four bits share a byte, and
/// the checksum of the sound (RFC 9639 §8.2).
const COUNT: std::ops::Range<usize> = 22..26;
const CHECKSUM: std::ops::Range<usize> = 26..42;

/// Reads a file of 16,000 samples, changed by `change`, block by block: how many samples
/// came, and what was told at the end.
#[track_caller]
fn check(change: impl Fn(&mut Vec<u8>), count: std::ops::Range<usize>, says: &str) {
    let folder = packed();
    let path = folder.audio(2, AudioDirection::Tx).with_extension("flac");
    let mut bytes = fs::read(&path).unwrap();
    change(&mut bytes);
    fs::write(&path, bytes).unwrap();
    let mut samples: Vec<i16> = Vec::new();
    let mut told = String::new();
    for block in FlacFile::open(&path).unwrap() {
        match block {
            Ok(block) => samples.extend(block),
            Err(error) => told = error.to_string(),
        }
    }
    assert!(count.contains(&samples.len()), "{}: {told}", samples.len());
    let expected = (0..).map(|n: i32| (n * 7_919 % 65_536 - 32_768) as i16);
    assert!(expected.zip(&samples).all(|(one, &other)| one == other));
    assert_eq!(told.is_empty(), says.is_empty(), "{told}");
    assert!(told.contains(says), "{told}");
}

#[test]
fn a_flac_file_says_at_its_end_whether_it_is_whole() {
    let unknown = |bytes: &mut Vec<u8>| bytes[COUNT].fill(0);
    let cut = |bytes: &mut Vec<u8>| bytes.truncate(bytes.len() / 2);
    let hit = |bytes: &mut Vec<u8>| {
        let middle = bytes.len() / 2;
        bytes[middle] ^= 0x10;
    };
    let all = 16_000..16_001;
    let half = 4_000..12_000;
    check(|_| (), all.clone(), "");
    check(cut, half.clone(), "of 16000 samples; mend it");
    check(hit, half.clone(), "of 16000 samples; mend it");
    check(|bytes| bytes[CHECKSUM].fill(0), all.clone(), "");
    check(|bytes| bytes[CHECKSUM.start] ^= 1, all.clone(), "checksum");
    check(unknown, all, "");
    for damage in [cut as fn(&mut Vec<u8>), hit] {
        let both = |bytes: &mut Vec<u8>| {
            unknown(bytes);
            damage(bytes);
        };
        check(both, half.clone(), "damaged or cut after");
    }
}
