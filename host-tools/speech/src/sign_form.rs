//! The forms of call signs, symbol by symbol, and how much likelier a text of such a form is as
//! a sign than as letters and figures without meaning.
//!
//! ITU Radio Regulations Article 19 (forms of call signs; No. 19.68A: on special occasions
//! more characters may follow the prefix) and Appendix 42 (allocation: no series begins
//! with Q, and none with 0 or 1). The weights themselves are our own.

/// Letters that are a series of their own.
const SINGLE_LETTER_SERIES: &[u8] = b"BFGIKMNRW";
/// No series begins with these.
const UNALLOCATED_FIRST: &[u8] = b"Q01";
/// The last letters of a locator's field and of its subsquare (A to R, A to X).
const LAST_FIELD_LETTER: u8 = b'R';
const LAST_SUBSQUARE_LETTER: u8 = b'X';

/// Most figures after the prefix: the year of a special occasion.
const MOST_FIGURES: u8 = 4;
/// Most letters after one figure, and after several.
const MOST_LETTERS: u8 = 6;
const MOST_LETTERS_AFTER_FIGURES: u8 = 4;
/// Most letters of signs that are none by their beginning, but are heard so.
const MOST_LETTERS_OF_OTHERS: u8 = 4;

/// What a text of the form of a locator is worth as one: with its subsquare, and without.
/// There are far more locators than special signs that look like one.
const LOCATOR_WEIGHT: f64 = 0.1;
const SHORT_LOCATOR_WEIGHT: f64 = 0.02;

/// What stands before the first figure of a sign.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
enum SignPrefix {
    #[default]
    Nothing,
    /// A letter that is a series of its own.
    Single,
    /// Another letter: part of a prefix, or all of it by mistake.
    Letter,
    TwoLetters,
    /// A figure that needs a letter.
    Figure,
    FigureLetter,
    /// The same without an allocation.
    OtherLetter,
    OtherFigure,
    OtherTwoLetters,
    OtherFigureLetter,
}

/// What is known of an unfinished sign but for its text: how it goes on and what it weighs.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub(crate) struct SignForm {
    prefix: SignPrefix,
    figures: u8,
    letters: u8,
    /// Whether it may still be a locator.
    locator: bool,
    /// Whether its last figures are a number of tens, whose zero a further figure replaces.
    tens: bool,
}

impl SignForm {
    /// Whether it has no symbol yet.
    pub(crate) fn is_empty(self) -> bool {
        self == Self::default()
    }

    /// Whether its last figures are a number of tens.
    pub(crate) fn ends_in_tens(self) -> bool {
        self.tens
    }

    /// How many letters follow its figures.
    pub(crate) fn letters(self) -> u32 {
        u32::from(self.letters)
    }

    /// Whether it stands at a figure after its prefix.
    pub(crate) fn is_at_figures(self) -> bool {
        self.figures > 0 && self.letters == 0
    }

    /// The same after a number of tens.
    pub(crate) fn with_tens(self) -> Self {
        Self { tens: true, ..self }
    }

    /// The same with the zero of its tens replaced.
    pub(crate) fn with_unit(self) -> Self {
        Self {
            tens: false,
            ..self
        }
    }

