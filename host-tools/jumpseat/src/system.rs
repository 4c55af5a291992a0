//! What the command does differently on Linux, macOS and Windows.

use std::env;
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_files::full_path;

/// The system's own program that opens links and pages; its last argument is the link or
/// the file.
pub(crate) fn opener() -> Command {
    if cfg!(windows) {
        // The shell's `start` treats '&' specially; this program does not.
        let mut command = Command::new("rundll32");
        command.arg("url.dll,FileProtocolHandler");
        command
    } else if cfg!(target_os = "macos") {
        Command::new("open")
    } else {
        Command::new("xdg-open")
    }
}

/// What a person types to start this program: its name if the shell finds it, and otherwise
/// its path, as after `cargo run`.
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
    // A shell searches for a bare name on its PATH only.
    let short = here.and_then(|here| me.strip_prefix(here).ok());
    let short = short.filter(|short| short.components().count() > 1);
    start(short.unwrap_or(me))
}

/// A program's path as a person types it to start it.
fn start(program: &Path) -> String {
    if cfg!(windows) {
        shell_program(&program.with_extension("").display().to_string())
    } else {
        quoted(program)
    }
}

/// A path as a person types it in a shell.
pub(crate) fn quoted(path: &Path) -> String {
    shell_word(cfg!(windows), &path.display().to_string())
}

fn shell_word(windows: bool, path: &str) -> String {
    // In PowerShell a comma makes a list and '@' a name; cmd splits words at '='.
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

/// The path of a program in a form that both shells of Windows accept, except for a `$`, a
/// `` ` `` or a `%` in it, which cannot be quoted for both. PowerShell takes a word with a
/// quotation mark at its start for a text, and the '&' that would change that has another
/// meaning in cmd; within a word both remove the marks. (PowerShell: its tokenizer's generic
/// tokens; cmd: common practice.)
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

/// A path argument without what a shell left in it: on Windows a closing quote after a
/// backslash, as in "E:\", is taken for a part of the path.
pub(crate) fn path_argument(path: &str) -> &str {
    if cfg!(windows) {
        path.trim_end_matches('"')
    } else {
        path
    }
}

/// Makes a new folder for its owner alone; its name starts with `begins`.
#[cfg(unix)]
pub(crate) fn private_folder(place: &Path, begins: &str) -> io::Result<tempfile::TempDir> {
    use std::os::unix::fs::PermissionsExt as _;
    let mut folder = tempfile::Builder::new();
    let folder = folder.permissions(std::fs::Permissions::from_mode(0o700));
    folder.prefix(begins).tempdir_in(place)
}

/// Makes a new folder whose name starts with `begins`. It has the rights of the folder
/// around it; in a person's own folder these are that person's.
#[cfg(not(unix))]
pub(crate) fn private_folder(place: &Path, begins: &str) -> io::Result<tempfile::TempDir> {
    tempfile::Builder::new().prefix(begins).tempdir_in(place)
}

/// Makes a new file that only its owner can read.
#[cfg(unix)]
pub(crate) fn create_private(path: &Path) -> io::Result<File> {
    use std::os::unix::fs::OpenOptionsExt as _;
    let mut options = File::options();
    options.write(true).create_new(true).mode(0o600).open(path)
}

/// Makes a new file; it has the rights of the folder around it.
#[cfg(not(unix))]
pub(crate) fn create_private(path: &Path) -> io::Result<File> {
    File::create_new(path)
}

/// Lets others read a folder that was made as a temporary one and is private.
#[cfg(unix)]
pub(crate) fn let_others_read(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    std::fs::set_permissions(folder, std::fs::Permissions::from_mode(0o755))
}

/// Does nothing: a temporary folder has the rights of the folder around it.
#[cfg(not(unix))]
pub(crate) fn let_others_read(_folder: &Path) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

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
