//! What is wrong with a trip that can still be read.

use std::fmt::{self, Write as _};
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{AudioDirection, BootId, JournalLineError};

/// One thing that is wrong with a trip. `Display` says in plain words what and
/// where; lines are counted from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum TripDamage {
    /// There is no trip.json; its content was gathered from the folder's name and the journal.
    HeaderMissing {
        /// Where it should be.
        path: PathBuf,
        /// The journal repeats what stood in it.
        repeated: bool,
    },
    /// trip.json cannot be read; its content was gathered from elsewhere.
    HeaderUnreadable {
        /// The header.
        path: PathBuf,
        /// Why.
        reason: String,
        /// The journal repeats what stood in it.
        repeated: bool,
    },
    /// trip.json contradicts the rest of the trip.
    HeaderOutvoted {
        /// The header.
        path: PathBuf,
        /// What it is about.
        what: &'static str,
        /// What it says.
        said: String,
        /// What was believed.
        believed: String,
    },
    /// There is no journal at all.
    JournalMissing {
        /// Where it should be.
        path: PathBuf,
    },
    /// A journal that cannot be read on.
    JournalUnreadable {
        /// The journal.
        path: PathBuf,
        /// Lines that were read before.
        lines: usize,
        /// Why.
        reason: String,
    },
    /// A journal with more records than any drive has.
    JournalLong {
        /// The journal.
        path: PathBuf,
        /// Records that come every second and were left out.
        thinned: u64,
        /// Records of any kind that were left out.
        dropped: u64,
    },
    /// A link, pipe, device or folder in place of a file of the trip, or of its `audio`.
    NotOrdinary {
        /// Where.
        path: PathBuf,
    },
    /// kept.json cannot be understood.
    KeptUnreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        reason: String,
    },
    /// The folder's name is not that of the trip in it.
    FolderName {
        /// The folder.
        path: PathBuf,
        /// The name it had on the board.
        expected: String,
    },
    /// The journal has no line at all.
    JournalEmpty {
        /// The journal.
        path: PathBuf,
    },
    /// The last line stops in the middle: the power went while it was written.
    TornLine {
        /// The journal.
        path: PathBuf,
        /// Its last line.
        line: usize,
        /// Bytes of it.
        bytes: usize,
    },
    /// A line that its checksum does not confirm.
    DamagedLine {
        /// The journal.
        path: PathBuf,
        /// Which line.
        line: usize,
        /// Why it is not trusted.
        reason: JournalLineError,
    },
    /// A line whose checksum is right and that is not a journal record.
    NotARecord {
        /// The journal.
        path: PathBuf,
        /// Which line.
        line: usize,
        /// Why.
        reason: String,
    },
    /// An intact record of a kind that this program does not know.
    UnknownEvent {
        /// The journal.
        path: PathBuf,
        /// Which line.
        line: usize,
        /// The kind.
        kind: String,
    },
    /// A record of another power-up: its times cannot be compared.
    ForeignBoot {
        /// The journal.
        path: PathBuf,
        /// Which line.
        line: usize,
        /// The power-up it names.
        boot: BootId,
    },
    /// A record with a value that no trip can have.
    Impossible {
        /// The journal.
        path: PathBuf,
        /// Which line.
        line: usize,
        /// Which value.
        reason: &'static str,
    },
    /// Records are missing.
    SequenceHole {
        /// The journal.
        path: PathBuf,
        /// The line before which they are missing.
        line: usize,
        /// First missing number.
        first: u64,
        /// Last missing number.
        last: u64,
    },
    /// More damaged lines than are listed one by one.
    Further {
        /// The journal.
        path: PathBuf,
        /// How many more.
        count: usize,
    },
    /// A number that was there already.
    SequenceRepeated {
        /// The journal.
        path: PathBuf,
        /// Which line.
        line: usize,
        /// The number.
        seq: u64,
    },
    /// The recorder stopped while it wrote this file; what is in it was read.
    SegmentNotClosed {
        /// The sound file.
        path: PathBuf,
        /// Samples found in it.
        found: u64,
    },
    /// The file holds less than the journal promises.
    SegmentShort {
        /// The sound file.
        path: PathBuf,
        /// Samples according to the journal.
        expected: u64,
        /// Samples found in it.
        found: u64,
    },
    /// The length in the file's own header is wrong; the audio is complete.
    SegmentLength {
        /// The sound file.
        path: PathBuf,
        /// Samples according to the file's header.
        header: u64,
        /// Samples according to the journal.
        expected: u64,
    },
    /// The file's own header is damaged; its length shows that the audio is complete.
    SegmentHeader {
        /// The sound file.
        path: PathBuf,
        /// What is wrong with it.
        reason: String,
    },
    /// The file holds more than a recorder writes into one.
    SegmentLong {
        /// The sound file.
        path: PathBuf,
        /// Samples in it.
        found: u64,
        /// Samples that are used.
        used: u64,
    },
    /// The journal names a file that is not there.
    SegmentMissing {
        /// Where it should be.
        path: PathBuf,
        /// Samples according to the journal, if it knows.
        expected: Option<u64>,
    },
    /// The file is no sound file of a trip.
    SegmentUnreadable {
        /// The file.
        path: PathBuf,
        /// Why.
        reason: String,
        /// Samples according to the journal, if it knows.
        expected: Option<u64>,
    },
    /// A sound file that no readable record names.
    SegmentUnrecorded {
        /// The file.
        path: PathBuf,
        /// Samples in it.
        found: u64,
        /// The sample count it was given from its neighbours, if they allow it.
        placed: Option<u64>,
    },
    /// The file's name and the journal disagree which way the audio went.
    SegmentDirection {
        /// The file.
        path: PathBuf,
        /// What the journal says.
        journal: AudioDirection,
    },
    /// The segment begins before the one before it ends.
    SegmentOverlap {
        /// The file.
        path: PathBuf,
        /// By how many samples.
        samples: u64,
    },
    /// A file that does not belong to a trip, or a second copy of a segment.
    ExtraFile {
        /// The file.
        path: PathBuf,
    },
}

