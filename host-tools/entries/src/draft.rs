//! A draft as the logbook keeps it: every value with its doubts and evidence.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

use crate::area::AdministrativeArea;

/// Where something was said or seen: seconds of trip time (0 at the first
/// sample of the trip), and the sound file that holds them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// Number of the sound file.
    pub segment: Option<u32>,
    /// Where it begins.
    pub start_s: f64,
    /// Where it ends.
    pub end_s: f64,
}

/// Another value that it may be.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Alternative<T> {
    /// The value.
    pub value: T,
    /// How likely, 0 to 1.
    pub probability: f64,
}

/// One value of a draft.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Field<T> {
    /// The best value; `None` when nothing can be said.
    pub value: Option<T>,
    /// How likely it is, 0 to 1; `None` when nobody stated it.
    pub probability: Option<f64>,
    /// Other values, likeliest first.
    #[serde(default = "Vec::new")]
    pub alternatives: Vec<Alternative<T>>,
    /// Of a time: the truth lies within that many seconds on either side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty_s: Option<f64>,
    /// Why it may be wrong, or why there is none.
    #[serde(default)]
    pub doubts: Vec<String>,
    /// Where it comes from.
    #[serde(default)]
    pub evidence: Vec<Evidence>,
}

impl<T> Field<T> {
    /// A value, or none, with its doubts.
    pub fn new(value: Option<T>, doubts: Vec<String>) -> Self {
        Self {
            value,
            probability: None,
            alternatives: Vec::new(),
            uncertainty_s: None,
            doubts,
            evidence: Vec::new(),
        }
    }
}

impl<T> Default for Field<T> {
    fn default() -> Self {
        Self::new(None, Vec::new())
    }
}

/// What a draft is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DraftKind {
    /// Overs that make a contact.
    Contact,
    /// Not found to be a contact; a person should look.
    Look,
}

/// An over of a draft, in seconds of trip time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DraftOver {
    /// "rx" or "tx".
    pub direction: String,
    /// Where it begins.
    pub start_s: f64,
    /// Where it ends.
    pub end_s: f64,
    /// Numbers of its sound files.
    pub segments: Vec<u32>,
}

/// A draft. Frequencies in hertz, places in degrees (WGS 84, north and east
/// positive), times of a contact in UTC, everything else in seconds of trip time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Draft {
    /// What it is.
    pub kind: DraftKind,
    /// Start of the first over.
    pub on_s: f64,
    /// End of the last over.
    pub off_s: f64,
    /// Marks that belong to it.
    pub marks_s: Vec<f64>,
    /// The other station's call sign.
    pub call: Field<String>,
    /// UTC of `on_s`.
    pub on: Field<DateTime<Utc>>,
    /// UTC of `off_s`.
    pub off: Field<DateTime<Utc>>,
    /// The dial.
    pub hz: Field<u64>,
    /// The mode in rig control's word, such as "USB".
    pub mode: Field<String>,
    /// The band in the words of the ADIF enumeration, such as "20m".
    pub band: Field<String>,
    /// Own locator.
    pub locator: Field<String>,
    /// Own latitude.
    pub lat: Field<f64>,
    /// Own longitude.
    pub lon: Field<f64>,
    /// Own administrative area when it began.
    #[serde(default)]
    pub area: Field<AdministrativeArea>,
    /// The area when it ended, where that is another.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area_off: Option<AdministrativeArea>,
    /// Report given.
    pub sent: Field<String>,
    /// Report received.
    pub received: Field<String>,
    /// The other operator's name.
    pub name: Field<String>,
    /// The other station's locator; without a value, its evidence is where a place may
    /// have been said.
    #[serde(default)]
    pub their_locator: Field<String>,
    /// A number or a reference that was given, such as "number 1793".
    #[serde(default)]
    pub remark: Field<String>,
    /// Own station's call sign, as the recorder knew it.
    pub station: Option<String>,
    /// The operator's call sign, as the recorder knew it.
    pub operator: Option<String>,
    /// Overs that belong to it.
    pub overs: Vec<DraftOver>,
    /// Doubts about the draft as a whole.
    pub doubts: Vec<String>,
}

impl Draft {
    /// Every doubt, of the whole first, each once.
    pub fn all_doubts(&self) -> Vec<String> {
        let fields = [
            &self.call.doubts,
            &self.on.doubts,
            &self.off.doubts,
            &self.hz.doubts,
            &self.mode.doubts,
            &self.band.doubts,
            &self.locator.doubts,
            &self.lat.doubts,
            &self.lon.doubts,
            &self.area.doubts,
            &self.sent.doubts,
            &self.received.doubts,
            &self.name.doubts,
            &self.their_locator.doubts,
            &self.remark.doubts,
        ];
        let mut all: Vec<String> = Vec::new();
        for doubt in self.doubts.iter().chain(fields.into_iter().flatten()) {
            if !all.contains(doubt) {
                all.push(doubt.clone());
            }
        }
        all
    }

    /// Share of the time of both that both have in common, 0 to 1.
    pub fn overlap(&self, other: &Self) -> f64 {
        let common = self.off_s.min(other.off_s) - self.on_s.max(other.on_s);
        let whole = self.off_s.max(other.off_s) - self.on_s.min(other.on_s);
        if common < 0.0 {
            0.0
        } else if whole <= 0.0 {
            1.0
        } else {
            common / whole
        }
    }
}
