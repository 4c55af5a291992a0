//! Finds the operator's own call sign where nobody gave it: a sign that he keeps saying,
//! and that his contacts seldom say. Otherwise it would be taken for a station that was
//! worked.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::heard::HeardSign;
use crate::sign_distance::is_part_of;
use crate::{AssemblyInput, DriveOver, OverDirection};

/// An own sign is said in so many transmissions, as a sum of probabilities (our choice).
const LEAST_OWN_MENTIONS: f64 = 1.5;
/// A sign with less than this, sent and received together, may be a mishearing.
const LEAST_STATION_MENTIONS: f64 = 0.6;
/// Signs that are said within this time belong to one contact, in seconds (our choice).
const ONE_CONTACT_S: f64 = 120.0;
/// Without any other sign, an own one is said over at least this time, in seconds: no
/// contact is so long (our choice).
const LONGER_THAN_CONTACT_S: f64 = 900.0;
/// In a single contact the own sign is said that much more by the operator, and the other
/// station's that much less, as a difference of sums of probabilities (our choice).
const LEAST_OWN_CONTRAST: f64 = 1.5;

/// The drive with the operator's own call sign: as it is given, or, where nobody gave one,
/// the sign that he is heard to say as his own.
pub(crate) fn with_own_sign(drive: &AssemblyInput) -> Cow<'_, AssemblyInput> {
    if drive.own.is_some() {
        return Cow::Borrowed(drive);
    }
    match said_as_own(drive) {
        Some(own) => Cow::Owned(AssemblyInput {
            own: Some(own),
            ..drive.clone()
        }),
        None => Cow::Borrowed(drive),
    }
}

/// A sign with its mishearings.
struct SignTally<'a> {
    text: &'a str,
    /// In how many transmissions it was said, as a sum of probabilities.
    sent: f64,
    /// The same of what came back.
    received: f64,
    /// Middles of the transmissions in which it was said, seconds.
    sent_s: Vec<f64>,
    /// Middles of all overs in which it was said.
    said_s: Vec<f64>,
}

impl SignTally<'_> {
    /// How much more the operator says it than others do.
    fn lean(&self) -> f64 {
        self.sent - self.received
    }

    /// Whether it is said in one contact with another sign.
    fn meets(&self, other: &Self) -> bool {
        let near = |at: &f64| {
            let mut others = other.said_s.iter();
            others.any(|other| (other - at).abs() <= ONE_CONTACT_S)
        };
        self.sent_s.iter().any(near)
    }
}

fn said_as_own(drive: &AssemblyInput) -> Option<String> {
    let signs = signs(drive);
    let somebody = |sign: &&SignTally<'_>| sign.sent + sign.received >= LEAST_STATION_MENTIONS;
    let others = |own: &SignTally<'_>| -> Vec<&SignTally<'_>> {
        let other = |sign: &&SignTally<'_>| sign.text != own.text;
        signs.iter().filter(somebody).filter(other).collect()
    };
    let is_own = |own: &&SignTally<'_>| {
        let others = others(own);
        let met: Vec<&&SignTally<'_>> = others.iter().filter(|other| own.meets(other)).collect();
        let most = others.iter().all(|other| own.lean() > other.lean());
        own.sent >= LEAST_OWN_MENTIONS
            && own.lean() > 0.0
            && most
            && match met.len() {
                0 => others.is_empty() && spread_s(own) >= LONGER_THAN_CONTACT_S,
                1 => own.lean() - met[0].lean() >= LEAST_OWN_CONTRAST,
                _ => true,
            }
    };
    signs.iter().find(is_own).map(|own| own.text.to_owned())
}

/// From the first to the last transmission in which it was said.
fn spread_s(sign: &SignTally<'_>) -> f64 {
    let first = sign.sent_s.iter().copied().fold(f64::INFINITY, f64::min);
    let last = sign
        .sent_s
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    last - first
}

/// The signs of a drive, each with what is no more than a letter away from it.
fn signs(drive: &AssemblyInput) -> Vec<SignTally<'_>> {
    let mut sums: BTreeMap<&str, f64> = BTreeMap::new();
    for (text, p) in drive.overs.iter().flat_map(heard).flat_map(candidates) {
        *sums.entry(text).or_default() += p;
    }
    let mut texts = Vec::new();
    // The one that explains most of what is left, then the next; itself counts most.
    while let Some(best) = sums
        .keys()
        .map(|text| (*text, explained(&sums, text)))
        .max_by(|one, other| one.1.total_cmp(&other.1).then_with(|| other.0.cmp(one.0)))
    {
        sums.retain(|text, _| !is_part_of(text, best.0));
        texts.push(best.0);
    }
    texts.into_iter().map(|text| sign(drive, text)).collect()
}

/// How much of what was said is this sign, or no more than a letter away from it.
fn explained(sums: &BTreeMap<&str, f64>, text: &str) -> f64 {
    let alike = sums.iter().filter(|(other, _)| is_part_of(other, text));
    alike.map(|(_, p)| p).sum::<f64>() + sums.get(text).copied().unwrap_or_default()
}

