//! Gives the stations of a conversation their values: signs, names, reports, references.

use crate::random::SeededRandom;
use crate::written::header::{SignShape, StationLine, TempoWord, VoiceSex};
use crate::written::slot::{SpellingWords, StationField};
use crate::written::tables::{self, CountryRow, STATES};

/// A station with everything that it may say of itself.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CastStation {
    /// The sign without addition: "N5LHP".
    pub(super) home: String,
    /// What follows or precedes it on the air: "/P", "F/".
    pub(super) addition: Option<String>,
    pub(super) values: Vec<(StationField, String)>,
    pub(super) sex: VoiceSex,
    pub(super) words: SpellingWords,
    pub(super) accent: bool,
    pub(super) tempo: TempoWord,
    pub(super) off_hz: f32,
    pub(super) level_db: f32,
    /// Says "niner".
    pub(super) niner: bool,
}

impl CastStation {
    /// The sign as a log has it.
    pub(super) fn call(&self) -> String {
        match &self.addition {
            Some(prefix) if prefix.ends_with('/') => format!("{prefix}{}", self.home),
            Some(addition) => format!("{}{addition}", self.home),
            None => self.home.clone(),
        }
    }

    /// Puts another value in the place of what was drawn.
    pub(super) fn set(&mut self, field: StationField, value: &str) {
        if let Some((_, held)) = self.values.iter_mut().find(|(of, _)| *of == field) {
            value.clone_into(held);
        }
    }

    /// What stands for this field; every field has a value.
    pub(super) fn value(&self, field: StationField) -> &str {
        let found = self.values.iter().find(|(of, _)| *of == field);
        found.map_or("", |(_, value)| value)
    }

    /// Draws the station of a header line. `as_written` keeps the names and places of the
    /// writer; else others are drawn in their stead. `None` where no such country is known.
    pub(super) fn draw(
        random: &mut SeededRandom,
        line: &StationLine,
        as_written: bool,
        taken: &mut Vec<String>,
    ) -> Option<Self> {
        let country = tables::country(&line.country)?;
        let home = loop {
            let home = sign(random, &country, line.shape);
            if !taken.contains(&home) {
                break home;
            }
        };
        taken.push(home.clone());
        let sex = line.sex.unwrap_or(if random.between(0.0, 1.0) < 0.2 {
            VoiceSex::Woman
        } else {
            VoiceSex::Man
        });
        let mut values = if as_written {
            line.values.clone()
        } else {
            Vec::new()
        };
        let (_, state, county) = state_of(random, &country);
        let mut put = |field, value: String| {
            if values.iter().all(|(of, _)| *of != field) {
                values.push((field, value));
            }
        };
        let name = random.pick(&country.names(sex)).copied().unwrap_or("Bob");
        put(StationField::Name, name.to_owned());
        put(
            StationField::Place,
            random
                .pick(&country.towns)
                .copied()
                .unwrap_or_default()
                .to_owned(),
        );
        put(StationField::State, state.to_owned());
        put(StationField::County, county.to_owned());
        put(StationField::Gives, report(random));
        put(StationField::Gets, report(random));
        put(StationField::Grid, locator(random));
        put(StationField::Zone, (1 + random.bits() % 40).to_string());
        let number = random.between(1.0, 8.4).exp2() as u32 + (random.bits() % 40) as u32;
        put(StationField::Serial, number.to_string());
        for (field, reference) in references(random, &home) {
            put(field, reference);
        }
        Some(Self {
            home,
            addition: line.addition.clone(),
            values,
            sex,
            words: line.words.unwrap_or(SpellingWords::International),
            accent: line.accent,
            tempo: line.tempo,
            off_hz: line.off_hz,
            level_db: line.level_db,
            niner: random.between(0.0, 1.0) < 0.06,
        })
    }
}

/// A state or province with a county; a country without such a list gives one of its towns.
fn state_of(
    random: &mut SeededRandom,
    country: &CountryRow,
) -> (&'static str, &'static str, &'static str) {
    let rows: Vec<_> = STATES
        .iter()
        .filter(|(of, ..)| *of == country.name)
        .collect();
    match random.pick(&rows) {
        Some(row) => **row,
        None => {
            let town = random.pick(&country.towns).copied().unwrap_or_default();
            (country.name, town, town)
        }
    }
}

