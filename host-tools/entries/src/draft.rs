//! A draft as the logbook stores it: every value with its doubts and evidence.

use chrono::{DateTime, Utc};
use jumpseat_values::{Doubt, Estimate};
use serde::{Deserialize, Serialize};

use crate::area::AdministrativeArea;

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
    pub call: Estimate<String>,
    /// UTC of `on_s`.
    pub on: Estimate<DateTime<Utc>>,
    /// UTC of `off_s`.
    pub off: Estimate<DateTime<Utc>>,
    /// The dial.
    pub hz: Estimate<u64>,
    /// The mode as rig control names it, such as "USB".
    pub mode: Estimate<String>,
    /// The band as the ADIF enumeration names it, such as "20m".
    pub band: Estimate<String>,
    /// Own locator.
    pub locator: Estimate<String>,
    /// Own latitude.
    pub lat: Estimate<f64>,
    /// Own longitude.
    pub lon: Estimate<f64>,
    /// Own administrative area when it began.
    #[serde(default)]
    pub area: Estimate<AdministrativeArea>,
    /// The area when it ended, where that is a different one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area_off: Option<AdministrativeArea>,
    /// Report given.
    pub sent: Estimate<String>,
    /// Report received.
    pub received: Estimate<String>,
    /// The other operator's name.
    pub name: Estimate<String>,
    /// The other station's locator. Without a value, its evidence says where a place may
    /// have been mentioned.
    #[serde(default)]
    pub their_locator: Estimate<String>,
    /// A number or a reference that was given, such as "number 1793".
    #[serde(default)]
    pub remark: Estimate<String>,
    /// Own station's call sign, as the recorder knew it.
    pub station: Option<String>,
    /// The operator's call sign, as the recorder knew it.
    pub operator: Option<String>,
    /// Overs that belong to it.
    pub overs: Vec<DraftOver>,
    /// Doubts about the draft as a whole.
    pub doubts: Vec<Doubt>,
}

impl Draft {
    /// Every doubt, each once; those about the whole draft come first.
    pub fn all_doubts(&self) -> Vec<Doubt> {
        self.doubts_of(true)
    }

    /// The same without the doubts about what was heard.
    pub fn measured_doubts(&self) -> Vec<Doubt> {
        self.doubts_of(false)
    }

    fn doubts_of(&self, heard_too: bool) -> Vec<Doubt> {
        // All members stand here, so that a new estimate does not go unnoticed.
        let Self {
            kind: _,
            on_s: _,
            off_s: _,
            marks_s: _,
            call,
            on,
            off,
            hz,
            mode,
            band,
            locator,
            lat,
            lon,
            area,
            area_off: _,
            sent,
            received,
            name,
            their_locator,
            remark,
            station: _,
            operator: _,
            overs: _,
            doubts,
        } = self;
        let (heard, measured) = (heard_too, true);
        let estimates = [
            (&call.doubts, heard),
            (&on.doubts, measured),
            (&off.doubts, measured),
            (&hz.doubts, measured),
            (&mode.doubts, measured),
            (&band.doubts, measured),
            (&locator.doubts, measured),
            (&lat.doubts, measured),
            (&lon.doubts, measured),
            (&area.doubts, measured),
            (&sent.doubts, heard),
            (&received.doubts, heard),
            (&name.doubts, heard),
            (&their_locator.doubts, heard),
            (&remark.doubts, heard),
        ];
        let estimates = estimates.into_iter().filter(|(_, counts)| *counts);
        let mut all: Vec<Doubt> = Vec::new();
        for doubt in doubts
            .iter()
            .chain(estimates.flat_map(|(doubts, _)| doubts))
        {
            if !all.contains(doubt) {
                all.push(doubt.clone());
            }
        }
        all
    }

    /// How much two drafts overlap: common time as a share of the time of both, 0 to 1.
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
