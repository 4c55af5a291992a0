//! The table of fields: one row for each field of a contact.

use std::sync::LazyLock;

use jumpseat_values::{Doubt, Estimate};

use super::kind::{
    AdifNames, CsvColumn, DraftSource, EditForm, EditOption, FieldKind, Member, area_member, heard,
    member,
};
use crate::area::AdministrativeArea;
use crate::contact::Contact;
use crate::draft::Draft;

/// One field of a contact.
#[derive(Debug)]
pub struct FieldDefinition {
    /// Which one.
    pub field: ContactField,
    /// As programs name it.
    pub key: &'static str,
    /// Where it stands in a contact's JSON.
    pub json: &'static str,
    /// As people name it, in the middle of a sentence.
    pub label: &'static str,
    /// What it holds.
    pub kind: FieldKind,
    /// In ADIF and ADX files.
    pub adif: AdifNames,
    /// In CSV files.
    pub csv: CsvColumn,
    /// How a draft fills it.
    pub draft: DraftSource,
    /// How a person edits it; `None` for what follows from other fields, from the own
    /// station or from the drive.
    pub edit: Option<EditForm>,
}

impl FieldDefinition {
    /// What the draft heard of it, if it is one that is heard.
    pub fn heard<'a>(&self, draft: &'a Draft) -> Option<&'a Estimate<String>> {
        match self.draft {
            DraftSource::Heard { get, .. } => Some(get(draft)),
            _ => None,
        }
    }

    /// The draft's doubts about it.
    pub fn doubts(&self, draft: &Draft) -> Vec<Doubt> {
        match self.draft {
            DraftSource::Never => Vec::new(),
            DraftSource::Heard { get, .. } => get(draft).doubts.clone(),
            DraftSource::Measured(doubts) => doubts(draft),
        }
    }

    /// Sets a field that holds text; others stay as they are.
    pub(crate) fn set_text(&self, contact: &mut Contact, text: Option<String>) {
        use FieldKind::{Band, CallSign, Locator, Mode, Report, Submode, Text};
        match &self.kind {
            CallSign(member) | Report(member) | Text(member) | Locator(member) | Band(member)
            | Mode(member) | Submode(member) => (member.set)(contact, text),
            _ => {}
        }
    }
}

