//! A line that bounces.

use heapless::Vec;
use jumpseat_core::debounce::Debouncer;

const MS: u64 = 1_000_000;

/// Readings and expected edges as (milliseconds, active), 8 ms to settle.
type DebounceCase = (&'static [(u64, bool)], &'static [(u64, bool)]);

/// The first edge of a burst is the time of the change.
const CASES: [DebounceCase; 8] = [
    (&[(100, true), (107, true)], &[]),
    (&[(100, true), (108, true)], &[(100, true)]),
    (&[(100, true), (101, false), (103, true), (104, true)], &[]),
    (
        &[
            (100, true),
            (101, false),
            (103, true),
            (104, true),
            (111, true),
        ],
        &[(100, true)],
    ),
    // A spike that falls back is not a press.
    (&[(100, true), (102, false), (200, false)], &[]),
    // Two changes seen only by their own readings, none in between.
    (
        &[(100, true), (500, false), (600, false)],
        &[(100, true), (500, false)],
    ),
    // A spike long before a press is not its first edge.
    (
        &[(10, true), (12, false), (100, true), (120, true)],
        &[(100, true)],
    ),
    (&[], &[]),
];

pub(super) fn all() -> usize {
    for (readings, expected) in CASES {
        let mut line = Debouncer::new(8 * MS, false);
        let edges: Vec<(u64, bool), 8> = readings
            .iter()
            .filter_map(|&(ms, active)| line.update(active, ms * MS))
            .map(|edge| (edge.at_ns / MS, edge.active))
            .collect();
        assert_eq!(edges.as_slice(), expected, "{readings:?}");
    }
    CASES.len()
}
