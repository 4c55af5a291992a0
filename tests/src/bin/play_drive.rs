//! Plays the script of a simulated drive in real time into real parts, for a recorder to hear.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result};
use clap::Parser;

use jumpseat_simulator::progress::DriveProgress;
use jumpseat_simulator::script;
use jumpseat_simulator::truth::DriveTruth;
use jumpseat_tests::player;
use jumpseat_tests::stage::{GpsConnection, LiveStage, SoundConnection};

/// Plays the script of a simulated drive in real time into real parts, for a recorder to hear
#[derive(Debug, Parser)]
#[command(name = "play_drive", version)]
struct PlayCommand {
    /// The folder of the script
    script: PathBuf,
    /// The folder for the parts' files and the recorder's config
    #[arg(long)]
    stage: PathBuf,
    /// How sound comes in
    #[arg(long, value_enum, default_value = "pulse")]
    sound: SoundConnection,
    /// How the receiver's sentences come in
    #[arg(long, value_enum, default_value = "serial")]
    gps: GpsConnection,
    /// Seconds to wait for the recorder to be started
    #[arg(long, default_value_t = 15)]
    wait: u64,
}

impl PlayCommand {
    fn run(self) -> Result<()> {
        let truth = DriveTruth::read(&self.script)?;
        std::fs::create_dir_all(&self.stage)
            .with_context(|| format!("cannot make the folder {}", self.stage.display()))?;
        let stage = std::path::absolute(&self.stage)?;
        let mut stage = LiveStage::set(&stage, self.sound, self.gps, &truth.station)?;
        let mut recorder = std::process::Command::new("jumpseat-recorder");
        let config = stage.board.config()?;
        recorder.args(["run", "--config"]).arg(&config);
        stage.connect_sound(&mut recorder);
        let surroundings = recorder.get_envs().filter_map(|(name, value)| {
            Some(format!(
                "{}={} ",
                name.to_string_lossy(),
                value?.to_string_lossy()
            ))
        });
        println!(
            "Start the recorder in another terminal within {} s:",
            self.wait
        );
        println!(
            "  {}jumpseat-recorder run --config {}",
            surroundings.collect::<String>(),
            config.display()
        );
        let start = Instant::now() + Duration::from_secs(self.wait);
        let mut progress = DriveProgress::new("playing");
        player::play(
            &self.script,
            &mut stage.outputs,
            start,
            truth.length_s,
            &mut |at_s| {
                progress.at(at_s / truth.length_s);
                true
            },
        )?;
        println!(
            "Played {} for {:.0} s.",
            self.script.join(script::SOUND_FILE).display(),
            truth.length_s
        );
        Ok(())
    }
}

fn main() -> Result<()> {
    PlayCommand::parse().run()
}
