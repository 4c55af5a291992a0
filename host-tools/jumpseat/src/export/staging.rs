//! A folder that gets its name when it is whole.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use tempfile::TempDir;

/// The folder while it is written; it goes away when it is dropped unfinished.
pub(super) struct Staging {
    dir: TempDir,
    beside: PathBuf,
}

impl Staging {
    /// Makes it in the folder where `out` is to be.
    pub(super) fn beside(out: &Path) -> Result<Self> {
        let beside = match out.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        fs::create_dir_all(beside).with_context(|| cannot_write(beside))?;
        let dir = tempfile::Builder::new()
            .prefix(".jumpseat-")
            .tempdir_in(beside)
            .with_context(|| cannot_write(beside))?;
        Ok(Self {
            dir,
            beside: beside.to_owned(),
        })
    }

    /// Where it is now.
    pub(super) fn path(&self) -> &Path {
        self.dir.path()
    }

    /// Gives it its name.
    pub(super) fn finish(self, out: &Path) -> Result<()> {
        readable(self.dir.path())?;
        fs::rename(self.dir.path(), out).with_context(|| cannot_write(out))?;
        // It has its name now; nothing is left to tidy up.
        let _ = self.dir.keep();
        if cfg!(unix) {
            File::open(&self.beside)
                .and_then(|folder| folder.sync_all())
                .with_context(|| cannot_write(&self.beside))?;
        }
        Ok(())
    }
}

/// Temporary folders are private; what a person exports is not.
fn readable(folder: &Path) -> Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        fs::set_permissions(folder, fs::Permissions::from_mode(0o755))
            .with_context(|| cannot_write(folder))?;
    }
    let _ = folder;
    Ok(())
}

fn cannot_write(path: &Path) -> String {
    format!(
        "cannot write {}; check that the disk has room and that you may write there",
        path.display()
    )
}
