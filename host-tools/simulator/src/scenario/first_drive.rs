//! The first drive: one call that nobody answers, a contact on 20 metres, and
//! one on 2 metres with a tunnel in the middle.

use jumpseat_core::journal::AudioDirection::{Rx, Tx};

use crate::scenario::drive_scenario::{DriveScenario, ToneMarker};
use crate::scenario::episode::{DriveEpisode, OverDelivery, ScriptedDial, ScriptedOver};
use crate::scenario::operator::{OPERATOR_NAME, OWN_CALL};
use crate::scenario::quiet_car::{drive_of, receiver_after};
use crate::scenario::radio_path::RadioPath;
use crate::scenario::receiver::DriveSpan;
use crate::scenario::stations::{FixedStation, station};
use crate::scenario::talk::spell;

const MARKER: ToneMarker = ToneMarker {
    hz: 1_000.0,
    length_s: 1.0,
    margin_s: 2.0,
    dbfs: -20.0,
};

/// The drive that `jumpseat demo` shows: six minutes, a two-minute cold start.
pub fn demo(seed: u64) -> DriveScenario {
    let mut episodes = vec![unanswered(42.0, twenty_metres())];
    episodes.push(answered_cq(
        136.0,
        twenty_metres(),
        ssb(),
        station(0),
        vec![-4.0],
    ));
    episodes.push(called_by_name(
        240.0,
        two_metres(),
        fm(),
        station(1),
        vec![9.0],
    ));
    drive_of(
        seed,
        episodes,
        receiver_after(
            120.0,
            Some(DriveSpan {
                from_s: 262.0,
                to_s: 281.0,
            }),
        ),
    )
}

/// The same for a live test that must not take long: a cold start of a few
/// seconds, shorter gaps, and marker tones to count samples by.
pub fn live(seed: u64) -> DriveScenario {
    let mut episodes = vec![unanswered(8.0, twenty_metres())];
    episodes.push(answered_cq(
        45.0,
        twenty_metres(),
        ssb(),
        station(0),
        vec![-4.0],
    ));
    episodes.push(called_by_name(
        110.0,
        two_metres(),
        fm(),
        station(1),
        vec![6.0],
    ));
    let mut scenario = drive_of(
        seed,
        episodes,
        receiver_after(
            20.0,
            Some(DriveSpan {
                from_s: 128.0,
                to_s: 138.0,
            }),
        ),
    );
    scenario.tail_s = 15.0;
    scenario.road.start_m = 8_300.0;
    scenario.marker = Some(MARKER);
    scenario
}

/// Half a minute with one contact, for tests of the recorder alone.
pub fn short(seed: u64) -> DriveScenario {
    let contact = station(0);
    let call = spell(&contact.call);
    let overs = vec![
        tx(0.0, format!("{call}, a short call.")),
        rx(0.8, format!("{call}, you are five seven.")),
        tx(0.8, format!("{call}, thank you and good bye.")),
    ];
    let episode = DriveEpisode {
        kind: "short call",
        settled_s: 2.0,
        ..contact_episode(contact, 6.0, twenty_metres(), ssb(), overs, vec![1.0])
    };
    let mut scenario = drive_of(seed, vec![episode], receiver_after(3.0, None));
    scenario.tail_s = 8.0;
    scenario.marker = Some(MARKER);
    scenario
}

fn twenty_metres() -> ScriptedDial {
    ScriptedDial {
        hz: 14_287_500,
        mode: "USB".into(),
    }
}

fn two_metres() -> ScriptedDial {
    ScriptedDial {
        hz: 146_550_000,
        mode: "FM".into(),
    }
}

fn ssb() -> RadioPath {
    RadioPath::Ssb {
        snr_db: 20.0,
        fading_db: 6.0,
    }
}

fn fm() -> RadioPath {
    RadioPath::Fm {
        snr_db: 32.0,
        squelch_tail_s: 0.18,
    }
}

fn tx(pause_s: f64, text: String) -> ScriptedOver {
    ScriptedOver {
        direction: Tx,
        speaker: 0,
        dial: None,
        pause_s,
        text,
        delivery: OverDelivery::default(),
    }
}

