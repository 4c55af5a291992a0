//! The mark button: a press sets a mark, and a press of two seconds withdraws the last one.
//! It does nothing else, so that no fumbling on the road can stop or erase anything.

use heapless::Vec;

use crate::debounce::SettledEdge;

/// A press held this long is a long press: 2 s.
pub const LONG_PRESS_NS: u64 = 2_000_000_000;

/// How many marks can be withdrawn, one long press after the other.
const MAX_REMEMBERED_MARKS: usize = 32;

/// The marks that a long press withdraws: the one it set itself when it began, and the last
/// one before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MarkWithdrawal {
    /// When the press became a long one, in monotonic nanoseconds.
    pub at_ns: u64,
    /// The time of the mark that this press set.
    pub this_mark_ns: u64,
    /// The time of the last mark before it that still counted.
    pub previous_mark_ns: Option<u64>,
}

/// Turns settled edges of the button into marks and withdrawals.
#[derive(Debug, Clone, Default)]
pub struct MarkButton {
    marks: u32,
    standing: Vec<u64, MAX_REMEMBERED_MARKS>,
    /// When it was pressed; `None` when it is released, or the long press was reported.
    pressed_ns: Option<u64>,
}

impl MarkButton {
    /// A button that has not been pressed yet.
    pub const fn new() -> Self {
        Self {
            marks: 0,
            standing: Vec::new(),
            pressed_ns: None,
        }
    }

    /// Takes a settled edge of the button. Returns the time of the mark that a press sets;
    /// a release sets none.
    pub fn edge(&mut self, edge: SettledEdge) -> Option<u64> {
        if !edge.active {
            self.pressed_ns = None;
            return None;
        }
        self.pressed_ns = Some(edge.at_ns);
        self.marks = self.marks.saturating_add(1);
        if self.standing.is_full() {
            self.standing.remove(0);
        }
        // It fits: the oldest was removed.
        let _room = self.standing.push(edge.at_ns);
        Some(edge.at_ns)
    }

    /// Returns the marks to withdraw if the button is still down at `now_ns`, once per
    /// press.
    pub fn withdraw_if_held(&mut self, now_ns: u64) -> Option<MarkWithdrawal> {
        let at_ns = self.deadline_ns().filter(|&at_ns| now_ns >= at_ns)?;
        self.pressed_ns = None;
        let own_ns = self.standing.pop()?;
        let earlier_ns = self.standing.pop();
        let back = 1 + u32::from(earlier_ns.is_some());
        self.marks = self.marks.saturating_sub(back);
        Some(MarkWithdrawal {
            at_ns,
            this_mark_ns: own_ns,
            previous_mark_ns: earlier_ns,
        })
    }

    /// When [`withdraw_if_held`](Self::withdraw_if_held) wants to be asked; `None` while the button rests.
    pub fn deadline_ns(&self) -> Option<u64> {
        self.pressed_ns.map(|at_ns| at_ns + LONG_PRESS_NS)
    }

    /// Marks set so far and not withdrawn.
    pub const fn count(&self) -> u32 {
        self.marks
    }
}

#[cfg(test)]
mod tests {
    extern crate std;

    use proptest::prelude::*;

    use super::*;

    const SECOND: u64 = 1_000_000_000;

    fn edge(active: bool, at_ns: u64) -> SettledEdge {
        SettledEdge { active, at_ns }
    }

    proptest! {
        /// For any presses: only a long press withdraws a mark, and each withdraws at most
        /// one besides its own.
        #[test]
        fn nothing_but_a_long_press_takes_a_mark_back(
            presses in prop::collection::vec(1_u64..40, 0..100)
        ) {
            let mut button = MarkButton::new();
            let (mut made, mut taken) = (0, 0);
            for (n, &tenths) in presses.iter().enumerate() {
                let at = n as u64 * 10 * SECOND;
                made += u32::from(button.edge(edge(true, at)).is_some());
                let end = at + tenths * SECOND / 10;
                let withdrawal = button.withdraw_if_held(end);
                prop_assert_eq!(withdrawal.is_some(), tenths >= 20);
                if let Some(withdrawal) = withdrawal {
                    prop_assert_eq!(withdrawal.this_mark_ns, at);
                    taken += 1 + u32::from(withdrawal.previous_mark_ns.is_some());
                }
                button.edge(edge(false, end));
            }
            prop_assert_eq!(made as usize, presses.len());
            prop_assert_eq!(button.count(), made - taken);
        }
    }
}
