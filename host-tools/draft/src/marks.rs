//! Assigns every mark to a contact, or makes an entry of it for a person to look at.

use jumpseat_values::{DialDoubt, DialSetting, DraftDoubt, Estimate, Evidence, Span};

use crate::cut::{TransmissionTurn, first_setting};
use crate::{AssemblyInput, DraftContact, DraftEntryKind, DraftRules, SpeechActivity, dial};

/// Assigns the marks of the drive to `contacts` and adds entries for lone marks.
///
/// Operators press late more often than early, so lateness weighs less.
pub(crate) fn attach(
    drive: &AssemblyInput,
    rules: &DraftRules,
    turns: &[TransmissionTurn<'_>],
    contacts: &mut Vec<DraftContact>,
) {
    let mut alone: Vec<Vec<f64>> = Vec::new();
    for &mark_s in &drive.marks {
        let nearest = contacts
            .iter_mut()
            .map(|contact| (distance(contact, mark_s, rules), contact))
            .filter(|(distance, _)| *distance <= 1.0)
            .min_by(|(one, _), (other, _)| one.total_cmp(other));
        if let Some((_, contact)) = nearest {
            contact.marks.push(mark_s);
            continue;
        }
        match alone.last_mut() {
            Some(group)
                if group
                    .last()
                    .is_some_and(|&last| mark_s - last <= rules.marks_apart_s) =>
            {
                group.push(mark_s);
            }
            _ => alone.push(vec![mark_s]),
        }
    }
    for contact in contacts.iter_mut() {
        let apart = contact.marks.last().zip(contact.marks.first());
        if apart.is_some_and(|(last, first)| last - first > rules.marks_apart_s) {
            contact.doubts.push(DraftDoubt::SeveralMarks.into());
        }
    }
    let taken: Vec<Span> = contacts
        .iter()
        .map(|contact| Span::new(contact.on_s, contact.off_s))
        .collect();
    for marks in alone {
        contacts.extend(mark_entry(drive, rules, turns, &taken, marks));
    }
}

/// 0 inside the contact, 1 at the farthest that a mark may be from it.
fn distance(contact: &DraftContact, mark_s: f64, rules: &DraftRules) -> f64 {
    if mark_s < contact.on_s {
        (contact.on_s - mark_s) / rules.mark_early_s
    } else {
        (mark_s - contact.off_s).max(0.0) / rules.mark_late_s
    }
}

/// The entry for marks with no contact near them: the calls before them, or
/// the speech, or a stretch around them.
fn mark_entry(
    drive: &AssemblyInput,
    rules: &DraftRules,
    turns: &[TransmissionTurn<'_>],
    taken: &[Span],
    marks: Vec<f64>,
) -> Option<DraftContact> {
    let (&first_s, &last_s) = (marks.first()?, marks.last()?);
    let from_s = taken
        .iter()
        .map(|span| span.end_s)
        .filter(|&end_s| end_s <= first_s)
        .fold((first_s - rules.look_back_s).max(0.0), f64::max);
    let to_s = taken
        .iter()
        .map(|span| span.start_s)
        .filter(|&start_s| start_s >= last_s)
        .fold((last_s + rules.look_on_s).min(drive.length_s), f64::min);
    let window = Span::new(from_s, to_s.max(from_s));

    let calls: Vec<&TransmissionTurn<'_>> = turns
        .iter()
        .filter(|turn| turn.span.start_s >= from_s && turn.span.start_s <= to_s)
        .collect();
    let speech = heard(drive, window);
    let (span, doubt) = if let (Some(first), Some(last)) = (calls.first(), calls.last()) {
        let end_s = last
            .farewell(rules)
            .map_or(last.span.end_s, |found| found.span.end_s);
        (Span::new(first.span.start_s, end_s), DraftDoubt::MarkAtCall)
    } else if let Some(speech) = speech {
        (speech, DraftDoubt::MarkAtSpeech)
    } else {
        (window, DraftDoubt::MarkAlone)
    };
    let overs: Vec<usize> = drive
        .overs
        .iter()
        .enumerate()
        .filter(|(_, over)| over.start_s < span.end_s && over.end_s > span.start_s)
        .map(|(index, _)| index)
        .collect();
    let calls: Vec<TransmissionTurn<'_>> = calls.into_iter().cloned().collect();
    Some(DraftContact {
        kind: DraftEntryKind::Look,
        on_s: span.start_s,
        off_s: span.end_s,
        marks,
        dial: dial_near(drive, &calls, &overs, first_s),
        overs,
        call: Estimate::unknown(DraftDoubt::NotHeard),
        sent: Estimate::unknown(DraftDoubt::NotHeard),
        received: Estimate::unknown(DraftDoubt::NotHeard),
        name: Estimate::unknown(DraftDoubt::NotHeard),
        their_locator: Estimate::unknown(DraftDoubt::NotHeard),
        remark: Estimate::unknown(DraftDoubt::NotHeard),
        doubts: vec![doubt.into()],
    })
}

/// The dial at the calls, or at the mark where there is no call.
fn dial_near(
    drive: &AssemblyInput,
    calls: &[TransmissionTurn<'_>],
    overs: &[usize],
    mark_s: f64,
) -> Estimate<DialSetting> {
    if !calls.is_empty() {
        return first_setting(&calls.iter().collect::<Vec<_>>());
    }
    match dial::setting_at(&drive.dial, mark_s) {
        None => Estimate::unknown(DialDoubt::Silent),
        Some(setting) => Estimate::known(
            setting.clone(),
            overs
                .first()
                .map(|&over| Evidence::in_over(over, Span::new(mark_s, mark_s)))
                .into_iter()
                .collect(),
        ),
    }
}

/// From the first to the last speech inside the window.
fn heard(drive: &AssemblyInput, window: Span) -> Option<Span> {
    let mut all: Option<Span> = None;
    for over in &drive.overs {
        let SpeechActivity::Found(spans) = &over.activity else {
            continue;
        };
        for span in spans {
            let start_s = span.start_s.max(window.start_s);
            let end_s = span.end_s.min(window.end_s);
            if start_s < end_s {
                let first_s = all.map_or(start_s, |all| all.start_s);
                all = Some(Span::new(first_s, end_s));
            }
        }
    }
    all
}
