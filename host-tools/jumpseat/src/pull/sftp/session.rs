//! A conversation with an SFTP server: requests go out ahead of the answers, so
//! that a long way costs its delay once and not once a piece.

use std::collections::{BTreeSet, VecDeque};
use std::io::{self, Read, Write};
use std::time::Instant;

use thiserror::Error;

use super::packet::{self, Attributes, Reply, Request};
use crate::pull::LEASE_EVERY;
use crate::pull::source::Sink;

/// As much as OpenSSH's server gives at once.
const PIECE: u32 = 255 * 1024;
/// Pieces asked for ahead: 4 MiB, more than the window of an SSH channel.
const AHEAD: usize = 16;
/// Names of one folder, against a server that never ends.
const MOST_NAMES: usize = 200_000;
const FOR_READING: u32 = 0x01;
const TO_WRITE: u32 = 0x02;
const TO_MAKE: u32 = 0x08;
const TO_EMPTY: u32 = 0x10;

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

type Done<T> = Result<T, SftpError>;

/// The conversation.
pub(super) struct Session<R, W> {
    from: R,
    to: W,
    next: u32,
    /// Requests whose answers do not matter.
    ignored: BTreeSet<u32>,
    renames_over: bool,
    lease: Option<(Vec<u8>, Instant)>,
}

/// A part of a file that was asked for.
struct Piece {
    id: u32,
    offset: u64,
    length: u32,
    data: Option<Vec<u8>>,
}

