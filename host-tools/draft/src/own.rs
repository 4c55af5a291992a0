//! Whose drive it is, where the trip does not say.

use std::borrow::Cow;
use std::collections::HashMap;

use crate::{Direction, Drive};

/// An own sign is said in this share of the transmissions in which any sign is said.
const SHARE: f64 = 0.5;
/// And in so many of them, as a sum of probabilities.
const LEAST: f64 = 1.5;

/// The drive with the operator's own call sign: as it is given, or, where the trip has
/// none, the sign that is said in most transmissions. It would else be taken for a
/// station that was worked.
pub(crate) fn with_own_sign(drive: &Drive) -> Cow<'_, Drive> {
    match (&drive.own, most_said(drive)) {
        (None, Some(own)) => Cow::Owned(Drive {
            own: Some(own),
            ..drive.clone()
        }),
        _ => Cow::Borrowed(drive),
    }
}

fn most_said(drive: &Drive) -> Option<String> {
    let mut sums: HashMap<&str, f64> = HashMap::new();
    let mut transmissions = 0;
    let sent = drive.overs.iter().filter(|o| o.direction == Direction::Tx);
    for heard in sent.filter_map(|over| over.heard.as_ref()) {
        // Said twice in one over is still one over.
        let mut best: HashMap<&str, f64> = HashMap::new();
        for (sign, p) in heard
            .signs
            .iter()
            .filter_map(|sign| sign.candidates.first())
        {
            let most = best.entry(sign).or_default();
            *most = most.max(*p);
        }
        transmissions += usize::from(!best.is_empty());
        for (sign, p) in best {
            *sums.entry(sign).or_default() += p;
        }
    }
    let (sign, sum) = sums
        .into_iter()
        .max_by(|a, b| a.1.total_cmp(&b.1).then_with(|| b.0.cmp(a.0)))?;
    (sum >= LEAST && sum >= SHARE * transmissions as f64).then(|| sign.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Activity, Heard, HeardSign, Over, Span};

    #[track_caller]
    fn check(given: Option<&str>, said: &[&[&str]], wanted: Option<&str>) {
        let over = |signs: &&[&str]| Over {
            direction: Direction::Tx,
            start_s: 0.0,
            end_s: 5.0,
            activity: Activity::Found(Vec::new()),
            heard: Some(Heard {
                signs: signs
                    .iter()
                    .map(|sign| HeardSign {
                        candidates: vec![((*sign).to_owned(), 0.9)],
                        spans: vec![Span::new(0.0, 5.0)],
                    })
                    .collect(),
                ..Heard::default()
            }),
        };
        let drive = Drive {
            own: given.map(str::to_owned),
            overs: said.iter().map(over).collect(),
            ..Drive::default()
        };
        assert_eq!(with_own_sign(&drive).own.as_deref(), wanted);
    }

    #[test]
    fn the_own_sign_is_the_one_given_or_the_one_said_in_most_transmissions() {
        let (own, one, two): (&[&str], &[&str], &[&str]) =
            (&["W7QTM"], &["KB0QSE", "W7QTM"], &["N0QRD", "W7QTM"]);
        check(None, &[own, one, two], Some("W7QTM"));
        check(Some("K7QRZ"), &[own, one, two], Some("K7QRZ"));
        check(None, &[one], None);
        check(None, &[&["KB0QSE"], &["N0QRD"], &["K7QRZ"]], None);
        check(None, &[], None);
    }
}
