//! Chooses the parts of a recording that the model is given: speech with a margin around it.

/// Kept before and after speech, in seconds: the detector may miss the first or
/// last letter of a fading voice.
const SPEECH_MARGIN_S: f64 = 1.6;
/// Speech that is interrupted for less than this is one stretch, in seconds.
const JOINED_PAUSE_S: f64 = 2.0 * SPEECH_MARGIN_S;
/// Longest stretch, in seconds. Longer talk is split at its widest gap.
pub(crate) const LONGEST_STRETCH_S: f64 = 240.0;

/// Stretches to hear, for `speech` found in a recording of `length_s` seconds: pairs of
/// first and last second, in order, at most four minutes each.
pub fn stretches_around(speech: &[(f64, f64)], length_s: f64) -> Vec<(f64, f64)> {
    let mut out: Vec<(f64, f64)> = Vec::new();
    let mut group: Vec<(f64, f64)> = Vec::new();
    let close = |group: &mut Vec<(f64, f64)>, out: &mut Vec<(f64, f64)>| {
        if let (Some(first), Some(last)) = (group.first(), group.last()) {
            let from_s = (first.0 - SPEECH_MARGIN_S).max(out.last().map_or(0.0, |o| o.1));
            let mut at_s = from_s;
            let to_s = (last.1 + SPEECH_MARGIN_S).min(length_s);
            while to_s - at_s > LONGEST_STRETCH_S {
                out.push((at_s, at_s + LONGEST_STRETCH_S));
                at_s += LONGEST_STRETCH_S;
            }
            out.push((at_s, to_s));
        }
        group.clear();
    };
    for &(from_s, to_s) in speech {
        let joins = group
            .last()
            .is_some_and(|last| from_s - last.1 < JOINED_PAUSE_S);
        if !joins {
            close(&mut group, &mut out);
        }
        group.push((from_s, to_s));
        if to_s - group[0].0 > LONGEST_STRETCH_S && group.len() > 1 {
            let widest = widest_gap(&group);
            let rest = group.split_off(widest);
            close(&mut group, &mut out);
            group = rest;
        }
    }
    close(&mut group, &mut out);
    out
}

/// Index of the span before which the pause is longest.
fn widest_gap(group: &[(f64, f64)]) -> usize {
    let gap = |k: &usize| group[*k].0 - group[k - 1].1;
    (1..group.len())
        .max_by(|a, b| gap(a).total_cmp(&gap(b)))
        .unwrap_or(group.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(speech: &[(f64, f64)], length_s: f64, wanted: &[(f64, f64)]) {
        let got = stretches_around(speech, length_s);
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
        let same = got.len() == wanted.len()
            && got
                .iter()
                .zip(wanted)
                .all(|(g, w)| near(g.0, w.0) && near(g.1, w.1));
        assert!(same, "{got:?} {wanted:?}");
    }

    #[test]
    fn speech_has_a_margin_and_short_pauses_are_kept() {
        check(&[], 10.0, &[]);
        check(&[(0.1, 2.0)], 2.1, &[(0.0, 2.1)]);
        check(&[(2.0, 3.0), (5.0, 6.0)], 10.0, &[(0.4, 7.6)]);
        check(&[(2.0, 3.0), (7.0, 8.0)], 10.0, &[(0.4, 4.6), (5.4, 9.6)]);
    }

    #[test]
    fn long_talk_is_parted_at_its_widest_gap_and_overlaps_nowhere() {
        check(
            &[(2.0, 100.0), (103.0, 200.0), (200.5, 260.0)],
            300.0,
            &[(0.4, 101.6), (101.6, 261.6)],
        );
        check(
            &[(0.0, 500.0)],
            500.0,
            &[(0.0, 240.0), (240.0, 480.0), (480.0, 500.0)],
        );
    }
}
