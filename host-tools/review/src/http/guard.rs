//! Access control: only a browser that came by a secret link, and only from our own pages.
//! A link gives access to one browser, once; from then on that browser has a cookie.

use std::fmt;
use std::sync::{Mutex, MutexGuard, PoisonError};

use hyper::HeaderMap;
use hyper::header::{COOKIE, HOST, HeaderName, ORIGIN};
use jumpseat_values::display;
use sha2::{Digest, Sha256};

use super::ReviewMethod;
use crate::ReviewError;

/// The secrets of one run of the server.
pub(crate) struct AccessGuard {
    port: u16,
    session: String,
    links: Mutex<Vec<SecretLink>>,
}

/// A link that was not used yet.
struct SecretLink {
    secret: String,
    /// Dropped when the link is used, or when the server ends.
    _kept: Box<dyn Send>,
}

impl fmt::Debug for AccessGuard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Not the secrets.
        f.debug_struct("Guard").finish_non_exhaustive()
    }
}

/// Why a request is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum AccessRefusal {
    /// It was meant for another host: a foreign name that resolves to this computer.
    Host,
    /// It comes from a page of another site.
    Origin,
    /// It lacks the cookie that a link gives.
    Stranger,
}

impl AccessRefusal {
    /// The text for the person who sees it.
    pub(crate) const fn words(self) -> &'static str {
        match self {
            Self::Host => {
                "This address is not the page's own. Open the link that `jumpseat review` printed."
            }
            Self::Origin => "This came from another site's page, so nothing was done.",
            Self::Stranger => {
                "This browser has not come by a secret link yet. Open the link that \
                 `jumpseat review` printed in the terminal. If it was used already, run \
                 `jumpseat review` in another terminal for a new one."
            }
        }
    }
}

impl AccessGuard {
    /// New secrets.
    pub(crate) fn new(port: u16) -> Result<Self, ReviewError> {
        Ok(Self {
            port,
            session: secret()?,
            links: Mutex::default(),
        })
    }

    /// A new secret for a link.
    pub(crate) fn secret(&self) -> Result<String, ReviewError> {
        secret()
    }

    /// The path of the link with this secret.
    pub(crate) fn link_path(secret: &str) -> String {
        format!("/enter/{secret}")
    }

    /// From now on the link with this secret gives access to one browser. `kept` is dropped
    /// when it was used, or when the server ends.
    pub(crate) fn add_link(&self, secret: String, kept: impl Send + 'static) {
        let _kept = Box::new(kept);
        self.links().push(SecretLink { secret, _kept });
    }

    /// Uses up the secret of a link; true the one time that it is valid.
    pub(crate) fn use_link(&self, text: &str) -> bool {
        let mut links = self.links();
        let at = links.iter().position(|link| same(text, &link.secret));
        let used = at.map(|at| links.swap_remove(at));
        // The value kept with it may remove a file: not while others wait.
        drop(links);
        used.is_some()
    }

    /// Makes all links invalid.
    pub(crate) fn close(&self) {
        let links = std::mem::take(&mut *self.links());
        drop(links);
    }

    fn links(&self) -> MutexGuard<'_, Vec<SecretLink>> {
        self.links.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The cookie that gives access. Its name has the port, because cookies do not
    /// distinguish ports.
    pub(crate) fn cookie(&self) -> String {
        format!(
            "jumpseat-{}={}; Path=/; HttpOnly; SameSite=Strict",
            self.port, self.session
        )
    }

    /// Checks a request. `entering`: it asks for a link.
    pub(crate) fn check(
        &self,
        headers: &HeaderMap,
        method: ReviewMethod,
        entering: bool,
    ) -> Result<(), AccessRefusal> {
        let host = single_header(headers, HOST).ok_or(AccessRefusal::Host)?;
        let names = ["127.0.0.1", "localhost"].map(|name| format!("{name}:{}", self.port));
        if !names.iter().any(|name| name == host) {
            return Err(AccessRefusal::Host);
        }
        let own = format!("http://{host}");
        let origin = single_header(headers, ORIGIN);
        let site = single_header(headers, HeaderName::from_static("sec-fetch-site"));
        // A browser says where a page's request comes from. One that changes something
        // must say so.
        let told = origin.is_some() || site.is_some();
        let foreign = origin.is_some_and(|origin| origin != own)
            || !entering && site.is_some_and(|site| site != "same-origin" && site != "none");
        if foreign || method == ReviewMethod::Post && !told {
            return Err(AccessRefusal::Origin);
        }
        if entering || self.is_known(headers) {
            Ok(())
        } else {
            Err(AccessRefusal::Stranger)
        }
    }

    /// Whether it comes from a browser that was let in.
    pub(crate) fn is_known(&self, headers: &HeaderMap) -> bool {
        let name = format!("jumpseat-{}", self.port);
        headers
            .get_all(COOKIE)
            .iter()
            .filter_map(|value| value.to_str().ok())
            .flat_map(|value| value.split(';'))
            .filter_map(|pair| pair.trim().split_once('='))
            .any(|(key, value)| key == name && same(value, &self.session))
    }
}

/// The value of a header that must not occur twice.
fn single_header(headers: &HeaderMap, name: HeaderName) -> Option<&str> {
    let mut values = headers.get_all(name).iter();
    let first = values.next()?;
    if values.next().is_some() {
        return Some("");
    }
    first.to_str().ok().or(Some(""))
}

/// Compares digests, so that the time taken does not reveal how much is equal.
fn same(one: &str, other: &str) -> bool {
    Sha256::digest(one) == Sha256::digest(other)
}

/// 32 random bytes in hexadecimal digits.
fn secret() -> Result<String, ReviewError> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).map_err(|error| ReviewError::Random(error.to_string()))?;
    Ok(display::hex(&bytes))
}

#[cfg(test)]
mod tests;
