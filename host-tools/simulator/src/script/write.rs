//! Writes the files of a script.

use std::fs;
use std::io::{BufWriter, Write as _};
use std::path::Path;

use super::error::ScriptError;
use super::event::{DriveScriptEvent, ScriptInput};
use super::files::{DRIVE_TRUTH_FILE, EVENTS_FILE, SOUND_FILE};
use crate::gps;
use crate::plan::{BUTTON_PRESS_S, DrivePlan, round_ms};
use crate::sound::{DriveMixer, SCRIPT_SAMPLE_RATE};
use crate::truth::DriveTruth;

/// Rig control is read again this often; the recorder writes down what it needs of that.
const DIAL_EVERY_S: f64 = 20.0;

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
