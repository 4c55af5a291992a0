//! Corrects trip.json by the rest of the trip.
//!
//! trip.json has no checksum, so a flipped bit may change anything in it. It is compared
//! with the other witnesses: the journal, which repeats it in records that each have a
//! checksum; the headers of the sound files; the folder's name. A record outvotes
//! trip.json; without one the majority does. Every correction is reported as damage.

use std::collections::BTreeMap;
use std::fmt::Display;
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, JournalEvent, JournalRecord, ShortText, clip};

use crate::header::{HeaderText, TRIP_FORMAT, folder_name, numbers_of_name};
use crate::{TripAudioFormat, TripDamage, TripError, TripJsonHeader, TripStation, name_on_board};

/// The state of trip.json.
#[derive(Debug)]
pub(crate) enum HeaderFile {
    /// There is no such file.
    Missing,
    /// It cannot be read; why.
    Unreadable(String),
    /// A text.
    Text(HeaderText),
}

/// Everything that states something about a trip.
pub(crate) struct TripWitnesses<'a> {
    /// Its folder.
    pub dir: &'a Path,
    /// trip.json.
    pub file: HeaderFile,
    /// The power-up that was voted for.
    pub boot: Option<BootId>,
    /// The journal.
    pub records: &'a [JournalRecord],
    /// How many sound files say that they hold such audio.
    pub sound: BTreeMap<TripAudioFormat, usize>,
}

/// The power-up that most records of the journal are of, or trip.json's where there
/// are none or as many of it. `records` counts those of each.
pub(crate) fn voted_boot(file: &HeaderFile, records: &[(BootId, usize)]) -> Option<BootId> {
    let said = match file {
        HeaderFile::Text(HeaderText::Shaped(header)) => BootId::try_from(header.boot.as_str()).ok(),
        _ => None,
    };
    let count = |boot: &BootId| {
        let known = records.iter().find(|(known, _)| known == boot);
        known.map_or(0, |(_, count)| *count)
    };
    let most = records.iter().map(|(_, count)| *count).max().unwrap_or(0);
    match said.filter(|boot| !boot.is_empty() && count(boot) == most) {
        Some(said) => Some(said),
        None => records
            .iter()
            .find(|(_, count)| *count == most)
            .map(|(boot, _)| boot.clone()),
    }
}

/// What the journal repeats of trip.json.
struct RepeatedHeader<'a> {
    trip: u64,
    board: &'a ShortText,
    call: &'a Option<ShortText>,
    operator: &'a Option<ShortText>,
    audio: TripAudioFormat,
}

