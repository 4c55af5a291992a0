//! What a person brings from another log.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};
use chrono::TimeDelta;
use jumpseat_log::form::count;
use jumpseat_log::{Complaint, Contact, Pair, Reading, Retold, adif, table_csv};
use serde::Serialize;

use crate::home::Home;
use crate::print;
use crate::progress::Progress;
use crate::system;
use crate::twins::{self, Side};

/// A file larger than this is no log: a million contacts take about half of it.
const LARGEST: u64 = 1 << 30;

/// So many of each kind are printed; --json tells all.
const SHOWN: usize = 20;

/// What became of a file.
#[derive(Debug, Serialize)]
pub(crate) struct Report {
    file: PathBuf,
    /// Contacts that the file holds.
    read: usize,
    /// Numbers of the new entries.
    added: Vec<i64>,
    /// How many the logbook held already.
    known: usize,
    /// Told otherwise than in the logbook, and left out (unless they were asked for).
    told_otherwise: Vec<Otherwise>,
    /// They were asked for.
    #[serde(skip)]
    again: bool,
    /// New entries that may be the same contact as another.
    duplicates: Vec<twins::Twins>,
    /// What could not be read, with its line.
    complaints: Vec<Complaint>,
    /// How many complaints there are beyond those.
    further_complaints: usize,
    /// The action that `jumpseat undo` takes back; null when nothing was changed.
    action: Option<i64>,
}

#[derive(Debug, Serialize)]
struct Otherwise {
    line: usize,
    #[serde(flatten)]
    retold: Retold,
    /// The contact as the logbook has it, and as the file tells it.
    here: Side,
    there: Side,
}

/// Reads a file and takes over what the logbook does not hold.
pub(crate) fn import(home: &Home, file: &Path, again: bool, within: TimeDelta) -> Result<Report> {
    let reading = read(file)?;
    let lines: Vec<usize> = reading.records.iter().map(|told| told.line).collect();
    let contacts: Vec<Contact> = reading
        .records
        .into_iter()
        .map(|told| told.contact)
        .collect();
    let mut logbook = home.logbook()?;
    let progress = Progress::new("importing", contacts.len() as u64, false);
    let name = system::whole(file).unwrap_or_else(|_| file.to_owned());
    let imported = logbook.import(&name.to_string_lossy(), &contacts, again, || {
        progress.add(1);
    })?;
    drop(progress);
    let mut added: Vec<i64> = imported.added.iter().map(|(_, number)| *number).collect();
    added.sort_unstable();
    let is_new = |number: i64| added.binary_search(&number).is_ok();
    let pairs: Vec<Pair> = if added.is_empty() {
        Vec::new()
    } else {
        let mut pairs = logbook.duplicates(within)?;
        pairs.retain(|pair| is_new(pair.first) || is_new(pair.second));
        pairs
    };
    let mut told_otherwise = Vec::new();
    for retold in imported.retold {
        let here = logbook.entry(retold.number)?;
        told_otherwise.push(Otherwise {
            line: lines.get(retold.index).copied().unwrap_or_default(),
            here: Side::of(&here),
            there: Side::told(contacts.get(retold.index)),
            retold,
        });
    }
    Ok(Report {
        file: file.to_owned(),
        read: contacts.len(),
        known: imported.known,
        told_otherwise,
        again,
        duplicates: twins::of(&logbook, &pairs)?,
        complaints: reading.complaints.kept().to_vec(),
        further_complaints: reading.complaints.more(),
        action: imported.action,
        added,
    })
}

/// Reads a file by its content; a table is known by its ending.
fn read(file: &Path) -> Result<Reading> {
    let cannot = || {
        format!(
            "cannot read {}; check its name and that you may read it",
            file.display()
        )
    };
    let size = fs::metadata(file).with_context(cannot)?.len();
    if size > LARGEST {
        bail!(
            "{} has {size} bytes, which no log has; take the part of it that you need",
            file.display()
        );
    }
    let bytes = fs::read(file).with_context(cannot)?;
    let table = file
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
    let reading = if table {
        table_csv::read(&bytes)
    } else {
        Some(adif::read(&bytes)).filter(|reading| {
            !reading.records.is_empty() || reading.complaints.count() > 0 || has_header(&bytes)
        })
    };
    reading.with_context(|| {
        format!(
            "{} holds no log: neither ADIF (.adi, .adx) nor a table (.csv) with the columns of \
             `jumpseat export --format csv`",
            file.display()
        )
    })
}

/// A log without contacts is still a log.
fn has_header(bytes: &[u8]) -> bool {
    let start = bytes.get(..bytes.len().min(4096)).unwrap_or_default();
    let start = String::from_utf8_lossy(start).to_uppercase();
    start.contains("<EOH>") || start.contains("<ADX")
}

impl Report {
    /// Whether a person should look.
    pub(crate) fn is_doubtful(&self) -> bool {
        !self.complaints.is_empty()
            || !self.told_otherwise.is_empty()
            || !self.duplicates.is_empty()
    }

    /// Tells it on the terminal.
    pub(crate) fn say(&self, home: &Home) -> Result<()> {
        let file = self.file.display();
        print::line(&format!(
            "{file}: {}, {} new, {} in the logbook already",
            count(self.read, "contact", "contacts"),
            self.added.len(),
            self.known
        ))?;
        for complaint in self.complaints.iter().take(SHOWN) {
            print::line(&format!("  line {}: {}", complaint.line, complaint.reason))?;
        }
        let further = self.complaints.len().saturating_sub(SHOWN) + self.further_complaints;
        self.and_more(further, "further complaint", "further complaints")?;
        if !self.told_otherwise.is_empty() {
            let became = if self.again {
                "added all the same"
            } else {
                "not added (--add-duplicates adds them)"
            };
            print::line(&format!(
                "  {} in the logbook with other details, and {became}:",
                count(self.told_otherwise.len(), "contact is", "contacts are")
            ))?;
        }
        for told in self.told_otherwise.iter().take(SHOWN) {
            print::line(&format!("    entry {}  {}", told.retold.number, told.here))?;
            print::line(&format!("    line {}  {}", told.line, told.there))?;
            for differs in &told.retold.differs {
                let here = differs.here.as_deref().unwrap_or("nothing");
                print::line(&format!(
                    "      {}: {here} in the logbook, {} in the file",
                    differs.field, differs.there
                ))?;
            }
        }
        let further = self.told_otherwise.len().saturating_sub(SHOWN);
        self.and_more(further, "further contact", "further contacts")?;
        twins::say(&self.duplicates, SHOWN)?;
        if let Some(action) = self.action {
            print::line(&format!(
                "`{} undo {action}` takes it back.",
                home.command()
            ))?;
        }
        Ok(())
    }

    fn and_more(&self, further: usize, one: &str, many: &str) -> Result<()> {
        if further > 0 {
            print::line(&format!(
                "    and {} (--json tells all)",
                count(further, one, many)
            ))?;
        }
        Ok(())
    }
}
