//! `jumpseat confirm`.

use anyhow::Result;
use clap::Args;
use jumpseat_log::{Contact, Entry, LogError, Logbook, adif};
use jumpseat_place::{callsign, locator, mode};

use super::entries;
use crate::home::Home;
use crate::outcome::{Misuse, Outcome};
use crate::print;
use crate::station::Station;
use crate::text::count;
use crate::twins;

#[derive(Debug, Args)]
pub(crate) struct Confirm {
    /// The entry's number, as `jumpseat log` shows it
    #[arg(value_name = "CONTACT")]
    number: i64,
    /// The other station's call sign
    #[arg(long)]
    call: String,
    /// The report that you gave, such as 59
    #[arg(long, value_name = "RST")]
    sent: Option<String>,
    /// The report that you got
    #[arg(long, value_name = "RST")]
    received: Option<String>,
    /// The other operator's name
    #[arg(long)]
    name: Option<String>,
    /// The other station's town or place
    #[arg(long, value_name = "PLACE")]
    qth: Option<String>,
    /// The other station's locator
    #[arg(long, value_name = "LOCATOR")]
    their_locator: Option<String>,
    /// The other station's special activity, such as a programme's name
    #[arg(long, value_name = "NAME")]
    sig: Option<String>,
    /// What it says of the place, such as a reference
    #[arg(long, value_name = "TEXT")]
    sig_info: Option<String>,
    /// Your own special activity
    #[arg(long, value_name = "NAME")]
    my_sig: Option<String>,
    /// What it says of your place
    #[arg(long, value_name = "TEXT")]
    my_sig_info: Option<String>,
    /// The frequency on which you listened, where that was another (split, repeater)
    #[arg(long, value_name = "MHZ")]
    receive_mhz: Option<String>,
    /// Remarks
    #[arg(long, value_name = "TEXT")]
    comment: Option<String>,
}

/// What a person heard. `None` leaves what was confirmed before; an empty text
/// takes it out.
#[derive(Debug, Clone, Default)]
pub(crate) struct Heard {
    pub(crate) call: String,
    pub(crate) sent: Option<String>,
    pub(crate) received: Option<String>,
    pub(crate) name: Option<String>,
    pub(crate) qth: Option<String>,
    pub(crate) their_locator: Option<String>,
    pub(crate) sig: Option<String>,
    pub(crate) sig_info: Option<String>,
    pub(crate) my_sig: Option<String>,
    pub(crate) my_sig_info: Option<String>,
    pub(crate) receive_mhz: Option<String>,
    pub(crate) comment: Option<String>,
}

impl Confirm {
    pub(super) fn run(self, home: &Home) -> Result<Outcome> {
        let heard = Heard {
            call: self.call,
            sent: self.sent,
            received: self.received,
            name: self.name,
            qth: self.qth,
            their_locator: self.their_locator,
            sig: self.sig,
            sig_info: self.sig_info,
            my_sig: self.my_sig,
            my_sig_info: self.my_sig_info,
            receive_mhz: self.receive_mhz,
            comment: self.comment,
        };
        let doubts = confirm(home, self.number, heard)?;
        let logbook = home.logbook()?;
        let entry = logbook.entry(self.number)?;
        let shown = std::slice::from_ref(&entry);
        let twins = twins::of_each(&logbook, shown, home.station()?.within(None))?;
        print::text(&entries::table(shown, &twins))?;
        print::line("")?;
        if let Some(known) = known(&logbook, &entry)? {
            print::line(&known)?;
        }
        for doubt in &doubts {
            print::line(&format!("doubt: {doubt}"))?;
        }
        for twins in twins.values() {
            twins::say(twins, twins.len())?;
        }
        print::line(&format!(
            "Confirmed. If that was wrong, confirm the entry again with what is right, or take it \
             back with `{} undo`.",
            home.command()
        ))?;
        Ok(Outcome::doubtful(!doubts.is_empty() || !twins.is_empty()))
    }
}

/// What the log knows of the station from other contacts.
fn known(logbook: &Logbook, entry: &Entry) -> Result<Option<String>> {
    let Some(contact) = &entry.contact else {
        return Ok(None);
    };
    let worked = logbook.worked_before(&contact.call)?;
    Ok(worked.filter(|worked| worked.contacts > 1).map(|worked| {
        let times = count(
            worked.contacts as usize - 1,
            "other contact",
            "other contacts",
        );
        let last = worked.last.as_deref().and_then(|last| last.get(..10));
        let last = last.map(|last| format!(", the last of all on {last}"));
        let name = worked.name.map(|name| format!(", {name}"));
        format!(
            "worked before: {times}{}{}",
            last.unwrap_or_default(),
            name.unwrap_or_default()
        )
    }))
}

