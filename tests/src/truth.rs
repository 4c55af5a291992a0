//! What a perfect log of a drive would hold.

use std::fs;
use std::path::Path;

use chrono::{DateTime, SecondsFormat, Utc};
use jumpseat_core::journal::Direction;
use serde::{Deserialize, Serialize};

use crate::gps::locator::locator;
use crate::plan::{Plan, PlannedOver};
use crate::scenario::{Contact, Span, Station};
use crate::script::{self, ScriptError};

/// The truth of a drive. Times in seconds from its start.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Truth {
    /// 1.
    pub format: u32,
    /// The seed that made it.
    pub seed: u64,
    /// UTC at t = 0, RFC 3339.
    pub start_utc: String,
    /// Whose drive.
    pub station: Station,
    /// Length of the drive.
    pub length_s: f64,
    /// In order of time.
    pub contacts: Vec<TrueContact>,
    /// Calls that nobody answered.
    pub unanswered: Vec<Unanswered>,
    /// Presses of the mark button.
    pub marks: Vec<TrueMark>,
    /// Where the car was, every ten seconds.
    pub track: Vec<TrackPoint>,
    /// No sky.
    pub tunnel: Option<Span>,
    /// From here on the receiver had a fix.
    pub first_fix_s: f64,
    /// Starts of the marker tones and their length, in samples, if there are any.
    pub markers: Option<Markers>,
}

/// A contact as it was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrueContact {
    /// The other station.
    pub call: String,
    /// Start of the first over: the call that was answered.
    pub on_s: f64,
    /// End of the last over.
    pub off_s: f64,
    /// Frequency in hertz.
    pub hz: u64,
    /// Rig control's word for the mode.
    pub mode: String,
    /// Report given.
    pub sent: String,
    /// Report received.
    pub received: String,
    /// The other operator's name.
    pub name: Option<String>,
    /// The car's latitude at `on_s`.
    pub lat: f64,
    /// The car's longitude at `on_s`.
    pub lon: f64,
    /// The locator there.
    pub locator: String,
    /// Every over of it.
    pub overs: Vec<TrueOver>,
}

/// An over as it was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrueOver {
    /// Who spoke.
    pub direction: Direction,
    /// Key down, carrier, or voice on sideband.
    pub from_s: f64,
    /// The end of it.
    pub to_s: f64,
    /// The words.
    pub text: String,
}

/// A call that nobody answered.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Unanswered {
    /// Key down.
    pub at_s: f64,
}

/// A press of the button.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TrueMark {
    /// When.
    pub at_s: f64,
    /// Index into the contacts; `None` when it was meant for nothing.
    pub contact: Option<usize>,
}

/// A place on the way.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TrackPoint {
    /// When.
    pub at_s: f64,
    /// Latitude in degrees.
    pub lat: f64,
    /// Longitude in degrees.
    pub lon: f64,
}

/// Marker tones.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Markers {
    /// Frequency in hertz.
    pub hz: f64,
    /// Start of the first, in seconds.
    pub first_s: f64,
    /// Start of the last, in seconds.
    pub last_s: f64,
    /// Length of each, in seconds.
    pub length_s: f64,
}

impl Truth {
    /// The truth of a plan.
    pub fn of(plan: &Plan) -> Self {
        let scenario = &plan.scenario;
        let mut contacts = Vec::new();
        let mut contact_of_episode = Vec::new();
        let mut unanswered = Vec::new();
        for (index, episode) in scenario.episodes.iter().enumerate() {
            let overs: Vec<&PlannedOver> = plan.overs_of(index).collect();
            let made = episode.contact.as_ref().and_then(|contact| {
                Some(true_contact(
                    plan,
                    contact,
                    overs.first()?,
                    overs.last()?,
                    &overs,
                ))
            });
            contact_of_episode.push(made.is_some().then_some(contacts.len()));
            match made {
                Some(contact) => contacts.push(contact),
                None => unanswered.extend(overs.iter().map(|over| Unanswered {
                    at_s: over.span.from_s,
                })),
            }
        }
        let mark = |mark: &crate::plan::PlannedMark| TrueMark {
            at_s: mark.at_s,
            contact: contact_of_episode.get(mark.episode).copied().flatten(),
        };
        Self {
            format: 1,
            seed: scenario.seed,
            start_utc: scenario.start.to_rfc3339_opts(SecondsFormat::Millis, true),
            station: scenario.station.clone(),
            length_s: plan.length_s,
            contacts,
            unanswered,
            marks: plan.marks.iter().map(mark).collect(),
            track: track(plan),
            tunnel: scenario.receiver.tunnel,
            first_fix_s: scenario.receiver.fix_after_s,
            markers: scenario.marker.map(|marker| Markers {
                hz: marker.hz,
                first_s: marker.margin_s,
                last_s: plan.length_s - marker.margin_s - marker.length_s,
                length_s: marker.length_s,
            }),
        }
    }

    /// Reads the truth of the script in `folder`.
    pub fn read(folder: &Path) -> Result<Self, ScriptError> {
        let path = folder.join(script::TRUTH);
        let text = fs::read_to_string(&path).map_err(ScriptError::file(&path))?;
        serde_json::from_str(&text).map_err(|source| ScriptError::Json { path, source })
    }

    /// UTC at t = 0.
    pub fn start(&self) -> Result<DateTime<Utc>, chrono::ParseError> {
        self.start_utc.parse()
    }
}

fn true_contact(
    plan: &Plan,
    contact: &Contact,
    first: &PlannedOver,
    last: &PlannedOver,
    overs: &[&PlannedOver],
) -> TrueContact {
    let on_s = first.span.from_s;
    let place = plan.position(on_s);
    let dial = &plan.scenario.episodes[first.episode].dial;
    let over = |over: &&PlannedOver| TrueOver {
        direction: over.direction,
        from_s: over.span.from_s,
        to_s: over.span.to_s,
        text: over.text.clone(),
    };
    TrueContact {
        call: contact.call.clone(),
        on_s,
        off_s: last.span.to_s,
        hz: dial.hz,
        mode: dial.mode.clone(),
        sent: contact.sent.clone(),
        received: contact.received.clone(),
        name: contact.name.clone(),
        lat: place.lat,
        lon: place.lon,
        locator: locator(place),
        overs: overs.iter().map(over).collect(),
    }
}

fn track(plan: &Plan) -> Vec<TrackPoint> {
    let count = (plan.length_s / 10.0) as u32;
    (0..=count)
        .map(|number| {
            let at_s = f64::from(number) * 10.0;
            let place = plan.position(at_s);
            TrackPoint {
                at_s,
                lat: place.lat,
                lon: place.lon,
            }
        })
        .collect()
}
