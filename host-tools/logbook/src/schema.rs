//! The tables, and how an older logbook is brought up to date.

use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::Path;

use rusqlite::functions::FunctionFlags;
use rusqlite::{Connection, TransactionBehavior};

use crate::book::database;
use crate::{LogbookError, NotALogbook};
use jumpseat_entries::home_call;

/// Each step brings a logbook from form n to form n + 1. Steps are never changed
/// once released, only added.
pub(crate) const SCHEMA_STEPS: &[&str] = &[
    include_str!("schema/001.sql"),
    include_str!("schema/002.sql"),
    include_str!("schema/003.sql"),
];

/// How a database file of SQLite begins.
const SQLITE_MAGIC: &[u8; 16] = b"SQLite format 3\0";

/// What a database is to us.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum DatabaseKind {
    /// A logbook of a form that is known here.
    Logbook(usize),
    /// It holds no table at all.
    Nothing,
    /// It holds another program's tables.
    Foreign,
}

impl DatabaseKind {
    /// The form that this version makes.
    pub(crate) const NEWEST: Self = Self::Logbook(SCHEMA_STEPS.len());
}

/// Refuses a file that cannot be a logbook before SQLite opens it: SQLite would take an
/// empty file for a new database. Errors name `named`.
pub(crate) fn look_at_file(path: &Path, named: &Path) -> Result<(), LogbookError> {
    let unreadable = |error| LogbookError::unreadable(named, error);
    let data = fs::metadata(path).map_err(unreadable)?;
    if !data.is_file() {
        return Err(LogbookError::unfit(named, NotALogbook::NoFile));
    }
    if data.len() == 0 {
        return Err(LogbookError::unfit(named, NotALogbook::Empty));
    }
    let mut start = [0; SQLITE_MAGIC.len()];
    match File::open(path).and_then(|mut file| file.read_exact(&mut start)) {
        Ok(()) if start == *SQLITE_MAGIC => Ok(()),
        Err(error) if error.kind() != io::ErrorKind::UnexpectedEof => Err(unreadable(error)),
        _ => Err(LogbookError::unfit(named, NotALogbook::NoDatabase)),
    }
}

/// What a database is; a logbook of a newer form is an error.
pub(crate) fn kind(connection: &Connection, path: &Path) -> Result<DatabaseKind, LogbookError> {
    let failed = database(path, "be read");
    let found = form(connection).map_err(&failed)?;
    let known = SCHEMA_STEPS.len();
    let (tables, ours): (i64, i64) = connection
        .query_row(
            "SELECT count(*), count(*) FILTER (WHERE name IN ('entries', 'drafts', 'contacts'))
             FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'",
            [],
            |row| Ok((row.get(0)?, row.get(1)?)),
        )
        .map_err(&failed)?;
    match found as usize {
        0 if tables == 0 => Ok(DatabaseKind::Nothing),
        form if form > 0 && ours == 3 => {
            if form > known {
                return Err(LogbookError::Newer {
                    path: path.to_owned(),
                    found,
                    known: u32::try_from(known).unwrap_or(u32::MAX),
                });
            }
            Ok(DatabaseKind::Logbook(form))
        }
        _ => Ok(DatabaseKind::Foreign),
    }
}

fn form(connection: &Connection) -> rusqlite::Result<u32> {
    connection.query_row("PRAGMA user_version", [], |row| row.get(0))
}

/// Brings the logbook to the newest form. `back_up` is called before one of an older
/// form is changed.
pub(crate) fn migrate(
    connection: &mut Connection,
    path: &Path,
    steps: &[&str],
    back_up: &dyn Fn(&Connection),
) -> Result<(), LogbookError> {
    let failed = |doing| database(path, doing);
    let known = u32::try_from(steps.len()).unwrap_or(u32::MAX);
    let found = form(connection).map_err(failed("be read"))?;
    if found > known {
        return Err(LogbookError::Newer {
            path: path.to_owned(),
            found,
            known,
        });
    }
    if found == known {
        return Ok(());
    }
    if found > 0 {
        back_up(connection);
    }
    // A function that steps may use.
    connection
        .create_scalar_function(
            "home_call",
            1,
            FunctionFlags::SQLITE_UTF8 | FunctionFlags::SQLITE_DETERMINISTIC,
            |context| Ok(home_call(&context.get::<String>(0)?)),
        )
        .map_err(failed("be prepared"))?;
    // The form is read again under the write lock: another command may have
    // brought it up to date meanwhile.
    let change = connection
        .transaction_with_behavior(TransactionBehavior::Immediate)
        .map_err(failed("be locked"))?;
    let found = form(&change).map_err(failed("be read"))?;
    for (index, step) in (1_u32..).zip(steps).skip(found as usize) {
        change
            .execute_batch(step)
            .and_then(|()| change.pragma_update(None, "user_version", index))
            .map_err(failed("be brought to the newest form"))?;
    }
    change
        .commit()
        .map_err(failed("be brought to the newest form"))
}

