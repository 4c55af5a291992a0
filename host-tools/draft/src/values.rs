//! Reports, names and remarks, pooled over the overs of a contact.

mod first_names;
mod names;
mod remarks;
mod reports;
mod spelled;
#[cfg(test)]
mod tests;

use crate::company::Company;
use crate::said::{LEAST, LEAST_REPORT, Said, Shares, judged};
use crate::{Direction, Doubt, Drive, Evidence, Judged, Span};

/// One station's part of a contact.
pub(crate) struct Part<'a> {
    pub(crate) drive: &'a Drive,
    /// Overs of the contact.
    pub(crate) overs: &'a [usize],
    /// From when to when it took part.
    pub(crate) span: Span,
    pub(crate) company: &'a Company<'a>,
    /// Its number in the company.
    pub(crate) station: usize,
}

impl Part<'_> {
    fn holds(&self, at: &Evidence) -> bool {
        Span::new(at.start_s, at.end_s).meets(&self.span)
            && !self.company.is_of_another(self.station, at)
    }

    fn its(&self, mut said: Vec<Said>) -> Vec<Said> {
        said.retain(|one| self.holds(&one.at));
        said
    }

    /// Reports that went in one direction.
    pub(crate) fn reports(&self, direction: Direction) -> Vec<Said> {
        self.its(reports::said(self.drive, self.overs, direction))
    }

    /// The other operator's name: what he gave as his, and what the operator calls him.
    pub(crate) fn names(&self) -> Vec<Said> {
        self.its(names::said(self.drive, self.overs))
    }

    pub(crate) fn report(&self, direction: Direction, shares: &Shares) -> Judged<String> {
        judged(&self.reports(direction), shares, LEAST_REPORT, Vec::new())
    }

    pub(crate) fn name(&self, shares: &Shares) -> Judged<String> {
        let mut places = names::places(self.drive, self.overs);
        places.retain(|at| self.holds(at));
        judged(&self.names(), shares, LEAST, places)
    }

    /// A number or a reference that was given.
    pub(crate) fn remark(&self, shares: &Shares) -> Judged<String> {
        let said = self.its(remarks::numbers(self.drive, self.overs));
        let mut judged = judged(&said, shares, LEAST, Vec::new());
        // Most contacts have none.
        if said.is_empty() {
            judged.doubts.clear();
        }
        judged
    }

    /// The other station's locator; without one, where it may have said its place.
    pub(crate) fn their_locator(&self, shares: &Shares) -> Judged<String> {
        let mut places = remarks::places(self.drive, self.overs);
        places.retain(|at| self.holds(at));
        let said = self.its(remarks::locators(self.drive, self.overs));
        let mut judged = judged(&said, shares, LEAST, places);
        if said.is_empty() {
            judged.doubts.clear();
            if !judged.evidence.is_empty() {
                judged.doubts.push(Doubt::PlaceSaid);
            }
        }
        judged
    }
}
