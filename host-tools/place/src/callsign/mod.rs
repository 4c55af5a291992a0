//! Call signs: their shape (RR Article 19), what stands beside a stroke, and to whom the
//! prefix is allocated (RR Appendix 42).
//!
//! The parser refuses only what cannot be a call sign. Whatever is unusual is taken with a
//! doubt, for special event stations are unusual on purpose.

mod allocation;
mod doubt;
mod shape;
mod stroke;
#[cfg(test)]
mod tests;
mod weight;

use std::fmt;

pub use allocation::{Allocation, Series, allocation, can_begin, is_allocated, series};
pub use doubt::{CallDoubt, CallError};
pub use stroke::Addition;
pub use weight::{Commonness, Weight, weigh};

/// Longest text taken, in bytes, strokes included. No rule sets it; it is far above what is
/// heard.
pub const LONGEST: usize = 32;

/// A call sign, taken apart. `Display` writes it whole, in capital letters.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct CallSign {
    home: String,
    prefix_end: usize,
    digits_end: usize,
    before: Option<String>,
    after: Vec<Addition>,
}

/// A call sign with what speaks against it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Parsed {
    /// The call sign.
    pub value: CallSign,
    /// Empty when all about it is usual.
    pub doubts: Vec<CallDoubt>,
}

/// Reads a call sign in letters of either case, perhaps with space around it, with up to
/// three strokes. A zero may be written with its slash (Ø).
///
/// # Errors
/// [`CallError`] when the text cannot be a call sign.
pub fn parse(text: &str) -> Result<Parsed, CallError> {
    let text = normalise(text)?;
    let parts: Vec<&str> = text.split('/').collect();
    if parts.len() > 4 {
        return Err(CallError::ManyStrokes);
    }
    if parts.iter().any(|part| part.is_empty()) {
        return Err(CallError::EmptyPart);
    }
    let (at, shape) = home_among(&parts).ok_or(CallError::NotACall)?;
    let mut doubts = shape_doubts(parts[at], shape);
    let calls = parts
        .iter()
        .enumerate()
        .filter(|(index, part)| *index != at && is_rival(part));
    doubts.extend(calls.map(|(_, part)| CallDoubt::TwoCalls {
        other: (*part).to_owned(),
    }));

    // only the part right before the home call is a country; more is kept with it
    let before = (at > 0).then(|| parts[..at].join("/"));
    let mut after = Vec::new();
    for part in &parts[at + 1..] {
        let (addition, doubt) = Addition::read(part);
        after.push(addition);
        doubts.extend(doubt.filter(|_| !is_rival(part)));
    }
    if let Some(before) = &before
        && !is_rival(before)
    {
        if shape::is_prefix(before.as_bytes()) {
            doubts.extend(allocation_doubt(before));
        } else {
            doubts.push(CallDoubt::UnknownAddition(before.clone()));
        }
    }
    let value = CallSign {
        home: parts[at].to_owned(),
        prefix_end: shape.prefix_end,
        digits_end: shape.digits_end,
        before,
        after,
    };
    Ok(Parsed { value, doubts })
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
    pub fn after(&self) -> &[Addition] {
        &self.after
    }

    /// To whom the home call's prefix is allocated.
    pub fn home_allocation(&self) -> Allocation {
        allocation(&self.home)
    }

    /// The administration of the place where the station is, so far as the call sign tells:
    /// that of a country named beside a stroke, else of the home call. `Allocation::None` at
    /// sea and in the air.
    pub fn place_allocation(&self) -> Allocation {
        let abroad = self.after.iter().find_map(|addition| match addition {
            Addition::MaritimeMobile | Addition::AeronauticalMobile => Some(Allocation::None),
            Addition::Country(prefix) => Some(allocation(prefix)),
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

fn normalise(text: &str) -> Result<String, CallError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(CallError::Empty);
    }
    if text.len() > LONGEST {
        return Err(CallError::TooLong);
    }
    text.chars()
        .map(|character| match character {
            'Ø' | 'ø' => Ok('0'),
            'A'..='Z' | 'a'..='z' | '0'..='9' | '/' => Ok(character.to_ascii_uppercase()),
            other => Err(CallError::Character(other)),
        })
        .collect()
}

/// The part that is the home call: the longest suffix, then the longest part, then the
/// first. So W7QTM, not VP2E, is the home call of VP2E/W7QTM.
fn home_among(parts: &[&str]) -> Option<(usize, shape::Shape)> {
    let calls = parts
        .iter()
        .enumerate()
        .filter_map(|(at, part)| Some((at, part, shape::split(part.as_bytes())?)));
    calls
        .max_by_key(|(at, part, shape)| {
            (
                part.len() - shape.digits_end,
                part.len(),
                std::cmp::Reverse(*at),
            )
        })
        .map(|(at, _, shape)| (at, shape))
}

/// Whether a part beside the home call is a whole call sign itself, not a country's prefix.
fn is_rival(part: &str) -> bool {
    !shape::is_prefix(part.as_bytes()) && shape::split(part.as_bytes()).is_some()
}

fn shape_doubts(home: &str, shape: shape::Shape) -> Vec<CallDoubt> {
    let suffix = &home[shape.digits_end..];
    let digits = shape.digits_end - shape.prefix_end;
    let mut doubts: Vec<CallDoubt> = allocation_doubt(home).into_iter().collect();
    let mut note = |applies: bool, doubt: CallDoubt| {
        if applies {
            doubts.push(doubt);
        }
    };
    note(shape.odd_prefix, CallDoubt::OddPrefix);
    note(digits == 0, CallDoubt::NoDigit);
    note(digits > 1, CallDoubt::ManyDigits);
    note(suffix.is_empty(), CallDoubt::NoSuffix);
    note(suffix.len() > 4, CallDoubt::LongSuffix);
    note(
        suffix.bytes().any(|byte| byte.is_ascii_digit()),
        CallDoubt::DigitInSuffix,
    );
    doubts
}

fn allocation_doubt(call: &str) -> Option<CallDoubt> {
    let prefix = || {
        call.chars().take(
            if call.starts_with(['B', 'F', 'G', 'I', 'K', 'M', 'N', 'R', 'W']) {
                1
            } else {
                2
            },
        )
    };
    match allocation(call) {
        Allocation::One(_) => None,
        Allocation::None => Some(CallDoubt::NotAllocated {
            prefix: prefix().collect(),
        }),
        Allocation::Several(administrations) => Some(CallDoubt::SharedPrefix {
            prefix: prefix().collect(),
            administrations,
        }),
    }
}
