//! What a person has before a command, made with the real commands, once for all runs.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_entries::Contact;
use jumpseat_formats::{adif, table_csv};
use jumpseat_test_kit as kit;
use jumpseat_test_kit::copy_folder;
use rusqlite::Connection;

use crate::disk::surroundings;
use crate::trip;

/// The trip that is drafted.
pub(crate) const TRIP: &str = "trip-000001-3fa2c1";

/// A command, and the folder in which it is given.
#[derive(Clone, Copy)]
pub(crate) struct CommandScene {
    /// What a person would call it.
    pub(crate) name: &'static str,
    /// The folder as it is before, among those of [`ProcessedSound`].
    from: &'static str,
    words: &'static [&'static str],
    /// So many commits to the logbook lead from before to after.
    pub(crate) steps: usize,
    /// It takes so long that not all of it is tried every time.
    pub(crate) slow: bool,
}

impl CommandScene {
    /// The command's arguments in a folder.
    pub(crate) fn arguments(&self, folder: &Path) -> Vec<String> {
        let words = ["--home", "{}/home"].iter().chain(self.words);
        words
            .map(|word| word.replace("{}", &folder.to_string_lossy()))
            .collect()
    }

    /// Whether the command is done when it has printed what it was asked for.
    pub(crate) fn only_lists(&self) -> bool {
        self.words == ["log"]
    }

    /// Puts what is there before into a new folder.
    pub(crate) fn prepare(&self, folder: &Path) {
        copy_folder(&made().join(self.from), folder).unwrap();
    }
}

const fn scene(
    name: &'static str,
    from: &'static str,
    words: &'static [&'static str],
) -> CommandScene {
    CommandScene {
        name,
        from,
        words,
        steps: 1,
        slow: false,
    }
}

/// All commands that write.
pub(crate) const SCENES: &[CommandScene] = &[
    scene("pull", "card", &["pull", "{}/card"]),
    scene("pull what went on", "half", &["pull", "{}/card"]),
    scene("draft", "heard", &["draft", TRIP]),
    CommandScene {
        slow: true,
        ..scene("draft unheard", "pulled", &["draft", TRIP])
    },
    scene(
        "draft again",
        "confirmed",
        &["draft", TRIP, "--json", "{}/out/draft.json"],
    ),
    scene(
        "confirm",
        "drafted",
        &["confirm", "1", "--call", "KB0QSE", "--sent", "59"],
    ),
    CommandScene {
        steps: 2,
        ..scene(
            "import",
            "drafted",
            &["import", "{}/in/log.adi", "{}/in/log.csv"],
        )
    },
    scene(
        "export",
        "confirmed",
        &["export", "--format", "adif", "--out", "{}/out/a/log.adi"],
    ),
    scene(
        "export clips",
        "confirmed",
        &["export", "--format", "clips", "--out", "{}/out/clips"],
    ),
    scene(
        "export segments",
        "confirmed",
        &[
            "export",
            "--format",
            "segments",
            "--trip",
            TRIP,
            "--out",
            "{}/out/segments",
        ],
    ),
    scene("keep", "confirmed", &["keep", "--days", "1", "--now"]),
    scene("undo", "confirmed", &["undo", "2"]),
    scene("an older logbook", "old", &["log"]),
];

/// A scene by its name.
pub(crate) fn named(name: &str) -> &'static CommandScene {
    SCENES.iter().find(|scene| scene.name == name).unwrap()
}

/// The folder of all folders, made when it is first asked for.
fn made() -> &'static Path {
    static MADE: OnceLock<tempfile::TempDir> = OnceLock::new();
    MADE.get_or_init(make).path()
}

