//! When the operator's key is down.

use crate::plan::DrivePlan;
use crate::scenario::DriveSpan;

impl DrivePlan {
    /// The key goes down and up, in order.
    pub fn key(&self) -> Vec<(f64, bool)> {
        self.key_down()
            .into_iter()
            .flat_map(|span| [(span.from_s, true), (span.to_s, false)])
            .collect()
    }

    /// When the key is down, in order of time; whoever takes the microphone while another has
    /// it holds the same key.
    pub fn key_down(&self) -> Vec<DriveSpan> {
        let overs = self.overs.iter().filter(|over| over.keys());
        let effects = self.effects.iter().filter(|effect| effect.keys());
        let overs = overs.map(|over| over.span);
        joined(overs.chain(effects.map(|effect| effect.span)).collect())
    }
}

/// Spans in order of time, those that overlap made one.
fn joined(mut spans: Vec<DriveSpan>) -> Vec<DriveSpan> {
    spans.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    let mut joined: Vec<DriveSpan> = Vec::new();
    for span in spans {
        match joined.last_mut() {
            Some(last) if span.from_s < last.to_s => last.to_s = last.to_s.max(span.to_s),
            _ => joined.push(span),
        }
    }
    joined
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(spans: &[(f64, f64)], expected: &[(f64, f64)]) {
        let [spans, expected] = [spans, expected].map(|pairs| -> Vec<DriveSpan> {
            let span = |&(from_s, to_s): &(f64, f64)| DriveSpan { from_s, to_s };
            pairs.iter().map(span).collect()
        });
        assert_eq!(joined(spans), expected);
    }

    #[test]
    fn only_spans_that_overlap_are_joined() {
        check(&[], &[]);
        check(&[(1.0, 2.0), (3.0, 4.0)], &[(1.0, 2.0), (3.0, 4.0)]);
        check(&[(1.0, 2.0), (2.0, 4.0)], &[(1.0, 2.0), (2.0, 4.0)]);
        check(&[(1.0, 3.0), (2.0, 4.0)], &[(1.0, 4.0)]);
        check(&[(2.0, 3.0), (1.0, 5.0), (4.0, 6.0)], &[(1.0, 6.0)]);
    }
}
