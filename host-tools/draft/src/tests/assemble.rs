//! Tables of drives and the drafts that they must give.
//!
//! A drive is written as overs one after the other: `t4` four seconds of key
//! down, `r9` nine seconds of key up with nothing heard, `r9:1-5,6-8` with
//! speech at those seconds of the over, `r9:?` with its audio missing.

use jumpseat_values::{DialSetting, Span};

use crate::{
    AssemblyInput, DialChange, DraftEntryKind, DraftRules, DriveOver, HeardOver, OverDirection,
    SpeechActivity, UnansweredReason, WrittenWord, assemble,
};
use proptest::prelude::*;

const USB: &str = "0=14250000/USB";

fn drive(overs: &str, marks: &[f64], dial: &[&str]) -> AssemblyInput {
    let mut drive = AssemblyInput {
        marks: marks.to_vec(),
        ..AssemblyInput::default()
    };
    for word in overs.split_whitespace() {
        let (length, speech) = word[1..].split_once(':').unwrap_or((&word[1..], ""));
        let start_s = drive.length_s;
        drive.length_s += length.parse::<f64>().unwrap();
        let activity = match speech {
            "?" => SpeechActivity::Unknown,
            spans => SpeechActivity::Found(
                spans
                    .split(',')
                    .filter_map(|span| span.split_once('-'))
                    .map(|(from, to)| {
                        let at = |text: &str| start_s + text.parse::<f64>().unwrap();
                        Span::new(at(from), at(to))
                    })
                    .collect(),
            ),
        };
        drive.overs.push(DriveOver {
            direction: if word.starts_with('t') {
                OverDirection::Tx
            } else {
                OverDirection::Rx
            },
            start_s,
            end_s: drive.length_s,
            activity,
            heard: None,
        });
    }
    for change in dial {
        let (at, setting) = change.split_once('=').unwrap();
        drive.dial.push(DialChange {
            at_s: at.parse().unwrap(),
            setting: setting.split_once('/').map(|(hz, mode)| DialSetting {
                hz: hz.parse().unwrap(),
                mode: mode.to_owned(),
            }),
        });
    }
    drive
}

/// One line an entry: kind, times, then what is there of marks, dial, doubts.
fn draft(drive: &AssemblyInput) -> Vec<String> {
    let assembly = assemble(drive, &DraftRules::default());
    let mut lines: Vec<String> = assembly
        .contacts
        .iter()
        .map(|contact| {
            let kind = match contact.kind {
                DraftEntryKind::Contact => "contact",
                DraftEntryKind::Look => "look",
            };
            let mut line = format!("{kind} {}-{}", contact.on_s, contact.off_s);
            if let Some(setting) = &contact.dial.value {
                line += &format!(" {}/{}", setting.hz, setting.mode);
            }
            if !contact.marks.is_empty() {
                line += &format!(" marks {:?}", contact.marks);
            }
            for doubt in contact.dial.doubts.iter().chain(&contact.doubts) {
                line += &format!("; {doubt}");
            }
            line
        })
        .collect();
    lines.extend(assembly.unanswered.iter().map(|call| {
        let why = match call.why {
            UnansweredReason::NoAnswer => "nobody answered",
            UnansweredReason::NotPursued => "not pursued",
        };
        format!("call {}: {why}", call.at_s)
    }));
    lines
}

#[track_caller]
fn check(overs: &str, marks: &[f64], dial: &[&str], expected: &[&str]) {
    assert_eq!(draft(&drive(overs, marks, dial)), expected, "{overs}");
}

