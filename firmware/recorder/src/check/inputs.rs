//! Checks the card, the lines, the receiver and the dial.

use std::fs;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use jumpseat_core::journal::{JournalEvent, RecorderFault};
use jumpseat_core::signal::OperatorSignal;

use super::report::CheckFinding;
use crate::board_identity::board_id;
use crate::config::RecorderConfig;
use crate::device_message::DeviceMessage;
use crate::error::RecorderError;
use crate::input_line::InputLine;
use crate::rig_reading::RigReading;
use crate::signals::SignalPlayer;
use crate::storage::{CardStorage, DiskStorage, SyncDurability};
use crate::{dial, gps, lines};

/// Size of an hour of audio: 16 kHz, 16 bits, one channel at a time.
const BYTES_PER_HOUR: u64 = 16_000 * 2 * 3_600;

pub(super) fn station(config: &RecorderConfig) -> Vec<CheckFinding> {
    let advice = "recording goes on with it; change the config file";
    config
        .doubts()
        .into_iter()
        .map(|doubt| CheckFinding::doubtful("station", doubt, advice))
        .collect()
}

pub(super) fn card(config: &RecorderConfig) -> Vec<CheckFinding> {
    let dir = &config.card.dir;
    let board = match board_id(config) {
        Ok(board) => CheckFinding::good("board", board),
        Err(error) => CheckFinding::failed("board", error.to_string(), "recording cannot begin"),
    };
    let probe = dir.join(".jumpseat-check");
    let written = fs::write(&probe, b"written by the self-test\n")
        .and_then(|()| fs::remove_file(&probe))
        .map_err(|source| RecorderError::io("write", &probe, source));
    if let Err(error) = written {
        let advice = "set card.dir to a folder that exists; on the board run this as the recorder's \
             user: `sudo -u jumpseat jumpseat-recorder check`";
        return vec![
            board,
            CheckFinding::failed("card", error.to_string(), advice),
        ];
    }
    let card = match DiskStorage::new(SyncDurability::Synced).free_bytes(dir) {
        Ok(free) => {
            let hours = free as f64 / BYTES_PER_HOUR as f64;
            let seen = format!("{}: space for {hours:.1} hours of audio", dir.display());
            if free < config.card.nearly_full_mib << 20 {
                CheckFinding::doubtful("card", seen, "pull the trips at home, or change the card")
            } else {
                CheckFinding::good("card", seen)
            }
        }
        Err(error) => CheckFinding::failed("card", error.to_string(), "check the card"),
    };
    vec![board, card]
}

/// The inputs that report by themselves once they are started.
pub(super) struct OtherInputs {
    inbox: Receiver<DeviceMessage>,
    signals: Option<SignalPlayer>,
    began: Instant,
    start_errors: Vec<RecorderError>,
}

impl OtherInputs {
    pub(super) fn start(config: &RecorderConfig) -> Self {
        let (arrivals, inbox) = channel();
        let signals = SignalPlayer::start(&config.lines, &arrivals);
        let started = [
            lines::start(&config.lines, &arrivals),
            gps::start(&config.gps, &arrivals),
            dial::start(&config.dial, &arrivals).map(drop),
        ];
        if let Ok(signals) = &signals {
            signals.play_once(OperatorSignal::Recording);
        }
        let (signals, signals_error) = match signals {
            Ok(signals) => (Some(signals), None),
            Err(error) => (None, Some(error)),
        };
        let start_errors = started.into_iter().filter_map(Result::err);
        Self {
            inbox,
            signals,
            began: Instant::now(),
            start_errors: start_errors.chain(signals_error).collect(),
        }
    }

