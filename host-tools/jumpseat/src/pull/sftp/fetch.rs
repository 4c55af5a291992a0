//! Many files in one go: opened, read and closed ahead of the answers, so that a
//! long way costs its delay once, and neither once a piece nor once a file.

use std::collections::{BTreeMap, VecDeque};
use std::io::{Read, Write};

use super::packet::{self, Reply};
use super::session::{Done, FOR_READING, Session, SftpError, unexpected};
use crate::pull::source::{Take, Wanted};

/// As much as OpenSSH's server gives at once.
const PIECE: u32 = 255 * 1024;
/// Bytes asked for ahead: more than the window of an SSH channel.
const MOST_AHEAD: u64 = 4 << 20;
/// Files opened ahead; every server allows more.
const MOST_OPEN: usize = 48;

/// A part of a file that was asked for.
struct Piece {
    id: u32,
    file: usize,
    offset: u64,
    length: u32,
    data: Option<Vec<u8>>,
}

/// How far a fetch is.
struct Fetch<'a> {
    wanted: &'a [Wanted],
    /// The oldest file that is not closed, and the handles from it on; None while
    /// the opening is not answered.
    first: usize,
    handles: VecDeque<Option<Vec<u8>>>,
    opening: BTreeMap<u32, usize>,
    /// What is to be asked for next.
    file: usize,
    offset: u64,
    pieces: VecDeque<Piece>,
    /// Bytes of the pieces.
    ahead: u64,
}

/// Fetches what is wanted, in its order. An error comes with the file that it is
/// about.
pub(super) fn fetch<R: Read, W: Write>(
    session: &mut Session<R, W>,
    wanted: &[Wanted],
    take: Take<'_>,
) -> Result<(), (usize, anyhow::Error)> {
    let mut fetch = Fetch {
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
    let unanswered = fetch.pieces.iter().filter(|piece| piece.data.is_none());
    session.ignore(unanswered.map(|piece| piece.id));
    session.ignore(fetch.opening.into_keys());
    done
}

impl Fetch<'_> {
    fn run<R: Read, W: Write>(
        &mut self,
        session: &mut Session<R, W>,
        take: Take<'_>,
    ) -> Result<(), (usize, anyhow::Error)> {
        loop {
            let first = self.first;
            let told = |error: SftpError| (first, error.into());
            self.open_ahead(session).map_err(told)?;
            self.ask_ahead(session).map_err(told)?;
            self.close_done(session).map_err(told)?;
            if self.first == self.wanted.len() {
                return Ok(());
            }
            if self.pieces.is_empty() && self.opening.is_empty() {
                // Files of which nothing is wanted were closed just now.
                continue;
            }
            let (id, reply) = session.answer().map_err(told)?;
            if let Some(file) = self.opening.remove(&id) {
                match reply {
                    Reply::Handle(handle) => self.handles[file - self.first] = Some(handle),
                    other => return Err((file, unexpected(other).into())),
                }
            } else {
                self.take_in(session, id, reply)?;
            }
            while let Some(data) = self.pieces.front_mut().and_then(|piece| piece.data.take()) {
                let file = self.pieces.pop_front().map_or(0, |piece| piece.file);
                self.ahead -= data.len() as u64;
                take(file, data).map_err(|error| (file, error))?;
            }
            session.touch_if_due().map_err(told)?;
        }
    }

    fn open_ahead<R: Read, W: Write>(&mut self, session: &mut Session<R, W>) -> Done<()> {
        while self.handles.len() < MOST_OPEN
            && let Some(wanted) = self.wanted.get(self.first + self.handles.len())
        {
            let id = session.request(packet::OPEN, |request| {
                let request = request.bytes(wanted.path.as_bytes());
                request.number(FOR_READING).number(0)
            })?;
            self.opening.insert(id, self.first + self.handles.len());
            self.handles.push_back(None);
        }
        Ok(())
    }

    /// Asks for as much as may be on its way.
    fn ask_ahead<R: Read, W: Write>(&mut self, session: &mut Session<R, W>) -> Done<()> {
        while self.ahead < MOST_AHEAD
            && let Some(wanted) = self.wanted.get(self.file)
            && let Some(Some(handle)) = self.handles.get(self.file - self.first)
        {
            let left = wanted.from.saturating_add(wanted.length) - self.offset;
            if left == 0 {
                self.file += 1;
                self.offset = self.wanted.get(self.file).map_or(0, |wanted| wanted.from);
                continue;
            }
            let length = u32::try_from(left).map_or(PIECE, |left| left.min(PIECE));
            let id = session.ask_for(handle, self.offset, length)?;
            self.pieces.push_back(Piece {
                id,
                file: self.file,
                offset: self.offset,
                length,
                data: None,
            });
            self.offset += u64::from(length);
            self.ahead += u64::from(length);
        }
        Ok(())
    }

    /// Closes the files of which nothing more comes.
    fn close_done<R: Read, W: Write>(&mut self, session: &mut Session<R, W>) -> Done<()> {
        let open = self.pieces.front().map_or(self.file, |piece| piece.file);
        while self.first < open {
            if let Some(Some(handle)) = self.handles.pop_front() {
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
        session: &mut Session<R, W>,
        id: u32,
        reply: Reply,
    ) -> Result<(), (usize, anyhow::Error)> {
        let first = self.first;
        let garbled = |file: usize, why| (file, SftpError::Garbled(why).into());
        let at = self
            .pieces
            .iter()
            .position(|piece| piece.id == id && piece.data.is_none())
            .ok_or_else(|| garbled(first, "an answer to nothing asked"))?;
        let (file, offset, asked) = {
            let piece = &self.pieces[at];
            (piece.file, piece.offset, piece.length)
        };
        let data = match reply {
            Reply::Data(data) => data,
            other => {
                // It is answered, though not as hoped.
                self.pieces.remove(at);
                return Err((file, unexpected(other).into()));
            }
        };
        let got = u32::try_from(data.len()).unwrap_or(u32::MAX);
        if got == 0 || got > asked {
            return Err(garbled(file, "a piece of another length"));
        }
        self.pieces[at].data = Some(data);
        if got < asked
            && let Some(Some(handle)) = self.handles.get(file - self.first)
        {
            let (offset, length) = (offset + u64::from(got), asked - got);
            let id = session
                .ask_for(handle, offset, length)
                .map_err(|error| (file, error.into()))?;
            let rest = Piece {
                id,
                file,
                offset,
                length,
                data: None,
            };
            self.pieces.insert(at + 1, rest);
        }
        Ok(())
    }
}
