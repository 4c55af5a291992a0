//! Reads a text as a call sign, with what is unusual about it.

use jumpseat_core::call_sign::{
    CallSignShape, is_prefix, is_single_letter_prefix, normalized, split_home_call,
};
use jumpseat_values::{CallSignDoubt, Doubt, Estimate};

use super::{CallSign, CallSignAddition, CallSignError, PrefixAllocation, allocation};

/// Reads a call sign in letters of either case, perhaps with space around it, with up to
/// three strokes. A zero may be written with its slash (Ø). The estimate has a value.
///
/// # Errors
/// [`CallSignError`] when the text cannot be a call sign.
pub fn parse(text: &str) -> Result<Estimate<CallSign>, CallSignError> {
    let text = normalized(text)?;
    let parts: Vec<&str> = text.split('/').collect();
    let (at, shape) = home_among(&parts).ok_or(CallSignError::NotACall)?;
    let mut doubts = shape_doubts(parts[at], shape);
    let calls = parts
        .iter()
        .enumerate()
        .filter(|(index, part)| *index != at && is_rival(part));
    doubts.extend(calls.map(|(_, part)| CallSignDoubt::TwoCalls {
        other: (*part).to_owned(),
    }));

    // only the part right before the home call is a country; more is kept with it
    let before = (at > 0).then(|| parts[..at].join("/"));
    let mut after = Vec::new();
    for part in &parts[at + 1..] {
        let (addition, doubt) = CallSignAddition::read(part);
        after.push(addition);
        doubts.extend(doubt.filter(|_| !is_rival(part)));
    }
    if let Some(before) = &before
        && !is_rival(before)
    {
        if is_prefix(before.as_bytes()) {
            doubts.extend(allocation_doubt(before));
        } else {
            doubts.push(CallSignDoubt::UnknownAddition {
                addition: before.clone(),
            });
        }
    }
    let value = CallSign {
        home: parts[at].to_owned(),
        prefix_end: shape.prefix_end,
        digits_end: shape.digits_end,
        before,
        after,
    };
    let doubts = doubts.into_iter().map(Doubt::from).collect();
    Ok(Estimate::new(Some(value), doubts))
}

/// The part that is the home call: the longest suffix, then the longest part, then the
/// first. So W7QTM, not VP2E, is the home call of VP2E/W7QTM.
fn home_among(parts: &[&str]) -> Option<(usize, CallSignShape)> {
    let calls = parts
        .iter()
        .enumerate()
        .filter_map(|(at, part)| Some((at, part, split_home_call(part.as_bytes())?)));
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
    !is_prefix(part.as_bytes()) && split_home_call(part.as_bytes()).is_some()
}

fn shape_doubts(home: &str, shape: CallSignShape) -> Vec<CallSignDoubt> {
    let suffix = &home[shape.digits_end..];
    let digits = shape.digits_end - shape.prefix_end;
    let mut doubts: Vec<CallSignDoubt> = allocation_doubt(home).into_iter().collect();
    let mut note = |applies: bool, doubt: CallSignDoubt| {
        if applies {
            doubts.push(doubt);
        }
    };
    note(shape.odd_prefix, CallSignDoubt::OddPrefix);
    note(digits == 0, CallSignDoubt::NoDigit);
    note(digits > 1, CallSignDoubt::ManyDigits);
    note(suffix.is_empty(), CallSignDoubt::NoSuffix);
    note(suffix.len() > 4, CallSignDoubt::LongSuffix);
    note(
        suffix.bytes().any(|byte| byte.is_ascii_digit()),
        CallSignDoubt::DigitInSuffix,
    );
    doubts
}

fn allocation_doubt(call: &str) -> Option<CallSignDoubt> {
    let alone = call.bytes().next().is_some_and(is_single_letter_prefix);
    let prefix = || -> String { call.chars().take(if alone { 1 } else { 2 }).collect() };
    match allocation(call) {
        PrefixAllocation::One(_) => None,
        PrefixAllocation::None => Some(CallSignDoubt::NotAllocated { prefix: prefix() }),
        PrefixAllocation::Several(administrations) => Some(CallSignDoubt::SharedPrefix {
            prefix: prefix(),
            administrations: administrations.join(" or "),
        }),
    }
}