#[test]
fn overs_that_alternate_make_a_contact() {
    let at = |overs, expected: &[&str]| check(overs, &[], &[USB], expected);
    // own call, answer, report, answer, farewell
    at(
        "r60:20-30 t4 r8:1-7 t6 r9:1-8 t3 r60",
        &["contact 60-90 14250000/USB"],
    );
    // the other station has the last word
    at(
        "r60 t4 r8:1-7 t6 r9:1-5,6-8 r60",
        &["contact 60-86 14250000/USB"],
    );
    // a CQ nobody answered twice, then answered
    at(
        "r9 t5 r8 t5 r8 t5 r8:1-6 t5 r7:1-6 t3 r60",
        &[
            "contact 35-63 14250000/USB",
            "call 9: nobody answered",
            "call 22: nobody answered",
        ],
    );
    // a noise just before the recording ends is no last word
    at(
        "r60:20-30 t4 r8:1-7 t6 r9:1-8 t3 r22:17-19",
        &["contact 60-90 14250000/USB"],
    );
    // two contacts a minute apart
    at(
        "r9 t4 r8:1-7 t6 r9:1-8 t3 r60 t4 r8:1-7 t6 r9:1-8 t3 r9",
        &["contact 9-39 14250000/USB", "contact 99-129 14250000/USB"],
    );
    // the other station talks for four minutes
    at(
        "r9 t4 r250:1-249 t6 r9:1-8 t3 r60",
        &["contact 9-281 14250000/USB; long listening in the middle: may be two contacts"],
    );
    // others go on talking on the frequency after a pause: unheard, the last answer cannot
    // be told from them, and a person is asked to look
    at(
        "r9 t4 r8:1-7 t6 r90:1-8,12-19,21-30,34-41,43-55,58-80",
        &["contact 9-27 14250000/USB; one short exchange only: may be a call in a pile-up"],
    );
}

#[test]
fn calls_without_an_exchange_are_no_contact() {
    let at = |overs, expected: &[&str]| check(overs, &[], &[USB], expected);
    at("r9 t5 r60", &["call 9: nobody answered"]);
    at("r9 t5 r60:20-50", &["call 9: nobody answered"]);
    at("r9 t5 r60:1-50", &["call 9: not pursued"]);
    // a click is no answer, a bumped key no call
    at(
        "r9 t5 r20:2-2.3 t5 r60",
        &["call 9: nobody answered", "call 34: nobody answered"],
    );
    at("r9 t0.2 r20:2-9 t0.3 r60", &[]);
    // two calls, one of them answered by somebody who calls somebody else
    at(
        "r9 t5 r8:1-6 t5 r60",
        &["contact 9-27 14250000/USB; one short exchange only: may be a call in a pile-up"],
    );
    at("r600:1-599", &[]);
    at("", &[]);
}

#[test]
fn the_dial_ends_a_contact_but_a_nudge_does_not() {
    let overs = "r9 t4 r8:1-7 t6 r9:1-8 t5 r8:1-7 t6 r9:1-8 t3 r60";
    check(
        overs,
        &[],
        &[USB, "20=14250300/USB", "30=14249900/USB"],
        &["contact 9-67 14250000/USB"],
    );
    check(
        overs,
        &[],
        &[USB, "35=14275000/USB"],
        &["contact 9-35 14250000/USB", "contact 36-67 14275000/USB"],
    );
    check(
        overs,
        &[],
        &[USB, "35=14250000/LSB"],
        &["contact 9-35 14250000/USB", "contact 36-67 14250000/LSB"],
    );
    // what is heard after tuning away is no answer
    check(
        "r9 t5 r30:8-29 t5 r9",
        &[],
        &[USB, "16=14300000/USB", "43=14250000/USB"],
        &["call 9: nobody answered", "call 44: nobody answered"],
    );
    // a repeater: the rig shows another frequency while the key is down
    check(
        "r9 t4 r8:1-7 t6 r9:1-8 t3 r60",
        &[],
        &[
            "0=146940000/FM",
            "9.1=146340000/FM",
            "13.1=146940000/FM",
            "21.1=146340000/FM",
            "27.1=146940000/FM",
            "36.1=146340000/FM",
            "39.1=146940000/FM",
        ],
        &["contact 9-39 146340000/FM"],
    );
    check(
        "r9 t4 r8:1-7 t6 r9:1-8 t3 r60",
        &[],
        &[],
        &["contact 9-39; frequency not known: rig control was silent"],
    );
}

