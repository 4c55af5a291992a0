//! In what order things come to the disk, so that a power cut finds them whole: content
//! before the name, what stays before what goes, what was exported before the logbook
//! says so, and all of it before the command ends.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::case::FaultCase;
use crate::disk::DiskOperation;
use crate::scenes::SCENES;

/// What a power cut may take, as far as POSIX promises: content that was not synced, and
/// names in folders that were not.
#[derive(Default)]
struct UnsyncedDisk {
    contents: BTreeSet<PathBuf>,
    names: BTreeSet<PathBuf>,
}

#[test]
fn a_power_cut_finds_nothing_with_a_name_and_without_its_content() {
    let mut wrong = Vec::new();
    let mut operations = 0;
    for scene in SCENES {
        let case = FaultCase::play(scene);
        operations += case.operations.len();
        let problems = problems(&case.operations);
        wrong.extend(
            problems
                .iter()
                .map(|problem| format!("{}: {problem}", scene.name)),
        );
    }
    println!(
        "figure: home: order of {operations} operations, {} out of order",
        wrong.len()
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What is out of order, in words.
fn problems(operations: &[DiskOperation]) -> Vec<String> {
    let mut disk = UnsyncedDisk::default();
    let mut problems = Vec::new();
    for (number, operation) in (1..).zip(operations) {
        for problem in disk.take(operation) {
            problems.push(format!("operation {number}: {problem}"));
        }
    }
    let left = disk.below(Path::new(""));
    problems.extend(
        left.iter()
            .map(|path| format!("at the end {} is not safe", path.display())),
    );
    problems
}

/// Nothing is lost with these: locks, leases, and what SQLite makes anew.
fn means_nothing(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    name == ".lock" || name == "pull-lease" || name.ends_with("-shm") || path.starts_with("tmp")
}

impl UnsyncedDisk {
    fn take(&mut self, operation: &DiskOperation) -> Vec<String> {
        let path = &operation.path;
        let mut problems = Vec::new();
        match (operation.name.as_str(), &operation.to) {
            ("create", _) => {
                self.contents.insert(path.clone());
                self.names.insert(path.clone());
            }
            ("write" | "truncate" | "allocate", _) => {
                self.contents.insert(path.clone());
            }
            ("mkdir", _) => {
                self.names.insert(path.clone());
            }
            ("sync", _) => {
                // The log of the logbook is where it says that something went out.
                if path.to_string_lossy().ends_with("-wal") {
                    problems.extend(self.must_be_safe("out", "the logbook says so"));
                }
                self.contents.remove(path);
                self.names.retain(|name| name.parent() != Some(path));
            }
            ("sync_all", _) => *self = Self::default(),
            ("rename", Some(to)) => {
                let within = self.below(path);
                let loose = within.iter().filter(|name| **name != path);
                let content = self.contents.contains(path).then_some(path);
                problems.extend(content.into_iter().chain(loose.copied()).map(|path| {
                    format!(
                        "{} gets its name before it is safe: {}",
                        to.display(),
                        path.display()
                    )
                }));
                if to.starts_with("card/receipts") {
                    problems.extend(self.must_be_safe("home/trips", "its receipt is there"));
                }
                self.contents.retain(|name| !name.starts_with(path));
                self.names.retain(|name| !name.starts_with(path));
                self.names.insert(to.clone());
            }
            ("unlink", _) => {
                let hidden = path.file_name().unwrap_or_default().to_string_lossy();
                if path.starts_with("home/trips") && !hidden.starts_with('.') {
                    problems.extend(self.must_be_safe("home/trips", "something goes"));
                }
                self.contents.remove(path);
                self.names.remove(path);
            }
            _ => {}
        }
        problems
    }

    /// What is not safe in a folder.
    fn below(&self, folder: &Path) -> Vec<&PathBuf> {
        let all = self.contents.union(&self.names);
        all.filter(|path| path.starts_with(folder) && !means_nothing(path))
            .collect()
    }

    fn must_be_safe(&self, folder: &str, before: &str) -> Vec<String> {
        let paths = self.below(Path::new(folder));
        let told = |path: &&PathBuf| format!("{} is not safe before {before}", path.display());
        paths.iter().map(told).collect()
    }
}

#[test]
fn what_is_out_of_order_is_seen() {
    let operation = |line: &str| {
        let mut words = line.split(' ');
        DiskOperation {
            name: words.next().unwrap().into(),
            path: words.next().unwrap().into(),
            to: words.next().map(PathBuf::from),
        }
    };
    let check = |lines: &[&str], expected: &[&str]| {
        let operations: Vec<DiskOperation> = lines.iter().map(|line| operation(line)).collect();
        let found = problems(&operations);
        assert_eq!(found.len(), expected.len(), "{found:?}");
        for (found, expected) in found.iter().zip(expected) {
            assert!(found.contains(expected), "{found}");
        }
    };
    let durable = [
        "create a/.x",
        "write a/.x",
        "sync a/.x",
        "rename a/.x a/x",
        "sync a",
    ];
    check(&durable, &[]);
    check(
        &[durable[0], durable[1], durable[3], durable[4]],
        &["a/x gets its name before"],
    );
    check(&durable[..4], &["at the end a/x is not safe"]);
    check(
        &[&["mkdir a"], &durable[..]].concat(),
        &["at the end a is not safe"],
    );
    check(
        &[
            "write home/trips/kept.json",
            "unlink home/trips/a.wav",
            "sync_all home",
        ],
        &["before something goes"],
    );
    check(
        &[
            "create out/a",
            "sync out/a",
            "sync home/logbook.sqlite-wal",
            "sync out",
        ],
        &["out/a is not safe before"],
    );
}
