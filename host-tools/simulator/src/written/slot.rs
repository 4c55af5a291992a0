//! A slot: a place in a turn where the program puts a value and says it.

use crate::written::sheet_error::SheetFault;

/// Whose value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum StationRef {
    /// The operator.
    Me,
    /// The station with this letter.
    Other(char),
}

/// How a sign is spelled; `None` of it means: as the speaker does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpellingWords {
    /// The words of the Radio Regulations, appendix 14.
    International,
    /// Older and home-made words.
    Old,
    /// Several alphabets, and a plain letter here and there.
    Mixed,
    /// Plain letters.
    Letters,
}

/// Which part of a sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SignPart {
    /// The last two letters.
    End,
    /// All after the last figure.
    Suffix,
    /// All up to the last figure.
    Prefix,
    /// The last letter.
    Last,
    /// The first letter.
    First,
    /// The character with this number, from 1.
    Character(usize),
}

/// How a sign is said.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SignForm {
    /// In which words.
    pub words: Option<SpellingWords>,
    /// Only a part of it.
    pub part: Option<SignPart>,
    /// Without its addition.
    pub bare: bool,
    /// "oh" for a nought, "zed" for a Z.
    pub oh: bool,
    /// Two times.
    pub twice: bool,
    /// Characters that are said wrongly: number from 1, and what is said; `None` is any
    /// other one of the same sort.
    pub but: Vec<(usize, Option<char>)>,
}

/// What of a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum StationField {
    /// The report that it gives to the operator.
    Gives,
    /// The report that the operator gives to it.
    Gets,
    /// First name.
    Name,
    /// Town.
    Place,
    /// State or province.
    State,
    /// County.
    County,
    /// Locator.
    Grid,
    /// Zone number.
    Zone,
    /// Reference of a park.
    Park,
    /// Reference of a summit.
    Summit,
    /// Reference of an island.
    Island,
    /// Reference of a lighthouse.
    Lighthouse,
    /// Serial number.
    Serial,
}

impl StationField {
    /// All, with their words.
    pub const WORDS: [(&'static str, Self); 13] = [
        ("gives", Self::Gives),
        ("gets", Self::Gets),
        ("name", Self::Name),
        ("place", Self::Place),
        ("state", Self::State),
        ("county", Self::County),
        ("grid", Self::Grid),
        ("zone", Self::Zone),
        ("park", Self::Park),
        ("summit", Self::Summit),
        ("island", Self::Island),
        ("lighthouse", Self::Lighthouse),
        ("serial", Self::Serial),
    ];

    /// The field with this word.
    pub fn named(word: &str) -> Option<Self> {
        let mut words = Self::WORDS.iter();
        words
            .find(|(name, _)| *name == word)
            .map(|(_, field)| *field)
    }

    /// Whether it is a reference of one of the activities.
    pub fn is_reference(self) -> bool {
        matches!(
            self,
            Self::Park | Self::Summit | Self::Island | Self::Lighthouse
        )
    }
}

/// How a value is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FieldForm {
    /// "five by nine".
    By,
    /// "five and nine".
    And,
    /// The figures without any word between.
    Bare,
    /// "five nine plus ten", "ten over".
    Over,
    /// "readability five, strength nine".
    Long,
    /// Two times.
    Twice,
    /// By spelling words.
    Spelled,
    /// By plain letters.
    Letters,
}

impl FieldForm {
    fn named(word: &str) -> Option<Self> {
        Some(match word {
            "by" => Self::By,
            "and" => Self::And,
            "bare" => Self::Bare,
            "over" => Self::Over,
            "long" => Self::Long,
            "twice" => Self::Twice,
            "spelled" => Self::Spelled,
            "letters" => Self::Letters,
            _ => return None,
        })
    }
}

/// A place in a turn for a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SpokenSlot {
    /// A call sign.
    Sign {
        /// Whose.
        whose: StationRef,
        /// How it is said.
        form: SignForm,
    },
    /// Something else of a station.
    Field {
        /// Whose.
        whose: StationRef,
        /// What.
        field: StationField,
        /// How it is said.
        forms: Vec<FieldForm>,
    },
    /// A value that the writer fixes, with the words for it. An empty value is a remark
    /// that a log does not hold.
    Fixed {
        /// Whose.
        whose: StationRef,
        /// What.
        field: StationField,
        /// The value.
        value: String,
        /// What is said.
        words: String,
    },
    /// Any number of talk, from the first to the last.
    Number(u32, u32),
}

