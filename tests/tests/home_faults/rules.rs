//! What holds after any fault, and after the same command was given again.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::case::{self, FaultCase};
use crate::disk::CommandEnd;
use crate::folder_state::{FolderState, backups_are_whole};
use crate::scenes::TRIP;

/// Everything that is wrong after a run that ended like this, in words; then gives the
/// command again and judges what came of that.
pub(crate) fn judge(case: &FaultCase, root: &Path, ended: &CommandEnd) -> Vec<String> {
    let mut wrong = Vec::new();
    said(root, ended, &mut wrong);
    match FolderState::read(root) {
        Err(error) => wrong.push(format!("the logbook: {error}")),
        Ok(now) => {
            whole(case, &now, &mut wrong);
            receipts(case, &now, root, &mut wrong);
            packed(case, &now, &mut wrong);
            if let Err(error) = backups_are_whole(root) {
                wrong.push(error);
            }
            // What is not done is said.
            let listed = case.scene.only_lists() && ended.out == case.out;
            let done = listed || same(&now, &case.after);
            if ended.code == Some(0) && !done && !told(&ended.out) {
                wrong.push("it said that all was done, and it was not".into());
            }
        }
    }
    let repeated = case::run_again(case, root);
    let words = format!("{}{}", repeated.out, repeated.error);
    match FolderState::read(root) {
        Err(error) => wrong.push(format!("given again: the logbook: {error}")),
        // What was written and not yet noted down is never written over.
        Ok(now)
            if now.files == case.after.files
                && now.logbook == case.before.logbook
                && words.contains("is there already") => {}
        Ok(now) if same(&now, &case.after) || same(&now, &case.twice.0) => {
            let codes = [case.code, case.twice.1];
            if !codes.contains(&repeated.code) {
                wrong.push(format!(
                    "given again: ended with {:?}: {words}",
                    repeated.code
                ));
            }
        }
        Ok(now) => wrong.push(format!(
            "given again: {}: {words}",
            differences(&now, &case.after).join("; ")
        )),
    }
    wrong
}

/// What is left undone is reported beside what was done.
fn told(out: &str) -> bool {
    ["note:", "kept complete"]
        .iter()
        .any(|word| out.contains(word))
}

/// An error names a path of this run; nobody panics.
fn said(root: &Path, ended: &CommandEnd, wrong: &mut Vec<String>) {
    let words = format!("{}{}", ended.out, ended.error);
    if words.contains("panicked") || matches!(ended.code, Some(code) if ![0, 1, 3].contains(&code))
    {
        wrong.push(format!("it ended with {:?}: {words}", ended.code));
    }
    if ended.code == Some(1)
        && !(ended.error.starts_with("jumpseat: ")
            && ended.error.contains(&*root.to_string_lossy()))
    {
        wrong.push(format!("its error names no path: {words}"));
    }
}

/// Under its own name stands what was there before or what is to be there, whole; the
/// logbook is that of before or after an action.
fn whole(case: &FaultCase, now: &FolderState, wrong: &mut Vec<String>) {
    for (path, word) in &now.files {
        let known = [&case.before, &case.after].map(|state| state.file(path));
        if !known.contains(&Some(word)) {
            wrong.push(format!("{} is neither old nor new", path.display()));
        }
    }
    for path in case.before.files.keys() {
        let goes = !case.after.files.contains_key(path);
        if !goes && !now.files.contains_key(path) {
            wrong.push(format!("{} is gone", path.display()));
        }
    }
    if !case.books.contains(&now.logbook) {
        let strange = |row: &&String| !case.before.logbook.contains(row);
        let row = now.logbook.iter().find(strange);
        wrong.push(format!(
            "the logbook is between before and after: {} rows, such as {:?}",
            now.logbook.len(),
            row.map(|row| row.chars().take(200).collect::<String>())
        ));
    }
}

/// Sound goes only when what stays of it is there and written down.
fn packed(case: &FaultCase, now: &FolderState, wrong: &mut Vec<String>) {
    let gone = |path: &&PathBuf| !now.files.contains_key(*path);
    let kept = PathBuf::from(format!("home/trips/{TRIP}/kept.json"));
    let all = |path: &PathBuf| now.file(path) == case.after.file(path);
    for path in case.before.files.keys().filter(gone) {
        let flac = path.with_extension("flac");
        if !all(&kept) || !all(&flac) {
            wrong.push(format!(
                "{} went before what stays was safe",
                path.display()
            ));
        }
    }
}

/// A receipt that is written says only what is true: every file of the card's trip is in the library.
fn receipts(case: &FaultCase, now: &FolderState, root: &Path, wrong: &mut Vec<String>) {
    let new = |(path, word): &(&PathBuf, &String)| case.before.file(path) != Some(*word);
    for (path, _) in now.below("card/receipts").filter(new) {
        let text = std::fs::read(root.join(path)).unwrap();
        let Ok(receipt) = serde_json::from_slice::<Value>(&text) else {
            wrong.push(format!("{} cannot be read", path.display()));
            continue;
        };
        let trip = receipt["trip"].as_str().unwrap_or_default();
        let listed = receipt["files"].as_array().map_or(0, Vec::len);
        let card = format!("card/{trip}");
        let on_card: Vec<_> = now.below(&card).collect();
        if listed != on_card.len() || listed == 0 {
            wrong.push(format!("the receipt of {trip} names {listed} files"));
        }
        for (path, word) in on_card {
            let name = path.strip_prefix(&card).unwrap();
            let copy = Path::new("home/trips").join(trip).join(name);
            let entry = receipt["files"].as_array().into_iter().flatten();
            let mut entry = entry.filter(|file| file["path"] == name.to_string_lossy().as_ref());
            let sum = entry.next().and_then(|file| file["sha256"].as_str());
            let told = sum == case.sums.get(path).map(String::as_str);
            if now.file(&copy) != Some(word) || !told {
                wrong.push(format!(
                    "the receipt names {}, which is not here",
                    copy.display()
                ));
            }
        }
    }
}

fn same(one: &FolderState, other: &FolderState) -> bool {
    one.files == other.files && one.logbook == other.logbook
}

fn differences(now: &FolderState, wanted: &FolderState) -> Vec<String> {
    let mut found = Vec::new();
    for (path, word) in &wanted.files {
        match now.file(path) {
            None => found.push(format!("{} is missing", path.display())),
            Some(there) if there != word => found.push(format!("{} differs", path.display())),
            Some(_) => {}
        }
    }
    let more = now
        .files
        .keys()
        .filter(|path| !wanted.files.contains_key(*path));
    found.extend(more.map(|path| format!("{} is too much", path.display())));
    let missing = wanted
        .logbook
        .iter()
        .filter(|row| !now.logbook.contains(row));
    found.extend(
        missing
            .take(2)
            .map(|row| format!("the logbook lacks {row}")),
    );
    let more = now
        .logbook
        .iter()
        .filter(|row| !wanted.logbook.contains(row));
    found.extend(more.take(2).map(|row| format!("the logbook has {row}")));
    found
}
