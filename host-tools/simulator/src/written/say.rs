//! Says values as people say them on the air.

use crate::random::SeededRandom;
use crate::scenario::SPELLING;
use crate::written::cast::CastStation;
use crate::written::slot::{FieldForm, SignForm, SignPart, SpellingWords, StationField};

/// Words that are or were in use beside those of the Radio Regulations (common practice).
const OLD_WORDS: [&[&str]; 26] = [
    &["America", "Able", "Adam", "Amsterdam"],
    &["Boston", "Baker", "Baltimore"],
    &["Canada", "Casablanca", "Charlie"],
    &["Denmark", "Dog", "David"],
    &["England", "Easy", "Edison"],
    &["France", "Fox", "Florida", "Frank"],
    &["Germany", "George", "Guatemala"],
    &["Honolulu", "How", "Henry", "Havana"],
    &["Italy", "Item", "Ida"],
    &["Japan", "Jig", "John", "Jerusalem"],
    &["Kilowatt", "King", "Kentucky"],
    &["London", "Love", "Liverpool"],
    &["Mexico", "Mary", "Madagascar", "Montreal"],
    &["Norway", "Nancy", "Nan", "New York"],
    &["Ontario", "Ocean", "Oslo", "Otto"],
    &["Portugal", "Peter", "Paris", "Pacific"],
    &["Queen", "Quebec"],
    &["Radio", "Roger", "Robert", "Romania"],
    &["Santiago", "Sugar", "Sam", "Spain"],
    &["Texas", "Tokyo", "Tom", "Tripoli"],
    &["United", "Uncle", "Uruguay", "Union"],
    &["Victoria", "Victory", "Venezuela"],
    &["Washington", "William"],
    &["X-ray", "Xylophone"],
    &["Yokohama", "Yellow", "Young", "Yoke"],
    &["Zanzibar", "Zebra", "Zurich"],
];
const FIGURES: [&str; 10] = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
];

/// A voice's habits of spelling.
#[derive(Debug, Clone, Copy)]
pub(super) struct SpellingHabit {
    pub(super) words: SpellingWords,
    /// "oh" for a nought, "zed" for a Z.
    pub(super) oh: bool,
    /// "niner" for a nine.
    pub(super) niner: bool,
}

/// Spells letters and figures; a stroke is said "stroke" or "slash", a hyphen "dash" or not at all.
pub(super) fn spell(random: &mut SeededRandom, text: &str, habit: SpellingHabit) -> String {
    let stroke = random
        .pick(&["stroke", "slash", "stroke"])
        .copied()
        .unwrap_or("stroke");
    let dash = random.pick(&["dash", ""]).copied().unwrap_or_default();
    let words: Vec<String> = text
        .to_uppercase()
        .chars()
        .filter_map(|symbol| match symbol {
            letter @ 'A'..='Z' => Some(said_letter(random, letter, habit)),
            '0' if habit.oh => Some("oh".to_owned()),
            '9' if habit.niner => Some("niner".to_owned()),
            figure @ '0'..='9' => Some(FIGURES[figure as usize - '0' as usize].to_owned()),
            '/' => Some(stroke.to_owned()),
            '-' if !dash.is_empty() => Some(dash.to_owned()),
            _ => None,
        })
        .collect();
    words.join(" ")
}

fn said_letter(random: &mut SeededRandom, letter: char, habit: SpellingHabit) -> String {
    let index = letter as usize - 'A' as usize;
    let words = match habit.words {
        SpellingWords::Mixed => *random
            .pick(&[
                SpellingWords::International,
                SpellingWords::International,
                SpellingWords::Old,
                SpellingWords::Letters,
            ])
            .unwrap_or(&SpellingWords::International),
        words => words,
    };
    match words {
        SpellingWords::Letters if letter == 'Z' && habit.oh => "zed".to_owned(),
        SpellingWords::Letters => letter.to_string(),
        SpellingWords::Old => random
            .pick(OLD_WORDS[index])
            .copied()
            .unwrap_or(SPELLING[index])
            .to_owned(),
        _ => SPELLING[index].to_owned(),
    }
}

