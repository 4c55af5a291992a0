//! Search: by parts of call signs, bands, own call signs and days; the last ones.

use super::*;

fn many() -> (tempfile::TempDir, Logbook) {
    let (folder, mut book) = book();
    let told = |call: &str, on: &str, band: &str, station: &str| Contact {
        call: call.into(),
        on: Some(on.parse().unwrap()),
        band: Some(band.into()),
        station: Some(station.into()),
        ..Contact::default()
    };
    let contacts = [
        told("KB0QSE", "2026-05-13T23:59:59.600Z", "20m", "W7QTM"),
        told("K1QRM/P", "2026-05-14T12:00:00Z", "40m", "W7QTM/M"),
        told("VP2E/KB0QSE", "2026-05-14T23:59:59.400Z", "20m", "W7QTM/M"),
        told("N5QSL", "2026-05-15T00:00:00Z", "2m", "W7QTM"),
    ];
    book.import("a.adi", &contacts, false, || ()).unwrap();
    let mut heard = draft(0.0, 9.0);
    heard.call.value = Some("W0QSE".into());
    book.store_drafts("t", &[heard]).unwrap();
    (folder, book)
}

#[track_caller]
fn check(search: EntrySearch<'_>, expected: &[i64]) {
    let (_folder, book) = many();
    let found: Vec<i64> = book
        .search(&search)
        .unwrap()
        .iter()
        .map(|entry| entry.number)
        .collect();
    assert_eq!(found, expected);
    if search.last.is_none() {
        assert_eq!(book.count_found(&search).unwrap(), expected.len() as u64);
    }
}

#[test]
fn by_all_that_a_person_may_look_for() {
    let all = EntrySearch::default();
    check(all, &[1, 2, 3, 4, 5]);
    check(
        EntrySearch {
            call: Some("qse"),
            ..all
        },
        &[1, 3, 5],
    );
    check(
        EntrySearch {
            call: Some("%"),
            ..all
        },
        &[],
    );
    check(
        EntrySearch {
            band: Some("20M"),
            ..all
        },
        &[1, 3],
    );
    check(
        EntrySearch {
            station: Some("w7qtm"),
            ..all
        },
        &[1, 4],
    );
    let day = |day: &str| Some(day.parse().unwrap());
    // The day of a contact is that of its nearest second, as files say it.
    check(
        EntrySearch {
            from: day("2026-05-14"),
            ..all
        },
        &[1, 2, 3, 4],
    );
    check(
        EntrySearch {
            to: day("2026-05-14"),
            ..all
        },
        &[1, 2, 3],
    );
    check(
        EntrySearch {
            from: day("2026-05-15"),
            to: day("2026-05-15"),
            ..all
        },
        &[4],
    );
    check(
        EntrySearch {
            last: Some(2),
            ..all
        },
        &[4, 5],
    );
    check(
        EntrySearch {
            filter: EntryFilter::Trip("t"),
            ..all
        },
        &[5],
    );
    check(
        EntrySearch {
            filter: EntryFilter::Unconfirmed,
            call: Some("Q"),
            ..all
        },
        &[5],
    );
    check(
        EntrySearch {
            filter: EntryFilter::Confirmed,
            band: Some("2m"),
            ..all
        },
        &[4],
    );
}

/// How SQLite would do a query.
fn plan(book: &Logbook, query: &str) -> Vec<String> {
    let mut explained = book
        .connection
        .prepare(&format!("EXPLAIN QUERY PLAN {query}"))
        .unwrap();
    let lines = explained.query_map([], |row| row.get(3)).unwrap();
    lines.collect::<Result<_, _>>().unwrap()
}

#[test]
fn lists_and_checks_read_an_index_and_sort_nothing() {
    let (_folder, book) = many();
    for (query, expected) in [
        (
            "SELECT number FROM entries WHERE instr(call, 'QSE') > 0 ORDER BY at_utc IS NULL DESC,
             at_utc DESC, trip DESC, on_s DESC, number DESC LIMIT 200",
            "SCAN entries USING COVERING INDEX entries_in_order",
        ),
        (
            "SELECT number FROM entries WHERE (at_utc IS NULL) = 0 AND at_utc >= 'a'",
            "SEARCH entries USING COVERING INDEX entries_in_order (<expr>=? AND at_utc>?)",
        ),
        (
            "SELECT home, on_utc, band, mode, number FROM contacts WHERE on_utc IS NOT NULL
             ORDER BY home, on_utc",
            "SCAN contacts USING COVERING INDEX contacts_by_home",
        ),
    ] {
        assert_eq!(plan(&book, query), [expected]);
    }
}