/// A sign that is drawn: whoever holds such a sign holds it by chance.
fn sign(random: &mut SeededRandom, country: &CountryRow, shape: Option<SignShape>) -> String {
    let [one, two] = &country.prefixes;
    let shape = shape.unwrap_or_else(|| {
        let before = match random.between(0.0, 1.0) {
            share if share < 0.35 && !one.is_empty() => 1,
            _ => 2,
        };
        let after = match random.between(0.0, 1.0) {
            share if share < 0.1 => 1,
            share if share < 0.35 => 2,
            _ => 3,
        };
        SignShape::Letters(before, after)
    });
    let (before, after) = match shape {
        SignShape::Letters(before, after) => (before, after),
        SignShape::Special => (2, 0),
    };
    let list = match before {
        1 if !one.is_empty() => one,
        _ if !two.is_empty() => two,
        _ => one,
    };
    let mut call = random.pick(list).copied().unwrap_or("K").to_owned();
    let letter = |random: &mut SeededRandom| char::from(b'A' + (random.bits() % 26) as u8);
    let figure = |random: &mut SeededRandom| char::from(b'0' + (random.bits() % 10) as u8);
    if shape == SignShape::Special {
        let figures = 1 + random.bits() % 4;
        for _ in 0..figures {
            call.push(figure(random));
        }
        // One figure asks for a long suffix, several for a short one.
        let letters = if figures == 1 {
            4 + random.bits() % 2
        } else {
            1 + random.bits() % 3
        };
        for _ in 0..letters {
            call.push(letter(random));
        }
        return call;
    }
    call.push(figure(random));
    for _ in 0..after {
        call.push(letter(random));
    }
    call
}

/// A report; most are strong, as on the air.
fn report(random: &mut SeededRandom) -> String {
    const REPORTS: [&str; 20] = [
        "59", "59", "59", "59", "59", "59", "58", "58", "57", "57", "57", "56", "55", "55", "54",
        "53", "47", "45", "44", "33",
    ];
    random.pick(&REPORTS).copied().unwrap_or("59").to_owned()
}

fn locator(random: &mut SeededRandom) -> String {
    let mut text = String::new();
    for (first, count) in [(b'A', 18), (b'A', 18), (b'0', 10), (b'0', 10)] {
        text.push(char::from(first + (random.bits() % count) as u8));
    }
    if random.between(0.0, 1.0) < 0.4 {
        for _ in 0..2 {
            text.push(char::from(b'A' + (random.bits() % 24) as u8));
        }
    }
    text
}

/// References of the forms that ADIF 3.1.6 has for its fields of parks, summits and islands;
/// a lighthouse has three letters and a number (common practice).
fn references(random: &mut SeededRandom, home: &str) -> [(StationField, String); 4] {
    let prefix: String = home.chars().take(2).collect();
    let letters = |random: &mut SeededRandom, count: usize| -> String {
        (0..count)
            .map(|_| char::from(b'A' + (random.bits() % 26) as u8))
            .collect()
    };
    let park = match random.bits() % 3 {
        0 => format!("US-{}", 1_000 + random.bits() % 9_000),
        _ => format!("{prefix}-{:04}", 1 + random.bits() % 2_400),
    };
    let summit = format!(
        "{prefix}/{}-{:03}",
        letters(random, 2),
        1 + random.bits() % 400
    );
    let continent = random
        .pick(&["AF", "AS", "EU", "NA", "OC", "SA"])
        .copied()
        .unwrap_or("EU");
    let island = format!("{continent}-{:03}", 1 + random.bits() % 260);
    let lighthouse = format!("{}-{:03}", letters(random, 3), 1 + random.bits() % 900);
    [
        (StationField::Park, park),
        (StationField::Summit, summit),
        (StationField::Island, island),
        (StationField::Lighthouse, lighthouse),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(country: &str, shape: Option<SignShape>) -> StationLine {
        let mut line = StationLine::read('A', country).unwrap();
        line.shape = shape;
        line
    }

    fn draw(seed: u64, line: &StationLine) -> CastStation {
        let mut random = SeededRandom::stream(seed, "cast");
        CastStation::draw(&mut random, line, true, &mut Vec::new()).unwrap()
    }

    #[test]
    fn signs_have_the_shape_that_is_asked_for() {
        for seed in 0..200 {
            for (before, after) in [(1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (2, 3)] {
                let call = draw(
                    seed,
                    &line("United States", Some(SignShape::Letters(before, after))),
                )
                .home;
                let figure = call.find(|symbol: char| symbol.is_ascii_digit());
                assert_eq!(
                    (figure, call.len()),
                    (Some(before), before + 1 + after),
                    "{call}"
                );
            }
            let call = draw(seed, &line("Croatia", Some(SignShape::Special))).home;
            let figures = call.chars().skip(2).filter(char::is_ascii_digit).count();
            let letters = call
                .chars()
                .skip(2)
                .filter(char::is_ascii_uppercase)
                .count();
            assert!(call.starts_with("9A") && letters > 0, "{call}");
            assert!(figures > 1 || letters > 3, "{call}");
        }
    }

    #[test]
    fn every_field_has_a_value_and_the_writers_are_kept() {
        let mut named = line("Germany, name Ute, place Aalen", None);
        named.addition = Some("/P".to_owned());
        let drawn = draw(1, &named);
        for (_, field) in StationField::WORDS {
            assert!(!drawn.value(field).is_empty(), "{field:?}");
        }
        assert_eq!(drawn.value(StationField::Name), "Ute");
        assert!(drawn.call().ends_with("/P"));
        let mut random = SeededRandom::stream(7, "cast");
        let other = CastStation::draw(&mut random, &named, false, &mut Vec::new()).unwrap();
        assert_ne!(other.value(StationField::Name), "Ute");
    }
}
