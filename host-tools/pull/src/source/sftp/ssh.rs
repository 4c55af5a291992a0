//! Reaches a board through the system's own ssh, which takes care of keys, agent, known
//! hosts and configuration.

use std::io::{self, BufReader, IsTerminal as _, Read};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use super::address::BoardAddress;
use super::silence_timeout::{SilenceTimeout, TimedStream};
use crate::error::PullError;
use crate::source::nearby::address_of;

/// How to install the ssh client where it is missing.
const GET_SSH: &str = if cfg!(windows) {
    "add \"OpenSSH Client\" in Settings, Apps, Optional features"
} else {
    "install the OpenSSH client (openssh-client)"
};
/// How long to wait for ssh to say why it ended.
const STDERR_WAIT: Duration = Duration::from_secs(2);
const MAX_STDERR_BYTES: u64 = 16 * 1024;
/// How long ssh itself tries to reach the board and to agree on keys.
const CONNECT_TIMEOUT: Duration = Duration::from_secs(15);
/// A person may have to find a passphrase or compare a fingerprint.
const PERSON_TIMEOUT: Duration = Duration::from_secs(300);

/// What the SFTP server sends.
pub(super) type FromServer = BufReader<TimedStream<ChildStdout>>;
/// What is sent to the SFTP server.
pub(super) type ToServer = TimedStream<ChildStdin>;

/// A running ssh, which ends when the value is dropped.
pub(super) struct SshProcess {
    child: Arc<Mutex<Child>>,
    /// What it writes to standard error.
    stderr: Receiver<String>,
    timeout: SilenceTimeout,
    patience: Duration,
}

impl SshProcess {
    /// Starts ssh and returns the streams from and to the SFTP server. ssh is killed when
    /// the server is silent for longer than `patience` while somebody waits for it; until
    /// [`Self::connected`] there is more time, for connecting.
    pub(super) fn start(
        address: &BoardAddress,
        config: Option<&Path>,
        patience: Duration,
    ) -> Result<(Self, FromServer, ToServer), PullError> {
        let mut command = Command::new("ssh");
        if let Some(config) = config {
            command.arg("-F").arg(config);
        }
        // In a terminal ssh shows a new host key, asks once, and stores the key where its
        // configuration says. It may ask for a key's passphrase, but never for a password.
        // Without a terminal it asks nothing. It forwards nothing, and notices within 20
        // seconds that the board is gone.
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
            // Connect to the address, but look up the host key by the name.
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
            .map_err(|source| PullError::NoSsh {
                advice: GET_SSH,
                source,
            })?;
        let pipes = (child.stdin.take(), child.stdout.take(), child.stderr.take());
        let (Some(to), Some(from), Some(mut errors)) = pipes else {
            return Err(PullError::SourceLost(
                "ssh was started without its pipes; try again".to_owned(),
            ));
        };
        let (send, stderr) = channel();
        std::thread::spawn(move || {
            let mut text = Vec::new();
            // What was read before an error is all there is; nobody may be waiting.
            let _ = errors
                .by_ref()
                .take(MAX_STDERR_BYTES)
                .read_to_end(&mut text);
            // The rest is dropped, but it is read, because a full pipe would stop ssh.
            let _ = io::copy(&mut errors, &mut io::sink());
            let _ = send.send(String::from_utf8_lossy(&text).into_owned());
        });
        widen_pipe(&from);
        let child = Arc::new(Mutex::new(child));
        let silent = Arc::clone(&child);
        let connecting = if person {
            PERSON_TIMEOUT
        } else {
            CONNECT_TIMEOUT
        };
        let timeout = SilenceTimeout::new(patience + connecting, move || end(&silent));
        let from = BufReader::with_capacity(1 << 15, timeout.with(from));
        let to = timeout.with(to);
        let ssh = Self {
            child,
            stderr,
            timeout,
            patience,
        };
        Ok((ssh, from, to))
    }

    /// The server answers: from now on there is no extra time for connecting.
    pub(super) fn connected(&self) {
        self.timeout.set(self.patience);
    }

    /// What ssh said before it ended, and what a person can do about it.
    pub(super) fn explain_end(&mut self, address: &BoardAddress) -> String {
        let words = self.stderr.recv_timeout(STDERR_WAIT).unwrap_or_default();
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
    // It may have ended on its own.
    let _ = child.kill();
    let _ = child.wait();
}

/// Makes ssh's pipe larger, so that ssh and we wait for each other less often. Only Linux
/// can.
#[cfg(target_os = "linux")]
fn widen_pipe(pipe: &ChildStdout) {
    // The usual size works too.
    let _ = rustix::pipe::fcntl_setpipe_size(pipe, 1 << 20);
}

/// Only Linux can make a pipe larger.
#[cfg(not(target_os = "linux"))]
fn widen_pipe(_pipe: &ChildStdout) {}

/// What ssh says when nothing answers at that address.
const AWAY: [&str; 5] = [
    "timed out",
    "No route to host",
    "Connection refused",
    "Could not resolve",
    "Network is unreachable",
];

/// What to do about what ssh said.
fn advice(words: &str, address: &BoardAddress) -> String {
    let user = address.user.as_deref();
    let to = user.map_or(String::new(), |user| format!("{user}@")) + &address.host;
    let port = address
        .port
        .map_or(String::new(), |port| format!("-P {port} "));
    let has = |part: &str| words.contains(part);
    if has("IDENTIFICATION HAS CHANGED") {
        format!(
            "The board's host key has changed. If you rewrote its card, remove the old key with \
             `ssh-keygen -R {}` and pull again; otherwise another machine answers in its place",
            match address.port {
                Some(port) => format!("'[{}]:{port}'", address.host),
                None => address.host.clone(),
            }
        )
    } else if has("Host key verification failed") {
        format!(
            "The board's host key is not known here, and nobody could be asked or the answer was \
             no. Pull once in a terminal (or connect with `sftp {port}{to}`), compare the \
             fingerprint with the output of `ssh-keygen -lf /etc/ssh/ssh_host_ed25519_key.pub` \
             on the board, and answer yes"
        )
    } else if has("Permission denied") {
        format!(
            "The board does not accept your key. Put your public key into /etc/jumpseat/pull.keys \
             on the board, unlock it here with ssh-add, and try `sftp {port}{to}`"
        )
    } else if AWAY.iter().any(|away| has(away)) {
        "The board is asleep, away or on another network. Turn the ignition on for a moment and \
         pull again, or put its card into this computer and pull its folder"
            .to_owned()
    } else {
        "What was fetched is kept; pull again, and the pull continues where it stopped".to_owned()
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
    fn every_failure_has_its_next_step() {
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
