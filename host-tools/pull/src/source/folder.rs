//! A folder of this computer as a source, such as a card in its reader.

use std::fs::{self, File, Metadata};
use std::io::{self, Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};
use std::time::{Instant, SystemTime};

use jumpseat_files::{
    file_name, full_path, make_folder_no_follow, open_regular_file, open_to_append, write_durably,
};

use super::trip_source::{
    FetchCallback, FetchEvent, FileRange, LEASE_EVERY, MAX_FOLDER_NAMES, SourceEntry,
    SourceEntryKind, TripSource,
};
use crate::error::PullError;

/// Bytes read at once.
const READ_CHUNK_BYTES: usize = 1 << 20;

/// The folder.
pub(crate) struct FolderSource {
    root: PathBuf,
    /// The lease file, and when it was last touched.
    lease: Option<(PathBuf, Instant)>,
}

impl FolderSource {
    pub(crate) fn new(root: &Path) -> Self {
        Self {
            root: root.to_owned(),
            lease: None,
        }
    }

    fn at(&self, path: &str) -> PathBuf {
        if path.is_empty() {
            self.root.clone()
        } else {
            self.root.join(path)
        }
    }

    fn touch_if_due(&mut self) -> Result<(), PullError> {
        match &mut self.lease {
            Some((path, last)) if last.elapsed() >= LEASE_EVERY => {
                *last = Instant::now();
                touch(path)
            }
            _ => Ok(()),
        }
    }

    /// Delivers one range. An error is that of the callback or of the lease; what is
    /// wrong with the file is delivered.
    fn read(
        &mut self,
        number: usize,
        range: &FileRange,
        callback: FetchCallback<'_>,
    ) -> Result<(), PullError> {
        let path = self.at(&range.path);
        let failed = |error: &io::Error| {
            FetchEvent::Failed(format!("cannot read {}: {error}", path.display()))
        };
        let mut file = match open_at(&path, range.from) {
            Ok(file) => file,
            Err(error) => return callback(number, failed(&error)),
        };
        let mut left = range.length;
        while left > 0 {
            let most = left.min(READ_CHUNK_BYTES as u64);
            let mut piece = Vec::with_capacity(READ_CHUNK_BYTES.min(left as usize));
            match file.by_ref().take(most).read_to_end(&mut piece) {
                // The bytes before the error are good.
                Err(error) if piece.is_empty() => return callback(number, failed(&error)),
                Ok(0) => {
                    let shorter = format!("{} is shorter than it was a moment ago", path.display());
                    return callback(number, FetchEvent::Failed(shorter));
                }
                _ => {}
            }
            left -= piece.len() as u64;
            callback(number, FetchEvent::Piece(piece))?;
            self.touch_if_due()?;
        }
        Ok(())
    }

    /// Fails when the folder cannot be read any more: every file of a card that was taken
    /// out fails.
    fn check_still_there(&self) -> Result<(), PullError> {
        match fs::read_dir(&self.root) {
            Ok(_) => Ok(()),
            Err(error) => Err(PullError::SourceLost(format!(
                "{} cannot be read any more: {error}. Put the card in again and pull again; the \
                 pull continues where it stopped",
                self.root.display()
            ))),
        }
    }
}

impl TripSource for FolderSource {
    fn display_path(&self, path: &str) -> String {
        self.at(path).display().to_string()
    }

    fn own_name(&mut self) -> Result<Option<(String, SourceEntryKind)>, PullError> {
        if !self.root.exists() {
            return Ok(None);
        }
        let full = full_path(&self.root).map_err(source_io("read", &self.root))?;
        let kind = if full.is_dir() {
            SourceEntryKind::Folder
        } else {
            SourceEntryKind::File
        };
        Ok(Some((file_name(&full), kind)))
    }

