//! What the threads at the rim tell the main loop.

use std::sync::mpsc::Sender;

use jumpseat_core::journal::{Event, Fault};

use crate::engine::{DialSetting, Line};
use crate::mono;

/// One message. Times are `CLOCK_MONOTONIC` in nanoseconds.
#[derive(Debug, Clone, PartialEq)]
pub enum Arrival {
    /// A line has this level since `at_ns`.
    Line {
        /// Which line.
        line: Line,
        /// Keyed or pressed.
        active: bool,
        /// Since when.
        at_ns: u64,
    },
    /// The receiver said where and when.
    Gps {
        /// Time and position records.
        events: Vec<Event>,
        /// When its sentence began.
        at_ns: u64,
    },
    /// The dial was read.
    Dial {
        /// Where it stands.
        setting: DialSetting,
        /// When the answer came.
        at_ns: u64,
    },
    /// A device is missing, lost or silent.
    Fault {
        /// Which kind.
        fault: Fault,
        /// For a person.
        detail: String,
        /// When it was noticed.
        at_ns: u64,
    },
    /// Something to write down that neither is a trouble nor ends one.
    Told {
        /// What it is about.
        fault: Fault,
        /// For a person.
        detail: String,
        /// When it happened.
        at_ns: u64,
    },
    /// A device works, for the first time or again.
    Working {
        /// Which kind.
        fault: Fault,
        /// For a person.
        detail: String,
        /// When it was noticed.
        at_ns: u64,
        /// It had failed before.
        again: bool,
    },
}

/// Tells the state of one device when it changes, and not every time it is tried.
#[derive(Debug)]
pub struct Reporter {
    fault: Fault,
    arrivals: Sender<Arrival>,
    working: Option<bool>,
}

impl Reporter {
    /// For a device whose troubles are of this kind.
    pub const fn new(fault: Fault, arrivals: Sender<Arrival>) -> Self {
        Self {
            fault,
            arrivals,
            working: None,
        }
    }

    /// It does not work.
    pub fn failed(&mut self, detail: &str) {
        if self.working == Some(false) {
            return;
        }
        self.working = Some(false);
        self.send(Arrival::Fault {
            fault: self.fault,
            detail: detail.to_owned(),
            at_ns: mono::now_ns(),
        });
    }

    /// It works.
    pub fn fine(&mut self, detail: &str) {
        if self.working == Some(true) {
            return;
        }
        let again = self.working == Some(false);
        self.working = Some(true);
        self.send(Arrival::Working {
            fault: self.fault,
            detail: detail.to_owned(),
            at_ns: mono::now_ns(),
            again,
        });
    }

    /// Passes a message on.
    pub fn send(&self, arrival: Arrival) {
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
        let mut reporter = Reporter::new(Fault::Gps, sender);
        reporter.failed("a");
        reporter.failed("b");
        reporter.fine("c");
        reporter.fine("d");
        reporter.failed("e");
        drop(reporter);
        let told: Vec<String> = inbox
            .iter()
            .map(|arrival| match arrival {
                Arrival::Fault { detail, .. } => detail,
                Arrival::Working { detail, again, .. } => format!("{detail} {again}"),
                other => format!("{other:?}"),
            })
            .collect();
        assert_eq!(told, ["a", "c true", "e"]);
    }
}
