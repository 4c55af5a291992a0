//! What all drives have in common: start, station, road, levels of a quiet car, receiver.

use chrono::{DateTime, Utc};

use crate::scenario::car_route::{CarRoute, TruePosition};
use crate::scenario::drive_scenario::{DriveScenario, OperatorStation, SoundLevels};
use crate::scenario::episode::DriveEpisode;
use crate::scenario::operator::OWN_CALL;
use crate::scenario::receiver::{DriveSpan, ReceiverBehaviour};
use crate::scenario::voice::{SpeakerVoice, VoiceFamily};

/// UTC at the start: 2026-05-14 15:02:11.400, a Thursday morning in the mountains.
const START_UNIX_MS: i64 = 1_778_770_931_400;

/// A drive of these episodes with the levels of a quiet car.
pub(super) fn drive_of(
    seed: u64,
    episodes: Vec<DriveEpisode>,
    receiver: ReceiverBehaviour,
) -> DriveScenario {
    DriveScenario {
        seed,
        start: DateTime::<Utc>::from_timestamp_millis(START_UNIX_MS).unwrap_or_default(),
        station: OperatorStation {
            call: OWN_CALL.into(),
            operator: OWN_CALL.into(),
        },
        voice: SpeakerVoice {
            family: VoiceFamily::Espeak,
            name: "en-us+m3".into(),
            speed: 165,
            pitch: 42,
        },
        episodes,
        tail_s: 30.0,
        least_length_s: 0.0,
        road: road(),
        receiver,
        sound: SoundLevels {
            speech_dbfs: -22.0,
            band_noise_dbfs: -50.0,
            road_noise_dbfs: -54.0,
            floor_dbfs: -88.0,
            key_lead_s: 0.3,
        },
        bounces: 2,
        marker: None,
        neighbour: None,
    }
}

/// A drive of these episodes in a quiet car whose receiver has a fix after so many seconds.
pub(crate) fn quiet_drive(
    seed: u64,
    episodes: Vec<DriveEpisode>,
    fix_after_s: f64,
) -> DriveScenario {
    drive_of(seed, episodes, receiver_after(fix_after_s, None))
}

/// An invented line through high desert, near no surveyed road.
fn road() -> CarRoute {
    let points = [
        (41.5440, -109.7100),
        (41.5385, -109.6450),
        (41.5300, -109.5900),
        (41.5335, -109.5350),
        (41.5420, -109.4720),
        (41.5655, -109.3600),
        (41.5900, -109.2300),
        (41.6400, -109.0500),
        (41.6550, -108.6000),
        (41.7800, -107.3000),
        (41.7000, -106.2000),
        (41.3000, -105.6000),
        (41.1300, -104.8000),
        (41.1500, -103.6000),
        (41.1000, -102.0000),
        (40.7000, -99.0000),
        (40.9000, -96.7000),
    ];
    CarRoute {
        points: points.map(|(lat, lon)| TruePosition { lat, lon }).to_vec(),
        // So that a subsquare ends between the two contacts.
        start_m: 4_800.0,
        speed_mps: 31.0,
        height_m: 1_890.0,
    }
}

/// A receiver after a cold start.
pub(super) fn receiver_after(fix_after_s: f64, tunnel: Option<DriveSpan>) -> ReceiverBehaviour {
    ReceiverBehaviour {
        date_after_s: fix_after_s / 3.0,
        fix_after_s,
        // A receiver's own clock after a night in the cold.
        early_clock_error_s: 3.0,
        latency_s: (0.08, 0.34),
        tunnel,
    }
}
