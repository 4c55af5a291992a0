//! What the board noted of its own files is what a copy is held to.

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_simulator::random::SeededRandom;
use jumpseat_simulator::scenario::OperatorStation;
use jumpseat_simulator::trip_recording;

use crate::server::Server;

/// Records a drive of noise with two transmissions through the recorder's core.
fn recorded(folder: &Path, card: &Path) -> PathBuf {
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
    trip_recording::record(&script, &station, card)
        .unwrap()
        .trip
}

/// Pulls after something was done to the second sound file; what was said, and
/// whether the board was given a receipt.
fn pull_after(change: impl FnOnce(&Path)) -> (String, Option<i32>, bool) {
    let server = Server::start();
    let trip = recorded(&server.at(""), &server.card());
    change(&trip.join("audio/000002-tx.wav"));
    let home = server.at("home");
    let output = server.pull(server.port, &home);
    // The second pull finds nothing new, and is no less careful.
    let again = server.pull(server.port, &home);
    assert_eq!(again.status.code(), output.status.code());
    let name = trip.file_name().unwrap().to_str().unwrap();
    let receipt = server.card().join(format!("receipts/{name}.json")).exists();
    assert!(
        home.join("trips")
            .join(name)
            .join("audio/000002-tx.wav")
            .exists()
    );
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    (said, output.status.code(), receipt)
}

#[test]
fn every_file_is_held_to_the_hash_in_the_boards_journal() {
    let (said, code, receipt) = pull_after(|_| ());
    assert_eq!((code, receipt), (Some(0), true), "{said}");
    // One bit of one sample: the card is failing. What it gives is kept, and the
    // board is not told that it may go.
    let (said, code, receipt) = pull_after(|file| {
        let mut bytes = fs::read(file).unwrap();
        bytes[4_000] ^= 1;
        fs::write(file, bytes).unwrap();
    });
    assert_eq!((code, receipt), (Some(3), false), "{said}");
    assert!(
        said.contains("000002-tx.wav is not what the board recorded"),
        "{said}"
    );
    let (said, code, receipt) = pull_after(|file| {
        let bytes = fs::read(file).unwrap();
        fs::write(file, &bytes[..bytes.len() - 2]).unwrap();
    });
    assert_eq!((code, receipt), (Some(3), false), "{said}");
}
