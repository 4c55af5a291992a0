//! A drive script: what is fed to a recorder, as files.

use std::fs;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::gps;
use crate::plan::{BUTTON_PRESS_S, DrivePlan, round_ms};
use crate::scenario::ScriptedDial;
use crate::sound::{DriveMixer, SCRIPT_SAMPLE_RATE};
use crate::truth::DriveTruth;

/// The sound: two channels of 16 bits at 16 kHz, receive and transmit.
pub const SOUND_FILE: &str = "drive.wav";
/// Everything else, one event a line.
pub const EVENTS_FILE: &str = "events.jsonl";
/// What a perfect log would hold.
pub const DRIVE_TRUTH_FILE: &str = "truth.json";

/// Rig control is read again this often; the recorder writes down what it needs of that.
const DIAL_EVERY_S: f64 = 20.0;

/// One line of the events.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DriveScriptEvent {
    /// Seconds from the start of the drive.
    pub at_s: f64,
    /// What happens.
    #[serde(flatten)]
    pub input: ScriptInput,
}

/// What happens to a recorder's inputs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ScriptInput {
    /// The key line, bounces included.
    Ptt(bool),
    /// The mark button: pressed or released, bounces included.
    Mark(bool),
    /// A sentence of the satellite receiver, without its line end.
    Nmea(String),
    /// The dial of the rig.
    Dial(ScriptedDial),
}

/// Why a script could not be written or read.
#[derive(Debug, thiserror::Error)]
pub enum ScriptError {
    /// A file could not be written or read.
    #[error("cannot use {}: {source}; look at the folder's permissions and the free space", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The sound could not be written.
    #[error("cannot write the sound {}: {source}", path.display())]
    Sound {
        /// Which.
        path: PathBuf,
        /// Why.
        source: hound::Error,
    },
    /// A file is not the JSON that it should be.
    #[error("{} is not right: {source}", path.display())]
    Json {
        /// Which file.
        path: PathBuf,
        /// Why.
        source: serde_json::Error,
    },
    /// A line does not say what happens.
    #[error("{} line {line}: {source}", path.display())]
    Line {
        /// Which file.
        path: PathBuf,
        /// From 1.
        line: usize,
        /// Why.
        source: serde_json::Error,
    },
}

impl ScriptError {
    /// For `map_err`.
    pub(crate) fn file(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::File { path, source }
    }

    fn json(path: &Path) -> impl FnOnce(serde_json::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Json { path, source }
    }
}

/// Writes the three files of a script into `folder`, which is made if need be.
pub fn write(
    plan: &DrivePlan,
    folder: &Path,
    progress: &mut dyn FnMut(f64),
) -> Result<(), ScriptError> {
    fs::create_dir_all(folder).map_err(ScriptError::file(folder))?;
    write_sound(plan, &folder.join(SOUND_FILE), progress)?;
    write_events(plan, folder)
}

/// Writes the events and the truth of a script into `folder`, whose sound stays
/// as it is: it does not depend on the date.
pub fn write_events(plan: &DrivePlan, folder: &Path) -> Result<(), ScriptError> {
    let path = folder.join(EVENTS_FILE);
    let mut text = String::new();
    for event in events(plan) {
        text.push_str(&serde_json::to_string(&event).map_err(ScriptError::json(&path))?);
        text.push('\n');
    }
    fs::write(&path, text).map_err(ScriptError::file(&path))?;
    let path = folder.join(DRIVE_TRUTH_FILE);
    let mut text = serde_json::to_string_pretty(&DriveTruth::from_plan(plan))
        .map_err(ScriptError::json(&path))?;
    text.push('\n');
    fs::write(&path, text).map_err(ScriptError::file(&path))
}

/// Reads the events of the script in `folder`.
pub fn read_events(folder: &Path) -> Result<Vec<DriveScriptEvent>, ScriptError> {
    let path = folder.join(EVENTS_FILE);
    let text = fs::read_to_string(&path).map_err(ScriptError::file(&path))?;
    let parse = |(index, line)| {
        serde_json::from_str(line).map_err(|source| ScriptError::Line {
            path: path.clone(),
            line: index + 1,
            source,
        })
    };
    text.lines().enumerate().map(parse).collect()
}

/// Reads the sound of the script in `folder`: pairs of receive and transmit.
pub fn read_sound(folder: &Path) -> Result<Vec<[i16; 2]>, hound::Error> {
    let mut reader = hound::WavReader::open(folder.join(SOUND_FILE))?;
    let samples: Result<Vec<i16>, _> = reader.samples().collect();
    Ok(samples?.as_chunks::<2>().0.to_vec())
}

