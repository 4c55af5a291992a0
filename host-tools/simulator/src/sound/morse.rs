//! Morse code in time.

/// One dot at 20 words a minute: "PARIS " has the length of 50 (ITU-R M.1677-1).
const DOT_S: f64 = 0.06;

/// Letters and figures (ITU-R M.1677-1).
const SIGNALS: [(char, &str); 36] = [
    ('A', ".-"),
    ('B', "-..."),
    ('C', "-.-."),
    ('D', "-.."),
    ('E', "."),
    ('F', "..-."),
    ('G', "--."),
    ('H', "...."),
    ('I', ".."),
    ('J', ".---"),
    ('K', "-.-"),
    ('L', ".-.."),
    ('M', "--"),
    ('N', "-."),
    ('O', "---"),
    ('P', ".--."),
    ('Q', "--.-"),
    ('R', ".-."),
    ('S', "..."),
    ('T', "-"),
    ('U', "..-"),
    ('V', "...-"),
    ('W', ".--"),
    ('X', "-..-"),
    ('Y', "-.--"),
    ('Z', "--.."),
    ('0', "-----"),
    ('1', ".----"),
    ('2', "..---"),
    ('3', "...--"),
    ('4', "....-"),
    ('5', "....."),
    ('6', "-...."),
    ('7', "--..."),
    ('8', "---.."),
    ('9', "----."),
];

/// When the tone begins and ends, in seconds from the start, at 20 words a minute.
///
/// Capitals, figures and spaces; anything else is left out.
pub(crate) fn keying(text: &str) -> Vec<(f64, f64)> {
    let mut tones = Vec::new();
    // In dots: a dash is three, and so is the space between letters; that between words is
    // seven, that between the signals of a letter one.
    let mut at = 0_u32;
    for letter in text.chars() {
        if letter == ' ' {
            at += 4;
            continue;
        }
        let Some((_, signals)) = SIGNALS.iter().find(|(known, _)| *known == letter) else {
            continue;
        };
        for signal in signals.chars() {
            let length = if signal == '-' { 3 } else { 1 };
            tones.push((f64::from(at) * DOT_S, f64::from(at + length) * DOT_S));
            at += length + 1;
        }
        at += 2;
    }
    tones
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, dots: &[(u32, u32)]) {
        let expected: Vec<(f64, f64)> = dots
            .iter()
            .map(|&(from, to)| (f64::from(from) * DOT_S, f64::from(to) * DOT_S))
            .collect();
        assert_eq!(keying(text), expected, "{text}");
    }

    #[test]
    fn signals_have_the_lengths_of_the_recommendation() {
        check("", &[]);
        check("E", &[(0, 1)]);
        check("A", &[(0, 1), (2, 5)]);
        check("EE", &[(0, 1), (4, 5)]);
        check("E T", &[(0, 1), (8, 11)]);
        // The word that the speed is named by: its 43 dots, and 7 to the next word.
        assert!((keying("PARIS").last().unwrap().1 - 43.0 * DOT_S).abs() < 1e-9);
        assert!((keying("PARIS E").last().unwrap().0 - 50.0 * DOT_S).abs() < 1e-9);
    }
}
