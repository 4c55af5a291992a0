//! Watches the ignition and the supply, and powers the board down.

use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::thread;
use std::time::SystemTime;

use jumpseat_core::debounce::{DebouncedPin, SettledEdge};
use jumpseat_core::power::{PowerAction, PowerControl};

use crate::card_layout::PULL_LEASE_FILE;
use crate::config::RecorderConfig;
use crate::input_line::InputLine;
use crate::line_pin::{LinePin, debounced};

const LEASE_CHECK_EVERY_NS: u64 = 1_000_000_000;

/// Watches the two lines and the lease of a pull.
pub(super) struct VehiclePower {
    power: PowerControl,
    ignition: DebouncedPin<LinePin>,
    low_supply: DebouncedPin<LinePin>,
    lease: PathBuf,
    touched: Option<SystemTime>,
    next_look_ns: u64,
    power_down: Vec<String>,
}

impl VehiclePower {
    pub(super) fn new(config: &RecorderConfig) -> Self {
        let settle_ns = u64::from(config.lines.debounce_ms) * 1_000_000;
        Self {
            power: PowerControl::new(config.ignition.stay_awake()),
            // The ignition counts as on until its line says otherwise, because recording
            // waits for nothing.
            ignition: debounced(true, settle_ns),
            low_supply: debounced(false, settle_ns),
            lease: config.card.dir.join(PULL_LEASE_FILE),
            touched: None,
            next_look_ns: 0,
            power_down: config.ignition.power_down.clone(),
        }
    }

    /// A line has this level from `at_ns` on.
    pub(super) fn line(
        &mut self,
        line: InputLine,
        active: bool,
        at_ns: u64,
    ) -> Option<PowerAction> {
        let pin = match line {
            InputLine::Ignition => &mut self.ignition,
            InputLine::LowSupply => &mut self.low_supply,
            InputLine::Ptt | InputLine::Mark | InputLine::ButtonFault => return None,
        };
        let Ok(before) = pin.poll(at_ns);
        pin.pin_mut().active = active;
        let Ok(after) = pin.poll(at_ns);
        before
            .or(after)
            .and_then(|edge| self.settled(line, edge, at_ns))
    }

    /// What is due at `now_ns`.
    pub(super) fn poll(&mut self, now_ns: u64) -> Option<PowerAction> {
        let Ok(ignition) = self.ignition.poll(now_ns);
        let Ok(low_supply) = self.low_supply.poll(now_ns);
        let of = |line, edge: Option<SettledEdge>| edge.map(|edge| (line, edge));
        let edge = of(InputLine::LowSupply, low_supply).or(of(InputLine::Ignition, ignition));
        if let Some((line, edge)) = edge {
            return self.settled(line, edge, now_ns);
        }
        if self.power.is_parked() && now_ns >= self.next_look_ns {
            self.next_look_ns = now_ns + LEASE_CHECK_EVERY_NS;
            self.look_at_lease(now_ns);
        }
        self.power.poll(now_ns)
    }

    /// When to check the lines again.
    pub(super) fn deadline_ns(&self) -> Option<u64> {
        let lines = [self.ignition.deadline_ns(), self.low_supply.deadline_ns()];
        lines.into_iter().flatten().min()
    }

    /// Runs the program that powers the board down; returns a message for the log.
    pub(super) fn power_down(&self) -> String {
        let Some((program, arguments)) = self.power_down.split_first() else {
            return "parked: ignition.power_down is empty, so the board stays awake".to_owned();
        };
        match Command::new(program).args(arguments).spawn() {
            Ok(mut child) => {
                // Its exit status does not matter, but it must not stay a zombie.
                let reaped = thread::Builder::new().spawn(move || child.wait());
                let command = self.power_down.join(" ");
                reaped.map_or_else(
                    |error| format!("powering down by {command} ({error})"),
                    |_| format!("powering down by {command}"),
                )
            }
            Err(error) => format!(
                "cannot power down: {program}: {error}; set ignition.power_down to a program \
                 that this user may run"
            ),
        }
    }

    fn settled(&mut self, line: InputLine, edge: SettledEdge, now_ns: u64) -> Option<PowerAction> {
        if line == InputLine::Ignition {
            // A lease from before the end of the trip does not count.
            self.touched = self.last_touch();
            self.power.ignition(edge.active, now_ns)
        } else if edge.active {
            self.power.low_supply(now_ns)
        } else {
            None
        }
    }

    /// The file's time is only compared with its own earlier value, because the board's
    /// clock may be wrong.
    fn look_at_lease(&mut self, now_ns: u64) {
        let touched = self.last_touch();
        if touched.is_some() && touched != self.touched {
            self.touched = touched;
            self.power.lease_touched(now_ns);
        }
    }

    fn last_touch(&self) -> Option<SystemTime> {
        // For a link, the link's own time: its target is not a lease.
        fs::symlink_metadata(&self.lease).ok()?.modified().ok()
    }
}
