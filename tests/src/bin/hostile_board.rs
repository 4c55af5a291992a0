//! Stands in the place of `ssh` and plays a board that goes wrong at a chosen moment.
//! Otherwise it carries the packets of a real SFTP server of this computer to and fro.
//!
//! `HOSTILE_BOARD` says what it does, and when, by the kind of a request (its number in
//! draft-ietf-secsh-filexfer-02) and which of its kind:
//!
//! - `silent 11 2` gives no answer any more from the second request of the kind 11 on
//! - `dribble 5 1` gives each byte from then on after a pause
//! - `broken NAME WORDS` answers every reading of files of that name with an error
//! - `endless 12 1` lists a folder without end
//! - `calm` goes wrong nowhere
//!
//! `HOSTILE_BOARD_PID` is a file for the number of this process.

use std::collections::BTreeMap;
use std::env;
use std::fs;
use std::io::{self, Read, Write};
use std::process::{Command, ExitCode, Stdio};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread;
use std::time::Duration;

use anyhow::{Context as _, Result, bail};

const SFTP_SERVER_PROGRAM: &str = "/usr/lib/openssh/sftp-server";
const SSH_FXP_OPEN: u8 = 3;
const SSH_FXP_CLOSE: u8 = 4;
const SSH_FXP_READ: u8 = 5;
const SSH_FXP_STATUS: u8 = 101;
const SSH_FXP_HANDLE: u8 = 102;
const SSH_FXP_NAME: u8 = 104;
const SSH_FX_FAILURE: u32 = 4;

/// What goes wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
enum BoardTrick {
    Calm,
    Silent(TrickMoment),
    Dribble(TrickMoment),
    Endless(TrickMoment),
    /// Files whose path ends so, and what is said of them.
    Broken(String, String),
}

/// From this request of a kind on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct TrickMoment {
    kind: u8,
    ordinal: usize,
}

impl BoardTrick {
    fn parse(words: &str) -> Result<Self> {
        let parts: Vec<&str> = words.splitn(3, ' ').collect();
        let when = || -> Result<TrickMoment> {
            match parts[1..] {
                [kind, which] => Ok(TrickMoment {
                    kind: kind.parse()?,
                    ordinal: which.parse()?,
                }),
                _ => bail!("no moment is named in {words:?}"),
            }
        };
        Ok(match parts[0] {
            "calm" => Self::Calm,
            "silent" => Self::Silent(when()?),
            "dribble" => Self::Dribble(when()?),
            "endless" => Self::Endless(when()?),
            "broken" if parts.len() == 3 => Self::Broken(parts[1].into(), parts[2].into()),
            _ => bail!("no trick is called {words:?}"),
        })
    }
}

/// How far the conversation is.
#[derive(Debug, Default)]
struct HostileConversation {
    silent: bool,
    dribbling: bool,
    /// Requests of each kind so far.
    seen: BTreeMap<u8, usize>,
    /// Openings that are not answered yet, and handles, of files that are broken.
    opening: Vec<u32>,
    broken: Vec<Vec<u8>>,
    names: u32,
}

type SharedConversation = Arc<Mutex<HostileConversation>>;

fn locked(state: &SharedConversation) -> std::sync::MutexGuard<'_, HostileConversation> {
    state.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The next packet, without its length; None at the end.
fn packet(from: &mut impl Read) -> io::Result<Option<Vec<u8>>> {
    let mut length = [0; 4];
    match from.read_exact(&mut length) {
        Ok(()) => {}
        Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => return Ok(None),
        Err(error) => return Err(error),
    }
    let mut packet = vec![0; u32::from_be_bytes(length) as usize];
    from.read_exact(&mut packet)?;
    Ok(Some(packet))
}

fn framed(packet: &[u8]) -> Vec<u8> {
    [&(packet.len() as u32).to_be_bytes()[..], packet].concat()
}

fn text(text: &[u8]) -> Vec<u8> {
    [&(text.len() as u32).to_be_bytes()[..], text].concat()
}

/// The number of a request or an answer, and what follows it.
fn parted(packet: &[u8]) -> Option<(u8, u32, &[u8])> {
    let (kind, rest) = packet.split_first()?;
    let (id, rest) = rest.split_at_checked(4)?;
    Some((*kind, u32::from_be_bytes(id.try_into().ok()?), rest))
}

/// The text at the beginning.
fn first_text(rest: &[u8]) -> Option<&[u8]> {
    let (length, rest) = rest.split_at_checked(4)?;
    let length = u32::from_be_bytes(length.try_into().ok()?);
    rest.get(..length as usize)
}

