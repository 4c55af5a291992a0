//! Makes room on the card beside the recording: hashing takes long.

use std::path::PathBuf;
use std::sync::mpsc::{Sender, channel};
use std::thread;

use jumpseat_core::journal::Fault;

use crate::arrival::Arrival;
use crate::error::RecorderError;
use crate::mono;
use crate::room::make_room;
use crate::storage::{Disk, Durability};

/// Asked this often while less is free than the floor.
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
            for current in inbox {
                let told = match make_room(&mut disk, &card, floor, &current) {
                    Ok(gone) if gone.is_empty() => continue,
                    Ok(gone) => format!("made room: {} is safe at home and went", gone.join(", ")),
                    Err(error) => format!("no room can be made: {error}"),
                };
                let arrival = Arrival::Told {
                    fault: Fault::CardFull,
                    detail: told,
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

    /// Room is wanted; the trip of this name stays.
    pub(super) fn wanted(&mut self, current: &str, now_ns: u64) {
        if now_ns >= self.next_ns {
            self.next_ns = now_ns + EVERY_NS;
            // The thread is gone only when the process ends.
            let _ending = self.orders.send(current.to_owned());
        }
    }
}
