//! Reads a sign that is said several times in one stretch as one hypothesis.
//!
//! Read one by one, a letter may change sides between a sign and its repeat, and each
//! has its own errors. Here the mass of all readings in which the same sign is said
//! twice or more is summed exactly: what both times say counts, wherever the one ends
//! and the other begins.

use std::ops::Range;

use crate::between::{self, AFTER_OTHER, BETWEEN_STATES};
use crate::fold::BLANK_CLASS;
use crate::grammar::{BetweenMasses, ReadingMasses};
use crate::said::SaidClasses;
use crate::sign_shape::{SignSpelling, spellings};

/// A sign said twice or more.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct RepeatedSign {
    /// Mass of the readings in which it is, a share of all readings.
    pub(crate) mass: f64,
    /// Steps of the first time and of the last.
    pub(crate) steps: [Range<usize>; 2],
}

/// A place in a chain of labels: held, or blank since; and the steps on its best way.
#[derive(Clone, Copy, Default)]
struct RepeatCell {
    held: f64,
    rested: f64,
    way: RepeatPath,
}

/// Where the first time began and ended, and the last time began.
#[derive(Clone, Copy, Default)]
struct RepeatPath {
    mass: f64,
    first: u32,
    first_end: u32,
    last: u32,
}

impl RepeatPath {
    fn better(self, other: RepeatPath) -> RepeatPath {
        if other.mass > self.mass { other } else { self }
    }

    fn times(self, p: f64) -> RepeatPath {
        RepeatPath {
            mass: self.mass * p,
            ..self
        }
    }
}

/// At least as much as `repeated` finds, in a fraction of its time: each pair of times is at most
/// as probable as either, and one ends before the other begins.
pub(crate) fn most_repeated(all: &ReadingMasses, sign: &str) -> f64 {
    let most = |way: SignSpelling| {
        let size = way.labels.len();
        let (ends, begins) = (ends(all, &way), begins(all, &way));
        let (mut ended, mut most) = (0.0_f64, 0.0);
        for (step, (end, begin)) in ends.iter().zip(begins).enumerate() {
            // A time has at most so many before it.
            most += ended.min(begin * (step / size) as f64);
            ended += end;
        }
        most
    };
    spellings(sign).into_iter().map(most).sum()
}

/// For each step the mass of all readings in which the last word of a sign begins there.
fn ends(all: &ReadingMasses, way: &SignSpelling) -> Vec<f64> {
    let begins = &between::of_class()[way.labels[0]].beginning;
    // Of each word, while it is held, and with a blank since.
    let mut chain = vec![(0.0, 0.0); way.labels.len()];
    let mut out = Vec::with_capacity(all.scaled.len());
    for (step, p) in all.scaled.iter().enumerate() {
        let mut ways_in = open(&all.before[step], &all.said[step], begins, way.labels[0]);
        let mut previous = None;
        let mut end = 0.0;
        for (&label, cell) in way.labels.iter().zip(&mut chain) {
            if let Some((last, (held, rested))) = previous {
                ways_in = rested + if last == label { 0.0 } else { held };
            }
            previous = Some((label, *cell));
            let fresh = ways_in * p[label];
            *cell = (
                cell.0 * p[label] + fresh,
                (cell.0 + cell.1) * p[BLANK_CLASS],
            );
            end = fresh * all.after[step + 1][label];
        }
        out.push(way.weight * end);
    }
    out
}

/// For each step the mass of all readings in which the first word of a sign begins there.
fn begins(all: &ReadingMasses, way: &SignSpelling) -> Vec<f64> {
    let begins = &between::of_class()[way.labels[0]].beginning;
    // What follows each word, while it is held, and with a blank since.
    let mut chain = vec![(0.0, 0.0); way.labels.len()];
    let mut out = vec![0.0; all.scaled.len()];
    for (step, p) in all.scaled.iter().enumerate().rev() {
        // The word after this one, and what is worth to begin it in this step.
        let mut following: Option<(usize, f64)> = None;
        for (&label, cell) in way.labels.iter().zip(&mut chain).rev() {
            let begun =
                p[label] * following.map_or(way.weight * all.after[step + 1][label], |_| cell.0);
            let go_on = following.map_or((0.0, 0.0), |(next, begun)| {
                (if next == label { 0.0 } else { begun }, begun)
            });
            let blank = p[BLANK_CLASS] * cell.1;
            *cell = (p[label] * cell.0 + blank + go_on.0, blank + go_on.1);
            following = Some((label, begun));
        }
        let begun = following.map_or(0.0, |(_, begun)| begun);
        out[step] = begun * open(&all.before[step], &all.said[step], begins, way.labels[0]);
    }
    out
}

