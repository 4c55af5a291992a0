//! A scene with what it comes to when nothing goes wrong.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_test_kit as kit;
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};
use tempfile::TempDir;

use crate::disk::{self, CommandEnd, DiskOperation};
use crate::folder_state::FolderState;
use crate::scenes::CommandScene;

/// A scene, played without a fault.
pub(crate) struct FaultCase {
    pub(crate) scene: &'static CommandScene,
    /// The folder before the command.
    pub(crate) before: FolderState,
    /// All that the logbook may hold, from before to after.
    pub(crate) books: Vec<Vec<String>>,
    /// The folder after it.
    pub(crate) after: FolderState,
    /// The code with which it ends.
    pub(crate) code: Option<i32>,
    /// What it prints.
    pub(crate) out: String,
    /// The folder when the command was given twice, and how it ended then.
    pub(crate) twice: (FolderState, Option<i32>),
    /// What it did to the disk.
    pub(crate) operations: Vec<DiskOperation>,
    /// The same with what it only read.
    pub(crate) with_reads: Vec<DiskOperation>,
    /// SHA-256 of the card's files.
    pub(crate) sums: BTreeMap<PathBuf, String>,
}

/// A folder of its own for one run.
pub(crate) struct FaultRun {
    _folder: TempDir,
    pub(crate) root: PathBuf,
}

impl FaultRun {
    pub(crate) fn prepare(scene: &CommandScene) -> Self {
        let folder = tempfile::tempdir().unwrap();
        // The kernel tells paths as they really are.
        let root = fs::canonicalize(folder.path()).unwrap().join("run");
        scene.prepare(&root);
        Self {
            _folder: folder,
            root,
        }
    }
}

impl FaultCase {
    pub(crate) fn play(scene: &'static CommandScene) -> Self {
        let run = FaultRun::prepare(scene);
        let arguments = scene.arguments(&run.root);
        let before = FolderState::read(&run.root).unwrap();
        let sum = |path: &PathBuf| hex(&Sha256::digest(fs::read(run.root.join(path)).unwrap()));
        let sums = before
            .below("card")
            .map(|(path, _)| (path.clone(), sum(path)));
        let sums = sums.collect();
        let ended = disk::run(&run.root, None, &arguments);
        assert!(
            matches!(ended.code, Some(0 | 3)),
            "{}: {}",
            scene.name,
            ended.error
        );
        let after = FolderState::read(&run.root).unwrap();
        assert!(after != before, "{}: nothing was done", scene.name);
        let again = disk::run(&run.root, None, &arguments);
        let twice = (FolderState::read(&run.root).unwrap(), again.code);
        let other = FaultRun::prepare(scene);
        let reads = disk::count_reads(&other.root, &scene.arguments(&other.root));
        let mut books = vec![before.logbook.clone(), after.logbook.clone()];
        books.splice(1..1, between(scene));
        Self {
            scene,
            before,
            books,
            after,
            code: ended.code,
            out: ended.out,
            twice,
            operations: ended.operations,
            with_reads: reads.operations,
            sums,
        }
    }
}

/// What the logbook holds when only the first of several files was imported.
fn between(scene: &CommandScene) -> Vec<Vec<String>> {
    let steps = 1..scene.steps;
    let logbook = |step: usize| {
        let run = FaultRun::prepare(scene);
        let arguments = scene.arguments(&run.root);
        let some = &arguments[..arguments.len() - step];
        kit::done(disk::surroundings(&mut plain(some), &run.root)).unwrap();
        FolderState::read(&run.root).unwrap().logbook
    };
    steps.map(logbook).collect()
}

/// The command on a disk that works.
pub(crate) fn plain(arguments: &[String]) -> Command {
    let mut command = Command::new(kit::built("jumpseat").unwrap());
    command.args(arguments);
    command
}

/// Gives the command again, on a disk that works.
pub(crate) fn run_again(case: &FaultCase, root: &Path) -> CommandEnd {
    let mut command = plain(&case.scene.arguments(root));
    let output = kit::run(disk::surroundings(&mut command, root)).unwrap();
    CommandEnd {
        code: output.status.code(),
        out: String::from_utf8_lossy(&output.stdout).into_owned(),
        error: String::from_utf8_lossy(&output.stderr).into_owned(),
        operations: Vec::new(),
    }
}