/// All events of a plan in order of time.
pub fn events(plan: &DrivePlan) -> Vec<DriveScriptEvent> {
    let bounces = plan.scenario.bounces;
    let mut all = Vec::new();
    for (index, (at_s, dial)) in plan.dial.iter().enumerate() {
        let until_s = plan
            .dial
            .get(index + 1)
            .map_or(plan.length_s, |next| next.0);
        let readings = (0..).map(|number| at_s + DIAL_EVERY_S * f64::from(number));
        for at_s in readings.take_while(|&at_s| at_s < until_s) {
            let input = ScriptInput::Dial(dial.clone());
            all.push(DriveScriptEvent {
                at_s: round_ms(at_s),
                input,
            });
        }
    }
    for (at_s, down) in plan.key() {
        all.extend(edge(at_s, down, bounces, ScriptInput::Ptt));
    }
    for mark in &plan.marks {
        all.extend(edge(mark.at_s, true, bounces, ScriptInput::Mark));
        all.extend(edge(
            mark.at_s + BUTTON_PRESS_S,
            false,
            bounces,
            ScriptInput::Mark,
        ));
    }
    for (at_s, sentence) in gps::sentences(plan) {
        all.push(DriveScriptEvent {
            at_s,
            input: ScriptInput::Nmea(sentence),
        });
    }
    all.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
    all
}

/// An edge of a switch whose contact opens and closes again, 2 ms each time.
fn edge(
    at_s: f64,
    closed: bool,
    bounces: u32,
    input: fn(bool) -> ScriptInput,
) -> Vec<DriveScriptEvent> {
    (0..=2 * bounces)
        .map(|step| DriveScriptEvent {
            at_s: round_ms(at_s + 0.002 * f64::from(step)),
            input: input(closed == (step % 2 == 0)),
        })
        .collect()
}

fn write_sound(
    plan: &DrivePlan,
    path: &Path,
    progress: &mut dyn FnMut(f64),
) -> Result<(), ScriptError> {
    let spec = hound::WavSpec {
        channels: 2,
        sample_rate: SCRIPT_SAMPLE_RATE,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let sound = |source| ScriptError::Sound {
        path: path.to_owned(),
        source,
    };
    let file = fs::File::create(path).map_err(ScriptError::file(path))?;
    let mut file = BufWriter::new(file);
    let mut writer = hound::WavWriter::new(&mut file, spec).map_err(sound)?;
    let mut mixer = DriveMixer::new(plan);
    let mut seconds = 0.0;
    loop {
        let block = mixer.block();
        if block.is_empty() {
            break;
        }
        for sample in block.as_flattened() {
            writer.write_sample(*sample).map_err(sound)?;
        }
        seconds += 1.0;
        progress((seconds / plan.length_s).min(1.0));
    }
    writer.finalize().map_err(sound)?;
    file.flush().map_err(ScriptError::file(path))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(input: ScriptInput, json: &str) {
        let event = DriveScriptEvent {
            at_s: 12.345,
            input,
        };
        assert_eq!(serde_json::to_string(&event).unwrap(), json);
        assert_eq!(
            serde_json::from_str::<DriveScriptEvent>(json).unwrap(),
            event
        );
    }

    #[test]
    fn an_event_is_one_flat_object() {
        check(ScriptInput::Ptt(true), r#"{"at_s":12.345,"ptt":true}"#);
        check(ScriptInput::Mark(false), r#"{"at_s":12.345,"mark":false}"#);
        check(
            ScriptInput::Nmea("$GPZDA*48".into()),
            r#"{"at_s":12.345,"nmea":"$GPZDA*48"}"#,
        );
        let dial = ScriptedDial {
            hz: 14_250_000,
            mode: "USB".into(),
        };
        check(
            ScriptInput::Dial(dial),
            r#"{"at_s":12.345,"dial":{"hz":14250000,"mode":"USB"}}"#,
        );
    }

    #[test]
    fn a_bouncing_switch_settles_where_it_was_sent() {
        let levels = |closed| -> Vec<(f64, ScriptInput)> {
            let edges = edge(1.0, closed, 1, ScriptInput::Ptt);
            edges
                .into_iter()
                .map(|event| (event.at_s, event.input))
                .collect()
        };
        let ptt = ScriptInput::Ptt;
        assert_eq!(
            levels(true),
            [(1.0, ptt(true)), (1.002, ptt(false)), (1.004, ptt(true))]
        );
        assert_eq!(
            levels(false),
            [(1.0, ptt(false)), (1.002, ptt(true)), (1.004, ptt(false))]
        );
    }
}
