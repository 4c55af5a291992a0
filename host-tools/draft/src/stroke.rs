//! What stands before and after the stroke of a call sign: the country that a visitor is
//! in, and whether the station is mobile or portable (ITU Radio Regulations Article 19
//! leaves both to the administrations; what is said is common practice).

use jumpseat_vocabulary::WordSense;
use std::collections::BTreeMap;

use jumpseat_place::callsign::is_allocated;

use crate::heard::HeardWord;
use crate::{AssemblyInput, Evidence};

/// A word belongs to a sign that begins or ends within this time of it, in seconds.
const STROKE_NEAR_S: f64 = 0.9;
/// Letters of a prefix follow one another within this time, from start to start.
const PREFIX_RUN_S: f64 = 0.9;

/// What was said with the sign in one place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(crate) struct SpokenAddition {
    /// Such as "VE3", before a stroke.
    pub(crate) before: Option<String>,
    /// "M" or "P".
    pub(crate) after: Option<&'static str>,
}

/// The most probable addition to a sign over all its mentions, with its probability.
pub(crate) fn addition(drive: &AssemblyInput, mentions: &[Evidence]) -> (SpokenAddition, f64) {
    // Those that were not heard with it each time may still belong to it: operators
    // drop them when they repeat a sign.
    let mut not: BTreeMap<SpokenAddition, f64> = BTreeMap::new();
    let mut plain = 1.0;
    for mention in mentions {
        let heard = drive
            .overs
            .get(mention.over)
            .and_then(|over| over.heard.as_ref());
        let words = heard.map_or(&[][..], |heard| &heard.words);
        let (before, sure_before) = before(words, mention.start_s);
        let (after, sure_after) = after(words, mention.end_s);
        if before.is_none() && after.is_none() {
            plain *= 0.7;
            continue;
        }
        let sure = if before.is_some() { sure_before } else { 1.0 }
            * if after.is_some() { sure_after } else { 1.0 };
        *not.entry(SpokenAddition { before, after }).or_insert(1.0) *= 1.0 - sure.clamp(0.0, 0.98);
    }
    let odds = |not: f64| (1.0 - not) / not;
    let total: f64 = 1.0 + odds(plain) * 0.2 + not.values().map(|not| odds(*not)).sum::<f64>();
    let best = not
        .into_iter()
        .min_by(|one, other| one.1.total_cmp(&other.1));
    match best {
        Some((addition, not)) if odds(not) / total >= 0.5 => (addition, odds(not) / total),
        Some((_, not)) => (SpokenAddition::default(), 1.0 - odds(not) / total),
        None => (SpokenAddition::default(), 1.0),
    }
}

/// `sign` with what was said before and after its stroke.
pub(crate) fn with(addition: &SpokenAddition, sign: &str) -> String {
    let mut text = String::new();
    if let Some(before) = &addition.before {
        text.push_str(before);
        text.push('/');
    }
    text.push_str(sign);
    if let Some(after) = addition.after {
        text.push('/');
        text.push_str(after);
    }
    text
}

/// Letters and figures, then 'stroke', right before `start_s`.
fn before(words: &[HeardWord], start_s: f64) -> (Option<String>, f64) {
    let stroke = words.iter().position(|word| {
        word.means(WordSense::Stroke)
            && (0.0..STROKE_NEAR_S).contains(&(start_s - word.span.start_s))
    });
    let Some(stroke) = stroke else {
        return (None, 0.0);
    };
    let mut text = String::new();
    let mut sure = words[stroke].probability;
    let mut found = (None, 0.0);
    let mut next_s = words[stroke].span.start_s;
    for word in words[..stroke].iter().rev().take(4) {
        if word.symbol.len() != 1 || next_s - word.span.start_s > PREFIX_RUN_S {
            break;
        }
        next_s = word.span.start_s;
        text.insert_str(0, &word.symbol);
        sure *= word.probability;
        if is_prefix(text.as_bytes()) {
            found = (Some(text.clone()), sure);
        }
    }
    found
}

/// One or two letters, or a letter and a figure in either order, with at most one figure
/// behind, that an administration was given.
fn is_prefix(text: &[u8]) -> bool {
    let form = match text {
        [one] => one.is_ascii_uppercase(),
        [one, two] => one.is_ascii_uppercase() || two.is_ascii_uppercase(),
        [one, two, three] => {
            (one.is_ascii_uppercase() || two.is_ascii_uppercase()) && three.is_ascii_digit()
        }
        _ => false,
    };
    form && is_allocated(text)
}

/// 'mobile' or 'portable', with or without 'stroke', right after `end_s`.
fn after(words: &[HeardWord], end_s: f64) -> (Option<&'static str>, f64) {
    let follows = |word: &&HeardWord| {
        (-0.6..STROKE_NEAR_S).contains(&(word.span.start_s - end_s))
            && !word.means(WordSense::Stroke)
    };
    let spoken = words.iter().filter(follows).find_map(|word| {
        let letter = match word.sense()? {
            WordSense::Mobile => "M",
            WordSense::Portable => "P",
            _ => return None,
        };
        Some((letter, word.probability))
    });
    spoken.map_or((None, 0.0), |(letter, sure)| (Some(letter), sure))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{DriveOver, HeardOver, OverDirection, Span, SpeechActivity};

    /// Words half a second apart; the sign stands where `*` is, for two seconds.
    #[track_caller]
    fn check(said: &[&str], wanted: &str) {
        let mut overs = Vec::new();
        let mut mentions = Vec::new();
        for text in said {
            let mut at_s = 0.0;
            let mut words = Vec::new();
            for word in text.split(' ') {
                if word == "*" {
                    mentions.push(Evidence {
                        over: overs.len(),
                        start_s: at_s,
                        end_s: at_s + 2.0,
                    });
                    at_s += 2.0;
                }
                let symbol = if word.len() == 1 { word } else { "" };
                words.push(HeardWord {
                    word: word.to_lowercase(),
                    symbol: symbol.trim_matches('*').to_owned(),
                    is_name: false,
                    span: Span::new(at_s, at_s + 0.4),
                    probability: 0.95,
                });
                at_s += if word == "*" { 0.0 } else { 0.5 };
            }
            overs.push(DriveOver {
                direction: OverDirection::Rx,
                start_s: 0.0,
                end_s: at_s,
                activity: SpeechActivity::Found(Vec::new()),
                heard: Some(HeardOver {
                    words,
                    ..HeardOver::default()
                }),
            });
        }
        let drive = AssemblyInput {
            overs,
            ..AssemblyInput::default()
        };
        let (found, probability) = addition(&drive, &mentions);
        assert_eq!(with(&found, "KB0QSE"), wanted, "{said:?}");
        assert!((0.0..=1.0).contains(&probability));
    }

    #[test]
    fn what_stands_before_and_after_the_stroke() {
        check(&["this is *"], "KB0QSE");
        check(&["this is V E 3 stroke *"], "VE3/KB0QSE");
        check(&["Q T M D L stroke *", "D L stroke *", "*"], "DL/KB0QSE");
        check(&["F stroke * over"], "F/KB0QSE");
        check(&["* portable over", "*"], "KB0QSE/P");
        check(&["* stroke mobile"], "KB0QSE/M");
        check(&["V E 3 stroke * portable"], "VE3/KB0QSE/P");
        // No letters, no allocation, too far away.
        check(&["name stroke *"], "KB0QSE");
        check(&["stroke five nine nine over *"], "KB0QSE");
        check(&["* over over over mobile"], "KB0QSE");
    }
}
