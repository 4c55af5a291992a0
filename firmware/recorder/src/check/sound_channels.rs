//! Measures every channel of the sound device.

use std::thread;
use std::time::{Duration, Instant};

use jumpseat_core::level::{AudioLevel, InputLevelMeter};

use super::report::CheckFinding;
use crate::config::{RecorderConfig, SoundConfig};
use crate::error::RecorderError;
use crate::sound::{DeviceFactory, InletFactory, QueueConsumer, sound_queue};

/// Channels beyond this number are not measured.
const MAX_CHANNELS: u16 = 8;
/// Some devices, sound servers above all, are slow to start.
const FIRST_SAMPLES_WITHIN: Duration = Duration::from_secs(4);
/// A receiver's output should peak above this to be more than a hum.
const QUIET_DBFS: f32 = -60.0;

pub(super) fn sound(
    config: &RecorderConfig,
    device: &DeviceFactory,
    listen: Duration,
) -> Vec<CheckFinding> {
    let (mut factory, mut blocks) = sound_queue();
    let sound = &config.sound;
    let mut findings = Vec::new();
    let mut channels = 0;
    let mut pair = (sound.rx, sound.tx);
    let mut readings = Vec::new();
    loop {
        let pair_config = SoundConfig {
            rx: pair.0,
            tx: pair.1,
            ..sound.clone()
        };
        match measure_pair(&pair_config, device, listen, &mut factory, &mut blocks) {
            Ok(pair_readings) => {
                if channels == 0 {
                    findings.push(pair_readings.device_finding());
                }
                channels = pair_readings.channels.min(MAX_CHANNELS);
                readings.push((pair.0, pair_readings.levels[0]));
                readings.push((pair.1, pair_readings.levels[1]));
            }
            Err(error) => {
                let advice = "see above; recording goes on without sound until this is right";
                findings.push(CheckFinding::failed("sound", error.to_string(), advice));
                break;
            }
        }
        let mut left =
            (0..channels).filter(|channel| readings.iter().all(|(known, _)| known != channel));
        let Some(next) = left.next() else {
            break;
        };
        pair = (next, left.next().unwrap_or(next));
    }
    readings.sort_by_key(|&(channel, _)| channel);
    readings.dedup_by_key(|&mut (channel, _)| channel);
    findings.extend(
        readings
            .into_iter()
            .map(|(channel, level)| channel_finding(sound, channel, level)),
    );
    findings
}

struct ChannelReadings {
    description: String,
    channels: u16,
    overruns: u32,
    levels: [Option<AudioLevel>; 2],
}

impl ChannelReadings {
    fn device_finding(&self) -> CheckFinding {
        let seen = self.description.clone();
        if self.levels == [None, None] {
            let advice = "it is open but delivers no samples: unplug it and plug it in again";
            CheckFinding::failed("sound", seen, advice)
        } else if self.overruns > 0 {
            let seen = format!("{seen}; {} overruns", self.overruns);
            CheckFinding::doubtful(
                "sound",
                seen,
                "the board is too busy, or its supply is weak",
            )
        } else {
            CheckFinding::good("sound", seen)
        }
    }
}

fn measure_pair(
    config: &SoundConfig,
    device: &DeviceFactory,
    listen: Duration,
    factory: &mut InletFactory,
    blocks: &mut QueueConsumer,
) -> Result<ChannelReadings, RecorderError> {
    let open = device(config)?.open(factory, Box::new(|_| ()))?;
    let mut meters = [InputLevelMeter::new(), InputLevelMeter::new()];
    let mut overruns = 0;
    let began = Instant::now();
    let mut first = None;
    while first.map_or(began.elapsed() < FIRST_SAMPLES_WITHIN, |first: Instant| {
        first.elapsed() < listen
    }) {
        thread::sleep(Duration::from_millis(50));
        // One step takes a limited number of blocks, however fast the device is.
        for _ in 0..400 {
            let Some(block) = blocks.pop(u64::MAX) else {
                break;
            };
            first.get_or_insert_with(Instant::now);
            overruns = block.stamp.overruns;
            for &[rx, tx] in block.frames() {
                meters[0].push(rx);
                meters[1].push(tx);
            }
        }
    }
    let readings = ChannelReadings {
        description: open.description,
        channels: open.channels,
        overruns,
        levels: meters.map(|mut meter| meter.take()),
    };
    drop(open.stream);
    blocks.clear();
    Ok(readings)
}

fn channel_finding(config: &SoundConfig, channel: u16, level: Option<AudioLevel>) -> CheckFinding {
    let input = format!("channel {channel}");
    let part = match (channel == config.rx, channel == config.tx) {
        (true, true) => "receive and transmit",
        (true, false) => "receive",
        (false, true) => "transmit",
        (false, false) => "not used",
    };
    let Some(level) = level else {
        return CheckFinding::failed(&input, format!("{part}: no samples"), "see 'sound'");
    };
    let seen = format!(
        "{part}: {:.1} dBFS, peaks at {:.1} dBFS",
        level.rms_dbfs, level.peak_dbfs
    );
    if part == "not used" {
        CheckFinding::good(&input, seen)
    } else if level.clipped > 0 {
        let seen = format!("{seen}, {} samples clipped", level.clipped);
        CheckFinding::doubtful(&input, seen, "turn the level down until nothing clips")
    } else if level.peak_dbfs < config.silence_dbfs {
        let advice = "silent: check the cable, or choose another channel with rx and tx";
        CheckFinding::doubtful(&input, seen, advice)
    } else if level.peak_dbfs < QUIET_DBFS && channel == config.rx {
        CheckFinding::doubtful(&input, seen, "very quiet: turn the radio's output up")
    } else {
        CheckFinding::good(&input, seen)
    }
}

#[cfg(test)]
mod tests {
    use super::super::report::InputHealth;
    use super::*;

    #[track_caller]
    fn check(channel: u16, peak_dbfs: f32, clipped: u32, health: InputHealth, says: &str) {
        let config = SoundConfig {
            rx: 0,
            tx: 1,
            ..SoundConfig::default()
        };
        let level = AudioLevel {
            rms_dbfs: peak_dbfs - 9.0,
            peak_dbfs,
            clipped,
        };
        let finding = channel_finding(&config, channel, Some(level));
        assert_eq!(finding.health, health, "{finding:?}");
        assert!(finding.advice.contains(says) && finding.seen.contains("dBFS"));
    }

    #[test]
    fn a_level_is_judged_by_what_the_channel_is_for() {
        check(0, -12.0, 0, InputHealth::Good, "");
        check(0, 0.0, 40, InputHealth::Doubtful, "turn the level down");
        check(0, -70.0, 0, InputHealth::Doubtful, "very quiet");
        check(0, -110.0, 0, InputHealth::Doubtful, "check the cable");
        check(1, -70.0, 0, InputHealth::Good, "");
        check(2, -120.0, 0, InputHealth::Good, "");
    }
}
