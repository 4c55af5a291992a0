//! Sound is fetched by pieces, and the pieces are the whole.

use jumpseat_test_kit::demo_card;
use jumpseat_trip::{AudioDirection, Trip};

use crate::home::{DEMO, ReviewedHome};
use crate::socket::PageVisitor;

/// Ten seconds and a bit, at an odd place, in the received sound.
const FIRST: u64 = 2_340_001;
const COUNT: u64 = 160_003;

#[test]
fn every_range_is_that_part_of_the_recording() {
    let home = ReviewedHome::demo();
    let review = home.review(None);
    let guest = PageVisitor::guest(&review);
    let path = format!("/sound/{DEMO}/rx/{FIRST}-{}/raw.wav", FIRST + COUNT);
    let whole = guest.get(&path);
    assert_eq!(whole.status, 200);
    assert_eq!(whole.header("content-type"), Some("audio/wav"));
    assert_eq!(whole.header("accept-ranges"), Some("bytes"));
    // The bytes after the header are the recording's own samples.
    let trip = Trip::open(&demo_card().join(DEMO)).unwrap();
    let recorded = trip.read_span(AudioDirection::Rx, FIRST, COUNT).unwrap();
    let recorded: Vec<u8> = recorded
        .samples
        .iter()
        .flat_map(|s| s.to_le_bytes())
        .collect();
    assert!(whole.body[44..] == recorded);
    let length = whole.body.len();
    let all = 0..length;
    for (asked, expected) in [
        ("bytes=0-", Some(all.clone())),
        ("bytes=0-0", Some(0..1)),
        ("bytes=0-43", Some(0..44)),
        ("bytes=40-51", Some(40..52)),
        ("bytes=1001-2000", Some(1001..2001)),
        ("bytes=-100", Some(length - 100..length)),
        ("bytes=-99999999", Some(all.clone())),
        ("bytes=320000-99999999", Some(320_000..length)),
        ("bytes=99999999-", None),
        ("bytes=20-10", None),
        ("bytes=-0", None),
    ] {
        let answer = guest.ask("GET", &path, &format!("Range: {asked}\r\n"), "");
        let told = answer.header("content-range").unwrap_or_default();
        match expected {
            Some(range) => {
                assert_eq!(answer.status, 206, "{asked}");
                let words = format!("bytes {}-{}/{length}", range.start, range.end - 1);
                assert_eq!(told, words, "{asked}");
                assert!(answer.body == whole.body[range], "{asked}");
            }
            None => {
                assert_eq!(
                    (answer.status, told),
                    (416, &*format!("bytes */{length}")),
                    "{asked}"
                );
                assert!(answer.body.is_empty());
            }
        }
    }
    // Several stretches at once, and what is no range at all, are the whole (RFC 9110).
    for asked in ["bytes=0-1,4-5", "bytes=x-y", "lines=1-2"] {
        let answer = guest.ask("GET", &path, &format!("Range: {asked}\r\n"), "");
        assert_eq!(answer.status, 200, "{asked}");
        assert!(answer.body == whole.body, "{asked}");
    }
}

#[test]
fn levelled_and_cleaned_sound_is_as_long_as_the_recording_which_stays() {
    let home = ReviewedHome::demo();
    let review = home.review(None);
    let guest = PageVisitor::guest(&review);
    let audio = home
        .path()
        .join("trips")
        .join(DEMO)
        .join("audio/000005-rx.flac");
    let before = std::fs::read(&audio).unwrap();
    let sound = |form: &str| {
        let path = format!("/sound/{DEMO}/rx/{FIRST}-{}/{form}.wav", FIRST + COUNT);
        guest.get(&path).body
    };
    let [raw, level, clean] = ["raw", "level", "clean"].map(sound);
    assert!(raw.len() == level.len() && raw.len() == clean.len());
    assert!(raw != level && level != clean);
    assert!(raw[..44] == level[..44]);
    assert!(std::fs::read(&audio).unwrap() == before);
}
