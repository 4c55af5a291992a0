//! What differs between Linux, macOS and Windows, and nothing else.

use std::env;
use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};
use std::process::{ChildStdout, Command};

/// How the ssh client is had where it is missing.
pub(crate) const GET_SSH: &str = if cfg!(windows) {
    "add \"OpenSSH Client\" in Settings, Apps, Optional features"
} else {
    "install the OpenSSH client (openssh-client)"
};

/// The system's own opener of links and pages; the link or file is its last argument.
pub(crate) fn opener() -> Command {
    if cfg!(windows) {
        // The shell's `start` would take '&' for itself; this takes the link whole.
        let mut command = Command::new("rundll32");
        command.arg("url.dll,FileProtocolHandler");
        command
    } else if cfg!(target_os = "macos") {
        Command::new("open")
    } else {
        Command::new("xdg-open")
    }
}

/// What a person types to start this program: its name where their shell finds it by
/// that, else where it lies, as after `cargo run`.
pub(crate) fn program() -> String {
    let Ok(me) = env::current_exe() else {
        return NAME.to_owned();
    };
    let path = env::var_os("PATH").unwrap_or_default();
    let folders: Vec<PathBuf> = env::split_paths(&path).collect();
    typed(&me, &folders, env::current_dir().ok().as_deref())
}

const NAME: &str = "jumpseat";

fn typed(me: &Path, folders: &[PathBuf], here: Option<&Path>) -> String {
    let file = me.file_name().unwrap_or_default();
    let found = folders.iter().map(|folder| folder.join(file));
    let found = found.into_iter().find(|path| path.is_file());
    let same = |found: PathBuf| matches!((full_path(&found), full_path(me)), (Ok(one), Ok(other)) if one == other);
    if Path::new(file).file_stem() == Some(NAME.as_ref()) && found.is_some_and(same) {
        return NAME.to_owned();
    }
    // A shell looks for a bare name on its path only.
    let short = here.and_then(|here| me.strip_prefix(here).ok());
    let short = short.filter(|short| short.components().count() > 1);
    start(short.unwrap_or(me))
}

/// A program's path as a person can give it to the shell to start it.
fn start(program: &Path) -> String {
    if cfg!(windows) {
        shell_program(&program.with_extension("").display().to_string())
    } else {
        quoted(program)
    }
}

/// A path as a person can give it to the shell.
pub(crate) fn quoted(path: &Path) -> String {
    shell_word(cfg!(windows), &path.display().to_string())
}

fn shell_word(windows: bool, path: &str) -> String {
    // PowerShell takes a comma for a list and '@' for a name; cmd parts words at '='.
    let signs = if windows {
        "/\\:._-+%~"
    } else {
        "/\\:._-+@%,=~"
    };
    let plain = |c: char| c.is_alphanumeric() || signs.contains(c);
    if path.chars().all(plain) {
        path.to_owned()
    } else if windows {
        format!("\"{path}\"")
    } else {
        format!("'{}'", path.replace('\'', "'\\''"))
    }
}

/// The path of a program as Windows' two shells both take it, but for a `$`, a `` ` ``
/// or a `%` in it, which no form of it hides from both. A quotation mark at the
/// front makes it a mere text to PowerShell, and the '&' that would mend that is cmd's
/// own sign; within a word both take the marks off. (PowerShell: its tokenizer's
/// generic tokens; cmd: common practice.)
fn shell_program(path: &str) -> String {
    let parts: Vec<String> = path
        .split('\\')
        .map(|part| shell_word(true, part))
        .collect();
    let path = parts.join("\\");
    if path.starts_with('"') {
        format!(".\\{path}")
    } else {
        path
    }
}

/// What a person gave as a path, without what a shell left in it: a closing quote,
/// which Windows takes for its own after a backslash, as in "E:\".
pub(crate) fn path_argument(path: &str) -> &Path {
    Path::new(if cfg!(windows) {
        path.trim_end_matches('"')
    } else {
        path
    })
}

/// The whole path of what is there. Windows' own answer to that question is a
/// spelling that no person knows (`\\?\C:\...`), and some of its drives have none.
pub(crate) fn full_path(path: &Path) -> io::Result<PathBuf> {
    if cfg!(windows) {
        fs::metadata(path)?;
        std::path::absolute(path)
    } else {
        fs::canonicalize(path)
    }
}