/// A call sign in one of its forms. `habit` is the speaker's, which the form may overrule.
pub(super) fn sign(
    random: &mut SeededRandom,
    of: &CastStation,
    form: &SignForm,
    habit: SpellingHabit,
) -> String {
    let habit = SpellingHabit {
        words: form.words.unwrap_or(habit.words),
        oh: form.oh || habit.oh,
        ..habit
    };
    let mut symbols: Vec<char> = of.home.chars().collect();
    // Who mishears a character mishears it in the same way all through a conversation.
    for (number, said) in &form.but {
        if let Some(symbol) = number
            .checked_sub(1)
            .and_then(|index| symbols.get_mut(index))
        {
            let true_one = *symbol;
            *symbol = said.filter(|said| *said != true_one).unwrap_or_else(|| {
                another(
                    &mut SeededRandom::stream(*number as u64, &of.home),
                    true_one,
                )
            });
        }
    }
    let figure = symbols
        .iter()
        .rposition(char::is_ascii_digit)
        .unwrap_or_default();
    let part: &[char] = match form.part {
        None => &symbols,
        Some(SignPart::End) => symbols
            .get(symbols.len().saturating_sub(2).max(figure + 1)..)
            .unwrap_or_default(),
        Some(SignPart::Suffix) => symbols.get(figure + 1..).unwrap_or_default(),
        Some(SignPart::Prefix) => symbols.get(..=figure).unwrap_or_default(),
        Some(SignPart::Last) => symbols
            .get(symbols.len().saturating_sub(1)..)
            .unwrap_or_default(),
        Some(SignPart::First) => symbols.get(..1).unwrap_or_default(),
        Some(SignPart::Character(number)) => symbols
            .get(number.saturating_sub(1)..number)
            .unwrap_or_default(),
    };
    let text: String = part.iter().collect();
    let mut said = spell(random, &text, habit);
    if let Some(addition) = &of.addition
        && form.part.is_none()
        && !form.bare
    {
        said = match addition.strip_suffix('/') {
            Some(prefix) => format!("{} stroke {said}", spell(random, prefix, habit)),
            None => format!("{said} {}", said_addition(random, addition, habit)),
        };
    }
    if form.twice {
        format!("{said}, {said}")
    } else {
        said
    }
}

/// "/P": "stroke Papa", "slash portable", "stroke P".
fn said_addition(random: &mut SeededRandom, addition: &str, habit: SpellingHabit) -> String {
    let inner = addition.trim_start_matches('/');
    let stroke = random
        .pick(&["stroke", "slash"])
        .copied()
        .unwrap_or("stroke");
    let word = match inner {
        "P" => Some("portable"),
        "M" => Some("mobile"),
        "MM" => Some("maritime mobile"),
        "AM" => Some("aeronautical mobile"),
        "QRP" => Some("Q R P"),
        _ => None,
    };
    match word {
        Some(word) if inner == "QRP" || random.between(0.0, 1.0) < 0.5 => {
            format!("{stroke} {word}")
        }
        _ => format!("{stroke} {}", spell(random, inner, habit)),
    }
}

/// Another letter for a letter, another figure for a figure.
fn another(random: &mut SeededRandom, symbol: char) -> char {
    let (first, count) = if symbol.is_ascii_digit() {
        (b'0', 10)
    } else {
        (b'A', 26)
    };
    let shift = 1 + random.bits() % (count - 1);
    let place = (symbol as u64 - u64::from(first) + shift) % count;
    char::from(first + place as u8)
}

