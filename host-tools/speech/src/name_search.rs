//! Which first names of the list fit the sound where one follows, by letters and text decoder.

use crate::error::RecogniserError;
use crate::first_names::{FirstName, first_names};
use crate::letter_prefix::LetterPrefix;
use crate::letters::{SPACE_OUTPUT, letter_output, likeliest_text};
use crate::name_decoding::{LetteredWord, decoded};
use crate::name_letters::as_name_letters;
use crate::name_scoring::{NameFigures, NameReading};
use crate::text_model::{AddedPiece, TextModel};

/// Rows of letters from the introducing words to the end of the name: 3.2 s.
pub(crate) const NAME_ROWS: usize = 160;
/// Names whose letters are less probable than this beside the likeliest need not be looked at.
const LEAST_LETTERS: f64 = -30.0;

/// What was said up to a name, as a window has it.
pub(crate) struct NameContext<'a> {
    /// `WindowScores::heard`.
    pub(crate) heard: &'a [f32],
    /// Rows of the letters' output from the words that introduce the name on.
    pub(crate) letters: &'a [f32],
    /// These words: 'name is'.
    pub(crate) introduction: &'a str,
    /// The pieces of the whole text up to there.
    pub(crate) pieces: &'a [usize],
}

/// The names that may have been said.
///
/// # Errors
/// Those of the model.
pub(crate) fn read_name<M: TextModel>(
    model: &M,
    context: &NameContext<'_>,
) -> Result<NameReading, RecogniserError> {
    let letters = NameLetters::new(context);
    let (mut texts, mut scores) = model.begin(context.heard)?;
    for piece in context.pieces {
        let (row, piece) = (0, *piece);
        scores = model.go_on(&mut texts, &[AddedPiece { row, piece }])?;
    }
    let names = letters.names();
    let lettered: Vec<LetteredWord<'_>> = names
        .iter()
        .map(|(name, letters)| LetteredWord {
            spelled: &name.spelled,
            letters: fair(*letters),
            class: name.class,
        })
        .collect();
    let decoder = decoded(model, &mut texts, scores, &lettered)?;
    let found = decoder.into_iter().filter_map(|(number, decoder)| {
        let (name, letters) = names.get(number)?;
        Some(NameFigures {
            name: name.written,
            class: name.class,
            letters: fair(*letters),
            decoder: fair(decoder),
        })
    });
    Ok(NameReading {
        names: found.collect(),
        heard: likeliest_text(context.letters),
    })
}

/// No figure is lower: one that is would say no more.
const LOWEST_FIGURE: f64 = -60.0;

fn fair(figure: f64) -> f64 {
    if figure.is_nan() {
        LOWEST_FIGURE
    } else {
        figure.clamp(LOWEST_FIGURE, 0.0)
    }
}

/// The letters' output after the words that introduce a name.
struct NameLetters {
    letters: Vec<f32>,
    before: LetterPrefix,
}

impl NameLetters {
    fn new(context: &NameContext<'_>) -> Self {
        let letters = as_name_letters(context.letters);
        let outputs = context.introduction.chars().filter_map(letter_output);
        let before = outputs
            .chain([SPACE_OUTPUT])
            .fold(LetterPrefix::empty(&letters), |text, output| {
                text.with(&letters, output)
            });
        Self { letters, before }
    }

    /// Log-probability that a word so far is one, given what stands before it.
    fn ended(&self, word: &LetterPrefix) -> f64 {
        let goes_on = word.with(&self.letters, SPACE_OUTPUT).begins();
        let most = goes_on.max(word.is_all());
        let sum = (goes_on - most).exp() + (word.is_all() - most).exp();
        most + sum.ln() - self.before.begins()
    }

    /// Log-probabilities of the names that are possible at all.
    fn names(&self) -> Vec<(&'static FirstName, f64)> {
        let mut out = Vec::new();
        self.add_names(first_names(), 0, &self.before, &mut out);
        out
    }

    /// Those of `names`, in order, which all begin with the same `depth` letters, `prefix`.
    fn add_names(
        &self,
        names: &'static [FirstName],
        depth: usize,
        prefix: &LetterPrefix,
        out: &mut Vec<(&'static FirstName, f64)>,
    ) {
        let letter = |name: &FirstName| name.letters.as_bytes().get(depth).copied();
        for same in names.chunk_by(|a, b| letter(a) == letter(b)) {
            let Some(output) = letter(&same[0]).and_then(|byte| letter_output(byte.into())) else {
                out.extend(same.iter().map(|name| (name, self.ended(prefix))));
                continue;
            };
            let longer = prefix.with(&self.letters, output);
            if longer.begins() - self.before.begins() > LEAST_LETTERS {
                self.add_names(same, depth + 1, &longer, out);
            }
        }
    }
}
