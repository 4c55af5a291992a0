//! Which entry of a draft is which contact.

use crate::truth::TrueContact;

/// Less overlap than this share of the longer of the two is no match.
const LEAST_OVERLAP: f64 = 0.2;

/// Pairs of contact and entry, one to one: those with the right call sign first, for
/// contacts of one conversation lie in the same time, and then those that overlap most.
pub(super) fn pairs(
    contacts: &[TrueContact],
    entries: &[(f64, f64)],
    calls: &[Option<&str>],
) -> Vec<(usize, usize)> {
    let mut candidates = Vec::new();
    for (contact, truth) in contacts.iter().enumerate() {
        for (entry, &span) in entries.iter().enumerate() {
            let share = overlap((truth.on_s, truth.off_s), span);
            if share >= LEAST_OVERLAP {
                let same = calls.get(entry).copied().flatten() == Some(truth.call.as_str());
                candidates.push((share + f64::from(u8::from(same)), contact, entry));
            }
        }
    }
    candidates.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for (_, contact, entry) in candidates {
        if pairs
            .iter()
            .all(|pair| pair.0 != contact && pair.1 != entry)
        {
            pairs.push((contact, entry));
        }
    }
    pairs
}

/// The common time as a share of the longer of two spans.
fn overlap(a: (f64, f64), b: (f64, f64)) -> f64 {
    let common = (a.1.min(b.1) - a.0.max(b.0)).max(0.0);
    let longer = (a.1 - a.0).max(b.1 - b.0);
    if longer > 0.0 { common / longer } else { 0.0 }
}
