//! The disk that fails: `bad_disk.c`, its orders, and what it counted.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use jumpseat_test_kit as kit;

/// What goes wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DiskFault {
    /// One operation fails with an I/O error.
    Broken,
    /// From one operation on all fail with an I/O error.
    StaysBroken,
    /// One operation finds the disk full.
    Full,
    /// From one operation on nothing can grow; the first write takes half of its bytes.
    StaysFull,
    /// One operation is not permitted.
    Forbidden,
    /// A write takes half of its bytes, as it may.
    Short,
    /// The program is killed before an operation, and so after the one before it.
    Killed,
    /// A write takes half of its bytes, then the program is killed.
    Torn,
    /// One operation fails with an I/O error, and those that only read count too.
    Unreadable,
}

impl DiskFault {
    /// All that change nothing about how operations are counted.
    pub(crate) const ALL: [Self; 8] = [
        Self::Broken,
        Self::StaysBroken,
        Self::Full,
        Self::StaysFull,
        Self::Forbidden,
        Self::Short,
        Self::Killed,
        Self::Torn,
    ];

    fn word(self) -> &'static str {
        match self {
            Self::Broken | Self::StaysBroken => "eio",
            Self::Full | Self::StaysFull => "enospc",
            Self::Forbidden => "eacces",
            Self::Short => "short",
            Self::Killed => "kill",
            Self::Torn => "torn",
            Self::Unreadable => "reads",
        }
    }

    fn stays(self) -> bool {
        matches!(self, Self::StaysBroken | Self::StaysFull)
    }

    /// Whether it can happen to this operation.
    pub(crate) fn befalls(self, operation: &DiskOperation) -> bool {
        match self {
            // What is open already is permitted.
            Self::Forbidden => !matches!(operation.name.as_str(), "write" | "sync" | "sync_all"),
            Self::Short | Self::Torn => operation.name == "write",
            _ => true,
        }
    }
}

/// Something that the program did to the disk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct DiskOperation {
    /// As `bad_disk.c` calls it.
    pub(crate) name: String,
    /// From the folder that was watched.
    pub(crate) path: PathBuf,
    /// Where a rename or link goes to.
    pub(crate) to: Option<PathBuf>,
}

/// How a program ended, and what it did until then.
pub(crate) struct CommandEnd {
    /// None where it was killed.
    pub(crate) code: Option<i32>,
    pub(crate) out: String,
    pub(crate) error: String,
    pub(crate) operations: Vec<DiskOperation>,
}

/// Runs a program in `root`, whose operation `at` fails; counts and lets be without one.
pub(crate) fn run(
    root: &Path,
    fault: Option<(DiskFault, usize)>,
    arguments: &[String],
) -> CommandEnd {
    let log = root.with_extension("operations");
    let (word, from, to) = match fault {
        None => ("none", 0, 0),
        Some((fault, at)) if fault.stays() => (fault.word(), at, usize::MAX >> 1),
        Some((fault, at)) => (fault.word(), at, at),
    };
    counted(
        root,
        &log,
        [word, &from.to_string(), &to.to_string()],
        arguments,
    )
}

/// Counts those that only read too.
pub(crate) fn count_reads(root: &Path, arguments: &[String]) -> CommandEnd {
    counted(
        root,
        &root.with_extension("operations"),
        ["reads", "0", "0"],
        arguments,
    )
}

fn counted(root: &Path, log: &Path, told: [&str; 3], arguments: &[String]) -> CommandEnd {
    let mut command = Command::new(program());
    command.arg(log).arg(root).args(told);
    command.arg(kit::built("jumpseat").unwrap()).args(arguments);
    let output = kit::run(surroundings(&mut command, root)).unwrap();
    let error = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_ne!(output.status.code(), Some(99), "{error}");
    CommandEnd {
        code: output.status.code().filter(|&code| code < 128),
        out: String::from_utf8_lossy(&output.stdout).into_owned(),
        error,
        operations: operations(&fs::read_to_string(log).unwrap()),
    }
}

/// Whatever is written anywhere is written in `root`.
pub(crate) fn surroundings<'a>(command: &'a mut Command, root: &Path) -> &'a mut Command {
    let command = command.current_dir(root).env("HOME", root);
    command
        .env("TMPDIR", root.join("tmp"))
        .env("SQLITE_TMPDIR", root.join("tmp"))
}

fn operations(log: &str) -> Vec<DiskOperation> {
    let operation = |line: &str| {
        let mut words = line.split('\t').skip(1);
        Some(DiskOperation {
            name: words.next()?.to_owned(),
            path: words.next()?.into(),
            to: words.next().map(PathBuf::from),
        })
    };
    log.lines().filter_map(operation).collect()
}

/// The program, made once.
fn program() -> &'static Path {
    static MADE: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    let (_, program) = MADE.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let program = folder.path().join("bad_disk");
        let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/home_faults/bad_disk.c");
        let mut command = Command::new("cc");
        command
            .args(["-O1", "-Wall", "-Wextra", "-Werror", "-o"])
            .arg(&program);
        let made = kit::run(command.arg(source)).unwrap();
        assert!(made.status.success(), "{made:?}");
        (folder, program)
    });
    program
}
