//! The scores of several drives in one table.

use std::fmt;

use serde::Serialize;

use super::draft_score::{DraftScore, MatchedContact};
use super::verdict::FieldVerdict;

/// Bins of stated probability.
const CALIBRATION_BINS: usize = 10;

/// Above this a stated probability counts as sure.
const SURE_CALL_PROBABILITY: f64 = 0.9;

/// What drafts are worth over many drives. Shares are of the contacts found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ScoreSummary {
    /// Drives.
    pub drives: usize,
    /// Hours of them.
    pub hours: f64,
    /// Contacts that took place.
    pub contacts: usize,
    /// Of these in the drafts.
    pub found: usize,
    /// Contacts in the drafts that never took place.
    pub invented: usize,
    /// Call signs.
    pub call: VerdictTally,
    /// Reports given.
    pub sent: VerdictTally,
    /// Reports received.
    pub received: VerdictTally,
    /// Names, of the contacts in which one was said.
    pub name: VerdictTally,
    /// Frequencies.
    pub hz: VerdictTally,
    /// Locators.
    pub locator: VerdictTally,
    /// Start within two seconds of the truth.
    pub on_within_2_s: usize,
    /// Median of the place errors in metres.
    pub place_m: Option<f64>,
    /// Call signs that were wrong with a stated probability of 0.9 and more.
    pub sure_and_wrong: usize,
    /// Call signs with such a probability.
    pub sure: usize,
    /// Ten bins of stated probability: how many, their mean, and how many were right.
    pub calibration: Vec<CalibrationBin>,
    /// Expected calibration error over these bins.
    pub calibration_error: f64,
}

/// How often a field was what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct VerdictTally {
    /// Right at first rank.
    pub right: usize,
    /// Not first, but among the alternatives.
    pub second: usize,
    /// Neither.
    pub wrong: usize,
    /// Left empty.
    pub blank: usize,
}

/// Statements of about the same probability.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct CalibrationBin {
    /// How many.
    pub count: usize,
    /// Their mean.
    pub stated: f64,
    /// The share of them that was right.
    pub right: f64,
}

impl VerdictTally {
    fn from_verdicts(verdicts: impl Iterator<Item = FieldVerdict>) -> Self {
        let mut tally = Self::default();
        for verdict in verdicts {
            match verdict {
                FieldVerdict::Right => tally.right += 1,
                FieldVerdict::Alternative => tally.second += 1,
                FieldVerdict::Wrong => tally.wrong += 1,
                FieldVerdict::Blank => tally.blank += 1,
            }
        }
        tally
    }

    fn total(&self) -> usize {
        self.right + self.second + self.wrong + self.blank
    }
}

impl ScoreSummary {
    /// Of these drives.
    pub fn from_scores(scores: &[DraftScore]) -> Self {
        let matched: Vec<&MatchedContact> =
            scores.iter().flat_map(|score| &score.matched).collect();
        let tally = |field: fn(&MatchedContact) -> FieldVerdict| {
            VerdictTally::from_verdicts(matched.iter().map(|one| field(one)))
        };
        let stated: Vec<(f64, bool)> = scores
            .iter()
            .flat_map(|score| score.stated.clone())
            .collect();
        let sure: Vec<&(f64, bool)> = stated
            .iter()
            .filter(|(stated, _)| *stated >= SURE_CALL_PROBABILITY)
            .collect();
        let mut places: Vec<f64> = matched.iter().filter_map(|one| one.place_error_m).collect();
        places.sort_by(f64::total_cmp);
        let calibration = bins(&stated);
        let on_time =
            |one: &&&MatchedContact| one.on_error_s.is_some_and(|error| error.abs() <= 2.0);
        Self {
            drives: scores.len(),
            hours: scores.iter().map(|score| score.hours).sum(),
            contacts: scores.iter().map(|score| score.contacts).sum(),
            found: matched.len(),
            invented: scores.iter().map(|score| score.invented.len()).sum(),
            call: tally(|one| one.call),
            sent: tally(|one| one.sent),
            received: tally(|one| one.received),
            name: VerdictTally::from_verdicts(
                matched.iter().filter(|one| one.named).map(|one| one.name),
            ),
            hz: tally(|one| one.hz),
            locator: tally(|one| one.locator),
            on_within_2_s: matched.iter().filter(on_time).count(),
            place_m: places.get(places.len() / 2).copied(),
            sure_and_wrong: sure.iter().filter(|(_, right)| !right).count(),
            sure: sure.len(),
            calibration_error: error(&calibration, stated.len()),
            calibration,
        }
    }

