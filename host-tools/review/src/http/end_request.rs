//! Requests to end the program, which end the server: Ctrl-C, and on Unix that of the system.

use std::io;

#[cfg(unix)]
use tokio::signal::unix::{Signal, SignalKind, signal};
#[cfg(windows)]
use tokio::signal::windows::{CtrlC, ctrl_c};

/// Ctrl-C and, on Unix, `SIGTERM`. From the moment when this is made, neither ends the process:
/// one that comes before anyone waits is kept.
#[derive(Debug)]
pub(super) struct EndRequest {
    #[cfg(unix)]
    interrupt: Signal,
    #[cfg(unix)]
    terminate: Signal,
    #[cfg(windows)]
    interrupt: CtrlC,
}

impl EndRequest {
    /// Must be made, and waited for, in the same runtime.
    ///
    /// # Errors
    /// When the system takes no handler: the process would end with files left behind.
    pub(super) fn new() -> io::Result<Self> {
        Ok(Self {
            #[cfg(unix)]
            interrupt: signal(SignalKind::interrupt())?,
            #[cfg(unix)]
            terminate: signal(SignalKind::terminate())?,
            #[cfg(windows)]
            interrupt: ctrl_c()?,
        })
    }

    /// Waits for one.
    #[cfg(unix)]
    pub(super) async fn wait(&mut self) {
        tokio::select! {
            _ = self.interrupt.recv() => {}
            _ = self.terminate.recv() => {}
        }
    }

    /// Waits for one.
    #[cfg(windows)]
    pub(super) async fn wait(&mut self) {
        self.interrupt.recv().await;
    }
}

#[cfg(all(test, unix))]
mod tests {
    use std::process::Command;
    use std::time::Duration;

    use super::*;

    #[test]
    fn what_came_before_anyone_waited_is_kept() {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .unwrap();
        for name in ["-INT", "-TERM"] {
            let mut request = {
                let _inside = runtime.enter();
                EndRequest::new().unwrap()
            };
            // Without a handler this would end the tests.
            let this = std::process::id().to_string();
            let sent = Command::new("kill").args([name, &this]).status();
            assert!(sent.unwrap().success());
            let waited = runtime.block_on(async {
                tokio::time::timeout(Duration::from_secs(20), request.wait()).await
            });
            assert!(waited.is_ok(), "{name}");
        }
    }
}
