//! Takes contacts over from another log.

use chrono::{SubsecRound as _, TimeDelta, Timelike as _, Utc};
use rusqlite::{OptionalExtension as _, Transaction};
use serde::Serialize;
use sha2::{Digest as _, Sha256};

use super::action::{ActionWriter, EntryOrigin, EntryPart};
use super::search::entries;
use super::{EntryFilter, EntrySearch, Logbook, database, stamp, to_json};
use crate::LogbookError;
use jumpseat_entries::{Contact, home_call};
use jumpseat_formats::adif;
use jumpseat_values::display::hex;

/// At most this many entries with one station within a minute are compared.
const MOST_HELD: u32 = 50;

/// What became of the contacts of a file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ImportSummary {
    /// Index into the contacts that were given, and the number of its new entry.
    pub added: Vec<(usize, i64)>,
    /// How many the logbook held already.
    pub known: usize,
    /// Those that differ from the same contact in the logbook; they were left out.
    pub retold: Vec<ImportConflict>,
    /// The action, if anything was changed.
    pub action: Option<i64>,
}

/// A contact that the logbook holds with other details than the other log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ImportConflict {
    /// Index into the contacts that were given.
    pub index: usize,
    /// The entry of the logbook.
    pub number: i64,
    /// What differs.
    pub differs: Vec<adif::FieldDifference>,
}

/// What became of one contact of another log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ImportOutcome {
    /// An entry with this number.
    Added(i64),
    /// The logbook held it already.
    Known,
    /// The logbook holds it with other details; the number of the new entry if it was
    /// added all the same.
    Retold(ImportConflict, Option<i64>),
}

impl Logbook {
    /// Takes contacts over from another log, as one action. What the logbook holds
    /// already is left out: the same record once more, and the same contact (same
    /// station, band and mode, same second or, where only that is known, minute).
    /// With `again` such a contact is added if its details differ. `step` is called after
    /// every contact.
    pub fn import(
        &mut self,
        file: &str,
        contacts: &[Contact],
        again: bool,
        mut step: impl FnMut(),
    ) -> Result<ImportSummary, LogbookError> {
        let mut imported = ImportSummary::default();
        imported.action = self.import_each(file, again, |add| {
            for (index, contact) in contacts.iter().enumerate() {
                match add(index, contact)? {
                    ImportOutcome::Added(number) => imported.added.push((index, number)),
                    ImportOutcome::Known => imported.known += 1,
                    ImportOutcome::Retold(retold, number) => {
                        imported.retold.push(retold);
                        imported.added.extend(number.map(|number| (index, number)));
                    }
                }
                step();
            }
            Ok(())
        })?;
        Ok(imported)
    }

    /// Takes contacts over as [`Logbook::import`] does, one after the other, so that not
    /// all of them lie in memory: `feed` gives each with its index to what it is given,
    /// and all of it is one action. Gives the action, if anything was changed.
    ///
    /// # Errors
    /// When the logbook cannot be written, and what `feed` returns: then nothing of it
    /// was done.
    pub fn import_each(
        &mut self,
        file: &str,
        again: bool,
        feed: impl FnOnce(
            &mut dyn FnMut(usize, &Contact) -> Result<ImportOutcome, LogbookError>,
        ) -> Result<(), LogbookError>,
    ) -> Result<Option<i64>, LogbookError> {
        self.transaction("store the contacts", |change, path| {
            let mut import = ImportInProgress {
                act: ActionWriter::begin(change, path, "import"),
                file,
                id: None,
            };
            let mut many = 0;
            feed(&mut |index, contact| {
                let became = import.add(index, contact, again)?;
                many += usize::from(matches!(
                    became,
                    ImportOutcome::Added(_) | ImportOutcome::Retold(_, Some(_))
                ));
                Ok(became)
            })?;
            import.act.finish(&format!(
                "imported {many} contact{} from {file}",
                if many == 1 { "" } else { "s" }
            ))
        })
    }
}

/// An import in progress.
struct ImportInProgress<'a> {
    act: ActionWriter<'a>,
    file: &'a str,
    /// Its number, once something was added.
    id: Option<i64>,
}

