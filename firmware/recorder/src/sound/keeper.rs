//! Keeps the sound device open: tries again, ever more slowly, when it is
//! missing or lost.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use jumpseat_core::journal::Fault;

use super::{InletKit, SoundDevice};
use crate::arrival::{Arrival, Reporter};
use crate::backoff::Backoff;
use crate::error::RecorderError;

enum Order {
    Lost(String),
    Reopen,
    Stop,
}

/// The main loop's hold on the thread.
pub struct Keeper {
    orders: Sender<Order>,
    stopped: Receiver<()>,
}

impl Keeper {
    /// Starts the thread.
    ///
    /// # Errors
    /// [`RecorderError::Device`] when the system gives no thread.
    pub fn start(
        device: Box<dyn SoundDevice>,
        kit: InletKit,
        arrivals: Sender<Arrival>,
    ) -> Result<Self, RecorderError> {
        let (orders, inbox) = channel();
        let (done, stopped) = channel();
        let lost = orders.clone();
        thread::Builder::new()
            .name("sound".to_owned())
            .spawn(move || {
                keep(
                    device,
                    kit,
                    &lost,
                    &inbox,
                    Reporter::new(Fault::Sound, arrivals),
                );
                // Whoever stopped waiting does not mind.
                let _unheard = done.send(());
            })
            .map_err(|error| RecorderError::Device(format!("no thread for the sound: {error}")))?;
        Ok(Self { orders, stopped })
    }

    /// No samples come although the device is open: close it and open it again.
    pub fn reopen(&self) {
        // A thread that is gone cannot be asked; the process is ending then.
        let _gone = self.orders.send(Order::Reopen);
    }

    /// Closes the device. A device that hangs is left to the end of the process.
    pub fn stop(self) {
        let _gone = self.orders.send(Order::Stop);
        let _hangs = self.stopped.recv_timeout(Duration::from_secs(1));
    }
}

fn keep(
    mut device: Box<dyn SoundDevice>,
    mut kit: InletKit,
    lost: &Sender<Order>,
    inbox: &Receiver<Order>,
    mut reporter: Reporter,
) {
    let mut backoff = Backoff::new();
    loop {
        let lost = lost.clone();
        let tell = Box::new(move |why| {
            // Nobody listens any more only when the process ends.
            let _ending = lost.send(Order::Lost(why));
        });
        let opened = device.open(&mut kit, tell);
        let order = match opened {
            Ok(open) => {
                backoff.reset();
                reporter.fine(&open.description);
                let order = inbox.recv();
                drop(open.stream);
                order.map_err(|_| RecvTimeoutError::Disconnected)
            }
            Err(error) => {
                reporter.failed(&error.to_string());
                inbox.recv_timeout(backoff.wait())
            }
        };
        match order {
            Ok(Order::Stop) | Err(RecvTimeoutError::Disconnected) => return,
            Ok(Order::Lost(why)) => {
                reporter.failed(&why);
                thread::sleep(backoff.wait());
            }
            Ok(Order::Reopen) => reporter.failed("opened again, because no samples came"),
            Err(RecvTimeoutError::Timeout) => {}
        }
    }
}
