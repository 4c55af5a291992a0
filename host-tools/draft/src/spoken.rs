//! Reports, names and other values that were said in a contact, and how sure each is.

use std::collections::BTreeMap;

use jumpseat_values::{Alternative, Doubt, DraftDoubt, Estimate, Evidence, Span};
use serde::{Deserialize, Serialize};

use crate::drive::{AssemblyInput, OverDirection};
use crate::heard::HeardOver;
use crate::over_stretch::OverStretch;

/// Less probable values are left blank rather than guessed.
pub(crate) const LEAST_VALUE_PROBABILITY: f64 = 0.5;
/// The same for reports: a blank one is asked for, a wrong one goes into two logs.
pub(crate) const LEAST_REPORT_PROBABILITY: f64 = 0.7;
/// Values named beside the first.
const MOST_VALUE_ALTERNATIVES: usize = 5;

/// In which way something was said; each counts with a share of its own, see [`SpokenFormShares`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SpokenForm {
    ReportTold,
    ReportLed,
    ReportBare,
    NameGiven,
    NameAddressed,
    NameAlone,
    NameSpelled,
    NameSpelledUnknown,
    Announced,
    WrittenReport,
    WrittenName,
    WrittenNameUnknown,
    WrittenNameSpelled,
    WrittenNameSpelledUnknown,
    WrittenNameCalled,
}

/// With what share of the recogniser's probability each [`SpokenForm`] counts, 0 to 1. Fitted by
/// `drive fit`, but for `announced`, of which drives have too few.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct SpokenFormShares {
    /// A report that the recogniser took for one: 'you are five seven'.
    pub report_told: f64,
    /// A pair of figures that a word of reporting leads, that 'and' joins, or that is
    /// said twice in a row.
    pub report_led: f64,
    /// A pair of figures with nothing around it: signs, roads and watts have figures, too.
    pub report_bare: f64,
    /// 'My name is …'.
    pub name_given: f64,
    /// A name after a word with which people are addressed.
    pub name_addressed: f64,
    /// A name with nothing around it.
    pub name_alone: f64,
    /// Letters after a name that make a known first name.
    pub name_spelled: f64,
    /// Letters after a name that make another.
    pub name_spelled_unknown: f64,
    /// A number or a reference that a word announces.
    pub announced: f64,
    /// A report in the text, after its idioms: 'got you at five and nine'.
    pub written_report: f64,
    /// A known first name that the text introduces: 'the name's Tom'.
    pub written_name: f64,
    /// Another word in a name's place there.
    pub written_name_unknown: f64,
    /// A known first name, or the one that was just said, spelled in the text.
    pub written_name_spelled: f64,
    /// Another name spelled in the text.
    pub written_name_spelled_unknown: f64,
    /// A known first name by which the operator addresses the other in the text.
    pub written_name_called: f64,
}

impl Default for SpokenFormShares {
    /// Where fitting begins.
    fn default() -> Self {
        Self {
            report_told: 0.95,
            report_led: 0.85,
            report_bare: 0.4,
            name_given: 0.95,
            name_addressed: 0.75,
            name_alone: 0.35,
            name_spelled: 0.95,
            name_spelled_unknown: 0.6,
            announced: 0.9,
            written_report: 0.9,
            written_name: 0.95,
            written_name_unknown: 0.7,
            written_name_spelled: 0.95,
            written_name_spelled_unknown: 0.6,
            written_name_called: 0.8,
        }
    }
}

impl SpokenFormShares {
    fn share_of(&self, way: SpokenForm) -> f64 {
        match way {
            SpokenForm::ReportTold => self.report_told,
            SpokenForm::ReportLed => self.report_led,
            SpokenForm::ReportBare => self.report_bare,
            SpokenForm::NameGiven => self.name_given,
            SpokenForm::NameAddressed => self.name_addressed,
            SpokenForm::NameAlone => self.name_alone,
            SpokenForm::NameSpelled => self.name_spelled,
            SpokenForm::NameSpelledUnknown => self.name_spelled_unknown,
            SpokenForm::Announced => self.announced,
            SpokenForm::WrittenReport => self.written_report,
            SpokenForm::WrittenName => self.written_name,
            SpokenForm::WrittenNameUnknown => self.written_name_unknown,
            SpokenForm::WrittenNameSpelled => self.written_name_spelled,
            SpokenForm::WrittenNameSpelledUnknown => self.written_name_spelled_unknown,
            SpokenForm::WrittenNameCalled => self.written_name_called,
        }
    }

