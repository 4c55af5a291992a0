//! Who is on the air: invented call signs, names and voices.

use crate::random::SeededRandom;
use crate::scenario::episode::OtherStation;
use crate::scenario::talk::{spell, spell_otherwise};
use crate::scenario::voice::{SpeakerVoice, VoiceFamily};

/// Somebody who can be met.
#[derive(Debug, Clone)]
pub(super) struct SimulatedPerson {
    /// As the log should have it: "KB0QSE", "KB0QSE/P", "F/KB0QSE".
    pub(super) call: String,
    pub(super) name: &'static str,
    pub(super) speaking: OtherStation,
    /// Spells in other words than the standard ones.
    otherwise: bool,
}

/// Prefixes with the figure, the most usual in North America more than once.
const PREFIXES: [&str; 56] = [
    "K#", "K#", "K#", "N#", "N#", "W#", "W#", "W#", "KA#", "KB#", "KC#", "KD#", "KE#", "KF#",
    "KG#", "KI#", "KJ#", "KK#", "KM#", "KN#", "KO#", "WA#", "WB#", "WB#", "WD#", "NA#", "NE#",
    "NJ#", "AA#", "AB#", "AC#", "AD#", "AE#", "AK#", "VE#", "VE#", "VA#", "XE#", "G#", "M#", "2E0",
    "GM#", "DL#", "DK#", "F#", "I#", "EA#", "OK#", "OH#", "SM#", "PA#", "JA#", "VK#", "ZL#", "PY#",
    "LU#",
];

const NAMES: [&str; 64] = [
    "Ruth", "Walt", "Dora", "Carl", "Anna", "Otto", "Nell", "Hugh", "Bob", "Jim", "John", "Mike",
    "Dave", "Bill", "Tom", "Steve", "Gary", "Larry", "Ken", "Ron", "Don", "Paul", "Mark", "Rick",
    "Frank", "George", "Ed", "Joe", "Dan", "Jerry", "Doug", "Phil", "Ray", "Ted", "Roy", "Scott",
    "Greg", "Bruce", "Dennis", "Chuck", "Sue", "Linda", "Mary", "Karen", "Nancy", "Barbara",
    "Carol", "Diane", "Janet", "Kathy", "Alice", "Helen", "Peter", "Hans", "Pierre", "Marco",
    "Chris", "Andy", "Alan", "Keith", "Brian", "Ian", "Eric", "Hank",
];

/// Accents and variants of espeak-ng.
const ACCENTS: [&str; 5] = ["en-us", "en-us", "en-gb", "en-gb-x-rp", "en-gb-scotland"];
const VARIANTS: [&str; 24] = [
    "m1", "m2", "m4", "m5", "m6", "m7", "m8", "f1", "f2", "f3", "f4", "f5", "Andy", "Annie",
    "Denis", "Michael", "Alex", "adam", "steph", "linda", "john", "rob", "max", "victor",
];
/// Voices that come with flite.
const FLITE: [&str; 5] = ["kal", "kal16", "awb", "rms", "slt"];

impl SimulatedPerson {
    /// Somebody new. `recorded` are folders of word recordings; where there are
    /// any, everybody has one of those voices.
    pub(super) fn new(
        random: &mut SeededRandom,
        recorded: &[String],
        taken: &mut Vec<String>,
    ) -> Self {
        let home = loop {
            let home = home_call(random);
            if !taken.contains(&home) {
                break home;
            }
        };
        taken.push(home.clone());
        let call = match random.bits() % 24 {
            0 => format!("{home}/P"),
            1 => format!("{home}/M"),
            2 => format!(
                "{}/{home}",
                random.pick(&["F", "DL", "VE3"]).unwrap_or(&"F")
            ),
            _ => home,
        };
        Self {
            call,
            name: random.pick(&NAMES).copied().unwrap_or("Bob"),
            speaking: OtherStation {
                voice: voice(random, recorded),
                level_db: random.between(-3.0, 3.0) as f32,
                // Most people tune well, some do not.
                off_hz: (random.normal() * 35.0).clamp(-100.0, 100.0),
            },
            otherwise: random.between(0.0, 1.0) < 0.08,
        }
    }