/// How much a damage matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum DamageSeverity {
    /// Nothing of the drive is lost by it.
    Note,
    /// A record or some audio is lost, or had to be guessed.
    Loss,
}

impl TripDamage {
    /// Whether something of the drive is lost.
    pub const fn severity(&self) -> DamageSeverity {
        match self {
            Self::FolderName { .. }
            | Self::UnknownEvent { .. }
            | Self::SequenceRepeated { .. }
            | Self::SegmentLength { .. }
            | Self::SegmentDirection { .. }
            | Self::ExtraFile { .. } => DamageSeverity::Note,
            _ => DamageSeverity::Loss,
        }
    }

    /// The file or folder that is damaged.
    pub fn path(&self) -> &Path {
        match self {
            Self::HeaderMissing { path, .. }
            | Self::HeaderUnreadable { path, .. }
            | Self::HeaderOutvoted { path, .. }
            | Self::JournalMissing { path }
            | Self::JournalUnreadable { path, .. }
            | Self::JournalLong { path, .. }
            | Self::NotOrdinary { path }
            | Self::KeptUnreadable { path, .. }
            | Self::SegmentHeader { path, .. }
            | Self::SegmentLong { path, .. }
            | Self::FolderName { path, .. }
            | Self::JournalEmpty { path }
            | Self::TornLine { path, .. }
            | Self::DamagedLine { path, .. }
            | Self::NotARecord { path, .. }
            | Self::UnknownEvent { path, .. }
            | Self::ForeignBoot { path, .. }
            | Self::Impossible { path, .. }
            | Self::SequenceHole { path, .. }
            | Self::Further { path, .. }
            | Self::SequenceRepeated { path, .. }
            | Self::SegmentNotClosed { path, .. }
            | Self::SegmentShort { path, .. }
            | Self::SegmentLength { path, .. }
            | Self::SegmentMissing { path, .. }
            | Self::SegmentUnreadable { path, .. }
            | Self::SegmentUnrecorded { path, .. }
            | Self::SegmentDirection { path, .. }
            | Self::SegmentOverlap { path, .. }
            | Self::ExtraFile { path } => path,
        }
    }

    /// The line of the journal, where the damage is in one.
    pub const fn line(&self) -> Option<usize> {
        match self {
            Self::TornLine { line, .. }
            | Self::DamagedLine { line, .. }
            | Self::NotARecord { line, .. }
            | Self::UnknownEvent { line, .. }
            | Self::ForeignBoot { line, .. }
            | Self::Impossible { line, .. }
            | Self::SequenceHole { line, .. }
            | Self::SequenceRepeated { line, .. } => Some(*line),
            _ => None,
        }
    }
}

/// Where the content of trip.json comes from instead.
const fn header_replacement(repeated: bool) -> &'static str {
    if repeated {
        "the journal repeats what stood in it"
    } else {
        "number and board were taken from the folder's name, the station is not known"
    }
}

impl fmt::Display for TripDamage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // A card may give names that would play tricks with a terminal.
        for letter in self.path().display().to_string().chars() {
            if letter.is_control() {
                write!(f, "{}", letter.escape_default())?;
            } else {
                f.write_char(letter)?;
            }
        }
        if let Some(line) = self.line() {
            write!(f, ":{line}")?;
        }
        f.write_str(": ")?;
        self.write_sentence(f)
    }
}

