//! Finds boards on the local network by multicast DNS (RFC 6762 and 6763).
//!
//! Anybody on the network can answer, so an answer is only an address to try: the host
//! key shows whether it is the board.

use std::net::{IpAddr, ToSocketAddrs as _};
use std::time::{Duration, Instant};

use mdns_sd::{HostnameResolutionEvent, ServiceDaemon, ServiceEvent};

use crate::error::PullError;

/// What the board's package announces.
const BOARD_SERVICE: &str = "_jumpseat._tcp.local.";
/// The account that the package makes.
const PULL_ACCOUNT: &str = "jumpseat-pull";
/// A board on the same network answers within a second; the first question may be lost.
const ANSWER_TIMEOUT_MS: u64 = 3_000;
const ANSWER_TIMEOUT: Duration = Duration::from_millis(ANSWER_TIMEOUT_MS);
/// Against a network that never stops answering.
const MAX_BOARDS: usize = 20;

/// The addresses of boards that announce themselves, as `ssh://user@host:port`. Waits
/// three seconds for answers.
///
/// # Errors
/// When the network cannot be asked.
pub fn boards_nearby() -> Result<Vec<String>, PullError> {
    let (daemon, begun) = (ServiceDaemon::new()?, Instant::now());
    let answers = daemon.browse(BOARD_SERVICE)?;
    let mut found: Vec<String> = Vec::new();
    while let Some(left) = ANSWER_TIMEOUT.checked_sub(begun.elapsed())
        && found.len() < MAX_BOARDS
        && let Ok(answer) = answers.recv_timeout(left)
    {
        if let ServiceEvent::ServiceResolved(service) = answer {
            let host = service.host.trim_end_matches('.');
            found.push(format!("ssh://{PULL_ACCOUNT}@{host}:{}", service.port));
        }
    }
    // If that fails, the daemon ends with this program.
    let _ = daemon.shutdown();
    found.sort();
    found.dedup();
    Ok(found)
}

/// The address of a host on the local network, when the system itself cannot resolve its
/// name; `None` when it can, and when nobody answers to the name.
pub(super) fn address_of(host: &str) -> Result<Option<IpAddr>, PullError> {
    let local = host.to_ascii_lowercase().ends_with(".local");
    if !local || (host, 22).to_socket_addrs().is_ok() {
        return Ok(None);
    }
    let daemon = ServiceDaemon::new()?;
    let answers = daemon.resolve_hostname(&format!("{host}."), Some(ANSWER_TIMEOUT_MS))?;
    let mut found = None;
    while let Ok(answer) = answers.recv_timeout(ANSWER_TIMEOUT) {
        match answer {
            HostnameResolutionEvent::AddressesFound(_, addresses) => {
                let mut all: Vec<IpAddr> = addresses.iter().map(|one| one.to_ip_addr()).collect();
                // An IPv6 address may be valid on one link only, which ssh cannot know.
                all.sort();
                found = all.into_iter().next();
                break;
            }
            HostnameResolutionEvent::SearchTimeout(_) => break,
            _ => {}
        }
    }
    // As above.
    let _ = daemon.shutdown();
    Ok(found)
}
