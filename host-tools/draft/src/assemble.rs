//! Makes contacts of the events of a drive.

use jumpseat_values::{Doubt, DraftDoubt, Estimate, RecordingDoubt, Span};

use crate::attribution::SpeakerAttribution;
use crate::cut::{DriveEvent, TransmissionTurn, events, first_setting, turns};
use crate::feature::FeatureScene;
use crate::fitted::fitted;
use crate::model::{ContactSegment, SegmentScores};
use crate::own_sign;
use crate::spoken_values::StationPart;
use crate::station::{self, StationCandidate};
use crate::{
    AssemblyInput, DraftAssembly, DraftContact, DraftEntryKind, DraftRules, DriveOver,
    OverDirection, SpeechActivity, UnansweredOver, UnansweredReason, marks,
};

/// How near to an end of the recording something must be to be cut off by it.
const AT_THE_END_S: f64 = 1.0;

/// Less probable contacts carry a doubt.
const SURE_PROBABILITY: f64 = 0.8;

/// A station that was called and that answered with less than this, as sums of
/// probabilities, gives no entry of its own beside the first.
const LEAST_TAKING_PART: f64 = 0.5;

/// Finds the contacts of a drive: the most probable division of its transmissions and of
/// the speech that came back into contacts and everything else. A mark is evidence of
/// one; a mark with no contact near it becomes an entry of its own kind.
pub fn assemble(drive: &AssemblyInput, rules: &DraftRules) -> DraftAssembly {
    let given = drive.own.is_some();
    let drive = &own_sign::with_own_sign(drive);
    let events = events(drive, rules);
    let scene = FeatureScene::of(drive, &events);
    let mut segments = SegmentScores::of(&scene, &fitted().weights).best();
    segments.extend(cut_off(drive, &events, &segments));
    let mut assembly = DraftAssembly {
        doubts: key_line(drive, rules).into_iter().collect(),
        taken_for_own: drive.own.clone().filter(|_| !given),
        ..DraftAssembly::default()
    };
    let turns = turns(drive, rules);
    let mut taken = vec![false; events.len()];
    for segment in &segments {
        taken[segment.first..=segment.last].fill(true);
        let inside = &events[segment.first..=segment.last];
        assembly
            .contacts
            .extend(describe(drive, rules, &turns, segment, inside));
    }
    for (event, _) in events.iter().zip(&taken).filter(|(_, taken)| !**taken) {
        if event.direction == OverDirection::Tx {
            let turn = turns.iter().find(|turn| turn.over == event.over);
            let answered = turn.is_some_and(|turn| !turn.unknown && turn.answered(rules));
            assembly.unanswered.push(UnansweredOver {
                over: event.over,
                at_s: event.span.start_s,
                why: if answered {
                    UnansweredReason::NotPursued
                } else {
                    UnansweredReason::NoAnswer
                },
            });
        }
    }
    marks::attach(drive, rules, &turns, &mut assembly.contacts);
    assembly
        .contacts
        .sort_by(|one, other| one.on_s.total_cmp(&other.on_s));
    assembly
}

/// What is strange about the key line over the whole drive.
fn key_line(drive: &AssemblyInput, rules: &DraftRules) -> Option<Doubt> {
    let sent = |over: &&DriveOver| over.direction == OverDirection::Tx;
    let length_s = |over: &DriveOver| over.end_s - over.start_s;
    let longest_s = drive
        .overs
        .iter()
        .filter(sent)
        .map(length_s)
        .fold(0.0, f64::max);
    let spoke = |over: &DriveOver| match &over.activity {
        SpeechActivity::Found(spans) => over.direction == OverDirection::Rx && !spans.is_empty(),
        SpeechActivity::Unknown => false,
    };
    if longest_s >= rules.stuck_key_s {
        // Trips are far shorter than 2^32 minutes.
        let minutes = (longest_s / 60.0) as u32;
        Some(RecordingDoubt::KeyStuck { minutes }.into())
    } else if longest_s == 0.0
        && drive.length_s >= rules.stuck_key_s
        && drive.overs.iter().any(spoke)
    {
        Some(RecordingDoubt::KeyNeverDown.into())
    } else {
        None
    }
}

