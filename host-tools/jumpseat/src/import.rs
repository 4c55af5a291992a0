//! What a person brings from another log.

use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};
use chrono::TimeDelta;
use jumpseat_files::{full_path, open_regular_file};
use jumpseat_formats::{ReadComplaint, ReadComplaints, ReadContact, adif, table_csv};
use jumpseat_logbook::{DuplicateEntries, ImportConflict, ImportOutcome, Logbook, LogbookError};
use jumpseat_values::display::count;
use serde::Serialize;

use crate::duplicates::{self, DuplicateSide};
use crate::home::HomeFolder;
use crate::print;
use crate::progress::ProgressLine;

/// A file larger than this is no log: 200,000 contacts take 100 MB at most. All of it
/// lies in memory.
const MAX_LOG_BYTES: u64 = 256 << 20;

/// So many of each kind are printed; --json tells more.
const PRINTED_EACH: usize = 20;

/// So many of each kind are told with --json; the rest is counted.
const LISTED_EACH: usize = 1000;

/// What became of a file.
#[derive(Debug, Default, Serialize)]
pub(crate) struct ImportReport {
    file: PathBuf,
    /// Contacts that the file holds.
    read: usize,
    /// Numbers of the new entries.
    added: Vec<i64>,
    /// How many the logbook held already.
    known: usize,
    /// Told otherwise than in the logbook, and left out (unless they were asked for).
    told_otherwise: Vec<DifferingContact>,
    /// How many there are beyond those.
    further_told_otherwise: usize,
    /// They were asked for.
    #[serde(skip)]
    again: bool,
    /// New entries that may be the same contact as another.
    duplicates: Vec<duplicates::DuplicatePair>,
    /// How many pairs there are beyond those.
    further_duplicates: usize,
    /// What could not be read, with its line.
    complaints: Vec<ReadComplaint>,
    /// How many complaints there are beyond those.
    further_complaints: usize,
    /// The action that `jumpseat undo` takes back; null when nothing was changed.
    action: Option<i64>,
}

#[derive(Debug, Serialize)]
struct DifferingContact {
    line: usize,
    #[serde(flatten)]
    retold: ImportConflict,
    /// The contact as the logbook has it, and as the file tells it.
    here: DuplicateSide,
    there: DuplicateSide,
}

/// Reads a file and takes over what the logbook does not hold. All of it is one action:
/// whatever ends it early, nothing of it is done.
pub(crate) fn import(
    home: &HomeFolder,
    file: &Path,
    again: bool,
    within: TimeDelta,
) -> Result<ImportReport> {
    let log = LogFile::read(file)?;
    let mut logbook = home.logbook()?;
    let progress = ProgressLine::new("importing", log.bytes.len() as u64, true);
    let name = full_path(file).unwrap_or_else(|_| file.to_owned());
    let mut report = ImportReport {
        file: file.to_owned(),
        again,
        ..ImportReport::default()
    };
    let mut retold: Vec<(usize, ImportConflict, DuplicateSide)> = Vec::new();
    let mut complaints = ReadComplaints::default();
    report.action = logbook.import_each(&name.to_string_lossy(), again, |add| {
        let mut reached = 0;
        complaints = log.each(|told, behind| -> Result<(), LogbookError> {
            progress.add(behind.saturating_sub(reached) as u64);
            reached = behind;
            let became = add(report.read, &told.contact)?;
            report.read += 1;
            match became {
                ImportOutcome::Added(number) => report.added.push(number),
                ImportOutcome::Known => report.known += 1,
                ImportOutcome::Retold(how, number) => {
                    report.added.extend(number);
                    if retold.len() < LISTED_EACH {
                        retold.push((told.line, how, DuplicateSide::from_contact(&told.contact)));
                    } else {
                        report.further_told_otherwise += 1;
                    }
                }
            }
            Ok(())
        })?;
        Ok(())
    })?;
    drop(progress);
    report.added.sort_unstable();
    let pairs = report.pairs(&logbook, within)?;
    report.duplicates = duplicates::of(&logbook, &pairs)?;
    for (line, retold, there) in retold {
        let here = DuplicateSide::from_entry(&logbook.entry(retold.number)?);
        report.told_otherwise.push(DifferingContact {
            line,
            retold,
            here,
            there,
        });
    }
    report.complaints = complaints.kept().to_vec();
    report.further_complaints = complaints.more();
    Ok(report)
}

/// A file that holds a log.
struct LogFile {
    bytes: Vec<u8>,
    /// It is a table; else ADIF.
    table: bool,
}