    fn list(&mut self, folder: &str) -> Result<Vec<SourceEntry>, PullError> {
        let folder = self.at(folder);
        let listing = fs::read_dir(&folder).map_err(source_io("read", &folder))?;
        let mut entries = Vec::new();
        for found in listing {
            let found = found.map_err(source_io("read", &folder))?;
            if entries.len() == MAX_FOLDER_NAMES {
                return Err(PullError::SourcePath(format!(
                    "{} has more than {MAX_FOLDER_NAMES} names; no folder of a trip has that many",
                    folder.display()
                )));
            }
            let name = found.file_name().into_string().ok();
            // A damaged entry shows nothing but its name.
            let data = found.path().symlink_metadata().ok();
            let mut entry = source_entry(name, data.as_ref());
            // A folder that cannot be looked at just now is not left out: listing it
            // reports what is wrong.
            if data.is_none() && found.file_type().is_ok_and(|kind| kind.is_dir()) {
                entry.kind = SourceEntryKind::Folder;
            }
            entries.push(entry);
        }
        Ok(entries)
    }

    fn metadata(&mut self, path: &str) -> Result<Option<SourceEntry>, PullError> {
        let path = self.at(path);
        match path.symlink_metadata() {
            Ok(data) => Ok(Some(source_entry(Some(file_name(&path)), Some(&data)))),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(source_io("read", &path)(error)),
        }
    }

    fn fetch(
        &mut self,
        ranges: &[FileRange],
        callback: FetchCallback<'_>,
    ) -> Result<(), PullError> {
        for (number, range) in ranges.iter().enumerate() {
            let mut failed = false;
            self.read(number, range, &mut |number, event| {
                failed |= matches!(event, FetchEvent::Failed(_));
                callback(number, event)
            })?;
            if failed {
                self.check_still_there()?;
            }
        }
        Ok(())
    }

    fn write(&mut self, path: &str, bytes: &[u8]) -> Result<(), PullError> {
        let path = self.at(path);
        if let Some(folder) = path.parent() {
            make_folder_no_follow(folder).map_err(source_io("make", folder))?;
        }
        if path.symlink_metadata().is_ok_and(|data| !data.is_file()) {
            return Err(PullError::SourcePath(format!(
                "{} is not an ordinary file; nothing was written there",
                path.display()
            )));
        }
        Ok(write_durably(&path, bytes)?)
    }

    fn hold_lease(&mut self, path: &str) -> Result<(), PullError> {
        let path = self.at(path);
        touch(&path)?;
        self.lease = Some((path, Instant::now()));
        Ok(())
    }
}

fn source_entry(name: Option<String>, data: Option<&Metadata>) -> SourceEntry {
    SourceEntry {
        name,
        kind: match data {
            Some(data) if data.is_dir() => SourceEntryKind::Folder,
            Some(data) if data.is_file() => SourceEntryKind::File,
            _ => SourceEntryKind::Other,
        },
        bytes: data.map_or(0, Metadata::len),
        modified: data.and_then(|data| data.modified().ok()),
    }
}

fn open_at(path: &Path, from: u64) -> io::Result<File> {
    let mut file = open_regular_file(path)?;
    file.seek(SeekFrom::Start(from))?;
    Ok(file)
}

fn touch(path: &Path) -> Result<(), PullError> {
    open_to_append(path)
        .and_then(|file| file.set_modified(SystemTime::now()))
        .map_err(source_io("touch", path))
}

fn source_io(action: &'static str, path: &Path) -> impl FnOnce(io::Error) -> PullError {
    let path = path.display().to_string();
    move |source| PullError::SourceIo {
        action,
        path,
        source,
    }
}

#[cfg(test)]
#[cfg(target_os = "linux")]
mod tests {
    use std::os::unix::fs::symlink;

    use rustix::fs::{CWD, Mode, mkfifoat};

    use super::*;

    /// What came of each file, of which so many bytes are wanted.
    fn read(root: &Path, wanted: &[(&str, u64)]) -> Vec<Result<Vec<u8>, String>> {
        let mut files = vec![Ok(Vec::new()); wanted.len()];
        let wanted: Vec<FileRange> = wanted
            .iter()
            .map(|&(path, length)| FileRange {
                path: path.into(),
                from: 0,
                length,
            })
            .collect();
        let mut folder = FolderSource::new(root);
        folder
            .fetch(&wanted, &mut |number, got| {
                match (got, &mut files[number]) {
                    (FetchEvent::Piece(piece), Ok(file)) => file.extend(piece),
                    (FetchEvent::Failed(why), file) => *file = Err(why),
                    (FetchEvent::Piece(_), Err(_)) => panic!("a piece of a file that failed"),
                }
                Ok(())
            })
            .unwrap();
        files
    }

