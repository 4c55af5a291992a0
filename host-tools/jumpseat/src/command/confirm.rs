//! `jumpseat confirm`.

use anyhow::Result;
use clap::{Arg, ArgMatches, Args, Command, FromArgMatches};
use jumpseat_entries::fields::{EditOption, FIELDS, FieldDefinition};
use jumpseat_entries::{Contact, ContactField, Edits, Entry, edited_contact};
use jumpseat_logbook::{Logbook, LogbookError};
use jumpseat_values::Doubt;
use jumpseat_values::display::count;

use super::arguments::whole_number;
use super::entries;
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
    #[command(flatten)]
    options: EditOptions,
}

/// What a person says of the contact: an option for each field of the table that has one.
#[derive(Debug)]
struct EditOptions {
    edits: Edits,
}

impl EditOptions {
    fn definitions() -> impl Iterator<Item = (&'static FieldDefinition, EditOption)> {
        FIELDS
            .iter()
            .filter_map(|definition| Some((definition, definition.edit?.option?)))
    }
}

impl Args for EditOptions {
    fn augment_args(command: Command) -> Command {
        command.args(Self::definitions().map(|(definition, option)| {
            Arg::new(definition.key)
                .long(option.name)
                .value_name(option.value_name)
                .help(option.help)
                .required(option.required)
        }))
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl FromArgMatches for EditOptions {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let given = Self::definitions().filter_map(|(definition, _)| {
            let text: &String = matches.get_one(definition.key)?;
            Some((definition.field, text.clone()))
        });
        Ok(Self {
            edits: given.collect(),
        })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

impl ConfirmCommand {
    pub(super) fn run(self, home: &HomeFolder) -> Result<CommandOutcome> {
        let edits = self.options.edits;
        let doubts = confirm(home, self.number, &edits)?;
        let logbook = home.logbook()?;
        let entry = logbook.entry(self.number)?;
        let shown = std::slice::from_ref(&entry);
        let pairs = duplicates::duplicates_by_number(
            &logbook,
            shown,
            home.station()?.duplicate_window(None),
        )?;
        print::text(&entries::table(shown, &pairs))?;
        print::line("")?;
        if let Some(known) = known(&logbook, &entry)? {
            print::line(&known)?;
        }
        let beside = beside(&entry, &edits);
        if !beside.is_empty() {
            print::line(&format!("also in the log: {}", beside.join(", ")))?;
        }
        let unsaid = heard_and_left_out(&entry, &edits);
        if !unsaid.is_empty() {
            print::line(&format!(
                "heard but not confirmed, so left out of the log: {}",
                unsaid.join(" ")
            ))?;
        }
        for doubt in &doubts {
            print::line(&format!("doubt: {doubt}"))?;
        }
        for pairs in pairs.values() {
            duplicates::print_duplicates(pairs, pairs.len(), 0)?;
        }
        print::line(&format!(
            "Confirmed. To correct it, confirm the entry again with the correct values; to take it \
             back, use `{} undo`.",
            home.command()
        ))?;
        Ok(CommandOutcome::doubtful(
            !doubts.is_empty() || !pairs.is_empty(),
        ))
    }
}

/// Edits whose column is missing, or may be left out on a narrow terminal.
fn beside(entry: &Entry, edits: &Edits) -> Vec<String> {
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
    let rest = edits.keys().filter(|word| !shown.contains(word));
    rest.filter_map(|word| Some(format!("{} {}", word.label(), word.text(contact)?)))
        .collect()
}

/// What the draft heard of the contact and the person left out, as options to type.
fn heard_and_left_out(entry: &Entry, edits: &Edits) -> Vec<String> {
    let (Some(contact), Some(draft)) = (&entry.contact, &entry.draft) else {
        return Vec::new();
    };
    let mut heard = Contact::default();
    draft.fill_heard(&mut heard);
    let left_out =
        |field: &ContactField| !edits.contains_key(field) && field.text(contact).is_none();
    ContactField::editable()
        .filter(left_out)
        .filter_map(|field| {
            let text = field.text(&heard)?;
            let option = field.definition().edit?.option?.name;
            let quote = if text.contains(' ') { "\"" } else { "" };
            Some(format!("--{option} {quote}{text}{quote}"))
        })
        .collect()
}

/// What the log knows about the station from other contacts.
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
        let last = last.map(|last| format!(", most recently on {last}"));
        let name = worked.name.map(|name| format!(", {name}"));
        format!(
            "worked before: {times}{}{}",
            last.unwrap_or_default(),
            name.unwrap_or_default()
        )
    }))
}

/// Makes an entry a contact with what a person entered; returns the doubts about it. Values
/// that were not entered are unchanged, and an empty text removes a value.
pub(crate) fn confirm(home: &HomeFolder, number: i64, edits: &Edits) -> Result<Vec<Doubt>> {
    let own = home.station()?.own();
    let mut logbook = home
        .logbook_if_any()?
        .ok_or(LogbookError::NoEntry { number })?;
    let entry = logbook.entry(number)?;
    let before = entry.contact.as_ref();
    let (contact, mut doubts) =
        edited_contact(&entry, &own, edits).map_err(|wrong| UsageError(wrong.to_string()))?;
    if contact.station.is_none() {
        doubts.push(station::own_call_unknown(&home.station_file()).into());
    }
    logbook.confirm(number, &contact)?;
    if before.is_some_and(|before| before.call != contact.call) {
        print::line("(previously confirmed with another call sign; the history keeps it)")?;
    }
    Ok(doubts)
}
