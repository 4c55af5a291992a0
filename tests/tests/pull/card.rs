//! A card full of trips. What the files say does not matter to a pull.

use std::fs;
use std::path::Path;

use jumpseat_simulator::random::SeededRandom;

/// Writes a trip with so many sound files of such lengths; gives the bytes in it.
pub(crate) fn trip(card: &Path, number: u32, lengths: &[usize]) -> u64 {
    let folder = card.join(format!("trip-{number:06}-3fa2c1"));
    fs::create_dir_all(folder.join("audio")).unwrap();
    let mut random = SeededRandom::stream(number.into(), "card");
    let mut write = |name: &str, length: usize| {
        let bytes: Vec<u8> = (0..length.div_ceil(8))
            .flat_map(|_| random.bits().to_le_bytes())
            .take(length)
            .collect();
        fs::write(folder.join(name), bytes).unwrap();
        length as u64
    };
    let sound: u64 = lengths
        .iter()
        .enumerate()
        .map(|(index, length)| write(&format!("audio/{:06}-rx.wav", index + 1), *length))
        .sum();
    sound + write("journal.jsonl", 60_000) + write("trip.json", 200)
}

/// Fails unless every file of the card's trips is in the library, the same, and
/// nothing half done is left there.
#[track_caller]
pub(crate) fn same(card: &Path, library: &Path) {
    let mut trips = 0;
    for entry in fs::read_dir(card).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name.starts_with("trip-") {
            trips += 1;
            compare(&card.join(&name), &library.join(&name));
        }
    }
    // The lock is there too.
    assert_eq!(fs::read_dir(library).unwrap().count(), trips + 1);
}

#[track_caller]
fn compare(from: &Path, to: &Path) {
    let mut names = 0;
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let copy = to.join(entry.file_name());
        names += 1;
        if entry.path().is_dir() {
            compare(&entry.path(), &copy);
        } else {
            let equal = fs::read(entry.path()).unwrap() == fs::read(&copy).unwrap();
            assert!(equal, "{} is not the same", copy.display());
        }
    }
    let own = usize::from(to.join(".sha256sums").exists());
    assert_eq!(fs::read_dir(to).unwrap().count(), names + own);
}
