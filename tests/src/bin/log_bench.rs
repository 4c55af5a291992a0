//! How long lists, searches and checks take in a logbook of 100,000 contacts.
//!
//!     cargo run --release -p jumpseat-tests --bin log_bench [CONTACTS] [MILLISECONDS]
//!
//! Prints a table with the median and the slowest of 21 runs each. With a limit in
//! milliseconds it fails where a median of the page-sized work is above it.
#![forbid(unsafe_code)]

use std::process::ExitCode;
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result};
use chrono::{DateTime, TimeDelta};
use jumpseat_entries::Contact;
use jumpseat_formats::adif;
use jumpseat_logbook::{EntryFilter, EntrySearch, Logbook};

const RUNS: usize = 21;
const WITHIN: TimeDelta = TimeDelta::minutes(30);

fn main() -> ExitCode {
    match bench() {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("log_bench: {error:#}");
            ExitCode::FAILURE
        }
    }
}

/// Whether everything was within the limit.
fn bench() -> Result<bool> {
    let mut words = std::env::args().skip(1);
    let many: usize = words.next().map_or(Ok(100_000), |word| word.parse())?;
    let limit: Option<f64> = words.next().map(|word| word.parse()).transpose()?;
    let folder = tempfile::tempdir().context("cannot make a folder for the bench")?;
    let mut book = Logbook::open(&folder.path().join("log.sqlite"))?;

    let contacts: Vec<Contact> = (0..many).map(contact).collect();
    let text = adif::write(&contacts, "bench", "1", DateTime::UNIX_EPOCH).text;
    let began = Instant::now();
    let reading = adif::read(text.as_bytes());
    let read = began.elapsed();
    let told: Vec<Contact> = reading
        .records
        .into_iter()
        .map(|told| told.contact)
        .collect();
    let began = Instant::now();
    let imported = book.import("bench.adi", &told, false, || ())?;
    let stored = began.elapsed();
    let began = Instant::now();
    let again = book.import("bench.adi", &told, false, || ())?;
    let known = began.elapsed();
    anyhow::ensure!(
        imported.added.len() == many && again.added.is_empty(),
        "the import added {} and then {} of {many}",
        imported.added.len(),
        again.added.len()
    );
    let size = text.len() as f64 / 1e6;
    println!("{many} contacts, an ADIF file of {size:.1} MB\n");
    println!("once                                      seconds");
    for (what, time) in [
        ("read the ADIF file", read),
        ("import it", stored),
        ("import it again, which changes nothing", known),
    ] {
        println!("{what:<40}  {:>7.2}", time.as_secs_f64());
    }

    let middle = book.entry(many as i64 / 2)?;
    let call = told[many / 2].call.clone();
    let day = told[many / 2].on.map(|on| on.date_naive());
    let page = EntrySearch {
        last: Some(200),
        ..EntrySearch::default()
    };
    println!("\n{RUNS} times each                             median   slowest  (ms)");
    let mut within = true;
    let mut row =
        |what: &str, limited: bool, work: &mut dyn FnMut() -> Result<usize>| -> Result<()> {
            let (median, slowest, found) = measure(work)?;
            println!("{what:<40}  {median:>6.2}  {slowest:>8.2}  {found} found");
            within &= !limited || limit.is_none_or(|limit| median <= limit);
            Ok(())
        };
    row("list: the last 200", true, &mut || {
        Ok(book.search(&page)?.len())
    })?;
    row("search: part of a call sign", true, &mut || {
        Ok(book
            .search(&EntrySearch {
                call: Some("7QS"),
                ..page
            })?
            .len())
    })?;
    row("search: a part that no call sign has", true, &mut || {
        Ok(book
            .search(&EntrySearch {
                call: Some("ZZZ"),
                ..page
            })?
            .len())
    })?;
    row("search: a band and a part", true, &mut || {
        let search = EntrySearch {
            band: Some("2m"),
            call: Some("QRM"),
            ..page
        };
        Ok(book.search(&search)?.len())
    })?;
    row("search: a day", true, &mut || {
        Ok(book
            .search(&EntrySearch {
                from: day,
                to: day,
                ..page
            })?
            .len())
    })?;
    row("count of what a search finds", true, &mut || {
        Ok(book.count_found(&EntrySearch {
            call: Some("QRM"),
            ..page
        })? as usize)
    })?;
    row("one entry by its number", true, &mut || {
        Ok(book.entry(many as i64 / 3).map(|_| 1)?)
    })?;
    row("worked before", true, &mut || {
        Ok(book
            .worked_before(&call)?
            .map_or(0, |worked| worked.contacts as usize))
    })?;
    row("duplicates of one entry", true, &mut || {
        Ok(book.duplicates_of(&middle, WITHIN)?.len())
    })?;
    row("duplicates in the whole log", true, &mut || {
        Ok(book.duplicates(WITHIN)?.len())
    })?;
    row("what did not go out yet", true, &mut || {
        Ok(book.entries(&EntryFilter::New("adif"))?.len())
    })?;
    row("every entry, read whole", false, &mut || {
        Ok(book.entries(&EntryFilter::All)?.len())
    })?;
    let began = Instant::now();
    let undone = book.undo(None)?;
    anyhow::ensure!(
        undone.entries.len() == many,
        "the undo left contacts behind"
    );
    println!(
        "\nundo of the whole import: {:.2} s",
        began.elapsed().as_secs_f64()
    );
    if let Some(limit) = limit {
        let verdict = if within { "all" } else { "NOT all" };
        println!(
            "figure: logbook of {many} contacts: {verdict} lists, searches and checks within {limit} ms"
        );
    }
    Ok(within)
}

