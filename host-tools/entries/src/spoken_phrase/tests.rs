use super::*;

/// An over of words half a second apart, with a long pause at every `/`.
fn over(text: &str) -> Vec<SaidWord> {
    let mut at_s = 0.0;
    let mut words = Vec::new();
    for text in text.split_whitespace() {
        if text == "/" {
            at_s += 5.0;
            continue;
        }
        words.push(SaidWord {
            text: text.to_owned(),
            span_s: (at_s, at_s + 0.4),
            probability: 0.9,
        });
        at_s += 0.5;
    }
    words
}

/// Looks for a phrase in what was said, where everything that is to be found stands in
/// brackets.
#[track_caller]
fn check(phrase: &str, said: &str) {
    let mut words = over(&said.replace(['[', ']'], ""));
    for hit in SearchPhrase::parse(phrase).unwrap().find(&words) {
        words[hit.start].text.insert(0, '[');
        words[hit.end - 1].text.push(']');
    }
    let found: Vec<&str> = words.iter().map(|word| word.text.as_str()).collect();
    let wanted = said.replace("/ ", "");
    assert_eq!(found.join(" "), wanted, "'{phrase}'");
}

#[test]
fn whole_words_are_found_in_their_order() {
    check("antenna", "my [antenna] is an antennas of [antenna] farms");
    check("ANTENNA", "my [antenna] is high");
    check("Antenna is", "my [antenna is] high");
    check("antenna high", "my antenna is high");
    check("is antenna", "my antenna is high");
    check("high", "my antenna is [high]");
    check("high up", "my antenna is high");
    check("ten", "my antenna is high");
    check("antenna", "");
}

#[test]
fn a_star_stands_for_any_end() {
    check("anten*", "my [antenna] and the [antennas] sing");
    check("antenna*", "my [antenna] and the [antennas] sing");
    check("the ant* sing", "my antenna and [the antennas sing]");
    check("tenn*", "my antenna");
}

#[test]
fn a_hit_is_not_found_twice_and_none_is_missed() {
    check("no no", "[no no] no");
    check("no no", "[no no] [no no]");
    check("a b", "a [a b]");
}

#[test]
fn a_phrase_ends_at_a_long_pause() {
    check("good luck", "very good / luck has it");
    check("good luck", "very [good luck] / has it");
    let sentences = spoken_sentences(&over("a b / c"));
    assert_eq!(sentences, [0..2, 2..3]);
    assert!(spoken_sentences(&[]).is_empty());
}

#[test]
fn punctuation_makes_no_difference() {
    check("don’t", "i [don't] know");
    check("I'm here!", "well [i'm here]");
    check("hi-fi", "a [hi fi] rig");
    check("x", "[x-ray] [xray] [x]");
}

#[test]
fn figures_and_abbreviations_are_found_as_they_are_spoken() {
    check("73", "best [seven three] to you");
    check("73", "best [seventy three] to you");
    check("73", "best [73] to you");
    check("best 73 to", "[best seventy three to] you");
    check("12", "[twelve] of [one two]");
    check("20m", "on [two zero m]");
    check("59", "you are [five niner] here");
    check("70", "[seventy]");
    check("qsl", "[q s l] [quebec sierra lima] [qsl]");
    check("kb0qse", "[kilo bravo zero quebec sierra echo]");
    check("a", "[alpha] [a]");
    check("alpha", "[alfa] a");
}

#[track_caller]
fn refused(phrase: &str, star: bool) {
    let error = SearchPhrase::parse(phrase).unwrap_err();
    assert_eq!(matches!(error, PhraseError::Star(_)), star, "{error}");
    assert!(error.to_string().contains(phrase), "{error}");
}

#[test]
fn what_has_no_word_or_a_star_elsewhere_is_refused() {
    refused("", false);
    refused("?! --", false);
    refused("'", false);
    refused("*", true);
    refused("*tenna", true);
    refused("an*na", true);
    refused("well **", true);
}
