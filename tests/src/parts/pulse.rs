//! A private PulseAudio server: a null sink whose monitor stands for the radio.

use jumpseat_test_kit::{PartError, TestProcess, wait_until};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

/// The server, and the folder in which programs find it.
#[derive(Debug)]
pub struct PulseServer {
    folder: PathBuf,
    server: TestProcess,
}

/// ALSA's name of the monitor.
const DEVICE: &str = "rigmon";

impl PulseServer {
    /// Starts it, with a sink of two channels at `rate`.
    pub fn start(folder: &Path, rate: u32) -> Result<Self, PartError> {
        fs::create_dir_all(folder).map_err(PartError::file(folder))?;
        let asoundrc = folder.join(".asoundrc");
        let text = format!(
            "pcm.{DEVICE} {{ type pulse device rig.monitor hint {{ show on description \"monitor of the rig\" }} }}\n"
        );
        fs::write(&asoundrc, text).map_err(PartError::file(&asoundrc))?;
        let sink = format!(
            "module-null-sink sink_name=rig rate={rate} channels=2 format=s16le channel_map=front-left,front-right"
        );
        let mut command = Command::new("pulseaudio");
        command
            .args([
                "-n",
                "--daemonize=no",
                "--exit-idle-time=-1",
                "--disallow-exit",
            ])
            .args(["-L", "module-native-protocol-unix"])
            .args(["-L", &sink]);
        inside(folder, &mut command);
        let server = TestProcess::start(&command, &folder.join("pulseaudio.log"))?;
        let mut pulse = Self {
            folder: folder.to_owned(),
            server,
        };
        let up = wait_until(Duration::from_secs(10), || {
            let mut ask = Command::new("pactl");
            ask.args(["list", "short", "sources"]);
            inside(folder, &mut ask);
            ask.output()
                .is_ok_and(|output| String::from_utf8_lossy(&output.stdout).contains("rig.monitor"))
        });
        if !up || !pulse.server.runs() {
            let log = folder.join("pulseaudio.log");
            return Err(PartError::failed(
                "pulseaudio",
                format!("did not come up; see {}", log.display()),
            ));
        }
        Ok(pulse)
    }

    /// ALSA's name of the monitor, for programs started [`Self::inside`].
    pub fn device(&self) -> &'static str {
        DEVICE
    }

    /// Lets a program find this server and no other.
    pub fn inside(&self, command: &mut Command) {
        inside(&self.folder, command);
    }

    /// Starts playing a WAV file into the sink.
    pub fn play(&self, wav: &Path) -> Result<TestProcess, PartError> {
        let mut command = Command::new("paplay");
        command
            .args(["--device=rig", "--latency-msec=2000"])
            .arg(wav);
        self.inside(&mut command);
        TestProcess::start(&command, &self.folder.join("paplay.log"))
    }
}

fn inside(folder: &Path, command: &mut Command) {
    command
        .env("HOME", folder)
        .env("XDG_RUNTIME_DIR", folder)
        .env("PULSE_RUNTIME_PATH", folder)
        .env_remove("PULSE_SERVER")
        .env_remove("DBUS_SESSION_BUS_ADDRESS");
}