impl TripDamage {
    fn write_sentence(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::HeaderMissing { repeated, .. } => {
                write!(
                    f,
                    "the trip's header is missing; {}",
                    header_replacement(*repeated)
                )
            }
            Self::HeaderUnreadable {
                reason, repeated, ..
            } => write!(
                f,
                "the trip's header cannot be read ({reason}); {}",
                header_replacement(*repeated)
            ),
            Self::HeaderOutvoted {
                what,
                said,
                believed,
                ..
            } => write!(
                f,
                "{what} is {said:?} here and {believed:?} in the rest of the trip, which was believed"
            ),
            Self::JournalMissing { .. } => {
                f.write_str("no journal: time, place and marks are unknown")
            }
            Self::JournalUnreadable {
                lines: 0, reason, ..
            } => {
                write!(f, "the journal cannot be read ({reason})")
            }
            Self::JournalUnreadable { lines, reason, .. } => write!(
                f,
                "the journal cannot be read after line {lines} ({reason}); what comes before was used"
            ),
            Self::JournalLong {
                thinned, dropped, ..
            } => write!(
                f,
                "more records than any drive has: {thinned} of those that come every second and \
                 {dropped} others were left out"
            ),
            Self::NotOrdinary { .. } => f.write_str(
                "a link, pipe, device or folder is here in place of what belongs to the trip; \
                 it was not read",
            ),
            Self::KeptUnreadable { reason, .. } => write!(
                f,
                "the list of packed and removed sound cannot be read ({reason}); missing files are \
                 reported as missing"
            ),
            Self::SegmentHeader { reason, .. } => write!(
                f,
                "the file's own header is damaged ({reason}); its length is right, so its audio \
                 was read"
            ),
            Self::SegmentLong { found, used, .. } => write!(
                f,
                "{found} samples are more than a recorder writes into one file; the first {used} \
                 were used"
            ),
            Self::FolderName { expected, .. } => {
                write!(f, "the folder was renamed; on the board it was {expected}")
            }
            Self::JournalEmpty { .. } => f.write_str("the journal is empty"),
            Self::TornLine { bytes, .. } => write!(
                f,
                "the last line stops after {bytes} bytes (the power went while it was written); \
                 it was skipped"
            ),
            Self::DamagedLine { reason, .. } => write!(f, "{reason}; the line was skipped"),
            Self::NotARecord { reason, .. } => {
                write!(f, "no journal record ({reason}); the line was skipped")
            }
            Self::UnknownEvent { kind, .. } => write!(
                f,
                "a record of the unknown kind '{kind}', perhaps from newer software, was skipped"
            ),
            Self::ForeignBoot { boot, .. } => write!(
                f,
                "a record of another power-up ({boot}), whose clock cannot be compared, was skipped"
            ),
            Self::Impossible { reason, .. } => write!(f, "{reason}; the record was skipped"),
            Self::SequenceHole { first, last, .. } if first == last => {
                write!(f, "record {first} is missing before this line")
            }
            Self::SequenceHole { first, last, .. } => {
                write!(f, "records {first} to {last} are missing before this line")
            }
            Self::Further { count, .. } => {
                write!(f, "{count} more places of it are damaged")
            }
            Self::SequenceRepeated { seq, .. } => write!(
                f,
                "record number {seq} is out of order or comes twice; the line was skipped"
            ),
            Self::SegmentNotClosed { found, .. } => write!(
                f,
                "the recorder stopped while it wrote this file; the {found} samples in it were kept"
            ),
            Self::SegmentShort {
                expected, found, ..
            } => write!(
                f,
                "{found} samples found where the journal has {expected}; the rest is lost"
            ),
            Self::SegmentLength {
                header, expected, ..
            } => write!(
                f,
                "the file's header says {header} samples, the journal {expected}; \
                 the audio itself is complete"
            ),
            Self::SegmentMissing {
                expected: Some(expected),
                ..
            } => write!(f, "the file is missing; {expected} samples are lost"),
            Self::SegmentMissing { expected: None, .. } => {
                f.write_str("the file is missing; how much audio it held is not known")
            }
            Self::SegmentUnreadable {
                reason, expected, ..
            } => {
                write!(f, "not a sound file of a trip ({reason})")?;
                match expected {
                    Some(expected) => write!(f, "; {expected} samples are lost"),
                    None => Ok(()),
                }
            }
            Self::SegmentUnrecorded {
                found,
                placed: Some(_),
                ..
            } => write!(
                f,
                "no readable record names this file; its {found} samples were placed between \
                 their neighbours"
            ),
            Self::SegmentUnrecorded { found, .. } => write!(
                f,
                "no readable record names this file; its {found} samples cannot be put in time"
            ),
            Self::SegmentDirection { journal, .. } => write!(
                f,
                "the journal says that this file is {}, its name says otherwise; \
                 the journal was believed",
                journal.name()
            ),
            Self::SegmentOverlap { samples, .. } => write!(
                f,
                "begins {samples} samples before the segment before it ends"
            ),
            Self::ExtraFile { .. } => {
                f.write_str("this file does not belong to the trip; it was left alone")
            }
        }
    }
}
