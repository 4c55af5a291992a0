//! Decides from the ignition and the supply when a trip ends, when the next one begins, and
//! when the board powers down.

const SECOND_NS: u64 = 1_000_000_000;
/// How long a touch of the pull's lease keeps the board awake: two minutes.
const LEASE_TOUCH_NS: u64 = 120 * SECOND_NS;
/// A power-down that did not happen is requested again this often.
const POWER_DOWN_RETRY_NS: u64 = 60 * SECOND_NS;

/// How long the board stays awake after the ignition goes off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StayAwake {
    /// Least time awake.
    pub for_ns: u64,
    /// Most time awake, however long a pull takes: a car's battery is small.
    pub at_most_ns: u64,
}

/// What the caller must do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PowerAction {
    /// Close the trip: the ignition went off.
    CloseTrip,
    /// Close the trip at once, then power down: the supply is failing.
    CloseAndPowerDown,
    /// The ignition is on again: begin a trip.
    BeginTrip,
    /// The trip is closed and no pull is running: power down.
    PowerDown,
}

/// The state machine. It begins with a trip under way, because recording waits for nothing.
#[derive(Debug, Clone)]
pub struct PowerControl {
    stay: StayAwake,
    parked: Option<ParkedTimes>,
}

#[derive(Debug, Clone, Copy)]
struct ParkedTimes {
    since_ns: u64,
    down_ns: u64,
}

impl PowerControl {
    /// A trip is under way.
    pub const fn new(stay: StayAwake) -> Self {
        Self { stay, parked: None }
    }

    /// The settled ignition line changed.
    pub fn ignition(&mut self, on: bool, now_ns: u64) -> Option<PowerAction> {
        match (on, self.parked) {
            (true, Some(_)) => {
                self.parked = None;
                Some(PowerAction::BeginTrip)
            }
            (false, None) => {
                self.parked = Some(ParkedTimes {
                    since_ns: now_ns,
                    down_ns: now_ns.saturating_add(self.stay.for_ns),
                });
                Some(PowerAction::CloseTrip)
            }
            _ => None,
        }
    }

    /// The settled low-supply line became active.
    pub fn low_supply(&mut self, now_ns: u64) -> Option<PowerAction> {
        let action = match self.parked {
            None => PowerAction::CloseAndPowerDown,
            Some(_) => PowerAction::PowerDown,
        };
        self.parked = Some(ParkedTimes {
            since_ns: now_ns.saturating_sub(self.stay.at_most_ns),
            down_ns: now_ns.saturating_add(POWER_DOWN_RETRY_NS),
        });
        Some(action)
    }

    /// A pull touched its lease.
    pub fn lease_touched(&mut self, now_ns: u64) {
        let most_ns = self.stay.at_most_ns;
        if let Some(parked) = &mut self.parked {
            let latest_ns = parked.since_ns.saturating_add(most_ns);
            let wanted_ns = now_ns.saturating_add(LEASE_TOUCH_NS).min(latest_ns);
            parked.down_ns = parked.down_ns.max(wanted_ns);
        }
    }

    /// What is due at `now_ns`.
    pub fn poll(&mut self, now_ns: u64) -> Option<PowerAction> {
        let parked = self.parked.as_mut()?;
        if now_ns < parked.down_ns {
            return None;
        }
        parked.down_ns = now_ns.saturating_add(POWER_DOWN_RETRY_NS);
        Some(PowerAction::PowerDown)
    }

    /// No trip is under way.
    pub const fn is_parked(&self) -> bool {
        self.parked.is_some()
    }
}
