//! Keeps order on the card beside the recording, for hashing takes long: what is safe
//! at home makes room, and what is no receipt goes out of the receipts.

use std::path::PathBuf;
use std::sync::mpsc::{Sender, channel};
use std::thread;

use jumpseat_core::journal::RecorderFault;

use crate::card_space::{free_space, remove_stray_receipts};
use crate::device_message::DeviceMessage;
use crate::error::RecorderError;
use crate::monotonic;
use crate::storage::{DiskStorage, SyncDurability};

/// Trips that are safe at home are looked for this often.
const ROOM_EVERY_NS: u64 = 60_000_000_000;
/// The receipts are looked through this often, so that no more of them pile up than the
/// network brings in that time.
const TIDY_EVERY_NS: u64 = 10_000_000_000;

/// The main loop's hold on the two threads. Each has its own, because receipts pile up
/// while trips are hashed.
pub(super) struct CardUpkeep {
    room: Sender<String>,
    tidy: Sender<String>,
    next_room_ns: u64,
    next_tidy_ns: u64,
}

impl CardUpkeep {
    /// Starts the threads.
    pub(super) fn start(
        card: PathBuf,
        floor: u64,
        arrivals: Sender<DeviceMessage>,
    ) -> Result<Self, RecorderError> {
        let tidied = card.clone();
        let tidy =
            move |disk: &mut DiskStorage, _: &str| of_tidied(remove_stray_receipts(disk, &tidied));
        let room = move |disk: &mut DiskStorage, current: &str| {
            of_room(free_space(disk, &card, floor, current))
        };
        Ok(Self {
            tidy: worker("receipts", tidy, arrivals.clone())?,
            room: worker("room", room, arrivals)?,
            next_room_ns: 0,
            next_tidy_ns: 0,
        })
    }

    /// Looks at the card now and then; the trip of this name stays.
    pub(super) fn look(&mut self, current: &str, now_ns: u64) {
        let every = [
            (&mut self.next_tidy_ns, &self.tidy, TIDY_EVERY_NS),
            (&mut self.next_room_ns, &self.room, ROOM_EVERY_NS),
        ];
        for (next_ns, orders, every_ns) in every {
            if now_ns >= *next_ns {
                *next_ns = now_ns + every_ns;
                // The thread is gone only when the process ends.
                let _ending = orders.send(current.to_owned());
            }
        }
    }
}

/// A thread that does this whenever it is sent the name of the trip under way, and
/// tells what came of it.
fn worker(
    name: &str,
    work: impl Fn(&mut DiskStorage, &str) -> Option<String> + Send + 'static,
    arrivals: Sender<DeviceMessage>,
) -> Result<Sender<String>, RecorderError> {
    let (orders, inbox) = channel::<String>();
    let run = move || {
        let mut disk = DiskStorage::new(SyncDurability::Synced);
        let mut before = None;
        for current in inbox {
            let told = work(&mut disk, &current);
            // A trouble that lasts is told once.
            if told == before {
                continue;
            }
            before.clone_from(&told);
            let Some(detail) = told else {
                continue;
            };
            let arrival = DeviceMessage::Notice {
                fault: RecorderFault::CardFull,
                detail,
                at_ns: monotonic::now_ns(),
            };
            // Nobody listens any more only when the process ends.
            let _ending = arrivals.send(arrival);
        }
    };
    thread::Builder::new()
        .name(name.to_owned())
        .spawn(run)
        .map_err(|error| RecorderError::Device(format!("no thread for the card: {error}")))?;
    Ok(orders)
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
