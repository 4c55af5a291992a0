//! What the recogniser makes of each file.

use std::path::Path;

use anyhow::Result;
use strsim::levenshtein;

use crate::scores::{BenchHearing, ScoreSource};
use crate::set::JudgingItem;

/// The result for one file.
pub(crate) struct JudgedOutcome {
    /// Signs with their probabilities, most probable first.
    pub(crate) signs: Vec<(String, f64)>,
    /// All readings of all signs with the decoder's own probabilities.
    pub(crate) raw: Vec<(String, f64)>,
    /// Whether the true sign is the first, and whether it is among all readings.
    pub(crate) exact: bool,
    pub(crate) listed: bool,
    /// Edits from the letters and figures heard to those said.
    pub(crate) edits: usize,
    /// Letters and figures by the best path.
    pub(crate) said: String,
    /// All readings of the most probable sign.
    pub(crate) readings: Vec<(String, f64)>,
    /// Whether the report that was said was heard.
    pub(crate) report: bool,
    /// Length of the file and time taken, in seconds, the latter if it was measured.
    pub(crate) length_s: f64,
    pub(crate) taken_s: Option<f64>,
}

/// Hears every file of the set.
pub(crate) fn all(
    source: &ScoreSource,
    folder: &Path,
    items: &[JudgingItem],
) -> Result<Vec<JudgedOutcome>> {
    items.iter().map(|item| one(source, folder, item)).collect()
}

fn one(source: &ScoreSource, folder: &Path, item: &JudgingItem) -> Result<JudgedOutcome> {
    Ok(judged(item, &source.hear(folder, &item.file)?))
}

fn judged(item: &JudgingItem, heard: &BenchHearing) -> JudgedOutcome {
    let hearing = &heard.hearing;
    let mut signs: Vec<(String, f64)> = hearing
        .signs
        .iter()
        .map(|s| (s.text.clone(), s.probability))
        .collect();
    signs.sort_by(|a, b| b.1.total_cmp(&a.1));
    let best = hearing
        .signs
        .iter()
        .max_by(|a, b| a.probability.total_cmp(&b.probability));
    let readings = best.map_or_else(Vec::new, |s| {
        std::iter::once((s.text.clone(), s.probability))
            .chain(
                s.alternatives
                    .iter()
                    .map(|a| (a.text.clone(), a.probability)),
            )
            .collect()
    });
    let raw = hearing.signs.iter().flat_map(|s| {
        let others = s.alternatives.iter().map(|a| (&a.text, a.decoder));
        let all = std::iter::once((&s.text, s.decoder)).chain(others);
        all.filter_map(|(text, decoder)| Some((text.clone(), decoder?)))
    });
    let truth = item.sign.clone().unwrap_or_default();
    let among = hearing
        .signs
        .iter()
        .any(|s| s.alternatives.iter().any(|a| a.text == truth));
    let said: String = hearing
        .words
        .iter()
        .filter(|w| w.symbol.len() == 1)
        .map(|w| w.symbol)
        .collect();
    JudgedOutcome {
        exact: signs.first().is_some_and(|(s, _)| *s == truth),
        listed: among || signs.iter().any(|(s, _)| *s == truth),
        edits: levenshtein(&said, &truth),
        said,
        raw: raw.collect(),
        readings,
        report: item
            .report
            .as_ref()
            .is_some_and(|r| hearing.reports.iter().any(|h| h.text == *r)),
        signs,
        length_s: heard.length_s,
        taken_s: heard.taken_s,
    }
}