/// Makes an entry a contact; gives the doubts about what was said.
pub(crate) fn confirm(home: &Home, number: i64, heard: Heard) -> Result<Vec<String>> {
    let call = callsign::parse(&heard.call)
        .map_err(|error| Misuse(format!("'{}' cannot be a call sign: {error}", heard.call)))?;
    let station = home.station()?;
    let mut logbook = home.logbook_if_any()?.ok_or(LogError::NoEntry { number })?;
    let entry = logbook.entry(number)?;
    let before = entry.contact.clone();
    let mut doubts: Vec<String> = call.doubts.iter().map(ToString::to_string).collect();
    let mut contact = start(&entry, &station, &mut doubts);
    contact.call = call.value.to_string();
    let set = |field: &mut Option<String>, said: Option<String>| {
        if let Some(said) = said {
            *field = Some(said.trim().to_owned()).filter(|said| !said.is_empty());
        }
    };
    set(&mut contact.sent, heard.sent);
    set(&mut contact.received, heard.received);
    set(&mut contact.name, heard.name);
    set(&mut contact.qth, heard.qth);
    set(&mut contact.their_locator, heard.their_locator);
    set(&mut contact.sig, heard.sig);
    set(&mut contact.sig_info, heard.sig_info);
    set(&mut contact.my_sig, heard.my_sig);
    set(&mut contact.my_sig_info, heard.my_sig_info);
    set(&mut contact.comment, heard.comment);
    if let Some(text) = heard.receive_mhz {
        contact.hz_rx = frequency(&text)?;
    }
    if let Some(text) = &contact.their_locator {
        locator::decode(text)
            .map_err(|error| Misuse(format!("'{text}' is no locator: {error}")))?;
    }
    for (what, report) in [("sent", &contact.sent), ("received", &contact.received)] {
        if let Some(report) = report
            && !is_report(report)
        {
            doubts.push(format!(
                "the report {what} '{report}' is unusual; such as 59 is usual"
            ));
        }
    }
    if contact.on.is_none() {
        doubts.push("its date and time are not known, so that it cannot be exported".into());
    }
    if contact.station.is_none() {
        doubts.push(format!(
            "your own call sign is not known; write `call = \"...\"` into {}",
            home.dir().join("station.toml").display()
        ));
    }
    logbook.confirm(number, &contact)?;
    if before.is_some_and(|before| before.call != contact.call) {
        print::line("(another call sign was confirmed before; the history keeps it)")?;
    }
    Ok(doubts)
}

/// Megahertz as a person writes them; an empty text takes the frequency out.
fn frequency(text: &str) -> Result<Option<u64>> {
    if text.trim().is_empty() {
        return Ok(None);
    }
    match adif::hertz(text.trim()).filter(|hz| *hz > 0) {
        Some(hz) => Ok(Some(hz)),
        None => Err(Misuse(format!(
            "'{text}' is no frequency in megahertz, such as 14.2875"
        ))
        .into()),
    }
}

/// What was confirmed before, or what the draft says that needs no hearing.
pub(crate) fn start(entry: &Entry, station: &Station, doubts: &mut Vec<String>) -> Contact {
    if let Some(contact) = &entry.contact {
        return contact.clone();
    }
    let Some(draft) = &entry.draft else {
        return Contact::default();
    };
    let word = draft.mode.value.as_deref();
    let mode = word.and_then(mode::of);
    if let (Some(word), None) = (word, mode) {
        doubts.push(format!("the mode '{word}' has no name in open log formats"));
    }
    let own = station.call.clone().or_else(|| draft.station.clone());
    Contact {
        call: String::new(),
        on: draft.on.value,
        off: draft.off.value,
        hz: draft.hz.value,
        band: draft.band.value.clone(),
        mode: mode.map(|mode| mode.mode.to_owned()),
        submode: mode.and_then(|mode| mode.submode).map(ToOwned::to_owned),
        operator: station.operator.clone().or_else(|| draft.operator.clone()),
        station: own,
        locator: draft.locator.value.clone(),
        lat: draft.lat.value,
        lon: draft.lon.value,
        area: if draft.area.doubts.is_empty() {
            draft.area.value.clone()
        } else {
            None
        },
        area_off: draft.area_off.clone(),
        ..Contact::default()
    }
}

/// Readability 1 to 5 and strength 1 to 9, for telegraphy a tone 1 to 9; or
/// decibels over 9 (common practice).
fn is_report(report: &str) -> bool {
    let digits: Vec<u32> = report.chars().map_while(|c| c.to_digit(10)).collect();
    let rest = report.get(digits.len()..).unwrap_or_default();
    let shape = matches!(digits.as_slice(), [1..=5, 1..=9] | [1..=5, 1..=9, 1..=9]);
    let over = rest
        .strip_prefix('+')
        .is_some_and(|over| !over.is_empty() && over.chars().all(|c| c.is_ascii_digit()));
    shape && (rest.is_empty() || over)
}

#[cfg(test)]
mod tests {
    use super::is_report;

    #[test]
    fn reports() {
        for (report, usual) in [
            ("59", true),
            ("11", true),
            ("599", true),
            ("59+20", true),
            ("69", false),
            ("50", false),
            ("5", false),
            ("", false),
            ("5999", false),
            ("59+", false),
            ("five nine", false),
            ("５９", false),
        ] {
            assert_eq!(is_report(report), usual, "{report}");
        }
    }
}
