//! The system's own ssh as the way to a board: keys, agent, known hosts and its
//! configuration are its business.

use std::io::{self, BufReader, IsTerminal as _, Read};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use anyhow::{Context as _, Result, anyhow};

use super::address::BoardAddress;
use super::patience::{SilenceTimeout, TimedStream};
use crate::pull::nearby::address_of;
use crate::system;

/// How long it may take to say why it ended.
const STDERR_WAIT: Duration = Duration::from_secs(2);
const MAX_STDERR_BYTES: u64 = 16 * 1024;
/// How long ssh itself tries to reach the other side and to agree on keys.
const CONNECT_TIMEOUT: Duration = Duration::from_secs(15);
/// A person may have to find a passphrase, or to compare a fingerprint.
const PERSON_TIMEOUT: Duration = Duration::from_secs(300);

/// What comes from the server's SFTP.
pub(super) type FromServer = BufReader<TimedStream<ChildStdout>>;
/// What goes there.
pub(super) type ToServer = TimedStream<ChildStdin>;

/// A running ssh; it ends with the value.
pub(super) struct SshProcess {
    child: Arc<Mutex<Child>>,
    words: Receiver<String>,
    watch: SilenceTimeout,
    patience: Duration,
}

impl SshProcess {
    /// Starts it; what comes from the server's SFTP and what goes there. It is killed
    /// when the server is silent for longer than `patience` while somebody waits for
    /// it; until it [`SshProcess::answers`], for as long as connecting may take more.
    pub(super) fn start(
        address: &BoardAddress,
        config: Option<&Path>,
        patience: Duration,
    ) -> Result<(Self, FromServer, ToServer)> {
        let mut command = Command::new("ssh");
        if let Some(config) = config {
            command.arg("-F").arg(config);
        }
        // Before a person it shows a new host key and asks once, and stores the key
        // where its configuration says; it may ask for a key's passphrase, never for
        // a password. Elsewhere it asks nothing. It forwards nothing, and notices
        // within 20 seconds that the other side is gone.
        let person = io::stdin().is_terminal() && io::stderr().is_terminal();
        let batch = if person {
            "BatchMode=no"
        } else {
            "BatchMode=yes"
        };
        for option in [
            batch,
            "PasswordAuthentication=no",
            "KbdInteractiveAuthentication=no",
            "StrictHostKeyChecking=ask",
            "ServerAliveInterval=5",
            "ServerAliveCountMax=3",
            "ClearAllForwardings=yes",
            "ForwardAgent=no",
            "ForwardX11=no",
            "PermitLocalCommand=no",
            "ControlMaster=no",
            "LogLevel=ERROR",
        ] {
            command.arg("-o").arg(option);
        }
        command
            .arg("-o")
            .arg(format!("ConnectTimeout={}", CONNECT_TIMEOUT.as_secs()));
        if let Some(found) = address_of(&address.host)? {
            // By its number, and known by its name all the same.
            command.arg("-o").arg(format!("HostName={found}"));
            command
                .arg("-o")
                .arg(format!("HostKeyAlias={}", address.host));
        }
        if let Some(user) = &address.user {
            command.arg("-l").arg(user);
        }
        if let Some(port) = address.port {
            command.arg("-p").arg(port.to_string());
        }
        command.args(["-s", "--", &address.host, "sftp"]);
        let mut child = command
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .with_context(|| format!("cannot start ssh; {}", system::GET_SSH))?;
        let (to, from, words) = match (child.stdin.take(), child.stdout.take(), child.stderr.take())
        {
            (Some(to), Some(from), Some(words)) => (to, from, words),
            _ => return Err(anyhow!("ssh was started without its pipes; try again")),
        };
        let (say, heard) = channel();
        std::thread::spawn(move || {
            let mut said = Vec::new();
            // What was read until an error is all there is; nobody may be waiting.
            let mut words = words;
            let _ = words.by_ref().take(MAX_STDERR_BYTES).read_to_end(&mut said);
            // More than that is not kept, and must not hold it up.
            let _ = io::copy(&mut words, &mut io::sink());
            let _ = say.send(String::from_utf8_lossy(&said).into_owned());
        });
        system::widen(&from);
        let child = Arc::new(Mutex::new(child));
        let silent = Arc::clone(&child);
        let connecting = if person {
            PERSON_TIMEOUT
        } else {
            CONNECT_TIMEOUT
        };
        let watch = SilenceTimeout::new(patience + connecting, move || end(&silent));
        let from = BufReader::with_capacity(1 << 15, watch.with(from));
        let to = watch.with(to);
        let ssh = Self {
            child,
            words: heard,
            watch,
            patience,
        };
        Ok((ssh, from, to))
    }

