//! Invented stations: every suffix begins with Q and is a Q code, which is not
//! issued to amateurs (from memory), so no sign here is a real person's.

use super::{Contact, Voice};

/// Who may be met on the way: call sign, name, voice, report sent, report received.
const STATIONS: [(&str, &str, &str, &str, &str); 8] = [
    ("KB0QSE", "Ruth", "en-us+f3", "59", "57"),
    ("N0QRD", "Walt", "en-us+m7", "58", "59"),
    ("K5QSO", "Dora", "en-us+f2", "57", "55"),
    ("WB6QTH", "Carl", "en-gb+m5", "59", "59"),
    ("VE6QRP", "Anna", "en-gb+f4", "55", "56"),
    ("KD9QRX", "Otto", "en-us+m6", "56", "53"),
    ("W1QSY", "Nell", "en-gb-x-rp+f1", "59", "58"),
    ("AA3QRZ", "Hugh", "en-gb-scotland+m4", "57", "57"),
];

/// The station with this number; they come round again after the last.
pub(super) fn station(number: usize) -> Contact {
    let (call, name, voice, sent, received) = STATIONS[number % STATIONS.len()];
    Contact {
        call: call.into(),
        sent: sent.into(),
        received: received.into(),
        name: Some(name.into()),
        voice: Voice {
            name: voice.into(),
            speed: 160 + 5 * (number as u32 % 4),
            pitch: 45 + 3 * (number as u32 % 5),
        },
    }
}

/// Says a call sign in spelling words (ITU Radio Regulations, appendix 14; the
/// figures in plain English, as amateurs say them).
pub(super) fn spell(call: &str) -> String {
    let words: Vec<&str> = call.chars().filter_map(word).collect();
    words.join(" ")
}

/// Says a report: "59" as "five nine".
pub(super) fn figures(report: &str) -> String {
    spell(report)
}

fn word(symbol: char) -> Option<&'static str> {
    const LETTERS: [&str; 26] = [
        "Alfa", "Bravo", "Charlie", "Delta", "Echo", "Foxtrot", "Golf", "Hotel", "India",
        "Juliett", "Kilo", "Lima", "Mike", "November", "Oscar", "Papa", "Quebec", "Romeo",
        "Sierra", "Tango", "Uniform", "Victor", "Whiskey", "X-ray", "Yankee", "Zulu",
    ];
    const FIGURES: [&str; 10] = [
        "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
    ];
    match symbol.to_ascii_uppercase() {
        letter @ 'A'..='Z' => LETTERS.get(letter as usize - 'A' as usize).copied(),
        figure @ '0'..='9' => FIGURES.get(figure as usize - '0' as usize).copied(),
        '/' => Some("stroke"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_are_spelled_in_the_standard_words() {
        assert_eq!(spell("KB0QSE"), "Kilo Bravo zero Quebec Sierra Echo");
        assert_eq!(
            spell("w7qtm/p"),
            "Whiskey seven Quebec Tango Mike stroke Papa"
        );
        assert_eq!(figures("57"), "five seven");
    }

    #[test]
    fn every_sign_has_a_suffix_that_is_a_q_code() {
        for (call, ..) in STATIONS {
            let figure = call.rfind(|symbol: char| symbol.is_ascii_digit()).unwrap();
            let suffix = &call[figure + 1..];
            assert!(("QRA"..="QUZ").contains(&suffix), "{call}");
        }
    }
}
