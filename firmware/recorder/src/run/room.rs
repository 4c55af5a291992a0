//! Keeps order on the card beside the recording, for hashing takes long: what is safe
//! at home makes room, and what is no receipt goes out of the receipts.

use std::path::PathBuf;
use std::sync::mpsc::{Sender, channel};
use std::thread;

use jumpseat_core::journal::Fault;

use crate::arrival::Arrival;
use crate::error::RecorderError;
use crate::mono;
use crate::room::{make_room, tidy_receipts};
use crate::storage::{Disk, Durability};

/// The card is looked at this often.
const EVERY_NS: u64 = 60_000_000_000;

/// The main loop's hold on the thread.
pub(super) struct Room {
    orders: Sender<String>,
    next_ns: u64,
}

impl Room {
    /// Starts the thread.
    pub(super) fn start(
        card: PathBuf,
        floor: u64,
        arrivals: Sender<Arrival>,
    ) -> Result<Self, RecorderError> {
        let (orders, inbox) = channel::<String>();
        let run = move || {
            let mut disk = Disk::new(Durability::Synced);
            let mut before = String::new();
            for current in inbox {
                // First what is quick, and may make room enough.
                let tidied = tidy_receipts(&mut disk, &card);
                let made = make_room(&mut disk, &card, floor, &current);
                let told = [of_tidied(tidied), of_room(made)];
                let told: Vec<String> = told.into_iter().flatten().collect();
                let detail = told.join("; ");
                // A trouble that lasts is told once.
                if detail == before || detail.is_empty() {
                    before = detail;
                    continue;
                }
                before.clone_from(&detail);
                let arrival = Arrival::Told {
                    fault: Fault::CardFull,
                    detail,
                    at_ns: mono::now_ns(),
                };
                // Nobody listens any more only when the process ends.
                let _ending = arrivals.send(arrival);
            }
        };
        thread::Builder::new()
            .name("room".to_owned())
            .spawn(run)
            .map_err(|error| RecorderError::Device(format!("no thread for the card: {error}")))?;
        Ok(Self { orders, next_ns: 0 })
    }

    /// Looks at the card now and then; the trip of this name stays.
    pub(super) fn look(&mut self, current: &str, now_ns: u64) {
        if now_ns >= self.next_ns {
            self.next_ns = now_ns + EVERY_NS;
            // The thread is gone only when the process ends.
            let _ending = self.orders.send(current.to_owned());
        }
    }
}

fn of_tidied(tidied: Result<usize, RecorderError>) -> Option<String> {
    match tidied {
        Ok(0) => None,
        Ok(gone) => Some(format!(
            "{gone} of the receipts belonged to no trip on the card and went"
        )),
        Err(error) => Some(format!("the receipts cannot be tidied: {error}")),
    }
}

fn of_room(made: Result<Vec<String>, RecorderError>) -> Option<String> {
    match made {
        Ok(gone) if gone.is_empty() => None,
        Ok(gone) => Some(format!(
            "made room: {} is safe at home and went",
            gone.join(", ")
        )),
        Err(error) => Some(format!("no room can be made: {error}")),
    }
}
