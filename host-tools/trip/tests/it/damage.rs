//! A damaged journal costs the damaged records and nothing else.

use jumpseat_core::journal::{JournalEvent, JournalLineError};
use jumpseat_trip::{TripDamage, parse_journal, read_journal};

use crate::folder::{TestTripFolder, damage_of};

/// Damages the journal of a whole trip and expects this damage, and so many
/// records fewer.
#[track_caller]
fn check(spoil: impl Fn(&mut Vec<Vec<u8>>), lost: usize, expected: &[&str]) {
    let folder = TestTripFolder::whole();
    let mut lines = folder.lines();
    spoil(&mut lines);
    let trip = folder.open_with(&lines.concat()).unwrap();
    let journal: Vec<String> = damage_of(&trip)
        .into_iter()
        .filter(|damage| damage.starts_with("journal"))
        .collect();
    assert_eq!(journal, expected);
    assert_eq!(trip.records().len(), folder.records.len() - lost);
}

/// A line with the right checksum around any text.
fn framed(text: &str) -> Vec<u8> {
    let sum = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI).checksum(text.as_bytes());
    format!("{text} {sum:08x}\n").into_bytes()
}

#[test]
fn a_torn_last_line_is_skipped_and_told() {
    check(
        |lines| {
            let last = lines.last_mut().unwrap();
            last.truncate(30);
        },
        1,
        &[
            "journal.jsonl:21: the last line stops after 30 bytes (the power went while it was \
             written); it was skipped",
        ],
    );
    // Only the newline is lost: the checksum says that the record is whole.
    check(
        |lines| {
            lines.last_mut().unwrap().pop();
        },
        0,
        &[],
    );
}

#[test]
fn a_flipped_bit_costs_one_record() {
    check(
        |lines| lines[4][20] ^= 0x04,
        1,
        &[
            "journal.jsonl:5: the checksum does not match: the line is damaged; the line was skipped",
        ],
    );
}

#[test]
fn a_lost_newline_costs_the_two_records_it_joins() {
    check(
        |lines| {
            lines[4].pop();
        },
        2,
        &[
            "journal.jsonl:5: the checksum does not match: the line is damaged; the line was skipped",
            "journal.jsonl:6: records 5 to 6 are missing before this line",
        ],
    );
}

#[test]
fn zeros_from_a_power_cut_cost_nothing_else() {
    check(
        |lines| lines.push(vec![0; 300]),
        0,
        &[
            "journal.jsonl:22: the last line stops after 300 bytes (the power went while it was \
             written); it was skipped",
        ],
    );
}

#[test]
fn missing_records_are_told() {
    check(
        |lines| {
            lines.drain(3..6);
        },
        3,
        &["journal.jsonl:4: records 4 to 6 are missing before this line"],
    );
    check(
        |lines| {
            lines.remove(0);
        },
        1,
        &["journal.jsonl:1: record 1 is missing before this line"],
    );
}

#[test]
fn a_repeated_record_counts_once() {
    check(
        |lines| {
            let again = lines[6].clone();
            lines.insert(7, again);
        },
        0,
        &["journal.jsonl:8: record number 7 is out of order or comes twice; the line was skipped"],
    );
}

#[test]
fn a_kind_from_newer_software_is_skipped_and_named() {
    check(
        |lines| {
            let text =
                r#"{"seq":7,"boot":"9f2c41d0","mono_ns":1,"event":{"tea_break":{"cups":2}}}"#;
            lines[6] = framed(text);
        },
        1,
        &[
            "journal.jsonl:7: a record of the unknown kind 'tea_break', perhaps from newer \
             software, was skipped",
        ],
    );
}

#[test]
fn whole_lines_that_are_no_records_are_skipped() {
    for (text, expected) in [
        ("{}", "journal.jsonl:7: no journal record (missing field"),
        ("seven", "journal.jsonl:7: no journal record (expected"),
        (
            r#"{"seq":7,"boot":"00000000","mono_ns":1,"event":{"mark":{}}}"#,
            "journal.jsonl:7: a record of another power-up (00000000)",
        ),
        (
            r#"{"seq":7,"boot":"9f2c41d0","mono_ns":1,"event":{"clock":{"sample":18446744073709551615}}}"#,
            "journal.jsonl:7: a sample count beyond any trip's length",
        ),
        (
            r#"{"seq":7,"boot":"9f2c41d0","mono_ns":1,"event":{"position_fix":{"lat":91.0,"lon":0.0,"alt_m":null,"speed_mps":null,"satellites":null,"hdop":null,"source":"nmea","valid":true}}}"#,
            "journal.jsonl:7: a position that is not on the globe",
        ),
        // Found by fuzzing: digits without end.
        (
            r#"{"seq":7,"boot":"9f2c41d0","mono_ns":1,"event":{"level":{"direction":"tx","rms_dbfs":-58888888888888888888888888888888888888888888888888.9,"peak_dbfs":-4.1,"clipped":0}}}"#,
            "journal.jsonl:7: no journal record (number out of range",
        ),
        (
            r#"{"seq":7,"boot":"9f2c41d0","mono_ns":1,"event":{"level":{"direction":"tx","rms_dbfs":-1e300,"peak_dbfs":-4.1,"clipped":0}}}"#,
            "journal.jsonl:7: no journal record (number out of range",
        ),
    ] {
        let folder = TestTripFolder::whole();
        let mut lines = folder.lines();
        lines[6] = framed(text);
        let trip = folder.open_with(&lines.concat()).unwrap();
        let damage = damage_of(&trip);
        assert!(damage[0].starts_with(expected), "{damage:?}");
        assert_eq!(trip.records().len(), folder.records.len() - 1, "{text}");
    }
}