/// A contact of its own for every number, some of them near another with the
/// same station.
fn contact(number: usize) -> Contact {
    const BANDS: [(&str, u64); 4] = [
        ("20m", 14_250_000),
        ("40m", 7_150_000),
        ("2m", 145_500_000),
        ("10m", 28_500_000),
    ];
    const SUFFIXES: [&str; 6] = ["QSE", "QRM", "QTM", "QSL", "QRT", "QUX"];
    let station = number % 20_011;
    let (band, hz) = BANDS[number / 7 % BANDS.len()];
    let letter = |n: usize| char::from(b'A' + (n % 26) as u8);
    Contact {
        call: format!(
            "{}{}{}{}",
            ['K', 'W', 'N'][station % 3],
            letter(station / 180),
            station % 10,
            SUFFIXES[station / 3 % SUFFIXES.len()]
        ),
        on: DateTime::from_timestamp(1_000_000_000 + number as i64 * 4_001, 0),
        off: DateTime::from_timestamp(1_000_000_000 + number as i64 * 4_001 + 95, 0),
        hz: Some(hz + number as u64 % 1_000 * 10),
        band: Some(band.into()),
        mode: Some("SSB".into()),
        submode: Some("USB".into()),
        sent: Some("59".into()),
        received: Some("57".into()),
        name: Some("Ruth".into()),
        station: Some("W7QTM".into()),
        operator: Some("W7QTM".into()),
        locator: Some("DN51em".into()),
        ..Contact::default()
    }
}

/// Median and slowest in milliseconds, and what the work found.
fn measure(work: &mut dyn FnMut() -> Result<usize>) -> Result<(f64, f64, usize)> {
    let mut times: Vec<Duration> = Vec::new();
    let mut found = 0;
    for _ in 0..RUNS {
        let began = Instant::now();
        found = work()?;
        times.push(began.elapsed());
    }
    times.sort_unstable();
    let milliseconds = |time: Duration| time.as_secs_f64() * 1e3;
    Ok((
        milliseconds(times[RUNS / 2]),
        milliseconds(times[RUNS - 1]),
        found,
    ))
}