/// A wider pipe lets ssh and us go to and fro less often; only Linux has it.
#[cfg(target_os = "linux")]
pub(crate) fn widen(pipe: &ChildStdout) {
    // The usual width works too.
    let _ = rustix::pipe::fcntl_setpipe_size(pipe, 1 << 20);
}

/// A wider pipe lets ssh and us go to and fro less often; only Linux has it.
#[cfg(not(target_os = "linux"))]
pub(crate) fn widen(_pipe: &ChildStdout) {}

/// Brings files of a folder to the disk; the path of the one that did not come there
/// is in the error.
#[cfg(target_os = "linux")]
pub(crate) fn sync_all(folder: &Path, _files: &[&Path]) -> Result<(), (PathBuf, io::Error)> {
    let failed = |error: io::Error| (folder.to_owned(), error);
    // Once for all of them: a sync of each takes longer than to fetch it.
    let whole = File::open(folder).map_err(failed)?;
    rustix::fs::syncfs(whole).map_err(|error| failed(error.into()))
}

/// Brings files of a folder to the disk; the path of the one that did not come there
/// is in the error.
#[cfg(not(target_os = "linux"))]
pub(crate) fn sync_all(_folder: &Path, files: &[&Path]) -> Result<(), (PathBuf, io::Error)> {
    for path in files {
        File::options()
            .append(true)
            .open(path)
            .and_then(|file| file.sync_all())
            .map_err(|error| ((*path).to_owned(), error))?;
    }
    Ok(())
}

/// Makes a new folder for its owner alone, with a name that begins so.
#[cfg(unix)]
pub(crate) fn private_folder(place: &Path, begins: &str) -> io::Result<tempfile::TempDir> {
    use std::os::unix::fs::PermissionsExt as _;
    let mut folder = tempfile::Builder::new();
    let folder = folder.permissions(fs::Permissions::from_mode(0o700));
    folder.prefix(begins).tempdir_in(place)
}

/// Makes a new folder with a name that begins so; it has the rights of the folder around
/// it, which in a person's own folder are that person's.
#[cfg(not(unix))]
pub(crate) fn private_folder(place: &Path, begins: &str) -> io::Result<tempfile::TempDir> {
    tempfile::Builder::new().prefix(begins).tempdir_in(place)
}

/// Makes a new file that only its owner reads.
#[cfg(unix)]
pub(crate) fn create_private(path: &Path) -> io::Result<File> {
    use std::os::unix::fs::OpenOptionsExt as _;
    let mut options = File::options();
    options.write(true).create_new(true).mode(0o600).open(path)
}

/// Makes a new file that only its owner reads: it has the rights of the folder around it.
#[cfg(not(unix))]
pub(crate) fn create_private(path: &Path) -> io::Result<File> {
    File::create_new(path)
}

/// Opens an ordinary file for reading and appending, and makes it where there is none.
/// A link in its place is not followed, and a pipe is not waited for.
///
/// # Errors
/// Those of the system, and [`io::ErrorKind::InvalidInput`] for what is no ordinary
/// file.
pub(crate) fn open_to_append(path: &Path) -> io::Result<File> {
    let not_ordinary = || {
        io::Error::new(
            io::ErrorKind::InvalidInput,
            "it is not an ordinary file (a link, folder, pipe or device)",
        )
    };
    let found = path.symlink_metadata();
    if found.as_ref().is_ok_and(|data| !data.is_file()) {
        return Err(not_ordinary());
    }
    let mut options = OpenOptions::new();
    options.read(true).append(true);
    if found.is_err() {
        // What comes to be there in between is not followed either.
        options.create_new(true);
    }
    forbid_links(&mut options);
    let file = options.open(path)?;
    if file.metadata()?.is_file() {
        Ok(file)
    } else {
        Err(not_ordinary())
    }
}

#[cfg(unix)]
fn forbid_links(options: &mut OpenOptions) {
    use std::os::unix::fs::OpenOptionsExt as _;
    let flags = rustix::fs::OFlags::NOFOLLOW | rustix::fs::OFlags::NONBLOCK;
    options.custom_flags(flags.bits() as i32);
}

#[cfg(not(unix))]
fn forbid_links(_: &mut OpenOptions) {}

/// Makes a folder in one that is there, unless there is one already. A link in its
/// place is an error, wherever it leads.
pub(crate) fn make_folder(path: &Path) -> io::Result<()> {
    match path.symlink_metadata() {
        Ok(data) if data.is_dir() => Ok(()),
        Ok(_) => Err(io::Error::new(
            io::ErrorKind::InvalidInput,
            "something else than a folder is in its place (a link, a file)",
        )),
        Err(_) => fs::create_dir(path),
    }
}

