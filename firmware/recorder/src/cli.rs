//! The command line of the recorder.

use std::io::{self, Write as _};
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

use clap::{CommandFactory as _, Parser, Subcommand};
use jumpseat_recorder::RecorderError;
use jumpseat_recorder::check::{InputHealth, check};
use jumpseat_recorder::config::{DEFAULT_PATH, RecorderConfig};
use jumpseat_recorder::crash;
use jumpseat_recorder::run::run;
use jumpseat_recorder::signals;
use jumpseat_recorder::simulate::{self, SimulationScript};
use jumpseat_recorder::sound::configured_device;
use signal_hook::consts::{SIGINT, SIGTERM};

/// Records timestamped transmit and receive audio beside an amateur radio.
#[derive(Debug, Parser)]
#[command(
    name = "jumpseat-recorder",
    version,
    after_help = "Exit codes: 0 success, 1 failure, 2 wrong usage or config, \
                  3 success with doubts for a person to check."
)]
pub(crate) struct RecorderCli {
    #[command(subcommand)]
    command: RecorderCommand,
}

#[derive(Debug, Subcommand)]
enum RecorderCommand {
    /// Records until it gets SIGTERM or SIGINT.
    Run {
        /// The config file.
        #[arg(long, default_value = DEFAULT_PATH)]
        config: PathBuf,
        /// End with exit code 1 if a device is missing, instead of waiting for it.
        #[arg(long)]
        strict: bool,
    },
    /// Tests every input and reports what it finds, with advice for each problem.
    /// Records nothing; stop a running recorder first.
    Check {
        /// The config file.
        #[arg(long, default_value = DEFAULT_PATH)]
        config: PathBuf,
        /// Seconds to listen, 1 to 600.
        #[arg(long, default_value_t = 5, value_parser = clap::value_parser!(u64).range(1..=600))]
        seconds: u64,
        /// Print JSON.
        #[arg(long)]
        json: bool,
    },
    /// Checks the config file.
    Validate {
        /// The config file.
        #[arg(long, default_value = DEFAULT_PATH)]
        config: PathBuf,
    },
    /// Prints the table of lamp and sounder signals.
    Signals,
    /// Feeds the recorder from a drive script (a folder) as fast as possible.
    Simulate {
        /// Folder with drive.wav and events.jsonl.
        script: PathBuf,
        /// The config file.
        #[arg(long, default_value = DEFAULT_PATH)]
        config: PathBuf,
        /// Folder for the trip; created if it does not exist.
        #[arg(long)]
        card: PathBuf,
    },
    /// Writes man pages and shell completions into a folder.
    Manual {
        /// The folder in which the system looks for them, such as /usr/local/share.
        #[arg(value_name = "DIR")]
        share: PathBuf,
    },
}

impl RecorderCli {
    pub(crate) fn run(self) -> anyhow::Result<ExitCode> {
        match self.command {
            RecorderCommand::Run { config, strict } => {
                crash::end_on_panic();
                let config = RecorderConfig::load(&config)?;
                let stop = Arc::new(AtomicBool::new(false));
                for signal in [SIGTERM, SIGINT] {
                    signal_hook::flag::register(signal, Arc::clone(&stop))?;
                }
                let device = configured_device(&config.sound)?;
                // A log that nobody reads any more must not end the recording.
                let mut notice = |text: &str| {
                    let _unheard = writeln!(io::stderr(), "jumpseat-recorder: {text}");
                };
                for doubt in config.doubts() {
                    notice(&doubt);
                }
                let trip = run(&config, device, strict, &stop, &mut notice)?;
                println!("{}", trip.display());
            }
            RecorderCommand::Check {
                config,
                seconds,
                json,
            } => {
                let config = RecorderConfig::load(&config)?;
                let report = check(&config, &configured_device, Duration::from_secs(seconds));
                if json {
                    println!("{}", serde_json::to_string_pretty(&report)?);
                } else {
                    print!("{report}");
                }
                return Ok(match report.worst() {
                    InputHealth::Good => ExitCode::SUCCESS,
                    InputHealth::Doubtful => ExitCode::from(3),
                    InputHealth::Failed => ExitCode::FAILURE,
                });
            }
            RecorderCommand::Validate { config } => {
                let doubts = RecorderConfig::load(&config)?.doubts();
                for doubt in &doubts {
                    println!("{}: {doubt}", config.display());
                }
                if !doubts.is_empty() {
                    return Ok(ExitCode::from(3));
                }
                println!("{}: valid", config.display());
            }
            RecorderCommand::Signals => print!("{}", signals::page()),
            RecorderCommand::Simulate {
                script,
                config,
                card,
            } => {
                let config = RecorderConfig::load(&config)?;
                let done = simulate::run(SimulationScript::open(&script)?, &config, &card)?;
                for doubt in &done.doubts {
                    eprintln!("jumpseat-recorder: {doubt}");
                }
                println!("{}", done.trip.display());
            }
            RecorderCommand::Manual { share } => {
                for path in jumpseat_manual::write(&RecorderCli::command(), &share)? {
                    println!("{}", share.join(path).display());
                }
            }
        }
        Ok(ExitCode::SUCCESS)
    }
}

/// The exit code of an error: 2 for a wrong config file, 1 for everything else.
pub(crate) fn exit_code_of(error: &anyhow::Error) -> ExitCode {
    match error.downcast_ref() {
        Some(RecorderError::Config { .. }) => ExitCode::from(2),
        _ => ExitCode::FAILURE,
    }
}
