//! Whose log this is.

use std::fs;
use std::io;
use std::path::Path;

use anyhow::{Context as _, Result, anyhow, bail};
use chrono::TimeDelta;
use jumpseat_entries::OwnStation;
use jumpseat_files::write_durably;
use jumpseat_place::callsign;
use jumpseat_values::StationDoubt;
use serde::Deserialize;

/// station.toml, all of it optional. What is not there is taken from the trip.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct StationFile {
    /// The station's call sign, as used on the air.
    pub(crate) call: Option<String>,
    /// The operator's call sign.
    pub(crate) operator: Option<String>,
    /// Where trips are pulled from when nothing else is said.
    pub(crate) board: Option<String>,
    /// Several of them.
    #[serde(default)]
    pub(crate) boards: Vec<String>,
    /// Days for which whole trips stay; for ever where it is not set.
    pub(crate) keep_whole_days: Option<u32>,
    /// Contacts with one station on one band in one mode that began within so many
    /// minutes may be the same.
    pub(crate) duplicates_within_minutes: Option<u32>,
}

/// Where nobody set it: half an hour (our choice).
const DEFAULT_DUPLICATE_MINUTES: u32 = 30;

impl StationFile {
    /// Whose log it is, call signs as they are written into a log.
    pub(crate) fn own(&self) -> OwnStation {
        // What cannot be a call sign is refused when the file is read.
        let call =
            |text: &Option<String>| Some(callsign::parse(text.as_ref()?).ok()?.value?.to_string());
        OwnStation {
            call: call(&self.call),
            operator: call(&self.operator),
        }
    }

    /// Where trips are pulled from when nothing else is said.
    pub(crate) fn boards(&self) -> Vec<String> {
        self.board.iter().chain(&self.boards).cloned().collect()
    }

    /// Within which time contacts may be the same; what was asked for comes first.
    pub(crate) fn duplicate_window(&self, asked: Option<u32>) -> TimeDelta {
        let minutes = asked.or(self.duplicates_within_minutes);
        TimeDelta::minutes(minutes.unwrap_or(DEFAULT_DUPLICATE_MINUTES).into())
    }

    /// Reads the file; a missing one says nothing.
    pub(crate) fn read(path: &Path) -> Result<Self> {
        let text = match fs::read_to_string(path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Self::default()),
            Err(error) => {
                return Err(error).with_context(|| format!("cannot read {}", path.display()));
            }
        };
        let station: Self = toml::from_str(&text).map_err(|error| {
            anyhow!(
                "cannot understand {}: {}; it may hold `call = \"...\"`, `operator = \"...\"`, \
                 `board = \"ssh://...\"`, `boards = [\"ssh://...\", ...]`, \
                 `keep_whole_days = 90` and `duplicates_within_minutes = 30`, nothing else",
                path.display(),
                fault(&error, &text)
            )
        })?;
        for (key, value) in [("call", &station.call), ("operator", &station.operator)] {
            let wrong = value.as_ref().map(|value| (value, callsign::parse(value)));
            if let Some((value, Err(error))) = wrong {
                bail!(
                    "in {} `{key} = \"{value}\"` cannot be a call sign: {error}",
                    path.display()
                );
            }
        }
        Ok(station)
    }
}

/// What TOML's reader says, in one line.
fn fault(error: &toml::de::Error, text: &str) -> String {
    let before = error.span().and_then(|span| text.get(..span.start));
    match before {
        Some(before) => {
            let line = before.matches('\n').count() + 1;
            format!("line {line}: {}", error.message())
        }
        None => error.message().to_owned(),
    }
}

/// The doubt about a contact whose own call sign nobody wrote down.
pub(crate) fn own_call_unknown(path: &Path) -> StationDoubt {
    let file = path.display().to_string();
    StationDoubt::OwnCallUnknown { file }
}

/// Writes down for how many days whole trips stay; None takes it out. The rest of
/// the file stays as it is.
pub(crate) fn set_keep(path: &Path, days: Option<u32>) -> Result<()> {
    const KEY: &str = "keep_whole_days";
    // A file that cannot be understood is not written into.
    StationFile::read(path)?;
    let old = match fs::read_to_string(path) {
        Ok(old) => old,
        Err(error) if error.kind() == io::ErrorKind::NotFound => String::new(),
        Err(error) => {
            return Err(error).with_context(|| format!("cannot read {}", path.display()));
        }
    };
    let ours = |line: &&str| {
        let rest = line.trim_start().strip_prefix(KEY);
        rest.is_some_and(|rest| rest.trim_start().starts_with('='))
    };
    let mut lines: Vec<String> = old
        .lines()
        .filter(|line| !ours(line))
        .map(str::to_owned)
        .collect();
    lines.extend(days.map(|days| format!("{KEY} = {days}")));
    lines.push(String::new());
    Ok(write_durably(path, lines.join("\n").as_bytes())?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(before: &str, days: Option<u32>, after: &str) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("station.toml");
        fs::write(&path, before).unwrap();
        set_keep(&path, days).unwrap();
        assert_eq!(fs::read_to_string(&path).unwrap(), after);
        assert_eq!(StationFile::read(&path).unwrap().keep_whole_days, days);
    }

    #[test]
    fn the_setting_is_written_and_the_rest_stays() {
        let rest = "# mine\ncall = \"W7QTM\"\n";
        check("", Some(90), "keep_whole_days = 90\n");
        check(rest, Some(7), &format!("{rest}keep_whole_days = 7\n"));
        check(
            &format!("{rest} keep_whole_days=7"),
            Some(8),
            &format!("{rest}keep_whole_days = 8\n"),
        );
        check(&format!("keep_whole_days = 7\n{rest}"), None, rest);
    }

    #[test]
    fn a_word_that_can_never_stand_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("station.toml");
        for (text, expected) in [
            ("call = \"Ruth\"", "cannot be a call sign"),
            ("operator = \"\"", "cannot be a call sign"),
        ] {
            fs::write(&path, text).unwrap();
            let error = StationFile::read(&path).unwrap_err().to_string();
            assert!(error.contains(expected), "{error}");
            assert!(error.contains("station.toml"), "{error}");
        }
        let text = "call = \" w7qtm/m \"\noperator = \"kbøqse\"\nboard = \"ssh://b@b\"";
        fs::write(&path, text).unwrap();
        let own = StationFile::read(&path).unwrap().own();
        assert_eq!(own.call.as_deref(), Some("W7QTM/M"));
        assert_eq!(own.operator.as_deref(), Some("KB0QSE"));
    }

    #[test]
    fn a_file_that_cannot_be_understood_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("station.toml");
        fs::write(&path, "call = W7QTM").unwrap();
        let error = set_keep(&path, Some(9)).unwrap_err().to_string();
        assert!(error.contains("station.toml: line 1: "), "{error}");
        assert!(!error.contains('\n'), "{error}");
        assert_eq!(fs::read_to_string(&path).unwrap(), "call = W7QTM");
    }
}
