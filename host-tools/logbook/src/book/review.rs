//! Editing, deciding, joining and splitting entries before they are confirmed.

use rusqlite::OptionalExtension as _;

use super::action::{ActionWriter, EntryOrigin, EntryPart};
use super::{Logbook, database, from_json, to_json};
use crate::LogbookError;
use jumpseat_entries::{ContactField, Draft, EntryReview, EntryVerdict};

impl ActionWriter<'_> {
    /// Refuses if the entry does not exist, or changed since it was seen.
    pub(super) fn check_unchanged(
        &self,
        number: i64,
        seen: Option<i64>,
    ) -> Result<(), LogbookError> {
        let failed = database(self.path, "be read");
        self.change
            .query_row("SELECT 1 FROM entries WHERE number = ?1", [number], |_| {
                Ok(())
            })
            .optional()
            .map_err(&failed)?
            .ok_or(LogbookError::NoEntry { number })?;
        let Some(seen) = seen else { return Ok(()) };
        let newest = newest(self.change, number).map_err(failed)?;
        if newest == seen {
            Ok(())
        } else {
            Err(LogbookError::Stale { number })
        }
    }

    /// The review of an entry.
    pub(super) fn review(&self, number: i64) -> Result<EntryReview, LogbookError> {
        let text = self.current(number, EntryPart::Review)?;
        let review = text.map(|text| from_json(&text, number, self.path));
        Ok(review.transpose()?.unwrap_or_default())
    }

    /// Sets the review of an entry.
    pub(super) fn set_review(
        &mut self,
        number: i64,
        review: &EntryReview,
    ) -> Result<(), LogbookError> {
        if review.is_empty() {
            return self.set(number, EntryPart::Review, None);
        }
        let text = to_json(review, number, self.path)?;
        self.set(number, EntryPart::Review, Some(&text))
    }

    fn set_draft(&mut self, number: i64, draft: &Draft) -> Result<(), LogbookError> {
        let text = to_json(draft, number, self.path)?;
        self.set(number, EntryPart::Draft, Some(&text))
    }

    fn mark_shaped(&mut self, number: i64) -> Result<(), LogbookError> {
        let review = EntryReview {
            shaped: true,
            verdict: None,
            ..self.review(number)?
        };
        self.set_review(number, &review)
    }
}

fn newest(connection: &rusqlite::Connection, number: i64) -> rusqlite::Result<i64> {
    connection
        .prepare_cached("SELECT coalesce(max(action), 0) FROM changes WHERE number = ?1")?
        .query_row([number], |row| row.get(0))
}

impl Logbook {
    /// The newest action that changed an entry. A page that shows the entry remembers it and
    /// passes it with a change: if the entry changed meanwhile, the change is refused.
    pub fn seen(&self, number: i64) -> Result<i64, LogbookError> {
        newest(&self.connection, number).map_err(database(&self.path, "be read"))
    }

    /// Keeps what was typed for a field and is not confirmed yet; `None` takes it out.
    pub fn keep_edit(
        &mut self,
        number: i64,
        seen: i64,
        field: ContactField,
        text: Option<&str>,
    ) -> Result<i64, LogbookError> {
        self.transaction("keep what was typed", |change, path| {
            let mut act = ActionWriter::begin(change, path, "person");
            act.check_unchanged(number, Some(seen))?;
            let mut review = act.review(number)?;
            match text {
                Some(text) => review.edits.insert(field, text.to_owned()),
                None => review.edits.remove(&field),
            };
            act.set_review(number, &review)?;
            let done = act.finish(&format!("typed the {} of entry {number}", field.label()))?;
            Ok(done.unwrap_or(seen))
        })
    }

    /// Puts an entry off, calls it no contact, or takes either back.
    pub fn decide(
        &mut self,
        number: i64,
        seen: i64,
        verdict: Option<EntryVerdict>,
    ) -> Result<(), LogbookError> {
        self.transaction("store the decision", |change, path| {
            let mut act = ActionWriter::begin(change, path, "person");
            act.check_unchanged(number, Some(seen))?;
            let mut review = act.review(number)?;
            review.verdict = verdict;
            act.set_review(number, &review)?;
            if verdict == Some(EntryVerdict::NotAContact) {
                act.set(number, EntryPart::Contact, None)?;
            }
            act.finish(&match verdict {
                Some(EntryVerdict::Later) => format!("put entry {number} off"),
                Some(EntryVerdict::NotAContact) => format!("entry {number} is not a contact"),
                None => format!("took entry {number} up again"),
            })?;
            Ok(())
        })
    }

    /// Joins two entries, with this draft: `first` stays, `second` is removed. What was
    /// confirmed of either stays confirmed.
    pub fn join(
        &mut self,
        (first, first_seen): (i64, i64),
        (second, second_seen): (i64, i64),
        draft: &Draft,
    ) -> Result<(), LogbookError> {
        self.transaction("join the entries", |change, path| {
            let mut act = ActionWriter::begin(change, path, "person");
            act.check_unchanged(first, Some(first_seen))?;
            act.check_unchanged(second, Some(second_seen))?;
            let refused = |why| LogbookError::NotJoined { first, second, why };
            if first == second {
                return Err(refused("they are one already"));
            }
            let goes = act.current(second, EntryPart::Contact)?;
            if let Some(contact) = &goes {
                if act.current(first, EntryPart::Contact)?.is_some() {
                    return Err(refused(
                        "both are confirmed. Undo the confirmation of one of them first",
                    ));
                }
                act.set(first, EntryPart::Contact, Some(contact))?;
            }
            let mut edits = act.review(second)?.edits;
            let mut review = act.review(first)?;
            edits.append(&mut review.edits);
            review.edits = edits;
            act.set_review(first, &review)?;
            act.set_draft(first, draft)?;
            act.mark_shaped(first)?;
            for part in [
                EntryPart::Contact,
                EntryPart::Draft,
                EntryPart::Review,
                EntryPart::Entry,
            ] {
                act.set(second, part, None)?;
            }
            act.finish(&format!("joined entries {first} and {second}"))?;
            Ok(())
        })
    }

    /// Splits an entry: it keeps the first draft, and a new entry of the same trip gets the
    /// second one. Returns the number of the new entry.
    pub fn split(
        &mut self,
        number: i64,
        seen: i64,
        (first, second): (&Draft, &Draft),
    ) -> Result<i64, LogbookError> {
        self.transaction("take the entry apart", |change, path| {
            let mut act = ActionWriter::begin(change, path, "person");
            act.check_unchanged(number, Some(seen))?;
            if act.current(number, EntryPart::Contact)?.is_some() {
                return Err(LogbookError::NotSplit {
                    number,
                    why: "it is confirmed. Undo the confirmation first",
                });
            }
            let origin = act.current(number, EntryPart::Entry)?;
            let origin: Option<EntryOrigin> = origin
                .map(|text| from_json(&text, number, path))
                .transpose()?;
            let new = act.new_entry(&EntryOrigin {
                trip: origin.and_then(|origin| origin.trip),
                ..EntryOrigin::default()
            })?;
            act.set_draft(number, first)?;
            act.mark_shaped(number)?;
            act.set_draft(new, second)?;
            act.mark_shaped(new)?;
            act.finish(&format!("took entry {number} apart: entry {new} is new"))?;
            Ok(new)
        })
    }
}