/// A report: "57".
fn report(
    random: &mut SeededRandom,
    value: &str,
    forms: &[FieldForm],
    habit: SpellingHabit,
) -> String {
    let figures: Vec<&str> = value
        .chars()
        .filter_map(|symbol| symbol.to_digit(10))
        .map(|figure| match figure {
            9 if habit.niner => "niner",
            figure => FIGURES[figure as usize],
        })
        .collect();
    let [first, second, ..] = figures[..] else {
        return value.to_owned();
    };
    let has = |form| forms.contains(&form);
    let said = if has(FieldForm::By) {
        format!("{first} by {second}")
    } else if has(FieldForm::And) {
        format!("{first} and {second}")
    } else if has(FieldForm::Long) {
        format!("readability {first}, strength {second}")
    } else if has(FieldForm::Over) {
        let over = random
            .pick(&["ten", "twenty", "thirty"])
            .copied()
            .unwrap_or("ten");
        match random.bits() % 3 {
            0 => format!("{over} over"),
            1 => format!("{first} {second} plus {over}"),
            _ => format!("{first} {second}, {over} over"),
        }
    } else {
        format!("{first} {second}")
    };
    if has(FieldForm::Twice) {
        format!("{said}, {said}")
    } else {
        said
    }
}

/// A value of a station in one of its forms.
pub(super) fn field(
    random: &mut SeededRandom,
    of: &CastStation,
    field: StationField,
    forms: &[FieldForm],
    habit: SpellingHabit,
) -> String {
    let value = of.value(field);
    let international = SpellingHabit {
        words: SpellingWords::International,
        ..habit
    };
    let letters = SpellingHabit {
        words: SpellingWords::Letters,
        ..habit
    };
    if forms.contains(&FieldForm::Spelled) {
        return spell(random, value, international);
    }
    if forms.contains(&FieldForm::Letters) {
        return spell(random, value, letters);
    }
    let said = match field {
        StationField::Gives | StationField::Gets => return report(random, value, forms, habit),
        StationField::Name | StationField::Place | StationField::State | StationField::County => {
            value.to_owned()
        }
        StationField::Zone => number(value.parse().unwrap_or_default()),
        StationField::Serial if random.between(0.0, 1.0) < 0.7 => {
            let padded = format!("{value:0>3}");
            spell(random, &padded, letters)
        }
        StationField::Serial => number(value.parse().unwrap_or_default()),
        _ => spell(
            random,
            value,
            if habit.words == SpellingWords::Letters {
                letters
            } else {
                international
            },
        ),
    };
    if forms.contains(&FieldForm::Twice) {
        format!("{said}, {said}")
    } else {
        said
    }
}

