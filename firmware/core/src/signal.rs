//! The table of signals that the operator hears and sees.
//!
//! The eyes are on the road, so each signal has a rhythm of its own: the sequence of short
//! and long tones alone identifies it, at any speed.

/// A signal for the operator.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum OperatorSignal {
    /// Samples arrive and reach the card. Sounded once, when recording begins and whenever
    /// it resumes after a fault.
    Recording,
    /// The mark is on the card.
    MarkAcknowledged,
    /// The last mark was withdrawn.
    MarkWithdrawn,
    /// No samples arrive, or only silence.
    NoSound,
    /// No receiver has reported a time yet.
    NoTime,
    /// The card is nearly full, or cannot be written.
    CardNearlyFull,
    /// The card is full except for a reserve: received audio is no longer kept.
    TransmitOnly,
    /// The mark button's wire is broken or shorted.
    ButtonFault,
    /// The ignition is off and the trip is closed.
    Parked,
}

/// One tone (or light) and the pause after it, in milliseconds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SignalBeat {
    /// How long it is on.
    pub on_ms: u16,
    /// How long it is off afterwards.
    pub off_ms: u16,
}

/// A row of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SignalPattern {
    /// The signal.
    pub signal: OperatorSignal,
    /// What it means, for a person.
    pub meaning: &'static str,
    /// What the operator may do about it.
    pub advice: &'static str,
    /// The tones.
    pub sound: &'static [SignalBeat],
    /// Seconds from one sounding to the next while the state lasts; `None` for
    /// a signal that is given once.
    pub repeat_s: Option<u16>,
    /// The light, repeated while the state lasts; empty for a signal that only sounds.
    pub light: &'static [SignalBeat],
}

/// A short tone: 90 ms, and as long a pause.
const SHORT_TONE: SignalBeat = SignalBeat {
    on_ms: 90,
    off_ms: 110,
};
/// A long tone: 400 ms.
const LONG_TONE: SignalBeat = SignalBeat {
    on_ms: 400,
    off_ms: 150,
};

/// The table, most urgent first: of several states the first one gets the lamp, and sounds
/// first.
pub const PATTERNS: [SignalPattern; 9] = [
    SignalPattern {
        signal: OperatorSignal::MarkAcknowledged,
        meaning: "mark acknowledged: it is on the card",
        advice: "nothing to do",
        sound: &[SHORT_TONE],
        repeat_s: None,
        light: &[],
    },
    SignalPattern {
        signal: OperatorSignal::MarkWithdrawn,
        meaning: "mark withdrawn: the last mark no longer counts",
        advice: "nothing to do",
        sound: &[LONG_TONE, SHORT_TONE],
        repeat_s: None,
        light: &[],
    },
    SignalPattern {
        signal: OperatorSignal::NoSound,
        meaning: "no sound coming in",
        advice: "check the audio cable, the sound adapter and the radio's volume",
        sound: &[SHORT_TONE, SHORT_TONE, SHORT_TONE],
        repeat_s: Some(20),
        light: &[SignalBeat {
            on_ms: 100,
            off_ms: 100,
        }],
    },
    SignalPattern {
        signal: OperatorSignal::TransmitOnly,
        meaning: "card full: only the journal and what you transmit are kept",
        advice: "pull the trips at home, or change the card, before the next drive",
        sound: &[LONG_TONE, LONG_TONE, SHORT_TONE, SHORT_TONE],
        repeat_s: Some(60),
        light: &[SignalBeat {
            on_ms: 500,
            off_ms: 150,
        }],
    },
    SignalPattern {
        signal: OperatorSignal::CardNearlyFull,
        meaning: "card nearly full, or it cannot be written",
        advice: "pull the trips at home, or change the card",
        sound: &[LONG_TONE, SHORT_TONE, LONG_TONE, SHORT_TONE],
        repeat_s: Some(60),
        light: &[SignalBeat {
            on_ms: 500,
            off_ms: 500,
        }],
    },
    SignalPattern {
        signal: OperatorSignal::ButtonFault,
        meaning: "mark button: its wire is broken or shorted",
        advice: "check the button's cable; recording goes on without marks",
        sound: &[SHORT_TONE, SHORT_TONE, LONG_TONE],
        repeat_s: Some(120),
        light: &[
            SHORT_TONE,
            SignalBeat {
                on_ms: 90,
                off_ms: 700,
            },
        ],
    },
    SignalPattern {
        signal: OperatorSignal::NoTime,
        meaning: "no time yet: the receiver has no fix",
        advice: "give the receiver a view of the sky; recording goes on",
        sound: &[LONG_TONE, LONG_TONE],
        repeat_s: Some(120),
        light: &[SignalBeat {
            on_ms: 1_800,
            off_ms: 200,
        }],
    },
    SignalPattern {
        signal: OperatorSignal::Parked,
        meaning: "parked: the trip is closed",
        advice: "pull the trips; the board powers down by itself",
        sound: &[LONG_TONE, LONG_TONE, LONG_TONE],
        repeat_s: None,
        light: &[SignalBeat {
            on_ms: 100,
            off_ms: 2_900,
        }],
    },
    SignalPattern {
        signal: OperatorSignal::Recording,
        meaning: "recording",
        advice: "nothing to do",
        sound: &[SHORT_TONE, LONG_TONE, SHORT_TONE],
        repeat_s: None,
        light: &[SignalBeat {
            on_ms: 1_000,
            off_ms: 0,
        }],
    },
];

