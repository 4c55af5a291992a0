//! The rim for the key line and the mark button: threads that tell every
//! change of level with its time.

mod feed;
mod pins;

pub use feed::{FeedLine, parse_feed_line};
pub use pins::{Output, open_output};

use std::sync::mpsc::Sender;

use jumpseat_core::journal::Fault;

use crate::arrival::{Arrival, Reporter};
use crate::config::LinesConfig;
use crate::engine::Line;
use crate::error::RecorderError;

/// Starts the threads that this config needs.
///
/// # Errors
/// [`RecorderError::Device`] when the system gives no thread.
pub fn start(config: &LinesConfig, arrivals: &Sender<Arrival>) -> Result<(), RecorderError> {
    let with_pins: Vec<Line> = [
        (Line::Ptt, config.ptt.as_ref()),
        (Line::Mark, config.mark.as_ref()),
    ]
    .into_iter()
    .filter_map(|(line, pin)| pin.map(|_| line))
    .collect();
    for (line, pin) in [(Line::Ptt, &config.ptt), (Line::Mark, &config.mark)] {
        if let Some(pin) = pin {
            let reporter = Reporter::new(Fault::Line, arrivals.clone());
            pins::start(line, pin.clone(), reporter)?;
        }
    }
    if let Some(feed) = &config.feed {
        let reporter = Reporter::new(Fault::Line, arrivals.clone());
        feed::start(feed.clone(), with_pins, reporter)?;
    }
    Ok(())
}
