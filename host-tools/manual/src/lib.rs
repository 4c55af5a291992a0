//! Writes man pages and shell completions. They are made from the definition of the command
//! line, so that they cannot differ from it.
#![forbid(unsafe_code)]

use std::env;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use chrono::DateTime;
use clap::Command;
use clap_complete::Shell;
use clap_mangen::Man;

/// A file that could not be written.
#[derive(Debug, thiserror::Error)]
#[error("cannot write {path}; check that the disk has room and that you may write there")]
pub struct ManualError {
    path: PathBuf,
    source: io::Error,
}

/// Writes a page for the command and each of its subcommands, and completions for the shells,
/// where systems look for them below /usr/share or a person's ~/.local/share. Returns the
/// paths of the files in `share`.
///
/// # Errors
/// When a file cannot be written.
pub fn write(command: &Command, share: &Path) -> Result<Vec<PathBuf>, ManualError> {
    let mut files = pages(command)?;
    let name = command.get_name();
    for (shell, path) in [
        (Shell::Bash, format!("bash-completion/completions/{name}")),
        (Shell::Zsh, format!("zsh/site-functions/_{name}")),
        (
            Shell::Fish,
            format!("fish/vendor_completions.d/{name}.fish"),
        ),
        (Shell::PowerShell, format!("powershell/{name}.ps1")),
    ] {
        let mut text = Vec::new();
        clap_complete::generate(shell, &mut command.clone(), name, &mut text);
        files.push((PathBuf::from(path), text));
    }
    for (path, text) in &files {
        write_file(&share.join(path), text)?;
    }
    Ok(files.into_iter().map(|(path, _)| path).collect())
}

/// The pages with their paths.
fn pages(command: &Command) -> Result<Vec<(PathBuf, Vec<u8>)>, ManualError> {
    // This sets names such as "jumpseat-pull" and usages such as "jumpseat pull". `help` as a
    // subcommand needs no page: it prints what `--help` prints.
    let mut built = command.clone().disable_help_subcommand(true);
    built.build();
    let mut pages = Vec::new();
    let subcommands: Vec<Command> = built.get_subcommands().cloned().collect();
    for one in [built].into_iter().chain(subcommands) {
        let man = Man::new(one.clone()).date(date());
        let path = PathBuf::from("man/man1").join(man.get_filename());
        let mut text = Vec::new();
        man.render(&mut text).map_err(|source| ManualError {
            path: path.clone(),
            source,
        })?;
        pages.push((path, text));
    }
    Ok(pages)
}

/// The date of the pages, if a packager sets one by the convention of reproducible builds;
/// otherwise a blank, because without any date the version would take its place.
fn date() -> String {
    let made = env::var("SOURCE_DATE_EPOCH").ok();
    let made = made.and_then(|seconds| seconds.parse().ok());
    let made = made.and_then(|seconds| DateTime::from_timestamp(seconds, 0));
    made.map_or_else(
        || " ".to_owned(),
        |made| made.format("%Y-%m-%d").to_string(),
    )
}

fn write_file(path: &Path, text: &[u8]) -> Result<(), ManualError> {
    let failed = |source| ManualError {
        path: path.to_owned(),
        source,
    };
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(failed)?;
    }
    fs::write(path, text).map_err(failed)
}