/// Gives an answer as the trick has it.
fn answer(state: &SharedConversation, packet: &[u8]) -> io::Result<()> {
    let (silent, dribbling) = {
        let state = locked(state);
        (state.silent, state.dribbling)
    };
    let mut out = io::stdout().lock();
    let bytes = framed(packet);
    match (silent, dribbling) {
        (true, _) => Ok(()),
        (false, false) => out.write_all(&bytes).and_then(|()| out.flush()),
        (false, true) => bytes.iter().try_for_each(|byte| {
            thread::sleep(Duration::from_millis(300));
            out.write_all(&[*byte]).and_then(|()| out.flush())
        }),
    }
}

/// Looks at a request; the answer where none of the server's is to come.
fn request(trick: &BoardTrick, state: &SharedConversation, packet: &[u8]) -> Option<Vec<u8>> {
    let (kind, id, rest) = parted(packet)?;
    let mut state = locked(state);
    let count = state.seen.entry(kind).or_default();
    *count += 1;
    let count = *count;
    let is_due = |when: &TrickMoment| when.kind == kind && count >= when.ordinal;
    match trick {
        BoardTrick::Silent(when) if is_due(when) => state.silent = true,
        BoardTrick::Dribble(when) if is_due(when) => state.dribbling = true,
        BoardTrick::Endless(when) if is_due(when) => {
            state.names += 1;
            let name = format!("trip-{:06}-3fa2c1", state.names);
            // A folder, as far as the mode says.
            let mode = [4_u32, 0o040_755].map(u32::to_be_bytes).concat();
            let one = [text(name.as_bytes()), text(b""), mode].concat();
            let head = [&[SSH_FXP_NAME][..], &id.to_be_bytes(), &1_u32.to_be_bytes()].concat();
            return Some([head, one].concat());
        }
        BoardTrick::Broken(name, words) => {
            let said = first_text(rest)?;
            match kind {
                SSH_FXP_OPEN if said.ends_with(name.as_bytes()) => state.opening.push(id),
                // Its number is given to another file next.
                SSH_FXP_CLOSE => state.broken.retain(|handle| handle != said),
                SSH_FXP_READ if state.broken.iter().any(|handle| handle == said) => {
                    let head = [
                        &[SSH_FXP_STATUS][..],
                        &id.to_be_bytes(),
                        &SSH_FX_FAILURE.to_be_bytes(),
                    ]
                    .concat();
                    return Some([head, text(words.as_bytes()), text(b"")].concat());
                }
                _ => {}
            }
        }
        _ => {}
    }
    None
}

/// Looks at an answer of the server's.
fn reply(state: &SharedConversation, packet: &[u8]) -> Option<()> {
    let (kind, id, rest) = parted(packet)?;
    let mut state = locked(state);
    if kind == SSH_FXP_HANDLE && state.opening.contains(&id) {
        let handle = first_text(rest)?.to_vec();
        state.opening.retain(|opening| *opening != id);
        state.broken.push(handle);
    }
    Some(())
}

fn run() -> Result<()> {
    let words = env::var("HOSTILE_BOARD").context("HOSTILE_BOARD says what goes wrong")?;
    // Escape signs cannot stand in every shell's environment as they are.
    let trick = BoardTrick::parse(&words.replace("\\e", "\u{1b}"))?;
    if let Some(path) = env::var_os("HOSTILE_BOARD_PID") {
        fs::write(&path, std::process::id().to_string())?;
    }
    let mut server = Command::new(SFTP_SERVER_PROGRAM)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .with_context(|| {
            format!("cannot start {SFTP_SERVER_PROGRAM}; install openssh-sftp-server")
        })?;
    let (Some(mut to), Some(mut from)) = (server.stdin.take(), server.stdout.take()) else {
        bail!("the server has no pipes");
    };
    let state = SharedConversation::default();
    let for_answers = Arc::clone(&state);
    let answers = thread::spawn(move || -> io::Result<()> {
        while let Some(packet) = packet(&mut from)? {
            // What is no packet of ours is carried all the same.
            let _ = reply(&for_answers, &packet);
            answer(&for_answers, &packet)?;
        }
        Ok(())
    });
    let mut asked = io::stdin().lock();
    while let Some(packet) = packet(&mut asked)? {
        match request(&trick, &state, &packet) {
            Some(own) => answer(&state, &own)?,
            None => to.write_all(&framed(&packet))?,
        }
    }
    drop(to);
    if answers.join().is_err() {
        bail!("the answers broke off");
    }
    server.wait()?;
    Ok(())
}

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("hostile_board: {error:#}");
            ExitCode::FAILURE
        }
    }
}
