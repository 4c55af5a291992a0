//! Ignition, supply and pulls.

use heapless::Vec;
use jumpseat_core::power::PowerAction::{BeginTrip, CloseAndPowerDown, CloseTrip, PowerDown};
use jumpseat_core::power::{PowerAction, PowerControl, StayAwake};

const SECOND: u64 = 1_000_000_000;

#[derive(Debug, Clone, Copy)]
enum PowerInput {
    Ignition(bool),
    LowSupply,
    /// A pull begins, and touches its lease every minute until this second.
    PullUntil(u64),
}
use PowerInput::{Ignition, LowSupply, PullUntil};

/// Inputs with their seconds; the end; expected actions with their seconds. 600 s awake,
/// 3600 at most.
type PowerCase = (
    &'static [(u64, PowerInput)],
    u64,
    &'static [(u64, PowerAction)],
);

const CASES: [PowerCase; 8] = [
    // The trip is closed at once, and the board sleeps later.
    (&[(0, Ignition(true))], 9_000, &[]),
    (
        &[(50, Ignition(false))],
        720,
        &[(50, CloseTrip), (650, PowerDown), (710, PowerDown)],
    ),
    // Ignition back on begins a new trip.
    (
        &[
            (50, Ignition(false)),
            (90, Ignition(true)),
            (95, Ignition(true)),
        ],
        2_000,
        &[(50, CloseTrip), (90, BeginTrip)],
    ),
    // A failing supply ends the trip at once.
    (&[(50, LowSupply)], 100, &[(50, CloseAndPowerDown)]),
    (
        &[(50, Ignition(false)), (70, LowSupply)],
        120,
        &[(50, CloseTrip), (70, PowerDown)],
    ),
    (
        &[(50, LowSupply), (60, Ignition(true))],
        300,
        &[(50, CloseAndPowerDown), (60, BeginTrip)],
    ),
    // A pull keeps the board awake for two minutes after its last touch, which is at 1440.
    (
        &[(50, Ignition(false)), (600, PullUntil(1_500))],
        1_600,
        &[(50, CloseTrip), (1_560, PowerDown)],
    ),
    // But not for ever.
    (
        &[(50, Ignition(false)), (600, PullUntil(9_000))],
        3_700,
        &[(50, CloseTrip), (3_650, PowerDown)],
    ),
];

pub(super) fn all() -> usize {
    for (inputs, until, expected) in CASES {
        let mut power = PowerControl::new(StayAwake {
            for_ns: 600 * SECOND,
            at_most_ns: 3_600 * SECOND,
        });
        let mut done: Vec<(u64, PowerAction), 16> = Vec::new();
        for second in 0..until {
            let now_ns = second * SECOND;
            for &(at, input) in inputs {
                let action = match input {
                    Ignition(on) if at == second => power.ignition(on, now_ns),
                    LowSupply if at == second => power.low_supply(now_ns),
                    PullUntil(end) if (at..end).step_by(60).any(|touch| touch == second) => {
                        power.lease_touched(now_ns);
                        None
                    }
                    _ => None,
                };
                done.extend(action.map(|action| (second, action)));
            }
            done.extend(power.poll(now_ns).map(|action| (second, action)));
        }
        assert_eq!(done.as_slice(), expected, "{inputs:?}");
    }
    CASES.len()
}
