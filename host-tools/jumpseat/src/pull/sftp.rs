//! A board as a source: its files over SFTP, through the system's ssh.

mod address;
mod fetch;
#[cfg(test)]
mod hostile;
mod packet;
mod session;
mod ssh;

use std::io::BufReader;
use std::path::Path;
use std::process::{ChildStdin, ChildStdout};
use std::time::{Duration, UNIX_EPOCH};

use anyhow::{Context as _, Error, Result, anyhow};

use super::source::{Entry, Kind, Source, Take, Wanted};
use address::Address;
use packet::Attributes;
use session::{Session, SftpError};
use ssh::Ssh;

/// A board that answers.
pub(super) struct Sftp {
    address: Address,
    session: Session<BufReader<ChildStdout>, ChildStdin>,
    /// It goes last, so that the session has said everything.
    ssh: Ssh,
}

impl Sftp {
    /// Connects to `ssh://[user@]host[:port][/path]`.
    pub(super) fn connect(address: &str, config: Option<&Path>) -> Result<Self> {
        let address = Address::parse(address)?;
        let (mut ssh, from, to) = Ssh::start(&address, config)?;
        match Session::begin(from, to) {
            Ok(session) => Ok(Self {
                address,
                session,
                ssh,
            }),
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
            let lost = matches!(error.downcast_ref(), Some(SftpError::Lost(_)));
            let known = error.is::<SftpError>();
            let said = format!("cannot {what} {}", self.say(path));
            if lost {
                let why = self.ssh.why(&self.address);
                anyhow!("{said}: {error}. {why}")
            } else if known {
                anyhow!("{said}: {error}. Check the board, and pull again")
            } else {
                error
            }
        })
    }
}

impl Source for Sftp {
    fn say(&self, path: &str) -> String {
        format!("{}:{}", self.address.host, self.at(path))
    }

    fn own(&mut self) -> Result<Option<(String, Kind)>> {
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

    fn list(&mut self, folder: &str) -> Result<Vec<Entry>> {
        let done = self.session.list(&self.at(folder)).map_err(Error::from);
        let names = self.told("list", folder, done)?;
        Ok(names
            .into_iter()
            .map(|(name, attributes)| Entry {
                name: String::from_utf8(name).ok(),
                kind: kind(attributes),
                bytes: attributes.bytes.unwrap_or_default(),
                modified: attributes
                    .modified
                    .map(|seconds| UNIX_EPOCH + Duration::from_secs(seconds.into())),
            })
            .collect())
    }

    fn fetch(&mut self, wanted: &[Wanted], take: Take<'_>) -> Result<()> {
        let whole: Vec<Wanted> = wanted
            .iter()
            .map(|wanted| Wanted {
                path: self.at(&wanted.path),
                ..*wanted
            })
            .collect();
        fetch::fetch(&mut self.session, &whole, take).or_else(|(number, error)| {
            let path = wanted.get(number).map_or("", |wanted| &wanted.path);
            self.told("fetch", path, Err(error))
        })
    }

    fn write(&mut self, path: &str, bytes: &[u8]) -> Result<()> {
        let whole = self.at(path);
        let (folder, name) = whole.rsplit_once('/').context("a file needs a name")?;
        let part = format!("{folder}/.{name}.part");
        let done = self.put(folder, &part, &whole, bytes);
        self.told("write", path, done.map_err(Error::from))
    }

    fn hold(&mut self, path: &str) -> Result<()> {
        let done = self.session.hold(&self.at(path)).map_err(Error::from);
        self.told("touch", path, done)
    }
}

impl Sftp {
    fn put(
        &mut self,
        folder: &str,
        part: &str,
        whole: &str,
        bytes: &[u8],
    ) -> Result<(), SftpError> {
        if self.session.stat(folder)?.is_none() {
            self.session.make_folder(folder)?;
        }
        self.session.write(part, bytes)?;
        self.session.rename(part, whole)
    }
}

/// A file without a length is none that can be fetched.
fn kind(attributes: Attributes) -> Kind {
    match attributes.mode.map(|mode| mode & 0o170_000) {
        Some(0o040_000) => Kind::Folder,
        Some(0o100_000) if attributes.bytes.is_some() => Kind::File,
        _ => Kind::Other,
    }
}
