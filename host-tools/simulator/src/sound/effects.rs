//! What is heard beside voices and the band: repeaters, the own key, the car.

use std::f32::consts::TAU;

use super::car_noise::CarNoises;
use super::morse;
use super::splatter::SplatterBursts;
use super::units::{SCRIPT_SAMPLE_RATE, gain, sample_at};
use crate::plan::{DrivePlan, PlannedEffect};
use crate::scenario::DriveEffect;

/// The pitch of an identifier, in hertz.
const IDENTIFIER_HZ: f64 = 1_000.0;
/// The pitches of a repeater's timer, in hertz.
const TIMER_HZ: [f64; 2] = [850.0, 1_150.0];
/// A tone of a repeater beside the level of speech, as a factor.
const TONE: f32 = 0.4;
/// Hum under speech while the operator tunes an aerial, in dB; the mains of the tuner's own
/// converter and its second harmonic, in hertz.
const HUM_DB: f32 = -30.0;
const HUM_HZ: f64 = 120.0;

/// Effects while they go on.
pub(super) struct LiveEffects<'a> {
    planned: &'a [PlannedEffect],
    /// Which begins next.
    next: usize,
    live: Vec<LiveEffect>,
    noises: CarNoises,
    splatter: SplatterBursts,
}

struct LiveEffect {
    effect: DriveEffect,
    from: u64,
    to: u64,
    /// When the tone of an identifier stands, in seconds from its start.
    keying: Vec<(f64, f64)>,
}

/// Something on a channel of frequency modulation that is not a voice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum ChannelEvent {
    /// Noise through the open squelch.
    Noise,
    /// A carrier with a tone, as a factor of the level of speech.
    Carrier {
        /// The tone now.
        tone: f32,
        /// What comes after it.
        after: AfterCarrier,
    },
}

/// What comes after a carrier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum AfterCarrier {
    /// The same as after an over.
    Over,
    /// The same as after a courtesy tone.
    Courtesy,
    /// The squelch closes.
    Tail,
    /// Nothing.
    Nothing,
}

impl<'a> LiveEffects<'a> {
    pub(super) fn new(plan: &'a DrivePlan) -> Self {
        Self {
            planned: &plan.effects,
            next: 0,
            live: Vec::new(),
            noises: CarNoises::new(plan.scenario.seed),
            splatter: SplatterBursts::new(plan.scenario.seed),
        }
    }

    /// Takes up the effects that begin now, and leaves those that have ended.
    pub(super) fn turn(&mut self, now: u64) {
        self.live.retain(|live| live.to > now);
        while let Some(planned) = self.planned.get(self.next) {
            if sample_at(planned.span.from_s) > now {
                break;
            }
            self.live.push(LiveEffect {
                effect: planned.effect,
                from: sample_at(planned.span.from_s),
                to: sample_at(planned.span.to_s),
                keying: morse::keying(&planned.text),
            });
            self.next += 1;
        }
    }

    /// Whether the key is down.
    pub(super) fn keyed(&self) -> bool {
        let keyed = |live: &LiveEffect| matches!(live.effect, DriveEffect::Tuner(_));
        self.live.iter().any(keyed)
    }

    /// Whether the operator is heard in the receive channel.
    pub(super) fn leaks(&self) -> bool {
        self.live
            .iter()
            .any(|live| live.effect == DriveEffect::Leak)
    }

    /// Splatter, to be added to the noise of the band in its units.
    pub(super) fn splatter(&mut self) -> f32 {
        let splatters = |live: &LiveEffect| matches!(live.effect, DriveEffect::Splatter(_));
        if self.live.iter().any(splatters) {
            self.splatter.next()
        } else {
            0.0
        }
    }

    /// What a channel of frequency modulation carries now beside voices; `beep_hz` is the
    /// pitch of its courtesy tone.
    pub(super) fn channel(&self, now: u64, beep_hz: f32) -> Option<ChannelEvent> {
        self.live.iter().find_map(|live| live.channel(now, beep_hz))
    }

    /// What the operator's microphone hears beside voices and the road; speech has level 1.
    pub(super) fn microphone(&mut self, now: u64) -> f32 {
        let mut sum = 0.0;
        for live in &self.live {
            let since_s = live.since_s(now);
            match live.effect {
                DriveEffect::Noise(noise) => sum += self.noises.next(noise, since_s),
                DriveEffect::Tuner(_) => {
                    sum += gain(HUM_DB) * (sine(HUM_HZ, since_s) + sine(2.0 * HUM_HZ, since_s));
                }
                _ => {}
            }
        }
        sum
    }
}

impl LiveEffect {
    fn since_s(&self, now: u64) -> f64 {
        now.saturating_sub(self.from) as f64 / f64::from(SCRIPT_SAMPLE_RATE)
    }

    fn channel(&self, now: u64, beep_hz: f32) -> Option<ChannelEvent> {
        let since_s = self.since_s(now);
        let (tone, after) = match self.effect {
            DriveEffect::SquelchTail => return Some(ChannelEvent::Noise),
            DriveEffect::Kerchunk => (0.0, AfterCarrier::Over),
            DriveEffect::CourtesyTone => {
                (sine(f64::from(beep_hz), since_s), AfterCarrier::Courtesy)
            }
            DriveEffect::TimeOut => {
                let tones = TIMER_HZ.map(|hz| sine(hz, since_s));
                ((tones[0] + tones[1]) / 2.0, AfterCarrier::Nothing)
            }
            DriveEffect::MorseIdentifier => {
                let down = self
                    .keying
                    .iter()
                    .any(|(from, to)| (*from..*to).contains(&since_s));
                let tone = if down {
                    sine(IDENTIFIER_HZ, since_s)
                } else {
                    0.0
                };
                (tone, AfterCarrier::Tail)
            }
            DriveEffect::Tuner(_)
            | DriveEffect::Splatter(_)
            | DriveEffect::Noise(_)
            | DriveEffect::Quiet
            | DriveEffect::Leak => return None,
        };
        Some(ChannelEvent::Carrier {
            tone: TONE * tone,
            after,
        })
    }
}

fn sine(hz: f64, seconds: f64) -> f32 {
    (TAU * (hz * seconds).fract() as f32).sin()
}
