//! The WAV files of a trip as sox and ffprobe read them, and the packed trip as
//! ffmpeg decodes it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_simulator::plan::DrivePlan;
use jumpseat_simulator::{pack, scenario, script, trip_recording};
use jumpseat_test_kit as kit;

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder.join("audio"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    paths.sort();
    paths
}

fn says(program: &str, arguments: &[&str], file: &Path) -> String {
    let output = kit::run(Command::new(program).args(arguments).arg(file)).unwrap();
    assert!(output.status.success(), "{program} {}", file.display());
    String::from_utf8_lossy(&output.stdout)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// Every sample of a sound file, decoded by ffmpeg.
fn decoded(file: &Path) -> Vec<u8> {
    let arguments = ["-v", "error", "-i"];
    let mut command = Command::new("ffmpeg");
    command.args(arguments).arg(file).args(["-f", "s16le", "-"]);
    let output = kit::run(&mut command).unwrap();
    assert!(output.status.success(), "{}", file.display());
    output.stdout
}

#[test]
fn every_recording_is_what_other_programs_expect() {
    let folder = tempfile::tempdir().unwrap();
    let script_folder = folder.path().join("script");
    let plan = DrivePlan::lay_out(scenario::live(1), &mut |_| ()).unwrap();
    script::write(&plan, &script_folder, &mut |_| ()).unwrap();
    let card = folder.path().join("card");
    let trip = trip_recording::record(&script_folder, &plan.scenario.station, &card)
        .unwrap()
        .trip;
    let wavs = files(&trip);
    assert!(wavs.len() > 8, "{wavs:?}");
    let mut samples = 0;
    for wav in &wavs {
        let count = hound::WavReader::open(wav).unwrap().duration();
        let by_sox = ["-r", "-c", "-b", "-s"].map(|what| says("soxi", &[what], wav));
        assert_eq!(
            by_sox,
            ["16000", "1", "16", &count.to_string()],
            "{}",
            wav.display()
        );
        let fields = "stream=codec_name,sample_rate,channels,bits_per_sample,duration_ts";
        let by_ffprobe = says(
            "ffprobe",
            &["-v", "error", "-show_entries", fields, "-of", "csv=p=0"],
            wav,
        );
        assert_eq!(
            by_ffprobe,
            format!("pcm_s16le,16000,1,16,{count}"),
            "{}",
            wav.display()
        );
        samples += u64::from(count);
    }
    // What was played is what was recorded, to the sample.
    let played = hound::WavReader::open(script_folder.join(script::SOUND_FILE))
        .unwrap()
        .duration();
    assert_eq!(samples, u64::from(played));
    println!(
        "figure: recordings: {} WAV files, {samples} samples, the same by sox and by ffprobe",
        wavs.len()
    );

    let sound: Vec<Vec<u8>> = wavs.iter().map(|wav| decoded(wav)).collect();
    let (before, after) = pack::pack(&trip, &mut |_| ()).unwrap();
    let flacs = files(&trip);
    assert_eq!(flacs.len(), wavs.len());
    for (flac, sound) in flacs.iter().zip(&sound) {
        assert!(
            decoded(flac) == *sound,
            "{} differs from its WAV file",
            flac.display()
        );
    }
    println!(
        "figure: recordings: packed from {before} to {after} bytes; ffmpeg decodes every sample as it was"
    );
}
