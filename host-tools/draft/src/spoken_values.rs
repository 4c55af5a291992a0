//! Reports, names and remarks, pooled over the overs of a contact.

mod first_names;
mod names;
mod remarks;
mod reports;
mod spelled;
#[cfg(test)]
mod tests;
mod text;

use jumpseat_values::{DraftDoubt, Estimate, Span};

use crate::attribution::SpeakerAttribution;
use crate::drive::{AssemblyInput, OverDirection};
use crate::over_stretch::OverStretch;
use crate::spoken::{
    LEAST_REPORT_PROBABILITY, LEAST_VALUE_PROBABILITY, SpokenFormShares, SpokenValue, estimate,
};

/// One station's part of a contact.
pub(crate) struct StationPart<'a> {
    pub(crate) drive: &'a AssemblyInput,
    /// Overs of the contact.
    pub(crate) overs: &'a [usize],
    /// From when to when it took part.
    pub(crate) span: Span,
    pub(crate) company: &'a SpeakerAttribution<'a>,
    /// Its number in the company.
    pub(crate) station: usize,
}

impl StationPart<'_> {
    fn holds(&self, at: &OverStretch) -> bool {
        at.span().meets(&self.span) && !self.company.is_of_another(self.station, at)
    }

    fn retain_own(&self, mut said: Vec<SpokenValue>) -> Vec<SpokenValue> {
        said.retain(|one| self.holds(&one.at));
        said
    }

    /// Reports that went in one direction.
    pub(crate) fn reports(&self, direction: OverDirection) -> Vec<SpokenValue> {
        self.retain_own(reports::spoken_reports(self.drive, self.overs, direction))
    }

    /// The other operator's name: what he gave as his, and what the operator calls him.
    pub(crate) fn names(&self) -> Vec<SpokenValue> {
        self.retain_own(names::spoken_names(self.drive, self.overs))
    }

    pub(crate) fn report(
        &self,
        direction: OverDirection,
        shares: &SpokenFormShares,
    ) -> Estimate<String> {
        estimate(
            &self.reports(direction),
            shares,
            LEAST_REPORT_PROBABILITY,
            Vec::new(),
        )
    }

    pub(crate) fn name(&self, shares: &SpokenFormShares) -> Estimate<String> {
        let mut places = names::name_places(self.drive, self.overs);
        places.retain(|at| self.holds(at));
        estimate(&self.names(), shares, LEAST_VALUE_PROBABILITY, places)
    }

    /// A number or a reference that was given.
    pub(crate) fn remark(&self, shares: &SpokenFormShares) -> Estimate<String> {
        let said = self.retain_own(remarks::numbers(self.drive, self.overs));
        let mut judged = estimate(&said, shares, LEAST_VALUE_PROBABILITY, Vec::new());
        // Most contacts have none.
        if said.is_empty() {
            judged.doubts.clear();
        }
        judged
    }

    /// The other station's locator; without one, where it may have said its place.
    pub(crate) fn their_locator(&self, shares: &SpokenFormShares) -> Estimate<String> {
        let mut places = remarks::place_mentions(self.drive, self.overs);
        places.retain(|at| self.holds(at));
        let said = self.retain_own(remarks::locators(self.drive, self.overs));
        let mut judged = estimate(&said, shares, LEAST_VALUE_PROBABILITY, places);
        if said.is_empty() {
            judged.doubts.clear();
            if !judged.evidence.is_empty() {
                judged.doubts.push(DraftDoubt::PlaceSaid.into());
            }
        }
        judged
    }
}