impl<R: Read, W: Write> Session<R, W> {
    /// Greets the server.
    pub(super) fn begin(from: R, to: W) -> Done<Self> {
        let mut session = Self {
            from,
            to,
            next: 0,
            ignored: BTreeSet::new(),
            renames_over: false,
            lease: None,
        };
        session.send(Request::new(packet::INIT, 3))?;
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
    pub(super) fn real_path(&mut self, path: &str) -> Done<Vec<u8>> {
        match self.ask(packet::REALPATH, |request| request.bytes(path.as_bytes()))? {
            Reply::Names(names) => match names.into_iter().next() {
                Some((name, _)) => Ok(name),
                None => Err(SftpError::Garbled("a path has no name")),
            },
            other => Err(unexpected(other)),
        }
    }

    /// What is at a path, links followed; None when nothing is.
    pub(super) fn stat(&mut self, path: &str) -> Done<Option<Attributes>> {
        match self.ask(packet::STAT, |request| request.bytes(path.as_bytes()))? {
            Reply::Attributes(attributes) => Ok(Some(attributes)),
            Reply::Status { code, .. } if code == packet::NO_SUCH_FILE => Ok(None),
            other => Err(unexpected(other)),
        }
    }

    /// Names in a folder, without itself and the one above; links not followed.
    pub(super) fn list(&mut self, path: &str) -> Done<Vec<(Vec<u8>, Attributes)>> {
        let handle = match self.ask(packet::OPENDIR, |request| request.bytes(path.as_bytes()))? {
            Reply::Handle(handle) => handle,
            other => return Err(unexpected(other)),
        };
        let mut all = Vec::new();
        loop {
            match self.ask(packet::READDIR, |request| request.bytes(&handle))? {
                Reply::Names(names) if names.is_empty() => {
                    return Err(SftpError::Garbled("a list neither goes on nor ends"));
                }
                Reply::Names(names) => all.extend(names),
                Reply::Status { code, .. } if code == packet::EOF => break,
                other => return Err(unexpected(other)),
            }
            if all.len() > MOST_NAMES {
                return Err(SftpError::Garbled(
                    "a folder has more names than any of ours",
                ));
            }
        }
        self.close(&handle)?;
        all.retain(|(name, _)| name != b"." && name != b"..");
        Ok(all)
    }

    /// Reads a part of a file, in order.
    pub(super) fn read(
        &mut self,
        path: &str,
        from: u64,
        length: u64,
        sink: Sink<'_>,
    ) -> anyhow::Result<()> {
        let handle = self.open(path, FOR_READING)?;
        let mut window = VecDeque::new();
        let done = self.read_window(&handle, &mut window, from, length, sink);
        let unanswered = window.iter().filter(|piece| piece.data.is_none());
        self.ignored.extend(unanswered.map(|piece| piece.id));
        done?;
        Ok(self.close(&handle)?)
    }

    fn read_window(
        &mut self,
        handle: &[u8],
        window: &mut VecDeque<Piece>,
        from: u64,
        length: u64,
        sink: Sink<'_>,
    ) -> anyhow::Result<()> {
        let (mut next, end) = (from, from.saturating_add(length));
        loop {
            while window.len() < AHEAD && next < end {
                let most = end - next;
                let length = u32::try_from(most).map_or(PIECE, |most| most.min(PIECE));
                window.push_back(self.ask_for(handle, next, length)?);
                next += u64::from(length);
            }
            if window.is_empty() {
                return Ok(());
            }
            let (id, reply) = self.answer()?;
            let at = window
                .iter()
                .position(|piece| piece.id == id && piece.data.is_none())
                .ok_or(SftpError::Garbled("an answer to nothing asked"))?;
            let data = match reply {
                Reply::Data(data) => data,
                other => {
                    // It is answered, though not as hoped.
                    window.remove(at);
                    return Err(unexpected(other).into());
                }
            };
            let rest = {
                let piece = &mut window[at];
                let (got, asked) = (data.len() as u64, u64::from(piece.length));
                if got == 0 || got > asked {
                    return Err(SftpError::Garbled("a piece of another length").into());
                }
                piece.data = Some(data);
                // Both fit: they are no longer than the piece.
                (got < asked).then_some((piece.offset + got, (asked - got) as u32))
            };
            if let Some((offset, length)) = rest {
                let rest = self.ask_for(handle, offset, length)?;
                window.insert(at + 1, rest);
            }
            while let Some(Piece {
                data: Some(data), ..
            }) = window.front()
            {
                sink(data)?;
                window.pop_front();
            }
            self.touch_if_due()?;
        }
    }

    fn ask_for(&mut self, handle: &[u8], offset: u64, length: u32) -> Done<Piece> {
        let id = self.request(packet::READ, |request| {
            request.bytes(handle).long(offset).number(length)
        })?;
        Ok(Piece {
            id,
            offset,
            length,
            data: None,
        })
    }

    /// Writes a file from its beginning.
    pub(super) fn write(&mut self, path: &str, bytes: &[u8]) -> Done<()> {
        let handle = self.open(path, TO_WRITE | TO_MAKE | TO_EMPTY)?;
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
    pub(super) fn rename(&mut self, from: &str, to: &str) -> Done<()> {
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

    pub(super) fn make_folder(&mut self, path: &str) -> Done<()> {
        self.order(packet::MKDIR, |request| {
            request.bytes(path.as_bytes()).number(0)
        })
    }

    /// Touches a file, now and whenever it is due while something is read.
    pub(super) fn hold(&mut self, path: &str) -> Done<()> {
        let handle = self.open(path, TO_WRITE | TO_MAKE)?;
        self.order(packet::WRITE, |request| {
            request.bytes(&handle).long(0).bytes(b"\n")
        })?;
        self.lease = Some((handle, Instant::now()));
        Ok(())
    }

    fn touch_if_due(&mut self) -> Done<()> {
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

    fn open(&mut self, path: &str, how: u32) -> Done<Vec<u8>> {
        let reply = self.ask(packet::OPEN, |request| {
            request.bytes(path.as_bytes()).number(how).number(0)
        })?;
        match reply {
            Reply::Handle(handle) => Ok(handle),
            other => Err(unexpected(other)),
        }
    }

    /// Nothing hangs on how it ends, so nobody waits.
    fn close(&mut self, handle: &[u8]) -> Done<()> {
        let id = self.request(packet::CLOSE, |request| request.bytes(handle))?;
        self.ignored.insert(id);
        Ok(())
    }

    fn order(&mut self, kind: u8, fill: impl FnOnce(Request) -> Request) -> Done<()> {
        match self.ask(kind, fill)? {
            Reply::Status { code, .. } if code == packet::OK => Ok(()),
            other => Err(unexpected(other)),
        }
    }

    fn ask(&mut self, kind: u8, fill: impl FnOnce(Request) -> Request) -> Done<Reply> {
        let asked = self.request(kind, fill)?;
        let (id, reply) = self.answer()?;
        if id == asked {
            Ok(reply)
        } else {
            Err(SftpError::Garbled("an answer to nothing asked"))
        }
    }

    fn request(&mut self, kind: u8, fill: impl FnOnce(Request) -> Request) -> Done<u32> {
        let id = self.next;
        self.next = self.next.wrapping_add(1);
        self.send(fill(Request::new(kind, id)))?;
        Ok(id)
    }

    fn send(&mut self, request: Request) -> Done<()> {
        self.to.write_all(&request.finish())?;
        Ok(self.to.flush()?)
    }

    /// The next answer that matters.
    fn answer(&mut self) -> Done<(u32, Reply)> {
        loop {
            let packet = self.packet()?;
            let (id, reply) =
                packet::reply(&packet).ok_or(SftpError::Garbled("an answer in no known form"))?;
            if !self.ignored.remove(&id) {
                return Ok((id, reply));
            }
        }
    }

    fn packet(&mut self) -> Done<Vec<u8>> {
        let mut length = [0; 4];
        self.from.read_exact(&mut length)?;
        let length = u32::from_be_bytes(length);
        if length > packet::LONGEST {
            return Err(SftpError::Garbled("a packet is too long"));
        }
        // Bounded just above.
        let mut packet = vec![0; length as usize];
        self.from.read_exact(&mut packet)?;
        Ok(packet)
    }
}

fn unexpected(reply: Reply) -> SftpError {
    match reply {
        Reply::Status { code, text } => SftpError::Refused { code, text },
        _ => SftpError::Garbled("an answer to something else"),
    }
}