/// A call and its answer, or these and the beginning of the next word, at the very end of
/// a recording that broke off: what came next is not known, and a person should look.
fn cut_off(
    drive: &AssemblyInput,
    events: &[DriveEvent],
    segments: &[ContactSegment],
) -> Option<ContactSegment> {
    use OverDirection::{Rx, Tx};
    let last = events.len().checked_sub(1)?;
    let free = segments.last().map_or(0, |segment| segment.last + 1);
    let sides: Vec<OverDirection> = events[free..].iter().map(|one| one.direction).collect();
    let first = match sides[..] {
        [.., Tx, Rx] => last - 1,
        [.., Tx, Rx, Tx] => last - 2,
        _ => return None,
    };
    let at_the_end = drive.length_s - events[last].span.end_s <= AT_THE_END_S;
    (drive.broke_off && at_the_end).then_some(ContactSegment {
        first,
        last,
        probability: 0.5,
        start: 1.0,
    })
}

/// Writes the entries for one contact: one for every station that took part.
fn describe(
    drive: &AssemblyInput,
    rules: &DraftRules,
    turns: &[TransmissionTurn<'_>],
    segment: &ContactSegment,
    events: &[DriveEvent],
) -> Vec<DraftContact> {
    let (Some(first), Some(last)) = (events.first(), events.last()) else {
        return Vec::new();
    };
    let span = Span::new(first.span.start_s, last.span.end_s);
    let mut overs: Vec<usize> = events.iter().map(|event| event.over).collect();
    overs.dedup();
    let doubts = doubts(drive, rules, segment, events);
    let own: Vec<&TransmissionTurn<'_>> = turns
        .iter()
        .filter(|turn| overs.contains(&turn.over))
        .collect();
    let listened = events.iter().any(|event| event.listened);
    let stations = stations(drive, &overs, &span);
    let company = SpeakerAttribution::of(drive, &stations);
    let parts = parts(&stations, events, span);
    let entry = |station: usize, call: Estimate<String>, part: Span| {
        let said = StationPart {
            drive,
            overs: &overs,
            span: part,
            company: &company,
            station,
        };
        let shares = &fitted().shares;
        let value = |judged: Estimate<String>| {
            if listened {
                judged
            } else {
                Estimate::unknown(DraftDoubt::NotHeard)
            }
        };
        DraftContact {
            kind: DraftEntryKind::Contact,
            on_s: part.start_s,
            off_s: part.end_s,
            overs: overs
                .iter()
                .copied()
                .filter(|&over| {
                    let over = &drive.overs[over];
                    Span::new(over.start_s, over.end_s).meets(&part)
                })
                .collect(),
            marks: Vec::new(),
            dial: first_setting(&own),
            call: value(call),
            sent: value(said.report(OverDirection::Tx, shares)),
            received: value(said.report(OverDirection::Rx, shares)),
            name: value(said.name(shares)),
            their_locator: value(said.their_locator(shares)),
            remark: value(said.remark(shares)),
            doubts: doubts.clone(),
        }
    };
    if stations.is_empty() {
        return vec![entry(0, Estimate::unknown(DraftDoubt::NoSignHeard), span)];
    }
    let calls = stations.iter().map(|one| {
        let call = match &drive.own {
            None if one.called > one.answered => one.call.clone().doubting(DraftDoubt::MayBeOwn),
            _ => one.call.clone(),
        };
        if one.called >= LEAST_TAKING_PART {
            call
        } else {
            call.doubting(DraftDoubt::NotRepeated)
        }
    });
    calls
        .zip(parts)
        .enumerate()
        .map(|(station, (call, part))| entry(station, call, part))
        .collect()
}

/// The stations of a contact, in the order in which the operator called them: the one
/// that was heard best, and others that were called and that answered.
fn stations(drive: &AssemblyInput, overs: &[usize], span: &Span) -> Vec<StationCandidate> {
    let mut heard = station::station_candidates(drive, overs, span, &fitted().pooling).into_iter();
    let main = heard.next();
    let took_part = |one: &StationCandidate| {
        one.called >= LEAST_TAKING_PART && one.answered >= LEAST_TAKING_PART
    };
    let mut all: Vec<StationCandidate> = heard.filter(took_part).chain(main).collect();
    all.sort_by(|one, other| one.called_s.total_cmp(&other.called_s));
    all
}

/// From when to when each station took part, given in the order in which the operator
/// called them: the first from the beginning of the contact, the others from the over in
/// which they were called first, and each to the end, or, if it was not heard of again, up
/// to the call of the next.
fn parts(stations: &[StationCandidate], events: &[DriveEvent], span: Span) -> Vec<Span> {
    let called = |one: &StationCandidate| {
        let over = events
            .iter()
            .find(|event| event.direction == OverDirection::Tx && event.span.end_s >= one.called_s);
        over.map_or(span.start_s, |event| event.span.start_s)
    };
    let mut starts: Vec<f64> = stations.iter().map(called).collect();
    if let Some(first) = starts.first_mut() {
        *first = span.start_s;
    }
    let end = |at: usize| {
        let next = starts
            .get(at + 1)
            .filter(|next| stations[at].span.end_s < **next);
        let last = next.and_then(|next| {
            let before = events.iter().rev();
            before
                .map(|event| event.span.end_s)
                .find(|end_s| end_s <= next)
        });
        last.unwrap_or(span.end_s)
    };
    let ends: Vec<f64> = (0..stations.len()).map(end).collect();
    let part = |(start_s, end_s): (&f64, f64)| Span::new(*start_s, end_s.max(*start_s));
    starts.iter().zip(ends).map(part).collect()
}

/// What a person should know about a contact as a whole.
fn doubts(
    drive: &AssemblyInput,
    rules: &DraftRules,
    segment: &ContactSegment,
    events: &[DriveEvent],
) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    let mut doubt = |when: bool, doubt: DraftDoubt| {
        if when {
            doubts.push(Doubt::from(doubt));
        }
    };
    let (Some(first), Some(last)) = (events.first(), events.last()) else {
        return doubts;
    };
    let exchanges = events
        .windows(2)
        .filter(|pair| {
            pair[0].direction == OverDirection::Rx && pair[1].direction == OverDirection::Tx
        })
        .count();
    let longest = events
        .windows(2)
        .map(|pair| pair[1].span.start_s - pair[0].span.end_s)
        .fold(0.0, f64::max);
    let listening = events
        .split(|event| event.direction == OverDirection::Tx)
        .map(|received| {
            let span = received.first().zip(received.last());
            span.map_or(0.0, |(first, last)| last.span.end_s - first.span.start_s)
        });
    let listening = listening.fold(longest, f64::max);
    doubt(
        segment.probability < SURE_PROBABILITY,
        DraftDoubt::MayBeNone,
    );
    doubt(
        segment.start < 0.7 && segment.probability >= SURE_PROBABILITY,
        DraftDoubt::StartUncertain,
    );
    doubt(
        first.span.start_s <= AT_THE_END_S,
        DraftDoubt::RecordingBegins,
    );
    doubt(
        last.span.end_s >= drive.length_s - AT_THE_END_S,
        DraftDoubt::RecordingEnds,
    );
    doubt(
        events.iter().any(|event| event.unknown),
        DraftDoubt::AudioMissing,
    );
    doubt(exchanges <= 1 && events.len() <= 3, DraftDoubt::OneExchange);
    doubt(listening > rules.listening_s, DraftDoubt::LongListening);
    doubts
}
