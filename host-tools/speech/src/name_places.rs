//! Where in a text a first name follows: after 'name is' and what else people say for it.

/// Words for a name (common practice), and with 'is' in them.
const NAME_WORDS: [&str; 5] = ["name", "handle", "operator", "op", "nickname"];
const NAME_IS_WORDS: [&str; 5] = ["name's", "handle's", "operator's", "op's", "nickname's"];
/// Words between a word for a name and its 'is', and how many there are at most.
const BETWEEN: [&str; 8] = ["here", "over", "on", "at", "this", "my", "end", "side"];
const MOST_BETWEEN: usize = 4;
/// Words between 'is' and the name; 'just' may be the beginning of Justin.
const BEFORE_NAME: [&str; 2] = ["again", "still"];

/// A place where a name follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct NamePlace {
    /// The first of the words that introduce it.
    pub(crate) introduced_at: usize,
    /// The word that is the name.
    pub(crate) at: usize,
}

/// The places among `words` where a name follows; the name itself may be missing at the end.
pub(crate) fn name_places(words: &[&str]) -> Vec<NamePlace> {
    let word = |at: usize| words.get(at).copied().unwrap_or_default();
    let after = |at: usize| {
        let mut next = at + 1;
        if NAME_WORDS.contains(&word(at)) {
            while BETWEEN.contains(&word(next)) && next <= at + MOST_BETWEEN {
                next += 1;
            }
            if !["is", "here's"].contains(&word(next)) {
                return None;
            }
            next += 1;
        } else if !NAME_IS_WORDS.contains(&word(at)) {
            return None;
        }
        while BEFORE_NAME.contains(&word(next)) {
            next += 1;
        }
        Some(NamePlace {
            introduced_at: at,
            at: next,
        })
    };
    (0..words.len()).filter_map(after).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, names: &[&str]) {
        let words: Vec<&str> = text.split(' ').collect();
        let found = name_places(&words);
        let got: Vec<&str> = found
            .iter()
            .map(|place| words.get(place.at).copied().unwrap_or("-"))
            .collect();
        assert_eq!(got, names, "{text}");
        assert!(found.iter().all(|place| place.introduced_at < place.at));
    }

    #[test]
    fn names_follow_what_introduces_them() {
        check("you are five nine name is tom in ohio", &["tom"]);
        check(
            "my name is still ann and the handle is annie",
            &["ann", "annie"],
        );
        check("name here is jefry", &["jefry"]);
        check("operator on this end is kim", &["kim"]);
        check("the op's dominick over", &["dominick"]);
        check("and my name is", &["-"]);
        check("the name of the boat", &[]);
        check("is it name", &[]);
    }
}
