//! A real OpenSSH server with keys and a configuration of its own, and who asks it.

use jumpseat_test_kit::{TestProcess, built, free_port, run, wait_until};
use std::fs;
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::Duration;

/// The server, a card that it offers, and a home that pulls from it.
pub(crate) struct Server {
    folder: tempfile::TempDir,
    pub(crate) port: u16,
    _daemon: TestProcess,
}

impl Server {
    pub(crate) fn start() -> Self {
        Self::listening("127.0.0.1")
    }

    /// At another address than that of this computer alone.
    pub(crate) fn listening(address: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        for key in ["host", "user"] {
            let mut command = Command::new("ssh-keygen");
            command.args(["-q", "-t", "ed25519", "-N", "", "-f"]);
            assert!(run(command.arg(at(key))).unwrap().status.success());
        }
        let here = folder.path().display();
        let port = free_port().unwrap();
        let config = format!(
            "Port {port}\nListenAddress {address}\nHostKey {here}/host\n\
             AuthorizedKeysFile {here}/user.pub\nPidFile none\nStrictModes no\nUsePAM no\n\
             PasswordAuthentication no\nMaxStartups 100\nSubsystem sftp internal-sftp\n"
        );
        fs::write(at("sshd.conf"), config).unwrap();
        let host = fs::read_to_string(at("host.pub")).unwrap();
        fs::write(at("known"), format!("* {host}")).unwrap();
        let config = format!(
            "Host *\nIdentityFile {here}/user\nIdentitiesOnly yes\nUserKnownHostsFile {here}/known\n\
             GlobalKnownHostsFile /dev/null\n"
        );
        fs::write(at("ssh.conf"), config).unwrap();
        fs::create_dir(at("card")).unwrap();

        let mut command = Command::new("/usr/sbin/sshd");
        command.args(["-D", "-e", "-f"]).arg(at("sshd.conf"));
        let mut daemon = TestProcess::start(&command, &at("sshd.log")).unwrap();
        let up = wait_until(Duration::from_secs(10), || {
            TcpStream::connect(("127.0.0.1", port)).is_ok()
        });
        let said = fs::read_to_string(at("sshd.log")).unwrap();
        assert!(up && daemon.runs(), "sshd did not come up: {said}");
        Self {
            folder,
            port,
            _daemon: daemon,
        }
    }

    pub(crate) fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub(crate) fn card(&self) -> PathBuf {
        self.at("card")
    }

    /// A pull through a port into a home, not started yet.
    pub(crate) fn pulling(&self, port: u16, home: &Path) -> Command {
        let mut command = Command::new(built("jumpseat").unwrap());
        command.arg("--home").arg(home).arg("pull");
        command.arg(format!("ssh://127.0.0.1:{port}{}", self.card().display()));
        command.arg("--ssh-config").arg(self.at("ssh.conf"));
        command
    }

    pub(crate) fn pull(&self, port: u16, home: &Path) -> Output {
        run(&mut self.pulling(port, home)).unwrap()
    }

    /// Fetches the card with OpenSSH's own client.
    pub(crate) fn sftp(&self, port: u16, to: &Path) {
        let mut command = Command::new("sftp");
        command.arg("-q").arg("-F").arg(self.at("ssh.conf"));
        command.args(["-o", "BatchMode=yes", "-r", "-P", &port.to_string()]);
        command.arg(format!("127.0.0.1:{}", self.card().display()));
        let output = run(command.arg(to)).unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{said}");
    }
}
