//! A board as a source: its files over SFTP, through the system's ssh.

mod address;
mod fetch;
#[cfg(test)]
mod hostile;
mod packet;
mod patience;
mod session;
mod ssh;

use std::io;
use std::path::Path;
use std::time::{Duration, UNIX_EPOCH};

use anyhow::{Context as _, Error, Result, anyhow, bail};

use super::source::{
    FetchCallback, FetchEvent, FileRange, SourceEntry, SourceEntryKind, SourceGone, TripSource,
};
use address::BoardAddress;
use packet::SftpAttributes;
use session::{SftpError, SftpSession};
use ssh::{FromServer, SshProcess, ToServer};

/// A board that answers.
pub(super) struct SftpSource {
    address: BoardAddress,
    session: SftpSession<FromServer, ToServer>,
    /// It goes last, so that the session has said everything.
    ssh: SshProcess,
}

impl SftpSource {
    /// Connects to `ssh://[user@]host[:port][/path]`; a board that is silent for longer
    /// than `patience` is given up.
    pub(super) fn connect(
        address: &str,
        config: Option<&Path>,
        patience: Duration,
    ) -> Result<Self> {
        let address = BoardAddress::parse(address)?;
        let (mut ssh, from, to) = SshProcess::start(&address, config, patience)?;
        match SftpSession::begin(from, to) {
            Ok(session) => {
                ssh.answers();
                Ok(Self {
                    address,
                    session,
                    ssh,
                })
            }
            Err(SftpError::Lost(error)) if is_silent(&error) => Err(anyhow!(
                "{} took the connection, and then {error}. Start the board again, or put its \
                 card into this computer and pull its folder",
                address.host
            )),
            Err(SftpError::Lost(_)) => {
                let why = ssh.why(&address);
                Err(anyhow!("cannot reach {}: {why}", address.host))
            }
            Err(error) => Err(anyhow!(
                "cannot fetch from {}: {error}. Check that its SSH server offers SFTP",
                address.host
            )),
        }
    }

    fn at(&self, path: &str) -> String {
        match path.trim_end_matches('/') {
            "" => self.address.path.clone(),
            path => format!("{}/{path}", self.address.path),
        }
    }

    /// Says where, and when the connection is gone, why.
    fn told<T>(&mut self, what: &str, path: &str, done: Result<T>) -> Result<T> {
        done.map_err(|error| {
            let said = format!("cannot {what} {}", self.display_path(path));
            match error.downcast_ref() {
                Some(SftpError::Lost(lost)) if is_silent(lost) => SourceGone(format!(
                    "{said}: {lost}. What was fetched is kept: pull again, and it goes on where \
                     it stopped; --patience waits longer"
                ))
                .into(),
                Some(SftpError::Lost(_)) => {
                    let why = self.ssh.why(&self.address);
                    SourceGone(format!("{said}: {error}. {why}")).into()
                }
                // Who does not keep to the protocol once cannot be followed any more.
                Some(SftpError::Garbled(_)) => {
                    SourceGone(format!("{said}: {error}. Check the board, and pull again")).into()
                }
                Some(SftpError::Refused { .. }) => {
                    anyhow!("{said}: {error}. Check the board, and pull again")
                }
                None => error,
            }
        })
    }
}

impl TripSource for SftpSource {
    fn display_path(&self, path: &str) -> String {
        format!("{}:{}", self.address.host, self.at(path))
    }

    fn own_name(&mut self) -> Result<Option<(String, SourceEntryKind)>> {
        let path = self.at("");
        let done = self.session.stat(&path).map_err(Error::from);
        let Some(attributes) = self.told("look at", "", done)? else {
            return Ok(None);
        };
        let done = self.session.real_path(&path).map_err(Error::from);
        let whole = String::from_utf8_lossy(&self.told("look at", "", done)?).into_owned();
        let name = whole.rsplit('/').next().unwrap_or_default().to_owned();
        Ok(Some((name, kind(attributes))))
    }

    fn list(&mut self, folder: &str) -> Result<Vec<SourceEntry>> {
        let done = self.session.list(&self.at(folder)).map_err(Error::from);
        let names = self.told("list", folder, done)?;
        let named = names.into_iter();
        Ok(named
            .map(|(name, attributes)| entry(String::from_utf8(name).ok(), attributes))
            .collect())
    }

