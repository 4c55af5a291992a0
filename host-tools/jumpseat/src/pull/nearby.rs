//! Boards on the own network, by multicast DNS (RFC 6762 and 6763).
//!
//! Whoever is on the network can answer. What answers is no more than a name to
//! try: the host key says whether it is the board.

use std::net::{IpAddr, ToSocketAddrs as _};
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result};
use mdns_sd::{HostnameResolutionEvent, ServiceDaemon, ServiceEvent};

/// What the board's package announces.
const BOARD_SERVICE: &str = "_jumpseat._tcp.local.";
/// The account that the package makes.
const PULL_ACCOUNT: &str = "jumpseat-pull";
/// A board on the same network answers within a second; the first question may be
/// lost.
const ANSWER_TIMEOUT: Duration = Duration::from_secs(3);
/// Against a network that never stops answering.
const MAX_BOARDS: usize = 20;

/// The addresses of boards that announce themselves.
pub(crate) fn boards() -> Result<Vec<String>> {
    let (daemon, begun) = (daemon()?, Instant::now());
    let answers = daemon
        .browse(BOARD_SERVICE)
        .context("cannot ask the network")?;
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
    // It ends with this program at the latest.
    let _ = daemon.shutdown();
    found.sort();
    found.dedup();
    Ok(found)
}

/// Where a host of the own network is, when the system itself cannot tell; None when
/// it can, and when nobody answers to the name.
pub(super) fn address_of(host: &str) -> Result<Option<IpAddr>> {
    let local = host.to_ascii_lowercase().ends_with(".local");
    if !local || (host, 22).to_socket_addrs().is_ok() {
        return Ok(None);
    }
    let daemon = daemon()?;
    let patience = u64::try_from(ANSWER_TIMEOUT.as_millis())?;
    let answers = daemon
        .resolve_hostname(&format!("{host}."), Some(patience))
        .context("cannot ask the network")?;
    let mut found = None;
    while let Ok(answer) = answers.recv_timeout(ANSWER_TIMEOUT) {
        match answer {
            HostnameResolutionEvent::AddressesFound(_, addresses) => {
                let mut all: Vec<IpAddr> = addresses.iter().map(|one| one.to_ip_addr()).collect();
                // The newer kind may hold only on one link, which ssh cannot know.
                all.sort();
                found = all.into_iter().next();
                break;
            }
            HostnameResolutionEvent::SearchTimeout(_) => break,
            _ => {}
        }
    }
    let _ = daemon.shutdown();
    Ok(found)
}

fn daemon() -> Result<ServiceDaemon> {
    ServiceDaemon::new().context(
        "cannot ask the network for boards; give the board's address, such as \
         ssh://jumpseat-pull@192.168.1.20",
    )
}
