//! Compares two folders: do they hold the same trip, whatever they are called?
//!
//! Where both have records in their journals, the records decide: each carries the
//! power-up and an instant to the nanosecond, and has a checksum. trip.json has no
//! checksum and decides only where there are no records. Where neither decides, the
//! sound does.

use std::path::Path;

use jumpseat_trip::{JournalEvent, JournalRecord, parse_journal};
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};

use super::header::TripIdentity;

/// What distinguishes a trip from another with the same name.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct TripEvidence {
    header: TripIdentity,
    /// The first intact records of its journal.
    records: Vec<JournalRecord>,
    /// The digest of trip.json, intact or not.
    header_digest: Option<String>,
}

/// How two folders with the same name compare.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TripLikeness {
    Same,
    Other,
    /// Neither the journal nor trip.json decides.
    Unknown,
}

impl TripEvidence {
    /// Reads the text of trip.json and the beginning of the journal, as far as they exist.
    pub(crate) fn new(header: Option<&[u8]>, journal: &[u8]) -> Self {
        // The last line may be cut off; then it has no checksum and is left out.
        let records = parse_journal(Path::new("journal.jsonl"), journal, None).records;
        Self {
            header: header.map(TripIdentity::parse).unwrap_or_default(),
            records,
            header_digest: header.filter(|text| !text.is_empty()).map(digest),
        }
    }

    /// Whether there is a record with a valid checksum.
    pub(crate) fn has_records(&self) -> bool {
        !self.records.is_empty()
    }

    /// The name that the board gave the trip. The journal has precedence over trip.json.
    pub(crate) fn name(&self) -> Option<String> {
        let repeated = self.records.iter().find_map(|record| match &record.event {
            JournalEvent::Trip { trip, board, .. } => {
                Some(TripIdentity::new(*trip, board.as_str()))
            }
            _ => None,
        });
        repeated
            .and_then(|repeated| repeated.name())
            .or_else(|| self.header.name())
    }

    /// The power-up. The journal has precedence over trip.json.
    pub(crate) fn boot(&self) -> Option<&str> {
        let first = self.records.first();
        first
            .map(|record| record.boot.as_str())
            .or_else(|| self.header.boot())
    }

    /// Eight hex digits that differ between trips, for names in the library.
    pub(crate) fn key(&self) -> String {
        let first = self.records.first();
        let text = match (first, &self.header_digest) {
            (Some(first), _) => format!("{} {} {}", first.boot, first.seq, first.mono_ns),
            (None, Some(header)) => header.clone(),
            (None, None) => String::new(),
        };
        digest(text.as_bytes()).chars().take(8).collect()
    }

    /// Compares two trips with the same name.
    pub(crate) fn compare(&self, other: &Self) -> TripLikeness {
        let common = self.records.iter().filter_map(|record| {
            let same_number = |theirs: &&JournalRecord| theirs.seq == record.seq;
            let theirs = other.records.iter().find(same_number)?;
            Some(record == theirs)
        });
        let common: Vec<bool> = common.collect();
        if common.contains(&true) {
            return TripLikeness::Same;
        }
        if !common.is_empty() {
            return TripLikeness::Other;
        }
        let both = self.has_records() && other.has_records();
        match (self.boot(), other.boot()) {
            (Some(own), Some(theirs)) if own == theirs => TripLikeness::Same,
            (Some(_), Some(_)) if both => TripLikeness::Other,
            _ => TripLikeness::Unknown,
        }
    }
}