fn sign<'a>(drive: &AssemblyInput, text: &'a str) -> SignTally<'a> {
    let mut sign = SignTally {
        text,
        sent: 0.0,
        received: 0.0,
        sent_s: Vec::new(),
        said_s: Vec::new(),
    };
    for over in &drive.overs {
        // Said twice in one over is still one over.
        let said = heard(over).map(|said| -> f64 {
            let alike = candidates(said).filter(|(other, _)| is_part_of(other, text));
            alike.map(|(_, p)| p).sum()
        });
        let p = said.fold(0.0, f64::max);
        if p < 0.3 {
            continue;
        }
        let middle_s = (over.start_s + over.end_s) / 2.0;
        sign.said_s.push(middle_s);
        match over.direction {
            OverDirection::Tx => {
                sign.sent += p;
                sign.sent_s.push(middle_s);
            }
            OverDirection::Rx => sign.received += p,
        }
    }
    sign
}

fn heard(over: &DriveOver) -> impl Iterator<Item = &HeardSign> {
    over.heard.iter().flat_map(|heard| &heard.signs)
}

fn candidates(said: &HeardSign) -> impl Iterator<Item = (&str, f64)> {
    said.candidates.iter().map(|(text, p)| (text.as_str(), *p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{HeardOver, SpeechActivity};
    use jumpseat_values::Span;

    /// Overs of ten seconds, `t` or `r` with the signs said in each; a number is a pause in
    /// seconds before the next.
    fn drive(given: Option<&str>, overs: &[&str]) -> AssemblyInput {
        let mut drive = AssemblyInput {
            own: given.map(str::to_owned),
            ..AssemblyInput::default()
        };
        let mut at_s = 0.0;
        for text in overs {
            let mut words = text.split(' ');
            let direction = match words.next() {
                Some("t") => OverDirection::Tx,
                Some("r") => OverDirection::Rx,
                pause => {
                    at_s += pause.unwrap().parse::<f64>().unwrap();
                    continue;
                }
            };
            let span = Span::new(at_s, at_s + 10.0);
            let sign = |word: &str| HeardSign {
                candidates: word
                    .split(',')
                    .zip([0.9, 0.05])
                    .map(|(text, p)| (text.to_owned(), p))
                    .collect(),
                spans: vec![span],
            };
            drive.overs.push(DriveOver {
                direction,
                start_s: span.start_s,
                end_s: span.end_s,
                activity: SpeechActivity::Found(vec![span]),
                heard: Some(HeardOver {
                    signs: words.map(sign).collect(),
                    ..HeardOver::default()
                }),
            });
            at_s += 10.0;
        }
        drive.length_s = at_s;
        drive
    }

    #[track_caller]
    fn check(given: Option<&str>, overs: &[&str], wanted: Option<&str>) {
        let drive = drive(given, overs);
        assert_eq!(with_own_sign(&drive).own.as_deref(), wanted, "{overs:?}");
    }

    #[test]
    fn the_own_sign_is_the_one_given_or_the_one_that_is_said_with_several_others() {
        let several = [
            "t W7QTM",
            "t KB0QSE W7QTM",
            "r W7QTM KB0QSE",
            "300",
            "t N0QRD W7QTM",
            "r W7QTM N0QRD",
        ];
        check(None, &several, Some("W7QTM"));
        check(Some("K7QRZ"), &several, Some("K7QRZ"));
        // Every time misheard in another way, after 'de'.
        let misheard = [
            "t KB0QSE EW7QTM,W7QTM",
            "r KB0QSE",
            "t KB0QSE W7QTN,W7QTM",
            "300",
            "t N0QRD W7QT,W7QTM",
            "r N0QRD",
        ];
        let found = drive(None, &misheard);
        let found = with_own_sign(&found).own.clone().unwrap();
        assert!(is_part_of(&found, "W7QTM"), "{found}");
        // Most transmissions are without it, and name the other station.
        let seldom = [
            "t KB0QSE",
            "r KB0QSE",
            "t KB0QSE",
            "r KB0QSE",
            "t KB0QSE W7QTM",
            "r KB0QSE",
            "300",
            "t N0QRD",
            "r N0QRD",
            "t N0QRD W7QTM",
            "r N0QRD",
            "t N0QRD",
            "r N0QRD",
        ];
        check(None, &seldom, Some("W7QTM"));
    }

    #[test]
    fn of_a_single_contact_the_sign_is_his_that_others_seldom_say() {
        check(
            None,
            &[
                "t W7QTM",
                "t W7QTM",
                "r W7QTM KB0QSE",
                "t KB0QSE W7QTM",
                "r KB0QSE",
            ],
            Some("W7QTM"),
        );
        // Each says both, or the other station is not heard: it may be either's.
        check(None, &["t KB0QSE W7QTM", "r W7QTM KB0QSE"], None);
        check(None, &["t KB0QSE", "r", "t KB0QSE", "r", "t KB0QSE"], None);
        check(None, &["t KB0QSE", "r KB0QSE", "t KB0QSE"], None);
    }

    #[test]
    fn a_station_that_is_called_is_not_the_operator() {
        check(
            None,
            &["t KB0QSE", "600", "t N0QRD", "600", "t K7QRZ"],
            None,
        );
        check(None, &["t KB0QSE W7QTM"], None);
        check(None, &[], None);
        // Nobody else for a long time: he calls in vain.
        check(
            None,
            &["t W7QTM", "900", "t W7QTM", "t W7QTM"],
            Some("W7QTM"),
        );
    }
}
