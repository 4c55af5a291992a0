//! Call signs: their shape (RR Article 19), what stands beside a stroke, and to whom the
//! prefix is allocated (RR Appendix 42).
//!
//! The parser refuses only what cannot be a call sign. Whatever is unusual is taken with a
//! doubt, for special event stations are unusual on purpose.

mod addition;
mod allocation;
mod parse;
#[cfg(test)]
mod tests;
mod weight;

use std::fmt;

pub use addition::CallSignAddition;
pub use allocation::{
    CallSignSeries, PrefixAllocation, allocation, can_begin, is_allocated, series,
};
pub use jumpseat_core::call_sign::{CallSignError, MAX_CALL_SIGN_BYTES};
pub use parse::parse;
pub use weight::{CallSignWeight, ShapeCommonness, weigh};

/// A call sign, taken apart. `Display` writes it whole, in capital letters.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct CallSign {
    home: String,
    prefix_end: usize,
    digits_end: usize,
    before: Option<String>,
    after: Vec<CallSignAddition>,
}

impl CallSign {
    /// The home call, without what stands beside strokes: "W7QTM".
    pub fn home(&self) -> &str {
        &self.home
    }

    /// The prefix up to the digit: "W", "KB", "2E", "A6", "3DA".
    pub fn prefix(&self) -> &str {
        &self.home[..self.prefix_end]
    }

    /// The digit, or the digits of a special event station; empty where none stands apart.
    pub fn digits(&self) -> &str {
        &self.home[self.prefix_end..self.digits_end]
    }

    /// What follows the digits: "QTM".
    pub fn suffix(&self) -> &str {
        &self.home[self.digits_end..]
    }

    /// What stands before the home call: "DL" in DL/W7QTM.
    pub fn before(&self) -> Option<&str> {
        self.before.as_deref()
    }

    /// What stands after the home call, in order.
    pub fn after(&self) -> &[CallSignAddition] {
        &self.after
    }

    /// To whom the home call's prefix is allocated.
    pub fn home_allocation(&self) -> PrefixAllocation {
        allocation(&self.home)
    }

    /// The administration of the place where the station is, so far as the call sign tells:
    /// that of a country named beside a stroke, else of the home call. `PrefixAllocation::None` at
    /// sea and in the air.
    pub fn place_allocation(&self) -> PrefixAllocation {
        let abroad = self.after.iter().find_map(|addition| match addition {
            CallSignAddition::MaritimeMobile | CallSignAddition::AeronauticalMobile => {
                Some(PrefixAllocation::None)
            }
            CallSignAddition::Country(prefix) => Some(allocation(prefix)),
            _ => None,
        });
        abroad
            .or_else(|| self.before.as_deref().map(allocation))
            .unwrap_or_else(|| self.home_allocation())
    }
}

impl fmt::Display for CallSign {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(before) = &self.before {
            write!(f, "{before}/")?;
        }
        f.write_str(&self.home)?;
        self.after
            .iter()
            .try_for_each(|addition| write!(f, "/{addition}"))
    }
}
