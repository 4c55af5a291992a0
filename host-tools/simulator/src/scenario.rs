//! What happens on a drive, as values: who talks to whom, how it arrives, where the car is.

mod car_route;
mod channels;
mod conversation;
mod drive_scenario;
mod episode;
mod first_drive;
mod operator;
mod people;
mod quiet_car;
mod radio_path;
mod receiver;
mod stations;
mod talk;
mod voice;
mod whole_drive;
mod wish;

pub(crate) use car_route::distance_m;
pub use car_route::{CarRoute, TruePosition};
pub use channels::{written_modulated, written_short_wave};
pub use drive_scenario::{DriveScenario, OperatorStation, SoundLevels, ToneMarker};
pub use episode::{
    CarNoise, DriveEffect, DriveEpisode, OtherStation, OverDelivery, ScriptedContact, ScriptedDial,
    ScriptedOver, WrittenOrigin,
};
pub use first_drive::{demo, live, short};
pub(crate) use quiet_car::quiet_drive;
pub use radio_path::{MobileFmChannel, RadioPath, ShortWaveChannel};
pub use receiver::{DriveSpan, ReceiverBehaviour};
pub use talk::SPELLING;
pub use voice::{SpeakerVoice, VoiceFamily};
pub use whole_drive::drive;
pub(crate) use whole_drive::marks_of;
pub use wish::{DriveDifficulty, DriveWish};
