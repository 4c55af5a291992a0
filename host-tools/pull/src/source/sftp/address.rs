//! `ssh://[user@]host[:port][/path]`.

use crate::error::PullError;

/// The address of a board. ssh cannot take any part of it for an option or a command.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct BoardAddress {
    pub(super) user: Option<String>,
    pub(super) host: String,
    pub(super) port: Option<u16>,
    /// Absolute, or "." for the folder in which the account starts.
    pub(super) path: String,
}

impl BoardAddress {
    pub(super) fn parse(text: &str) -> Result<Self, PullError> {
        Self::parts(text).ok_or_else(|| PullError::BadAddress(text.to_owned()))
    }

    fn parts(text: &str) -> Option<Self> {
        let rest = text.strip_prefix("ssh://")?;
        let (place, path) = match rest.find('/') {
            Some(at) => rest.split_at(at),
            None => (rest, ""),
        };
        let (user, place) = match place.rsplit_once('@') {
            Some((user, place)) => (Some(user), place),
            None => (None, place),
        };
        let (host, port) = match place.strip_prefix('[') {
            Some(rest) => {
                let (host, rest) = rest.split_once(']')?;
                match rest.strip_prefix(':') {
                    Some(port) => (host, Some(port)),
                    None if rest.is_empty() => (host, None),
                    None => return None,
                }
            }
            None => match place.split_once(':') {
                Some((host, port)) => (host, Some(port)),
                None => (place, None),
            },
        };
        let port = match port {
            Some(port) => Some(port.parse().ok().filter(|port| *port != 0)?),
            None => None,
        };
        let plain = |text: &str, also: &str| {
            !text.is_empty()
                && !text.starts_with('-')
                && text
                    .chars()
                    .all(|c| c.is_ascii_alphanumeric() || also.contains(c))
        };
        if !plain(host, "-._:%") || user.is_some_and(|user| !plain(user, "-._")) {
            return None;
        }
        let path = path.trim_end_matches('/');
        Some(Self {
            user: user.map(str::to_owned),
            host: host.to_owned(),
            port,
            path: if path.is_empty() { "." } else { path }.to_owned(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// User, host, port and path with blanks between; "" for what is no address.
    #[track_caller]
    fn check(text: &str, expected: &str) {
        let said = BoardAddress::parts(text).map_or(String::new(), |address| {
            let user = address.user.unwrap_or_default();
            let port = address.port.map_or(String::new(), |port| port.to_string());
            format!("{user} {} {port} {}", address.host, address.path)
        });
        assert_eq!(said, expected, "{text}");
    }

    #[test]
    fn addresses() {
        check("ssh://jumpseat.local", " jumpseat.local  .");
        check("ssh://pull@board:2222/var/x/", "pull board 2222 /var/x");
        check("ssh://pull@[fe80::1%eth0]:22", "pull fe80::1%eth0 22 .");
        check("ssh://-oProxyCommand=x/", "");
        check("ssh://-x@board", "");
        check("ssh://a b", "");
        check("ssh://a;b", "");
        check("ssh://board:0", "");
        check("ssh://board:x", "");
        check("ssh://board:99999", "");
        check("ssh://[::1", "");
        check("ssh://@board", "");
        check("ssh://", "");
    }
}
