//! Releasing the sound of a trip, interrupted at every step.

use std::cell::Cell;
use std::fs;
use std::path::Path;

use anyhow::bail;
use jumpseat_trip::{AudioDirection, AudioSegment, DamageSeverity, Trip};

use super::pack::{check_packed, encode};
use super::plan::{KeepDecision, KeepPlan};
use super::release_sound;

const TRIP: &str = "trip-000001-3fa2c1";

/// The demo's trip as the board wrote it: WAV files.
fn wav_trip(dir: &Path) -> Trip {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("demo")
        .join(TRIP);
    fs::create_dir_all(dir.join("audio")).unwrap();
    for name in ["trip.json", "journal.jsonl"] {
        fs::copy(demo.join(name), dir.join(name)).unwrap();
    }
    let packed = Trip::open(&demo).unwrap();
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    for segment in packed.segments() {
        let name = format!("{:06}-{}.wav", segment.number, segment.direction.name());
        let mut wav = hound::WavWriter::create(dir.join("audio").join(name), spec).unwrap();
        for sample in packed.read_segment(segment.number).unwrap() {
            wav.write_sample(sample).unwrap();
        }
        wav.finalize().unwrap();
    }
    Trip::open(dir).unwrap()
}

/// Some short segments are to be packed, the others to go.
fn plan_of(trip: &Trip) -> KeepPlan {
    let packed = 10..=14;
    let (pack, remove): (Vec<AudioSegment>, Vec<AudioSegment>) = trip
        .segments()
        .iter()
        .cloned()
        .partition(|segment| packed.contains(&segment.number));
    KeepPlan {
        trip: trip.id().to_owned(),
        start: None,
        decision: KeepDecision::Goes {
            contacts: 1,
            packed_files: pack.len(),
            packed_bytes: 0,
            gone_files: remove.len(),
            gone_bytes: 0,
        },
        dir: trip.dir().to_owned(),
        pack,
        remove,
    }
}

/// Sound of the packed segments, both ways.
fn sound(dir: &Path, (from, end): (u64, u64)) -> Vec<Vec<i16>> {
    let trip = Trip::open(dir).unwrap();
    let read = |direction| {
        let span = trip.read_span(direction, from, end - from).unwrap();
        span.samples
    };
    vec![read(AudioDirection::Rx), read(AudioDirection::Tx)]
}

fn losses(dir: &Path) -> Vec<String> {
    let trip = Trip::open(dir).unwrap();
    let damage = trip.damage().iter();
    let losses = damage.filter(|damage| damage.severity() == DamageSeverity::Loss);
    losses.map(ToString::to_string).collect()
}

/// Runs until the step with this number; false when there are fewer.
fn break_off_at(plan: &KeepPlan, last: usize) -> bool {
    let steps = Cell::new(0);
    let done = release_sound(plan, &mut || {
        steps.set(steps.get() + 1);
        if steps.get() > last {
            bail!("broken off");
        }
        Ok(())
    });
    done.is_err()
}

#[test]
fn broken_off_at_any_step_everything_that_stays_is_there_and_the_next_run_ends_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let whole = folder.path().join("whole").join(TRIP);
    let trip = wav_trip(&whole);
    let packed = plan_of(&trip).pack;
    let span = (packed[0].first_sample, packed[packed.len() - 1].end());
    let expected = sound(&whole, span);
    let unbroken = folder.path().join("unbroken").join(TRIP);
    release_sound(&plan_of(&wav_trip(&unbroken)), &mut || Ok(())).unwrap();
    let names = |dir: &Path| {
        let entries = fs::read_dir(dir.join("audio")).unwrap();
        let mut names: Vec<_> = entries.map(|entry| entry.unwrap().file_name()).collect();
        names.sort();
        names
    };
    let mut last = 0;
    loop {
        let dir = folder.path().join(format!("{last}")).join(TRIP);
        let plan = plan_of(&wav_trip(&dir));
        let broken = break_off_at(&plan, last);
        assert_eq!(sound(&dir, span), expected, "after step {last}");
        assert_eq!(losses(&dir), [""; 0], "after step {last}");
        release_sound(&plan, &mut || Ok(())).unwrap();
        assert_eq!(sound(&dir, span), expected, "went on after step {last}");
        assert_eq!(losses(&dir), [""; 0], "went on after step {last}");
        assert_eq!(names(&dir), names(&unbroken), "went on after step {last}");
        fs::remove_dir_all(dir).unwrap();
        if !broken {
            break;
        }
        last += 1;
    }
    println!("figure: keep: broken off at each of {last} steps");
    assert!(last > 30, "{last}");
    assert!(
        names(&unbroken)
            .iter()
            .all(|name| name.to_string_lossy().ends_with("flac"))
    );
}

#[test]
fn a_packed_file_that_does_not_decode_to_the_same_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("x.flac");
    let samples: Vec<i16> = (0..10_000).map(|n: i32| (n * 31 % 2_000) as i16).collect();
    let write = |samples: &[i16]| fs::write(&path, encode(samples, 16_000).unwrap()).unwrap();
    write(&samples);
    check_packed(&path, &samples).unwrap();
    let mut other = samples.clone();
    other[5_000] ^= 1;
    write(&other);
    check_packed(&path, &samples).unwrap_err();
    assert!(!path.exists());
    write(&samples[..9_000]);
    check_packed(&path, &samples).unwrap_err();
}
