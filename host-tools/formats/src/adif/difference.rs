//! Where two records of one contact differ.

use serde::Serialize;

use super::record::{AdifField, fields};
use super::text::fitting;
use jumpseat_entries::Contact;

/// A field that differs in another log.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FieldDifference {
    /// Its name.
    pub field: String,
    /// What the logbook holds; `None` where it holds nothing.
    pub here: Option<String>,
    /// What the other log holds.
    pub there: String,
}

/// The fields of a contact that another log holds and the logbook lacks or has otherwise,
/// compared as they stand in files: fractions of a second, characters that an ADI file
/// cannot hold, and what the other log leaves out do not count.
pub fn differences(here: &Contact, there: &Contact) -> Vec<FieldDifference> {
    let (Ok(here), Ok(there)) = (fields(here), fields(there)) else {
        return Vec::new();
    };
    let plain = |field: &AdifField| fitting(&field.value, field.holds).0;
    there
        .iter()
        .filter_map(|other| {
            let known = here.iter().find(|known| known.name == other.name);
            let other_text = plain(other);
            let known_text = known.map(plain);
            let same = known_text.as_deref().is_some_and(|known| {
                let clock = matches!(other.name.as_str(), "TIME_ON" | "TIME_OFF");
                let minute = clock && (known.len() == 4 || other_text.len() == 4);
                known.eq_ignore_ascii_case(&other_text)
                    || (minute && known.get(..4) == other_text.get(..4))
            });
            (!same && !other_text.is_empty()).then(|| FieldDifference {
                field: other.name.clone(),
                here: known.map(|known| known.value.clone()),
                there: other.value.clone(),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_the_other_log_holds_otherwise() {
        let here = Contact {
            call: "KB0QSE".into(),
            on: Some("2026-05-14T15:04:27.600Z".parse().unwrap()),
            name: Some("José".into()),
            sent: Some("59".into()),
            comment: Some("at the pass".into()),
            ..Contact::default()
        };
        let there = Contact {
            call: "KB0QSE".into(),
            on: Some("2026-05-14T15:04:00Z".parse().unwrap()),
            whole_minutes: true,
            name: Some("Jose".into()),
            sent: Some("57".into()),
            qth: Some("Laramie".into()),
            ..Contact::default()
        };
        let found = differences(&here, &there);
        let found: Vec<String> = found
            .iter()
            .map(|d| format!("{} {:?} {}", d.field, d.here, d.there))
            .collect();
        assert_eq!(found, ["RST_SENT Some(\"59\") 57", "QTH None Laramie"]);
    }
}