/// How much of all readings says `sign` twice or more, with nothing but words and strays
/// between; both times in the same way, as nearly always.
pub(crate) fn repeated(all: &ReadingMasses, sign: &str) -> RepeatedSign {
    let ways = spellings(sign).into_iter();
    let said: Vec<RepeatedSign> = ways.map(|way| repeated_so(all, &way)).collect();
    let mass = said.iter().map(|way| way.mass).sum();
    let best = said.into_iter().max_by(|a, b| a.mass.total_cmp(&b.mass));
    RepeatedSign {
        mass,
        steps: best.map_or([0..0, 0..0], |way| way.steps),
    }
}

fn repeated_so(all: &ReadingMasses, way: &SignSpelling) -> RepeatedSign {
    let labels = &way.labels;
    let size = labels.len();
    let worth = way.weight;
    let mut chain = vec![RepeatCell::default(); 2 * size];
    let mut next = chain.clone();
    // Between the two times.
    let (mut gap, mut next_gap) = (BetweenMasses::NONE, BetweenMasses::NONE);
    let begins = &between::of_class()[labels[0]].beginning;
    let mut gap_way = RepeatPath::default();
    let mut out = RepeatedSign {
        mass: 0.0,
        steps: [0..0, 0..0],
    };
    let mut best = 0.0;
    for (step, row) in all.scaled.iter().enumerate() {
        let p = |class: usize| row[class];
        let (earlier, now) = (&all.said[step], &all.said[step + 1]);
        let whole = chain[size - 1];
        let again = chain[2 * size - 1];
        // Whatever may come before a further time.
        let left = whole.held + whole.rested;
        let left_again = again.held + again.rested;
        for (k, place) in chain.iter().enumerate() {
            let label = labels[k % size];
            let previous = if k % size == 0 {
                None
            } else {
                Some(chain[k - 1])
            };
            let (mut fresh, mut way) = match previous {
                Some(from) => {
                    let same = labels[(k - 1) % size] == label;
                    let mass = from.rested + if same { 0.0 } else { from.held };
                    (mass, from.way)
                }
                None if k == 0 => {
                    let mass = open(&all.before[step], earlier, begins, label);
                    let at = step as u32;
                    let way = RepeatPath {
                        mass,
                        first: at,
                        first_end: at,
                        last: at,
                    };
                    (mass, way)
                }
                None => {
                    let close = |from: &RepeatCell, mass: f64| {
                        let same = labels[size - 1] == label;
                        worth * (mass - if same { from.held } else { 0.0 })
                    };
                    let mass = close(&whole, left)
                        + close(&again, left_again)
                        + open(&gap, earlier, begins, label);
                    let way = whole
                        .way
                        .times(worth)
                        .better(again.way.times(worth))
                        .better(gap_way);
                    (
                        mass,
                        RepeatPath {
                            last: step as u32,
                            ..way
                        },
                    )
                }
            };
            fresh *= p(label);
            way = way.times(p(label));
            if (k + 1) % size == 0 && k < size {
                way.first_end = step as u32 + 1;
            }
            let held = place.way.times(p(label));
            let rested = place.way.times(p(BLANK_CLASS));
            next[k] = RepeatCell {
                held: place.held * p(label) + fresh,
                rested: (place.held + place.rested) * p(BLANK_CLASS),
                way: way.better(held).better(rested),
            };
            if k + 1 == 2 * size {
                let mass = fresh * worth * all.after[step + 1][label];
                out.mass += mass;
                let seen = way.mass * worth * all.after[step + 1][label];
                if seen > best {
                    best = seen;
                    out.steps = [
                        way.first as usize..way.first_end as usize,
                        way.last as usize..step + 1,
                    ];
                }
            }
        }
        next_gap.clear(now);
        for (next, gap) in next_gap.all.iter_mut().zip(&gap.all) {
            *next = gap * p(BLANK_CLASS);
        }
        let last = labels[size - 1];
        let ended = worth * (left + left_again);
        let ended_rested = worth * (whole.rested + again.rested);
        let mut most = 0.0_f64;
        for (&class, next) in now.classes.iter().zip(&mut next_gap.said) {
            let held = gap.last(earlier, class);
            let mut fresh: [f64; BETWEEN_STATES] =
                std::array::from_fn(|state| gap.all[state] - held[state]);
            fresh[AFTER_OTHER] += if class == last { ended_rested } else { ended };
            *next = held.map(|held| held * p(class));
            let strays = between::of_class()[class].stray.iter();
            for (state, (&(target, weight), fresh)) in strays.zip(fresh).enumerate() {
                next[target] += fresh * p(class) * weight;
                if state == AFTER_OTHER || gap.all[state] > 0.0 {
                    most = most.max(p(class) * weight);
                }
            }
            for (sum, mass) in next_gap.all.iter_mut().zip(&*next) {
                *sum += mass;
            }
        }
        gap_way = gap_way
            .times(most.max(p(BLANK_CLASS)))
            .better(whole.way.times(worth * most))
            .better(again.way.times(worth * most));
        std::mem::swap(&mut gap, &mut next_gap);
        std::mem::swap(&mut chain, &mut next);
    }
    out
}