    /// Invented contacts in four hours.
    pub fn invented_per_4_h(&self) -> f64 {
        4.0 * self.invented as f64 / self.hours.max(f64::MIN_POSITIVE)
    }
}

fn bins(stated: &[(f64, bool)]) -> Vec<CalibrationBin> {
    let bin = |index: usize| {
        let of =
            |stated: f64| ((stated * CALIBRATION_BINS as f64) as usize).min(CALIBRATION_BINS - 1);
        let here: Vec<&(f64, bool)> = stated
            .iter()
            .filter(|(said, _)| of(*said) == index)
            .collect();
        let count = here.len();
        let share = |sum: f64| (sum + 0.0) / count.max(1) as f64;
        CalibrationBin {
            count,
            stated: share(here.iter().map(|(said, _)| said).sum()),
            right: share(here.iter().filter(|(_, right)| *right).count() as f64),
        }
    };
    (0..CALIBRATION_BINS).map(bin).collect()
}

fn error(bins: &[CalibrationBin], total: usize) -> f64 {
    let weighed = bins
        .iter()
        .map(|bin| bin.count as f64 * (bin.stated - bin.right).abs());
    weighed.sum::<f64>() / total.max(1) as f64
}

impl fmt::Display for ScoreSummary {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let percent = |part: usize, whole: usize| 100.0 * part as f64 / whole.max(1) as f64;
        writeln!(
            f,
            "{} drives, {:.1} h, {} contacts: found {} ({:.1} %), invented {} ({:.2} in 4 h)",
            self.drives,
            self.hours,
            self.contacts,
            self.found,
            percent(self.found, self.contacts),
            self.invented,
            self.invented_per_4_h()
        )?;
        writeln!(
            f,
            "start within 2 s: {:.1} %; place: {} m off (median)",
            percent(self.on_within_2_s, self.found),
            self.place_m
                .map_or("?".to_owned(), |metres| format!("{metres:.0}"))
        )?;
        writeln!(
            f,
            "{:<10} {:>7} {:>7} {:>7} {:>7}",
            "%", "right", "second", "wrong", "blank"
        )?;
        let rows = [
            ("call", self.call),
            ("sent", self.sent),
            ("received", self.received),
            ("name", self.name),
            ("frequency", self.hz),
            ("locator", self.locator),
        ];
        for (name, tally) in rows {
            let share = |part| percent(part, tally.total());
            writeln!(
                f,
                "{name:<10} {:>7.1} {:>7.1} {:>7.1} {:>7.1}",
                share(tally.right),
                share(tally.second),
                share(tally.wrong),
                share(tally.blank)
            )?;
        }
        writeln!(
            f,
            "call signs stated at 90 % and more: {}, of these wrong {}",
            self.sure, self.sure_and_wrong
        )?;
        writeln!(
            f,
            "{:<10} {:>7} {:>7} {:>7}",
            "stated", "count", "mean", "right"
        )?;
        for (index, bin) in self.calibration.iter().enumerate() {
            writeln!(
                f,
                "{:>3} to {:>3} {:>7} {:>7.2} {:>7.2}",
                index * 10,
                index * 10 + 10,
                bin.count,
                bin.stated,
                bin.right
            )?;
        }
        write!(
            f,
            "expected calibration error {:.3}",
            self.calibration_error
        )
    }
}
