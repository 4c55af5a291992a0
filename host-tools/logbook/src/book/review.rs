//! What a person does with an entry on the way to a decision.

use rusqlite::OptionalExtension as _;

use super::action::{Act, Origin, Part};
use super::{Logbook, database, from_json, to_json};
use crate::LogError;
use jumpseat_entries::{Draft, Review, Verdict, Word};

impl Act<'_> {
    /// Refuses to go on when the entry is not there, or not as it was seen.
    pub(super) fn expect(&self, number: i64, seen: Option<i64>) -> Result<(), LogError> {
        let failed = database(self.path, "be read");
        self.change
            .query_row("SELECT 1 FROM entries WHERE number = ?1", [number], |_| {
                Ok(())
            })
            .optional()
            .map_err(&failed)?
            .ok_or(LogError::NoEntry { number })?;
        let Some(seen) = seen else { return Ok(()) };
        let newest = newest(self.change, number).map_err(failed)?;
        if newest == seen {
            Ok(())
        } else {
            Err(LogError::Stale { number })
        }
    }

    /// What was said of an entry.
    pub(super) fn review(&self, number: i64) -> Result<Review, LogError> {
        let text = self.now(number, Part::Review)?;
        let review = text.map(|text| from_json(&text, number, self.path));
        Ok(review.transpose()?.unwrap_or_default())
    }

    /// Sets what was said of an entry.
    pub(super) fn set_review(&mut self, number: i64, review: &Review) -> Result<(), LogError> {
        if review.is_empty() {
            return self.set(number, Part::Review, None);
        }
        let text = to_json(review, number, self.path)?;
        self.set(number, Part::Review, Some(&text))
    }

    fn set_draft(&mut self, number: i64, draft: &Draft) -> Result<(), LogError> {
        let text = to_json(draft, number, self.path)?;
        self.set(number, Part::Draft, Some(&text))
    }

    fn shape(&mut self, number: i64) -> Result<(), LogError> {
        let review = Review {
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
    /// The newest action that changed an entry. Who shows an entry keeps it, and
    /// gives it back with what is to be changed: an entry that was changed
    /// meanwhile is left alone then.
    pub fn seen(&self, number: i64) -> Result<i64, LogError> {
        newest(&self.connection, number).map_err(database(&self.path, "be read"))
    }

    /// Keeps a word that was typed and not confirmed yet; `None` takes it out.
    pub fn say(
        &mut self,
        number: i64,
        seen: i64,
        word: Word,
        text: Option<&str>,
    ) -> Result<i64, LogError> {
        self.whole("keep what was typed", |change, path| {
            let mut act = Act::begin(change, path, "person");
            act.expect(number, Some(seen))?;
            let mut review = act.review(number)?;
            match text {
                Some(text) => review.said.insert(word, text.to_owned()),
                None => review.said.remove(&word),
            };
            act.set_review(number, &review)?;
            let done = act.end(&format!("typed the {} of entry {number}", word.plain()))?;
            Ok(done.unwrap_or(seen))
        })
    }

    /// Puts an entry off, calls it no contact, or takes either back.
    pub fn decide(
        &mut self,
        number: i64,
        seen: i64,
        verdict: Option<Verdict>,
    ) -> Result<(), LogError> {
        self.whole("store the decision", |change, path| {
            let mut act = Act::begin(change, path, "person");
            act.expect(number, Some(seen))?;
            let mut review = act.review(number)?;
            review.verdict = verdict;
            act.set_review(number, &review)?;
            if verdict == Some(Verdict::NotAContact) {
                act.set(number, Part::Contact, None)?;
            }
            act.end(&match verdict {
                Some(Verdict::Later) => format!("put entry {number} off"),
                Some(Verdict::NotAContact) => format!("entry {number} is not a contact"),
                None => format!("took entry {number} up again"),
            })?;
            Ok(())
        })
    }

    /// Makes two entries one, with this draft: `first` stays, `second` goes. What
    /// was confirmed of either stays confirmed.
    pub fn join(
        &mut self,
        (first, first_seen): (i64, i64),
        (second, second_seen): (i64, i64),
        draft: &Draft,
    ) -> Result<(), LogError> {
        self.whole("join the entries", |change, path| {
            let mut act = Act::begin(change, path, "person");
            act.expect(first, Some(first_seen))?;
            act.expect(second, Some(second_seen))?;
            let refused = |why| LogError::NotJoined { first, second, why };
            if first == second {
                return Err(refused("they are one already"));
            }
            let goes = act.now(second, Part::Contact)?;
            if let Some(contact) = &goes {
                if act.now(first, Part::Contact)?.is_some() {
                    return Err(refused(
                        "both are confirmed. Undo the confirmation of one of them first",
                    ));
                }
                act.set(first, Part::Contact, Some(contact))?;
            }
            let mut said = act.review(second)?.said;
            let mut review = act.review(first)?;
            said.append(&mut review.said);
            review.said = said;
            act.set_review(first, &review)?;
            act.set_draft(first, draft)?;
            act.shape(first)?;
            for part in [Part::Contact, Part::Draft, Part::Review, Part::Entry] {
                act.set(second, part, None)?;
            }
            act.end(&format!("joined entries {first} and {second}"))?;
            Ok(())
        })
    }

    /// Takes an entry apart: it keeps the first draft, and a new entry of the same
    /// trip gets the second one. Gives the new entry's number.
    pub fn part(
        &mut self,
        number: i64,
        seen: i64,
        (first, second): (&Draft, &Draft),
    ) -> Result<i64, LogError> {
        self.whole("take the entry apart", |change, path| {
            let mut act = Act::begin(change, path, "person");
            act.expect(number, Some(seen))?;
            if act.now(number, Part::Contact)?.is_some() {
                return Err(LogError::NotParted {
                    number,
                    why: "it is confirmed. Undo the confirmation first",
                });
            }
            let origin = act.now(number, Part::Entry)?;
            let origin: Option<Origin> = origin
                .map(|text| from_json(&text, number, path))
                .transpose()?;
            let new = act.new_entry(&Origin {
                trip: origin.and_then(|origin| origin.trip),
                ..Origin::default()
            })?;
            act.set_draft(number, first)?;
            act.shape(number)?;
            act.set_draft(new, second)?;
            act.shape(new)?;
            act.end(&format!("took entry {number} apart: entry {new} is new"))?;
            Ok(new)
        })
    }
}
