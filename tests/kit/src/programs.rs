//! Where the programs are that a test runs, and running them to their end.

use std::env;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use crate::PartError;

/// A program of this workspace, as built beside the running test.
///
/// # Errors
/// When it was not built.
pub fn built(name: &str) -> Result<PathBuf, PartError> {
    let path = profile_folder()?.join(format!("{name}{}", env::consts::EXE_SUFFIX));
    there(path, name, "build the workspace first, as tests/run does")
}

/// The interpreter with the reference libraries, which tests/run installs.
///
/// # Errors
/// When it is not there.
fn python() -> Result<PathBuf, PartError> {
    let path = match env::var_os("JUMPSEAT_PYTHON") {
        Some(path) => path.into(),
        None => profile_folder()?.join("../outside-venv/bin/python"),
    };
    there(path, "python", "tests/run outside makes it")
}

/// axe-core's script, which tests/run installs.
///
/// # Errors
/// When it is not there.
pub fn axe() -> Result<PathBuf, PartError> {
    let path = profile_folder()?.join("../axe/node_modules/axe-core/axe.min.js");
    there(path, "axe-core", "tests/run review installs it")
}

/// A script of `tests/outside` in the interpreter with the reference libraries.
///
/// # Errors
/// When the interpreter is not there.
pub fn outside_script(name: &str) -> Result<Command, PartError> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../outside")
        .join(name);
    let mut command = Command::new(python()?);
    command.arg(script);
    Ok(command)
}

/// The demo drive's own folder: a card with one trip, and the truth about it.
pub fn demo_card() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../host-tools/jumpseat/demo")
}

/// The path, if something is there; `help` says how to make it.
fn there(path: PathBuf, name: &str, help: &str) -> Result<PathBuf, PartError> {
    if path.exists() {
        Ok(path)
    } else {
        let detail = format!("{} does not exist; {help}", path.display());
        Err(PartError::failed(name, detail))
    }
}

/// Runs a program to its end.
///
/// # Errors
/// When it cannot be started.
pub fn run(command: &mut Command) -> Result<Output, PartError> {
    let program = command.get_program().to_string_lossy().into_owned();
    command
        .output()
        .map_err(|source| PartError::Start { program, source })
}

/// Runs a program that must succeed, with code 0, or 3 for "done, with doubts", and gives
/// what it printed.
///
/// # Errors
/// When it cannot be started, or fails.
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
    let here = env::current_exe().map_err(|error| PartError::failed("this program", error))?;
    let folder = here.parent().map(PathBuf::from).unwrap_or_default();
    match folder.parent() {
        Some(above) if folder.ends_with("deps") => Ok(above.to_owned()),
        _ => Ok(folder),
    }
}
