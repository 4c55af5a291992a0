//! A drive performed live: the real recorder before a stage of real parts.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use chrono::{SubsecRound as _, Utc};

use crate::board::RunningRecorder;
use crate::player::{self, PlayError};
use crate::stage::{GpsConnection, LiveStage, SoundConnection};
use jumpseat_simulator::plan::DrivePlan;
use jumpseat_simulator::scenario::DriveScenario;
use jumpseat_simulator::script::{self, ScriptError};
use jumpseat_simulator::synthesis::SynthesisError;
use jumpseat_simulator::truth::DriveTruth;
use jumpseat_test_kit::{PartError, ProcessUsage, TestProcess};

/// From the moment at which everything is ready to the start of the drive.
const COUNTDOWN: Duration = Duration::from_secs(3);

/// A recorder on a stage, ready for the drive.
#[derive(Debug)]
pub struct LiveDrive {
    /// The script that is played.
    pub script: PathBuf,
    /// What is true of it.
    pub truth: DriveTruth,
    /// The parts.
    pub stage: LiveStage,
    /// What the recorder and its like print.
    pub folder: PathBuf,
    recorder: RunningRecorder,
    start: Instant,
}

/// Why there was no performance.
#[derive(Debug, thiserror::Error)]
pub enum LiveDriveError {
    /// The voices.
    #[error(transparent)]
    Speech(#[from] SynthesisError),
    /// The script.
    #[error(transparent)]
    Script(#[from] ScriptError),
    /// A part.
    #[error(transparent)]
    Part(#[from] PartError),
    /// The playing.
    #[error(transparent)]
    Play(#[from] PlayError),
}

impl LiveDrive {
    /// Writes the script of `scenario`, sets the stage in `folder`, starts the
    /// recorder, and puts the start of the drive a few seconds from now.
    pub fn prepare(
        scenario: DriveScenario,
        sound: SoundConnection,
        gps: GpsConnection,
        folder: &Path,
    ) -> Result<Self, LiveDriveError> {
        let mut plan = DrivePlan::lay_out(scenario, &mut |_| ())?;
        let script = folder.join("script");
        script::write(&plan, &script, &mut |_| ())?;
        let stage = LiveStage::set(folder, sound, gps, &plan.scenario.station)?;
        let recorder = stage
            .board
            .record_with(|command| stage.connect_sound(command))?;
        let mut performance = Self {
            script,
            truth: DriveTruth::from_plan(&plan),
            stage,
            folder: folder.to_owned(),
            recorder,
            start: Instant::now(),
        };
        // The receiver must tell the time that it is: the recorder and the
        // satellite daemon compare it with the machine's own clock.
        performance.start = Instant::now() + COUNTDOWN;
        plan.scenario.start = (Utc::now() + COUNTDOWN).trunc_subsecs(3);
        script::write_events(&plan, &performance.script)?;
        performance.truth = DriveTruth::from_plan(&plan);
        Ok(performance)
    }

    /// Plays from the start to `end_s`; a line of progress every 15 s.
    pub fn play(&mut self, end_s: f64) -> Result<(), LiveDriveError> {
        player::play(
            &self.script,
            &mut self.stage.outputs,
            self.start,
            end_s,
            &mut |at_s| {
                if at_s % 15.0 == 0.0 {
                    println!("played {at_s:.0} of {end_s:.0} s");
                }
                true
            },
        )?;
        Ok(())
    }

    /// When the drive starts or started.
    pub fn start(&self) -> Instant {
        self.start
    }

    /// What the recorder has used so far.
    pub fn usage(&self) -> Result<ProcessUsage, PartError> {
        self.recorder.usage()
    }

    /// Asks the recorder to stop and waits for it; gives its exit code.
    pub fn stop(&mut self) -> Result<Option<i32>, PartError> {
        Ok(self.recorder.terminate()?.code())
    }

    /// Kills the recorder without a word.
    pub fn kill(&mut self) -> Result<(), PartError> {
        self.recorder.kill()
    }

    /// Starts `arecord` on the same device, to compare with.
    pub fn start_arecord(&self, rate: u32) -> Result<TestProcess, PartError> {
        let device = self.stage.device();
        let mut command = Command::new("arecord");
        command.args([
            "-q",
            "-D",
            device,
            "-f",
            "S16_LE",
            "-c",
            "2",
            "-r",
            &rate.to_string(),
        ]);
        command.arg(self.folder.join("arecord.wav"));
        self.stage.connect_sound(&mut command);
        TestProcess::start(&command, &self.folder.join("arecord.log"))
    }
}
