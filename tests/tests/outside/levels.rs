//! The simulator's own sound as sox measures it: noise where there is only
//! noise, speech as far above it as the scenario says, nothing clipped.

use std::path::Path;
use std::process::Command;

use jumpseat_core::journal::AudioDirection;
use jumpseat_simulator::plan::DrivePlan;
use jumpseat_simulator::scenario::{self, RadioPath as Way};
use jumpseat_simulator::script;
use jumpseat_test_kit as kit;

/// What `sox … stats` says about a stretch of one channel (1 or 2).
struct SoxLevels {
    rms_dbfs: f64,
    peak_dbfs: f64,
}

fn measure(wav: &Path, channel: &str, from_s: f64, to_s: f64, filter: &[&str]) -> SoxLevels {
    let mut command = Command::new("sox");
    command.arg(wav).args([
        "-n",
        "remix",
        channel,
        "trim",
        &from_s.to_string(),
        &format!("={to_s}"),
    ]);
    command.args(filter).arg("stats");
    let output = kit::run(&mut command).unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    let number = |name: &str| -> f64 {
        let line = said.lines().find(|line| line.starts_with(name)).unwrap();
        line.split_whitespace().last().unwrap().parse().unwrap()
    };
    SoxLevels {
        rms_dbfs: number("RMS lev dB"),
        peak_dbfs: number("Pk lev dB"),
    }
}

#[track_caller]
fn check(what: &str, measured: f64, expected: f64, tolerance: f64) {
    assert!(
        (measured - expected).abs() <= tolerance,
        "{what}: {measured} dB, not {expected} dB"
    );
    println!("figure: levels: {what} {measured:.1} dB by sox, {expected:.1} dB intended");
}

#[test]
fn levels_are_what_the_scenario_says() {
    let folder = tempfile::tempdir().unwrap();
    let plan = DrivePlan::lay_out(scenario::demo(1), &mut |_| ()).unwrap();
    script::write(&plan, folder.path(), &mut |_| ()).unwrap();
    let wav = folder.path().join(script::SOUND_FILE);
    let sound = plan.scenario.sound;
    let band = ["sinc", "300-2700"];

    let noise = measure(&wav, "1", 5.0, 35.0, &band).rms_dbfs;
    check("band noise", noise, f64::from(sound.band_noise_dbfs), 0.7);
    let road = measure(&wav, "2", 5.0, 35.0, &[]).rms_dbfs;
    check("road noise", road, f64::from(sound.road_noise_dbfs), 1.0);
    // Beyond the band there is nothing but the sound card.
    let beyond = measure(&wav, "1", 5.0, 35.0, &["sinc", "3500-7000"]).rms_dbfs;
    assert!(beyond < -80.0, "{beyond} dB of noise beyond the band");

    for over in &plan.overs {
        let Some(Way::Ssb { snr_db, .. }) = over.path(&plan) else {
            continue;
        };
        let channel = if over.direction == AudioDirection::Tx {
            "2"
        } else {
            "1"
        };
        let measured = measure(&wav, channel, over.span.from_s, over.span.to_s, &band);
        assert!(measured.peak_dbfs < -1.0, "clipped at {:?}", over.span);
        if over.direction == AudioDirection::Rx {
            // Pauses between words and fading lower the mean by some decibels.
            check(
                "speech over band noise, pauses included",
                measured.rms_dbfs - noise,
                f64::from(snr_db) - 1.5,
                3.5,
            );
        }
    }
}
