//! Many files in one go: opened, read and closed ahead of the answers, so that a
//! long way costs its delay once, and neither once a piece nor once a file. A file
//! that the server refuses is told as failed, and the others come all the same.

use std::collections::{BTreeMap, VecDeque};
use std::io::{Read, Write};

use super::packet::{self, SftpReply};
use super::session::{FOR_READING, SftpError, SftpResult, SftpSession, unexpected};
use crate::pull::source::{FetchCallback, FetchEvent, FileRange};

/// As much as OpenSSH's server gives at once.
const PIECE_BYTES: u32 = 255 * 1024;
/// Bytes asked for ahead: more than the window of an SSH channel.
const MAX_BYTES_AHEAD: u64 = 4 << 20;
/// Files opened ahead; every server allows more.
const MAX_FILES_AHEAD: usize = 48;

/// A file from its opening to its end.
enum FetchHandle {
    /// The opening is not answered yet.
    Awaited,
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
    /// Under this number.
    Asked(u32),
    Here(Vec<u8>),
    /// It does not come, and nothing of the file after it.
    Failed(String),
}

impl PieceRequest {
    fn is_asked(&self) -> Option<u32> {
        match self.state {
            PieceState::Asked(id) => Some(id),
            _ => None,
        }
    }
}

/// How far a fetch is.
struct PipelinedFetch<'a> {
    wanted: &'a [FileRange],
    /// The oldest file that is not closed, and the handles from it on.
    first: usize,
    handles: VecDeque<FetchHandle>,
    opening: BTreeMap<u32, usize>,
    /// What is to be asked for next.
    file: usize,
    offset: u64,
    pieces: VecDeque<PieceRequest>,
    /// Bytes of the pieces.
    ahead: u64,
}

/// Fetches what is wanted, in its order. An error comes with the file that it is
/// about, and ends all of it.
pub(super) fn fetch<R: Read, W: Write>(
    session: &mut SftpSession<R, W>,
    wanted: &[FileRange],
    take: FetchCallback<'_>,
) -> Result<(), (usize, anyhow::Error)> {
    let mut fetch = PipelinedFetch {
        wanted,
        first: 0,
        handles: VecDeque::new(),
        opening: BTreeMap::new(),
        file: 0,
        offset: wanted.first().map_or(0, |wanted| wanted.from),
        pieces: VecDeque::new(),
        ahead: 0,
    };
    let done = fetch.run(session, take);
    // After an error nobody waits for the rest of the answers.
    session.ignore(fetch.pieces.iter().filter_map(PieceRequest::is_asked));
    session.ignore(fetch.opening.into_keys());
    done
}