#[test]
fn marks_belong_to_the_nearest_contact_or_stand_alone() {
    let one = "r120 t4 r8:1-7 t6 r9:1-8 t3 r300";
    let at = |overs, marks: &[f64], expected: &[&str]| check(overs, marks, &[USB], expected);
    at(
        one,
        &[145.0],
        &["contact 120-150 14250000/USB marks [145.0]"],
    );
    at(
        one,
        &[180.0],
        &["contact 120-150 14250000/USB marks [180.0]"],
    );
    at(
        one,
        &[110.0],
        &["contact 120-150 14250000/USB marks [110.0]"],
    );
    at(
        one,
        &[151.0, 160.0],
        &["contact 120-150 14250000/USB marks [151.0, 160.0]"],
    );
    at(
        one,
        &[300.0, 310.0],
        &[
            "contact 120-150 14250000/USB",
            "look 240-320 14250000/USB marks [300.0, 310.0]; \
             marked, but no contact was found near the mark",
        ],
    );
    at(
        "r99 t5 r200",
        &[110.0],
        &[
            "look 99-104 14250000/USB marks [110.0]; \
             marked, but nobody replied to the call near the mark",
            "call 99: nobody answered",
        ],
    );
    at(
        "r99:70-90 r200",
        &[100.0],
        &["look 70-90 14250000/USB marks [100.0]; \
           marked, but you did not transmit near the mark"],
    );
    at(
        "r9 t4 r8:1-7 t6 r90:1-89 t5 r9:1-8 t3 r60",
        &[30.0, 130.0],
        &["contact 9-134 14250000/USB marks [30.0, 130.0]; marks far apart: may be two contacts"],
    );
    at("", &[], &[]);
    // between two contacts a minute apart: late for the first
    at(
        "r9 t4 r8:1-7 t6 r9:1-8 t3 r60 t4 r8:1-7 t6 r9:1-8 t3 r9",
        &[60.0],
        &[
            "contact 9-39 14250000/USB marks [60.0]",
            "contact 99-129 14250000/USB",
        ],
    );
}

#[test]
fn damage_gives_doubts_and_never_silence() {
    let at = |overs, expected: &[&str]| check(overs, &[], &[USB], expected);
    at(
        "r9 t4 r8:? t6 r9:1-8 t3 r60",
        &["contact 9-39 14250000/USB; received audio is missing: cannot tell who answered"],
    );
    at(
        "t4 r8:1-7 t6 r9:1-8 t3 r60",
        &["contact 0-30 14250000/USB; the recording begins during the contact"],
    );
    at(
        "r9 t4 r8:1-7 t6 r9:1-8 t3",
        &["contact 9-39 14250000/USB; the recording ends during the contact"],
    );
    let mut cut = drive("r9 t4 r8:1-8", &[], &[USB]);
    assert_eq!(draft(&cut), ["call 9: not pursued"]);
    cut.broke_off = true;
    assert_eq!(
        draft(&cut),
        ["contact 9-21 14250000/USB; may be no contact; \
          the recording ends during the contact; \
          one short exchange only: may be a call in a pile-up"]
    );
}

#[test]
fn the_dial_is_evidenced_by_the_over_it_was_read_in() {
    let drive = drive("r9 t4 r8:1-7 t6 r9:1-8 t3 r60", &[], &[USB]);
    let assembly = assemble(&drive, &DraftRules::default());
    let contact = &assembly.contacts[0];
    assert_eq!(contact.overs, [1, 2, 3, 4, 5]);
    assert_eq!(contact.dial.evidence[0].over, Some(1));
    assert_eq!(contact.call.value, None);
    assert_eq!(contact.call.doubts[0].to_string(), "not heard yet");
}

