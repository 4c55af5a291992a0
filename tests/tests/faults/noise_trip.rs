//! A trip of noise with two transmissions, recorded through the recorder's core.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use jumpseat_simulator::random::SeededRandom;
use jumpseat_simulator::scenario::OperatorStation;
use jumpseat_simulator::trip_recording;

/// The trip, made once: received to 2 s, sent to 4.5, received to 7, sent to 9,
/// received to 12 s.
pub(crate) fn trip() -> &'static Path {
    static TRIP: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    &TRIP
        .get_or_init(|| {
            let folder = tempfile::tempdir().unwrap();
            let trip = record(folder.path());
            (folder, trip)
        })
        .1
}

fn record(folder: &Path) -> PathBuf {
    let script = folder.join("script");
    fs::create_dir(&script).unwrap();
    let spec = hound::WavSpec {
        channels: 2,
        sample_rate: 16_000,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut wav = hound::WavWriter::create(script.join("drive.wav"), spec).unwrap();
    let mut random = SeededRandom::stream(7, "noise");
    for _ in 0..2 * 16_000 * 12 {
        wav.write_sample((random.bits() % 2_000) as i16).unwrap();
    }
    wav.finalize().unwrap();
    let keyed = [(2.0, true), (4.5, false), (7.0, true), (9.0, false)];
    let events = keyed.map(|(at, down)| format!("{{\"at_s\":{at},\"ptt\":{down}}}\n"));
    fs::write(script.join("events.jsonl"), events.concat()).unwrap();
    let station = OperatorStation {
        call: "W7QTM".into(),
        operator: "W7QTM".into(),
    };
    trip_recording::record(&script, &station, &folder.join("card"))
        .unwrap()
        .trip
}
