//! Joins two views of one stretch: what is heard in both is more probable.
//!
//! The model errs differently when the same words are played slower; the mean of the
//! probabilities is right more often than either.

use std::ops::Range;

use crate::signs::DetectedSign;

/// How fast a stretch is played that is heard a second time.
pub(crate) const SLOWED_TEMPO: f64 = 0.94;
/// Heard a second time with a sign, before and after it, in steps: 2 s. The model hears a word
/// by what is said around it.
const SURROUNDINGS_STEPS: usize = 50;

/// The steps that are worth hearing a second time, of a stretch of `length` steps with the
/// signs `found`: those around every sign in doubt. In order, and apart from each other.
pub(crate) fn around_doubtful(found: &[DetectedSign], length: usize) -> Vec<Range<usize>> {
    let doubtful = found.iter().filter(|sign| sign.is_in_doubt());
    let mut around: Vec<Range<usize>> = doubtful
        .flat_map(|sign| &sign.steps)
        .map(|steps| {
            let end = length.min(steps.end + SURROUNDINGS_STEPS);
            steps.start.saturating_sub(SURROUNDINGS_STEPS).min(end)..end
        })
        .collect();
    around.sort_by_key(|steps| steps.start);
    let mut out: Vec<Range<usize>> = Vec::new();
    for steps in around {
        match out.last_mut() {
            Some(last) if steps.start <= last.end => last.end = last.end.max(steps.end),
            _ => out.push(steps),
        }
    }
    out
}

/// Where these steps are in the stretch played slower.
pub(crate) fn slowed_steps(steps: &Range<usize>) -> Range<usize> {
    let slower = |step: usize| (step as f64 / SLOWED_TEMPO) as usize;
    slower(steps.start)..slower(steps.end)
}

/// The signs `plain` of a stretch, those that lie within the steps `twice` together with those
/// found there a second time, when it was played slower. A sign at the edge of what was heard
/// again was cut there, and stays as it was heard whole.
pub(crate) fn joined(
    plain: Vec<DetectedSign>,
    twice: &[Range<usize>],
    slowed: Vec<DetectedSign>,
) -> Vec<DetectedSign> {
    let within = |a: &Range<usize>| twice.iter().any(|b| b.start <= a.start && a.end <= b.end);
    let (seen, whole): (Vec<_>, Vec<_>) = plain
        .into_iter()
        .partition(|found| found.steps.iter().all(within));
    let again = slowed
        .into_iter()
        .map(|found| in_plain_steps(found, SLOWED_TEMPO))
        .filter(|found| whole.iter().all(|one| shared(one, found) == 0))
        .collect();
    let mut out = together(seen, again);
    out.extend(whole);
    out.sort_by_key(|found| found.steps[0].start);
    out
}

/// A sign of the stretch played slower, a step of which is `tempo` steps of the stretch.
fn in_plain_steps(mut found: DetectedSign, tempo: f64) -> DetectedSign {
    let at = |step: usize| (step as f64 * tempo) as usize;
    for steps in &mut found.steps {
        *steps = at(steps.start)..at(steps.end);
    }
    found
}

/// The mean of two lists of signs in the same steps.
fn together(plain: Vec<DetectedSign>, again: Vec<DetectedSign>) -> Vec<DetectedSign> {
    let halved = |mut found: DetectedSign| {
        found.alternatives.iter_mut().for_each(|(_, p)| *p /= 2.0);
        found
    };
    let mut out: Vec<DetectedSign> = plain.into_iter().map(halved).collect();
    for other in again.into_iter().map(halved) {
        match out.iter_mut().max_by_key(|one| shared(one, &other)) {
            Some(one) if shared(one, &other) > 0 => add(one, other),
            _ => out.push(other),
        }
    }
    out
}

/// Steps that two signs have in common.
fn shared(one: &DetectedSign, other: &DetectedSign) -> usize {
    let both =
        |a: &Range<usize>, b: &Range<usize>| a.end.min(b.end).saturating_sub(a.start.max(b.start));
    one.steps
        .iter()
        .flat_map(|a| other.steps.iter().map(move |b| both(a, b)))
        .sum()
}

