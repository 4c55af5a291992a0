//! A conversation with an SFTP server: requests go out ahead of the answers, so
//! that a long way costs its delay once and not once a piece.

use std::collections::BTreeSet;
use std::io::{self, Read, Write};
use std::time::Instant;

use thiserror::Error;

use super::packet::{self, SftpAttributes, SftpReply, SftpRequest};
use crate::pull::LEASE_EVERY;
use crate::pull::source::MAX_FOLDER_NAMES;

/// Bytes of the names of one folder, against a server that never ends.
const MAX_LISTING_BYTES: usize = 32 << 20;
pub(super) const FOR_READING: u32 = 0x01;
const TO_WRITE: u32 = 0x02;
const TO_MAKE: u32 = 0x08;
/// Together with [`TO_MAKE`]: only where nothing is yet, not even a link.
const NEW_ONLY: u32 = 0x20;

/// Why something cannot be had.
#[derive(Debug, Error)]
pub(super) enum SftpError {
    /// The connection ended.
    #[error("the connection broke: {0}")]
    Lost(#[from] io::Error),
    /// The server speaks something else.
    #[error("it does not speak SFTP as it should: {0}")]
    Garbled(&'static str),
    /// The server said no.
    #[error("the other side says: {text} (SFTP status {code})")]
    Refused { code: u32, text: String },
}

pub(super) type SftpResult<T> = Result<T, SftpError>;

/// The conversation.
pub(super) struct SftpSession<R, W> {
    from: R,
    to: W,
    next: u32,
    /// Requests whose answers do not matter.
    ignored: BTreeSet<u32>,
    renames_over: bool,
    lease: Option<(Vec<u8>, Instant)>,
}

impl<R: Read, W: Write> SftpSession<R, W> {
    /// Greets the server.
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
        let (version, extensions) =
            packet::version(&first).ok_or(SftpError::Garbled("no version came first"))?;
        if version < 3 {
            return Err(SftpError::Garbled("its version is older than 3"));
        }
        session.renames_over = extensions
            .iter()
            .any(|name| name == b"posix-rename@openssh.com");
        Ok(session)
    }

    /// The whole path of a path.
    pub(super) fn real_path(&mut self, path: &str) -> SftpResult<Vec<u8>> {
        match self.ask(packet::REALPATH, |request| request.bytes(path.as_bytes()))? {
            SftpReply::Names(names) => match names.into_iter().next() {
                Some((name, _)) => Ok(name),
                None => Err(SftpError::Garbled("a path has no name")),
            },
            other => Err(unexpected(other)),
        }
    }

    /// What is at a path, links followed; None when nothing is.
    pub(super) fn stat(&mut self, path: &str) -> SftpResult<Option<SftpAttributes>> {
        self.attributes(packet::STAT, path)
    }

    /// What is at a path, be it a link; None when nothing is.
    pub(super) fn look(&mut self, path: &str) -> SftpResult<Option<SftpAttributes>> {
        self.attributes(packet::LSTAT, path)
    }

    fn attributes(&mut self, kind: u8, path: &str) -> SftpResult<Option<SftpAttributes>> {
        match self.ask(kind, |request| request.bytes(path.as_bytes()))? {
            SftpReply::Attributes(attributes) => Ok(Some(attributes)),
            SftpReply::Status { code, .. } if code == packet::NO_SUCH_FILE => Ok(None),
            other => Err(unexpected(other)),
        }
    }

    /// Names in a folder, without itself and the one above; links not followed.
    pub(super) fn list(&mut self, path: &str) -> SftpResult<Vec<(Vec<u8>, SftpAttributes)>> {
        let handle = match self.ask(packet::OPENDIR, |request| request.bytes(path.as_bytes()))? {
            SftpReply::Handle(handle) => handle,
            other => return Err(unexpected(other)),
        };
        let (mut all, mut bytes) = (Vec::new(), 0);
        loop {
            match self.ask(packet::READDIR, |request| request.bytes(&handle))? {
                SftpReply::Names(names) if names.is_empty() => {
                    return Err(SftpError::Garbled("a list neither goes on nor ends"));
                }
                SftpReply::Names(names) => {
                    bytes += names.iter().map(|(name, _)| name.len()).sum::<usize>();
                    all.extend(names);
                }
                SftpReply::Status { code, .. } if code == packet::EOF => break,
                other => return Err(unexpected(other)),
            }
            if all.len() > MAX_FOLDER_NAMES || bytes > MAX_LISTING_BYTES {
                return Err(SftpError::Garbled(
                    "a folder has more names than any of ours",
                ));
            }
        }
        self.close(&handle)?;
        all.retain(|(name, _)| name != b"." && name != b"..");
        Ok(all)
    }

    /// Asks for a part of an open file.
    pub(super) fn ask_for(&mut self, handle: &[u8], offset: u64, length: u32) -> SftpResult<u32> {
        self.request(packet::READ, |request| {
            request.bytes(handle).long(offset).number(length)
        })
    }

    /// Requests whose answers do not matter any more.
    pub(super) fn ignore(&mut self, ids: impl Iterator<Item = u32>) {
        self.ignored.extend(ids);
    }

    /// Writes a new file; what was in its place, a link too, is removed before.
    pub(super) fn write(&mut self, path: &str, bytes: &[u8]) -> SftpResult<()> {
        // Most often there is nothing to remove; the opening tells the rest.
        self.ask(packet::REMOVE, |request| request.bytes(path.as_bytes()))?;
        let handle = self.open(path, TO_WRITE | TO_MAKE | NEW_ONLY)?;
        let mut offset = 0;
        for piece in bytes.chunks(32 * 1024) {
            self.order(packet::WRITE, |request| {
                request.bytes(&handle).long(offset).bytes(piece)
            })?;
            offset += piece.len() as u64;
        }
        self.order(packet::CLOSE, |request| request.bytes(&handle))
    }

    /// Renames, over what is there.
    pub(super) fn rename(&mut self, from: &str, to: &str) -> SftpResult<()> {
        let (from, to) = (from.as_bytes(), to.as_bytes());
        if self.renames_over {
            return self.order(packet::EXTENDED, |request| {
                let request = request.bytes(b"posix-rename@openssh.com");
                request.bytes(from).bytes(to)
            });
        }
        // Most often there is nothing to remove; the rename tells the rest.
        self.ask(packet::REMOVE, |request| request.bytes(to))?;
        self.order(packet::RENAME, |request| request.bytes(from).bytes(to))
    }

    pub(super) fn make_folder(&mut self, path: &str) -> SftpResult<()> {
        self.order(packet::MKDIR, |request| {
            request.bytes(path.as_bytes()).number(0)
        })
    }

    /// Touches a file, now and whenever it is due while something is read. It is made
    /// unless it `is_there`.
    pub(super) fn hold(&mut self, path: &str, is_there: bool) -> SftpResult<()> {
        let to_make = if is_there { 0 } else { TO_MAKE | NEW_ONLY };
        let handle = self.open(path, TO_WRITE | to_make)?;
        self.order(packet::WRITE, |request| {
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

    /// Nothing hangs on how it ends, so nobody waits.
    pub(super) fn close(&mut self, handle: &[u8]) -> SftpResult<()> {
        let id = self.request(packet::CLOSE, |request| request.bytes(handle))?;
        self.ignored.insert(id);
        Ok(())
    }

    fn order(&mut self, kind: u8, fill: impl FnOnce(SftpRequest) -> SftpRequest) -> SftpResult<()> {
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
        let (id, reply) = self.answer()?;
        if id == asked {
            Ok(reply)
        } else {
            Err(SftpError::Garbled("an answer to nothing asked"))
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

    /// The next answer that matters.
    pub(super) fn answer(&mut self) -> SftpResult<(u32, SftpReply)> {
        loop {
            let (id, reply) = self.any_answer()?;
            if !self.ignored.remove(&id) {
                return Ok((id, reply));
            }
        }
    }

    /// Data is by far the most of it, and is not copied again.
    fn any_answer(&mut self) -> SftpResult<(u32, SftpReply)> {
        let garbled = || SftpError::Garbled("an answer in no known form");
        let length = self.length()?;
        if length < packet::DATA_HEAD {
            let packet = self.bytes(length)?;
            return packet::reply(&packet).ok_or_else(garbled);
        }
        let mut head = self.bytes(packet::DATA_HEAD)?;
        let left = length - packet::DATA_HEAD;
        if let Some((id, count)) = packet::data(&head) {
            if count != left {
                return Err(garbled());
            }
            return Ok((id, SftpReply::Data(self.bytes(left)?)));
        }
        head.extend(self.bytes(left)?);
        packet::reply(&head).ok_or_else(garbled)
    }

    fn packet(&mut self) -> SftpResult<Vec<u8>> {
        let length = self.length()?;
        self.bytes(length)
    }

    /// The length that stands before a packet.
    fn length(&mut self) -> SftpResult<u32> {
        let mut length = [0; 4];
        self.from.read_exact(&mut length)?;
        let length = u32::from_be_bytes(length);
        if length > packet::MAX_PACKET_BYTES {
            return Err(SftpError::Garbled("a packet is too long"));
        }
        Ok(length)
    }

    /// So many bytes, at most those of the longest packet.
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
        _ => SftpError::Garbled("an answer to something else"),
    }
}