    /// Listens for this long from the start, or until every input has reported.
    pub(super) fn findings(self, config: &RecorderConfig, listen: Duration) -> Vec<CheckFinding> {
        let mut readings = InputReadings::default();
        while !readings.is_complete(config) {
            let left = listen.saturating_sub(self.began.elapsed());
            match self.inbox.recv_timeout(left) {
                Ok(arrival) => readings.take(arrival),
                Err(_) => break,
            }
        }
        let mut findings = readings.findings(config);
        if self.signals.is_some() && config.lines.sounder.is_some() {
            let seen = "sounded short, long, short: recording".to_owned();
            findings.push(CheckFinding::good("sounder", seen));
        }
        let failed =
            |error: RecorderError| CheckFinding::failed("board", error.to_string(), "restart");
        findings.extend(self.start_errors.into_iter().map(failed));
        findings
    }
}

#[derive(Debug, Default)]
struct InputReadings {
    ptt: Option<bool>,
    mark: Option<bool>,
    others: Vec<(InputLine, bool)>,
    utc: Option<(String, bool)>,
    place: Option<(f64, f64)>,
    dial: Option<RigReading>,
    faults: Vec<(RecorderFault, String)>,
    working: Vec<(RecorderFault, String)>,
}

impl InputReadings {
    fn is_complete(&self, config: &RecorderConfig) -> bool {
        let gps = !config.gps.is_some()
            || (matches!(self.utc, Some((_, true))) && self.place.is_some())
            || self.fault_detail(RecorderFault::Gps).is_some();
        let dial = config.dial.rigctld.is_none()
            || self.dial.is_some()
            || self.fault_detail(RecorderFault::Dial).is_some();
        // Lines may stay silent for hours, so a feed is given the whole time.
        gps && dial && config.lines.feed.is_none()
    }

    fn take(&mut self, arrival: DeviceMessage) {
        match arrival {
            DeviceMessage::Line {
                line: InputLine::Ptt,
                active,
                ..
            } => self.ptt = Some(active),
            DeviceMessage::Line {
                line: InputLine::Mark,
                active,
                ..
            } => self.mark = Some(active),
            DeviceMessage::Line { line, active, .. } => self.others.push((line, active)),
            DeviceMessage::Gps { events, .. } => {
                events.into_iter().for_each(|event| self.gps(event))
            }
            DeviceMessage::Dial { setting, .. } => self.dial = Some(setting),
            DeviceMessage::Fault { fault, detail, .. } => self.faults.push((fault, detail)),
            DeviceMessage::Notice { .. } => {}
            DeviceMessage::Working { fault, detail, .. } => self.working.push((fault, detail)),
        }
    }

    fn gps(&mut self, event: JournalEvent) {
        match event {
            JournalEvent::TimeFix { utc, valid, .. } => {
                self.utc = Some((utc.as_str().to_owned(), valid))
            }
            JournalEvent::PositionFix {
                lat,
                lon,
                valid: true,
                ..
            } => self.place = Some((lat, lon)),
            _ => {}
        }
    }

    fn fault_detail(&self, fault: RecorderFault) -> Option<&str> {
        let found = self.faults.iter().find(|(kind, _)| *kind == fault);
        found.map(|(_, detail)| detail.as_str())
    }

    fn findings(&self, config: &RecorderConfig) -> Vec<CheckFinding> {
        let mut findings = Vec::new();
        for (kind, detail) in &self.faults {
            if *kind == RecorderFault::Line {
                let advice = "check [lines] in the config file";
                findings.push(CheckFinding::failed("lines", detail.clone(), advice));
            }
        }
        let lines = &config.lines;
        let fed = lines.feed.is_some();
        let advice = "set lines.ptt: without the key line every sound counts as received";
        findings.push(line_finding(
            InputLine::Ptt,
            lines.ptt.is_some(),
            fed,
            self.ptt,
            advice,
        ));
        let advice = "set lines.mark if you want to mark contacts as you drive";
        findings.push(line_finding(
            InputLine::Mark,
            lines.mark.is_some(),
            fed,
            self.mark,
            advice,
        ));
        for line in [
            InputLine::ButtonFault,
            InputLine::Ignition,
            InputLine::LowSupply,
        ] {
            let level = self.others.iter().rev().find(|(other, _)| *other == line);
            if lines.pin(line).is_some() || level.is_some() {
                findings.push(board_line_finding(line, level.map(|&(_, active)| active)));
            }
        }
        findings.push(self.gps_finding(config));
        findings.push(self.dial_finding(config));
        findings
    }

