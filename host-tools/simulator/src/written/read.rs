//! Reads files of conversations.

use std::fs;
use std::path::{Path, PathBuf};

use crate::written::direction::StageDirection;
use crate::written::header::{StationLine, VoiceSex, WrittenDial};
use crate::written::kind::WrittenKind;
use crate::written::sheet_error::{SheetError, SheetFault};
use crate::written::slot::{StationField, StationRef};
use crate::written::tables;
use crate::written::turn::{self, TurnPart, TurnSpeaker, WrittenTurn};

/// A conversation as it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct WrittenConversation {
    /// Its title.
    pub title: String,
    /// The line of its title, from 1.
    pub line: usize,
    /// What occurs in it.
    pub kinds: Vec<WrittenKind>,
    /// Where the dial stands when it begins.
    pub dial: WrittenDial,
    /// How strong the others arrive: signal over noise in a voice band, in dB.
    pub level_db: f32,
    /// A second person at the operator's microphone.
    pub second_operator: Option<VoiceSex>,
    /// The other stations.
    pub stations: Vec<StationLine>,
    /// Turns and stage directions in order.
    pub lines: Vec<WrittenLine>,
    /// What a log would hold.
    pub truth: LoggedTruth,
}

/// A line of the talk.
#[derive(Debug, Clone, PartialEq)]
pub enum WrittenLine {
    /// Somebody speaks.
    Turn(WrittenTurn),
    /// Something happens.
    Direction(StageDirection),
}

/// What a perfect log would hold of a conversation.
#[derive(Debug, Clone, PartialEq)]
pub enum LoggedTruth {
    /// These contacts, in the order in which they end.
    Contacts(Vec<LoggedStation>),
    /// None, and why.
    Nobody(String),
}

/// A contact that a log would hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoggedStation {
    /// The other station's letter.
    pub letter: char,
    /// Fields that were spoken and do not count: not copied, or taken back.
    pub without: Vec<NotLogged>,
    /// Values that are other than the slots'.
    pub values: Vec<(StationField, String)>,
}

/// A field that a log does not hold although it was spoken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotLogged {
    /// A field of the station.
    Field(StationField),
    /// Whatever reference it gave.
    Reference,
    /// What follows its sign.
    Addition,
}

/// All conversations in the `.txt` files of a folder, by the files' names.
pub fn read_sheets(folder: &Path) -> Result<Vec<(PathBuf, WrittenConversation)>, SheetError> {
    let file = |source| SheetError::File {
        path: folder.to_owned(),
        source,
    };
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder).map_err(file)? {
        let path = entry.map_err(file)?.path();
        if path.extension().is_some_and(|extension| extension == "txt") {
            paths.push(path);
        }
    }
    paths.sort();
    let mut all = Vec::new();
    for path in paths {
        let conversations = read_sheet(&path)?;
        all.extend(conversations.into_iter().map(|one| (path.clone(), one)));
    }
    Ok(all)
}

/// The conversations in a file.
pub fn read_sheet(path: &Path) -> Result<Vec<WrittenConversation>, SheetError> {
    let text = fs::read_to_string(path).map_err(|source| SheetError::File {
        path: path.to_owned(),
        source,
    })?;
    read_text(&text).map_err(|(line, fault)| SheetError::Line {
        path: path.to_owned(),
        line,
        fault,
    })
}

/// The same from its text; a fault has its line.
pub(super) fn read_text(text: &str) -> Result<Vec<WrittenConversation>, (usize, SheetFault)> {
    let mut all = Vec::new();
    let mut draft: Option<SheetDraft> = None;
    for (number, line) in (1..).zip(text.lines()) {
        let line = line.trim();
        if let Some(title) = line.strip_prefix("# ") {
            if let Some(draft) = draft.take() {
                all.push(draft.finish()?);
            }
            draft = Some(SheetDraft::new(title, number));
        } else if !line.is_empty() {
            let draft = draft.as_mut().ok_or((number, SheetFault::BeforeTitle))?;
            draft.take(line).map_err(|fault| (number, fault))?;
        }
    }
    if let Some(draft) = draft {
        all.push(draft.finish()?);
    }
    Ok(all)
}

/// A conversation that is being read.
struct SheetDraft {
    title: String,
    line: usize,
    kinds: Vec<WrittenKind>,
    dial: Option<WrittenDial>,
    level_db: Option<f32>,
    second_operator: Option<VoiceSex>,
    stations: Vec<StationLine>,
    lines: Vec<WrittenLine>,
    contacts: Vec<LoggedStation>,
    nobody: Option<String>,
}

impl SheetDraft {
    fn new(title: &str, line: usize) -> Self {
        Self {
            title: title.trim().to_owned(),
            line,
            kinds: Vec::new(),
            dial: None,
            level_db: None,
            second_operator: None,
            stations: Vec::new(),
            lines: Vec::new(),
            contacts: Vec::new(),
            nobody: None,
        }
    }

