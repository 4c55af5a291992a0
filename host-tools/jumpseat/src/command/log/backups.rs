//! `jumpseat log --backup`, `--backups` and `--restore`.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};
use clap::Args;
use jumpseat_logbook::{BackupReason, LogbookBackup, backup_folder, backups, restore};
use jumpseat_values::display::{byte_size, count};
use serde::Serialize;

use crate::home::HomeFolder;
use crate::interrupt;
use crate::outcome::CommandOutcome;
use crate::print;
use crate::table::TextTable;
use jumpseat_files::file_name;

/// Options that choose entries, which have no meaning for backups.
const ENTRY_FILTERS: [&str; 11] = [
    "trip",
    "call",
    "band",
    "station",
    "from",
    "to",
    "last",
    "duplicates",
    "within",
    "said",
    "entry",
];

/// What to do with backups.
#[derive(Debug, Args)]
#[group(multiple = false)]
pub(super) struct BackupOptions {
    /// Back up the logbook now, into its folder of backups or into FILE
    #[arg(long, value_name = "FILE", num_args = 0..=1, conflicts_with_all = ENTRY_FILTERS)]
    backup: Option<Option<PathBuf>>,
    /// List the backups of the logbook, the newest first
    #[arg(long = "backups", id = "list_backups", conflicts_with_all = ENTRY_FILTERS)]
    list: bool,
    /// Replace the logbook with a backup (a name that --backups lists, or a file); the present
    /// logbook is kept among the backups
    #[arg(long, value_name = "FILE", conflicts_with_all = ENTRY_FILTERS)]
    restore: Option<PathBuf>,
}

/// A backup that was made.
#[derive(Debug, Serialize)]
struct MadeBackup {
    backup: PathBuf,
}

impl BackupOptions {
    /// Does what was asked; `None` when no option for backups was given.
    pub(super) fn run(&self, home: &HomeFolder, json: bool) -> Result<Option<CommandOutcome>> {
        match (&self.backup, &self.restore) {
            (Some(to), _) => make(home, to.as_deref(), json)?,
            (_, Some(from)) => put_back(home, from, json)?,
            _ if self.list => list(home, json)?,
            _ => return Ok(None),
        }
        Ok(Some(CommandOutcome::Done))
    }
}

fn make(home: &HomeFolder, to: Option<&Path>, json: bool) -> Result<()> {
    if let Some(to) = to.filter(|to| to.exists()) {
        bail!(
            "{} is there already and may be your only copy; name another file, or move it away",
            to.display()
        );
    }
    let Some(logbook) = home.logbook_read_only()? else {
        bail!("there is no logbook in {} yet", home.dir().display());
    };
    interrupt::tidy_up();
    let backup = logbook.back_up(to)?;
    if json {
        return print::json(&MadeBackup { backup });
    }
    print::line(&format!("Made the backup {}", backup.display()))
}

fn list(home: &HomeFolder, json: bool) -> Result<()> {
    let logbook = home.logbook_file();
    let found = backups(&logbook)?;
    if json {
        return print::json(&found);
    }
    let folder = backup_folder(&logbook);
    let Some(newest) = found.first() else {
        return print::line(&format!(
            "There is no backup in {} yet. One is made before the first change of each day; \
             `{} log --backup` makes one now.",
            folder.display(),
            home.command()
        ));
    };
    let mut table = TextTable::new(&["UTC", "Made", "Size", "File"]);
    for backup in &found {
        table.row(vec![
            backup.at.format("%Y-%m-%d %H:%M:%S").to_string(),
            when(backup).to_owned(),
            byte_size(backup.bytes),
            file_name(&backup.path),
        ]);
    }
    print::text(&table.text())?;
    print::line("")?;
    print::line(&format!(
        "They are in {}. `{} log --restore {}` restores the newest.",
        folder.display(),
        home.command(),
        file_name(&newest.path)
    ))
}

fn when(backup: &LogbookBackup) -> &'static str {
    match backup.why {
        BackupReason::Day => "before the day's first change",
        BackupReason::Upgrade => "before the logbook was upgraded",
        BackupReason::Asked => "when asked",
        BackupReason::Replaced => "before another was restored",
    }
}

fn put_back(home: &HomeFolder, from: &Path, json: bool) -> Result<()> {
    let logbook = home.logbook_file();
    let named = backup_folder(&logbook).join(from);
    let from = if named.is_file() {
        named
    } else {
        from.to_owned()
    };
    if !from.is_file() {
        bail!(
            "there is no backup {}; `{} log --backups` lists all",
            from.display(),
            home.command()
        );
    }
    interrupt::tidy_up();
    let restored =
        restore(&logbook, &from).with_context(|| format!("{} was not restored", from.display()))?;
    if json {
        return print::json(&restored);
    }
    let last = restored.last.as_deref().and_then(|last| last.get(..16));
    let last = last.map(|last| format!(", last changed at {} UTC", last.replace('T', " ")));
    print::line(&format!(
        "Restored: {}{}",
        count(usize::try_from(restored.entries)?, "entry", "entries"),
        last.unwrap_or_default()
    ))?;
    match restored.kept {
        Some(kept) => print::line(&format!(
            "The previous logbook is kept in {}",
            kept.display()
        )),
        None => Ok(()),
    }
}