fn add(one: &mut DetectedSign, other: DetectedSign) {
    for (sign, p) in other.alternatives {
        match one.alternatives.iter_mut().find(|(s, _)| *s == sign) {
            Some((_, sum)) => *sum += p,
            None => one.alternatives.push((sign, p)),
        }
    }
    one.alternatives.sort_by(|a, b| b.1.total_cmp(&a.1));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(start: usize, end: usize, said: &[(&str, f64)]) -> DetectedSign {
        DetectedSign {
            alternatives: said.iter().map(|(s, p)| (s.to_string(), *p)).collect(),
            steps: std::iter::once(start..end).collect(),
        }
    }

    #[test]
    fn what_both_views_say_is_first() {
        let plain = vec![
            found(10, 40, &[("W7QTQ", 0.5), ("W7QTM", 0.4)]),
            found(90, 120, &[("KB0QSE", 0.8)]),
        ];
        let slowed = found(20, 80, &[("W7QTM", 0.6), ("W8QTM", 0.2)]);
        let got = together(plain, vec![in_plain_steps(slowed, 0.5)]);
        assert_eq!(got.len(), 2);
        assert_eq!(got[0].alternatives[0], ("W7QTM".to_string(), 0.5));
        assert_eq!(got[1].alternatives, [("KB0QSE".to_string(), 0.4)]);
    }

    #[track_caller]
    fn check_around(signs: &[(usize, usize, f64)], length: usize, wanted: &[Range<usize>]) {
        let signs = signs
            .iter()
            .map(|(a, b, p)| found(*a, *b, &[("W7QTM", *p)]));
        assert_eq!(around_doubtful(&signs.collect::<Vec<_>>(), length), wanted);
    }

    #[test]
    fn the_surroundings_of_doubtful_signs_are_heard_again_and_no_others() {
        check_around(&[], 900, &[]);
        check_around(&[(100, 150, 0.99), (300, 350, 0.01)], 900, &[]);
        check_around(
            &[(100, 150, 0.5), (600, 650, 0.9)],
            660,
            &[50..200, 550..660],
        );
        let near = [(20, 60, 0.5), (150, 190, 0.5), (400, 450, 0.5)];
        check_around(&near, 900, &[0..240, 350..500]);
    }

    #[test]
    fn a_sign_that_was_heard_once_keeps_its_probability() {
        let plain = vec![
            found(10, 40, &[("KB0QSE", 0.99)]),
            found(400, 430, &[("W7QTM", 0.5)]),
        ];
        let again = vec![found(425, 457, &[("W7QTM", 0.7)])];
        let got = joined(plain, &[200..240, 350..480], again);
        let first: Vec<_> = got.iter().map(|f| f.alternatives[0].clone()).collect();
        assert_eq!(first, [("KB0QSE".into(), 0.99), ("W7QTM".into(), 0.6)]);
    }

    #[test]
    fn a_sign_cut_by_what_is_heard_again_stays_as_it_was_heard_whole() {
        let plain = vec![
            found(100, 150, &[("W7QTM", 0.5)]),
            found(180, 260, &[("KB0QSE", 0.99)]),
        ];
        let cut = found(192, 212, &[("KB0Q", 0.4)]);
        let again = vec![found(107, 159, &[("W7QTM", 0.7)]), cut];
        let got = joined(plain, &[50..200, 700..800], again);
        let first: Vec<_> = got.iter().map(|f| f.alternatives[0].clone()).collect();
        assert_eq!(first, [("W7QTM".into(), 0.6), ("KB0QSE".into(), 0.99)]);
    }

    #[test]
    fn a_sign_of_one_view_alone_is_kept_at_half() {
        let got = together(Vec::new(), vec![found(10, 40, &[("W7QTM", 0.6)])]);
        assert_eq!(got, [found(10, 40, &[("W7QTM", 0.3)])]);
    }
}