impl PipelinedFetch<'_> {
    fn run<R: Read, W: Write>(
        &mut self,
        session: &mut SftpSession<R, W>,
        take: FetchCallback<'_>,
    ) -> Result<(), (usize, anyhow::Error)> {
        loop {
            let first = self.first;
            let told = |error: SftpError| (first, error.into());
            self.open_ahead(session).map_err(told)?;
            self.ask_ahead(session).map_err(told)?;
            self.hand_over(take)?;
            self.close_done(session).map_err(told)?;
            if self.first == self.wanted.len() {
                return Ok(());
            }
            if self.pieces.is_empty() && self.opening.is_empty() {
                // Files of which nothing is wanted were closed just now.
                continue;
            }
            let (id, reply) = session.answer().map_err(told)?;
            match self.opening.remove(&id) {
                Some(file) => self.opened(file, reply)?,
                None => self.take_in(session, id, reply)?,
            }
            session.touch_if_due().map_err(told)?;
        }
    }

    fn open_ahead<R: Read, W: Write>(&mut self, session: &mut SftpSession<R, W>) -> SftpResult<()> {
        while self.handles.len() < MAX_FILES_AHEAD
            && let Some(wanted) = self.wanted.get(self.first + self.handles.len())
        {
            let id = session.request(packet::OPEN, |request| {
                let request = request.bytes(wanted.path.as_bytes());
                request.number(FOR_READING).number(0)
            })?;
            self.opening.insert(id, self.first + self.handles.len());
            self.handles.push_back(FetchHandle::Awaited);
        }
        Ok(())
    }

    fn opened(&mut self, file: usize, reply: SftpReply) -> Result<(), (usize, anyhow::Error)> {
        self.handles[file - self.first] = match reply {
            SftpReply::Handle(handle) => FetchHandle::Open(handle),
            other => match unexpected(other) {
                error @ SftpError::Refused { .. } => FetchHandle::Refused(error.to_string()),
                error => return Err((file, error.into())),
            },
        };
        Ok(())
    }

    /// Asks for as much as may be on its way.
    fn ask_ahead<R: Read, W: Write>(&mut self, session: &mut SftpSession<R, W>) -> SftpResult<()> {
        while self.ahead < MAX_BYTES_AHEAD
            && let Some(wanted) = self.wanted.get(self.file)
            && let Some(handle) = self.handles.get(self.file - self.first)
        {
            let handle = match handle {
                FetchHandle::Awaited => break,
                FetchHandle::Refused(why) => {
                    self.pieces.push_back(PieceRequest {
                        file: self.file,
                        offset: self.offset,
                        length: 0,
                        state: PieceState::Failed(why.clone()),
                    });
                    self.turn_to_next();
                    continue;
                }
                FetchHandle::Open(handle) => handle,
            };
            let left = wanted.from.saturating_add(wanted.length) - self.offset;
            if left == 0 {
                self.turn_to_next();
                continue;
            }
            let length = u32::try_from(left).map_or(PIECE_BYTES, |left| left.min(PIECE_BYTES));
            let id = session.ask_for(handle, self.offset, length)?;
            self.pieces.push_back(PieceRequest {
                file: self.file,
                offset: self.offset,
                length,
                state: PieceState::Asked(id),
            });
            self.offset += u64::from(length);
            self.ahead += u64::from(length);
        }
        Ok(())
    }

    fn turn_to_next(&mut self) {
        self.file += 1;
        self.offset = self.wanted.get(self.file).map_or(0, |wanted| wanted.from);
    }

    /// Gives what has come and is next.
    fn hand_over(&mut self, take: FetchCallback<'_>) -> Result<(), (usize, anyhow::Error)> {
        while let Some(piece) = self.pieces.pop_front() {
            let got = match piece.state {
                PieceState::Here(data) => {
                    self.ahead -= data.len() as u64;
                    FetchEvent::Piece(data)
                }
                PieceState::Failed(why) => FetchEvent::Failed(why),
                PieceState::Asked(_) => {
                    self.pieces.push_front(piece);
                    break;
                }
            };
            take(piece.file, got).map_err(|error| (piece.file, error))?;
        }
        Ok(())
    }

    /// Closes the files of which nothing more comes.
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

    /// Puts an answer to its piece. A short one is no more than that: the rest is
    /// asked for again.
    fn take_in<R: Read, W: Write>(
        &mut self,
        session: &mut SftpSession<R, W>,
        id: u32,
        reply: SftpReply,
    ) -> Result<(), (usize, anyhow::Error)> {
        let first = self.first;
        let garbled = |file: usize, why| (file, SftpError::Garbled(why).into());
        let at = self
            .pieces
            .iter()
            .position(|piece| piece.is_asked() == Some(id))
            .ok_or_else(|| garbled(first, "an answer to nothing asked"))?;
        let (file, offset, asked) = {
            let piece = &self.pieces[at];
            (piece.file, piece.offset, piece.length)
        };
        let data = match reply {
            SftpReply::Data(data) => data,
            other => {
                // It is answered, though not as hoped.
                self.pieces[at].state = PieceState::Failed(String::new());
                return match unexpected(other) {
                    error @ SftpError::Refused { .. } => {
                        self.give_up(session, at, error.to_string());
                        Ok(())
                    }
                    error => Err((file, error.into())),
                };
            }
        };
        let got = u32::try_from(data.len()).unwrap_or(u32::MAX);
        if got == 0 || got > asked {
            return Err(garbled(file, "a piece of another length"));
        }
        self.pieces[at].state = PieceState::Here(data);
        self.pieces[at].length = got;
        if got < asked
            && let Some(FetchHandle::Open(handle)) = self.handles.get(file - self.first)
        {
            let (offset, length) = (offset + u64::from(got), asked - got);
            let id = session
                .ask_for(handle, offset, length)
                .map_err(|error| (file, error.into()))?;
            let rest = PieceRequest {
                file,
                offset,
                length,
                state: PieceState::Asked(id),
            };
            self.pieces.insert(at + 1, rest);
        }
        Ok(())
    }

    /// The piece at this place failed, and with it the rest of its file.
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
            session.ignore(after.is_asked().into_iter());
            self.pieces.remove(at + 1);
        }
        if self.file == file {
            self.turn_to_next();
        }
    }
}
