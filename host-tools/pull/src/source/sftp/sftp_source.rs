//! The source itself: paths and errors of an SFTP session as every source has them.

use std::io::{self, Read, Write};
use std::path::Path;
use std::time::{Duration, UNIX_EPOCH};

use super::address::BoardAddress;
use super::packet::SftpAttributes;
use super::pipeline::{self, FetchFailure};
use super::session::{SftpError, SftpSession};
use super::ssh::SshProcess;
use crate::error::PullError;
use crate::source::trip_source::{
    FetchCallback, FetchEvent, FileRange, SourceEntry, SourceEntryKind, TripSource,
};

/// A board that answers; `R` and `W` are the streams from and to its SFTP server.
pub struct SftpSource<R, W> {
    address: BoardAddress,
    session: SftpSession<R, W>,
    /// Dropped last, so that the session has sent everything. `None` on another connection.
    ssh: Option<SshProcess>,
}

/// Connects to `ssh://[user@]host[:port][/path]`; gives up a board that is silent for
/// longer than `patience`.
pub(crate) fn connect_to_board(
    address: &str,
    config: Option<&Path>,
    patience: Duration,
) -> Result<Box<dyn TripSource>, PullError> {
    let address = BoardAddress::parse(address)?;
    let (mut ssh, from, to) = SshProcess::start(&address, config, patience)?;
    match SftpSession::begin(from, to) {
        Ok(session) => {
            ssh.connected();
            Ok(Box::new(SftpSource {
                address,
                session,
                ssh: Some(ssh),
            }))
        }
        Err(SftpError::Lost(error)) if is_silent(&error) => Err(PullError::SourceLost(format!(
            "{} accepted the connection, but {error}. Restart the board, or put its card into \
             this computer and pull its folder",
            address.host
        ))),
        Err(SftpError::Lost(_)) => Err(PullError::SourceLost(format!(
            "cannot reach {}: {}",
            address.host,
            ssh.explain_end(&address)
        ))),
        Err(error) => Err(no_sftp(&address, &error)),
    }
}

fn no_sftp(address: &BoardAddress, error: &SftpError) -> PullError {
    PullError::SourceLost(format!(
        "cannot fetch from {}: {error}. Check that its SSH server offers SFTP",
        address.host
    ))
}

impl<R: Read, W: Write> SftpSource<R, W> {
    /// A source on a connection that is open already, to `ssh://[user@]host[:port][/path]`.
    ///
    /// # Errors
    /// When the address is none, or the server does not speak SFTP.
    pub fn over(address: &str, from: R, to: W) -> Result<Self, PullError> {
        let address = BoardAddress::parse(address)?;
        match SftpSession::begin(from, to) {
            Ok(session) => Ok(Self {
                address,
                session,
                ssh: None,
            }),
            Err(error) => Err(no_sftp(&address, &error)),
        }
    }

    fn at(&self, path: &str) -> String {
        match path.trim_end_matches('/') {
            "" => self.address.path.clone(),
            path => format!("{}/{path}", self.address.path),
        }
    }

    /// What an error of the session means for the source: which path it concerns, and why
    /// the connection ended if it did.
    fn describe(&mut self, action: &str, path: &str, error: SftpError) -> PullError {
        let failed = format!("cannot {action} {}: {error}", self.display_path(path));
        match error {
            SftpError::Lost(lost) if is_silent(&lost) => PullError::SourceSilent(format!(
                "cannot {action} {}: {lost}. What was fetched is kept; pull again, and the pull \
                 continues where it stopped",
                self.display_path(path)
            )),
            SftpError::Lost(_) => {
                let why = self.ssh.as_mut().map(|ssh| ssh.explain_end(&self.address));
                let why = why.unwrap_or_else(|| "Connect again".to_owned());
                PullError::SourceLost(format!("{failed}. {why}"))
            }
            // After one violation of the protocol nothing else can be trusted.
            SftpError::Protocol(_) => {
                PullError::SourceLost(format!("{failed}. Check the board, and pull again"))
            }
            SftpError::Refused { .. } => {
                PullError::SourcePath(format!("{failed}. Check the board, and pull again"))
            }
        }
    }

    /// As [`Self::describe`], for a result.
    fn described<T>(
        &mut self,
        action: &str,
        path: &str,
        result: Result<T, SftpError>,
    ) -> Result<T, PullError> {
        result.map_err(|error| self.describe(action, path, error))
    }

    /// Writes a file under another name and renames it; `to_make` is its folder where
    /// there is none.
    fn put(
        &mut self,
        to_make: Option<&str>,
        part: &str,
        file: &str,
        bytes: &[u8],
    ) -> Result<(), SftpError> {
        if let Some(folder) = to_make {
            self.session.make_folder(folder)?;
        }
        self.session.write(part, bytes)?;
        self.session.rename(part, file)
    }
}

