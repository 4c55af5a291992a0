//! A program that is stopped when the test is done with it.

use std::fs;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::Duration;

use rustix::process::{Pid, Signal, kill_process};

use crate::{PartError, wait_until};

/// A running program.
#[derive(Debug)]
pub struct TestProcess {
    name: String,
    child: Child,
}

/// What a program has used so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProcessUsage {
    /// Seconds of processor time, user and system, of all threads that run.
    pub cpu_s: f64,
    /// Highest resident memory in MiB.
    pub peak_mib: f64,
}

impl TestProcess {
    /// Starts it; its output goes to the file `log`.
    ///
    /// It is killed with the thread that started it, even when that is killed.
    pub fn start(command: &Command, log: &Path) -> Result<Self, PartError> {
        let name = command.get_program().to_string_lossy().into_owned();
        let out = fs::File::create(log).map_err(PartError::file(log))?;
        let error = out.try_clone().map_err(PartError::file(log))?;
        let mut tied = Command::new("setpriv");
        tied.args(["--pdeathsig", "KILL", "--"]);
        tied.arg(command.get_program()).args(command.get_args());
        for (variable, value) in command.get_envs() {
            match value {
                Some(value) => tied.env(variable, value),
                None => tied.env_remove(variable),
            };
        }
        let child = tied
            .stdin(Stdio::null())
            .stdout(out)
            .stderr(error)
            .spawn()
            .map_err(|source| PartError::Start {
                program: name.clone(),
                source,
            })?;
        Ok(Self { name, child })
    }

    /// Whether it still runs.
    pub fn runs(&mut self) -> bool {
        matches!(self.child.try_wait(), Ok(None))
    }

    /// Sends a signal.
    pub fn signal(&self, signal: Signal) -> Result<(), PartError> {
        let pid = Pid::from_child(&self.child);
        kill_process(pid, signal).map_err(|error| PartError::failed(&self.name, error))
    }

    /// Waits for its end, for at most `limit`.
    pub fn end(&mut self, limit: Duration) -> Result<ExitStatus, PartError> {
        let mut status = None;
        wait_until(limit, || {
            status = self.child.try_wait().ok().flatten();
            status.is_some()
        });
        status.ok_or_else(|| PartError::failed(&self.name, format!("still runs after {limit:?}")))
    }

    /// What it has used, from /proc (see proc(5)).
    pub fn usage(&self) -> Result<ProcessUsage, PartError> {
        let folder = format!("/proc/{}", self.child.id());
        let read = |file: &str| {
            let path = Path::new(&folder).join(file);
            fs::read_to_string(&path).map_err(PartError::file(&path))
        };
        let status = read("status")?;
        let tasks = Path::new(&folder).join("task");
        let mut cpu_s = Some(0.0);
        for task in fs::read_dir(&tasks).map_err(PartError::file(&tasks))? {
            let task = task.map_err(PartError::file(&tasks))?;
            // The first number is nanoseconds on a processor.
            let text = read(&format!("task/{}/schedstat", task.file_name().display()))?;
            let first = text.split_whitespace().next();
            let spent = first.and_then(|text| text.parse::<f64>().ok());
            cpu_s = cpu_s.zip(spent).map(|(sum, spent)| sum + spent / 1e9);
        }
        let peak = status.lines().find_map(|line| {
            line.strip_prefix("VmHWM:")?
                .trim()
                .strip_suffix("kB")?
                .trim()
                .parse::<f64>()
                .ok()
        });
        match (cpu_s, peak) {
            (Some(cpu_s), Some(kib)) => Ok(ProcessUsage {
                cpu_s,
                peak_mib: kib / 1024.0,
            }),
            _ => Err(PartError::failed(
                &self.name,
                format!("cannot read its usage in {folder}"),
            )),
        }
    }
}

impl Drop for TestProcess {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
