//! What people say on the air, and how they spell.

use crate::random::SeededRandom;

/// The spelling words of the ITU Radio Regulations, appendix 14.
pub const SPELLING: [&str; 26] = [
    "Alfa", "Bravo", "Charlie", "Delta", "Echo", "Foxtrot", "Golf", "Hotel", "India", "Juliett",
    "Kilo", "Lima", "Mike", "November", "Oscar", "Papa", "Quebec", "Romeo", "Sierra", "Tango",
    "Uniform", "Victor", "Whiskey", "X-ray", "Yankee", "Zulu",
];

/// Other words in use for the same letters (common practice).
const OTHER_SPELLING: [&str; 26] = [
    "America",
    "Boston",
    "Canada",
    "Denmark",
    "England",
    "Florida",
    "Germany",
    "Honolulu",
    "Italy",
    "Japan",
    "Kilowatt",
    "London",
    "Mexico",
    "Norway",
    "Ontario",
    "Portugal",
    "Queen",
    "Radio",
    "Santiago",
    "Texas",
    "United",
    "Victoria",
    "Washington",
    "X-ray",
    "Yokohama",
    "Zanzibar",
];

const FIGURES: [&str; 10] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
];

/// Says a call sign, a report or a name in spelling words; figures in plain
/// English, as amateurs say them.
pub(super) fn spell(text: &str) -> String {
    spelled(text, |letter| SPELLING[letter])
}

/// The same in the other words.
pub(super) fn spell_otherwise(text: &str) -> String {
    spelled(text, |letter| OTHER_SPELLING[letter])
}

fn spelled(text: &str, word: impl Fn(usize) -> &'static str) -> String {
    let words: Vec<&str> = text
        .chars()
        .filter_map(|symbol| match symbol.to_ascii_uppercase() {
            letter @ 'A'..='Z' => Some(word(letter as usize - 'A' as usize)),
            figure @ '0'..='9' => Some(FIGURES[figure as usize - '0' as usize]),
            '/' => Some("stroke"),
            _ => None,
        })
        .collect();
    words.join(" ")
}

/// "57" in one of the ways in which reports are given.
pub(super) fn report(random: &mut SeededRandom, rst: &str) -> String {
    let figures: Vec<&str> = rst.chars().filter_map(figure).collect();
    let [first, second] = figures[..] else {
        return String::new();
    };
    let bare = format!("{first} {second}");
    let value = match random.bits() % 10 {
        0..=3 => bare,
        4..=6 => format!("{first} and {second}"),
        7 => format!("{bare}, {bare}"),
        8 if rst == "59" => format!("{bare} plus twenty"),
        _ if rst.starts_with('5') => format!("fifty {second}"),
        _ => bare,
    };
    match random.bits() % 6 {
        0 | 1 => format!("You are {value}"),
        2 => format!("You're {value}"),
        3 => format!("Your report is {value}"),
        4 => format!("You are {value} here"),
        _ => format!("Your signal is {value}"),
    }
}

/// "57" with nothing around it.
pub(super) fn cut_report(rst: &str) -> String {
    let figures: Vec<&str> = rst.chars().filter_map(figure).collect();
    figures.join(" ")
}

fn figure(symbol: char) -> Option<&'static str> {
    FIGURES.get(symbol.to_digit(10)? as usize).copied()
}

/// A sentence of small talk; some have numbers and letters in them that are none
/// of the log's business.
pub(super) fn sentence(random: &mut SeededRandom) -> &'static str {
    random.pick(&TALK).copied().unwrap_or_default()
}

const TALK: [&str; 48] = [
    "The weather here is sunny and warm.",
    "I am running about one hundred watts into a wire.",
    "We are heading down interstate eighty.",
    "There is a little noise on the band today.",
    "The antenna is a vertical on the roof of the car.",
    "It is about seventy two degrees and the wind is calm.",
    "I have been licensed for thirty two years.",
    "The rig is in the trunk and the head is on the dash.",
    "We had snow last night, about four inches.",
    "Exit one twenty seven is coming up in a mile.",
    "I am on highway forty, going west.",
    "The battery was low this morning.",
    "The price of fuel is up again.",
    "I am using the old tube rig tonight.",
    "It is a homebrew loop, about ten feet up.",
    "You were fading, but you came right back up.",
    "There is a truck beside me, so hang on.",
    "They closed the bridge last week.",
    "The repeater is on the hill above town.",
    "My son plays football for the school team.",
    "I am looking at the map right now.",
    "It is about twenty miles from here to the coast.",
    "Propagation has been poor all week.",
    "The sun came up an hour ago.",
    "The amplifier is off, so this is barefoot.",
    "Your audio is very nice and clear.",
    "I am retired from the railroad.",
    "We will be home by six in the evening.",
    "I used to live over there many years ago.",
    "The club meets every second Tuesday at seven.",
    "I had to lower the power a bit, down to fifty watts.",
    "That is a fine station you have.",
    "The dog is asleep on the back seat.",
    "We stopped for lunch at a little place by the lake.",
    "I worked a station in plan B of the contest, number four one two.",
    "The noise level is about S five here.",
    "I was on channel nine before that, in the sixties.",
    "She is driving and I am on the radio.",
    "He moved up north last winter.",
    "There was a bad accident on route sixty six.",
    "The microphone is new, so tell me how it sounds.",
    "I think we worked before, maybe last year.",
    "The beam is at sixty feet and points to the east.",
    "Let me write that down.",
    "I bought it in nineteen eighty four and it still works.",
    "Somebody is tuning up near the frequency.",
    "I am on gate C four at the airport, waiting for my wife.",
    "We can try again tomorrow at the same time.",
];

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
        assert_eq!(spell("57"), "five seven");
        assert_eq!(spell_otherwise("w7"), "Washington seven");
    }

    #[test]
    fn every_report_has_its_figures_in_order() {
        let mut random = SeededRandom::stream(3, "reports");
        for _ in 0..100 {
            let said = report(&mut random, "57");
            let five = said.find("five").or(said.find("fifty"));
            assert!(five < said.rfind("seven"), "{said}");
        }
        assert_eq!(cut_report("44"), "four four");
    }
}
