//! Puts what was assembled into UTC, place and band.

use chrono::{DateTime, Utc};
use jumpseat_draft::{AssemblyInput, DraftAssembly, DraftContact, DraftEntryKind, Judged};
use jumpseat_entries::resolve::{
    OwnPlace, area_crossing, band_of, own_place, round_ms, stored_time,
};
use jumpseat_entries::{Draft, DraftOver};
use jumpseat_trip::{DialHistory, Over, Timeline, Track, Trip};
use jumpseat_values::{Alternative, Doubt, Estimate, Evidence};

use crate::clock;

/// Everything that is needed to resolve a trip's entries.
struct DraftResolver<'a> {
    trip: &'a Trip,
    drive: &'a AssemblyInput,
    overs: Vec<Over>,
    timeline: Timeline,
    track: Track,
    dial: DialHistory,
    rate: f64,
}

/// The entries of an assembly as the logbook keeps them.
pub(super) fn resolve(trip: &Trip, drive: &AssemblyInput, assembly: &DraftAssembly) -> Vec<Draft> {
    let resolver = DraftResolver {
        trip,
        drive,
        overs: trip.overs(),
        timeline: clock::timeline(trip),
        track: Track::of(trip),
        dial: DialHistory::of(trip),
        rate: f64::from(trip.header().audio.sample_rate),
    };
    assembly
        .contacts
        .iter()
        .map(|contact| resolver.draft(contact))
        .collect()
}

impl DraftResolver<'_> {
    fn draft(&self, contact: &DraftContact) -> Draft {
        let station = &self.trip.header().station;
        let mono = self.mono(contact.on_s);
        let (hz, mode) = self.setting(contact, mono);
        let start = self.track.at_mono(mono);
        let end = self.track.at_mono(self.mono(contact.off_s));
        let OwnPlace { lat, lon, locator } = own_place(&start);
        let area = area_crossing(&start, &end);
        let mut doubts = read(&contact.doubts);
        doubts.extend(area.doubts);
        Draft {
            kind: match contact.kind {
                DraftEntryKind::Contact => jumpseat_entries::DraftKind::Contact,
                DraftEntryKind::Look => jumpseat_entries::DraftKind::Look,
            },
            on_s: round_ms(contact.on_s),
            off_s: round_ms(contact.off_s),
            marks_s: contact.marks.iter().copied().map(round_ms).collect(),
            call: self.heard(&contact.call),
            on: self.time(contact.on_s, contact.overs.first()),
            off: self.time(contact.off_s, contact.overs.last()),
            band: band_of(&hz),
            hz,
            mode,
            locator,
            lat,
            lon,
            area: area.start,
            area_off: area.end,
            sent: self.heard(&contact.sent),
            received: self.heard(&contact.received),
            name: self.heard(&contact.name),
            their_locator: self.heard(&contact.their_locator),
            remark: self.heard(&contact.remark),
            station: station.call.clone(),
            operator: station.operator.clone(),
            overs: contact
                .overs
                .iter()
                .filter_map(|&over| self.over(over))
                .collect(),
            doubts,
        }
    }

    fn mono(&self, at_s: f64) -> u64 {
        self.timeline
            .mono_of_sample((at_s * self.rate).max(0.0) as u64)
    }

    fn time(&self, at_s: f64, over: Option<&usize>) -> Estimate<DateTime<Utc>> {
        let estimate = self.timeline.at_sample((at_s * self.rate).max(0.0) as u64);
        let mut field = stored_time(estimate);
        field
            .evidence
            .extend(over.map(|&over| self.evidence(over, at_s, at_s)));
        field
    }

    /// The dial as the assembly had it, with what is doubtful about the reading;
    /// where it had none, the nearest reading.
    fn setting(&self, contact: &DraftContact, mono: u64) -> (Estimate<u64>, Estimate<String>) {
        let at = contact
            .dial
            .evidence
            .first()
            .map_or(mono, |evidence| self.mono(evidence.start_s));
        let Estimate {
            value, mut doubts, ..
        } = self.dial.at_mono(at);
        let assembled = contact.dial.value.as_ref();
        let hz = assembled.map(|setting| setting.hz);
        let word = assembled.map(|setting| setting.mode.clone());
        let hz = hz.or(value.as_ref().map(|setting| setting.hz));
        let word = word.or(value.map(|setting| setting.mode));
        if hz.is_none() && doubts.is_empty() {
            doubts.extend(read(&contact.dial.doubts));
        }
        let mut hz = Estimate::new(hz, doubts.clone());
        let mut word = Estimate::new(word, doubts);
        for evidence in &contact.dial.evidence {
            let evidence = self.evidence(evidence.over, evidence.start_s, evidence.end_s);
            hz.evidence.push(evidence);
            word.evidence.push(evidence);
        }
        (hz, word)
    }

    fn heard(&self, judged: &Judged<String>) -> Estimate<String> {
        let doubts = read(&judged.doubts);
        let mut field = Estimate::new(judged.value.clone(), doubts);
        field.probability = judged.probability;
        field.alternatives = judged
            .alternatives
            .iter()
            .map(|other| Alternative {
                value: other.value.clone(),
                probability: other.probability,
            })
            .collect();
        field.evidence = judged
            .evidence
            .iter()
            .map(|evidence| self.evidence(evidence.over, evidence.start_s, evidence.end_s))
            .collect();
        field
    }

    fn over(&self, index: usize) -> Option<DraftOver> {
        let (over, told) = (self.overs.get(index)?, self.drive.overs.get(index)?);
        Some(DraftOver {
            direction: over.direction.name().to_owned(),
            start_s: round_ms(told.start_s),
            end_s: round_ms(told.end_s),
            segments: over.segments.clone(),
        })
    }

    /// Evidence with the sound file in which it begins.
    fn evidence(&self, over: usize, start_s: f64, end_s: f64) -> Evidence {
        let sample = (start_s * self.rate).max(0.0) as u64;
        let numbers = self.overs.get(over).map_or(&[][..], |over| &over.segments);
        let segment = self
            .trip
            .segments()
            .iter()
            .filter(|segment| numbers.contains(&segment.number))
            .find(|segment| sample < segment.first_sample + segment.count)
            .map(|segment| segment.number)
            .or(numbers.last().copied());
        Evidence {
            over: None,
            segment,
            start_s: round_ms(start_s),
            end_s: round_ms(end_s),
        }
    }
}

fn read(doubts: &[impl ToString]) -> Vec<Doubt> {
    doubts
        .iter()
        .map(|doubt| Doubt::read(&doubt.to_string()))
        .collect()
}
