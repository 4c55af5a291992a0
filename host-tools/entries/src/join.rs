//! Two drafts become one.

use jumpseat_values::{Alternative, Estimate};

use crate::draft::{Draft, DraftKind};
use crate::fields::{DraftSource, FIELDS};

/// Two drafts of one trip as one.
pub fn join(one: &Draft, other: &Draft) -> Draft {
    let (first, last) = if one.on_s <= other.on_s {
        (one, other)
    } else {
        (other, one)
    };
    let ends = if last.off_s >= first.off_s {
        last
    } else {
        first
    };
    let mut overs = [&first.overs[..], &last.overs].concat();
    overs.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
    overs.dedup_by(|a, b| a.start_s == b.start_s && a.direction == b.direction);
    let mut marks_s = [&first.marks_s[..], &last.marks_s].concat();
    marks_s.sort_by(f64::total_cmp);
    marks_s.dedup();
    let mut doubts = first.doubts.clone();
    doubts.extend(last.doubts.iter().cloned());
    doubts.dedup();
    let moved = ends.area_off.clone().or_else(|| ends.area.value.clone());
    let mut joined = Draft {
        kind: DraftKind::Contact,
        off_s: ends.off_s,
        off: ends.off.clone(),
        marks_s,
        area_off: moved.filter(|area| Some(area) != first.area.value.as_ref()),
        overs,
        doubts,
        ..first.clone()
    };
    for definition in &FIELDS {
        if let DraftSource::Heard { get, get_mut } = definition.draft {
            *get_mut(&mut joined) = likelier(get(first), get(last));
        }
    }
    joined
}

/// The likelier of two values; the other one becomes an alternative.
fn likelier(one: &Estimate<String>, other: &Estimate<String>) -> Estimate<String> {
    let weight = |field: &Estimate<String>| {
        let known = field.value.is_some();
        field.probability.unwrap_or(if known { 0.5 } else { 0.0 })
    };
    let (best, rest) = if weight(one) >= weight(other) {
        (one, other)
    } else {
        (other, one)
    };
    let mut best = best.clone();
    let beside = rest.value.iter().map(|value| Alternative {
        value: value.clone(),
        probability: weight(rest),
    });
    for other in beside.chain(rest.alternatives.iter().cloned()) {
        let known = best.value.as_ref() == Some(&other.value)
            || best.alternatives.iter().any(|had| had.value == other.value);
        if !known {
            best.alternatives.push(other);
        }
    }
    best.evidence.extend(rest.evidence.iter().cloned());
    best
}
