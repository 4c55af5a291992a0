use super::*;

/// Writes "old", syncs it, then overwrites it and renames another file over it.
fn card() -> MemoryCard {
    let mut card = MemoryCard::new();
    let path = Path::new("a");
    let mut file = card.create(path).unwrap();
    file.write_all(b"old").unwrap();
    file.sync().unwrap();
    card.sync_dir(Path::new("")).unwrap();
    file.seek(SeekFrom::Start(0)).unwrap();
    file.write_all(b"new").unwrap();
    let mut other = card.create(Path::new("b")).unwrap();
    other.write_all(b"other").unwrap();
    card.rename(Path::new("b"), path).unwrap();
    card
}

/// Checks what "a" may hold after a cut at operation `at`, over all seeds.
#[track_caller]
fn check(at: u64, survival: fn(u64) -> CutSurvival, expected: &[Option<&str>]) {
    let card = card();
    let mut seen: Vec<Option<String>> = (0..200)
        .map(|seed| {
            let left = card.after_power_cut(at, survival(seed)).contents();
            let bytes = left.get(Path::new("a"))?.clone()?;
            Some(String::from_utf8_lossy(&bytes).into_owned())
        })
        .collect();
    seen.sort();
    seen.dedup();
    let mut expected: Vec<Option<String>> = expected
        .iter()
        .map(|text| text.map(str::to_owned))
        .collect();
    expected.sort();
    assert_eq!(seen, expected, "cut at {at}");
}

#[test]
fn what_was_synced_is_there_and_the_rest_as_it_comes() {
    use CutSurvival::{SomeOf, Torn};
    let nothing: fn(u64) -> CutSurvival = |_| CutSurvival::Nothing;
    let everything: fn(u64) -> CutSurvival = |_| CutSurvival::Everything;
    // Operation 4 syncs the name: before it is done, the file may be nowhere.
    check(4, nothing, &[None]);
    check(4, SomeOf, &[None, Some("old")]);
    check(5, nothing, &[Some("old")]);
    check(5, everything, &[Some("new")]);
    check(5, Torn, &["old", "new", "nld", "ned"].map(Some));
    check(8, everything, &[Some("other")]);
    // The rename may be there without what was written into the file.
    check(8, SomeOf, &["old", "new", "other", ""].map(Some));
}

#[test]
fn a_fault_comes_once_or_for_good_and_a_full_card_says_so() {
    let mut card = MemoryCard::new();
    card.fail(Some(FaultPlan {
        at: 2,
        for_good: false,
    }));
    let mut file = card.create(Path::new("a")).unwrap();
    assert!(file.write_all(b"x").is_err());
    assert!(file.write_all(b"x").is_ok());
    card.fail(Some(FaultPlan {
        at: 4,
        for_good: true,
    }));
    assert!(file.sync().is_err() && file.sync().is_err());
    card.fail(None);
    card.set_capacity(3);
    file.write_all(b"yz").unwrap();
    let full = file.write_all(b"!").unwrap_err();
    assert_eq!(full.kind(), io::ErrorKind::StorageFull);
    assert_eq!(card.free_bytes(Path::new("")).unwrap(), 0);
}

#[test]
fn a_folder_goes_with_all_that_is_in_it_one_operation_each() {
    let whole = || {
        let mut card = MemoryCard::new();
        for dir in ["trip", "trip/audio"] {
            card.make_dir(Path::new(dir)).unwrap();
        }
        for file in ["trip/audio/1", "trip/audio/2", "trip/journal"] {
            card.create(Path::new(file)).unwrap();
        }
        card.copy()
    };
    let trip = Path::new("trip");
    let mut card = whole();
    assert_eq!(card.kind(trip).unwrap(), StoredKind::Folder);
    let journal = card.kind(&trip.join("journal")).unwrap();
    assert_eq!(journal, StoredKind::File { bytes: 0 });
    assert_eq!(card.names(trip, 1).unwrap().len(), 1);
    card.remove_tree(trip).unwrap();
    assert!(card.contents().is_empty());
    assert_eq!(card.operations(), 5);
    // Interrupted at any of them, it can be resumed.
    for at in 1..=5 {
        let mut card = whole();
        let for_good = false;
        card.fail(Some(FaultPlan { at, for_good }));
        card.remove_tree(trip).unwrap_err();
        card.remove_tree(trip).unwrap();
        assert!(card.contents().is_empty(), "{at}");
    }
}
