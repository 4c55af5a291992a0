//! What is assumed of the clocks before anything is measured.

use chrono::{DateTime, Utc};
use jumpseat_core::journal::TimeSource;

/// Assumptions for [`Timeline`](crate::Timeline). The defaults suit a recorder
/// with a common GPS receiver.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeSettings {
    /// No trip is older. A receiver's date before this is taken to be back by a
    /// multiple of 1024 weeks. Default: 2025-01-01, before the first recorder.
    pub earliest: DateTime<Utc>,
    /// No trip is newer; pass the time now where there is a clock. Default: none.
    pub latest: Option<DateTime<Utc>>,
    /// How late a sentence on the serial port is, least and most, in seconds.
    /// Default: 0.05 to 0.6 (common practice: 9600 baud and a slow receiver).
    pub nmea_latency_s: (f64, f64),
    /// The same for the GPS daemon. Default: 0.05 to 0.7.
    pub gpsd_latency_s: (f64, f64),
    /// A synchronised system clock is right to within this many seconds, where the
    /// kernel's own bound is not known. Default: 0.005.
    pub system_error_s: f64,
    /// How late the handling of a pulse is at most, in seconds. Default: 0.001.
    pub pulse_latency_s: f64,
    /// The monotonic clock's rate is right to within this part. Default: 2·10⁻⁴;
    /// a crystal has less, a clock that is being disciplined may have more.
    pub rate_error: f64,
    /// The monotonic clock's rate changes within half an hour by at most this
    /// part. Default: 5·10⁻⁶ (a crystal warming up by some tens of degrees).
    pub wander: f64,
}

impl Default for TimeSettings {
    fn default() -> Self {
        Self {
            earliest: DateTime::from_timestamp(1_735_689_600, 0).unwrap_or(DateTime::UNIX_EPOCH),
            latest: None,
            nmea_latency_s: (0.05, 0.6),
            gpsd_latency_s: (0.05, 0.7),
            system_error_s: 0.005,
            pulse_latency_s: 0.001,
            rate_error: 2e-4,
            wander: 5e-6,
        }
    }
}

impl TimeSettings {
    /// The truth minus what the source says, least and most, in seconds.
    /// `within_ms` is what the source itself says of its error.
    pub(crate) fn latency(&self, source: TimeSource, within_ms: Option<f32>) -> (f64, f64) {
        let within_s = within_ms
            .map(|within| f64::from(within) / 1e3)
            .filter(|within| within.is_finite() && *within > 0.0)
            .unwrap_or(self.system_error_s);
        match source {
            TimeSource::Nmea => self.nmea_latency_s,
            TimeSource::Gpsd => self.gpsd_latency_s,
            TimeSource::System => (-within_s, within_s),
            TimeSource::Pulse => (0.0, self.pulse_latency_s),
        }
    }
}
