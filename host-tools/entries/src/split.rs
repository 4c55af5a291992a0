//! A draft becomes two.

use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_values::{AreaDoubt, Doubt, DraftDoubt, Estimate};

use crate::draft::{Draft, DraftKind, DraftOver};
use crate::fields::{DraftSource, FIELDS};
use crate::resolve::{TripInstants, area_crossing, band_of, own_place, stored_time};

/// A draft as two: the second begins with the over at index `cut`. `None` where one of
/// them would have no over.
///
/// With the trip, time, place and dial of the cut are resolved as in any draft. Without
/// it the times are counted on from the draft's start, and place and dial stay.
pub fn split(draft: &Draft, cut: usize, trip: Option<&dyn TripInstants>) -> Option<(Draft, Draft)> {
    if cut == 0 || cut >= draft.overs.len() {
        return None;
    }
    let (head, tail) = draft.overs.split_at(cut);
    let at_s = tail.first()?.start_s;
    let end_s = head.last()?.end_s.min(at_s);
    let mut first = piece(draft, head, draft.on_s, end_s);
    let mut second = piece(draft, tail, at_s, draft.off_s.max(at_s));
    first.area_off = None;
    match trip {
        Some(trip) => {
            first.off = stored_time(trip.time_at(end_s));
            second.on = stored_time(trip.time_at(at_s));
            settle(&mut second, trip);
            for part in [&mut first, &mut second] {
                cross(part, trip);
            }
        }
        None => {
            first.off = later(&draft.on, end_s - draft.on_s);
            second.on = later(&draft.on, at_s - draft.on_s);
            if let Some(area) = second.area_off.take() {
                second.area.value = Some(area);
            }
        }
    }
    Some((first, second))
}

/// The part of a draft from one second of the trip to before another.
fn piece(draft: &Draft, overs: &[DraftOver], from_s: f64, to_s: f64) -> Draft {
    let within = |at: f64| from_s <= at && at < to_s;
    let marks = draft.marks_s.iter().copied();
    let mut piece = Draft {
        kind: DraftKind::Contact,
        on_s: from_s,
        off_s: to_s,
        marks_s: marks.filter(|&at| within(at)).collect(),
        overs: overs.to_vec(),
        ..draft.clone()
    };
    for definition in &FIELDS {
        if let DraftSource::Heard { get, get_mut } = definition.draft {
            *get_mut(&mut piece) = share(get(draft), within);
        }
    }
    piece
}

/// The value, in the part in which it was heard; nothing in the other part.
fn share(field: &Estimate<String>, within: impl Fn(f64) -> bool) -> Estimate<String> {
    let mut share = field.clone();
    share.evidence.retain(|evidence| within(evidence.start_s));
    if field.value.is_some() && share.evidence.is_empty() {
        return Estimate::unknown(DraftDoubt::NotInPart);
    }
    share
}

/// The time `seconds` later.
fn later(time: &Estimate<DateTime<Utc>>, seconds: f64) -> Estimate<DateTime<Utc>> {
    let later = TimeDelta::milliseconds((seconds * 1e3).round() as i64);
    Estimate {
        value: time.value.and_then(|time| time.checked_add_signed(later)),
        evidence: Vec::new(),
        ..time.clone()
    }
}

/// Place and dial where the draft begins. What the trip does not know there stays.
fn settle(draft: &mut Draft, trip: &dyn TripInstants) {
    let place = trip.place_at(draft.on_s);
    if place.value.is_some() {
        let place = own_place(&place);
        (draft.lat, draft.lon, draft.locator) = (place.lat, place.lon, place.locator);
    }
    let dial = trip.dial_at(draft.on_s);
    if let Some(setting) = dial.value {
        draft.hz = Estimate::new(Some(setting.hz), dial.doubts.clone());
        draft.band = band_of(&draft.hz);
        draft.mode = Estimate::new(Some(setting.mode), dial.doubts);
    }
}

/// The areas where the draft begins and ends, where the trip knows the places.
fn cross(draft: &mut Draft, trip: &dyn TripInstants) {
    let (start, end) = (trip.place_at(draft.on_s), trip.place_at(draft.off_s));
    if start.value.is_none() || end.value.is_none() {
        return;
    }
    let crossing = area_crossing(&start, &end);
    draft.area = crossing.start;
    draft.area_off = crossing.end;
    let crossed = |doubt: &Doubt| matches!(doubt, Doubt::Area(AreaDoubt::Crossed { .. }));
    draft.doubts.retain(|doubt| !crossed(doubt));
    draft.doubts.extend(crossing.doubts);
}