    fn take(&mut self, line: &str) -> Result<(), SheetFault> {
        if let Some(inner) = line.strip_prefix('[') {
            let inner = inner.strip_suffix(']').ok_or(SheetFault::Bracket)?;
            let direction = StageDirection::read(inner)?;
            if let Some(letter) = direction.station() {
                self.known(letter)?;
            }
            self.lines.push(WrittenLine::Direction(direction));
            return Ok(());
        }
        let (overlapping, line) = match line.strip_prefix('+') {
            Some(line) => (true, line),
            None => (false, line),
        };
        let (name, text) = line.split_once(':').ok_or(SheetFault::NotUnderstood)?;
        let text = text.trim();
        if !overlapping && self.header(name, text)? {
            return Ok(());
        }
        let speaker = TurnSpeaker::named(name).ok_or(SheetFault::NotUnderstood)?;
        match speaker {
            TurnSpeaker::Other(letter) => self.known(letter)?,
            TurnSpeaker::SecondOperator if self.second_operator.is_none() => {
                return Err(SheetFault::Unknown(name.to_owned()));
            }
            _ => {}
        }
        let parts = turn::parts(text)?;
        for part in &parts {
            if let TurnPart::Slot(slot) = part
                && let Some(StationRef::Other(letter)) = slot.whose()
            {
                self.known(letter)?;
            }
        }
        self.lines.push(WrittenLine::Turn(WrittenTurn {
            speaker,
            overlapping,
            parts,
        }));
        Ok(())
    }

    /// Takes a line of the header or of the truth; false when it is none.
    fn header(&mut self, name: &str, text: &str) -> Result<bool, SheetFault> {
        match name {
            "kinds" => {
                for word in text.split(',').map(str::trim) {
                    let kind = WrittenKind::named(word);
                    self.kinds
                        .push(kind.ok_or_else(|| SheetFault::Kind(word.to_owned()))?);
                }
            }
            "dial" => {
                let dial = text
                    .split_once(' ')
                    .and_then(|(place, mode)| WrittenDial::read(place, mode));
                self.dial = Some(dial.ok_or(SheetFault::Value("dial"))?);
            }
            "level" => {
                let level = text
                    .parse::<f32>()
                    .ok()
                    .filter(|level| (-10.0..60.0).contains(level));
                self.level_db = Some(level.ok_or(SheetFault::Value("level"))?);
            }
            "me" => {
                self.second_operator = Some(match text {
                    "second operator woman" => VoiceSex::Woman,
                    "second operator man" => VoiceSex::Man,
                    _ => return Err(SheetFault::Value("me")),
                });
            }
            "log" => self.log(text)?,
            _ => {
                let letter = match TurnSpeaker::named(name) {
                    Some(TurnSpeaker::Other(letter)) => letter,
                    _ => return Ok(false),
                };
                let declared = self.stations.iter().any(|station| station.letter == letter);
                if declared || !self.lines.is_empty() {
                    return Ok(false);
                }
                let station = StationLine::read(letter, text)?;
                if tables::country(&station.country).is_none() {
                    return Err(SheetFault::Country(station.country));
                }
                self.stations.push(station);
            }
        }
        Ok(true)
    }

    fn log(&mut self, text: &str) -> Result<(), SheetFault> {
        if let Some(reason) = text.strip_prefix("nobody") {
            let reason = reason.trim_start_matches([',', ' ']);
            self.nobody = Some(reason.to_owned());
            return Ok(());
        }
        let fault = || SheetFault::Value("log");
        let letter = text.chars().next().ok_or_else(fault)?;
        self.known(letter)?;
        let mut station = LoggedStation {
            letter,
            without: Vec::new(),
            values: Vec::new(),
        };
        // "A without received, name Bob": the first comma may be left out.
        let rest = text
            .get(1..)
            .unwrap_or_default()
            .trim_start_matches([',', ' ']);
        for word in rest
            .split(',')
            .map(str::trim)
            .filter(|word| !word.is_empty())
        {
            let (head, value) = word.split_once(' ').ok_or_else(fault)?;
            match (head, value) {
                ("without", "sent") => station.without.push(NotLogged::Field(StationField::Gets)),
                ("without", "received") => {
                    station.without.push(NotLogged::Field(StationField::Gives))
                }
                ("without", "reference") => station.without.push(NotLogged::Reference),
                ("without", "addition") => station.without.push(NotLogged::Addition),
                ("without", field) => {
                    let field = StationField::named(field).ok_or_else(fault)?;
                    station.without.push(NotLogged::Field(field));
                }
                ("name" | "place", value) => {
                    let field = StationField::named(head).ok_or_else(fault)?;
                    station.values.push((field, value.to_owned()));
                }
                _ => return Err(fault()),
            }
        }
        self.contacts.push(station);
        Ok(())
    }

    fn known(&self, letter: char) -> Result<(), SheetFault> {
        let known = self.stations.iter().any(|station| station.letter == letter);
        known
            .then_some(())
            .ok_or_else(|| SheetFault::Unknown(letter.to_string()))
    }

    fn finish(self) -> Result<WrittenConversation, (usize, SheetFault)> {
        let missing = |name| (self.line, SheetFault::Missing(name));
        let truth = match (self.nobody, self.contacts) {
            (Some(reason), contacts) if contacts.is_empty() => LoggedTruth::Nobody(reason),
            (None, contacts) if !contacts.is_empty() => LoggedTruth::Contacts(contacts),
            _ => return Err(missing("log")),
        };
        if self.kinds.is_empty() {
            return Err(missing("kinds"));
        }
        Ok(WrittenConversation {
            kinds: self.kinds,
            dial: self.dial.ok_or_else(|| missing("dial"))?,
            level_db: self.level_db.ok_or_else(|| missing("level"))?,
            title: self.title,
            line: self.line,
            second_operator: self.second_operator,
            stations: self.stations,
            lines: self.lines,
            truth,
        })
    }
}