    #[track_caller]
    fn check(got: &Result<Vec<u8>, String>, expected: Result<&str, &str>) {
        match (got, expected) {
            (Ok(got), Ok(expected)) => assert_eq!(got, expected.as_bytes()),
            (Err(why), Err(expected)) => assert!(why.contains(expected), "{why}"),
            (got, expected) => panic!("{got:?} in place of {expected:?}"),
        }
    }

    #[test]
    fn a_card_that_gives_an_error_costs_one_file() {
        // The first page of a program's memory is never there: an input/output error.
        let got = read(Path::new("/proc/self"), &[("mem", 5), ("comm", 1)]);
        check(&got[0], Err("cannot read /proc/self/mem"));
        assert_eq!(got[1].as_ref().unwrap().len(), 1);
    }

    #[test]
    fn what_is_no_ordinary_file_is_neither_waited_for_nor_followed() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::write(at("file"), "abcdef").unwrap();
        mkfifoat(CWD, at("pipe"), Mode::RUSR | Mode::WUSR).unwrap();
        symlink("/dev/zero", at("endless")).unwrap();
        let names = [
            ("pipe", 3),
            ("endless", 3),
            ("file", 4),
            ("gone", 1),
            ("file", 9),
        ];
        let got = read(folder.path(), &names);
        let expected = [Err("ordinary file"), Err("ordinary file"), Ok("abcd")];
        let more = [Err("cannot read"), Err("shorter than it was")];
        for (got, expected) in got.iter().zip(expected.into_iter().chain(more)) {
            check(got, expected);
        }
    }

    #[test]
    fn a_card_that_is_taken_out_ends_it() {
        let folder = tempfile::tempdir().unwrap();
        let wanted = FileRange {
            path: "file".into(),
            from: 0,
            length: 1,
        };
        let mut gone = FolderSource::new(&folder.path().join("gone"));
        let error = gone.fetch(&[wanted], &mut |_, _| Ok(())).unwrap_err();
        assert!(error.is_source_gone(), "{error}");
    }

    #[test]
    fn nothing_is_written_through_a_link_of_the_card() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::create_dir_all(at("card")).unwrap();
        fs::create_dir_all(at("elsewhere")).unwrap();
        fs::write(at("secret"), "old").unwrap();
        symlink(at("secret"), at("card/lease-link")).unwrap();
        symlink(at("elsewhere/new"), at("card/lease-dangling")).unwrap();
        mkfifoat(CWD, at("card/lease-pipe"), Mode::RUSR | Mode::WUSR).unwrap();
        symlink(at("elsewhere"), at("card/receipts")).unwrap();
        fs::create_dir_all(at("card/own")).unwrap();
        symlink(at("secret"), at("card/own/link.json")).unwrap();
        mkfifoat(CWD, at("card/own/pipe.json"), Mode::RUSR | Mode::WUSR).unwrap();
        let before = fs::metadata(at("secret")).unwrap().modified().unwrap();

        let mut card = FolderSource::new(&at("card"));
        for lease in ["lease-link", "lease-dangling", "lease-pipe"] {
            card.hold_lease(lease).unwrap_err();
        }
        for receipt in ["receipts/a.json", "own/link.json", "own/pipe.json"] {
            card.write(receipt, b"new").unwrap_err();
        }
        card.hold_lease("lease").unwrap();
        card.write("own/good.json", b"new").unwrap();
        card.write("own/good.json", b"newer").unwrap();
        card.write("made/good.json", b"new").unwrap();
        assert_eq!(fs::read_to_string(at("secret")).unwrap(), "old");
        assert_eq!(
            fs::metadata(at("secret")).unwrap().modified().unwrap(),
            before
        );
        assert_eq!(fs::read_dir(at("elsewhere")).unwrap().count(), 0);
        assert_eq!(
            fs::read_to_string(at("card/own/good.json")).unwrap(),
            "newer"
        );
    }
}