impl TripWitnesses<'_> {
    /// The trip's header, and what of trip.json was not believed.
    ///
    /// # Errors
    /// The trip is of a newer format, or holds audio that format 1 does not have.
    pub(crate) fn judge(self) -> Result<(TripJsonHeader, Vec<TripDamage>), TripError> {
        let repeated = self.repeated()?;
        let path = self.dir.join("trip.json");
        let mut damage = Vec::new();
        let says_again = repeated.is_some();
        let mut header = match &self.file {
            HeaderFile::Text(HeaderText::Shaped(header)) => {
                if header.format > TRIP_FORMAT && self.records.is_empty() {
                    return Err(newer(path, header.format));
                }
                header.clone()
            }
            HeaderFile::Text(HeaderText::Other {
                format: Some(format),
                ..
            }) if *format > TRIP_FORMAT && !says_again => return Err(newer(path, *format)),
            HeaderFile::Text(HeaderText::Other { reason, .. }) | HeaderFile::Unreadable(reason) => {
                damage.push(TripDamage::HeaderUnreadable {
                    path: path.clone(),
                    reason: reason.clone(),
                    repeated: says_again,
                });
                self.gathered(repeated.as_ref())
            }
            HeaderFile::Missing => {
                damage.push(TripDamage::HeaderMissing {
                    path: path.clone(),
                    repeated: says_again,
                });
                self.gathered(repeated.as_ref())
            }
        };
        let mut vote = HeaderVote {
            path: &path,
            damage: &mut damage,
        };
        let audio = match &repeated {
            Some(repeated) => {
                vote.number("the trip's number", &mut header.trip, repeated.trip);
                vote.text("the board", &mut header.board, repeated.board);
                vote.sign(
                    "the station's call sign",
                    &mut header.station.call,
                    repeated.call,
                );
                vote.sign(
                    "the operator's call sign",
                    &mut header.station.operator,
                    repeated.operator,
                );
                repeated.audio
            }
            None => self.audio(header.audio),
        };
        vote.number("the format", &mut header.format, TRIP_FORMAT);
        if !audio.is_possible() {
            return Err(TripError::AudioFormat {
                path,
                sample_rate: audio.sample_rate,
                bits: audio.bits,
                channels: audio.channels,
            });
        }
        if audio != header.audio {
            vote.outvoted("the audio", &header.audio, &audio);
            header.audio = audio;
        }
        if let Some(boot) = &self.boot
            && header.boot != boot.as_str()
        {
            if !header.boot.is_empty() {
                vote.outvoted("the power-up", &header.boot, boot);
            }
            header.boot = boot.as_str().to_owned();
        }
        if let Some(software) = self.software() {
            vote.text("the software", &mut header.software, software);
        }
        Ok((header, damage))
    }

    /// What the journal repeats, unless it is of a newer format.
    fn repeated(&self) -> Result<Option<RepeatedHeader<'_>>, TripError> {
        for record in self.records {
            match &record.event {
                JournalEvent::Trip { format, .. } if u64::from(*format) > TRIP_FORMAT => {
                    return Err(newer(self.dir.join("journal.jsonl"), (*format).into()));
                }
                JournalEvent::Trip {
                    format: 1,
                    trip,
                    board,
                    call,
                    operator,
                    sample_rate,
                    bits,
                    channels,
                } => {
                    return Ok(Some(RepeatedHeader {
                        trip: (*trip).into(),
                        board,
                        call,
                        operator,
                        audio: TripAudioFormat {
                            sample_rate: *sample_rate,
                            bits: *bits,
                            channels: *channels,
                        },
                    }));
                }
                _ => {}
            }
        }
        Ok(None)
    }

    /// A header in place of a trip.json that cannot be read.
    fn gathered(&self, repeated: Option<&RepeatedHeader<'_>>) -> TripJsonHeader {
        let (trip, board) = match repeated {
            Some(repeated) => (repeated.trip, repeated.board.as_str().to_owned()),
            None => numbers_of_name(name_on_board(&folder_name(self.dir))).unwrap_or_default(),
        };
        let sign = |sign: &Option<ShortText>| sign.as_ref().map(|sign| sign.as_str().to_owned());
        TripJsonHeader {
            format: TRIP_FORMAT,
            trip,
            board,
            boot: self
                .boot
                .as_ref()
                .map_or_else(String::new, |boot| boot.as_str().to_owned()),
            station: repeated.map_or_else(TripStation::default, |repeated| TripStation {
                call: sign(repeated.call),
                operator: sign(repeated.operator),
            }),
            audio: repeated.map_or_else(
                || self.most_named(&[TripAudioFormat::default()]),
                |repeated| repeated.audio,
            ),
            software: self
                .software()
                .map_or_else(|| "unknown".to_owned(), |text| text.as_str().to_owned()),
        }
    }

    fn software(&self) -> Option<&ShortText> {
        self.records.iter().find_map(|record| match &record.event {
            JournalEvent::Start { software } => Some(software),
            _ => None,
        })
    }

    /// The audio that trip.json says, unless the sound files outvote it.
    fn audio(&self, said: TripAudioFormat) -> TripAudioFormat {
        if self.sound.keys().any(|form| form.is_possible()) {
            // Every recorder of format 1 writes the usual one: that is a vote too.
            self.most_named(&[said, TripAudioFormat::default()])
        } else {
            said
        }
    }

    /// What most of the sound files and these voices say; on a tie, the first voice.
    fn most_named(&self, voices: &[TripAudioFormat]) -> TripAudioFormat {
        let votes = |form: &TripAudioFormat| {
            let voices = voices.iter().filter(|voice| *voice == form).count();
            self.sound.get(form).copied().unwrap_or(0) + voices
        };
        let named = voices.iter().chain(self.sound.keys());
        let possible = named.filter(|form| form.is_possible());
        // The last of the largest is taken, so that the first is the last to come.
        let found = possible.rev().max_by_key(|form| votes(form));
        found.copied().unwrap_or_default()
    }
}

/// Compares trip.json with a better witness and corrects it.
struct HeaderVote<'a> {
    path: &'a Path,
    damage: &'a mut Vec<TripDamage>,
}

impl HeaderVote<'_> {
    fn outvoted(&mut self, what: &'static str, said: &dyn Display, believed: &dyn Display) {
        self.damage.push(TripDamage::HeaderOutvoted {
            path: self.path.to_owned(),
            what,
            said: said.to_string(),
            believed: believed.to_string(),
        });
    }

    fn number(&mut self, what: &'static str, said: &mut u64, known: u64) {
        if *said != known {
            self.outvoted(what, said, &known);
            *said = known;
        }
    }

    /// Compares a text as far as a record holds one, 40 bytes.
    fn text(&mut self, what: &'static str, said: &mut String, known: &ShortText) {
        if clip::<40>(said) != *known {
            self.outvoted(what, said, known);
            *said = known.as_str().to_owned();
        }
    }

    fn sign(&mut self, what: &'static str, said: &mut Option<String>, known: &Option<ShortText>) {
        if said.as_deref().map(clip::<40>) != *known {
            let word = |sign: Option<&str>| sign.unwrap_or("none").to_owned();
            self.outvoted(
                what,
                &word(said.as_deref()),
                &word(known.as_ref().map(ShortText::as_str)),
            );
            *said = known.as_ref().map(|sign| sign.as_str().to_owned());
        }
    }
}

fn newer(path: PathBuf, found: u64) -> TripError {
    TripError::NewerFormat {
        path,
        found,
        known: TRIP_FORMAT,
    }
}
