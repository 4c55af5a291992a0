//! Decides which time fixes to believe.
//!
//! Fixes that can be true together form a group. A receiver with a wrong date
//! before its fix, one that does not yet know the leap seconds, or a system clock
//! that was stepped makes a group of its own. The group with the most evidence
//! wins; the others are reported as rivals. A system clock that steps corrects itself,
//! so that of groups of nothing else only the last counts.

use std::collections::{BTreeSet, VecDeque};

use jumpseat_core::journal::TimeSource;

use super::TimeSettings;
use super::fixes::{TimeFix, seconds_apart};

/// A fix is compared with this many of the latest of a group.
const GROUP_MEMORY: usize = 16;
/// Groups that are still compared with; hostile journals may have any number.
const MOST_OPEN_GROUPS: usize = 24;
/// Evidence is counted once in so many nanoseconds.
const SLOT_NS: u64 = 10_000_000_000;
/// What a slot with a position fix counts for against one without: a receiver
/// that knows where it is knows what time it is.
const CONFIRMED_SLOT_WEIGHT: u64 = 10;

/// A system clock must have been read in so many slots after a step.
const SETTLED_SLOTS: usize = 3;

/// Fixes that contradict those that are believed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct RivalFixes {
    pub fixes: usize,
    /// How much later they say it is, in seconds.
    pub ahead_s: f64,
    /// Its evidence as a part of the believed group's, 0 to 1.
    pub weight: f64,
}

/// The fixes to believe, and the others.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct FixVerdict {
    pub believed: Vec<TimeFix>,
    pub rivals: Vec<RivalFixes>,
}

struct FixGroup {
    fixes: Vec<TimeFix>,
    recent: VecDeque<TimeFix>,
    slots: BTreeSet<u64>,
    confirmed: BTreeSet<u64>,
}

impl FixGroup {
    fn new() -> Self {
        Self {
            fixes: Vec::new(),
            recent: VecDeque::new(),
            slots: BTreeSet::new(),
            confirmed: BTreeSet::new(),
        }
    }

    fn add(&mut self, fix: TimeFix) {
        if self.recent.len() == GROUP_MEMORY {
            self.recent.pop_front();
        }
        self.recent.push_back(fix);
        self.fixes.push(fix);
        let slot = fix.mono_ns / SLOT_NS;
        self.slots.insert(slot);
        if fix.confirmed {
            self.confirmed.insert(slot);
        }
    }

    fn evidence(&self) -> u64 {
        self.slots.len() as u64 + (CONFIRMED_SLOT_WEIGHT - 1) * self.confirmed.len() as u64
    }

    fn only_system(&self) -> bool {
        self.fixes
            .iter()
            .all(|fix| fix.source == TimeSource::System)
    }

    /// The part of its latest fixes that can be true together with this one.
    fn agreement(&self, fix: &TimeFix, settings: &TimeSettings) -> f64 {
        let agreeing = self
            .recent
            .iter()
            .filter(|other| agree(other, fix, settings));
        agreeing.count() as f64 / self.recent.len().max(1) as f64
    }
}

/// Whether the intervals of two fixes meet, given what the clock may have drifted.
fn agree(earlier: &TimeFix, later: &TimeFix, settings: &TimeSettings) -> bool {
    let drift = settings.rate_error * (later.mono_ns - earlier.mono_ns) as f64 / 1e9;
    let ahead = seconds_apart(later.offset_ns, earlier.offset_ns);
    ahead + later.low <= earlier.high + drift && ahead + later.high >= earlier.low - drift
}

/// Sorts out fixes that are ascending in time.
pub(crate) fn judge(fixes: &[TimeFix], settings: &TimeSettings) -> FixVerdict {
    let mut groups: Vec<FixGroup> = Vec::new();
    // The open groups, the latest used last.
    let mut open: Vec<usize> = Vec::new();
    for fix in fixes {
        let best = open
            .iter()
            .map(|&index| (index, groups[index].agreement(fix, settings)))
            .filter(|(_, agreement)| *agreement >= 0.5)
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let index = match best {
            Some((index, _)) => index,
            None => {
                groups.push(FixGroup::new());
                groups.len() - 1
            }
        };
        open.retain(|&other| other != index);
        open.push(index);
        if open.len() > MOST_OPEN_GROUPS {
            open.remove(0);
        }
        groups[index].add(*fix);
    }
    let last_system = groups
        .iter()
        .rposition(|group| group.only_system() && group.slots.len() >= SETTLED_SLOTS);
    let superseded =
        |index: usize| groups[index].only_system() && last_system.is_some_and(|last| index < last);
    // Of equal evidence the later group: receivers get righter with time.
    let Some(winner) = groups
        .iter()
        .enumerate()
        .max_by_key(|(index, group)| (!superseded(*index), group.evidence(), *index))
        .map(|(index, _)| index)
    else {
        return FixVerdict::default();
    };
    let winner = groups.swap_remove(winner);
    let rivals = groups
        .iter()
        .filter_map(|group| rival(group, &winner))
        .collect();
    FixVerdict {
        rivals,
        believed: winner.fixes,
    }
}

fn rival(group: &FixGroup, winner: &FixGroup) -> Option<RivalFixes> {
    let ours = winner.fixes.first()?;
    let theirs = group.fixes.first()?;
    Some(RivalFixes {
        fixes: group.fixes.len(),
        ahead_s: seconds_apart(theirs.offset_ns, ours.offset_ns),
        weight: group.evidence() as f64 / winner.evidence().max(1) as f64,
    })
}