impl ImportInProgress<'_> {
    fn add(
        &mut self,
        index: usize,
        contact: &Contact,
        again: bool,
    ) -> Result<ImportOutcome, LogbookError> {
        let path = self.act.path;
        let failed = database(path, "store the contacts");
        let text = to_json(contact, 0, path)?;
        let digest = hex(&Sha256::digest(text.as_bytes()));
        let known = self
            .act
            .change
            .prepare_cached("SELECT 1 FROM entries WHERE digest = ?1")
            .and_then(|mut query| query.query_row([&digest], |_| Ok(())).optional())
            .map_err(&failed)?;
        if known.is_some() {
            return Ok(ImportOutcome::Known);
        }
        let retold = match held(&self.act, contact)? {
            Some((_, differs)) if differs.is_empty() => return Ok(ImportOutcome::Known),
            held => held.map(|(number, differs)| ImportConflict {
                index,
                number,
                differs,
            }),
        };
        match retold {
            Some(retold) if !again => Ok(ImportOutcome::Retold(retold, None)),
            Some(retold) => Ok(ImportOutcome::Retold(
                retold,
                Some(self.store(&text, digest)?),
            )),
            None => Ok(ImportOutcome::Added(self.store(&text, digest)?)),
        }
    }

    /// Makes an entry of a contact; gives its number.
    fn store(&mut self, text: &str, digest: String) -> Result<i64, LogbookError> {
        let failed = database(self.act.path, "store the contacts");
        let id = match self.id {
            Some(id) => id,
            None => begin(self.act.change, self.file).map_err(&failed)?,
        };
        self.id = Some(id);
        let number = self.act.new_entry(&EntryOrigin {
            trip: None,
            import: Some(id),
            digest: Some(digest),
        })?;
        self.act.set(number, EntryPart::Contact, Some(text))?;
        Ok(number)
    }
}

fn begin(change: &Transaction<'_>, file: &str) -> rusqlite::Result<i64> {
    change.execute(
        "INSERT INTO imports (at_utc, path) VALUES (?1, ?2)",
        (stamp(Utc::now()), file),
    )?;
    Ok(change.last_insert_rowid())
}

/// The entry that holds the same contact, and the details that differ.
fn held(
    act: &ActionWriter<'_>,
    contact: &Contact,
) -> Result<Option<(i64, Vec<adif::FieldDifference>)>, LogbookError> {
    let Some(on) = contact.on else {
        return Ok(None);
    };
    let (Some(from), Some(to)) = (
        on.checked_sub_signed(TimeDelta::minutes(1)),
        on.checked_add_signed(TimeDelta::minutes(1)),
    ) else {
        return Ok(None);
    };
    let failed = database(act.path, "store the contacts");
    let mut query = act
        .change
        .prepare_cached(
            "SELECT number FROM contacts WHERE home = ?1 AND on_utc BETWEEN ?2 AND ?3
             AND (band IS NULL OR ?4 IS NULL OR band = ?4)
             AND (mode IS NULL OR ?5 IS NULL OR mode = ?5) LIMIT ?6",
        )
        .map_err(&failed)?;
    let home = home_call(&contact.call);
    let times = (stamp(from), stamp(to));
    let (band, mode) = (&contact.band, &contact.mode);
    let numbers: Vec<i64> = query
        .query_map((home, times.0, times.1, band, mode, MOST_HELD), |row| {
            row.get(0)
        })
        .and_then(Iterator::collect)
        .map_err(&failed)?;
    let mut nearest: Option<(i64, Vec<adif::FieldDifference>)> = None;
    for number in numbers {
        let search = EntrySearch::by_filter(EntryFilter::Number(number));
        let entry = entries(act.change, act.path, &search)?.pop();
        let Some(known) = entry.and_then(|entry| entry.contact) else {
            continue;
        };
        if is_same(&known, contact) {
            let differs = adif::differences(&known, contact);
            if nearest
                .as_ref()
                .is_none_or(|(_, least)| differs.len() < least.len())
            {
                nearest = Some((number, differs));
            }
        }
    }
    Ok(nearest)
}

/// Whether two contacts with one station are the same.
fn is_same(known: &Contact, told: &Contact) -> bool {
    let (Some(one), Some(other)) = (known.on, told.on) else {
        return false;
    };
    let (one, other) = (one.round_subsecs(0), other.round_subsecs(0));
    let minute = |time: chrono::DateTime<Utc>| time.with_second(0);
    let at_once = if known.whole_minutes || told.whole_minutes {
        minute(one) == minute(other)
    } else {
        one == other
    };
    let may_be = |one: &Option<String>, other: &Option<String>| {
        one.is_none() || other.is_none() || one == other
    };
    at_once && may_be(&known.band, &told.band) && may_be(&known.mode, &told.mode)
}
