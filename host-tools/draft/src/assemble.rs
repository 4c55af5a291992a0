//! From transmissions and answers to contacts.

use crate::exchange::{Turn, turns};
use crate::{
    Assembly, Doubt, DraftContact, Drive, Evidence, Judged, Kind, Rules, Unanswered, Why, dial,
    marks,
};

/// How near to an end of the recording something must be to be cut off by it.
const AT_THE_END_S: f64 = 1.0;

/// Finds the contacts of a drive.
///
/// A contact is a call that was answered and what was said from there on with
/// at most [`Rules::silence_s`] of silence in between, on one dial setting:
/// at least one transmission, speech that came back, and one transmission
/// more. A mark with no contact near it becomes an entry of its own kind.
pub fn assemble(drive: &Drive, rules: &Rules) -> Assembly {
    let turns = turns(drive, rules);
    let mut assembly = Assembly::default();
    for run in runs(&turns, rules) {
        for piece in pieces(run, rules) {
            judge(drive, rules, piece, &mut assembly);
        }
    }
    marks::attach(drive, rules, &turns, &mut assembly.contacts);
    assembly
        .contacts
        .sort_by(|one, other| one.on_s.total_cmp(&other.on_s));
    assembly
}

/// Cuts where the dial moved or where it was silent for long.
fn runs<'t, 'a>(turns: &'t [Turn<'a>], rules: &Rules) -> Vec<&'t [Turn<'a>]> {
    let mut runs = Vec::new();
    let mut from = 0;
    for next in 1..=turns.len() {
        let ends = next == turns.len() || {
            let first_known = turns[from..next].iter().find_map(|turn| turn.dial);
            !dial::same(first_known, turns[next].dial, rules.nudge_hz)
                || silent_for_long(&turns[next - 1], rules)
        };
        if ends {
            runs.push(&turns[from..next]);
            from = next;
        }
    }
    runs
}

/// Whether the listening after a transmission was too long a silence to go on.
/// Missing audio may have held speech, so it may last as long as a person listens.
fn silent_for_long(turn: &Turn<'_>, rules: &Rules) -> bool {
    let allowed = if turn.unknown {
        rules.listening_s
    } else {
        rules.silence_s
    };
    turn.longest_silence_s() > allowed
}

/// Cuts a run where two transmissions in a row got no answer: the first may be
/// the farewell of a contact, the second is a new call.
fn pieces<'t, 'a>(run: &'t [Turn<'a>], rules: &Rules) -> Vec<&'t [Turn<'a>]> {
    let mut pieces = Vec::new();
    let mut from = 0;
    for next in 1..run.len() {
        if !run[next].answered(rules) && !run[next - 1].answered(rules) {
            pieces.push(&run[from..next]);
            from = next;
        }
    }
    pieces.push(&run[from..]);
    pieces
}

/// Makes a contact of a piece, or says why it is none.
fn judge(drive: &Drive, rules: &Rules, piece: &[Turn<'_>], assembly: &mut Assembly) {
    let first = piece.iter().position(|turn| turn.answered(rules));
    let cut_off = piece
        .last()
        .is_some_and(|last| ends_with_recording(drive, rules, last));
    let (calls, contact) = match first {
        None => (piece, None),
        Some(first) if first + 1 < piece.len() || cut_off => {
            (&piece[..first], Some(&piece[first..]))
        }
        Some(_) => (piece, None),
    };
    assembly
        .unanswered
        .extend(calls.iter().map(|turn| Unanswered {
            over: turn.over,
            at_s: turn.span.start_s,
            why: if turn.answered(rules) {
                Why::NotPursued
            } else {
                Why::NoAnswer
            },
        }));
    if let Some(contact) = contact {
        assembly
            .contacts
            .extend(describe(drive, rules, contact, cut_off));
    }
}

/// The recording broke off while the answer to this transmission came in.
fn ends_with_recording(drive: &Drive, rules: &Rules, last: &Turn<'_>) -> bool {
    drive.broke_off
        && last.answered(rules)
        && last
            .farewell(rules)
            .is_some_and(|speech| drive.length_s - speech.span.end_s <= AT_THE_END_S)
}

/// Writes the entry for the turns of one contact.
fn describe(
    drive: &Drive,
    rules: &Rules,
    turns: &[Turn<'_>],
    cut_off: bool,
) -> Option<DraftContact> {
    let (first, last) = (turns.first()?, turns.last()?);
    let farewell = last.farewell(rules);
    let off_s = farewell.map_or(last.span.end_s, |speech| speech.span.end_s);
    let mut overs: Vec<usize> = Vec::new();
    for turn in turns {
        overs.push(turn.over);
        if turn.over != last.over {
            overs.extend(&turn.received);
        }
    }
    overs.extend(farewell.map(|speech| speech.over));

    let mut doubts = Vec::new();
    let mut doubt = |when: bool, doubt: Doubt| {
        if when {
            doubts.push(doubt);
        }
    };
    let listening = &turns[..turns.len() - 1];
    doubt(first.span.start_s <= AT_THE_END_S, Doubt::RecordingBegins);
    doubt(
        cut_off || last.span.end_s >= drive.length_s - AT_THE_END_S,
        Doubt::RecordingEnds,
    );
    doubt(turns.iter().any(|turn| turn.unknown), Doubt::AudioMissing);
    doubt(turns.len() == 2 && farewell.is_none(), Doubt::OneExchange);
    doubt(
        listening
            .iter()
            .any(|turn| turn.until_s - turn.span.end_s > rules.listening_s),
        Doubt::LongListening,
    );
    Some(DraftContact {
        kind: Kind::Contact,
        on_s: first.span.start_s,
        off_s,
        overs,
        marks: Vec::new(),
        dial: dial_of(turns),
        call: Judged::unknown(Doubt::NotHeard),
        sent: Judged::unknown(Doubt::NotHeard),
        received: Judged::unknown(Doubt::NotHeard),
        name: Judged::unknown(Doubt::NotHeard),
        doubts,
    })
}

/// The first setting that was known during these transmissions.
pub(crate) fn dial_of(turns: &[Turn<'_>]) -> Judged<crate::DialSetting> {
    let known = turns.iter().find_map(|turn| Some((turn, turn.dial?)));
    match known {
        None => Judged::unknown(Doubt::DialSilent),
        Some((turn, setting)) => Judged::known(
            setting.clone(),
            vec![Evidence {
                over: turn.over,
                start_s: turn.span.start_s,
                end_s: turn.span.end_s,
            }],
        ),
    }
}
