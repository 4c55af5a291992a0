//! Two views of one stretch: what is said in both is more probable.
//!
//! The model errs differently when the same words are played slower; the mean of the
//! probabilities is right more often than either.

use std::ops::Range;

use crate::signs::DetectedSign;

/// How fast a stretch is played that is heard a second time.
pub(crate) const SLOWED_TEMPO: f64 = 0.94;

/// The mean of two lists of signs in one stretch; a step of `slowed` is `tempo` steps of `plain`.
pub(crate) fn together(
    plain: Vec<DetectedSign>,
    slowed: Vec<DetectedSign>,
    tempo: f64,
) -> Vec<DetectedSign> {
    let halved = |mut found: DetectedSign| {
        found.alternatives.iter_mut().for_each(|(_, p)| *p /= 2.0);
        found
    };
    let mut out: Vec<DetectedSign> = plain.into_iter().map(halved).collect();
    for mut other in slowed.into_iter().map(halved) {
        let at = |step: usize| (step as f64 * tempo) as usize;
        for steps in &mut other.steps {
            *steps = at(steps.start)..at(steps.end);
        }
        match out.iter_mut().max_by_key(|one| shared(one, &other)) {
            Some(one) if shared(one, &other) > 0 => add(one, other),
            _ => out.push(other),
        }
    }
    out.sort_by_key(|found| found.steps[0].start);
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
        let slowed = vec![found(20, 80, &[("W7QTM", 0.6), ("W8QTM", 0.2)])];
        let got = together(plain, slowed, 0.5);
        assert_eq!(got.len(), 2);
        assert_eq!(got[0].alternatives[0], ("W7QTM".to_string(), 0.5));
        assert_eq!(got[1].alternatives, [("KB0QSE".to_string(), 0.4)]);
    }

    #[test]
    fn a_sign_of_one_view_alone_is_kept_at_half() {
        let got = together(Vec::new(), vec![found(20, 80, &[("W7QTM", 0.6)])], 0.5);
        assert_eq!(got, [found(10, 40, &[("W7QTM", 0.3)])]);
    }
}
