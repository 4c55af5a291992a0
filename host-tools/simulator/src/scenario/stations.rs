//! Invented stations: every suffix begins with Q and is a Q code, which is not
//! issued to amateurs (from memory), so no sign here is a real person's.

use crate::scenario::episode::{OtherStation, ScriptedContact};
use crate::scenario::voice::{SpeakerVoice, VoiceFamily};

/// Who may be met on the way: call sign, name, voice, report sent, report received.
const STATIONS: [(&str, &str, &str, &str, &str); 8] = [
    ("KB0QSE", "Ruth", "en-us+f3", "59", "57"),
    ("N0QRD", "Walt", "en-us+m7", "58", "59"),
    ("K5QSO", "Dora", "en-us+f2", "57", "55"),
    ("WB6QTH", "Carl", "en-gb+m5", "59", "59"),
    ("VE6QRP", "Anna", "en-gb+f4", "55", "56"),
    ("KD9QRX", "Otto", "en-us+m6", "56", "53"),
    ("W1QSY", "Nell", "en-gb-x-rp+f1", "59", "58"),
    ("AA3QRZ", "Hugh", "en-gb-scotland+m4", "57", "57"),
];

/// Somebody who is met on the way.
pub(super) struct FixedStation {
    pub(super) call: String,
    pub(super) name: String,
    pub(super) sent: String,
    pub(super) received: String,
    voice: SpeakerVoice,
}

impl FixedStation {
    /// On the air as strong as the path has it.
    pub(super) fn speaking(&self) -> OtherStation {
        OtherStation {
            voice: self.voice.clone(),
            level_db: 0.0,
            off_hz: 0.0,
        }
    }

    /// What the log should hold of these overs.
    pub(super) fn contact(self, overs: (usize, usize)) -> ScriptedContact {
        ScriptedContact {
            call: self.call,
            sent: Some(self.sent),
            received: Some(self.received),
            name: Some(self.name),
            number: None,
            exchanged: Vec::new(),
            overs,
        }
    }
}

/// The station with this number; they come round again after the last.
pub(super) fn station(number: usize) -> FixedStation {
    let (call, name, voice, sent, received) = STATIONS[number % STATIONS.len()];
    FixedStation {
        call: call.into(),
        sent: sent.into(),
        received: received.into(),
        name: name.into(),
        voice: SpeakerVoice {
            family: VoiceFamily::Espeak,
            name: voice.into(),
            speed: 160 + 5 * (number as u32 % 4),
            pitch: 45 + 3 * (number as u32 % 5),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sign_has_a_suffix_that_is_a_q_code() {
        for (call, ..) in STATIONS {
            let figure = call.rfind(|symbol: char| symbol.is_ascii_digit()).unwrap();
            let suffix = &call[figure + 1..];
            assert!(("QRA"..="QUZ").contains(&suffix), "{call}");
        }
    }
}
