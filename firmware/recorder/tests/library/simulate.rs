//! Drive scripts played into a trip folder.

use std::path::Path;

use jumpseat_core::AudioFrame;
use jumpseat_core::journal::{AudioDirection, JournalEvent};
use jumpseat_recorder::config::RecorderConfig;
use jumpseat_recorder::simulate::{
    START_NS, SimulationEvent, SimulationInput, SimulationScript, run,
};

use crate::support::records;

/// Receive counts up, transmit counts down, so that every sample can be identified.
fn counting(count: u64) -> Vec<AudioFrame> {
    (0..count)
        .map(|n| AudioFrame {
            rx: n as i16,
            tx: -1 - n as i16,
        })
        .collect()
}

fn at(at_s: f64, what: SimulationInput) -> SimulationEvent {
    SimulationEvent { at_s, input: what }
}

fn config() -> RecorderConfig {
    RecorderConfig::parse("card.board = \"3fa2c1\"\nstation.call = \"W7QTM\"").unwrap()
}

fn samples(trip: &Path, name: &str) -> Vec<i16> {
    let mut wav = hound::WavReader::open(trip.join("audio").join(name)).unwrap();
    wav.samples().collect::<Result<_, _>>().unwrap()
}

fn drive() -> SimulationScript {
    let sentence = "$GPRMC,150211,A,4124.8963,N,08151.6838,W,20.0,85.5,140526,,*08";
    let dial = SimulationInput::Dial {
        hz: 14_250_000,
        mode: "USB".to_owned(),
    };
    SimulationScript::new(
        counting(10 * 16_000),
        vec![
            at(2.0, SimulationInput::Ptt(true)),
            at(2.003, SimulationInput::Ptt(false)),
            at(2.004, SimulationInput::Ptt(true)),
            at(5.5, SimulationInput::Ptt(false)),
            at(6.0, SimulationInput::Mark(true)),
            at(6.2, SimulationInput::Mark(false)),
            at(0.5, SimulationInput::Nmea(sentence.to_owned())),
            at(0.1, dial),
        ],
    )
}

#[test]
fn a_script_becomes_a_trip_cut_at_its_key_edges() {
    let card = tempfile::tempdir().unwrap();
    let done = run(drive(), &config(), card.path()).unwrap();
    assert_eq!((done.samples, done.marks), (160_000, 1));
    assert!(done.trip.ends_with("trip-000001-3fa2c1"));
    let mut closed = Vec::new();
    let mut kinds = Vec::new();
    for (seq, record) in (1..).zip(records(&done.trip)) {
        assert_eq!(record.seq, seq);
        match record.event {
            JournalEvent::SegmentClosed {
                direction,
                first_sample,
                count,
                ..
            } => closed.push((direction, first_sample, count)),
            JournalEvent::Ptt { down } => {
                kinds.push((record.mono_ns, if down { "down" } else { "up" }))
            }
            JournalEvent::Mark {} => kinds.push((record.mono_ns, "mark")),
            JournalEvent::TimeFix { valid: true, .. } => kinds.push((record.mono_ns, "time")),
            JournalEvent::Dial { hz: 14_250_000, .. } => kinds.push((record.mono_ns, "dial")),
            _ => {}
        }
    }
    use AudioDirection::{Rx, Tx};
    let spans = [(Rx, 0, 32_000), (Tx, 32_000, 56_000), (Rx, 88_000, 72_000)];
    assert_eq!(closed, spans);
    let ms = |ms: u64| START_NS + ms * 1_000_000;
    let told = [
        (ms(100), "dial"),
        (ms(500), "time"),
        (ms(2_000), "down"),
        (ms(5_500), "up"),
        (ms(6_000), "mark"),
    ];
    assert_eq!(kinds, told);
    let over: Vec<i16> = counting(88_000)[32_000..].iter().map(|f| f.tx).collect();
    assert_eq!(samples(&done.trip, "000002-tx.wav"), over);
}

#[test]
fn the_same_script_gives_the_same_bytes() {
    let (one, two) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let bytes = |card: &Path| {
        let done = run(drive(), &config(), card).unwrap();
        ["trip.json", "journal.jsonl", "audio/000003-rx.wav"]
            .map(|name| std::fs::read(done.trip.join(name)).unwrap())
    };
    assert!(bytes(one.path()) == bytes(two.path()));
}

#[track_caller]
fn refused(events: &str, spec: (u16, u32), says: &str) {
    let dir = tempfile::tempdir().unwrap();
    let spec = hound::WavSpec {
        channels: spec.0,
        sample_rate: spec.1,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    hound::WavWriter::create(dir.path().join("drive.wav"), spec)
        .unwrap()
        .finalize()
        .unwrap();
    std::fs::write(dir.path().join("events.jsonl"), events).unwrap();
    let card = dir.path().join("card");
    let error = SimulationScript::open(dir.path())
        .and_then(|script| run(script, &config(), &card))
        .unwrap_err();
    assert!(error.to_string().contains(says), "{error}");
}

#[test]
fn a_wrong_script_is_told_with_its_line() {
    refused(
        "{\"at_s\":1,\"ptt\":true}\n{\"at_s\":2}\n",
        (2, 16_000),
        "line 2: an event has",
    );
    refused(
        "{\"at_s\":1,\"key\":true}\n",
        (2, 16_000),
        "unknown field `key`",
    );
    refused("", (1, 16_000), "1 channels, 16000 Hz");
    refused("", (2, 48_000), "2 channels, 48000 Hz");
}
