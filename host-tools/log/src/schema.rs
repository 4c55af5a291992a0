//! The tables, and how an older logbook becomes a newer one.

use std::path::{Path, PathBuf};

use rusqlite::functions::FunctionFlags;
use rusqlite::{Connection, TransactionBehavior};

use crate::station::home_call;
use crate::{LogError, sync_folder};

/// Each step brings a logbook from form n to form n + 1. Steps are never changed
/// once released, only added.
pub(crate) const STEPS: &[&str] = &[
    include_str!("schema/001.sql"),
    include_str!("schema/002.sql"),
    include_str!("schema/003.sql"),
];

/// A copy of the logbook while it is not whole.
const PART: &str = ".logbook-backup.part";

/// Brings the logbook to the newest form. Before an older one is changed, a copy
/// of it is put beside it; its path is given back.
pub(crate) fn migrate(
    connection: &mut Connection,
    path: &Path,
    steps: &[&str],
) -> Result<Option<PathBuf>, LogError> {
    let failed = |doing| {
        move |source| LogError::Database {
            path: path.to_owned(),
            doing,
            source,
        }
    };
    let form = |connection: &Connection| {
        connection.query_row("PRAGMA user_version", [], |row| row.get::<_, u32>(0))
    };
    let known = u32::try_from(steps.len()).unwrap_or(u32::MAX);
    let found = form(connection).map_err(failed("be read"))?;
    if found > known {
        return Err(LogError::Newer {
            path: path.to_owned(),
            found,
            known,
        });
    }
    if found == known {
        return Ok(None);
    }
    let backup = if found == 0 {
        None
    } else {
        Some(back_up(connection, path, found)?)
    };
    // A word that steps may use.
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
        .map_err(failed("be brought to the newest form"))?;
    Ok(backup)
}

fn back_up(connection: &Connection, path: &Path, form: u32) -> Result<PathBuf, LogError> {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!(".form-{form}.backup"));
    let backup = path.with_file_name(name);
    // It gets its name when it is whole. A copy from an earlier attempt holds the same
    // form; the newest is wanted.
    let part = path.with_file_name(PART);
    match std::fs::remove_file(&part) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => {
            return Err(LogError::io(&part, "remove")(error));
        }
        _ => {}
    }
    connection
        .execute("VACUUM INTO ?1", [part.to_string_lossy()])
        .map_err(|source| LogError::Database {
            path: path.to_owned(),
            doing: "be copied before the change of its form",
            source,
        })?;
    std::fs::File::options()
        .append(true)
        .open(&part)
        .and_then(|file| file.sync_all())
        .and_then(|()| std::fs::rename(&part, &backup))
        .map_err(LogError::io(&backup, "write"))?;
    let folder = path.parent().filter(|one| !one.as_os_str().is_empty());
    sync_folder(folder.unwrap_or(Path::new(".")))?;
    Ok(backup)
}

#[cfg(test)]
mod tests {
    use super::*;

    const NEXT: &str = "CREATE TABLE later (id INTEGER PRIMARY KEY) STRICT;";

    fn open(path: &Path) -> Connection {
        Connection::open(path).unwrap()
    }

    fn form(connection: &Connection) -> u32 {
        connection
            .query_row("PRAGMA user_version", [], |row| row.get(0))
            .unwrap()
    }

    #[test]
    fn an_older_logbook_is_copied_and_then_changed() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log.sqlite");
        let mut connection = open(&path);
        assert_eq!(migrate(&mut connection, &path, STEPS).unwrap(), None);
        connection
            .execute("INSERT INTO entries (trip) VALUES ('t')", [])
            .unwrap();

        let steps = [STEPS, &[NEXT]].concat();
        let backup = migrate(&mut connection, &path, &steps).unwrap().unwrap();
        let known = STEPS.len() as u32;
        assert_eq!(
            (form(&connection), form(&open(&backup))),
            (known + 1, known)
        );
        let count = |connection: &Connection| {
            connection
                .query_row("SELECT count(*) FROM entries", [], |row| {
                    row.get::<_, i64>(0)
                })
                .unwrap()
        };
        assert_eq!((count(&connection), count(&open(&backup))), (1, 1));
        assert_eq!(migrate(&mut connection, &path, &steps).unwrap(), None);
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
        migrate(&mut connection, &path, &STEPS[..1]).unwrap();
        connection.execute_batch(FIRST).unwrap();
        migrate(&mut connection, &path, STEPS).unwrap();
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
        migrate(&mut connection, &path, &STEPS[..1]).unwrap();
        let steps = [STEPS, &[NEXT, "CREATE TABLE later (id INTEGER) STRICT;"]].concat();
        migrate(&mut connection, &path, &steps).unwrap_err();
        assert_eq!(form(&connection), 1);
        migrate(&mut connection, &path, &steps[..steps.len() - 1]).unwrap();
    }

    #[test]
    fn a_newer_logbook_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("log.sqlite");
        let mut connection = open(&path);
        connection.pragma_update(None, "user_version", 9).unwrap();
        let error = migrate(&mut connection, &path, STEPS).unwrap_err();
        assert!(matches!(
            error,
            LogError::Newer {
                found: 9,
                known: 3,
                ..
            }
        ));
        assert!(error.to_string().contains("newer jumpseat"), "{error}");
        assert_eq!(form(&connection), 9);
    }
}
