//! From a text to a call sign and its doubts.

use jumpseat_core::call_sign::{CallSignShape, is_prefix, normalized, split_home_call};

use super::{
    CallDoubt, CallSign, CallSignAddition, CallSignError, Parsed, PrefixAllocation, allocation,
};

/// Reads a call sign in letters of either case, perhaps with space around it, with up to
/// three strokes. A zero may be written with its slash (Ø).
///
/// # Errors
/// [`CallSignError`] when the text cannot be a call sign.
pub fn parse(text: &str) -> Result<Parsed, CallSignError> {
    let text = normalized(text)?;
    let parts: Vec<&str> = text.split('/').collect();
    let (at, shape) = home_among(&parts).ok_or(CallSignError::NotACall)?;
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

fn shape_doubts(home: &str, shape: CallSignShape) -> Vec<CallDoubt> {
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
        PrefixAllocation::One(_) => None,
        PrefixAllocation::None => Some(CallDoubt::NotAllocated {
            prefix: prefix().collect(),
        }),
        PrefixAllocation::Several(administrations) => Some(CallDoubt::SharedPrefix {
            prefix: prefix().collect(),
            administrations,
        }),
    }
}
