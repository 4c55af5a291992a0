//! What a row of the table of fields is made of.

use chrono::{DateTime, Utc};
use jumpseat_values::{Doubt, Estimate};

use crate::contact::Contact;
use crate::draft::Draft;

/// Reads and writes one member of a contact.
#[derive(Debug)]
pub struct Member<T> {
    /// Its value; `None` where it is not known.
    pub get: fn(&Contact) -> Option<T>,
    /// Puts a value in, or takes it out.
    pub set: fn(&mut Contact, Option<T>),
}

/// A member of [`Contact`] that is an `Option`.
macro_rules! member {
    ($name:ident) => {
        $crate::fields::kind::Member {
            get: |contact| contact.$name.clone(),
            set: |contact, value| contact.$name = value,
        }
    };
}

/// A member of the own area, which comes to be with the first of them.
macro_rules! area_member {
    ($name:ident) => {
        $crate::fields::kind::Member {
            get: |contact| contact.area.as_ref()?.$name.clone(),
            set: |contact, value| {
                if value.is_some() {
                    contact.area.get_or_insert_default().$name = value;
                }
            },
        }
    };
}

/// A member of a draft that was heard.
macro_rules! heard {
    ($name:ident) => {
        $crate::fields::kind::DraftSource::Heard {
            get: |draft| &draft.$name,
            get_mut: |draft| &mut draft.$name,
        }
    };
}

pub(super) use {area_member, heard, member};

/// What a field holds, which decides its form and its limits in every format.
#[derive(Debug)]
pub enum FieldKind {
    /// A call sign, in capitals of ASCII.
    CallSign(Member<String>),
    /// A signal report. Any text is taken; an unusual one gets a doubt.
    Report(Member<String>),
    /// Any text.
    Text(Member<String>),
    /// A locator of 2 to 12 characters.
    Locator(Member<String>),
    /// UTC. Whether its seconds are known stands in [`Contact::whole_minutes`].
    Time(Member<DateTime<Utc>>),
    /// Hertz, more than 0. People and files have megahertz.
    Frequency(Member<u64>),
    /// A band of the ADIF enumeration.
    Band(Member<String>),
    /// A mode of the ADIF enumeration.
    Mode(Member<String>),
    /// A submode of the ADIF enumeration.
    Submode(Member<String>),
    /// Degrees from `-limit` to `limit`; the letters are those of the positive and the
    /// negative side.
    Degrees {
        /// The member.
        member: Member<f64>,
        /// The largest value.
        limit: u32,
        /// Of a positive and of a negative value.
        letters: [char; 2],
    },
    /// A number of an ADIF enumeration, 0 to 65,535.
    EnumerationNumber(Member<u16>),
}

/// The fields of an ADIF record that hold one of ours.
#[derive(Debug)]
pub struct AdifNames {
    /// Its place in the order of a record. A new field takes the next free number.
    pub place: u8,
    /// A time has a date and a time of day, a locator what is beyond its eighth
    /// character beside it, everything else one name; none where ADIF has no field. One
    /// that begins with `APP_` is written and not read: it is kept as it came.
    pub names: &'static [&'static str],
}

/// The column of a CSV file.
#[derive(Debug)]
pub struct CsvColumn {
    /// Its number, from 1. A column never moves; a new one comes at the end.
    pub place: u8,
    /// In the header row.
    pub name: &'static str,
}

/// How a draft knows a field.
#[derive(Debug)]
pub enum DraftSource {
    /// It never does.
    Never,
    /// It was said on the air, so that a person has to confirm it.
    Heard {
        /// What was heard.
        get: fn(&Draft) -> &Estimate<String>,
        /// The same, to be changed.
        get_mut: fn(&mut Draft) -> &mut Estimate<String>,
    },
    /// From clock, receiver or radio; with the doubts about it.
    Measured(fn(&Draft) -> Vec<Doubt>),
}

/// How a person gives a field.
#[derive(Debug, Clone, Copy)]
pub struct EditForm {
    /// A shorter label, for where there is little room; empty for the same one.
    pub short_label: &'static str,
    /// What stands behind the label, such as ", MHz".
    pub unit: &'static str,
    /// What an empty field shows.
    pub example: Option<&'static str>,
    /// It is always in view on the review page; others are behind a fold.
    pub in_view: bool,
    /// The option of `jumpseat confirm`.
    pub option: Option<EditOption>,
}

impl EditForm {
    /// A field of the review page alone, behind the fold.
    pub const PLAIN: Self = Self {
        short_label: "",
        unit: "",
        example: None,
        in_view: false,
        option: None,
    };
}

/// An option of `jumpseat confirm`.
#[derive(Debug, Clone, Copy)]
pub struct EditOption {
    /// Its name, without the two hyphens before it.
    pub name: &'static str,
    /// A contact cannot be without it.
    pub required: bool,
    /// What stands for its value in the help.
    pub value_name: &'static str,
    /// A line of help.
    pub help: &'static str,
}

impl EditOption {
    /// One that may be left out.
    pub const fn new(name: &'static str, value_name: &'static str, help: &'static str) -> Self {
        Self {
            name,
            required: false,
            value_name,
            help,
        }
    }
}
