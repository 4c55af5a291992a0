//! `jumpseat confirm`.

use anyhow::Result;
use clap::Args;
use jumpseat_entries::{Contact, ContactField, Edits, Entry, contact_of};
use jumpseat_logbook::{Logbook, LogbookError};
use jumpseat_values::Doubt;
use jumpseat_values::display::count;

use super::{entries, whole_number};
use crate::duplicates;
use crate::home::HomeFolder;
use crate::outcome::{CommandOutcome, UsageError};
use crate::print;
use crate::station;

#[derive(Debug, Args)]
pub(crate) struct ConfirmCommand {
    /// The entry's number, as `jumpseat log` shows it
    #[arg(value_name = "NUMBER", value_parser = whole_number::<i64>)]
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
    /// The award programme that the other station is out for, as in ADIF's SIG (parks, summits)
    #[arg(long, value_name = "NAME")]
    sig: Option<String>,
    /// Its reference there (SIG_INFO)
    #[arg(long, value_name = "TEXT")]
    sig_info: Option<String>,
    /// The programme that you are out for
    #[arg(long, value_name = "NAME")]
    my_sig: Option<String>,
    /// Your reference there
    #[arg(long, value_name = "TEXT")]
    my_sig_info: Option<String>,
    /// The frequency, where rig control was silent or wrong
    #[arg(long, value_name = "MHZ")]
    mhz: Option<String>,
    /// The mode, such as USB or FM
    #[arg(long)]
    mode: Option<String>,
    /// When it began in UTC, such as "2026-05-14 15:04:28"
    #[arg(long, value_name = "UTC")]
    on: Option<String>,
    /// When it ended in UTC
    #[arg(long, value_name = "UTC")]
    off: Option<String>,
    /// The frequency on which you listened, where that was another (split, repeater)
    #[arg(long, value_name = "MHZ")]
    receive_mhz: Option<String>,
    /// Remarks
    #[arg(long, value_name = "TEXT")]
    comment: Option<String>,
}

impl ConfirmCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        let said = [
            (ContactField::Call, Some(self.call)),
            (ContactField::Sent, self.sent),
            (ContactField::Received, self.received),
            (ContactField::Name, self.name),
            (ContactField::Qth, self.qth),
            (ContactField::TheirLocator, self.their_locator),
            (ContactField::Sig, self.sig),
            (ContactField::SigInfo, self.sig_info),
            (ContactField::MySig, self.my_sig),
            (ContactField::MySigInfo, self.my_sig_info),
            (ContactField::Mhz, self.mhz),
            (ContactField::Mode, self.mode),
            (ContactField::On, self.on),
            (ContactField::Off, self.off),
            (ContactField::ReceiveMhz, self.receive_mhz),
            (ContactField::Comment, self.comment),
        ];
        let said = said
            .into_iter()
            .filter_map(|(word, text)| Some((word, text?)));
        let said: Edits = said.collect();
        let doubts = confirm(home, self.number, &said)?;
        let logbook = home.logbook()?;
        let entry = logbook.entry(self.number)?;
        let shown = std::slice::from_ref(&entry);
        let twins = duplicates::duplicates_by_number(
            &logbook,
            shown,
            home.station()?.duplicate_window(None),
        )?;
        print::text(&entries::table(shown, &twins))?;
        print::line("")?;
        if let Some(known) = known(&logbook, &entry)? {
            print::line(&known)?;
        }
        let beside = beside(&entry, &said);
        if !beside.is_empty() {
            print::line(&format!("also in the log: {}", beside.join(", ")))?;
        }
        let unsaid = unsaid(&entry, &said);
        if !unsaid.is_empty() {
            print::line(&format!(
                "heard, but not said by you and so not in the log: {}",
                unsaid.join(" ")
            ))?;
        }
        for doubt in &doubts {
            print::line(&format!("doubt: {doubt}"))?;
        }
        for twins in twins.values() {
            duplicates::print_duplicates(twins, twins.len(), 0)?;
        }
        print::line(&format!(
            "Confirmed. If that was wrong, confirm the entry again with what is right, or take it \
             back with `{} undo`.",
            home.command()
        ))?;
        Ok(CommandOutcome::doubtful(
            !doubts.is_empty() || !twins.is_empty(),
        ))
    }
}

/// What was said and has no column in the table.
fn beside(entry: &Entry, said: &Edits) -> Vec<String> {
    let shown = [
        ContactField::Call,
        ContactField::Sent,
        ContactField::Received,
        ContactField::On,
        ContactField::Mhz,
        ContactField::Mode,
    ];
    let Some(contact) = &entry.contact else {
        return Vec::new();
    };
    let rest = said.keys().filter(|word| !shown.contains(word));
    rest.filter_map(|word| Some(format!("{} {}", word.label(), word.text(contact)?)))
        .collect()
}

/// What the draft heard of the contact and its person left out, as it would be typed.
fn unsaid(entry: &Entry, said: &Edits) -> Vec<String> {
    let (Some(contact), Some(draft)) = (&entry.contact, &entry.draft) else {
        return Vec::new();
    };
    let mut heard = Contact::default();
    draft.fill_heard(&mut heard);
    let left_out = |word: &ContactField| !said.contains_key(word) && word.text(contact).is_none();
    let words = ContactField::ALL.into_iter().filter(left_out);
    words
        .filter_map(|word| {
            let text = word.text(&heard)?;
            let option = word.key().replace('_', "-");
            let quote = if text.contains(' ') { "\"" } else { "" };
            Some(format!("--{option} {quote}{text}{quote}"))
        })
        .collect()
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

/// Makes an entry a contact with what a person said; gives the doubts about it. What
/// was not said stays, and an empty text takes a value out.
pub(crate) fn confirm(home: &HomeFolder, number: i64, said: &Edits) -> Result<Vec<Doubt>> {
    let own = home.station()?.own();
    let mut logbook = home
        .logbook_if_any()?
        .ok_or(LogbookError::NoEntry { number })?;
    let entry = logbook.entry(number)?;
    let before = entry.contact.as_ref();
    let (contact, mut doubts) =
        contact_of(&entry, &own, said).map_err(|wrong| UsageError(wrong.to_string()))?;
    if contact.station.is_none() {
        doubts.push(station::own_call_unknown(&home.station_file()).into());
    }
    logbook.confirm(number, &contact)?;
    if before.is_some_and(|before| before.call != contact.call) {
        print::line("(another call sign was confirmed before; the history keeps it)")?;
    }
    Ok(doubts)
}
