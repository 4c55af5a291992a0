//! Writes every sound file of a trip as a Broadcast Wave file, which says when it began. The
//! trip itself stays as it is, because its checksums protect it.

use std::path::Path;

use anyhow::{Result, bail};
use jumpseat_files::write_durably;
use jumpseat_formats::bwf::{self, BroadcastDescription};
use jumpseat_trip::AudioDirection;
use jumpseat_values::display::count;
use serde::Serialize;

use super::software::PROGRAM;
use super::staging::StagedFolder;
use crate::clock;
use crate::home::HomeFolder;
use crate::outcome::CommandOutcome;
use crate::print;
use crate::progress::ProgressLine;

/// What was written, and what was left out.
#[derive(Debug, Serialize)]
struct SegmentsReport<'a> {
    format: &'static str,
    trip: &'a str,
    folder: &'a Path,
    files: usize,
    doubts: Vec<String>,
}

/// Writes the trip's sound files into the folder `out`.
pub(crate) fn export_segments(
    home: &HomeFolder,
    name: &str,
    out: &Path,
    json: bool,
) -> Result<CommandOutcome> {
    let trip = home.open_trip(name)?;
    let timeline = clock::timeline(&trip);
    let rate = trip.header().audio.sample_rate;
    let staging = StagedFolder::beside(out)?;
    let (mut files, mut doubts) = (0, Vec::new());
    let progress = ProgressLine::new("writing", trip.segments().len() as u64, false);
    for segment in trip.segments() {
        progress.add(1);
        let (number, direction) = (segment.number, segment.direction.name());
        let Some(start) = timeline.at_sample(segment.first_sample).value else {
            bail!(
                "the time of {name} is not known, so its files cannot have one; they are in {}",
                trip.dir().display()
            );
        };
        let samples = match trip.read_segment(number) {
            Ok(samples) => samples,
            Err(error) => {
                doubts.push(format!("{number:06}-{direction} is left out: {error}"));
                continue;
            }
        };
        let heard = match segment.direction {
            AudioDirection::Rx => "received",
            AudioDirection::Tx => "transmitted",
        };
        let about = BroadcastDescription {
            description: &format!("{name}, {heard}"),
            originator: PROGRAM,
            start,
        };
        let file = staging.path().join(format!("{number:06}-{direction}.wav"));
        write_durably(&file, &bwf::write(&about, rate, &samples)?)?;
        files += 1;
    }
    if files == 0 {
        let command = home.command();
        bail!("{name} has no sound that can be read; see `{command} check {name}`");
    }
    staging.finish(out)?;
    let doubtful = !doubts.is_empty();
    if json {
        print::json(&SegmentsReport {
            format: "segments",
            trip: name,
            folder: out,
            files,
            doubts,
        })?;
    } else {
        let many = count(files, "sound file", "sound files");
        print::line(&format!("{}: {many}", out.display()))?;
        for doubt in doubts {
            print::line(&format!("doubt: {doubt}"))?;
        }
    }
    Ok(CommandOutcome::doubtful(doubtful))
}