/// Mass from which a sign begins with `label`, which is worth `begins` in each state; `said` is
/// what was said in their step.
fn open(
    between: &BetweenMasses,
    said: &SaidClasses,
    begins: &[f64; BETWEEN_STATES],
    label: usize,
) -> f64 {
    let masses = between.all.iter().zip(between.last(said, label));
    let states = masses.zip(begins);
    states
        .map(|((all, held), begins)| begins * (all - held))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ctc::ClassRow;
    use crate::exhaustive;
    use crate::fold::{CLASSES, WORD_CLASS, class_of};
    use crate::grammar;

    /// How often two of `signs` are `sign`, and all between them too.
    fn pairs(signs: &[String], sign: &str) -> usize {
        let runs = signs.chunk_by(|a, b| a == b).filter(|run| run[0] == sign);
        runs.map(|run| run.len() * (run.len() - 1) / 2).sum()
    }

    #[test]
    fn masses_equal_those_over_every_path_and_every_cut() {
        let classes = [
            BLANK_CLASS,
            class_of('K'),
            class_of('7'),
            class_of('Q'),
            WORD_CLASS,
        ];
        for seed in 1..5 {
            let rows = exhaustive::rows(seed, 7, &classes);
            let all = grammar::sum(&rows);
            let (mut total, mut wanted) = (0.0, 0.0);
            for (text, p) in exhaustive::every_text(&rows, &classes) {
                for (weight, signs) in exhaustive::every_cut(&text) {
                    total += p * weight;
                    wanted += p * weight * pairs(&signs, "K7Q") as f64;
                }
            }
            let got = repeated(&all, "K7Q").mass;
            assert!(most_repeated(&all, "K7Q") >= got, "{got}");
            let way = &spellings("K7Q")[0];
            let (begins, ends): (f64, f64) =
                (begins(&all, way).iter().sum(), ends(&all, way).iter().sum());
            assert!((begins / ends - 1.0).abs() < 1e-6, "{begins} {ends}");
            assert!(wanted > 0.0, "there is one in seven steps");
            assert!(
                (got / (wanted / total) - 1.0).abs() < 1e-6,
                "{got} {wanted} {total}"
            );
        }
    }

    #[test]
    fn both_times_are_found_where_they_are() {
        let mut rows: Vec<ClassRow> = vec![[0.001; CLASSES]; 40];
        for (k, row) in rows.iter_mut().enumerate() {
            row[BLANK_CLASS] = 0.9;
            let said = "K7QTM".chars().nth(k % 20 / 3);
            if let Some(symbol) = said.filter(|_| k % 3 == 1 || k == 21 || k == 24 || k == 27) {
                row[class_of(symbol)] = 0.9;
                row[BLANK_CLASS] = 0.05;
            }
        }
        let all = grammar::sum(&rows);
        let found = repeated(&all, "K7QTM");
        assert!(
            found.steps[0].start < 3 && found.steps[1].start >= 18,
            "{found:?}"
        );
        assert!(most_repeated(&all, "K7QTM") >= found.mass);
        assert!(found.mass > 100.0 * repeated(&all, "K7QTQ").mass);
    }
}
