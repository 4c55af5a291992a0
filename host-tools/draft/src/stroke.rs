//! What stands before and after the stroke of a call sign: the country that a visitor is
//! in, and whether the station is mobile or portable (ITU Radio Regulations Article 19
//! leaves both to the administrations; what is said is common practice).
//!
//! Without a stroke 'mobile' and 'portable' are a remark, and no part of the sign.

use jumpseat_vocabulary::WordSense;
use std::collections::BTreeMap;

use jumpseat_place::callsign::{is_allocated, is_prefix};

use crate::drive::AssemblyInput;
use crate::heard::HeardWord;
use crate::over_stretch::OverStretch;

/// A word belongs to a sign that begins or ends within this time of it, in seconds.
const STROKE_NEAR_S: f64 = 0.9;
/// Letters of a prefix follow one another within this time, from start to start.
const PREFIX_RUN_S: f64 = 0.9;
/// A sign's end is known so well: the stroke may begin so long before it, in seconds.
const END_DOUBT_S: f64 = 0.6;
/// What is spelled after a stroke besides figures and prefixes (common practice).
const SPELLED_ADDITIONS: [&str; 6] = ["QRP", "MM", "AM", "M", "P", "A"];

/// What was said with the sign in one place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(crate) struct SpokenAddition {
    /// Such as "VE3", before a stroke.
    pub(crate) before: Option<String>,
    /// What stands after a stroke, such as "M", "MM", "5" or "VE3"; "5/P" after two.
    pub(crate) after: Option<String>,
}

/// The most probable addition to a sign over all its mentions, with its probability.
pub(crate) fn addition(drive: &AssemblyInput, mentions: &[OverStretch]) -> (SpokenAddition, f64) {
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
    if let Some(after) = &addition.after {
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
        if is_spoken_prefix(text.as_bytes()) {
            found = (Some(text.clone()), sure);
        }
    }
    found
}

/// Whether it is a prefix as it is said before a stroke, with at most one figure behind it,
/// and of an allocated series.
fn is_spoken_prefix(text: &[u8]) -> bool {
    let short = match text {
        [_, _, last] => last.is_ascii_digit(),
        _ => text.len() < 3,
    };
    short && is_prefix(text) && is_allocated(text)
}

/// What follows a stroke right after `end_s`, and a second stroke right after that.
fn after(words: &[HeardWord], end_s: f64) -> (Option<String>, f64) {
    let near = |word: &HeardWord| {
        word.means(WordSense::Stroke)
            && (-END_DOUBT_S..STROKE_NEAR_S).contains(&(word.span.start_s - end_s))
    };
    let Some(stroke) = words.iter().position(near) else {
        return (None, 0.0);
    };
    let run = run_after(&words[stroke..]);
    let Some((mut text, size)) = said_after_stroke(run) else {
        return (None, 0.0);
    };
    let mut said = size + 1;
    let (second, rest) = (run.get(size), run.get(said..).unwrap_or(&[]));
    if second.is_some_and(|word| word.means(WordSense::Stroke))
        && let Some((more, size)) = said_after_stroke(rest)
    {
        text = format!("{text}/{more}");
        said += size + 1;
    }
    let heard = words[stroke..].iter().take(said);
    (Some(text), heard.map(|word| word.probability).product())
}

/// The words that follow the first of `words` without a pause.
fn run_after(words: &[HeardWord]) -> &[HeardWord] {
    let pairs = words.windows(2);
    let close = |pair: &&[HeardWord]| pair[1].span.start_s - pair[0].span.start_s <= PREFIX_RUN_S;
    let count = pairs.take_while(close).count();
    words.get(1..=count).unwrap_or(&[])
}

/// What the words right after a stroke add to the sign, and how many of them do.
fn said_after_stroke(run: &[HeardWord]) -> Option<(String, usize)> {
    let sense = |at: usize| run.get(at).and_then(HeardWord::sense);
    let (text, size) = match (sense(0), sense(1)) {
        (Some(WordSense::Maritime), Some(WordSense::Mobile)) => ("MM", 2),
        (Some(WordSense::Maritime), _) => ("MM", 1),
        (Some(WordSense::Aeronautical), Some(WordSense::Mobile)) => ("AM", 2),
        (Some(WordSense::Aeronautical), _) => ("AM", 1),
        (Some(WordSense::Mobile), _) => ("M", 1),
        (Some(WordSense::Portable), _) => ("P", 1),
        (Some(WordSense::LowPower), _) => ("QRP", 1),
        _ => return spelled_after_stroke(run),
    };
    Some((text.to_owned(), size))
}

/// The same of letters and figures: an addition, a call area, or a prefix. What stands in a
/// longer run of figures is a report.
fn spelled_after_stroke(run: &[HeardWord]) -> Option<(String, usize)> {
    let symbols = run.iter().take_while(|word| word.symbol.len() == 1);
    let text: String = symbols.map(|word| word.symbol.as_str()).collect();
    let part = |size: &usize| text.get(..*size);
    let known = |size: &usize| part(size).is_some_and(|text| SPELLED_ADDITIONS.contains(&text));
    let prefix = |size: &usize| {
        let ends = text
            .as_bytes()
            .get(*size)
            .is_none_or(u8::is_ascii_alphabetic);
        let is_area = *size == 1 && text.as_bytes().first().is_some_and(u8::is_ascii_digit);
        ends && part(size).is_some_and(|text| is_area || is_spoken_prefix(text.as_bytes()))
    };
    let sizes = || (1..=3.min(text.len())).rev();
    let size = sizes().find(known).or_else(|| sizes().find(prefix))?;
    Some((text[..size].to_owned(), size))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{DriveOver, HeardOver, OverDirection, SpeechActivity};
    use jumpseat_values::Span;

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
                    mentions.push(OverStretch {
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
        check(&["* stroke mobile"], "KB0QSE/M");
        check(&["* slash portable over", "*"], "KB0QSE/P");
        check(&["V E 3 stroke * stroke portable"], "VE3/KB0QSE/P");
        check(&["* stroke maritime mobile over"], "KB0QSE/MM");
        check(&["* stroke aeronautical mobile"], "KB0QSE/AM");
        check(&["* stroke M M over"], "KB0QSE/MM");
        check(&["* stroke qrp"], "KB0QSE/QRP");
        check(&["* slash P you are 5 9"], "KB0QSE/P");
        check(&["* stroke M 5 9"], "KB0QSE/M");
        check(&["* stroke 5 over"], "KB0QSE/5");
        check(&["* stroke 5 stroke P"], "KB0QSE/5/P");
        check(&["* stroke V E 3 over"], "KB0QSE/VE3");
        check(&["* stroke Q R P"], "KB0QSE/QRP");
        // No letters, no allocation, too far away.
        check(&["name stroke *"], "KB0QSE");
        check(&["stroke five nine nine over *"], "KB0QSE");
        check(&["* over over over stroke mobile"], "KB0QSE");
        check(&["* stroke 5 9 over"], "KB0QSE");
        check(&["* stroke over"], "KB0QSE");
    }

    #[test]
    fn without_a_stroke_it_is_a_remark() {
        check(&["* portable over", "*"], "KB0QSE");
        check(&["* mobile"], "KB0QSE");
        check(&["* maritime mobile"], "KB0QSE");
        check(&["V E 3 stroke * portable 5"], "VE3/KB0QSE");
    }
}
