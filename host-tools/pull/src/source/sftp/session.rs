//! A session with an SFTP server. Requests may be sent ahead of the replies.

use std::collections::BTreeSet;
use std::io::{self, Read, Write};
use std::time::Instant;

use thiserror::Error;

use super::packet::{self, SftpAttributes, SftpReply, SftpRequest};
use crate::source::trip_source::{LEASE_EVERY, MAX_FOLDER_NAMES};

/// Bytes of the names in one folder at most, against a server that never ends.
const MAX_LISTING_BYTES: usize = 32 << 20;
pub(super) const FOR_READING: u32 = 0x01;
const TO_WRITE: u32 = 0x02;
const TO_MAKE: u32 = 0x08;
/// Together with [`TO_MAKE`]: only where nothing exists, not even a link.
const NEW_ONLY: u32 = 0x20;

/// Why a request failed.
#[derive(Debug, Error)]
pub(super) enum SftpError {
    /// The connection ended.
    #[error("the connection broke: {0}")]
    Lost(#[from] io::Error),
    /// The server does not follow the protocol.
    #[error("the server does not follow the SFTP protocol: {0}")]
    Protocol(&'static str),
    /// The server refused.
    #[error("the server says: {text} (SFTP status {code})")]
    Refused { code: u32, text: String },
}

pub(super) type SftpResult<T> = Result<T, SftpError>;

/// The session.
pub(super) struct SftpSession<R, W> {
    from: R,
    to: W,
    next: u32,
    /// Requests whose replies do not matter.
    ignored: BTreeSet<u32>,
    renames_over: bool,
    lease: Option<(Vec<u8>, Instant)>,
}

impl<R: Read, W: Write> SftpSession<R, W> {
    /// Agrees with the server on the version.
    pub(super) fn begin(from: R, to: W) -> SftpResult<Self> {
        let mut session = Self {
            from,
            to,
            next: 0,
            ignored: BTreeSet::new(),
            renames_over: false,
            lease: None,
        };
        session.send(SftpRequest::new(packet::INIT, 3))?;
        let first = session.packet()?;
        let (version, extensions) = packet::parse_version(&first)
            .ok_or(SftpError::Protocol("it did not start with a version"))?;
        if version < 3 {
            return Err(SftpError::Protocol("its version is older than 3"));
        }
        session.renames_over = extensions
            .iter()
            .any(|name| name == b"posix-rename@openssh.com");
        Ok(session)
    }

    /// The absolute path of a path.
    pub(super) fn real_path(&mut self, path: &str) -> SftpResult<Vec<u8>> {
        match self.ask(packet::REALPATH, |request| request.bytes(path.as_bytes()))? {
            SftpReply::Names(names) => match names.into_iter().next() {
                Some((name, _)) => Ok(name),
                None => Err(SftpError::Protocol("a path without a name")),
            },
            other => Err(unexpected(other)),
        }
    }

    /// What is at a path, following links; `None` when nothing is.
    pub(super) fn stat(&mut self, path: &str) -> SftpResult<Option<SftpAttributes>> {
        self.attributes(packet::STAT, path)
    }

    /// What is at a path, also when it is a link; `None` when nothing is.
    pub(super) fn lstat(&mut self, path: &str) -> SftpResult<Option<SftpAttributes>> {
        self.attributes(packet::LSTAT, path)
    }

    fn attributes(&mut self, kind: u8, path: &str) -> SftpResult<Option<SftpAttributes>> {
        match self.ask(kind, |request| request.bytes(path.as_bytes()))? {
            SftpReply::Attributes(attributes) => Ok(Some(attributes)),
            SftpReply::Status { code, .. } if code == packet::NO_SUCH_FILE => Ok(None),
            other => Err(unexpected(other)),
        }
    }

    /// Names in a folder, without "." and ".."; links are not followed.
    pub(super) fn list(&mut self, path: &str) -> SftpResult<Vec<(Vec<u8>, SftpAttributes)>> {
        let handle = match self.ask(packet::OPENDIR, |request| request.bytes(path.as_bytes()))? {
            SftpReply::Handle(handle) => handle,
            other => return Err(unexpected(other)),
        };
        let (mut all, mut bytes) = (Vec::new(), 0);
        loop {
            match self.ask(packet::READDIR, |request| request.bytes(&handle))? {
                SftpReply::Names(names) if names.is_empty() => {
                    return Err(SftpError::Protocol("a listing neither continues nor ends"));
                }
                SftpReply::Names(names) => {
                    bytes += names.iter().map(|(name, _)| name.len()).sum::<usize>();
                    all.extend(names);
                }
                SftpReply::Status { code, .. } if code == packet::EOF => break,
                other => return Err(unexpected(other)),
            }
            if all.len() > MAX_FOLDER_NAMES || bytes > MAX_LISTING_BYTES {
                return Err(SftpError::Protocol(
                    "a folder has more names than any folder of a trip",
                ));
            }
        }
        self.close(&handle)?;
        all.retain(|(name, _)| name != b"." && name != b"..");
        Ok(all)
    }

    /// Requests a part of an open file.
    pub(super) fn request_read(
        &mut self,
        handle: &[u8],
        offset: u64,
        length: u32,
    ) -> SftpResult<u32> {
        self.request(packet::READ, |request| {
            request.bytes(handle).long(offset).number(length)
        })
    }

    /// Ignores the replies to these requests.
    pub(super) fn ignore(&mut self, ids: impl Iterator<Item = u32>) {
        self.ignored.extend(ids);
    }

    /// Writes a new file; what was in its place, even a link, is removed first.
    pub(super) fn write(&mut self, path: &str, bytes: &[u8]) -> SftpResult<()> {
        // Usually there is nothing to remove. If removing fails, so does opening.
        self.ask(packet::REMOVE, |request| request.bytes(path.as_bytes()))?;
        let handle = self.open(path, TO_WRITE | TO_MAKE | NEW_ONLY)?;
        let mut offset = 0;
        for piece in bytes.chunks(32 * 1024) {
            self.expect_ok(packet::WRITE, |request| {
                request.bytes(&handle).long(offset).bytes(piece)
            })?;
            offset += piece.len() as u64;
        }
        self.expect_ok(packet::CLOSE, |request| request.bytes(&handle))
    }

    /// Renames a file and replaces what is there.
    pub(super) fn rename(&mut self, from: &str, to: &str) -> SftpResult<()> {
        let (from, to) = (from.as_bytes(), to.as_bytes());
        if self.renames_over {
            return self.expect_ok(packet::EXTENDED, |request| {
                let request = request.bytes(b"posix-rename@openssh.com");
                request.bytes(from).bytes(to)
            });
        }
        // Usually there is nothing to remove. If removing fails, so does renaming.
        self.ask(packet::REMOVE, |request| request.bytes(to))?;
        self.expect_ok(packet::RENAME, |request| request.bytes(from).bytes(to))
    }

    pub(super) fn make_folder(&mut self, path: &str) -> SftpResult<()> {
        self.expect_ok(packet::MKDIR, |request| {
            request.bytes(path.as_bytes()).number(0)
        })
    }

    /// Touches a file, now and whenever it is due while something is read. Makes the file
    /// unless it `is_there`.
    pub(super) fn hold_lease(&mut self, path: &str, is_there: bool) -> SftpResult<()> {
        let to_make = if is_there { 0 } else { TO_MAKE | NEW_ONLY };
        let handle = self.open(path, TO_WRITE | to_make)?;
        self.expect_ok(packet::WRITE, |request| {
            request.bytes(&handle).long(0).bytes(b"\n")
        })?;
        self.lease = Some((handle, Instant::now()));
        Ok(())
    }

    pub(super) fn touch_if_due(&mut self) -> SftpResult<()> {
        let Some((handle, last)) = &mut self.lease else {
            return Ok(());
        };
        if last.elapsed() < LEASE_EVERY {
            return Ok(());
        }
        *last = Instant::now();
        let handle = handle.clone();
        let id = self.request(packet::WRITE, |request| {
            request.bytes(&handle).long(0).bytes(b"\n")
        })?;
        self.ignored.insert(id);
        Ok(())
    }

    fn open(&mut self, path: &str, how: u32) -> SftpResult<Vec<u8>> {
        let reply = self.ask(packet::OPEN, |request| {
            request.bytes(path.as_bytes()).number(how).number(0)
        })?;
        match reply {
            SftpReply::Handle(handle) => Ok(handle),
            other => Err(unexpected(other)),
        }
    }

    /// Closes a handle and does not wait for the reply: nothing depends on it.
    pub(super) fn close(&mut self, handle: &[u8]) -> SftpResult<()> {
        let id = self.request(packet::CLOSE, |request| request.bytes(handle))?;
        self.ignored.insert(id);
        Ok(())
    }

    fn expect_ok(
        &mut self,
        kind: u8,
        fill: impl FnOnce(SftpRequest) -> SftpRequest,
    ) -> SftpResult<()> {
        match self.ask(kind, fill)? {
            SftpReply::Status { code, .. } if code == packet::OK => Ok(()),
            other => Err(unexpected(other)),
        }
    }

    fn ask(
        &mut self,
        kind: u8,
        fill: impl FnOnce(SftpRequest) -> SftpRequest,
    ) -> SftpResult<SftpReply> {
        let asked = self.request(kind, fill)?;
        let (id, reply) = self.reply()?;
        if id == asked {
            Ok(reply)
        } else {
            Err(SftpError::Protocol("a reply to no request"))
        }
    }

    pub(super) fn request(
        &mut self,
        kind: u8,
        fill: impl FnOnce(SftpRequest) -> SftpRequest,
    ) -> SftpResult<u32> {
        let id = self.next;
        self.next = self.next.wrapping_add(1);
        self.send(fill(SftpRequest::new(kind, id)))?;
        Ok(id)
    }

    fn send(&mut self, request: SftpRequest) -> SftpResult<()> {
        self.to.write_all(&request.finish())?;
        Ok(self.to.flush()?)
    }

    /// The next reply that matters.
    pub(super) fn reply(&mut self) -> SftpResult<(u32, SftpReply)> {
        loop {
            let (id, reply) = self.any_reply()?;
            if !self.ignored.remove(&id) {
                return Ok((id, reply));
            }
        }
    }

    /// The next reply. Most replies are data, which is not copied again.
    fn any_reply(&mut self) -> SftpResult<(u32, SftpReply)> {
        let malformed = || SftpError::Protocol("a malformed reply");
        let length = self.length()?;
        if length < packet::DATA_HEAD {
            let packet = self.bytes(length)?;
            return packet::parse_reply(&packet).ok_or_else(malformed);
        }
        let mut head = self.bytes(packet::DATA_HEAD)?;
        let left = length - packet::DATA_HEAD;
        if let Some((id, count)) = packet::parse_data_head(&head) {
            if count != left {
                return Err(malformed());
            }
            return Ok((id, SftpReply::Data(self.bytes(left)?)));
        }
        head.extend(self.bytes(left)?);
        packet::parse_reply(&head).ok_or_else(malformed)
    }

    fn packet(&mut self) -> SftpResult<Vec<u8>> {
        let length = self.length()?;
        self.bytes(length)
    }

    /// The length in front of a packet.
    fn length(&mut self) -> SftpResult<u32> {
        let mut length = [0; 4];
        self.from.read_exact(&mut length)?;
        let length = u32::from_be_bytes(length);
        if length > packet::MAX_PACKET_BYTES {
            return Err(SftpError::Protocol("a packet that is too long"));
        }
        Ok(length)
    }

    /// So many bytes; at most [`packet::MAX_PACKET_BYTES`].
    fn bytes(&mut self, count: u32) -> SftpResult<Vec<u8>> {
        let mut bytes = Vec::with_capacity(count as usize);
        let from = self.from.by_ref();
        from.take(count.into()).read_to_end(&mut bytes)?;
        if bytes.len() < count as usize {
            return Err(io::Error::from(io::ErrorKind::UnexpectedEof).into());
        }
        Ok(bytes)
    }
}

pub(super) fn unexpected(reply: SftpReply) -> SftpError {
    match reply {
        SftpReply::Status { code, text } => SftpError::Refused { code, text },
        _ => SftpError::Protocol("a reply of the wrong kind"),
    }
}
