//! Drafts joined and taken apart, as a person hears them.

use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_entries::{Draft, DraftKind};
use jumpseat_place::locator;
use jumpseat_trip::{DialHistory, Track};
use jumpseat_values::{Alternative, Doubt, DraftDoubt, Estimate};

use crate::open_trips::OpenTrip;

/// Two drafts of one trip as one.
pub(crate) fn join(one: &Draft, other: &Draft) -> Draft {
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
    Draft {
        kind: DraftKind::Contact,
        off_s: ends.off_s,
        off: ends.off.clone(),
        marks_s,
        call: better(&first.call, &last.call),
        sent: better(&first.sent, &last.sent),
        received: better(&first.received, &last.received),
        name: better(&first.name, &last.name),
        their_locator: better(&first.their_locator, &last.their_locator),
        remark: better(&first.remark, &last.remark),
        area_off: moved.filter(|area| Some(area) != first.area.value.as_ref()),
        overs,
        doubts,
        ..first.clone()
    }
}

/// The likelier of two values, with the other one beside it.
fn better(one: &Estimate<String>, other: &Estimate<String>) -> Estimate<String> {
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

/// A draft as two: the second begins with the over at `cut`. `None` where one of them
/// would have no over.
pub(crate) fn part(draft: &Draft, cut: usize, open: Option<&OpenTrip>) -> Option<(Draft, Draft)> {
    if cut == 0 || cut >= draft.overs.len() {
        return None;
    }
    let (head, tail) = draft.overs.split_at(cut);
    let at_s = tail.first()?.start_s;
    let piece = |overs: &[jumpseat_entries::DraftOver], from_s: f64, to_s: f64| {
        let within = |at: f64| from_s <= at && at < to_s;
        let field = |field: &Estimate<String>| share(field, within);
        Draft {
            kind: DraftKind::Contact,
            on_s: from_s,
            off_s: to_s,
            marks_s: draft
                .marks_s
                .iter()
                .copied()
                .filter(|&at| within(at))
                .collect(),
            call: field(&draft.call),
            sent: field(&draft.sent),
            received: field(&draft.received),
            name: field(&draft.name),
            their_locator: field(&draft.their_locator),
            remark: field(&draft.remark),
            overs: overs.to_vec(),
            ..draft.clone()
        }
    };
    let ends = head.last()?.end_s.min(at_s);
    let mut first = piece(head, draft.on_s, ends);
    let mut second = piece(tail, at_s, draft.off_s.max(at_s));
    first.off = moved(&draft.on, draft.on_s, ends, open);
    first.area_off = None;
    second.on = moved(&draft.on, draft.on_s, at_s, open);
    if let Some(area) = second.area_off.take() {
        second.area.value = Some(area);
    }
    if let Some(open) = open {
        settle(&mut second, open);
    }
    Some((first, second))
}

/// The value in the part in which it was heard; in the other it was not.
fn share(field: &Estimate<String>, within: impl Fn(f64) -> bool) -> Estimate<String> {
    let mut share = field.clone();
    share.evidence.retain(|evidence| within(evidence.start_s));
    if field.value.is_some() && share.evidence.is_empty() {
        return Estimate::unknown(DraftDoubt::NotInPart);
    }
    share
}

/// The time of another second of the same trip.
fn moved(
    time: &Estimate<DateTime<Utc>>,
    was_s: f64,
    is_s: f64,
    open: Option<&OpenTrip>,
) -> Estimate<DateTime<Utc>> {
    let mut field = time.clone();
    field.evidence.clear();
    if let Some(open) = open {
        let sample = (is_s.max(0.0) * open.rate()) as u64;
        let estimate = open.timeline.at_sample(sample);
        field.value = estimate.value;
        field.doubts = read(&estimate.doubts);
        return field;
    }
    let milliseconds = ((is_s - was_s) * 1e3).round() as i64;
    let later = TimeDelta::milliseconds(milliseconds);
    field.value = time.value.and_then(|time| time.checked_add_signed(later));
    field
}

fn read(sentences: &[String]) -> Vec<Doubt> {
    sentences.iter().map(|text| Doubt::read(text)).collect()
}

/// Place and dial where the draft begins.
fn settle(draft: &mut Draft, open: &OpenTrip) {
    let mono = open.mono(draft.on_s);
    let place = Track::of(&open.trip).at_mono(mono);
    if let Some(at) = place.value {
        draft.lat = Estimate::new(Some(at.lat), read(&place.doubts));
        draft.lon = Estimate::new(Some(at.lon), read(&place.doubts));
        let name = locator::encode(at.lat, at.lon, 3).ok();
        draft.locator = Estimate::new(name, read(&place.doubts));
    }
    let dial = DialHistory::of(&open.trip).at_mono(mono);
    if let Some(setting) = dial.value {
        let band = jumpseat_place::band::of(setting.hz).map(|band| band.name.clone());
        draft.band = Estimate::new(band, read(&dial.doubts));
        draft.hz = Estimate::new(Some(setting.hz), read(&dial.doubts));
        draft.mode = Estimate::new(Some(setting.mode), read(&dial.doubts));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::samples::draft;

    #[test]
    fn what_is_taken_apart_and_joined_again_has_all_its_overs_and_values() {
        let whole = draft();
        for cut in 1..whole.overs.len() {
            let (first, second) = part(&whole, cut, None).unwrap();
            assert!(first.off_s <= second.on_s);
            assert_eq!(first.on, whole.on);
            let again = join(&second, &first);
            assert_eq!(again.overs, whole.overs);
            assert_eq!((again.on_s, again.off_s), (whole.on_s, whole.off_s));
            assert_eq!(again.call.value, whole.call.value);
            assert_eq!(again.marks_s, whole.marks_s);
        }
    }

    #[test]
    fn a_value_stays_with_the_part_in_which_it_was_heard() {
        let whole = draft();
        let (first, second) = part(&whole, 1, None).unwrap();
        assert_eq!(first.call.value, None);
        assert_eq!(second.call.value, whole.call.value);
    }

    #[test]
    fn no_part_is_without_an_over() {
        let whole = draft();
        for cut in [0, whole.overs.len(), 99] {
            assert_eq!(part(&whole, cut, None), None);
        }
    }
}