fn rx(pause_s: f64, text: String) -> ScriptedOver {
    ScriptedOver {
        direction: Rx,
        speaker: 0,
        dial: None,
        pause_s,
        text,
        delivery: OverDelivery::default(),
    }
}

fn cq() -> String {
    let own = spell(OWN_CALL);
    format!("C Q, C Q, C Q. This is {own} mobile, {own} mobile, calling and standing by.")
}

fn unanswered(not_before_s: f64, dial: ScriptedDial) -> DriveEpisode {
    DriveEpisode {
        kind: "call without an answer",
        not_before_s,
        settled_s: 10.0,
        dial,
        path: ssb(),
        cast: Vec::new(),
        overs: vec![tx(0.0, cq())],
        contacts: Vec::new(),
        marks_s: Vec::new(),
        early_marks_s: Vec::new(),
        marks_before: Vec::new(),
        tunnel_before: None,
        effects: Vec::new(),
        written: None,
    }
}

/// A contact with one station over all of these overs.
fn contact_episode(
    station: FixedStation,
    not_before_s: f64,
    dial: ScriptedDial,
    path: RadioPath,
    overs: Vec<ScriptedOver>,
    marks_s: Vec<f64>,
) -> DriveEpisode {
    DriveEpisode {
        kind: "contact",
        settled_s: 0.0,
        not_before_s,
        dial,
        path,
        cast: vec![station.speaking()],
        contacts: vec![station.contact((0, overs.len() - 1))],
        overs,
        marks_s,
        early_marks_s: Vec::new(),
        marks_before: Vec::new(),
        tunnel_before: None,
        effects: Vec::new(),
        written: None,
    }
}

/// The operator calls CQ and a station answers.
fn answered_cq(
    not_before_s: f64,
    dial: ScriptedDial,
    path: RadioPath,
    contact: FixedStation,
    marks_s: Vec<f64>,
) -> DriveEpisode {
    let own = spell(OWN_CALL);
    let call = spell(&contact.call);
    let name = contact.name.clone();
    let spelled_name = spell(&name);
    let sent = spell(&contact.sent);
    let received = spell(&contact.received);
    let overs = vec![
        tx(0.0, cq()),
        rx(1.2, format!("{own} mobile, this is {call}, {call}, over.")),
        tx(
            0.9,
            format!(
                "{call}, thanks for the call. You are {sent}, {sent}. My name is {OPERATOR_NAME}. {call}, {own} mobile, over."
            ),
        ),
        rx(
            0.8,
            format!(
                "Roger {OPERATOR_NAME}. You are {received}, {received}. The name is {name}, {spelled_name}. {own}, {call}."
            ),
        ),
        tx(
            0.7,
            format!("Thank you {name}. Seven three. {call}, {own} mobile, clear."),
        ),
        rx(
            0.9,
            format!("Seven three {OPERATOR_NAME}. {call}, bye bye."),
        ),
    ];
    DriveEpisode {
        kind: "answered CQ",
        settled_s: 12.0,
        ..contact_episode(contact, not_before_s, dial, path, overs, marks_s)
    }
}

/// The operator calls a station that he expects there.
fn called_by_name(
    not_before_s: f64,
    dial: ScriptedDial,
    path: RadioPath,
    contact: FixedStation,
    marks_s: Vec<f64>,
) -> DriveEpisode {
    let own = spell(OWN_CALL);
    let call = spell(&contact.call);
    let name = contact.name.clone();
    let sent = spell(&contact.sent);
    let received = spell(&contact.received);
    let overs = vec![
        tx(0.0, format!("{call}, {call}, this is {own} mobile.")),
        rx(
            1.0,
            format!("{own}, {call}. Good morning {OPERATOR_NAME}. You are {received} here, over."),
        ),
        tx(
            0.8,
            format!(
                "Good morning {name}. You are {sent} also. I am about to lose you behind the hill."
            ),
        ),
        rx(
            0.9,
            format!("All right {OPERATOR_NAME}, drive safely. Seven three from {name}. {call}."),
        ),
        tx(0.6, format!("Seven three {name}. {own} mobile, clear.")),
    ];
    DriveEpisode {
        kind: "call by sign",
        settled_s: 15.0,
        ..contact_episode(contact, not_before_s, dial, path, overs, marks_s)
    }
}
