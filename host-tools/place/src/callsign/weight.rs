//! How plausible a home call is, for a decoder that compares many.

use jumpseat_core::call_sign::split_home_call;

use super::allocation::is_allocated;

/// How a home call looks, most plausible first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ShapeCommonness {
    /// One digit and two or three letters behind it: nearly all stations.
    Usual,
    /// One digit and one or four letters behind it; or no digit apart, as in the Bahamas.
    Seldom,
    /// Several digits or a long suffix: special event stations.
    Special,
    /// Anything else that can be read as a call sign.
    Odd,
}

/// What a decoder may hold for or against a home call.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CallSignWeight {
    /// Whether the prefix is allocated (RR Appendix 42).
    pub allocated: bool,
    /// How the shape looks.
    pub commonness: ShapeCommonness,
    /// Natural logarithm of a relative weight, 0 for the most usual, less for others. The
    /// sizes are our judgement from common practice, not counted: a decoder that has
    /// material of its own should fit them to it.
    pub log: f32,
}

/// Against a prefix that is allocated to nobody.
const NOT_ALLOCATED_LOG: f32 = -7.0;

/// Weighs a home call without strokes, in capital letters. `None` when it cannot be a call
/// sign. Allocates nothing; some tens of nanoseconds.
pub fn weigh(home: &[u8]) -> Option<CallSignWeight> {
    if home.len() > super::MAX_CALL_SIGN_BYTES
        || !home
            .iter()
            .all(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit())
    {
        return None;
    }
    let shape = split_home_call(home)?;
    let suffix = &home[shape.digits_end..];
    let letters_only = suffix.iter().all(u8::is_ascii_alphabetic);
    let digits = shape.digits_end - shape.prefix_end;
    let (commonness, log) = match (shape.odd_prefix, digits, suffix.len(), letters_only) {
        (true, ..) | (_, _, 0, _) => (ShapeCommonness::Odd, -8.0),
        (_, 1, 3, true) => (ShapeCommonness::Usual, 0.0),
        (_, 1, 2, true) => (ShapeCommonness::Usual, -0.5),
        (_, 1, 1, true) => (ShapeCommonness::Seldom, -4.0),
        (_, 1, 4, true) | (_, 0, 2..=4, true) => (ShapeCommonness::Seldom, -5.0),
        (_, 2.., 1..=4, true) | (_, 1, 5.., true) => (ShapeCommonness::Special, -6.0),
        _ => (ShapeCommonness::Odd, -8.0),
    };
    let allocated = is_allocated(home);
    Some(CallSignWeight {
        allocated,
        commonness,
        log: if allocated {
            log
        } else {
            log + NOT_ALLOCATED_LOG
        },
    })
}