#[cfg(test)]
mod tests {
    use super::*;

    const NEXT: &str = "CREATE TABLE later (id INTEGER PRIMARY KEY) STRICT;";

    fn open(path: &Path) -> Connection {
        Connection::open(path).unwrap()
    }

    fn form(connection: &Connection) -> u32 {
        super::form(connection).unwrap()
    }

    const NONE: &dyn Fn(&Connection) = &|_| ();

    #[test]
    fn an_older_logbook_is_backed_up_and_then_changed() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log.sqlite");
        let mut connection = open(&path);
        let seen = std::cell::RefCell::new(Vec::new());
        let back_up = |connection: &Connection| seen.borrow_mut().push(form(connection));
        let mut migrate =
            |steps: &[&str]| migrate(&mut connection, &path, steps, &back_up).unwrap();
        migrate(&SCHEMA_STEPS[..1]);
        migrate(SCHEMA_STEPS);
        migrate(SCHEMA_STEPS);
        migrate(&[SCHEMA_STEPS, &[NEXT]].concat());
        // Not of one that is new, nor of one that stays as it is.
        assert_eq!(*seen.borrow(), [1, SCHEMA_STEPS.len() as u32]);
        assert_eq!(form(&connection), SCHEMA_STEPS.len() as u32 + 1);
    }

    /// A logbook of the first form, with a drafted and confirmed entry, one from
    /// which the draft was taken, and an export.
    const FIRST: &str = r#"
        INSERT INTO entries (number, trip) VALUES (1, 't'), (2, 't');
        INSERT INTO drafts VALUES (1, 5.0, '{"on":{"value":"2026-05-14T15:04:21Z"},
            "call":{"value":null},"band":{"value":"20m"},"station":"W7QTM"}');
        INSERT INTO contacts VALUES (1, 2, 'KB0QSE/M', '2026-05-14T15:04:21.400Z',
            '{"call":"KB0QSE/M","band":"20m","mode":"SSB"}');
        INSERT INTO history (at_utc, who, number, before, after) VALUES
            ('a', 'draft', 1, NULL, '{}'), ('b', 'person', 1, NULL, '{}');
        INSERT INTO exports VALUES (7, 'c', 'adif', 'a.adi');
        INSERT INTO exported VALUES (7, 1, 1);"#;

    #[test]
    fn the_first_form_keeps_all_that_it_had() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log.sqlite");
        let mut connection = open(&path);
        migrate(&mut connection, &path, &SCHEMA_STEPS[..1], NONE).unwrap();
        connection.execute_batch(FIRST).unwrap();
        migrate(&mut connection, &path, SCHEMA_STEPS, NONE).unwrap();
        for (query, expected) in [
            (
                "SELECT at_utc || call || band || station FROM entries WHERE number = 1",
                "2026-05-14T15:04:21.400ZKB0QSE/M20mW7QTM",
            ),
            ("SELECT home || band || mode FROM contacts", "KB0QSE20mSSB"),
            (
                "SELECT group_concat(who || what || part) FROM actions JOIN changes ON action = actions.id",
                "draftdrafted entry 1draft,personconfirmed entry 1contact",
            ),
            (
                "SELECT export || format || number || revision FROM sent",
                "7adif11",
            ),
            ("SELECT CAST(count(*) AS TEXT) FROM entries", "2"),
            ("PRAGMA integrity_check", "ok"),
        ] {
            let found: String = connection.query_row(query, [], |row| row.get(0)).unwrap();
            assert_eq!(found, expected);
        }
    }

    #[test]
    fn a_step_that_fails_changes_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log.sqlite");
        let mut connection = open(&path);
        migrate(&mut connection, &path, &SCHEMA_STEPS[..1], NONE).unwrap();
        let steps = [
            SCHEMA_STEPS,
            &[NEXT, "CREATE TABLE later (id INTEGER) STRICT;"],
        ]
        .concat();
        migrate(&mut connection, &path, &steps, NONE).unwrap_err();
        assert_eq!(form(&connection), 1);
        migrate(&mut connection, &path, &steps[..steps.len() - 1], NONE).unwrap();
    }

    #[test]
    fn a_newer_logbook_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log.sqlite");
        let mut connection = open(&path);
        connection.pragma_update(None, "user_version", 9).unwrap();
        let error = migrate(&mut connection, &path, SCHEMA_STEPS, NONE).unwrap_err();
        assert!(matches!(
            error,
            LogbookError::Newer {
                found: 9,
                known: 3,
                ..
            }
        ));
        assert!(error.to_string().contains("newer jumpseat"), "{error}");
        assert_eq!(form(&connection), 9);
    }
}
