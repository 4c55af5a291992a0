//! What a perfect log of a drive would hold.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use chrono::{DateTime, SecondsFormat, Utc};
use jumpseat_core::journal::AudioDirection;
use serde::{Deserialize, Serialize};

use crate::gps::locator::locator;
use crate::plan::{DrivePlan, PlannedOver};
use crate::scenario::{DriveSpan, OperatorStation, ScriptedContact, WrittenOrigin};
use crate::script::error::ScriptError;
use crate::script::files::DRIVE_TRUTH_FILE;

/// The truth of a drive. Times in seconds from its start.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DriveTruth {
    /// 1.
    pub format: u32,
    /// The seed that made it.
    pub seed: u64,
    /// UTC at t = 0, RFC 3339.
    pub start_utc: String,
    /// Whose drive.
    pub station: OperatorStation,
    /// Length of the drive.
    pub length_s: f64,
    /// In order of time.
    pub contacts: Vec<TrueContact>,
    /// Calls that nobody answered.
    pub unanswered: Vec<UnansweredCall>,
    /// What others said to one another.
    #[serde(default)]
    pub overheard: Vec<TrueOver>,
    /// The written conversations, in order of time; none where the simulator made
    /// them up.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub conversations: Vec<TrueConversation>,
    /// Presses of the mark button.
    pub marks: Vec<TrueMark>,
    /// Where the car was, every ten seconds.
    pub track: Vec<TrueTrackPoint>,
    /// No sky.
    pub tunnel: Option<DriveSpan>,
    /// From here on the receiver had a fix.
    pub first_fix_s: f64,
    /// Starts of the marker tones and their length, in samples, if there are any.
    pub markers: Option<TrueMarkers>,
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
    /// Report given, if one was.
    pub sent: Option<String>,
    /// Report received, if one was.
    pub received: Option<String>,
    /// The other operator's name, where it was said.
    pub name: Option<String>,
    /// A number or reference that the other station gave.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub number: Option<String>,
    /// What else was exchanged, by the names of the fields; several values are apart by "|".
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub exchanged: BTreeMap<String, String>,
    /// The written conversation that it is of: index into [`DriveTruth::conversations`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conversation: Option<usize>,
    /// What kind of contact it was.
    #[serde(default)]
    pub kind: String,
    /// The other station's voice.
    #[serde(default)]
    pub voice: String,
    /// The car's latitude at `on_s`.
    pub lat: f64,
    /// The car's longitude at `on_s`.
    pub lon: f64,
    /// The locator there.
    pub locator: String,
    /// Every over of it.
    pub overs: Vec<TrueOver>,
}

/// A written conversation, as it took place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrueConversation {
    /// Where it was written, what occurs in it, and why it has no contact if it has none.
    #[serde(flatten)]
    pub origin: WrittenOrigin,
    /// Start of its first over.
    pub from_s: f64,
    /// End of its last.
    pub to_s: f64,
}

/// An over as it was.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TrueOver {
    /// Who spoke.
    pub direction: AudioDirection,
    /// Key down, carrier, or voice on sideband.
    pub from_s: f64,
    /// The end of it.
    pub to_s: f64,
    /// The words.
    pub text: String,
}

/// A call that nobody answered.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct UnansweredCall {
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
pub struct TrueTrackPoint {
    /// When.
    pub at_s: f64,
    /// Latitude in degrees.
    pub lat: f64,
    /// Longitude in degrees.
    pub lon: f64,
}

/// Marker tones.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TrueMarkers {
    /// Frequency in hertz.
    pub hz: f64,
    /// Start of the first, in seconds.
    pub first_s: f64,
    /// Start of the last, in seconds.
    pub last_s: f64,
    /// Length of each, in seconds.
    pub length_s: f64,
}

