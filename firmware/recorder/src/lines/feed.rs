//! Reads line levels as text from another program, through a named pipe or a socket.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufRead, BufReader, Read};
use std::os::unix::fs::FileTypeExt;
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::thread;

use rustix::fs::{CWD, FileType, Mode, mknodat};

use crate::backoff::RetryBackoff;
use crate::config::FeedConfig;
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::input_line::InputLine;
use crate::monotonic;
use crate::threads;

/// A longer line than this is not a valid one.
const MAX_FEED_LINE_BYTES: u64 = 256;

/// A level from one text line of the feed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FeedLine {
    /// Which line.
    pub line: InputLine,
    /// Its level: 1 is keyed or pressed.
    pub active: bool,
}

/// Parses a line's name and level, such as `ptt 1`; `None` for anything else.
pub fn parse_feed_line(text: &str) -> Option<FeedLine> {
    let mut words = text.split_ascii_whitespace();
    let word = words.next()?;
    let line = InputLine::ALL
        .into_iter()
        .find(|line| line.name() == word)?;
    let active = match words.next()? {
        "1" => true,
        "0" => false,
        _ => return None,
    };
    words.next().is_none().then_some(FeedLine { line, active })
}

/// Starts the thread that reads the feed. Lines in `but` have a pin of their own and are
/// ignored.
pub(super) fn start(
    feed: FeedConfig,
    but: Vec<InputLine>,
    mut reporter: DeviceReporter,
) -> Result<(), RecorderError> {
    let run = move || {
        let mut backoff = RetryBackoff::new();
        loop {
            let ended = match &feed {
                FeedConfig::Fifo(path) => fifo(path, &but, &mut reporter),
                FeedConfig::Socket(path) => socket(path, &but, &mut reporter),
            };
            if let Err(error) = ended {
                reporter.report_failure(&error.to_string());
            }
            thread::sleep(backoff.wait());
        }
    };
    threads::spawn("line feed", run)
}

fn fifo(
    path: &Path,
    but: &[InputLine],
    reporter: &mut DeviceReporter,
) -> Result<(), RecorderError> {
    let file = open_fifo(path)?;
    reporter.report_working(&format!("lines are read from {}", path.display()));
    read(file, but, reporter).map_err(|source| RecorderError::io("read lines from", path, source))
}

/// Opens a named pipe for reading and writing, so that it always has a writer and never
/// ends. Creates it if it does not exist.
fn open_fifo(path: &Path) -> Result<File, RecorderError> {
    match fs::metadata(path) {
        Ok(data) if data.file_type().is_fifo() => {}
        Ok(_) => {
            return Err(RecorderError::Device(format!(
                "{} is not a named pipe; remove it or set lines.feed to another path",
                path.display()
            )));
        }
        Err(_) => mknodat(CWD, path, FileType::Fifo, Mode::from_raw_mode(0o660), 0)
            .map_err(|source| RecorderError::io("create the named pipe", path, source.into()))?,
    }
    OpenOptions::new()
        .read(true)
        .write(true)
        .open(path)
        .map_err(|source| RecorderError::io("open the named pipe", path, source))
}

fn socket(
    path: &Path,
    but: &[InputLine],
    reporter: &mut DeviceReporter,
) -> Result<(), RecorderError> {
    if fs::metadata(path).is_ok_and(|data| data.file_type().is_socket()) {
        // A leftover: nobody listens there, or this recorder would not have started.
        fs::remove_file(path)
            .map_err(|source| RecorderError::io("remove the old socket", path, source))?;
    }
    let listener = UnixListener::bind(path)
        .map_err(|source| RecorderError::io("create the socket", path, source))?;
    reporter.report_working(&format!("lines are read from {}", path.display()));
    loop {
        let (stream, _) = listener
            .accept()
            .map_err(|source| RecorderError::io("accept a writer on", path, source))?;
        // When a writer disconnects, the next one is accepted.
        let _ended = read(stream, but, reporter);
    }
}

fn read(source: impl Read, but: &[InputLine], reporter: &mut DeviceReporter) -> io::Result<()> {
    let mut source = BufReader::new(source);
    let mut text = String::new();
    loop {
        text.clear();
        if source
            .by_ref()
            .take(MAX_FEED_LINE_BYTES)
            .read_line(&mut text)?
            == 0
        {
            return Ok(());
        }
        let at_ns = monotonic::now_ns();
        match parse_feed_line(&text) {
            Some(FeedLine { line, active }) if !but.contains(&line) => {
                reporter.send(DeviceMessage::Line {
                    line,
                    active,
                    at_ns,
                });
            }
            Some(_) => {}
            None => reporter.report_failure(&format!(
                "the line feed sent {:?}; it must send ptt, mark, button_fault, ignition or \
                 low_supply, and 0 or 1",
                text.trim_end()
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: Option<(InputLine, bool)>) {
        let told = parse_feed_line(text).map(|told| (told.line, told.active));
        assert_eq!(told, expected, "{text:?}");
    }

    #[test]
    fn the_lines_are_understood_and_nothing_else() {
        check("ptt 1\n", Some((InputLine::Ptt, true)));
        check("ptt 0", Some((InputLine::Ptt, false)));
        check("  mark\t1 \r\n", Some((InputLine::Mark, true)));
        check("mark 0\n", Some((InputLine::Mark, false)));
        check("ignition 1\n", Some((InputLine::Ignition, true)));
        check("low_supply 0\n", Some((InputLine::LowSupply, false)));
        check("button_fault 1\n", Some((InputLine::ButtonFault, true)));
        for wrong in [
            "", "\n", "ptt", "ptt 2", "ptt 1 1", "PTT 1", "key 1", "1 ptt",
        ] {
            check(wrong, None);
        }
    }
}