/// Lets others read a folder that was made as a temporary one, which is private.
#[cfg(unix)]
pub(crate) fn let_others_read(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755))
}

/// Lets others read a folder that was made as a temporary one; it has the rights of
/// the folder around it.
#[cfg(not(unix))]
pub(crate) fn let_others_read(_folder: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(target_os = "linux")]
    #[test]
    fn nothing_is_written_through_a_link_or_into_a_pipe() {
        use rustix::fs::{CWD, Mode, mkfifoat};
        use std::os::unix::fs::symlink;
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        fs::write(path("file"), "abc").unwrap();
        symlink(path("file"), path("link")).unwrap();
        symlink(path("nothing"), path("dangling")).unwrap();
        mkfifoat(CWD, path("pipe"), Mode::RUSR | Mode::WUSR).unwrap();
        fs::create_dir(path("folder")).unwrap();
        symlink(path("folder"), path("folder-link")).unwrap();
        for name in ["link", "dangling", "pipe", "folder"] {
            let error = open_to_append(&path(name)).unwrap_err();
            assert_eq!(error.kind(), io::ErrorKind::InvalidInput, "{name}");
        }
        for name in ["link", "dangling", "pipe", "file", "folder-link"] {
            make_folder(&path(name)).unwrap_err();
        }
        assert!(!path("nothing").exists());
        for name in ["file", "new"] {
            open_to_append(&path(name)).unwrap();
        }
        for name in ["folder", "new-folder"] {
            make_folder(&path(name)).unwrap();
        }
        assert_eq!(fs::read_to_string(path("file")).unwrap(), "abc");
    }

    #[test]
    fn the_program_is_named_as_the_shell_finds_it() {
        let folder = tempfile::tempdir().unwrap();
        let (bin, other) = (folder.path().join("bin"), folder.path().join("other"));
        let file = if cfg!(windows) { "jumpseat.exe" } else { NAME };
        for place in [&bin, &other] {
            fs::create_dir(place).unwrap();
            fs::write(place.join(file), place.display().to_string()).unwrap();
        }
        let me = bin.join(file);
        let check = |folders: &[&PathBuf], here: &Path, expected: &Path| {
            let folders: Vec<PathBuf> = folders.iter().map(|&folder| folder.clone()).collect();
            assert_eq!(typed(&me, &folders, Some(here)), start(expected));
        };
        let away = &folder.path().join("away");
        let named = Path::new(NAME);
        check(&[&folder.path().join("none"), &bin], away, named);
        // Another one comes first there, or none at all.
        check(&[&other, &bin], away, &bin.join(NAME));
        check(&[], away, &bin.join(NAME));
        check(&[], folder.path(), &Path::new("bin").join(NAME));
        check(&[], &bin, &bin.join(NAME));
    }

    #[track_caller]
    fn check(path: &str, unix: &str, windows: &str, first: &str) {
        assert_eq!(shell_word(false, path), unix);
        assert_eq!(shell_word(true, path), windows);
        assert_eq!(shell_program(path), first);
    }

    #[test]
    fn a_path_can_be_copied_into_the_shell() {
        for same in ["home", "/a/b-c_d.e", "C:\\Users\\x", "Grüße", "PROGRA~1"] {
            check(same, same, same, same);
        }
        check("my log", "'my log'", "\"my log\"", ".\\\"my log\"");
        check("a&b", "'a&b'", "\"a&b\"", ".\\\"a&b\"");
        check("it's", "'it'\\''s'", "\"it's\"", ".\\\"it's\"");
        check("a,b=c", "a,b=c", "\"a,b=c\"", ".\\\"a,b=c\"");
        check("@home", "@home", "\"@home\"", ".\\\"@home\"");
    }

    #[test]
    fn both_shells_of_windows_start_a_program_whose_folder_has_blanks() {
        for (path, typed) in [
            (
                r"C:\Program Files (x86)\tool",
                r#"C:\"Program Files (x86)"\tool"#,
            ),
            (
                r"C:\Users\Ruth May\a b\tool",
                r#"C:\Users\"Ruth May"\"a b"\tool"#,
            ),
            (r"\\server\my share\tool", r#"\\server\"my share"\tool"#),
            (r"my tools\tool", r#".\"my tools"\tool"#),
            (r"tools\tool", r"tools\tool"),
        ] {
            assert_eq!(shell_program(path), typed);
        }
    }
}
