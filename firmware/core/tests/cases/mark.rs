//! The one button.

use heapless::Vec;
use jumpseat_core::debounce::SettledEdge;
use jumpseat_core::mark::{LONG_PRESS_NS, MarkButton};

const SECOND: u64 = 1_000_000_000;

/// Presses as (seconds, length in tenths); marks that count at the end, in seconds.
type MarkCase = (&'static [(u64, u64)], &'static [u64]);

/// A press sets a mark, and a long press withdraws the last one.
const CASES: [MarkCase; 7] = [
    (&[], &[]),
    (&[(10, 2)], &[10]),
    (&[(10, 19), (20, 1)], &[10, 20]),
    (&[(10, 2), (20, 2), (30, 20)], &[10]),
    (&[(10, 2), (20, 2), (30, 25), (40, 25)], &[]),
    (&[(10, 30)], &[]),
    (&[(10, 2), (20, 30), (30, 2)], &[30]),
];

pub(super) fn all() -> usize {
    for (presses, expected) in CASES {
        let mut button = MarkButton::new();
        let mut marks: Vec<u64, 8> = Vec::new();
        let edge = |active, at_ns| SettledEdge { active, at_ns };
        for &(at, tenths) in presses {
            marks.extend(button.edge(edge(true, at * SECOND)));
            let end = at * SECOND + tenths * SECOND / 10;
            if let Some(taken) = button.withdraw_if_held(end) {
                assert_eq!(taken.at_ns, at * SECOND + LONG_PRESS_NS);
                marks.retain(|&mark| {
                    mark != taken.this_mark_ns && Some(mark) != taken.previous_mark_ns
                });
            }
            assert_eq!(button.edge(edge(false, end)), None);
            assert_eq!(
                button.withdraw_if_held(end + SECOND),
                None,
                "nothing is held any more"
            );
        }
        let seconds: Vec<u64, 8> = marks.iter().map(|mark| mark / SECOND).collect();
        assert_eq!(seconds.as_slice(), expected, "{presses:?}");
        assert_eq!(button.count() as usize, expected.len(), "{presses:?}");
    }
    CASES.len()
}
