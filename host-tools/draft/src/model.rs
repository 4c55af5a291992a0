//! The probabilistic model of a drive: a semi-Markov chain over events, in which
//! every event belongs to one contact or to none.
//!
//! Sarawagi and Cohen, "Semi-Markov conditional random fields for information
//! extraction" (2004): a segmentation is as probable as the exponential of the sum of
//! its segments' weighted features. The best one is found, and the probability of
//! each part of it, by adding over all segmentations.

use crate::OverDirection;
use crate::cut::DriveEvent;
use crate::feature::{ActiveFeature, EventCounts, FeatureScene};

/// Longest contact that is looked for, in events: half an hour of talk has about 250.
const LONGEST_CONTACT_EVENTS: usize = 500;

/// A call, an answer and a word more: less is no contact (common practice). A rule and
/// no weight.
const LEAST_TURNS: usize = 2;

/// A stretch of events that is one contact.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ContactSegment {
    /// First event.
    pub(crate) first: usize,
    /// Last event.
    pub(crate) last: usize,
    /// Probability that its middle belongs to some contact.
    pub(crate) probability: f64,
    /// Probability that a contact begins with `first`.
    pub(crate) start: f64,
}

/// Scores of every part of every segment of a drive.
pub(crate) struct SegmentScores<'a> {
    scene: &'a FeatureScene<'a>,
    weights: &'a [f64],
    other: Vec<f64>,
    start: Vec<f64>,
    end: Vec<f64>,
    /// Sums of the steps up to each event.
    steps: Vec<f64>,
}

impl<'a> SegmentScores<'a> {
    pub(crate) fn of(scene: &'a FeatureScene<'a>, weights: &'a [f64]) -> Self {
        let count = scene.events.len();
        let worth = |active: Vec<ActiveFeature>| weigh(weights, &active);
        let mut steps = vec![0.0; count];
        for at in 1..count {
            steps[at] = steps[at - 1] + worth(scene.step(at));
        }
        Self {
            scene,
            weights,
            other: (0..count).map(|at| worth(scene.other(at))).collect(),
            start: (0..count).map(|at| worth(scene.start(at))).collect(),
            end: (0..count).map(|at| worth(scene.end(at))).collect(),
            steps,
        }
    }

    /// Calls `take` with every possible contact that begins with `first`: its last
    /// event, what it holds, and its score.
    fn contacts(&self, first: usize, mut take: impl FnMut(usize, EventCounts, f64)) {
        let events: &[DriveEvent] = self.scene.events;
        let mut counts = EventCounts::default();
        let mut answered = false;
        for last in first..events.len().min(first + LONGEST_CONTACT_EVENTS) {
            let before = (last > first).then(|| &events[last - 1]);
            if before.is_some() && !self.scene.goes_on(last) {
                return;
            }
            if before.is_some() && !answered && events[last].calls_all() {
                return;
            }
            answered |= events[last].answers();
            counts = counts.with(&events[last], before);
            if counts.transmitted == 0 || counts.turns < LEAST_TURNS {
                // Speech of others without end is the beginning of nobody's contact.
                if events[first].direction == OverDirection::Rx
                    && counts.transmitted == 0
                    && last > first + 2
                {
                    return;
                }
                continue;
            }
            let whole = weigh(self.weights, &self.scene.whole(first, last, counts));
            let score =
                self.start[first] + self.steps[last] - self.steps[first] + self.end[last] + whole;
            take(last, counts, score);
        }
    }

    /// The most probable segmentation, with the probability of each contact.
    pub(crate) fn best(&self) -> Vec<ContactSegment> {
        let count = self.scene.events.len();
        let mut best = vec![f64::NEG_INFINITY; count + 1];
        let mut from: Vec<usize> = vec![0; count + 1];
        best[0] = 0.0;
        for first in 0..count {
            let here = best[first];
            if here + self.other[first] > best[first + 1] {
                (best[first + 1], from[first + 1]) = (here + self.other[first], first);
            }
            self.contacts(first, |last, _, score| {
                if here + score > best[last + 1] {
                    (best[last + 1], from[last + 1]) = (here + score, first);
                }
            });
        }
        let sums = self.sums();
        let (inside, starts) = self.marginals(&sums, |_, _, _, _| ());
        let mut out = Vec::new();
        let mut at = count;
        while at > 0 {
            let first = from[at];
            if at - first > 1 {
                let span = &inside[first..at];
                out.push(ContactSegment {
                    first,
                    last: at - 1,
                    probability: span.iter().copied().fold(0.0, f64::max).clamp(0.0, 1.0),
                    start: starts[first].clamp(0.0, 1.0),
                });
            }
            at = first;
        }
        out.reverse();
        out
    }