#[test]
fn a_copy_with_other_line_ends_reads_the_same() {
    let folder = TestTripFolder::whole();
    let text = String::from_utf8(folder.lines().concat()).unwrap();
    let trip = folder
        .open_with(text.replace('\n', "\r\n").as_bytes())
        .unwrap();
    assert_eq!(damage_of(&trip), [""; 0]);
}

#[test]
fn an_empty_journal_is_damage_and_its_audio_is_placed_from_the_files() {
    let folder = TestTripFolder::whole();
    let trip = folder.open_with(b"").unwrap();
    assert_eq!(damage_of(&trip)[0], "journal.jsonl: the journal is empty");
    let firsts: Vec<u64> = trip.segments().iter().map(|s| s.first_sample).collect();
    assert_eq!(firsts, [0, 32_000, 48_000]);
}

#[test]
fn a_file_of_blank_lines_does_not_fill_the_memory() {
    let folder = TestTripFolder::whole();
    let trip = folder.open_with(&vec![b'\n'; 3_000_000]).unwrap();
    assert_eq!(
        trip.damage().iter().filter(|d| d.line().is_some()).count(),
        10_000
    );
    let told = damage_of(&trip);
    assert!(
        told.contains(&"journal.jsonl: 2990000 more places of it are damaged".to_owned()),
        "{:?}",
        told.last()
    );
}

/// Gives so many bytes of zeros or of the same line again and again, then fails.
struct EndlessText<'a> {
    line: &'a [u8],
    at: usize,
    left: usize,
}

impl std::io::Read for EndlessText<'_> {
    fn read(&mut self, bytes: &mut [u8]) -> std::io::Result<usize> {
        if self.left == 0 {
            return Err(std::io::Error::other("the card went away"));
        }
        for byte in &mut *bytes {
            *byte = self.line[self.at % self.line.len()];
            self.at += 1;
        }
        self.left = self.left.saturating_sub(bytes.len());
        Ok(bytes.len())
    }
}

#[test]
fn a_line_without_end_and_a_card_that_goes_away_cost_what_they_hit() {
    let folder = TestTripFolder::whole();
    let lines = folder.lines().concat();
    let endless = EndlessText {
        line: &[0],
        at: 0,
        left: 64 << 20,
    };
    let text = std::io::Read::chain(&lines[..], endless);
    let text = std::io::BufReader::new(text);
    let journal = read_journal(std::path::Path::new("journal.jsonl"), text, None);
    assert_eq!(journal.records, folder.records);
    let told: Vec<String> = journal.damage.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "journal.jsonl: the journal cannot be read after line 21 (the card went away); what \
          comes before was used"
        ]
    );
}

#[test]
fn of_more_records_than_any_drive_has_those_that_matter_are_kept() {
    let record = |seq: u64, event: JournalEvent| jumpseat_core::journal::JournalRecord {
        seq,
        boot: "9f2c41d0".try_into().unwrap(),
        mono_ns: seq,
        event,
    };
    let mut text = Vec::new();
    for seq in 1..=350_000 {
        let event = match seq % 10_000 {
            0 => JournalEvent::Mark {},
            _ => JournalEvent::Clock { sample: seq },
        };
        text.extend_from_slice(&jumpseat_core::journal::encode(&record(seq, event)).unwrap());
    }
    let journal = parse_journal(std::path::Path::new("journal.jsonl"), &text, None);
    let marks = journal
        .records
        .iter()
        .filter(|r| r.event == JournalEvent::Mark {});
    assert_eq!(marks.count(), 35);
    // 50,000 more than 300,000, of which one in sixteen is kept.
    let kept = journal.records.len();
    assert!((302_000..304_000).contains(&kept), "{kept}");
    let left_out = 350_000 - kept;
    let told: Vec<String> = journal.damage.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [format!(
            "journal.jsonl: more records than any drive has: {left_out} of those that come every \
             second and 0 others were left out"
        )]
    );
}

#[test]
fn damage_says_where_in_values_as_well() {
    let folder = TestTripFolder::whole();
    let mut lines = folder.lines();
    lines[4][20] ^= 0x04;
    let trip = folder.open_with(&lines.concat()).unwrap();
    let damage = &trip.damage()[0];
    assert_eq!(damage.line(), Some(5));
    assert_eq!(damage.path(), folder.journal());
    assert!(matches!(
        damage,
        TripDamage::DamagedLine {
            reason: JournalLineError::Damaged,
            ..
        }
    ));
}

#[test]
fn without_a_last_record_the_trip_did_not_end_in_order() {
    let mut folder = TestTripFolder::whole();
    folder.without(|event| matches!(event, JournalEvent::Shutdown { .. }));
    assert!(!folder.open().unwrap().ended_in_order());
}
