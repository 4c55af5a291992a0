//! Packed sound in the library is held to what the board wrote down of its samples.

use std::fs;
use std::path::PathBuf;

use jumpseat_simulator::pack::pack;
use jumpseat_test_kit::{TestHome, copy_folder};

use crate::noise_trip;

/// A library with a trip whose sound was packed as `keep` does it.
fn library(home: &TestHome) -> PathBuf {
    let name = noise_trip::trip().file_name().unwrap();
    copy_folder(noise_trip::trip(), &home.at("card").join(name)).unwrap();
    home.run(&["pull", "card"]).ended(0);
    let trip = home.path().join("trips").join(name);
    let files: Vec<String> = fs::read_dir(trip.join("audio"))
        .unwrap()
        .map(|entry| {
            let entry = entry.unwrap();
            let wav = entry.file_name().into_string().unwrap();
            format!(
                "{{\"path\":\"audio/{wav}\",\"bytes\":{},\"now\":\"audio/{}\"}}",
                entry.metadata().unwrap().len(),
                wav.replace(".wav", ".flac")
            )
        })
        .collect();
    pack(&trip, &mut |_| ()).unwrap();
    let kept = format!("{{\"format\":1,\"files\":[{}]}}", files.join(","));
    fs::write(trip.join("kept.json"), kept).unwrap();
    trip
}

#[test]
fn a_packed_file_that_holds_other_sound_is_found() {
    let home = TestHome::empty().unwrap();
    let trip = library(&home);
    let check = |code, words: &[&str]| {
        home.run(&["check", "--all"]).ended(code).says(words);
    };
    // Five of sound, the journal and trip.json.
    check(0, &["7 files are unchanged."]);
    // A whole FLAC file with the right checksum of its own, and the wrong sound.
    let audio = trip.join("audio");
    fs::copy(audio.join("000004-tx.flac"), audio.join("000002-tx.flac")).unwrap();
    check(
        3,
        &[
            "000002-tx.flac: its samples differ from those that were recorded",
            "6 files are unchanged, 1 changed or missing",
        ],
    );
}

#[test]
fn a_trip_whose_number_went_bad_is_found_by_the_right_one() {
    let home = TestHome::empty().unwrap();
    let name = noise_trip::trip().file_name().unwrap().to_str().unwrap();
    let copy = home.at("card").join(name);
    copy_folder(noise_trip::trip(), &copy).unwrap();
    let header = copy.join("trip.json");
    let text = fs::read_to_string(&header).unwrap();
    assert!(text.contains("\"trip\":1,"), "{text}");
    fs::write(&header, text.replace("\"trip\":1,", "\"trip\":5,")).unwrap();
    home.run(&["pull", "card"]);
    for word in ["1", name] {
        let says = [name, "the trip's number is \"5\" here and \"1\""];
        home.run(&["check", word]).ended(3).says(&says);
    }
}