impl LogFile {
    /// Reads a file by its content; a table is known by its ending.
    fn read(file: &Path) -> Result<Self> {
        let bytes = bytes(file).with_context(|| {
            format!(
                "cannot read {}; check its name and that you may read it",
                file.display()
            )
        })?;
        if bytes.len() as u64 > MAX_LOG_BYTES {
            bail!(
                "{} has more than {} MB, which no log has; take the part of it that you need",
                file.display(),
                MAX_LOG_BYTES >> 20
            );
        }
        let table = file
            .extension()
            .is_some_and(|ending| ending.eq_ignore_ascii_case("csv"));
        let log = Self { bytes, table };
        if !log.is_log() {
            bail!(
                "{} holds no log: neither ADIF (.adi, .adx) nor a table (.csv) with the columns of \
                 `jumpseat export --format csv`",
                file.display()
            );
        }
        Ok(log)
    }

    /// Whether it holds any contact, or what might be one, or could.
    fn is_log(&self) -> bool {
        // The first contact is enough.
        let first = |_: ReadContact, _: usize| Err(());
        if self.table {
            return table_csv::read_each(&self.bytes, first).map_or(true, |read| read.is_some());
        }
        has_header(&self.bytes)
            || adif::read_each(&self.bytes, first).map_or(true, |complaints| complaints.count() > 0)
    }

    /// Hands each contact on, with the byte behind it.
    fn each<E>(
        &self,
        take: impl FnMut(ReadContact, usize) -> Result<(), E>,
    ) -> Result<ReadComplaints, E> {
        if self.table {
            Ok(table_csv::read_each(&self.bytes, take)?.unwrap_or_default())
        } else {
            adif::read_each(&self.bytes, take)
        }
    }
}

/// The bytes of an ordinary file, one more than the most that a log may have where it has
/// more. A link is followed; a pipe or device would never end.
fn bytes(file: &Path) -> io::Result<Vec<u8>> {
    let mut open = open_regular_file(&full_path(file)?)?;
    let most = MAX_LOG_BYTES + 1;
    let length = open.metadata()?.len().min(most);
    let mut bytes = Vec::with_capacity(usize::try_from(length).unwrap_or_default());
    open.by_ref().take(most).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// A log without contacts is still a log.
fn has_header(bytes: &[u8]) -> bool {
    let start = bytes.get(..bytes.len().min(4096)).unwrap_or_default();
    let start = String::from_utf8_lossy(start).to_uppercase();
    start.contains("<EOH>") || start.contains("<ADX")
}

impl ImportReport {
    /// Pairs of which a new entry is one; the first of them, the rest is counted.
    fn pairs(&mut self, logbook: &Logbook, within: TimeDelta) -> Result<Vec<DuplicateEntries>> {
        let mut pairs = Vec::new();
        if self.added.is_empty() {
            return Ok(pairs);
        }
        let is_new = |number: i64| self.added.binary_search(&number).is_ok();
        let mut further = 0;
        logbook.each_duplicate(within, |pair| {
            let new = is_new(pair.first) || is_new(pair.second);
            if new && pairs.len() < LISTED_EACH {
                pairs.push(pair);
            } else {
                further += usize::from(new);
            }
        })?;
        self.further_duplicates = further;
        Ok(pairs)
    }

    /// Whether a person should look.
    pub(crate) fn is_doubtful(&self) -> bool {
        !self.complaints.is_empty()
            || !self.told_otherwise.is_empty()
            || !self.duplicates.is_empty()
    }

    /// Tells it on the terminal.
    pub(crate) fn say(&self, home: &HomeFolder) -> Result<()> {
        let file = self.file.display();
        print::line(&format!(
            "{file}: {}, {} new, {} in the logbook already",
            count(self.read, "contact", "contacts"),
            self.added.len(),
            self.known
        ))?;
        for complaint in self.complaints.iter().take(PRINTED_EACH) {
            print::line(&format!("  line {}: {}", complaint.line, complaint.reason))?;
        }
        let further = self.complaints.len().saturating_sub(PRINTED_EACH) + self.further_complaints;
        self.and_more(further, "further complaint", "further complaints")?;
        if !self.told_otherwise.is_empty() {
            let became = if self.again {
                "added all the same"
            } else {
                "not added (--add-duplicates adds them)"
            };
            print::line(&format!(
                "  {} in the logbook with other details, and {became}:",
                count(
                    self.told_otherwise.len() + self.further_told_otherwise,
                    "contact is",
                    "contacts are"
                )
            ))?;
        }
        for told in self.told_otherwise.iter().take(PRINTED_EACH) {
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
        let further =
            self.told_otherwise.len().saturating_sub(PRINTED_EACH) + self.further_told_otherwise;
        self.and_more(further, "further contact", "further contacts")?;
        duplicates::print_duplicates(&self.duplicates, PRINTED_EACH, self.further_duplicates)?;
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
                "    and {} (--json tells up to {LISTED_EACH} of each kind)",
                count(further, one, many)
            ))?;
        }
        Ok(())
    }
}