    /// The server answers: from now on it is given no time for connecting.
    pub(super) fn answers(&self) {
        self.watch.set(self.patience);
    }

    /// What it said before it ended, and what a person can do about it.
    pub(super) fn why(&mut self, address: &BoardAddress) -> String {
        let words = self.words.recv_timeout(STDERR_WAIT).unwrap_or_default();
        let lines: Vec<&str> = words
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty() && !line.starts_with('@'))
            .collect();
        let said = if lines.is_empty() {
            "ssh said nothing".to_owned()
        } else {
            format!("ssh says: {}", lines.join(" / ").trim_end_matches('.'))
        };
        format!("{said}. {}", advice(&words, address))
    }
}

impl Drop for SshProcess {
    fn drop(&mut self) {
        end(&self.child);
    }
}

fn end(child: &Mutex<Child>) {
    let mut child = child.lock().unwrap_or_else(PoisonError::into_inner);
    // It may have ended by itself.
    let _ = child.kill();
    let _ = child.wait();
}

/// What ssh says when nobody is at that address.
const AWAY: [&str; 5] = [
    "timed out",
    "No route to host",
    "Connection refused",
    "Could not resolve",
    "Network is unreachable",
];

/// What to do next about what ssh said.
fn advice(words: &str, address: &BoardAddress) -> String {
    let user = address.user.as_deref();
    let to = user.map_or(String::new(), |user| format!("{user}@")) + &address.host;
    let port = address
        .port
        .map_or(String::new(), |port| format!("-P {port} "));
    let has = |part: &str| words.contains(part);
    if has("IDENTIFICATION HAS CHANGED") {
        format!(
            "The board shows another host key than before. If you wrote its card anew, remove \
             the old key with `ssh-keygen -R {}` and pull again; otherwise something else \
             answers in its place",
            match address.port {
                Some(port) => format!("'[{}]:{port}'", address.host),
                None => address.host.clone(),
            }
        )
    } else if has("Host key verification failed") {
        format!(
            "The board's host key is not known here, and there was nobody to ask or the answer \
             was no. Pull once in a terminal (or connect with `sftp {port}{to}`), compare the \
             fingerprint with what `ssh-keygen -lf /etc/ssh/ssh_host_ed25519_key.pub` prints on \
             the board, and answer yes"
        )
    } else if has("Permission denied") {
        format!(
            "The board does not take your key. Put your public key into /etc/jumpseat/pull.keys \
             on the board, unlock it here with ssh-add, and try `sftp {port}{to}`"
        )
    } else if AWAY.iter().any(|away| has(away)) {
        "The board is asleep, away or on another network. Turn the ignition on for a moment and \
         pull again, or put its card into this computer and pull its folder"
            .to_owned()
    } else {
        "What was fetched is kept: pull again, and it goes on where it stopped".to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(words: &str, expected: &str) {
        let address = BoardAddress::parse("ssh://pull@board:2222").unwrap();
        let said = advice(words, &address);
        assert!(said.contains(expected), "{said}");
    }

    #[test]
    fn every_trouble_has_its_next_step() {
        check("Host key verification failed.", "`sftp -P 2222 pull@board`");
        let changed = "@ WARNING: REMOTE HOST IDENTIFICATION HAS CHANGED! @\nHost key \
                       verification failed.";
        check(changed, "ssh-keygen -R '[board]:2222'");
        check(
            "pull@board: Permission denied (publickey).",
            "/etc/jumpseat/pull.keys",
        );
        check(
            "ssh: connect to host board port 22: No route to host",
            "asleep, away or on another network",
        );
        check("Connection to board closed by remote host.", "pull again");
    }
}
