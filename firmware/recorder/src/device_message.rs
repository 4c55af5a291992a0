//! Messages from the device threads to the main loop.

use std::sync::mpsc::Sender;

use jumpseat_core::journal::{JournalEvent, RecorderFault};

use crate::input_line::InputLine;
use crate::monotonic;
use crate::rig_reading::RigReading;

/// One message. Times are `CLOCK_MONOTONIC` in nanoseconds.
#[derive(Debug, Clone, PartialEq)]
pub enum DeviceMessage {
    /// A line has had this level since `at_ns`.
    Line {
        /// Which line.
        line: InputLine,
        /// Active: keyed or pressed.
        active: bool,
        /// Since when.
        at_ns: u64,
    },
    /// The receiver reported time or position.
    Gps {
        /// Time and position records.
        events: Vec<JournalEvent>,
        /// When its sentence began to arrive.
        at_ns: u64,
    },
    /// The dial was read.
    Dial {
        /// What it is set to.
        setting: RigReading,
        /// When the answer came.
        at_ns: u64,
    },
    /// A device is missing, was lost or is silent.
    Fault {
        /// Which kind.
        fault: RecorderFault,
        /// For a person.
        detail: String,
        /// When it was noticed.
        at_ns: u64,
    },
    /// Something to record that is neither a fault nor the end of one.
    Notice {
        /// What it is about.
        fault: RecorderFault,
        /// For a person.
        detail: String,
        /// When it happened.
        at_ns: u64,
    },
    /// A device works, for the first time or again.
    Working {
        /// Which kind.
        fault: RecorderFault,
        /// For a person.
        detail: String,
        /// When it was noticed.
        at_ns: u64,
        /// It had failed before.
        again: bool,
    },
}

/// Reports the state of one device when it changes, not at every attempt.
#[derive(Debug)]
pub struct DeviceReporter {
    fault: RecorderFault,
    arrivals: Sender<DeviceMessage>,
    working: Option<bool>,
}

impl DeviceReporter {
    /// For a device whose faults are of this kind.
    pub const fn new(fault: RecorderFault, arrivals: Sender<DeviceMessage>) -> Self {
        Self {
            fault,
            arrivals,
            working: None,
        }
    }

    /// Reports that the device does not work.
    pub fn report_failure(&mut self, detail: &str) {
        if self.working == Some(false) {
            return;
        }
        self.working = Some(false);
        self.send(DeviceMessage::Fault {
            fault: self.fault,
            detail: detail.to_owned(),
            at_ns: monotonic::now_ns(),
        });
    }

    /// Reports that the device works.
    pub fn report_working(&mut self, detail: &str) {
        if self.working == Some(true) {
            return;
        }
        let again = self.working == Some(false);
        self.working = Some(true);
        self.send(DeviceMessage::Working {
            fault: self.fault,
            detail: detail.to_owned(),
            at_ns: monotonic::now_ns(),
            again,
        });
    }

    /// Sends a message.
    pub fn send(&self, arrival: DeviceMessage) {
        // The main loop is gone only when the process ends.
        let _ending = self.arrivals.send(arrival);
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;

    use super::*;

    #[test]
    fn only_changes_are_told() {
        let (sender, inbox) = channel();
        let mut reporter = DeviceReporter::new(RecorderFault::Gps, sender);
        reporter.report_failure("a");
        reporter.report_failure("b");
        reporter.report_working("c");
        reporter.report_working("d");
        reporter.report_failure("e");
        drop(reporter);
        let told: Vec<String> = inbox
            .iter()
            .map(|arrival| match arrival {
                DeviceMessage::Fault { detail, .. } => detail,
                DeviceMessage::Working { detail, again, .. } => format!("{detail} {again}"),
                other => format!("{other:?}"),
            })
            .collect();
        assert_eq!(told, ["a", "c true", "e"]);
    }
}