    /// Those that are fitted.
    pub(crate) fn fitted(&mut self) -> [&mut f64; 14] {
        [
            &mut self.report_told,
            &mut self.report_led,
            &mut self.report_bare,
            &mut self.name_given,
            &mut self.name_addressed,
            &mut self.name_alone,
            &mut self.name_spelled,
            &mut self.name_spelled_unknown,
            &mut self.written_report,
            &mut self.written_name,
            &mut self.written_name_unknown,
            &mut self.written_name_spelled,
            &mut self.written_name_spelled_unknown,
            &mut self.written_name_called,
        ]
    }
}

/// One time that something was said.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SpokenValue {
    pub(crate) text: String,
    pub(crate) way: SpokenForm,
    /// The recogniser's, 0 to 1.
    pub(crate) probability: f64,
    pub(crate) at: OverStretch,
}

impl SpokenValue {
    pub(crate) fn new(
        text: String,
        way: SpokenForm,
        probability: f64,
        over: usize,
        span: Span,
    ) -> Self {
        Self {
            text,
            way,
            probability,
            at: OverStretch::new(over, span),
        }
    }
}

/// What was heard in the overs of one direction, with their indices.
pub(crate) fn heard_in<'a>(
    drive: &'a AssemblyInput,
    overs: &[usize],
    direction: OverDirection,
) -> Vec<(usize, &'a HeardOver)> {
    let over = |&index: &usize| {
        let over = drive.overs.get(index)?;
        let heard = over
            .heard
            .as_ref()
            .filter(|_| over.direction == direction)?;
        Some((index, heard))
    };
    overs.iter().filter_map(over).collect()
}

/// Adds up what was said: said again is said more surely. Values with their
/// probabilities, likeliest first; what is left of one is that nothing was said.
pub(crate) fn ranked<'a>(
    said: &'a [SpokenValue],
    shares: &SpokenFormShares,
) -> Vec<(&'a str, f64)> {
    let mut not: BTreeMap<&str, f64> = BTreeMap::new();
    for one in said {
        let sure = (shares.share_of(one.way) * one.probability).clamp(0.0, 0.99);
        *not.entry(&one.text).or_insert(1.0) *= 1.0 - sure;
    }
    // Odds against nothing having been said, shared among the values.
    let odds: Vec<(&str, f64)> = not
        .iter()
        .map(|(text, not)| (*text, (1.0 - not) / not))
        .collect();
    let total = 1.0 + odds.iter().map(|(_, odds)| odds).sum::<f64>();
    let mut ranked: Vec<(&str, f64)> = odds
        .into_iter()
        .map(|(text, odds)| (text, odds / total))
        .collect();
    ranked.sort_by(|one, other| other.1.total_cmp(&one.1));
    ranked
}

/// The value that comes out, blank where nothing has a probability of at least `least`.
/// `places` is where a person should listen if nothing was made out at all.
pub(crate) fn estimate(
    said: &[SpokenValue],
    shares: &SpokenFormShares,
    least: f64,
    places: Vec<OverStretch>,
) -> Estimate<String> {
    let ranked = ranked(said, shares);
    let Some((best, probability)) = ranked.first().copied() else {
        let mut unknown = Estimate::unknown(DraftDoubt::NotMadeOut);
        unknown.evidence = places.into_iter().map(Evidence::from).collect();
        return unknown;
    };
    let sure = probability >= least;
    let others = ranked
        .iter()
        .skip(usize::from(sure))
        .take(MOST_VALUE_ALTERNATIVES);
    Estimate {
        value: sure.then(|| best.to_owned()),
        probability: sure.then_some(probability),
        alternatives: others
            .map(|(text, probability)| Alternative {
                value: (*text).to_owned(),
                probability: *probability,
            })
            .collect(),
        evidence: said
            .iter()
            .filter(|one| one.text == best)
            .map(|one| Evidence::from(one.at))
            .collect(),
        uncertainty: None,
        doubts: if probability < 0.8 {
            vec![Doubt::from(DraftDoubt::Faint)]
        } else {
            Vec::new()
        },
    }
}

/// Whether it is a letter or a figure.
pub(crate) fn is_symbol(symbol: &str) -> bool {
    symbol.len() == 1
}

/// Whether it is a figure.
pub(crate) fn is_figure(symbol: &str) -> bool {
    matches!(symbol.as_bytes(), [b'0'..=b'9'])
}