    /// Sums over all segmentations before and after each event, as logarithms.
    fn sums(&self) -> (Vec<f64>, Vec<f64>) {
        let count = self.scene.events.len();
        let mut before = vec![f64::NEG_INFINITY; count + 1];
        before[0] = 0.0;
        for first in 0..count {
            let here = before[first];
            before[first + 1] = add(before[first + 1], here + self.other[first]);
            self.contacts(first, |last, _, score| {
                before[last + 1] = add(before[last + 1], here + score);
            });
        }
        let mut after = vec![f64::NEG_INFINITY; count + 1];
        after[count] = 0.0;
        for first in (0..count).rev() {
            let mut sum = after[first + 1] + self.other[first];
            self.contacts(first, |last, _, score| {
                sum = add(sum, score + after[last + 1])
            });
            after[first] = sum;
        }
        (before, after)
    }

    /// Probability of each event to be in a contact, and to begin one. `take` is given
    /// every contact that is not out of the question: first, last, what it holds,
    /// probability.
    fn marginals(
        &self,
        (before, after): &(Vec<f64>, Vec<f64>),
        mut take: impl FnMut(usize, usize, EventCounts, f64),
    ) -> (Vec<f64>, Vec<f64>) {
        let count = self.scene.events.len();
        let total = before[count];
        let mut change = vec![0.0; count + 1];
        let mut starts = vec![0.0; count];
        for first in 0..count {
            self.contacts(first, |last, counts, score| {
                let probability = (before[first] + score + after[last + 1] - total).exp();
                if probability > 1e-9 {
                    change[first] += probability;
                    change[last + 1] -= probability;
                    starts[first] += probability;
                    take(first, last, counts, probability);
                }
            });
        }
        let mut inside = 0.0;
        let all = change[..count].iter().map(|step| {
            inside += step;
            inside
        });
        (all.collect(), starts)
    }

    /// Logarithm of the probability of a segmentation (contacts as first and last
    /// event, in order), and its gradient by the weights.
    pub(crate) fn gradient(&self, truth: &[(usize, usize)]) -> (f64, Vec<f64>) {
        let count = self.scene.events.len();
        let sums = self.sums();
        let mut slope = vec![0.0; self.weights.len()];
        let mut expected_end = vec![0.0; count];
        let mut expected_step = vec![0.0; count + 1];
        let (inside, starts) = self.marginals(&sums, |first, last, counts, probability| {
            expected_end[last] += probability;
            expected_step[first] += probability;
            expected_step[last] -= probability;
            take(
                &mut slope,
                &self.scene.whole(first, last, counts),
                -probability,
            );
        });
        let mut going_on = 0.0;
        for at in 0..count {
            take(&mut slope, &self.scene.other(at), -(1.0 - inside[at]));
            take(&mut slope, &self.scene.start(at), -starts[at]);
            take(&mut slope, &self.scene.end(at), -expected_end[at]);
            going_on += expected_step[at];
            if at + 1 < count {
                take(&mut slope, &self.scene.step(at + 1), -going_on);
            }
        }
        let mut score = -sums.0[count];
        let mut in_contact = vec![false; count];
        for &(first, last) in truth {
            let events = self.scene.events;
            let mut counts = EventCounts::default();
            for at in first..=last {
                in_contact[at] = true;
                let before = (at > first).then(|| &events[at - 1]);
                counts = counts.with(&events[at], before);
                if at > first {
                    take(&mut slope, &self.scene.step(at), 1.0);
                }
            }
            let whole = self.scene.whole(first, last, counts);
            score += self.start[first] + self.steps[last] - self.steps[first] + self.end[last];
            score += weigh(self.weights, &whole);
            take(&mut slope, &whole, 1.0);
            take(&mut slope, &self.scene.start(first), 1.0);
            take(&mut slope, &self.scene.end(last), 1.0);
        }
        for at in (0..count).filter(|at| !in_contact[*at]) {
            score += self.other[at];
            take(&mut slope, &self.scene.other(at), 1.0);
        }
        (score, slope)
    }
}

fn weigh(weights: &[f64], active: &[ActiveFeature]) -> f64 {
    active.iter().map(|(id, value)| weights[*id] * value).sum()
}

fn take(slope: &mut [f64], active: &[ActiveFeature], times: f64) {
    for (id, value) in active {
        slope[*id] += times * value;
    }
}

/// Logarithm of a sum, of logarithms.
fn add(one: f64, other: f64) -> f64 {
    let (low, high) = if one < other {
        (one, other)
    } else {
        (other, one)
    };
    if low == f64::NEG_INFINITY {
        return high;
    }
    high + (low - high).exp().ln_1p()
}
