//! Determines what is left of a card after a power cut.

use super::operation::CardOperation;
use super::tree::CardTree;

/// What happens to unsynced operations.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutSurvival {
    /// All are lost.
    Nothing,
    /// All are there, up to the cut.
    Everything,
    /// Each one is there or not, independently: they reached the card out of order.
    SomeOf(u64),
    /// The same, and a write that is there may stop in the middle.
    Torn(u64),
}

/// Replays the operations before the `at`-th and begins that one. What a sync covered is
/// there; every other operation survives or not on its own.
pub(super) fn left_of(
    start: &CardTree,
    log: &[CardOperation],
    at: u64,
    survival: CutSurvival,
) -> CardTree {
    let at = usize::try_from(at).unwrap_or(usize::MAX);
    let begun = log.get(..at).unwrap_or(log);
    let mut fate = OperationFate::new(survival, at);
    // A sync that was only begun has secured nothing.
    let done = at.saturating_sub(1).min(log.len());
    let mut tree = start.clone();
    for (index, operation) in begun.iter().enumerate() {
        let later = log.get(index..done.max(index)).unwrap_or(&[]);
        let safe = later.iter().any(|sync| sync.covers(operation));
        match operation {
            CardOperation::Write { file, at, bytes } => {
                let length = if safe {
                    bytes.len()
                } else {
                    fate.of(bytes.len())
                };
                if let Some(part) = bytes.get(..length).filter(|part| !part.is_empty()) {
                    tree.write(*file, *at, part);
                }
            }
            CardOperation::Make { dir, name, node } => {
                // The number is used in any case, so that later ones match.
                let node = tree.add(node.clone());
                if safe || fate.is_there() {
                    tree.link(*dir, name, node);
                }
            }
            _ if safe || fate.is_there() => tree.apply(operation),
            _ => {}
        }
    }
    tree
}

/// Decides how much of each unsynced operation is there.
struct OperationFate {
    survival: CutSurvival,
    state: u64,
}

impl OperationFate {
    const fn new(survival: CutSurvival, at: usize) -> Self {
        let seed = match survival {
            CutSurvival::Nothing | CutSurvival::Everything => 0,
            CutSurvival::SomeOf(seed) | CutSurvival::Torn(seed) => seed,
        };
        Self {
            survival,
            state: seed.wrapping_mul(1_000_003).wrapping_add(at as u64),
        }
    }

    fn is_there(&mut self) -> bool {
        match self.survival {
            CutSurvival::Nothing => false,
            CutSurvival::Everything => true,
            CutSurvival::SomeOf(_) | CutSurvival::Torn(_) => self.next() & 1 == 0,
        }
    }

    /// How many bytes of a write are there.
    fn of(&mut self, bytes: usize) -> usize {
        if !self.is_there() {
            return 0;
        }
        let torn = matches!(self.survival, CutSurvival::Torn(_)) && self.next() & 1 == 0;
        if torn {
            (self.next() % (bytes as u64 + 1)) as usize
        } else {
            bytes
        }
    }

    /// splitmix64, so that a seed always gives the same cut.
    const fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
}
