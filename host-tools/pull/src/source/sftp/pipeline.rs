//! Fetches many files in one go. It opens, reads and closes files ahead of the replies,
//! so that the delay of a slow link counts once, and not for every piece or file. A file
//! that the server refuses fails alone.

use std::collections::{BTreeMap, VecDeque};
use std::io::{Read, Write};

use super::packet::{self, SftpReply};
use super::session::{FOR_READING, SftpError, SftpResult, SftpSession, unexpected};
use crate::error::PullError;
use crate::source::trip_source::{FetchCallback, FetchEvent, FileRange};

/// The most that OpenSSH's server sends in one reply.
const PIECE_BYTES: u32 = 255 * 1024;
/// Bytes requested ahead: more than the window of an SSH channel.
const MAX_BYTES_AHEAD: u64 = 4 << 20;
/// Files opened ahead; every server allows more.
const MAX_FILES_AHEAD: usize = 48;

/// A file from its opening to its end.
enum FetchHandle {
    /// No reply to the opening yet.
    Opening,
    Open(Vec<u8>),
    /// It could not be opened, for this reason.
    Refused(String),
}

/// A part of a file.
struct PieceRequest {
    file: usize,
    offset: u64,
    length: u32,
    state: PieceState,
}

enum PieceState {
    /// Requested under this number.
    Requested(u32),
    Arrived(Vec<u8>),
    /// It failed, and with it the rest of the file.
    Failed(String),
}

impl PieceRequest {
    fn requested_id(&self) -> Option<u32> {
        match self.state {
            PieceState::Requested(id) => Some(id),
            _ => None,
        }
    }
}

/// A fetch in progress.
struct PipelinedFetch<'a> {
    ranges: &'a [FileRange],
    /// The first file that is not closed; `handles` start with it.
    first: usize,
    handles: VecDeque<FetchHandle>,
    opening: BTreeMap<u32, usize>,
    /// The file and offset to request next.
    file: usize,
    offset: u64,
    pieces: VecDeque<PieceRequest>,
    /// Bytes in the pieces.
    ahead: u64,
}

/// Why a fetch ended early.
#[derive(Debug)]
pub(super) enum FetchFailure {
    /// The session failed at the file with this index.
    Session(usize, SftpError),
    /// The callback failed.
    Callback(PullError),
}

/// Fetches ranges in their order.
pub(super) fn fetch<R: Read, W: Write>(
    session: &mut SftpSession<R, W>,
    ranges: &[FileRange],
    callback: FetchCallback<'_>,
) -> Result<(), FetchFailure> {
    let mut fetch = PipelinedFetch {
        ranges,
        first: 0,
        handles: VecDeque::new(),
        opening: BTreeMap::new(),
        file: 0,
        offset: ranges.first().map_or(0, |range| range.from),
        pieces: VecDeque::new(),
        ahead: 0,
    };
    let done = fetch.run(session, callback);
    // After an error nobody waits for the other replies.
    session.ignore(fetch.pieces.iter().filter_map(PieceRequest::requested_id));
    session.ignore(fetch.opening.into_keys());
    done
}

