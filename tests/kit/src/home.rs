//! A home of its own for a test, in a folder of its own.

use std::env;
use std::ffi::{OsStr, OsString};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use tempfile::TempDir;

use crate::{CommandReply, DEMO_TRIP, PartError, built, copy_folder, demo_card};

/// A folder with a home in it, in which the home tool runs.
#[derive(Debug)]
pub struct TestHome {
    folder: PathBuf,
    name: &'static str,
    /// The folder goes with the value, unless it is somebody else's.
    _temporary: Option<TempDir>,
}

impl TestHome {
    /// A new folder without a home yet; the home tool makes it, as `home` in the folder.
    ///
    /// # Errors
    /// When no temporary folder can be made.
    pub fn empty() -> Result<Self, PartError> {
        Self::named("home")
    }

    /// The same where the home has another path in the folder.
    ///
    /// # Errors
    /// When no temporary folder can be made.
    pub fn named(name: &'static str) -> Result<Self, PartError> {
        let folder = tempfile::tempdir().map_err(PartError::file(&env::temp_dir()))?;
        Ok(Self {
            folder: folder.path().to_owned(),
            name,
            _temporary: Some(folder),
        })
    }

    /// The home that is or will be `home` in this folder.
    pub fn in_folder(folder: &Path) -> Self {
        Self {
            folder: folder.to_owned(),
            name: "home",
            _temporary: None,
        }
    }

    /// A copy of the demo drive's trip on a card, `card` in the folder.
    ///
    /// # Errors
    /// When it cannot be copied.
    pub fn with_demo_card() -> Result<Self, PartError> {
        let home = Self::empty()?;
        copy_folder(
            &demo_card().join(DEMO_TRIP),
            &home.at("card").join(DEMO_TRIP),
        )?;
        Ok(home)
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// A path in the folder, which is also the working folder of commands.
    pub fn at(&self, path: impl AsRef<Path>) -> PathBuf {
        self.folder.join(path)
    }

    /// The home.
    pub fn path(&self) -> PathBuf {
        self.at(self.name)
    }

    /// A trip's folder in the library.
    pub fn trip(&self, name: &str) -> PathBuf {
        self.path().join("trips").join(name)
    }

    /// Writes a file in the folder, and makes the folders that it needs.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn write(&self, path: &str, bytes: impl AsRef<[u8]>) -> Result<(), PartError> {
        let path = self.at(path);
        let folder = path.parent().unwrap_or(&self.folder);
        fs::create_dir_all(folder).map_err(PartError::file(folder))?;
        fs::write(&path, bytes).map_err(PartError::file(&path))
    }

    /// The home tool in the folder, with this home, which a shell would find by its name.
    ///
    /// # Errors
    /// When the home tool was not built.
    pub fn command<S: AsRef<OsStr>>(&self, arguments: &[S]) -> Result<Command, PartError> {
        let program = built("jumpseat")?;
        let mut command = Command::new(&program);
        command
            .env("PATH", path_with(&program))
            .args(["--home", self.name])
            .args(arguments)
            .current_dir(&self.folder);
        Ok(command)
    }

    /// Runs the home tool. Where it was not built, the reply says so.
    pub fn run<S: AsRef<OsStr>>(&self, arguments: &[S]) -> CommandReply {
        match self.command(arguments) {
            Ok(mut command) => CommandReply::of(&mut command),
            Err(reason) => CommandReply {
                line: "jumpseat".into(),
                code: None,
                out: String::new(),
                error: reason.to_string(),
            },
        }
    }
}

/// Where programs are looked for, this one's folder first.
fn path_with(program: &Path) -> OsString {
    let folders = env::var_os("PATH").unwrap_or_default();
    let first = program.parent().map(Path::to_owned);
    let all = first.into_iter().chain(env::split_paths(&folders));
    // A folder whose name cannot stand in a path is left out.
    env::join_paths(all).unwrap_or(folders)
}