impl DriveTruth {
    /// The truth of a plan.
    pub fn from_plan(plan: &DrivePlan) -> Self {
        let scenario = &plan.scenario;
        let mut contacts = Vec::new();
        let mut last_of_episode = Vec::new();
        let mut unanswered = Vec::new();
        let mut overheard = Vec::new();
        let mut conversations = Vec::new();
        for (index, episode) in scenario.episodes.iter().enumerate() {
            let overs: Vec<&PlannedOver> = plan.overs_of(index).collect();
            let ends = overs.iter().map(|over| over.span.to_s);
            if let (Some(origin), Some(first)) = (&episode.written, overs.first()) {
                conversations.push(TrueConversation {
                    origin: origin.clone(),
                    from_s: first.span.from_s,
                    to_s: ends.fold(first.span.to_s, f64::max),
                });
            }
            let conversation = episode.written.as_ref().map(|_| conversations.len() - 1);
            let made = episode.contacts.iter().filter_map(|contact| {
                let made = true_contact(plan, contact, &overs)?;
                Some(TrueContact {
                    conversation,
                    ..made
                })
            });
            contacts.extend(made);
            last_of_episode
                .push((!episode.contacts.is_empty()).then(|| contacts.len().saturating_sub(1)));
            for over in overs {
                let part = |contact: &ScriptedContact| {
                    (contact.overs.0..=contact.overs.1).contains(&over.number)
                };
                match over.direction {
                    _ if episode.contacts.iter().any(part) => {}
                    AudioDirection::Tx if !over.keys() => {}
                    AudioDirection::Tx => unanswered.push(UnansweredCall {
                        at_s: over.span.from_s,
                    }),
                    AudioDirection::Rx => overheard.push(true_over(over)),
                }
            }
        }
        let mark = |mark: &crate::plan::PlannedMark| TrueMark {
            at_s: mark.at_s,
            contact: last_of_episode.get(mark.episode).copied().flatten(),
        };
        Self {
            format: 1,
            seed: scenario.seed,
            start_utc: scenario.start.to_rfc3339_opts(SecondsFormat::Millis, true),
            station: scenario.station.clone(),
            length_s: plan.length_s,
            contacts,
            unanswered,
            overheard,
            conversations,
            marks: plan.marks.iter().map(mark).collect(),
            track: track(plan),
            tunnel: scenario.receiver.tunnel,
            first_fix_s: scenario.receiver.fix_after_s,
            markers: scenario.marker.map(|marker| TrueMarkers {
                hz: marker.hz,
                first_s: marker.margin_s,
                last_s: plan.length_s - marker.margin_s - marker.length_s,
                length_s: marker.length_s,
            }),
        }
    }

    /// Reads the truth of the script in `folder`.
    pub fn read(folder: &Path) -> Result<Self, ScriptError> {
        let path = folder.join(DRIVE_TRUTH_FILE);
        let text = fs::read_to_string(&path).map_err(ScriptError::file(&path))?;
        serde_json::from_str(&text).map_err(|source| ScriptError::Json { path, source })
    }

    /// UTC at t = 0.
    pub fn start(&self) -> Result<DateTime<Utc>, chrono::ParseError> {
        self.start_utc.parse()
    }
}

fn true_contact(
    plan: &DrivePlan,
    contact: &ScriptedContact,
    overs: &[&PlannedOver],
) -> Option<TrueContact> {
    let overs = overs.get(contact.overs.0..=contact.overs.1)?;
    let (first, last) = (overs.first()?, overs.last()?);
    let ends = overs.iter().map(|over| over.span.to_s);
    // What is said in the car is in no channel unless the key happens to be down.
    let in_car = |over: &&PlannedOver| over.direction == AudioDirection::Tx && !over.keys();
    let heard = overs.iter().copied().filter(|over| !in_car(over));
    let on_s = first.span.from_s;
    let place = plan.position(on_s);
    let dials = plan.dial.iter();
    let dial = dials
        .take_while(|(at_s, _)| *at_s <= on_s)
        .last()?
        .1
        .clone();
    let episode = plan.scenario.episodes.get(first.episode)?;
    let voice = overs.iter().find_map(|over| over.speaking(plan));
    Some(TrueContact {
        call: contact.call.clone(),
        on_s,
        off_s: ends.fold(last.span.to_s, f64::max),
        hz: dial.hz,
        mode: dial.mode,
        sent: contact.sent.clone(),
        received: contact.received.clone(),
        name: contact.name.clone(),
        number: contact.number.clone(),
        exchanged: contact.exchanged.iter().cloned().collect(),
        conversation: None,
        kind: episode.kind.to_owned(),
        voice: voice.map_or_else(String::new, |speaking| speaking.voice.to_string()),
        lat: place.lat,
        lon: place.lon,
        locator: locator(place),
        overs: heard.map(true_over).collect(),
    })
}

fn true_over(over: &PlannedOver) -> TrueOver {
    TrueOver {
        direction: over.direction,
        from_s: over.span.from_s,
        to_s: over.span.to_s,
        text: over.text.clone(),
    }
}

fn track(plan: &DrivePlan) -> Vec<TrueTrackPoint> {
    let count = (plan.length_s / 10.0) as u32;
    (0..=count)
        .map(|number| {
            let at_s = f64::from(number) * 10.0;
            let place = plan.position(at_s);
            TrueTrackPoint {
                at_s,
                lat: place.lat,
                lon: place.lon,
            }
        })
        .collect()
}
