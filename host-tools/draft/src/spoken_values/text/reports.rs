//! Signal reports in a text: only where its words make figures one.

mod figures;
mod leads;

use figures::FigurePair;

use super::phrase::SpokenPhrase;
use crate::heard::WrittenWord;
use crate::spoken::{SpokenForm, SpokenValue};

/// Reports in a text that its speaker gives.
pub(in crate::spoken_values) fn written_reports(
    text: &[WrittenWord],
    over: usize,
) -> Vec<SpokenValue> {
    let mut out = Vec::new();
    for phrase in SpokenPhrase::all(text) {
        let mut at = 0;
        while at < phrase.len() {
            let pair = FigurePair::at(&phrase, at);
            at = pair.as_ref().map_or(at + 1, |pair| pair.end);
            out.extend(
                pair.filter(|pair| leads::is_report(&phrase, pair))
                    .map(|pair| {
                        let span = phrase.span(pair.first, pair.end - 1);
                        let way = SpokenForm::WrittenReport;
                        SpokenValue::new(pair.text, way, pair.probability, over, span)
                    }),
            );
        }
    }
    out
}
