//! `jumpseat export`.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};
use chrono::Utc;
use clap::{Args, ValueEnum};
use jumpseat_log::{Contact, Entry, Export as Written, Filter, adif, write_durably};

use crate::home::Home;
use crate::outcome::Outcome;
use crate::print;
use crate::text::count;

#[derive(Debug, Args)]
pub(crate) struct Export {
    /// The form of the file
    #[arg(long, value_enum)]
    format: Format,
    /// Only this trip, also what was exported before (its folder, name or number)
    #[arg(long, value_name = "TRIP", conflicts_with = "all")]
    trip: Option<String>,
    /// Everything, also what was exported before; without this or --trip only what is new
    #[arg(long)]
    all: bool,
    /// The file to write [default: jumpseat-DATE-TIME.adi in this folder]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum Format {
    /// ADIF 3.1.6, an .adi file
    Adif,
}

impl Export {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        let Format::Adif = self.format;
        let trip = self.trip.map(|word| home.open_trip(&word)).transpose()?;
        let filter = match &trip {
            Some(trip) => Filter::Trip(trip.id()),
            None if self.all => Filter::Confirmed,
            None => Filter::New,
        };
        let out = self.out.unwrap_or_else(|| {
            PathBuf::from(Utc::now().format("jumpseat-%Y%m%d-%H%M%S.adi").to_string())
        });
        if out.exists() {
            bail!(
                "{} is there already and may be your only copy; name another file with --out, \
                 or move it away",
                out.display()
            );
        }
        export(home, &filter, &out)
    }
}

/// Writes the confirmed contacts among the entries, and writes down that it did.
pub(crate) fn export(home: &Home, filter: &Filter<'_>, out: &Path) -> Result<Outcome> {
    let mut logbook = home.logbook()?;
    let mut entries = logbook.entries(filter)?;
    let drafts = entries
        .iter()
        .filter(|entry| entry.contact.is_none())
        .count();
    entries.retain(|entry| entry.contact.is_some());
    let changed = logbook.entries(&Filter::ChangedSinceExport)?;

    let contacts: Vec<Contact> = entries
        .iter()
        .filter_map(|entry| entry.contact.clone())
        .collect();
    let adi = adif::write(&contacts, "Jumpseat", env!("CARGO_PKG_VERSION"), Utc::now());
    let doubts: Vec<String> = adi
        .doubts
        .iter()
        .filter_map(|(index, doubt)| {
            Some(format!("entry {}: {doubt}", entries.get(*index)?.number))
        })
        .collect();
    entries.retain(|entry| {
        let writable = |contact| adif::exportable(contact).is_ok();
        entry.contact.as_ref().is_some_and(writable)
    });
    if entries.is_empty() {
        print::line("No contact to export, so no file was written.")?;
    } else {
        write_durably(out, adi.text.as_bytes())?;
        let numbers: Vec<(i64, i64)> = entries
            .iter()
            .map(|entry| (entry.number, entry.revision))
            .collect();
        let whole = fs::canonicalize(out)
            .with_context(|| format!("cannot find {} after it was written", out.display()))?;
        logbook.record_export(&Written {
            format: "adif",
            path: &whole.to_string_lossy(),
            entries: &numbers,
        })?;
        print::line(&format!(
            "{}: {}",
            out.display(),
            count(entries.len(), "contact", "contacts")
        ))?;
    }
    for doubt in &doubts {
        print::line(&format!("doubt: {doubt}"))?;
    }
    if drafts > 0 {
        let left = count(drafts, "draft was left out", "drafts were left out");
        print::line(&format!("{left}: only what you confirmed is exported"))?;
    }
    hint_at_changes(filter, &entries, &changed)?;
    Ok(Outcome::doubtful(!doubts.is_empty()))
}

/// What was corrected after it went out does not go out again by itself.
fn hint_at_changes(filter: &Filter<'_>, written: &[Entry], changed: &[Entry]) -> Result<()> {
    let numbers: Vec<String> = changed
        .iter()
        .filter(|entry| !written.iter().any(|written| written.number == entry.number))
        .map(|entry| entry.number.to_string())
        .collect();
    if *filter == Filter::New && !numbers.is_empty() {
        print::line(&format!(
            "Changed since they were exported, and not exported again: {}. Use --trip or --all \
             to write them too",
            numbers.join(", ")
        ))?;
    }
    Ok(())
}