impl OperatorSignal {
    /// The row of this signal.
    pub fn pattern(self) -> &'static SignalPattern {
        let [
            mark,
            withdrawn,
            no_sound,
            transmit_only,
            card,
            button,
            no_time,
            parked,
            recording,
        ] = &PATTERNS;
        match self {
            Self::MarkAcknowledged => mark,
            Self::MarkWithdrawn => withdrawn,
            Self::NoSound => no_sound,
            Self::TransmitOnly => transmit_only,
            Self::CardNearlyFull => card,
            Self::ButtonFault => button,
            Self::NoTime => no_time,
            Self::Parked => parked,
            Self::Recording => recording,
        }
    }

    /// Whether it answers a press of the button, and so sounds at once.
    pub const fn is_answer(self) -> bool {
        matches!(self, Self::MarkAcknowledged | Self::MarkWithdrawn)
    }
}

#[cfg(test)]
mod tests {
    extern crate std;

    use std::string::String;

    use super::*;

    /// The rhythm of a pattern: short or long tones, whatever their speed.
    fn rhythm(pattern: &SignalPattern) -> String {
        pattern
            .sound
            .iter()
            .map(|beat| if beat.on_ms < 200 { '.' } else { '-' })
            .collect()
    }

    #[test]
    fn every_signal_has_its_own_row() {
        for pattern in &PATTERNS {
            assert_eq!(pattern.signal.pattern(), pattern);
            assert!(!pattern.sound.is_empty() && !pattern.meaning.is_empty());
        }
    }

    #[test]
    fn no_two_signals_have_the_same_rhythm() {
        for (n, one) in PATTERNS.iter().enumerate() {
            for two in &PATTERNS[n + 1..] {
                assert_ne!(
                    rhythm(one),
                    rhythm(two),
                    "{:?} {:?}",
                    one.signal,
                    two.signal
                );
            }
        }
    }

    #[test]
    fn long_is_three_times_short_and_tones_are_apart() {
        let beats = PATTERNS.iter().flat_map(|pattern| pattern.sound);
        for beat in beats {
            assert!(beat.on_ms <= 120 || beat.on_ms >= 300, "{beat:?}");
            assert!(beat.off_ms >= 80, "{beat:?}");
        }
    }

    #[test]
    fn a_lasting_state_has_a_light_of_its_own() {
        let lights = PATTERNS.iter().filter(|pattern| !pattern.light.is_empty());
        for (n, one) in lights.clone().enumerate() {
            for two in lights.clone().skip(n + 1) {
                assert_ne!(one.light, two.light);
            }
        }
    }
}
