//! Letters that speech programs would take for a word.

/// `text` with a spelling of every letter A that is said "eigh".
///
/// All speech programs say "C Q" and "W D eight" as letters, and all but one say the
/// "A" of "A seven Q" as the article. Here a capital A is the article where it opens a
/// sentence and no letter follows ("A truck is beside me."), and a letter otherwise.
pub(super) fn spoken_letters(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let spoken: Vec<String> = words
        .iter()
        .enumerate()
        .map(|(index, word)| {
            let before = index.checked_sub(1).and_then(|index| words.get(index));
            let after = words.get(index + 1..).unwrap_or_default();
            match word.strip_prefix('A') {
                Some(mark) if is_marks(mark) && is_letter(before.copied(), mark, after) => {
                    format!("eigh{mark}")
                }
                _ => (*word).to_owned(),
            }
        })
        .collect();
    spoken.join(" ")
}

/// Whether an A between these is a letter.
fn is_letter(before: Option<&str>, mark: &str, after: &[&str]) -> bool {
    let opens = before.is_none_or(|before| before.ends_with(['.', '!', '?', ':']));
    let letter_follows = match after {
        [] => true,
        [next, rest @ ..] => {
            let second = rest.first().is_some_and(|second| is_one_letter(second));
            is_one_letter(next) || is_figure(next) && second
        }
    };
    !opens || !mark.is_empty() || letter_follows
}

/// Whether there is no letter or figure in it.
fn is_marks(text: &str) -> bool {
    !text.contains(|symbol: char| symbol.is_alphanumeric() || symbol == '-' || symbol == '\'')
}

/// Whether it is one capital, with or without marks behind it.
fn is_one_letter(word: &str) -> bool {
    word.strip_prefix(|symbol: char| symbol.is_ascii_uppercase())
        .is_some_and(is_marks)
}

/// Whether it is one figure, in a word or not.
fn is_figure(word: &str) -> bool {
    const FIGURES: [&str; 12] = [
        "oh", "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
        "niner",
    ];
    let word = word.trim_end_matches([',', '.']).to_lowercase();
    FIGURES.contains(&word.as_str()) || word.len() == 1 && word.parse::<u8>().is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, spoken: &str) {
        assert_eq!(spoken_letters(text), spoken, "{text}");
    }

    #[test]
    fn the_letter_a_is_no_article() {
        let table = [
            // Letters.
            ("A", "eigh"),
            ("A, B", "eigh, B"),
            ("A B C", "eigh B C"),
            ("A seven Q", "eigh seven Q"),
            ("A 7 Q", "eigh 7 Q"),
            ("W A eight", "W eigh eight"),
            ("W one A A.", "W one eigh eigh."),
            ("plan A, please", "plan eigh, please"),
            ("Over. A seven Q.", "Over. eigh seven Q."),
            // Articles.
            ("A truck is beside me.", "A truck is beside me."),
            ("A seven element beam.", "A seven element beam."),
            ("Fine. A truck.  It is red.", "Fine. A truck.  It is red."),
            ("There is a truck.", "There is a truck."),
            // Neither.
            ("C Q, W D eight", "C Q, W D eight"),
            ("Alfa A-one AM A's", "Alfa A-one AM A's"),
            ("", ""),
        ];
        for (text, spoken) in table {
            check(text, spoken);
        }
    }
}
