//! Reads lines over TCP, with a timeout on every operation.

use std::io::{self, BufRead, Read};
use std::net::{TcpStream, ToSocketAddrs};
use std::time::Duration;

const CONNECT_TIMEOUT: Duration = Duration::from_secs(2);
/// Longer than any line of gpsd or rig control.
const MAX_REPLY_LINE_BYTES: u64 = 64 * 1024;

/// Connects to the first of the name's addresses that answers.
pub(crate) fn connect(address: &str, read_timeout: Duration) -> io::Result<TcpStream> {
    let mut last = io::Error::new(io::ErrorKind::NotFound, "the name has no address");
    for address in address.to_socket_addrs()? {
        match TcpStream::connect_timeout(&address, CONNECT_TIMEOUT) {
            Ok(stream) => {
                stream.set_read_timeout(Some(read_timeout))?;
                stream.set_write_timeout(Some(CONNECT_TIMEOUT))?;
                stream.set_nodelay(true)?;
                return Ok(stream);
            }
            Err(error) => last = error,
        }
    }
    Err(last)
}

/// The next line, without its end.
pub(crate) fn read_line(source: &mut impl BufRead) -> io::Result<String> {
    let mut bytes = Vec::new();
    let count = source
        .by_ref()
        .take(MAX_REPLY_LINE_BYTES)
        .read_until(b'\n', &mut bytes);
    match count {
        Ok(0) => Err(io::Error::new(
            io::ErrorKind::UnexpectedEof,
            "the other side hung up",
        )),
        Ok(_) => Ok(String::from_utf8_lossy(&bytes).trim_end().to_owned()),
        Err(error) if error.kind() == io::ErrorKind::WouldBlock => {
            Err(io::Error::new(io::ErrorKind::TimedOut, "no answer in time"))
        }
        Err(error) => Err(error),
    }
}
