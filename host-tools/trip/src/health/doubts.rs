//! Why a trip is not good, apart from its damage.

use jumpseat_values::{AudioSide, Doubt, RecordingDoubt, Rounded};

use super::report::HealthReport;

/// Above this a trip's worst time is a doubt, seconds.
const DOUBTFUL_TIME_S: f64 = 0.5;

/// What a person should know about a trip, from the figures of its report.
pub(super) fn doubts(report: &HealthReport) -> Vec<Doubt> {
    let mut doubts: Vec<Doubt> = Vec::new();
    if !report.ended_in_order {
        doubts.push(RecordingDoubt::NotEndedInOrder.into());
    }
    if report.lost_s > 0.0 {
        let lost_s = Rounded::new(report.lost_s);
        doubts.push(RecordingDoubt::AudioLost { lost_s }.into());
    }
    doubts.extend(report.time.quality.doubts.iter().cloned());
    let worst_s = report.time.worst_uncertainty_s;
    if let Some(worst_s) = worst_s.filter(|worst_s| *worst_s > DOUBTFUL_TIME_S) {
        let worst_s = Rounded::new(worst_s);
        doubts.push(RecordingDoubt::TimesUncertain { worst_s }.into());
    }
    let overs = report.rx_overs + report.tx_overs;
    let place = overs.saturating_sub(report.place.overs_known);
    if place > 0 {
        let doubtful = place;
        doubts.push(RecordingDoubt::PlaceUncertain { doubtful, overs }.into());
    }
    let dial = overs.saturating_sub(report.dial.overs_known);
    if dial > 0 {
        let doubtful = dial;
        doubts.push(RecordingDoubt::DialUncertain { doubtful, overs }.into());
    }
    let sides = [
        (AudioSide::Receive, &report.rx),
        (AudioSide::Transmit, &report.tx),
    ];
    for (side, level) in sides {
        let doubt = level.as_ref().and_then(|level| level.doubt(side));
        doubts.extend(doubt.map(Doubt::from));
    }
    for fault in report.faults.iter().filter(|fault| fault.lasting) {
        let detail = fault.detail.clone();
        doubts.push(RecordingDoubt::LastingFault { detail }.into());
    }
    doubts
}
