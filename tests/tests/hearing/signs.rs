//! How many signs are read exactly, and that nothing is read in noise.

use jumpseat_simulator::random::SeededRandom;
use jumpseat_speech::{Hearing, RtenModel, SpeechRecogniser};

use crate::channel::{self, RATE};
use crate::voices;

const LETTERS: &[u8] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZ";
/// Series that begin with one letter, and with two.
const ONE: &[u8] = b"FGIKMNRW";
const SIGNS: usize = 40;

/// An invented sign; the suffix is one that no amateur is given.
fn sign(random: &mut SeededRandom) -> String {
    let mut pick = |from: &[u8]| char::from(*random.pick(from).unwrap());
    let mut sign = match pick(b"12") {
        '1' => pick(ONE).to_string(),
        _ => format!("{}{}", pick(ONE), pick(LETTERS)),
    };
    sign.push(pick(b"0123456789"));
    sign.push('Q');
    sign.push(pick(b"RSTU"));
    sign.push(pick(LETTERS));
    sign
}

fn first(hearing: &Hearing) -> Option<&str> {
    let best = hearing
        .signs
        .iter()
        .max_by(|a, b| a.probability.total_cmp(&b.probability));
    best.map(|s| s.text.as_str())
}

/// Says every sign with `say` through the channel; at least `floor` percent must be read
/// exactly, and as many as one in `SIGNS` more often than not.
#[track_caller]
fn check(
    name: &str,
    snr_db: Option<f32>,
    floor: usize,
    say: &dyn Fn(&str, &mut SeededRandom) -> Vec<f32>,
) {
    let ear = SpeechRecogniser::<RtenModel>::built_in().unwrap();
    let mut random = SeededRandom::stream(11, name);
    let mut wrong = Vec::new();
    for _ in 0..SIGNS {
        let sign = sign(&mut random);
        let said = channel::through(&say(&sign, &mut random), snr_db, &mut random);
        let hearing = ear.hear(&said, RATE).unwrap();
        if first(&hearing) != Some(sign.as_str()) {
            wrong.push((sign, first(&hearing).unwrap_or("nothing").to_string()));
        }
    }
    let right = 100 * (SIGNS - wrong.len()) / SIGNS;
    println!("figure: signs read exactly, {name}: {right} % of {SIGNS}, at least {floor} %");
    assert!(right >= floor, "{name}: {right} %; {wrong:?}");
}

fn once(sign: &str, random: &mut SeededRandom) -> Vec<f32> {
    voices::recorded(sign, random)
}

fn twice(sign: &str, random: &mut SeededRandom) -> Vec<f32> {
    let quiet = vec![0.0; RATE as usize / 4];
    [once(sign, random), quiet, once(sign, random)].concat()
}

#[test]
fn a_real_speaker_is_read_without_noise() {
    check("real speaker, clean", None, 97, &once);
}

#[test]
fn a_real_speaker_is_read_at_12_db() {
    check("real speaker, 12 dB", Some(12.0), 92, &once);
}

#[test]
fn a_real_speaker_is_read_at_6_db() {
    check("real speaker, 6 dB", Some(6.0), 80, &once);
}

#[test]
fn a_sign_said_twice_is_read_more_often() {
    check("real speaker, 6 dB, said twice", Some(6.0), 85, &twice);
}

#[test]
fn a_synthetic_voice_never_heard_before_is_read() {
    let folder = tempfile::tempdir().unwrap();
    check("flite, clean", None, 92, &|sign, _| {
        voices::flite(&voices::spelt(sign), folder.path())
    });
}

#[test]
fn no_sign_is_read_in_noise_or_talk() {
    let ear = SpeechRecogniser::<RtenModel>::built_in().unwrap();
    let mut random = SeededRandom::stream(12, "noise");
    let noise = ear.hear(&channel::noise(300, &mut random), RATE).unwrap();
    assert!(
        noise.signs.iter().all(|s| s.probability < 0.5),
        "{:?}",
        noise.signs
    );
    let folder = tempfile::tempdir().unwrap();
    let talk = "we are heading down the interstate and the weather is sunny. my rig is in the trunk of the car. \
        the club meets every second tuesday, so bring a chair and some coffee. propagation has been poor all week.";
    let said = channel::through(&voices::flite(talk, folder.path()), Some(20.0), &mut random);
    let talk = ear.hear(&said, RATE).unwrap();
    assert!(
        talk.signs.iter().all(|s| s.probability < 0.5),
        "{:?}",
        talk.signs
    );
}