impl PipelinedFetch<'_> {
    fn run<R: Read, W: Write>(
        &mut self,
        session: &mut SftpSession<R, W>,
        callback: FetchCallback<'_>,
    ) -> Result<(), FetchFailure> {
        loop {
            let first = self.first;
            let failed = |error: SftpError| FetchFailure::Session(first, error);
            self.open_ahead(session).map_err(failed)?;
            self.ask_ahead(session).map_err(failed)?;
            self.deliver(callback)?;
            self.close_done(session).map_err(failed)?;
            if self.first == self.ranges.len() {
                return Ok(());
            }
            if self.pieces.is_empty() && self.opening.is_empty() {
                // Empty ranges were closed just now.
                continue;
            }
            let (id, reply) = session.reply().map_err(failed)?;
            match self.opening.remove(&id) {
                Some(file) => self.opened(file, reply)?,
                None => self.store_reply(session, id, reply)?,
            }
            session.touch_if_due().map_err(failed)?;
        }
    }

    fn open_ahead<R: Read, W: Write>(&mut self, session: &mut SftpSession<R, W>) -> SftpResult<()> {
        while self.handles.len() < MAX_FILES_AHEAD
            && let Some(range) = self.ranges.get(self.first + self.handles.len())
        {
            let id = session.request(packet::OPEN, |request| {
                let request = request.bytes(range.path.as_bytes());
                request.number(FOR_READING).number(0)
            })?;
            self.opening.insert(id, self.first + self.handles.len());
            self.handles.push_back(FetchHandle::Opening);
        }
        Ok(())
    }

    fn opened(&mut self, file: usize, reply: SftpReply) -> Result<(), FetchFailure> {
        self.handles[file - self.first] = match reply {
            SftpReply::Handle(handle) => FetchHandle::Open(handle),
            other => match unexpected(other) {
                error @ SftpError::Refused { .. } => FetchHandle::Refused(error.to_string()),
                error => return Err(FetchFailure::Session(file, error)),
            },
        };
        Ok(())
    }

    /// Requests pieces up to the limit.
    fn ask_ahead<R: Read, W: Write>(&mut self, session: &mut SftpSession<R, W>) -> SftpResult<()> {
        while self.ahead < MAX_BYTES_AHEAD
            && let Some(range) = self.ranges.get(self.file)
            && let Some(handle) = self.handles.get(self.file - self.first)
        {
            let handle = match handle {
                FetchHandle::Opening => break,
                FetchHandle::Refused(why) => {
                    self.pieces.push_back(PieceRequest {
                        file: self.file,
                        offset: self.offset,
                        length: 0,
                        state: PieceState::Failed(why.clone()),
                    });
                    self.go_to_next_file();
                    continue;
                }
                FetchHandle::Open(handle) => handle,
            };
            let left = range.from.saturating_add(range.length) - self.offset;
            if left == 0 {
                self.go_to_next_file();
                continue;
            }
            let length = u32::try_from(left).map_or(PIECE_BYTES, |left| left.min(PIECE_BYTES));
            let id = session.request_read(handle, self.offset, length)?;
            self.pieces.push_back(PieceRequest {
                file: self.file,
                offset: self.offset,
                length,
                state: PieceState::Requested(id),
            });
            self.offset += u64::from(length);
            self.ahead += u64::from(length);
        }
        Ok(())
    }

    fn go_to_next_file(&mut self) {
        self.file += 1;
        self.offset = self.ranges.get(self.file).map_or(0, |range| range.from);
    }

    /// Delivers the pieces that have arrived and are next.
    fn deliver(&mut self, callback: FetchCallback<'_>) -> Result<(), FetchFailure> {
        while let Some(piece) = self.pieces.pop_front() {
            let event = match piece.state {
                PieceState::Arrived(data) => {
                    self.ahead -= data.len() as u64;
                    FetchEvent::Piece(data)
                }
                PieceState::Failed(why) => FetchEvent::Failed(why),
                PieceState::Requested(_) => {
                    self.pieces.push_front(piece);
                    break;
                }
            };
            callback(piece.file, event).map_err(FetchFailure::Callback)?;
        }
        Ok(())
    }

    /// Closes the files that are complete.
    fn close_done<R: Read, W: Write>(&mut self, session: &mut SftpSession<R, W>) -> SftpResult<()> {
        let open = self.pieces.front().map_or(self.file, |piece| piece.file);
        while self.first < open {
            if let Some(FetchHandle::Open(handle)) = self.handles.pop_front() {
                session.close(&handle)?;
            }
            self.first += 1;
        }
        Ok(())
    }

    /// Stores a reply in its piece. After a short reply the rest is requested again.
    fn store_reply<R: Read, W: Write>(
        &mut self,
        session: &mut SftpSession<R, W>,
        id: u32,
        reply: SftpReply,
    ) -> Result<(), FetchFailure> {
        let first = self.first;
        let malformed = |file: usize, why| FetchFailure::Session(file, SftpError::Protocol(why));
        let at = self
            .pieces
            .iter()
            .position(|piece| piece.requested_id() == Some(id))
            .ok_or_else(|| malformed(first, "a reply to no request"))?;
        let (file, offset, asked) = {
            let piece = &self.pieces[at];
            (piece.file, piece.offset, piece.length)
        };
        let data = match reply {
            SftpReply::Data(data) => data,
            other => {
                // The request has its reply, even if that is an error.
                self.pieces[at].state = PieceState::Failed(String::new());
                return match unexpected(other) {
                    error @ SftpError::Refused { .. } => {
                        self.give_up(session, at, error.to_string());
                        Ok(())
                    }
                    error => Err(FetchFailure::Session(file, error)),
                };
            }
        };
        let got = u32::try_from(data.len()).unwrap_or(u32::MAX);
        if got == 0 || got > asked {
            return Err(malformed(file, "a piece of the wrong length"));
        }
        self.pieces[at].state = PieceState::Arrived(data);
        self.pieces[at].length = got;
        if got < asked
            && let Some(FetchHandle::Open(handle)) = self.handles.get(file - self.first)
        {
            let (offset, length) = (offset + u64::from(got), asked - got);
            let id = session
                .request_read(handle, offset, length)
                .map_err(|error| FetchFailure::Session(file, error))?;
            let rest = PieceRequest {
                file,
                offset,
                length,
                state: PieceState::Requested(id),
            };
            self.pieces.insert(at + 1, rest);
        }
        Ok(())
    }

    /// Marks the piece at this index as failed, and with it the rest of its file.
    fn give_up<R: Read, W: Write>(
        &mut self,
        session: &mut SftpSession<R, W>,
        at: usize,
        why: String,
    ) {
        let file = self.pieces[at].file;
        self.ahead -= u64::from(self.pieces[at].length);
        self.pieces[at].length = 0;
        self.pieces[at].state = PieceState::Failed(why);
        while let Some(after) = self.pieces.get(at + 1)
            && after.file == file
        {
            self.ahead -= u64::from(after.length);
            session.ignore(after.requested_id().into_iter());
            self.pieces.remove(at + 1);
        }
        if self.file == file {
            self.go_to_next_file();
        }
    }
}