/// Makes the enumeration of the fields and their table of one list, so that neither
/// can miss what the other has.
macro_rules! contact_fields {
    ($( $(#[$doc:meta])* $field:ident { $($definition:tt)* } )*) => {
        /// A field of a contact. The order is that of the review page's form; fields
        /// that a person does not edit come last.
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash,
            serde::Serialize, serde::Deserialize,
        )]
        #[serde(rename_all = "snake_case")]
        pub enum ContactField { $( $(#[$doc])* $field, )* }

        /// All fields, in the order of [`ContactField`].
        pub static FIELDS: [FieldDefinition; [$( ContactField::$field ),*].len()] = [
            $( FieldDefinition { field: ContactField::$field, $($definition)* } ),*
        ];
    };
}

contact_fields! {
    /// The other station's call sign.
    Call {
        key: "call",
        json: "call",
        label: "call sign",
        kind: FieldKind::CallSign(Member {
            get: |contact| Some(contact.call.clone()).filter(|call| !call.is_empty()),
            set: |contact, call| contact.call = call.unwrap_or_default(),
        }),
        adif: AdifNames { place: 3, names: &["CALL"] },
        csv: CsvColumn { place: 3, name: "call" },
        draft: heard!(call),
        edit: Some(EditForm {
            short_label: "call",
            in_view: true,
            option: Some(EditOption {
                name: "call",
                required: true,
                value_name: "CALL",
                help: "The other station's call sign",
            }),
            ..EditForm::PLAIN
        }),
    }
    /// Report given.
    Sent {
        key: "sent",
        json: "sent",
        label: "report sent",
        kind: FieldKind::Report(member!(sent)),
        adif: AdifNames { place: 9, names: &["RST_SENT"] },
        csv: CsvColumn { place: 8, name: "report_sent" },
        draft: heard!(sent),
        edit: Some(EditForm {
            short_label: "sent",
            in_view: true,
            example: Some("59"),
            option: Some(EditOption::new("sent", "RST", "The report that you gave, such as 59")),
            ..EditForm::PLAIN
        }),
    }
    /// Report received.
    Received {
        key: "received",
        json: "received",
        label: "report received",
        kind: FieldKind::Report(member!(received)),
        adif: AdifNames { place: 10, names: &["RST_RCVD"] },
        csv: CsvColumn { place: 9, name: "report_received" },
        draft: heard!(received),
        edit: Some(EditForm {
            short_label: "received",
            in_view: true,
            example: Some("59"),
            option: Some(EditOption::new("received", "RST", "The report that you got")),
            ..EditForm::PLAIN
        }),
    }
    /// The other operator's name.
    Name {
        key: "name",
        json: "name",
        label: "name",
        kind: FieldKind::Text(member!(name)),
        adif: AdifNames { place: 11, names: &["NAME"] },
        csv: CsvColumn { place: 10, name: "name" },
        draft: heard!(name),
        edit: Some(EditForm {
            in_view: true,
            option: Some(EditOption::new("name", "NAME", "The other operator's name")),
            ..EditForm::PLAIN
        }),
    }
    /// The other station's town or place.
    Qth {
        key: "qth",
        json: "qth",
        label: "their place",
        kind: FieldKind::Text(member!(qth)),
        adif: AdifNames { place: 12, names: &["QTH"] },
        csv: CsvColumn { place: 22, name: "qth" },
        draft: DraftSource::Never,
        edit: Some(EditForm {
            option: Some(EditOption::new("qth", "PLACE", "The other station's town or place")),
            ..EditForm::PLAIN
        }),
    }
    /// The other station's locator.
    TheirLocator {
        key: "their_locator",
        json: "their_locator",
        label: "their locator",
        kind: FieldKind::Locator(member!(their_locator)),
        adif: AdifNames { place: 13, names: &["GRIDSQUARE", "GRIDSQUARE_EXT"] },
        csv: CsvColumn { place: 23, name: "their_locator" },
        draft: heard!(their_locator),
        edit: Some(EditForm {
            example: Some("DN51em"),
            option: Some(EditOption::new("their-locator", "LOCATOR", "The other station's locator")),
            ..EditForm::PLAIN
        }),
    }
    /// Start, UTC, such as "2026-05-14 15:04:28".
    On {
        key: "on",
        json: "on",
        label: "start",
        kind: FieldKind::Time(member!(on)),
        adif: AdifNames { place: 1, names: &["QSO_DATE", "TIME_ON"] },
        csv: CsvColumn { place: 1, name: "start_utc" },
        draft: DraftSource::Measured(|draft| draft.on.doubts.clone()),
        edit: Some(EditForm {
            unit: ", UTC",
            example: Some("2026-05-14 15:04:28"),
            option: Some(EditOption::new("on",
                "UTC",
                "When it began in UTC, such as \"2026-05-14 15:04:28\"",
            )),
            ..EditForm::PLAIN
        }),
    }
    /// End, UTC.
    Off {
        key: "off",
        json: "off",
        label: "end",
        kind: FieldKind::Time(member!(off)),
        adif: AdifNames { place: 2, names: &["QSO_DATE_OFF", "TIME_OFF"] },
        csv: CsvColumn { place: 2, name: "end_utc" },
        draft: DraftSource::Measured(|draft| draft.off.doubts.clone()),
        edit: Some(EditForm {
            unit: ", UTC",
            example: Some("2026-05-14 15:04:28"),
            option: Some(EditOption::new("off", "UTC", "When it ended in UTC")),
            ..EditForm::PLAIN
        }),
    }
    /// The frequency on which the own station transmits, in megahertz.
    Mhz {
        key: "mhz",
        json: "hz",
        label: "frequency",
        kind: FieldKind::Frequency(member!(hz)),
        adif: AdifNames { place: 4, names: &["FREQ"] },
        csv: CsvColumn { place: 4, name: "frequency_mhz" },
        draft: DraftSource::Measured(|draft| draft.hz.doubts.clone()),
        edit: Some(EditForm {
            unit: ", MHz",
            example: Some("14.2875"),
            option: Some(EditOption::new("mhz",
                "MHZ",
                "The frequency, where rig control was silent or wrong",
            )),
            ..EditForm::PLAIN
        }),
    }
    /// The frequency on which the own station listens, in megahertz, where that is
    /// another one.
    ReceiveMhz {
        key: "receive_mhz",
        json: "hz_rx",
        label: "receive frequency",
        kind: FieldKind::Frequency(member!(hz_rx)),
        adif: AdifNames { place: 5, names: &["FREQ_RX"] },
        csv: CsvColumn { place: 21, name: "receive_frequency_mhz" },
        draft: DraftSource::Never,
        edit: Some(EditForm {
            unit: ", MHz",
            option: Some(EditOption::new("receive-mhz",
                "MHZ",
                "The frequency on which you listened, where that was another (split, repeater)",
            )),
            ..EditForm::PLAIN
        }),
    }
    /// The mode in rig control's or the log's word, such as "USB" or "FM".
    Mode {
        key: "mode",
        json: "mode",
        label: "mode",
        kind: FieldKind::Mode(member!(mode)),
        adif: AdifNames { place: 7, names: &["MODE"] },
        csv: CsvColumn { place: 6, name: "mode" },
        draft: DraftSource::Measured(|draft| draft.mode.doubts.clone()),
        edit: Some(EditForm {
            example: Some("USB"),
            option: Some(EditOption::new("mode", "MODE", "The mode, such as USB or FM")),
            ..EditForm::PLAIN
        }),
    }
    /// Own locator.
    Locator {
        key: "locator",
        json: "locator",
        label: "own locator",
        kind: FieldKind::Locator(member!(locator)),
        adif: AdifNames { place: 14, names: &["MY_GRIDSQUARE", "MY_GRIDSQUARE_EXT"] },
        csv: CsvColumn { place: 14, name: "locator" },
        // Where the position is in doubt, the area is too.
        draft: DraftSource::Measured(|draft| {
            [&draft.locator.doubts[..], &draft.area.doubts].concat()
        }),
        edit: Some(EditForm::PLAIN),
    }
    /// The other station's special activity.
    Sig {
        key: "sig",
        json: "sig",
        label: "their programme",
        kind: FieldKind::Text(member!(sig)),
        adif: AdifNames { place: 15, names: &["SIG"] },
        csv: CsvColumn { place: 24, name: "sig" },
        draft: DraftSource::Never,
        edit: Some(EditForm {
            option: Some(EditOption::new("sig",
                "NAME",
                "The award programme that the other station is out for, as in ADIF's SIG (parks, \
                 summits)",
            )),
            ..EditForm::PLAIN
        }),
    }
    /// What that activity says of the place, such as a reference.
    SigInfo {
        key: "sig_info",
        json: "sig_info",
        label: "their reference",
        kind: FieldKind::Text(member!(sig_info)),
        adif: AdifNames { place: 16, names: &["SIG_INFO"] },
        csv: CsvColumn { place: 25, name: "sig_info" },
        draft: DraftSource::Never,
        edit: Some(EditForm {
            option: Some(EditOption::new("sig-info", "TEXT", "The other station's reference in that programme (SIG_INFO)")),
            ..EditForm::PLAIN
        }),
    }
    /// Own special activity.
    MySig {
        key: "my_sig",
        json: "my_sig",
        label: "own programme",
        kind: FieldKind::Text(member!(my_sig)),
        adif: AdifNames { place: 26, names: &["MY_SIG"] },
        csv: CsvColumn { place: 26, name: "my_sig" },
        draft: DraftSource::Never,
        edit: Some(EditForm {
            option: Some(EditOption::new("my-sig", "NAME", "The programme that you are out for")),
            ..EditForm::PLAIN
        }),
    }
    /// What that activity says of the own place.
    MySigInfo {
        key: "my_sig_info",
        json: "my_sig_info",
        label: "own reference",
        kind: FieldKind::Text(member!(my_sig_info)),
        adif: AdifNames { place: 27, names: &["MY_SIG_INFO"] },
        csv: CsvColumn { place: 27, name: "my_sig_info" },
        draft: DraftSource::Never,
        edit: Some(EditForm {
            option: Some(EditOption::new("my-sig-info", "TEXT", "Your reference there")),
            ..EditForm::PLAIN
        }),
    }
    /// Remarks.
    Comment {
        key: "comment",
        json: "comment",
        label: "remarks",
        kind: FieldKind::Text(member!(comment)),
        adif: AdifNames { place: 17, names: &["COMMENT"] },
        csv: CsvColumn { place: 11, name: "comment" },
        draft: heard!(remark),
        edit: Some(EditForm {
            option: Some(EditOption::new("comment", "TEXT", "Remarks")),
            ..EditForm::PLAIN
        }),
    }
    /// The band that the frequency lies in.
    Band {
        key: "band",
        json: "band",
        label: "band",
        kind: FieldKind::Band(member!(band)),
        adif: AdifNames { place: 6, names: &["BAND"] },
        csv: CsvColumn { place: 5, name: "band" },
        draft: DraftSource::Measured(|draft| draft.band.doubts.clone()),
        edit: None,
    }
    /// The submode, such as "USB"; a person gives it as the mode.
    Submode {
        key: "submode",
        json: "submode",
        label: "submode",
        kind: FieldKind::Submode(member!(submode)),
        adif: AdifNames { place: 8, names: &["SUBMODE"] },
        csv: CsvColumn { place: 7, name: "submode" },
        draft: DraftSource::Measured(|draft| draft.mode.doubts.clone()),
        edit: None,
    }
    /// Own station's call sign.
    Station {
        key: "station",
        json: "station",
        label: "own call sign",
        kind: FieldKind::CallSign(member!(station)),
        adif: AdifNames { place: 18, names: &["STATION_CALLSIGN"] },
        csv: CsvColumn { place: 12, name: "station" },
        draft: DraftSource::Measured(|_| Vec::new()),
        edit: None,
    }
    /// The operator's call sign.
    Operator {
        key: "operator",
        json: "operator",
        label: "operator",
        kind: FieldKind::CallSign(member!(operator)),
        adif: AdifNames { place: 19, names: &["OPERATOR"] },
        csv: CsvColumn { place: 13, name: "operator" },
        draft: DraftSource::Measured(|_| Vec::new()),
        edit: None,
    }
    /// Own latitude.
    Latitude {
        key: "latitude",
        json: "lat",
        label: "own latitude",
        kind: FieldKind::Degrees { member: member!(lat), limit: 90, letters: ['N', 'S'] },
        adif: AdifNames { place: 20, names: &["MY_LAT"] },
        csv: CsvColumn { place: 15, name: "latitude" },
        draft: DraftSource::Measured(|draft| draft.lat.doubts.clone()),
        edit: None,
    }
    /// Own longitude.
    Longitude {
        key: "longitude",
        json: "lon",
        label: "own longitude",
        kind: FieldKind::Degrees { member: member!(lon), limit: 180, letters: ['E', 'W'] },
        adif: AdifNames { place: 21, names: &["MY_LON"] },
        csv: CsvColumn { place: 16, name: "longitude" },
        draft: DraftSource::Measured(|draft| draft.lon.doubts.clone()),
        edit: None,
    }
    /// The own area when the contact began, as people say it.
    Area {
        key: "area",
        json: "area/name",
        label: "own area",
        kind: FieldKind::Text(Member {
            get: |contact| contact.area.as_ref().map(|area| area.name.clone()),
            set: |contact, name| {
                if let Some(name) = name {
                    let area = contact.area.get_or_insert_default();
                    area.short.clone_from(&name);
                    area.name = name;
                }
            },
        }),
        // The specification knows an area by the four fields below.
        adif: AdifNames { place: 0, names: &[] },
        csv: CsvColumn { place: 17, name: "area" },
        draft: DraftSource::Measured(|draft| draft.area.doubts.clone()),
        edit: None,
    }
    /// Number of the area's entity in the ADIF enumeration `DXCC_Entity_Code`.
    AreaDxcc {
        key: "dxcc",
        json: "area/dxcc",
        label: "own entity number",
        kind: FieldKind::EnumerationNumber(area_member!(dxcc)),
        adif: AdifNames { place: 22, names: &["MY_DXCC"] },
        csv: CsvColumn { place: 29, name: "dxcc" },
        draft: DraftSource::Measured(|draft| draft.area.doubts.clone()),
        edit: None,
    }
    /// The area's entity.
    AreaCountry {
        key: "country",
        json: "area/country",
        label: "own entity",
        kind: FieldKind::Text(area_member!(country)),
        adif: AdifNames { place: 23, names: &["MY_COUNTRY"] },
        csv: CsvColumn { place: 18, name: "country" },
        draft: DraftSource::Measured(|draft| draft.area.doubts.clone()),
        edit: None,
    }
    /// The area's primary subdivision.
    AreaState {
        key: "state",
        json: "area/state",
        label: "own state",
        kind: FieldKind::Text(area_member!(state)),
        adif: AdifNames { place: 24, names: &["MY_STATE"] },
        csv: CsvColumn { place: 19, name: "state" },
        draft: DraftSource::Measured(|draft| draft.area.doubts.clone()),
        edit: None,
    }
    /// The area's secondary subdivision.
    AreaCounty {
        key: "county",
        json: "area/county",
        label: "own county",
        kind: FieldKind::Text(area_member!(county)),
        adif: AdifNames { place: 25, names: &["MY_CNTY"] },
        csv: CsvColumn { place: 20, name: "county" },
        draft: DraftSource::Measured(|draft| draft.area.doubts.clone()),
        edit: None,
    }
    /// The own area when the contact ended, where that is another.
    AreaEnd {
        key: "area_end",
        json: "area_off/name",
        label: "own area at the end",
        kind: FieldKind::Text(Member {
            get: |contact| contact.area_off.as_ref().map(|area| area.name.clone()),
            set: |contact, name| {
                contact.area_off = name.map(|name| AdministrativeArea {
                    short: name.clone(),
                    name,
                    ..AdministrativeArea::default()
                });
            },
        }),
        // The specification has no field for where a contact ended.
        adif: AdifNames { place: 28, names: &["APP_JUMPSEAT_AREA_OFF"] },
        csv: CsvColumn { place: 28, name: "area_end" },
        draft: DraftSource::Measured(|_| Vec::new()),
        edit: None,
    }
}

impl ContactField {
    /// Its row in [`FIELDS`].
    pub fn definition(self) -> &'static FieldDefinition {
        &FIELDS[self as usize]
    }

    /// As programs name it; what serde writes too.
    pub fn key(self) -> &'static str {
        self.definition().key
    }

    /// As people name it, in the middle of a sentence.
    pub fn label(self) -> &'static str {
        self.definition().label
    }

    /// The fields that a person edits, in the order of the review page.
    pub fn editable() -> impl Iterator<Item = Self> {
        FIELDS
            .iter()
            .filter(|definition| definition.edit.is_some())
            .map(|definition| definition.field)
    }

    /// The editable field with that key.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::editable().find(|field| field.key() == key)
    }
}

/// The fields of an ADIF record in the order in which they are written.
pub fn in_adif_order() -> &'static [&'static FieldDefinition] {
    static ORDER: LazyLock<Vec<&FieldDefinition>> = LazyLock::new(|| {
        let fields = FIELDS.iter();
        let mut fields: Vec<_> = fields
            .filter(|definition| !definition.adif.names.is_empty())
            .collect();
        fields.sort_by_key(|definition| definition.adif.place);
        fields
    });
    &ORDER
}

/// The columns of a CSV file in their order.
pub fn in_csv_order() -> &'static [&'static FieldDefinition] {
    static ORDER: LazyLock<Vec<&FieldDefinition>> = LazyLock::new(|| {
        let mut fields: Vec<_> = FIELDS.iter().collect();
        fields.sort_by_key(|definition| definition.csv.place);
        fields
    });
    &ORDER
}
