//! Where the programs are that a test runs.

use std::path::PathBuf;
use std::process::{Command, Output};

use crate::parts::PartError;

/// A program of this workspace, as built beside the running test.
pub fn built(name: &str) -> Result<PathBuf, PartError> {
    let path = profile_folder()?.join(name);
    there(path, name, "build the workspace first, as tests/run does")
}

/// The interpreter with the reference libraries, which tests/run installs.
pub fn python() -> Result<PathBuf, PartError> {
    let path = match std::env::var_os("JUMPSEAT_PYTHON") {
        Some(path) => path.into(),
        None => profile_folder()?.join("../outside-venv/bin/python"),
    };
    there(path, "python", "tests/run outside makes it")
}

/// axe-core's script, which tests/run installs.
pub fn axe() -> Result<PathBuf, PartError> {
    let path = profile_folder()?.join("../axe/node_modules/axe-core/axe.min.js");
    there(path, "axe-core", "tests/run review installs it")
}

/// The path, if something is there; `help` says what puts it there.
fn there(path: PathBuf, name: &str, help: &str) -> Result<PathBuf, PartError> {
    if path.exists() {
        Ok(path)
    } else {
        let detail = format!("{} does not exist; {help}", path.display());
        Err(PartError::failed(name, detail))
    }
}

/// Runs a program to its end.
pub fn run(command: &mut Command) -> Result<Output, PartError> {
    let program = command.get_program().to_string_lossy().into_owned();
    command
        .output()
        .map_err(|source| PartError::Start { program, source })
}

/// Runs a program of ours, which must end as done (0) or done with doubts (3), and
/// gives what it printed.
pub fn done(command: &mut Command) -> Result<String, PartError> {
    let output = run(command)?;
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    match output.status.code() {
        Some(0 | 3) => Ok(said),
        code => {
            let complaint = String::from_utf8_lossy(&output.stderr);
            let arguments: Vec<_> = command.get_args().collect();
            let detail = format!("ended with {code:?} at {arguments:?}:\n{said}{complaint}");
            let program = command.get_program().to_string_lossy();
            Err(PartError::failed(&program, detail))
        }
    }
}

/// The folder of the running program, or the one above when that is `deps`.
fn profile_folder() -> Result<PathBuf, PartError> {
    let here = std::env::current_exe().map_err(|error| PartError::failed("this program", error))?;
    let folder = here.parent().map(PathBuf::from).unwrap_or_default();
    match folder.parent() {
        Some(above) if folder.ends_with("deps") => Ok(above.to_owned()),
        _ => Ok(folder),
    }
}