impl<R: Read, W: Write> TripSource for SftpSource<R, W> {
    fn display_path(&self, path: &str) -> String {
        format!("{}:{}", self.address.host, self.at(path))
    }

    fn own_name(&mut self) -> Result<Option<(String, SourceEntryKind)>, PullError> {
        let path = self.at("");
        let result = self.session.stat(&path);
        let Some(attributes) = self.described("look at", "", result)? else {
            return Ok(None);
        };
        let result = self.session.real_path(&path);
        let full = String::from_utf8_lossy(&self.described("look at", "", result)?).into_owned();
        let name = full.rsplit('/').next().unwrap_or_default().to_owned();
        Ok(Some((name, entry_kind(attributes))))
    }

    fn list(&mut self, folder: &str) -> Result<Vec<SourceEntry>, PullError> {
        let result = self.session.list(&self.at(folder));
        let names = self.described("list", folder, result)?.into_iter();
        Ok(names
            .map(|(name, attributes)| source_entry(String::from_utf8(name).ok(), attributes))
            .collect())
    }

    fn metadata(&mut self, path: &str) -> Result<Option<SourceEntry>, PullError> {
        let result = self.session.lstat(&self.at(path));
        let name = path.rsplit('/').next().map(str::to_owned);
        Ok(self
            .described("look at", path, result)?
            .map(|attributes| source_entry(name, attributes)))
    }

    fn fetch(
        &mut self,
        ranges: &[FileRange],
        callback: FetchCallback<'_>,
    ) -> Result<(), PullError> {
        let full: Vec<FileRange> = ranges
            .iter()
            .map(|range| FileRange {
                path: self.at(&range.path),
                ..*range
            })
            .collect();
        let paths: Vec<String> = ranges
            .iter()
            .map(|range| self.display_path(&range.path))
            .collect();
        let mut with_path = |number: usize, event| {
            let event = match event {
                FetchEvent::Failed(why) => {
                    let path = paths.get(number).map_or("", String::as_str);
                    FetchEvent::Failed(format!("cannot fetch {path}: {why}"))
                }
                piece @ FetchEvent::Piece(_) => piece,
            };
            callback(number, event)
        };
        match pipeline::fetch(&mut self.session, &full, &mut with_path) {
            Ok(()) => Ok(()),
            Err(FetchFailure::Callback(error)) => Err(error),
            Err(FetchFailure::Session(number, error)) => {
                let path = ranges.get(number).map_or("", |range| &range.path);
                Err(self.describe("fetch", path, error))
            }
        }
    }

    fn write(&mut self, path: &str, bytes: &[u8]) -> Result<(), PullError> {
        let file = self.at(path);
        let (folder, name) = file.rsplit_once('/').unwrap_or((".", &file));
        let part = format!("{folder}/.{name}.part");
        let result = self.session.lstat(folder);
        let above = self.described("look at", path, result)?;
        if above.is_some_and(|above| entry_kind(above) != SourceEntryKind::Folder) {
            return Err(PullError::SourcePath(format!(
                "the folder of {} is a link or a file; nothing was written there",
                self.display_path(path)
            )));
        }
        let there = self.metadata(path)?;
        if there.is_some_and(|there| there.kind != SourceEntryKind::File) {
            return Err(PullError::SourcePath(format!(
                "{} is not an ordinary file; nothing was written there",
                self.display_path(path)
            )));
        }
        let result = self.put(above.is_none().then_some(folder), &part, &file, bytes);
        self.described("write", path, result)
    }

    fn hold_lease(&mut self, path: &str) -> Result<(), PullError> {
        let there = self.metadata(path)?;
        if let Some(there) = &there
            && there.kind != SourceEntryKind::File
        {
            return Err(PullError::SourcePath(format!(
                "{} is not an ordinary file; it was not touched",
                self.display_path(path)
            )));
        }
        let result = self.session.hold_lease(&self.at(path), there.is_some());
        self.described("touch", path, result)
    }
}

/// Whether we ended the server because it was silent.
fn is_silent(error: &io::Error) -> bool {
    error.kind() == io::ErrorKind::TimedOut
}

fn source_entry(name: Option<String>, attributes: SftpAttributes) -> SourceEntry {
    let since = |seconds: u32| UNIX_EPOCH + Duration::from_secs(seconds.into());
    SourceEntry {
        name,
        kind: entry_kind(attributes),
        bytes: attributes.bytes.unwrap_or_default(),
        modified: attributes.modified.map(since),
    }
}

/// A file without a length cannot be fetched, so it counts as something else.
fn entry_kind(attributes: SftpAttributes) -> SourceEntryKind {
    match attributes.mode.map(|mode| mode & 0o170_000) {
        Some(0o040_000) => SourceEntryKind::Folder,
        Some(0o100_000) if attributes.bytes.is_some() => SourceEntryKind::File,
        _ => SourceEntryKind::Other,
    }
}
