//! Folds the scores of the vocabulary to what a call sign is made of: letters and figures.
//!
//! A letter has many words (its name, spelling words); their probabilities add up.

use jumpseat_vocabulary::{TokenKind, VocabularyToken, WordSense, output_count, tokens};

/// Folded classes: blank, A to Z, 0 to 9, any other word, the words that announce a locator or
/// a number, and those that are written with several letters or figures.
pub(crate) const CLASSES: usize = FIRST_COMPOSED_CLASS + COMPOSED_WORDS.len();
/// The CTC blank.
pub(crate) const BLANK_CLASS: usize = 0;
/// Any word that is no letter and no figure.
pub(crate) const WORD_CLASS: usize = 37;
/// A word that announces a locator, a number or a reference.
pub(crate) const ANNOUNCING_CLASS: usize = 38;
/// The class of the first of `COMPOSED_WORDS`.
const FIRST_COMPOSED_CLASS: usize = 39;

/// Words of the vocabulary that sound like several letters or figures of a sign: 'q r p' of
/// W7QRP is the word that means low power as well. (Word, what it writes in a sign.)
const COMPOSED_WORDS: [(&str, &str); 29] = [
    ("cq", "CQ"),
    ("qrz", "QRZ"),
    ("qsl", "QSL"),
    ("qth", "QTH"),
    ("qso", "QSO"),
    ("qrm", "QRM"),
    ("qsb", "QSB"),
    ("qrp", "QRP"),
    ("qsy", "QSY"),
    ("ten", "10"),
    ("eleven", "11"),
    ("twelve", "12"),
    ("thirteen", "13"),
    ("fourteen", "14"),
    ("fifteen", "15"),
    ("sixteen", "16"),
    ("seventeen", "17"),
    ("eighteen", "18"),
    ("nineteen", "19"),
    ("twenty", "20"),
    ("thirty", "30"),
    ("forty", "40"),
    ("fifty", "50"),
    ("sixty", "60"),
    ("seventy", "70"),
    ("eighty", "80"),
    ("ninety", "90"),
    ("hundred", "00"),
    ("thousand", "000"),
];

/// The letter name 'O' is said for the figure zero too; this share of it counts as zero.
const LETTER_O_ZERO_SHARE: f32 = 0.25;

/// The model is surer than it is right: its probabilities are raised to this power.
const PROBABILITY_EXPONENT: f32 = 0.92;

/// Probabilities of the folded classes, one row a step.
#[derive(Debug, Clone, Default)]
pub(crate) struct FoldedScores {
    rows: Vec<[f32; CLASSES]>,
}

impl FoldedScores {
    /// Folds log-probabilities, `output_count()` a step.
    pub(crate) fn from_scores(scores: &[f32]) -> Self {
        let classes = classes();
        let rows = scores.chunks_exact(output_count()).map(|step| {
            let mut row = [1e-9; CLASSES];
            for (score, class) in step.iter().zip(&classes) {
                let p = score.exp();
                row[class.main] += p * (1.0 - class.zero_share);
                row[class_of('0')] += p * class.zero_share;
            }
            evened(row)
        });
        Self {
            rows: rows.collect(),
        }
    }

    /// Puts the steps of log-probabilities at the step `first` and after it, and silence before
    /// them if there is nothing yet. What was there from `first` on is lost.
    pub(crate) fn put(&mut self, first: usize, scores: &[f32]) {
        let mut silence = [1e-9; CLASSES];
        silence[BLANK_CLASS] = 1.0;
        self.rows.resize(first, silence);
        self.rows.extend(Self::from_scores(scores).rows);
    }

    /// Steps in all.
    pub(crate) fn len(&self) -> usize {
        self.rows.len()
    }

    /// The rows of a span of steps; out of range is cut.
    pub(crate) fn rows(&self, span: std::ops::Range<usize>) -> &[[f32; CLASSES]] {
        let end = span.end.min(self.rows.len());
        &self.rows[span.start.min(end)..end]
    }
}

/// The row with its overconfidence taken back, scaled so that it adds up to one.
fn evened(mut row: [f32; CLASSES]) -> [f32; CLASSES] {
    row.iter_mut()
        .for_each(|p| *p = p.powf(PROBABILITY_EXPONENT));
    let sum: f32 = row.iter().sum();
    row.map(|p| p / sum)
}

#[derive(Clone, Copy)]
struct TokenClass {
    main: usize,
    zero_share: f32,
}

fn classes() -> Vec<TokenClass> {
    let blank = TokenClass {
        main: BLANK_CLASS,
        zero_share: 0.0,
    };
    let tokens = tokens().iter().map(|token| {
        let spelling = matches!(
            token.kind,
            TokenKind::Itu | TokenKind::Letter | TokenKind::OtherSpelling | TokenKind::Figure
        );
        let symbol = token.symbol.chars().next().filter(|_| spelling);
        TokenClass {
            main: symbol.map_or_else(|| word_class(token), class_of),
            zero_share: if token.sense == Some(WordSense::AlsoZero) {
                LETTER_O_ZERO_SHARE
            } else {
                0.0
            },
        }
    });
    std::iter::once(blank).chain(tokens).collect()
}

/// The class of a word that is no letter and no figure.
fn word_class(token: &VocabularyToken) -> usize {
    let composed = COMPOSED_WORDS
        .iter()
        .position(|(word, _)| *word == token.word);
    match (composed, token.sense) {
        (Some(k), _) => FIRST_COMPOSED_CLASS + k,
        (_, Some(WordSense::LocatorFollows | WordSense::NumberFollows)) => ANNOUNCING_CLASS,
        _ => WORD_CLASS,
    }
}

/// The class of a letter or figure; `WORD_CLASS` for any other character.
pub(crate) fn class_of(symbol: char) -> usize {
    match symbol {
        'A'..='Z' => 1 + (symbol as usize - 'A' as usize),
        '0'..='9' => 27 + (symbol as usize - '0' as usize),
        _ => WORD_CLASS,
    }
}

/// The letter or figure of a class; nothing for the blank and for words.
pub(crate) fn symbol_of(class: usize) -> Option<char> {
    match class {
        1..=26 => char::from_u32('A' as u32 + class as u32 - 1),
        27..=36 => char::from_u32('0' as u32 + class as u32 - 27),
        _ => None,
    }
}

/// What a class writes that is a word of several letters or figures.
pub(crate) fn composed(class: usize) -> Option<&'static str> {
    let at = class.checked_sub(FIRST_COMPOSED_CLASS)?;
    COMPOSED_WORDS.get(at).map(|(_, symbols)| *symbols)
}

/// The classes that write several letters or figures.
pub(crate) fn composed_classes() -> std::ops::Range<usize> {
    FIRST_COMPOSED_CLASS..CLASSES
}
