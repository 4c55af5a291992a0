//! A folder that gets its name when it is complete.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use jumpseat_files::{UnfinishedFolder, clear_unfinished, make_folder, sync_folder};

use crate::system::let_others_read;

/// The folder while it is written; it is removed when the value is dropped before that.
pub(super) struct StagedFolder {
    dir: UnfinishedFolder,
    beside: PathBuf,
}

impl StagedFolder {
    /// Makes it in the folder of `out`.
    pub(super) fn beside(out: &Path) -> Result<Self> {
        let beside = match out.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        make_folder(beside)?;
        clear_unfinished(beside);
        let dir = UnfinishedFolder::new_in(beside).with_context(|| cannot_write(beside))?;
        Ok(Self {
            dir,
            beside: beside.to_owned(),
        })
    }

    /// Its present path.
    pub(super) fn path(&self) -> &Path {
        self.dir.path()
    }

    /// Renames it to its final name.
    pub(super) fn finish(self, out: &Path) -> Result<()> {
        let_others_read(self.path()).with_context(|| cannot_write(self.path()))?;
        self.dir.finish(out).with_context(|| cannot_write(out))?;
        Ok(sync_folder(&self.beside)?)
    }
}

fn cannot_write(path: &Path) -> String {
    format!(
        "cannot write {}; check that the disk has room and that you may write there",
        path.display()
    )
}
