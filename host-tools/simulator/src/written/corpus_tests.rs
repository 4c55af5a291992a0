//! The corpus in `tests/conversations` keeps its format and its promises.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use super::*;

/// Hand -> conversations of one part.
fn part(name: &str) -> BTreeMap<String, Vec<WrittenConversation>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../tests/conversations")
        .join(name);
    let hands = std::fs::read_dir(&folder).unwrap();
    hands
        .map(|hand| {
            let path = hand.unwrap().path();
            let read = read_sheets(&path).unwrap_or_else(|error| panic!("{error}"));
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            (name, read.into_iter().map(|(_, one)| one).collect())
        })
        .collect()
}

/// Contacts, or the conversation itself where it has none.
fn weight(conversation: &WrittenConversation) -> usize {
    match &conversation.truth {
        LoggedTruth::Contacts(contacts) => contacts.len(),
        LoggedTruth::Nobody(_) => 1,
    }
}

#[test]
fn the_parts_are_large_enough_and_no_hand_is_in_two() {
    let parts = ["fit", "tune", "judge"].map(part);
    let count = |part: &BTreeMap<String, Vec<_>>| part.values().map(Vec::len).sum::<usize>();
    assert!(parts.iter().map(count).sum::<usize>() >= 400);
    assert!(count(&parts[2]) >= 150 && parts[2].len() >= 3);
    let hands: Vec<&String> = parts.iter().flat_map(|part| part.keys()).collect();
    assert!(hands.len() >= 8);
    assert_eq!(hands.iter().collect::<BTreeSet<_>>().len(), hands.len());
}

#[test]
fn every_kind_occurs_in_the_judges_part_often_enough() {
    let judge = part("judge");
    let all: Vec<&WrittenConversation> = judge.values().flatten().collect();
    for kind in WrittenKind::all() {
        let with = all.iter().filter(|one| one.kinds.contains(&kind));
        let count: usize = with.map(|one| weight(one)).sum();
        assert!(count >= 15, "{}: {count}", kind.word());
    }
}

#[test]
fn stations_of_sixty_countries_are_met() {
    let parts = ["fit", "tune", "judge"].map(part);
    let stations = parts
        .iter()
        .flat_map(BTreeMap::values)
        .flatten()
        .flat_map(|one| &one.stations);
    let countries: BTreeSet<&str> = stations.map(|station| station.country.as_str()).collect();
    assert!(countries.len() >= 60, "{}", countries.len());
}
