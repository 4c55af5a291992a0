//! Remarks on a call sign while it is typed.

use hyper::StatusCode;
use jumpseat_entries::{Contact, ContactField, Entry};
use jumpseat_logbook::{DuplicateReason, Logbook};
use jumpseat_place::callsign::{self, PrefixAllocation};

use crate::http::{ReviewReply, ReviewRequest};
use crate::site::{PageError, ReviewSite};
use crate::view::CallSignRemark;

pub(super) fn check(site: &ReviewSite, request: &ReviewRequest) -> Result<ReviewReply, PageError> {
    let number = request.query("entry").and_then(|text| text.parse().ok());
    let number: i64 =
        number.ok_or_else(|| PageError::Wrong("That is not an entry number.".into()))?;
    let logbook = site.logbook()?;
    let entry = logbook.entry(number)?;
    let call = request.query("call").unwrap_or_default();
    let words = remarks_on(site, &logbook, &entry, Some(call))?;
    Ok(ReviewReply::json(StatusCode::OK, &words))
}

/// Remarks on the call sign that is typed, or else on that of the entry.
pub(super) fn remarks_on(
    site: &ReviewSite,
    logbook: &Logbook,
    entry: &Entry,
    typed: Option<&str>,
) -> Result<Vec<CallSignRemark>, PageError> {
    let edited = entry.review.edits.get(&ContactField::Call).cloned();
    let call = typed.map(str::to_owned);
    let call = call.or(edited).or_else(|| entry.call());
    let Some(call) = call
        .as_deref()
        .map(str::trim)
        .filter(|call| !call.is_empty())
    else {
        return Ok(Vec::new());
    };
    let parsed = match callsign::parse(call) {
        Ok(parsed) => parsed,
        Err(error) => return Ok(vec![CallSignRemark::new("wrong", error.to_string())]),
    };
    let mut remarks = Vec::new();
    let allocation = parsed.value.map(|sign| sign.place_allocation());
    match allocation.unwrap_or(PrefixAllocation::None) {
        PrefixAllocation::One(name) => remarks.push(CallSignRemark::new("good", name)),
        PrefixAllocation::Several(names) => {
            remarks.push(CallSignRemark::new("good", names.join(" or ")));
        }
        PrefixAllocation::None => {}
    }
    let doubts = parsed.doubts.iter();
    remarks.extend(doubts.map(|doubt| CallSignRemark::new("doubt", doubt.to_string())));
    if let Some(worked) = logbook.worked_before(call)? {
        let own = entry.contact.as_ref().map(|contact| contact.call.as_str());
        let itself = own.is_some_and(|own| {
            jumpseat_entries::home_call(own) == jumpseat_entries::home_call(call)
        });
        let times = worked.contacts - u64::from(itself).min(worked.contacts);
        if times > 0 {
            let name = worked.name.map(|name| format!(", {name}"));
            let last = worked.last.as_deref().and_then(|last| last.get(..10));
            let last = last.map(|last| format!(", last on {last}"));
            let times = if times == 1 {
                "worked once before".to_owned()
            } else {
                format!("worked {times} times before")
            };
            let text = format!(
                "{times}{}{}",
                last.unwrap_or_default(),
                name.unwrap_or_default()
            );
            remarks.push(CallSignRemark::new("known", text));
        }
    }
    let mut asked = entry.clone();
    match &mut asked.contact {
        Some(contact) => contact.call = call.to_owned(),
        none => {
            let start =
                jumpseat_entries::starting_contact(entry, &site.backend.own()?, &mut Vec::new());
            *none = Some(Contact {
                call: call.to_owned(),
                ..start
            });
        }
    }
    for pair in logbook.duplicates_of(&asked, site.backend.duplicate_window()?)? {
        let why = match pair.why {
            DuplicateReason::Station => "may be the same contact as",
            DuplicateReason::Time => "at the same time as",
        };
        let text = format!("{why} entry {}", pair.second);
        remarks.push(CallSignRemark::new("doubt", text));
    }
    Ok(remarks)
}
