//! The health of a trip: integrity, time, place, dial and sound, for `jumpseat check`.

mod coverage;
mod doubts;
mod level;
mod report;
mod report_text;

use std::collections::BTreeMap;

use chrono::SecondsFormat;
use jumpseat_core::journal::{AudioDirection, JournalEvent};

pub use level::{SoundLevel, SoundLevelMeter};
pub use report::{DialHealth, FaultHealth, HealthReport, HealthVerdict, PlaceHealth, TimeHealth};

use crate::{DamageSeverity, DialHistory, Over, Timeline, Track, Trip};

/// Examines a trip, all of its audio included. `timeline` is that of the trip.
pub fn health(trip: &Trip, timeline: &Timeline) -> HealthReport {
    let rate = f64::from(trip.header().audio.sample_rate);
    let overs = trip.overs();
    let covered = coverage::measure_coverage(trip);
    let (rx, tx, unread) = level::measure_levels(trip);
    let mut damage: Vec<String> = trip.damage().iter().map(ToString::to_string).collect();
    damage.extend(unread);
    let count = |wanted| overs.iter().filter(move |over| over.direction == wanted);
    let mut report = HealthReport {
        trip: trip.id().to_owned(),
        verdict: HealthVerdict::Good,
        doubts: Vec::new(),
        damage,
        length_s: covered.end as f64 / rate,
        rx_s: covered.rx as f64 / rate,
        tx_s: covered.tx as f64 / rate,
        lost_s: covered.lost as f64 / rate,
        rx_overs: count(AudioDirection::Rx).count(),
        tx_overs: count(AudioDirection::Tx).count(),
        marks: trip.marks().len(),
        time: time(timeline, &overs, covered.end),
        place: place(trip, timeline, &overs, covered.end),
        dial: dial(trip, timeline, &overs),
        rx,
        tx,
        faults: faults(trip),
        ended_in_order: trip.ended_in_order(),
    };
    report.doubts = doubts::doubts(&report);
    let lossy = trip
        .damage()
        .iter()
        .any(|damage| damage.severity() == DamageSeverity::Loss);
    report.verdict = if report.rx_s + report.tx_s == 0.0 {
        HealthVerdict::Broken
    } else if lossy || report.damage.len() > trip.damage().len() || !report.doubts.is_empty() {
        HealthVerdict::Doubtful
    } else {
        HealthVerdict::Good
    };
    report
}

fn time(timeline: &Timeline, overs: &[Over], end: u64) -> TimeHealth {
    let text = |sample| {
        let utc = timeline.at_sample(sample).value?;
        Some(utc.to_rfc3339_opts(SecondsFormat::Millis, true))
    };
    let uncertainties = overs
        .iter()
        .filter_map(|over| timeline.at_sample(over.first_sample).uncertainty);
    TimeHealth {
        start: text(0),
        end: text(end),
        worst_uncertainty_s: uncertainties.max_by(f64::total_cmp),
        quality: timeline.quality().clone(),
    }
}

fn place(trip: &Trip, timeline: &Timeline, overs: &[Over], end: u64) -> PlaceHealth {
    let track = Track::of(trip);
    let mut times = vec![timeline.mono_of_sample(0)];
    times.extend(track.points().map(|(mono_ns, _)| mono_ns));
    times.push(timeline.mono_of_sample(end));
    times.sort_unstable();
    let longest = times.windows(2).map(|pair| pair[1] - pair[0]).max();
    let known = overs.iter().filter(|over| {
        let place = track.at_mono(timeline.mono_of_sample(over.first_sample));
        place.is_undoubted()
    });
    PlaceHealth {
        fixes: track.fixes(),
        longest_without_s: longest.unwrap_or(0) as f64 / 1e9,
        overs_known: known.count(),
    }
}

fn dial(trip: &Trip, timeline: &Timeline, overs: &[Over]) -> DialHealth {
    let dial = DialHistory::of(trip);
    let known = overs.iter().filter(|over| {
        let setting = dial.at_mono(timeline.mono_of_sample(over.first_sample));
        setting.is_undoubted()
    });
    DialHealth {
        changes: dial.changes().len(),
        overs_known: known.count(),
    }
}

fn faults(trip: &Trip) -> Vec<FaultHealth> {
    // In the order of their names, so that reports compare.
    let mut faults: BTreeMap<String, FaultHealth> = BTreeMap::new();
    for record in trip.records() {
        match &record.event {
            JournalEvent::Fault { fault, detail } => {
                let entry = faults.entry(format!("{fault:?}")).or_insert(FaultHealth {
                    fault: *fault,
                    times: 0,
                    lasting: false,
                    detail: detail.as_str().to_owned(),
                });
                entry.times += 1;
                entry.lasting = true;
            }
            JournalEvent::Recovery { fault, .. } => {
                if let Some(entry) = faults.get_mut(&format!("{fault:?}")) {
                    entry.lasting = false;
                }
            }
            _ => {}
        }
    }
    faults.into_values().collect()
}