fn make() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let card = at("card");
    for part in ["home", "card", "in", "out", "tmp"] {
        fs::create_dir_all(card.join(part)).unwrap();
    }
    trip::write(&card.join("card"), 1, trip::WHOLE);
    trip::write(&card.join("card"), 2, &trip::WHOLE[..1]);
    imports(&card.join("in"));
    next(&card, &at("half"), &[]);
    half(&at("half"));
    next(&card, &at("pulled"), &[&["pull", "card"]]);
    next(&at("pulled"), &at("drafted"), &[&["draft", TRIP]]);
    next(&at("drafted"), &at("heard"), &[]);
    remove(&at("heard/home"), |name| name.starts_with("logbook"));
    remove(&at("heard/home/heard"), |name| name.starts_with("trip-"));
    let confirm = ["confirm", "1", "--call", "KB0QSE", "--name", "Ruth"];
    next(&at("drafted"), &at("confirmed"), &[&confirm]);
    next(&at("pulled"), &at("old"), &[]);
    old_logbook(&at("old/home/logbook.sqlite"));
    folder
}

/// A copy of a folder in which more was done.
fn next(from: &Path, to: &Path, commands: &[&[&str]]) {
    copy_folder(from, to).unwrap();
    for words in commands {
        let mut command = Command::new(kit::built("jumpseat").unwrap());
        command.args(["--home", "home"]).args(*words);
        kit::done(surroundings(&mut command, to)).unwrap();
    }
}

/// The trip was pulled when the recorder was at its last file.
fn half(folder: &Path) {
    let (card, later) = (folder.join("card").join(TRIP), folder.join("later"));
    copy_folder(&card, &later).unwrap();
    let journal = card.join("journal.jsonl");
    let text = fs::read_to_string(&journal).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    fs::write(&journal, lines[..lines.len() / 2].join("\n") + "\n").unwrap();
    let last = card.join("audio/000005-tx.wav");
    let sound = fs::read(&last).unwrap();
    fs::write(&last, &sound[..sound.len() / 2]).unwrap();
    fs::remove_file(card.join("audio/000004-rx.wav")).unwrap();
    let mut command = Command::new(kit::built("jumpseat").unwrap());
    let pull = command.args(["--home", "home", "pull"]).arg(&card);
    kit::done(surroundings(pull, folder)).unwrap();
    fs::remove_dir_all(&card).unwrap();
    fs::rename(later, card).unwrap();
}

fn remove(folder: &Path, which: impl Fn(&str) -> bool) {
    for entry in fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        if which(&entry.file_name().to_string_lossy()) {
            fs::remove_file(entry.path()).unwrap();
        }
    }
}

/// Two files of another log, a dozen contacts each.
fn imports(folder: &Path) {
    let begins: DateTime<Utc> = "2025-03-01T10:00:00Z".parse().unwrap();
    let contact = |number: i32| Contact {
        call: format!(
            "W{}Q{}X",
            number % 10,
            ["S", "T", "U"][number as usize / 10 % 3]
        ),
        on: Some(begins + TimeDelta::hours(number.into())),
        band: Some("20m".into()),
        mode: Some("SSB".into()),
        ..Contact::default()
    };
    let (first, second): (Vec<_>, Vec<_>) = (0..24)
        .map(contact)
        .partition(|one| one.on < Some(begins + TimeDelta::hours(12)));
    let adi = adif::write(&first, "another log", "1", begins).text;
    fs::write(folder.join("log.adi"), adi).unwrap();
    fs::write(folder.join("log.csv"), table_csv::write(&second).unwrap()).unwrap();
}

/// A logbook as the first version made it, with a confirmed contact.
fn old_logbook(path: &PathBuf) {
    let book = Connection::open(path).unwrap();
    book.pragma_update(None, "journal_mode", "WAL").unwrap();
    book.execute_batch(include_str!(
        "../../../host-tools/logbook/src/schema/001.sql"
    ))
    .unwrap();
    book.pragma_update(None, "user_version", 1).unwrap();
    book.execute_batch(
        r#"INSERT INTO entries (number, trip) VALUES (1, 'trip-000001-3fa2c1');
           INSERT INTO contacts VALUES (1, 1, 'KB0QSE', '2026-05-14T15:04:21.400Z',
               '{"call":"KB0QSE","band":"20m","mode":"SSB"}');
           INSERT INTO history (at_utc, who, number, before, after) VALUES
               ('2026-05-14T15:10:00Z', 'person', 1, NULL, '{"call":"KB0QSE"}');"#,
    )
    .unwrap();
}