    fn gps_finding(&self, config: &RecorderConfig) -> CheckFinding {
        if !config.gps.is_some() {
            let advice =
                "set gps.serial or gps.gpsd: without a receiver contacts have no time or place";
            return CheckFinding::doubtful("gps", "not configured".to_owned(), advice);
        }
        match (&self.utc, self.place) {
            (Some((utc, true)), Some((lat, lon))) => {
                CheckFinding::good("gps", format!("fix: {utc} at {lat:.5}, {lon:.5}"))
            }
            (Some((utc, _)), _) => CheckFinding::doubtful(
                "gps",
                format!("no fix yet; the receiver says {utc}"),
                "give the receiver a view of the sky and wait; recording need not wait",
            ),
            (None, _) => match self.fault_detail(RecorderFault::Gps) {
                Some(detail) => CheckFinding::failed("gps", detail.to_owned(), "check [gps]"),
                None => CheckFinding::doubtful(
                    "gps",
                    "the receiver reports no time yet".to_owned(),
                    "give it a view of the sky; if that does not help, check its baud rate",
                ),
            },
        }
    }

    fn dial_finding(&self, config: &RecorderConfig) -> CheckFinding {
        if config.dial.rigctld.is_none() {
            let advice = "set dial.rigctld if your radio can report its frequency";
            return CheckFinding::doubtful("dial", "not configured".to_owned(), advice);
        }
        match (&self.dial, self.fault_detail(RecorderFault::Dial)) {
            (Some(RigReading { hz, mode }), _) => {
                CheckFinding::good("dial", format!("{:.6} MHz {mode}", *hz as f64 / 1e6))
            }
            (None, Some(detail)) => CheckFinding::doubtful(
                "dial",
                detail.to_owned(),
                "normal while the radio is off; frequency and mode are then not recorded",
            ),
            (None, None) => {
                let seen = "rig control has not answered yet".to_owned();
                CheckFinding::doubtful("dial", seen, "check that the radio is on")
            }
        }
    }
}

fn line_finding(
    line: InputLine,
    pin: bool,
    fed: bool,
    level: Option<bool>,
    advice: &str,
) -> CheckFinding {
    let name = line.name();
    let word = |active| match (line, active) {
        (_, false) => "at rest",
        (InputLine::Ptt, true) => "keyed",
        (_, true) => "pressed",
    };
    match (pin, fed, level) {
        (_, _, Some(active)) => CheckFinding::good(name, word(active).to_owned()),
        (true, _, None) => CheckFinding::good(name, word(false).to_owned()),
        (false, true, None) => {
            CheckFinding::good(name, "read from the feed; no level received yet".to_owned())
        }
        (false, false, None) => CheckFinding::doubtful(name, "not configured".to_owned(), advice),
    }
}

/// The lines that serve the board itself.
fn board_line_finding(line: InputLine, active: Option<bool>) -> CheckFinding {
    let name = line.name();
    let (seen, advice) = match (line, active) {
        (InputLine::ButtonFault, Some(true)) => (
            "the button's wire is broken or shorted",
            "check the button's cable and plug",
        ),
        (InputLine::LowSupply, Some(true)) => (
            "the supply is failing",
            "check the fuse and the battery; the recorder powers down now",
        ),
        (InputLine::Ignition, Some(true)) => ("on", ""),
        (InputLine::Ignition, Some(false)) => ("off", ""),
        (_, Some(false)) => ("good", ""),
        (_, _) => ("not read yet", "see 'lines'"),
    };
    if advice.is_empty() {
        CheckFinding::good(name, seen.to_owned())
    } else {
        CheckFinding::doubtful(name, seen.to_owned(), advice)
    }
}
