//! A machine in the emulator (Debian package qemu-system-x86), and the events that it
//! prints on its console.

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread::spawn;
use std::time::{Duration, Instant};

/// An event on the board, with its monotonic time.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ConsoleEvent {
    pub(crate) at_s: f64,
    pub(crate) what: String,
}

/// A running machine; its power is cut when it is dropped.
pub(crate) struct VirtualMachine {
    emulator: Child,
    console: Receiver<String>,
    events: Vec<ConsoleEvent>,
    /// Everything on the console, for a person when a test fails.
    console_text: String,
}

/// The folder in which `tests/virtual-board/make` left the machine.
pub(crate) fn folder() -> PathBuf {
    std::env::var_os("JUMPSEAT_VIRTUAL_BOARD")
        .map(PathBuf::from)
        .expect("run tests/run pins, which makes the virtual board")
}

impl VirtualMachine {
    /// Switches a machine on, with this image as its card.
    pub(crate) fn on(card: &Path) -> Self {
        Self::start(card, &[])
    }

    /// The same with the disk that holds the service manager, which is not changed.
    pub(crate) fn with_system(card: &Path) -> Self {
        let system = "file=system.img,format=raw,if=virtio,snapshot=on";
        Self::start(card, &["-drive", system])
    }

    fn start(card: &Path, more: &[&str]) -> Self {
        // What the machine has written survives its power cut; the disk under the image
        // need not be synced for that.
        let drive = format!("file={},format=raw,if=virtio,cache=unsafe", card.display());
        let mut emulator = Command::new("qemu-system-x86_64")
            .current_dir(folder())
            .args(["-accel", "tcg,thread=multi", "-cpu", "max", "-smp", "2"])
            .args(["-m", "256", "-nographic", "-nic", "none", "-no-reboot"])
            .args(["-kernel", "kernel", "-initrd", "initrd.gz"])
            .args(["-drive", &drive])
            .args(more)
            // Without a timer check for which the emulation is too slow.
            .args([
                "-append",
                "console=ttyS0 quiet panic=-1 no_timer_check nokaslr",
            ])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("qemu-system-x86 is missing; tests/run installs it");
        let out = emulator.stdout.take().expect("its output is a pipe");
        let (lines, console) = channel();
        spawn(move || {
            for line in BufReader::new(out).split(b'\n').map_while(Result::ok) {
                let line = String::from_utf8_lossy(&line).trim_end().to_owned();
                if lines.send(line).is_err() {
                    return;
                }
            }
        });
        Self {
            emulator,
            console,
            events: Vec::new(),
            console_text: String::new(),
        }
    }

    /// Listens for this long.
    pub(crate) fn listen(&mut self, time: Duration) {
        self.listen_until(time, |_| false);
    }

    /// Listens until this event; returns its time.
    #[track_caller]
    pub(crate) fn wait_for(&mut self, what: &str, limit: Duration) -> f64 {
        let found = self.listen_until(limit, |event| event.what == what);
        found.unwrap_or_else(|| {
            panic!(
                "no {what:?} within {limit:?}; console:\n{}",
                self.console_text
            )
        })
    }

    /// Listens until it switches itself off; returns all events.
    #[track_caller]
    pub(crate) fn wait_for_end(mut self, limit: Duration) -> Vec<ConsoleEvent> {
        let until = Instant::now() + limit;
        while let Ok(line) = self.next_line(until) {
            self.note(line);
        }
        let over = Instant::now() < until;
        assert!(over, "it does not end; console:\n{}", self.console_text);
        std::mem::take(&mut self.events)
    }

    fn listen_until(
        &mut self,
        time: Duration,
        wanted: impl Fn(&ConsoleEvent) -> bool,
    ) -> Option<f64> {
        let until = Instant::now() + time;
        loop {
            let line = match self.next_line(until) {
                Ok(line) => line,
                Err(RecvTimeoutError::Timeout) => return None,
                Err(RecvTimeoutError::Disconnected) => {
                    panic!("the machine stopped; console:\n{}", self.console_text)
                }
            };
            if let Some(event) = self.note(line)
                && wanted(&event)
            {
                return Some(event.at_s);
            }
        }
    }

    fn next_line(&self, until: Instant) -> Result<String, RecvTimeoutError> {
        let left = until.saturating_duration_since(Instant::now());
        self.console.recv_timeout(left)
    }

    /// Keeps a console line, and the event in it.
    fn note(&mut self, line: String) -> Option<ConsoleEvent> {
        self.console_text.push_str(&line);
        self.console_text.push('\n');
        assert!(!line.contains("FAILED"), "{}", self.console_text);
        let event = parse_event(&line)?;
        self.events.push(event.clone());
        Some(event)
    }

    /// Cuts its power; returns all events until then.
    pub(crate) fn cut_power(mut self) -> Vec<ConsoleEvent> {
        self.emulator.kill().expect("the emulator runs");
        self.emulator.wait().expect("the emulator ends");
        while let Ok(line) = self.console.recv() {
            self.events.extend(parse_event(&line));
        }
        std::mem::take(&mut self.events)
    }
}

impl Drop for VirtualMachine {
    fn drop(&mut self) {
        // It may be off already.
        let _off = self.emulator.kill();
        let _reaped = self.emulator.wait();
    }
}

/// Parses "TOLD 12.34 ptt 1", possibly after leftovers of the firmware in the line.
fn parse_event(line: &str) -> Option<ConsoleEvent> {
    let (_, rest) = line.split_once("TOLD ")?;
    let (at, what) = rest.split_once(' ')?;
    Some(ConsoleEvent {
        at_s: at.parse().ok()?,
        what: what.to_owned(),
    })
}