    fn metadata(&mut self, path: &str) -> Result<Option<SourceEntry>> {
        let done = self.session.look(&self.at(path)).map_err(Error::from);
        let name = path.rsplit('/').next().map(str::to_owned);
        Ok(self
            .told("look at", path, done)?
            .map(|attributes| entry(name, attributes)))
    }

    fn fetch(&mut self, wanted: &[FileRange], take: FetchCallback<'_>) -> Result<()> {
        let whole: Vec<FileRange> = wanted
            .iter()
            .map(|wanted| FileRange {
                path: self.at(&wanted.path),
                ..*wanted
            })
            .collect();
        let paths: Vec<String> = wanted
            .iter()
            .map(|wanted| self.display_path(&wanted.path))
            .collect();
        let mut told = |number: usize, got| {
            take(
                number,
                match got {
                    FetchEvent::Failed(why) => {
                        let path = paths.get(number).map_or("", String::as_str);
                        FetchEvent::Failed(format!("cannot fetch {path}: {why}"))
                    }
                    piece @ FetchEvent::Piece(_) => piece,
                },
            )
        };
        fetch::fetch(&mut self.session, &whole, &mut told).or_else(|(number, error)| {
            let path = wanted.get(number).map_or("", |wanted| &wanted.path);
            self.told("fetch", path, Err(error))
        })
    }

    fn write(&mut self, path: &str, bytes: &[u8]) -> Result<()> {
        let whole = self.at(path);
        let (folder, name) = whole.rsplit_once('/').context("a file needs a name")?;
        let part = format!("{folder}/.{name}.part");
        let done = self.session.look(folder).map_err(Error::from);
        let above = self.told("look at", path, done)?;
        if above.is_some_and(|above| kind(above) != SourceEntryKind::Folder) {
            bail!(
                "{} lies in what is no folder of its own; nothing was written there",
                self.display_path(path)
            );
        }
        let there = self.metadata(path)?;
        if there.is_some_and(|there| there.kind != SourceEntryKind::File) {
            bail!(
                "{} is no ordinary file; nothing was written there",
                self.display_path(path)
            );
        }
        let done = self.put(above.is_none().then_some(folder), &part, &whole, bytes);
        self.told("write", path, done.map_err(Error::from))
    }

    fn hold_lease(&mut self, path: &str) -> Result<()> {
        let there = self.metadata(path)?;
        if let Some(there) = &there
            && there.kind != SourceEntryKind::File
        {
            bail!(
                "{} is no ordinary file; it was not touched",
                self.display_path(path)
            );
        }
        let done = self.session.hold(&self.at(path), there.is_some());
        self.told("touch", path, done.map_err(Error::from))
    }
}

impl SftpSource {
    /// Writes a file under another name and gives it its own; `to_make` is its folder
    /// where there is none.
    fn put(
        &mut self,
        to_make: Option<&str>,
        part: &str,
        whole: &str,
        bytes: &[u8],
    ) -> Result<(), SftpError> {
        if let Some(folder) = to_make {
            self.session.make_folder(folder)?;
        }
        self.session.write(part, bytes)?;
        self.session.rename(part, whole)
    }
}

/// The server was given up because it said nothing.
fn is_silent(error: &io::Error) -> bool {
    error.kind() == io::ErrorKind::TimedOut
}

fn entry(name: Option<String>, attributes: SftpAttributes) -> SourceEntry {
    let since = |seconds: u32| UNIX_EPOCH + Duration::from_secs(seconds.into());
    SourceEntry {
        name,
        kind: kind(attributes),
        bytes: attributes.bytes.unwrap_or_default(),
        modified: attributes.modified.map(since),
    }
}

/// A file without a length is none that can be fetched.
fn kind(attributes: SftpAttributes) -> SourceEntryKind {
    match attributes.mode.map(|mode| mode & 0o170_000) {
        Some(0o040_000) => SourceEntryKind::Folder,
        Some(0o100_000) if attributes.bytes.is_some() => SourceEntryKind::File,
        _ => SourceEntryKind::Other,
    }
}
