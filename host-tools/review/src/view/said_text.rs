//! What was said in a stretch of an over, as text.

use jumpseat_entries::{OverTranscript, SaidWord};

/// The words of one direction that begin between two times, in order.
pub(crate) fn said(overs: &[OverTranscript], sent: bool, from_s: f64, to_s: f64) -> Vec<SaidWord> {
    let direction = if sent { "tx" } else { "rx" };
    let overs = overs.iter().filter(|over| over.direction == direction);
    let words = overs.flat_map(|over| &over.words);
    words
        .filter(|word| (from_s..to_s).contains(&word.span_s.0))
        .cloned()
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn over(direction: &str, words: &[(&str, f64)]) -> OverTranscript {
        OverTranscript {
            direction: direction.into(),
            start_s: 10.0,
            end_s: 20.0,
            words: words
                .iter()
                .map(|&(text, at_s)| SaidWord {
                    text: text.into(),
                    span_s: (at_s, at_s + 0.5),
                    probability: 0.9,
                })
                .collect(),
        }
    }

    #[test]
    fn a_word_stands_in_one_strip() {
        let words = [("one", 10.0), ("two", 14.8), ("three", 15.0)];
        let overs = [over("rx", &words), over("tx", &[("sent", 12.0)])];
        for (sent, from_s, to_s, expected) in [
            (false, 8.0, 15.0, "one two"),
            (false, 15.0, 20.0, "three"),
            (true, 8.0, 20.0, "sent"),
            (true, 13.0, 20.0, ""),
        ] {
            let words = said(&overs, sent, from_s, to_s);
            let texts: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
            assert_eq!(texts.join(" "), expected);
        }
    }
}
