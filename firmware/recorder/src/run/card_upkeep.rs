//! Cleans up the card beside the recording, on threads of its own because hashing takes
//! long: removes trips that are safe at home when space is short, and stray receipts.

use std::path::PathBuf;
use std::sync::mpsc::{Sender, channel};

use jumpseat_core::journal::RecorderFault;

use crate::card_space::{free_space, remove_stray_receipts};
use crate::device_message::DeviceMessage;
use crate::error::RecorderError;
use crate::monotonic;
use crate::storage::{DiskStorage, SyncDurability};
use crate::threads;

/// Trips that can be removed are searched for this often.
const FREE_SPACE_EVERY_NS: u64 = 60_000_000_000;
/// The receipts are checked this often, so that no more of them pile up than the network
/// brings in that time.
const STRAY_RECEIPTS_EVERY_NS: u64 = 10_000_000_000;

/// The main loop's handle to the two threads. There are two, because receipts pile up while
/// trips are hashed.
pub(super) struct CardUpkeep {
    free_space_orders: Sender<String>,
    stray_receipt_orders: Sender<String>,
    next_free_space_ns: u64,
    next_stray_receipts_ns: u64,
}

impl CardUpkeep {
    /// Starts the threads.
    pub(super) fn start(
        card: PathBuf,
        floor: u64,
        arrivals: Sender<DeviceMessage>,
    ) -> Result<Self, RecorderError> {
        let receipts_card = card.clone();
        let remove_receipts = move |disk: &mut DiskStorage, _: &str| {
            stray_receipts_notice(remove_stray_receipts(disk, &receipts_card))
        };
        let remove_trips = move |disk: &mut DiskStorage, current: &str| {
            free_space_notice(free_space(disk, &card, floor, current))
        };
        Ok(Self {
            stray_receipt_orders: worker("receipts", remove_receipts, arrivals.clone())?,
            free_space_orders: worker("free space", remove_trips, arrivals)?,
            next_free_space_ns: 0,
            next_stray_receipts_ns: 0,
        })
    }

    /// Starts the clean-ups that are due; the trip of this name stays.
    pub(super) fn look(&mut self, current: &str, now_ns: u64) {
        let every = [
            (
                &mut self.next_stray_receipts_ns,
                &self.stray_receipt_orders,
                STRAY_RECEIPTS_EVERY_NS,
            ),
            (
                &mut self.next_free_space_ns,
                &self.free_space_orders,
                FREE_SPACE_EVERY_NS,
            ),
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

/// A thread that runs `work` whenever it is sent the name of the current trip, and reports
/// the result.
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
            let notice = work(&mut disk, &current);
            // An error that persists is reported once.
            if notice == before {
                continue;
            }
            before.clone_from(&notice);
            let Some(detail) = notice else {
                continue;
            };
            let arrival = DeviceMessage::Notice {
                fault: RecorderFault::CardFull,
                detail,
                at_ns: monotonic::now_ns(),
            };
            // The receiver is gone only when the process ends.
            let _ending = arrivals.send(arrival);
        }
    };
    threads::spawn(name, run)?;
    Ok(orders)
}

fn stray_receipts_notice(result: Result<usize, RecorderError>) -> Option<String> {
    match result {
        Ok(0) => None,
        Ok(removed) => Some(format!(
            "removed {removed} receipts that belong to no trip on the card"
        )),
        Err(error) => Some(format!("cannot clean up the receipts: {error}")),
    }
}

fn free_space_notice(result: Result<Vec<String>, RecorderError>) -> Option<String> {
    match result {
        Ok(removed) if removed.is_empty() => None,
        Ok(removed) => Some(format!(
            "freed space: {} is safe at home and was removed",
            removed.join(", ")
        )),
        Err(error) => Some(format!("cannot free space: {error}")),
    }
}