/// A number as people say it; 1900 to 1999 as years.
pub(super) fn number(value: u32) -> String {
    const TEENS: [&str; 10] = [
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
    ];
    const TENS: [&str; 8] = [
        "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety",
    ];
    let word =
        |list: &[&'static str], index: u32| list.get(index as usize).copied().unwrap_or_default();
    match value {
        0..10 => word(&FIGURES, value).to_owned(),
        10..20 => word(&TEENS, value - 10).to_owned(),
        20..100 => match value % 10 {
            0 => word(&TENS, value / 10 - 2).to_owned(),
            unit => format!("{} {}", word(&TENS, value / 10 - 2), word(&FIGURES, unit)),
        },
        1_900..2_000 if value % 100 > 9 => format!("nineteen {}", number(value % 100)),
        100..1_000 => match value % 100 {
            0 => format!("{} hundred", number(value / 100)),
            rest => format!("{} hundred {}", number(value / 100), number(rest)),
        },
        _ => match value % 1_000 {
            0 => format!("{} thousand", number(value / 1_000)),
            rest => format!("{} thousand {}", number(value / 1_000), number(rest)),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::written::header::{StationLine, TempoWord, VoiceSex};
    use crate::written::slot::SpokenSlot;

    fn station(home: &str, addition: Option<&str>) -> CastStation {
        CastStation {
            home: home.to_owned(),
            addition: addition.map(str::to_owned),
            values: vec![
                (StationField::Gives, "57".to_owned()),
                (StationField::Name, "Ute".to_owned()),
                (StationField::Serial, "7".to_owned()),
                (StationField::Park, "US-1020".to_owned()),
            ],
            sex: VoiceSex::Man,
            words: SpellingWords::International,
            accent: false,
            tempo: TempoWord::Usual,
            off_hz: 0.0,
            level_db: 0.0,
            niner: false,
        }
    }

    #[track_caller]
    fn check(slot: &str, expected: &[&str]) {
        check_of(&station("GZ0ABC", None), slot, expected);
    }

    /// Whatever the draw, one of these is said.
    #[track_caller]
    fn check_of(of: &CastStation, slot: &str, expected: &[&str]) {
        let habit = SpellingHabit {
            words: SpellingWords::International,
            oh: false,
            niner: false,
        };
        for seed in 0..20 {
            let mut random = SeededRandom::stream(seed, "say");
            let said = match SpokenSlot::read(slot).unwrap() {
                SpokenSlot::Sign { form, .. } => sign(&mut random, of, &form, habit),
                SpokenSlot::Field {
                    field: what, forms, ..
                } => field(&mut random, of, what, &forms, habit),
                other => panic!("{other:?}"),
            };
            assert!(expected.contains(&said.as_str()), "{slot}: {said}");
        }
    }

    #[test]
    fn signs_are_said_in_their_forms() {
        check("A", &["Golf Zulu zero Alfa Bravo Charlie"]);
        check("A letters", &["G Z zero A B C"]);
        check("A oh letters", &["G zed oh A B C"]);
        check("A oh", &["Golf Zulu oh Alfa Bravo Charlie"]);
        check("A end", &["Bravo Charlie"]);
        check("A suffix", &["Alfa Bravo Charlie"]);
        check("A prefix", &["Golf Zulu zero"]);
        check("A last", &["Charlie"]);
        check("A first", &["Golf"]);
        check("A character 4", &["Alfa"]);
        check("A but 4=T", &["Golf Zulu zero Tango Bravo Charlie"]);
        check("A end twice", &["Bravo Charlie, Bravo Charlie"]);
        let short = station("K1A", None);
        check_of(&short, "A end", &["Alfa"]);
        let portable = station("K1A", Some("/P"));
        check_of(
            &portable,
            "A",
            &[
                "Kilo one Alfa stroke portable",
                "Kilo one Alfa slash portable",
                "Kilo one Alfa stroke Papa",
                "Kilo one Alfa slash Papa",
            ],
        );
        check_of(&portable, "A bare", &["Kilo one Alfa"]);
        check_of(
            &station("K1A", Some("F/")),
            "A",
            &["Foxtrot stroke Kilo one Alfa"],
        );
    }

    #[test]
    fn a_misheard_character_is_another_of_its_sort() {
        for seed in 0..100 {
            let mut random = SeededRandom::stream(seed, "another");
            let (letter, figure) = (another(&mut random, 'M'), another(&mut random, '0'));
            assert!(letter.is_ascii_uppercase() && letter != 'M', "{letter}");
            assert!(figure.is_ascii_digit() && figure != '0', "{figure}");
        }
    }

    #[test]
    fn values_are_said_in_their_forms() {
        check("A.gives", &["five seven"]);
        check("A.gives by", &["five by seven"]);
        check("A.gives and twice", &["five and seven, five and seven"]);
        check("A.gives long", &["readability five, strength seven"]);
        check("A.name", &["Ute"]);
        check("A.name spelled", &["Uniform Tango Echo"]);
        check("A.name letters", &["U T E"]);
        check("A.serial", &["zero zero seven", "seven"]);
        check(
            "A.park",
            &[
                "Uniform Sierra dash one zero two zero",
                "Uniform Sierra one zero two zero",
            ],
        );
    }

    #[test]
    fn numbers_are_said_as_people_say_them() {
        for (value, said) in [
            (0, "zero"),
            (14, "fourteen"),
            (20, "twenty"),
            (107, "one hundred seven"),
            (1_984, "nineteen eighty four"),
            (2_011, "two thousand eleven"),
            (35_000, "thirty five thousand"),
        ] {
            assert_eq!(number(value), said);
        }
    }

    #[test]
    fn a_line_of_the_header_gives_the_habit() {
        let line = StationLine::read('A', "England, alphabet letters").unwrap();
        assert_eq!(line.words, Some(SpellingWords::Letters));
    }
}