fn digest(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

#[cfg(test)]
mod tests {
    use jumpseat_core::journal::{BootId, encode};

    use super::*;

    /// A journal of a power-up that began at this second, records `from` to `to`.
    fn journal(boot: &str, at_s: u64, from: u64, to: u64) -> Vec<u8> {
        let lines = (from..=to).map(|seq| {
            let record = JournalRecord {
                seq,
                boot: BootId::try_from(boot).unwrap(),
                mono_ns: (at_s + seq) * 1_000_000_000,
                event: JournalEvent::Clock { sample: seq * 16 },
            };
            encode(&record).unwrap().to_vec()
        });
        lines.collect::<Vec<_>>().concat()
    }

    fn header(boot: &str) -> Vec<u8> {
        format!(r#"{{"format":1,"trip":1,"board":"3fa2c1","boot":"{boot}"}}"#).into_bytes()
    }

    fn damage(mut text: Vec<u8>, at: usize) -> Vec<u8> {
        text[at] ^= 1;
        text
    }

    type HeaderAndJournal = (Option<Vec<u8>>, Vec<u8>);

    #[track_caller]
    fn check(one: &HeaderAndJournal, other: &HeaderAndJournal, expected: TripLikeness) {
        let evidence =
            |(header, journal): &HeaderAndJournal| TripEvidence::new(header.as_deref(), journal);
        let (one, other) = (evidence(one), evidence(other));
        assert_eq!(one.compare(&other), expected);
        assert_eq!(other.compare(&one), expected);
    }

    #[test]
    fn what_is_the_same_trip_and_what_is_another() {
        use TripLikeness::{Other, Same, Unknown};
        let (own, new) = ("9f2c41d0", "0b1d55aa");
        let whole = (Some(header(own)), journal(own, 60, 1, 40));
        check(&whole, &whole, Same);
        // A copy that was cut off, anywhere; a running trip, a moment later.
        check(&whole, &(Some(header(own)), journal(own, 60, 1, 1)), Same);
        let text = journal(own, 60, 1, 40);
        check(&whole, &(Some(header(own)), text[..333].to_vec()), Same);
        check(&whole, &(None, journal(own, 60, 1, 9)), Same);
        check(&whole, &(Some(header(own)), Vec::new()), Same);
        check(&whole, &(Some(Vec::new()), journal(own, 60, 1, 9)), Same);
        // A bit of trip.json flipped: the records outvote it.
        check(
            &whole,
            &(Some(header("9f2c41d1")), journal(own, 60, 1, 40)),
            Same,
        );
        check(
            &whole,
            &(Some(header("xyz")), journal(own, 60, 1, 40)),
            Same,
        );
        // A bit of the journal flipped; its beginning lost.
        check(&whole, &(Some(header(own)), damage(text.clone(), 20)), Same);
        check(&whole, &(Some(header(own)), journal(own, 60, 30, 60)), Same);
        let early = (Some(header(own)), journal(own, 60, 1, 9));
        check(&early, &(Some(header(own)), journal(own, 60, 30, 60)), Same);

        // A second card, a new one, a cloned image: the board's power-up is another.
        check(&whole, &(Some(header(new)), journal(new, 60, 1, 40)), Other);
        check(&whole, &(None, journal(new, 60, 1, 40)), Other);
        check(
            &early,
            &(Some(header(new)), journal(new, 60, 30, 60)),
            Other,
        );
        // trip.json of the other folder, by whatever accident.
        check(&whole, &(Some(header(own)), journal(new, 60, 1, 40)), Other);
        // Another card in the same power-up.
        check(
            &whole,
            &(Some(header(own)), journal(own, 500, 1, 40)),
            Other,
        );

        // Without a journal a bit of trip.json may make the difference.
        check(&whole, &(Some(header(new)), Vec::new()), Unknown);
        check(&whole, &(None, Vec::new()), Unknown);
        check(&(None, Vec::new()), &(None, Vec::new()), Unknown);
        check(
            &(Some(header(own)), Vec::new()),
            &(Some(header(new)), Vec::new()),
            Unknown,
        );
        check(
            &(Some(header(own)), Vec::new()),
            &(Some(header(own)), Vec::new()),
            Same,
        );
    }

    #[test]
    fn the_journal_says_the_name_where_it_repeats_it() {
        let repeated = JournalRecord {
            seq: 2,
            boot: BootId::try_from("9f2c41d0").unwrap(),
            mono_ns: 1,
            event: JournalEvent::Trip {
                format: 1,
                trip: 17,
                board: "3fa2c1".try_into().unwrap(),
                call: None,
                operator: None,
                sample_rate: 16_000,
                bits: 16,
                channels: 1,
            },
        };
        let journal = encode(&repeated).unwrap();
        let name = |journal: &[u8]| TripEvidence::new(Some(&header("9f2c41d0")), journal).name();
        assert_eq!(name(&journal).unwrap(), "trip-000017-3fa2c1");
        assert_eq!(name(b"").unwrap(), "trip-000001-3fa2c1");
    }

    #[test]
    fn the_key_is_the_same_while_a_trip_grows_and_another_for_another() {
        let key = |header: Option<Vec<u8>>, journal: &[u8]| {
            TripEvidence::new(header.as_deref(), journal).key()
        };
        let own = key(Some(header("9f2c41d0")), &journal("9f2c41d0", 60, 1, 3));
        assert_eq!(own, key(None, &journal("9f2c41d0", 60, 1, 40)));
        assert_ne!(own, key(None, &journal("0b1d55aa", 60, 1, 40)));
        assert_ne!(own, key(None, &journal("9f2c41d0", 61, 1, 40)));
        assert_ne!(key(Some(b"x".to_vec()), b""), key(Some(b"y".to_vec()), b""));
        assert_eq!(own.len(), 8);
    }
}