    /// The call sign as it is said on the air.
    pub(super) fn sign(&self) -> String {
        let (home, addition) = match self.call.split_once('/') {
            Some((home, "P")) => (home, " stroke portable"),
            Some((home, "M")) => (home, " stroke mobile"),
            Some(_) | None => (self.call.as_str(), ""),
        };
        let spelled = if self.otherwise {
            spell_otherwise(home)
        } else {
            spell(home)
        };
        spelled + addition
    }

    /// The same in the standard words, as others say it.
    pub(super) fn sign_of_others(&self) -> String {
        let standard = Self {
            otherwise: false,
            ..self.clone()
        };
        standard.sign()
    }
}

/// A call sign that is issued to nobody: the suffix is a Q code.
fn home_call(random: &mut SeededRandom) -> String {
    let mut call = String::new();
    for symbol in random.pick(&PREFIXES).copied().unwrap_or("K#").chars() {
        if symbol == '#' {
            call.push_str(&(random.bits() % 10).to_string());
        } else {
            call.push(symbol);
        }
    }
    let letter = |random: &mut SeededRandom, from: u8, count: u64| {
        char::from(from + (random.bits() % count) as u8)
    };
    call.push('Q');
    call.push(letter(random, b'R', 4));
    call.push(letter(random, b'A', 26));
    call
}

/// Some voice of some family.
pub(super) fn voice(random: &mut SeededRandom, recorded: &[String]) -> SpeakerVoice {
    let speed = random.between(140.0, 185.0) as u32;
    let pitch = random.between(32.0, 66.0) as u32;
    let espeak = || (VoiceFamily::Espeak, String::new());
    let (family, name) = match random.pick(recorded) {
        Some(folder) => (VoiceFamily::Words, folder.clone()),
        None if random.between(0.0, 1.0) < 0.4 => {
            let name = random.pick(&FLITE).copied().unwrap_or("slt");
            (VoiceFamily::Flite, name.to_owned())
        }
        None => espeak(),
    };
    let name = if family == VoiceFamily::Espeak {
        let accent = random.pick(&ACCENTS).copied().unwrap_or("en-us");
        let variant = random.pick(&VARIANTS).copied().unwrap_or("m1");
        format!("{accent}+{variant}")
    } else {
        name
    };
    SpeakerVoice {
        family,
        name,
        speed,
        pitch,
    }
}

/// A report from weak to strong; most are strong, as on the air.
pub(super) fn rst(random: &mut SeededRandom) -> String {
    let known = [
        "59", "59", "59", "59", "58", "57", "57", "56", "55", "53", "47", "44", "33",
    ];
    random.pick(&known).copied().unwrap_or("59").to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sign_has_a_suffix_that_is_a_q_code() {
        let mut random = SeededRandom::stream(1, "people");
        for _ in 0..500 {
            let call = home_call(&mut random);
            let figure = call.rfind(|symbol: char| symbol.is_ascii_digit()).unwrap();
            let suffix = &call[figure + 1..];
            assert!(("QRA"..="QUZ").contains(&suffix), "{call}");
        }
    }

    #[test]
    fn additions_are_said_as_words() {
        let mut person =
            SimulatedPerson::new(&mut SeededRandom::stream(1, "p"), &[], &mut Vec::new());
        person.otherwise = false;
        for (call, said) in [
            ("K1QSO/P", "Kilo one Quebec Sierra Oscar stroke portable"),
            ("F/K1QSO", "Foxtrot stroke Kilo one Quebec Sierra Oscar"),
        ] {
            person.call = call.to_owned();
            assert_eq!(person.sign(), said);
        }
    }
}