    /// With one letter or figure more; nothing if no form goes on so.
    pub(crate) fn with(self, symbol: u8) -> Option<Self> {
        use SignPrefix::*;
        let letter = symbol.is_ascii_alphabetic();
        let next = Self {
            tens: false,
            ..self
        };
        if self.figures == 0 {
            let in_field = symbol <= LAST_FIELD_LETTER;
            let (prefix, locator) = match (self.prefix, letter) {
                (Nothing, true) if SINGLE_LETTER_SERIES.contains(&symbol) => (Single, in_field),
                (Nothing, true) if UNALLOCATED_FIRST.contains(&symbol) => (OtherLetter, in_field),
                (Nothing, true) => (Letter, in_field),
                (Nothing, false) if UNALLOCATED_FIRST.contains(&symbol) => (OtherFigure, false),
                (Nothing, false) => (Figure, false),
                (Single | Letter, true) => (TwoLetters, self.locator && in_field),
                (OtherLetter, true) => (OtherTwoLetters, self.locator && in_field),
                (Figure, true) => (FigureLetter, false),
                (OtherFigure, true) => (OtherFigureLetter, false),
                (Single | Letter | OtherLetter, false) => {
                    return Some(Self {
                        figures: 1,
                        locator: false,
                        ..next
                    });
                }
                (TwoLetters | OtherTwoLetters | FigureLetter | OtherFigureLetter, false) => {
                    return Some(Self { figures: 1, ..next });
                }
                _ => return None,
            };
            return Some(Self {
                prefix,
                locator,
                ..next
            });
        }
        if letter {
            let locator = self.locator
                && self.figures == 2
                && self.letters < 2
                && symbol <= LAST_SUBSQUARE_LETTER;
            let letters = self.letters + 1;
            return (letters <= self.most_letters()).then_some(Self {
                letters,
                locator,
                ..next
            });
        }
        let figures = self.figures + 1;
        let locator = self.locator && figures == 2;
        (self.letters == 0 && figures <= self.most_figures()).then_some(Self {
            figures,
            locator,
            ..next
        })
    }

    fn most_figures(self) -> u8 {
        use SignPrefix::*;
        match self.prefix {
            Single | TwoLetters | FigureLetter => MOST_FIGURES,
            // Of A6 the figure belongs to the prefix.
            Letter => 2,
            // It may still be a locator.
            OtherTwoLetters if self.locator => 2,
            _ => 1,
        }
    }

    fn most_letters(self) -> u8 {
        use SignPrefix::*;
        match (self.prefix, self.figures) {
            (OtherTwoLetters, 2) => 2,
            (Single | TwoLetters | FigureLetter, 1) => MOST_LETTERS,
            (Letter, 1) => MOST_LETTERS_OF_OTHERS,
            (Single | Letter | TwoLetters | FigureLetter, _) => MOST_LETTERS_AFTER_FIGURES,
            _ => MOST_LETTERS_OF_OTHERS,
        }
    }

    fn prefix_weight(self) -> f64 {
        use SignPrefix::*;
        match self.prefix {
            Nothing | Figure | OtherFigure => 0.0,
            TwoLetters => 1.0,
            Single => 0.7,
            FigureLetter => 0.3,
            Letter => 0.1,
            OtherTwoLetters => 0.05,
            OtherFigureLetter => 0.015,
            OtherLetter => 0.005,
        }
    }

    fn figures_weight(self) -> f64 {
        match (self.prefix, self.figures) {
            (_, 0) | (SignPrefix::OtherTwoLetters, 2..) => 0.0,
            (_, 1) => 1.0,
            (SignPrefix::Letter, _) => 1.2,
            (_, 2 | 3) => 0.05,
            _ => 0.04,
        }
    }

    fn letters_weight(self) -> f64 {
        match (self.figures, self.letters) {
            (_, 0) => 0.0,
            (_, 2) => 0.8,
            (_, 3) => 1.0,
            (1, 1) => 0.3,
            (1, 4) => 0.15,
            (1, 5) => 0.02,
            (1, _) => 0.004,
            (_, _) => 0.5,
        }
    }

    /// Its weight as a complete sign; 0 if it is not complete.
    pub(crate) fn sign_weight(self) -> f64 {
        self.prefix_weight() * self.figures_weight() * self.letters_weight()
    }

    /// Its weight as a whole that is no sign; 0 if it is none.
    pub(crate) fn other_weight(self) -> f64 {
        match (self.locator && self.figures == 2, self.letters) {
            (true, 0) => SHORT_LOCATOR_WEIGHT,
            (true, 2) => LOCATOR_WEIGHT,
            _ => 0.0,
        }
    }

    /// About the most that it may come to weigh.
    pub(crate) fn promise(self) -> f64 {
        let rest = match self.letters {
            0..=3 => 1.0,
            _ => self.letters_weight(),
        };
        let sign = match (self.prefix_weight(), self.figures) {
            (prefix, 0) => prefix.max(0.3),
            (prefix, _) => prefix * self.figures_weight() * rest,
        };
        sign.max(if self.locator { LOCATOR_WEIGHT } else { 0.0 })
    }
}