impl SpokenSlot {
    /// Reads what stands between braces.
    pub fn read(text: &str) -> Result<Self, SheetFault> {
        let fault = || SheetFault::Slot(text.chars().count());
        if let Some(range) = text.strip_prefix("number ") {
            let (low, high) = range.split_once('-').ok_or_else(fault)?;
            let number = |text: &str| text.trim().parse::<u32>().map_err(|_| fault());
            let (low, high) = (number(low)?, number(high)?);
            return if low <= high {
                Ok(Self::Number(low, high))
            } else {
                Err(fault())
            };
        }
        if let Some((head, words)) = text.split_once(": ")
            && let Some((name, value)) = head.split_once('=')
            && let Some((whose, field)) = name.split_once('.')
        {
            return Ok(Self::Fixed {
                whose: station(whose).ok_or_else(fault)?,
                field: StationField::named(field).ok_or_else(fault)?,
                value: value.to_owned(),
                words: words.to_owned(),
            });
        }
        let mut words = text.split(' ');
        let head = words.next().unwrap_or_default();
        let Some((whose, field)) = head.split_once('.') else {
            return Ok(Self::Sign {
                whose: station(head).ok_or_else(fault)?,
                form: sign_form(words).ok_or_else(fault)?,
            });
        };
        let (whose, field) = (station(whose), StationField::named(field));
        let forms: Option<Vec<FieldForm>> = words.map(FieldForm::named).collect();
        match (whose, field, forms) {
            (Some(StationRef::Me), Some(StationField::Gives | StationField::Gets), _) => {
                Err(fault())
            }
            (Some(whose), Some(field), Some(forms)) => Ok(Self::Field {
                whose,
                field,
                forms,
            }),
            _ => Err(fault()),
        }
    }

    /// Whose value it holds, if it is somebody's.
    pub fn whose(&self) -> Option<StationRef> {
        match self {
            Self::Sign { whose, .. } | Self::Field { whose, .. } | Self::Fixed { whose, .. } => {
                Some(*whose)
            }
            Self::Number(..) => None,
        }
    }
}

/// "me", or the letter of a station.
fn station(text: &str) -> Option<StationRef> {
    if text == "me" {
        return Some(StationRef::Me);
    }
    let mut letters = text.chars();
    match (letters.next(), letters.next()) {
        (Some(letter @ 'A'..='F'), None) => Some(StationRef::Other(letter)),
        _ => None,
    }
}

fn sign_form<'a>(mut words: impl Iterator<Item = &'a str>) -> Option<SignForm> {
    let mut form = SignForm::default();
    while let Some(word) = words.next() {
        match word {
            "bare" => form.bare = true,
            "oh" => form.oh = true,
            "twice" => form.twice = true,
            "international" => form.words = Some(SpellingWords::International),
            "old" => form.words = Some(SpellingWords::Old),
            "mixed" => form.words = Some(SpellingWords::Mixed),
            "letters" => form.words = Some(SpellingWords::Letters),
            "end" => form.part = Some(SignPart::End),
            "suffix" => form.part = Some(SignPart::Suffix),
            "prefix" => form.part = Some(SignPart::Prefix),
            "last" => form.part = Some(SignPart::Last),
            "first" => form.part = Some(SignPart::First),
            "character" => form.part = Some(SignPart::Character(words.next()?.parse().ok()?)),
            "but" => {
                for change in words.next()?.split(',') {
                    let (number, said) = change.split_once('=')?;
                    let said = match said {
                        "?" => None,
                        said => Some(said.chars().next()?),
                    };
                    form.but.push((number.parse().ok()?, said));
                }
            }
            _ => return None,
        }
    }
    Some(form)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: SpokenSlot) {
        assert_eq!(SpokenSlot::read(text), Ok(expected));
    }

    #[test]
    fn every_slot_of_the_format_is_read() {
        let other = StationRef::Other('A');
        let sign = |form| SpokenSlot::Sign { whose: other, form };
        check("A", sign(SignForm::default()));
        check(
            "me",
            SpokenSlot::Sign {
                whose: StationRef::Me,
                form: SignForm::default(),
            },
        );
        check(
            "A but 5=T,6=? letters",
            sign(SignForm {
                words: Some(SpellingWords::Letters),
                but: vec![(5, Some('T')), (6, None)],
                ..SignForm::default()
            }),
        );
        check(
            "A character 5",
            sign(SignForm {
                part: Some(SignPart::Character(5)),
                ..SignForm::default()
            }),
        );
        let field = |field, forms| SpokenSlot::Field {
            whose: other,
            field,
            forms,
        };
        check(
            "A.gives by twice",
            field(StationField::Gives, vec![FieldForm::By, FieldForm::Twice]),
        );
        check("A.park", field(StationField::Park, Vec::new()));
        check(
            "A.gives=57: between a five six and a five eight",
            SpokenSlot::Fixed {
                whose: other,
                field: StationField::Gives,
                value: "57".to_owned(),
                words: "between a five six and a five eight".to_owned(),
            },
        );
        check("number 20-90", SpokenSlot::Number(20, 90));
    }

    #[test]
    fn other_things_in_braces_are_refused() {
        for text in [
            "",
            "G",
            "A.mood",
            "me.gives",
            "A loudly",
            "A but 5",
            "number 9-2",
            "a",
            "A character x",
        ] {
            assert_eq!(
                SpokenSlot::read(text),
                Err(SheetFault::Slot(text.len())),
                "{text}"
            );
        }
    }
}