#[test]
fn text_fills_fields_and_makes_no_entry() {
    let plain = drive("r9 t4 r8:1-7 t6 r9:1-8 t3 r60:20-30", &[], &[USB]);
    let written = |said: bool| {
        let mut drive = plain.clone();
        for over in &mut drive.overs {
            let words =
                "name is dorothy you're five seven cq cq calling november five lima seven three";
            let word = |(at, word): (usize, &str)| WrittenWord {
                word: word.to_owned(),
                span: Span::new(
                    over.start_s + 0.1 * at as f64,
                    over.start_s + 0.1 * at as f64,
                ),
                probability: 0.95,
                names: Vec::new(),
            };
            let text = words.split(' ').enumerate().map(word);
            over.heard = Some(HeardOver {
                text: text.filter(|_| said).collect(),
                ..HeardOver::default()
            });
        }
        drive
    };
    assert_eq!(draft(&written(true)), draft(&written(false)));
    let assembly = assemble(&written(true), &DraftRules::default());
    let contact = &assembly.contacts[0];
    assert_eq!(contact.name.value.as_deref(), Some("Dorothy"));
    assert_eq!(contact.received.value.as_deref(), Some("57"));
}

proptest! {
    /// Whatever the drive: no transmission is in two places, none of an over's
    /// length is passed over in silence, every mark is in exactly one entry.
    #[test]
    fn every_transmission_and_every_mark_is_accounted_for_once(
        overs in prop::collection::vec((0.1_f64..40.0, 0_u8..4, 0.0_f64..1.0, 0.0_f64..1.0), 0..40),
        marks in prop::collection::vec(0.0_f64..800.0, 0..6),
        dial in prop::collection::vec((0.0_f64..800.0, 0_u64..3), 0..6),
        broke_off: bool,
    ) {
        let mut drive = AssemblyInput { broke_off, ..AssemblyInput::default() };
        for (index, (length, kind, from, to)) in overs.iter().enumerate() {
            let start_s = drive.length_s;
            drive.length_s += length;
            drive.overs.push(DriveOver {
                direction: if index % 2 == 0 { OverDirection::Rx } else { OverDirection::Tx },
                start_s,
                end_s: drive.length_s,
                activity: match kind {
                    0 => SpeechActivity::Unknown,
                    1 => SpeechActivity::Found(Vec::new()),
                    _ => SpeechActivity::Found(vec![Span::new(
                        start_s + length * from.min(*to),
                        start_s + length * from.max(*to),
                    )]),
                },
                heard: None,
            });
        }
        drive.marks = marks.into_iter().map(|mark| mark.min(drive.length_s)).collect();
        drive.marks.sort_by(f64::total_cmp);
        drive.dial = dial
            .into_iter()
            .map(|(at_s, step)| DialChange {
                at_s,
                setting: (step > 0).then(|| DialSetting { hz: 14_200_000 + step * 400, mode: "USB".into() }),
            })
            .collect();
        drive.dial.sort_by(|one, other| one.at_s.total_cmp(&other.at_s));

        let rules = DraftRules::default();
        let assembly = assemble(&drive, &rules);
        for (index, over) in drive.overs.iter().enumerate() {
            let counted = over.direction == OverDirection::Tx && over.end_s - over.start_s >= rules.shortest_tx_s;
            let in_contacts = assembly.contacts.iter()
                .filter(|contact| contact.kind == DraftEntryKind::Contact && contact.overs.contains(&index))
                .count();
            let in_calls = assembly.unanswered.iter().filter(|call| call.over == index).count();
            if counted {
                prop_assert_eq!(in_contacts + in_calls, 1, "over {}", index);
            }
        }
        let mut placed: Vec<f64> = assembly.contacts.iter().flat_map(|contact| contact.marks.clone()).collect();
        placed.sort_by(f64::total_cmp);
        prop_assert_eq!(placed, drive.marks.clone());
        for contact in &assembly.contacts {
            prop_assert!(contact.on_s <= contact.off_s && contact.off_s <= drive.length_s + 1e-9);
            prop_assert!(contact.overs.windows(2).all(|pair| pair[0] < pair[1]));
        }
    }
}
