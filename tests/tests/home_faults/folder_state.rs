//! What is in a folder: files by what they hold, and the logbook row by row.

use std::collections::BTreeMap;
use std::fs;
use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::path::{Path, PathBuf};

use rusqlite::types::ValueRef;
use rusqlite::{Connection, OpenFlags};

const LOGBOOK: &str = "home/logbook.sqlite";

/// A folder at one moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct FolderState {
    /// What stands under its own name, by path, as a word that is the same for the same
    /// content.
    pub(crate) files: BTreeMap<PathBuf, String>,
    /// Every row of the logbook, in words; none where there is no logbook.
    pub(crate) logbook: Vec<String>,
    /// Hidden files: what is not whole, and what programs keep for themselves.
    pub(crate) hidden: Vec<PathBuf>,
}

impl FolderState {
    /// Looks at a folder; `Err` says what is wrong with its logbook.
    pub(crate) fn read(folder: &Path) -> Result<Self, String> {
        let mut state = Self {
            files: BTreeMap::new(),
            logbook: rows(&folder.join(LOGBOOK), folder)?,
            hidden: Vec::new(),
        };
        state.look(folder, Path::new(""));
        Ok(state)
    }

    fn look(&mut self, root: &Path, folder: &Path) {
        for entry in fs::read_dir(root.join(folder)).unwrap() {
            let entry = entry.unwrap();
            let path = folder.join(entry.file_name());
            let name = entry.file_name().to_string_lossy().into_owned();
            // Whether the board stays awake, and which trips were compared when, are other
            // matters; copies of the logbook are named by the time.
            let aside = ["pull-lease", "verified.json"].contains(&name.as_str());
            if path.starts_with("tmp") || aside || name.ends_with("-backups") {
                continue;
            }
            if name.starts_with('.') {
                self.hidden.push(path);
            } else if entry.path().is_dir() {
                self.look(root, &path);
            } else if !path.starts_with(LOGBOOK) && !is_of_sqlite(&name) {
                let content = fs::read(entry.path()).unwrap();
                self.files.insert(path, word(&content, &name, root));
            }
        }
    }

    /// The word of a file.
    pub(crate) fn file(&self, path: &Path) -> Option<&str> {
        self.files.get(path).map(String::as_str)
    }

    /// Files below a folder of it.
    pub(crate) fn below(&self, folder: &str) -> impl Iterator<Item = (&PathBuf, &String)> {
        let folder = PathBuf::from(folder);
        self.files
            .iter()
            .filter(move |(path, _)| path.starts_with(&folder))
    }
}

/// The logbook and what SQLite puts beside it.
fn is_of_sqlite(name: &str) -> bool {
    ["", "-wal", "-shm", "-journal"]
        .iter()
        .any(|end| name == format!("logbook.sqlite{end}"))
}

/// The same for the same content, without the moment at which a file was written and
/// without where.
fn word(content: &[u8], name: &str, root: &Path) -> String {
    if name.ends_with(".backup") {
        return "a copy of the logbook".into();
    }
    let mut content = content.to_vec();
    if let Ok(text) = str::from_utf8(&content) {
        let text = text.replace(&*root.to_string_lossy(), "HERE");
        let text = text
            .split_once("<EOH>")
            .map_or(text.as_str(), |(_, rest)| rest);
        content = text.into();
    }
    let mut sum = DefaultHasher::new();
    content.hash(&mut sum);
    format!("{} bytes {:016x}", content.len(), sum.finish())
}

/// Every row of a logbook, without the moments at which they were written.
fn rows(path: &Path, root: &Path) -> Result<Vec<String>, String> {
    if !path.exists() {
        return Ok(Vec::new());
    }
    // A copy, so that looking changes nothing.
    let folder = tempfile::tempdir().unwrap();
    let copy = folder.path().join("logbook.sqlite");
    for end in ["", "-wal", "-journal"] {
        let from = PathBuf::from(format!("{}{end}", path.display()));
        if from.exists() {
            fs::copy(from, format!("{}{end}", copy.display())).unwrap();
        }
    }
    let read = || -> rusqlite::Result<Result<Vec<String>, String>> {
        let book = Connection::open_with_flags(&copy, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        for check in ["integrity_check", "foreign_key_check"] {
            let found: Vec<String> = book
                .prepare(&format!("SELECT * FROM pragma_{check}"))?
                .query_map([], |row| row.get(0))?
                .collect::<Result<_, _>>()?;
            if found != ["ok"] && !found.is_empty() {
                return Ok(Err(format!("{check}: {found:?}")));
            }
        }
        let tables = "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name";
        let tables: Vec<String> = book
            .prepare(tables)?
            .query_map([], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        let mut rows = Vec::new();
        for table in tables {
            let mut query = book.prepare(&format!("SELECT * FROM {table} ORDER BY 1, 2"))?;
            let names: Vec<String> = query
                .column_names()
                .iter()
                .map(|&name| name.into())
                .collect();
            let mut found = query.query([])?;
            while let Some(row) = found.next()? {
                let mut text = table.clone();
                for (index, name) in names.iter().enumerate() {
                    // When it was done; what is of the contact itself stands in its data.
                    if name != "at_utc" {
                        text.push_str(&format!(" {name}={}", value(row.get_ref(index)?)));
                    }
                }
                // A counter that was never used: a new logbook is as good as none.
                if table == "sqlite_sequence" && text.ends_with("seq=0") {
                    continue;
                }
                rows.push(text.replace(&*root.to_string_lossy(), "HERE"));
            }
        }
        Ok(Ok(rows))
    };
    read().map_err(|error| error.to_string()).flatten()
}

fn value(value: ValueRef<'_>) -> String {
    match value {
        ValueRef::Null => "-".into(),
        ValueRef::Integer(number) => number.to_string(),
        ValueRef::Real(number) => number.to_string(),
        ValueRef::Text(text) | ValueRef::Blob(text) => String::from_utf8_lossy(text).into_owned(),
    }
}

/// A copy of the logbook that is there under its own name can be opened and is whole.
pub(crate) fn backups_are_whole(folder: &Path) -> Result<(), String> {
    let home = folder.join("home");
    for folder in [home.clone(), home.join("logbook.sqlite-backups")] {
        for entry in fs::read_dir(&folder).into_iter().flatten() {
            let path = entry.unwrap().path();
            let name = path
                .file_name()
                .unwrap_or_default()
                .to_string_lossy()
                .into_owned();
            let copy = name.ends_with(".backup") || folder != home;
            if copy && !name.starts_with('.') && rows(&path, &folder)?.is_empty() {
                return Err(format!(
                    "{} is no whole copy of the logbook",
                    path.display()
                ));
            }
        }
    }
    Ok(())
}
