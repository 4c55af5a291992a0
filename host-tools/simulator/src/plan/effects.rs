//! Effects at their times: what is heard or done beside what is said.

use crate::random::SeededRandom;
use crate::scenario::{DriveEffect, DriveEpisode, DriveSpan};
use crate::sound::morse;

use super::milliseconds::round_ms;

/// An effect at its time.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedEffect {
    /// What it is; never [`DriveEffect::Quiet`], which ends others.
    pub effect: DriveEffect,
    /// From when to when.
    pub span: DriveSpan,
    /// What an identifier says; empty for everything else.
    pub text: String,
}

/// From one effect to the next, and to the next over.
const BETWEEN_S: f64 = 0.3;
/// A courtesy tone comes this long after an over: when a repeater's own would come.
const COURTESY_AFTER_S: f64 = 0.25;

/// Effects of a drive that is being laid out.
#[derive(Debug)]
pub(super) struct EffectLayout {
    seed: u64,
    planned: Vec<PlannedEffect>,
}

impl EffectLayout {
    pub(super) fn new(seed: u64) -> Self {
        Self {
            seed,
            planned: Vec::new(),
        }
    }

    /// Lays out what happens before the over with this number of the episode with that
    /// `index`, from `now_s` on. The over may begin at the time that is given back; `None`
    /// where nothing takes time.
    pub(super) fn before(
        &mut self,
        (index, episode): (usize, &DriveEpisode),
        number: usize,
        now_s: f64,
    ) -> Option<f64> {
        let mut free_s = None;
        for &(_, effect) in episode.effects.iter().filter(|(at, _)| *at == number) {
            let at_s = free_s.unwrap_or(now_s);
            match effect {
                DriveEffect::Quiet => self.end_noises(at_s),
                DriveEffect::Noise(_) | DriveEffect::Leak => self.begin(effect, at_s),
                _ => {
                    let text = match effect {
                        DriveEffect::MorseIdentifier => self.identifier(index),
                        _ => String::new(),
                    };
                    let lead_s = match effect {
                        // What came before has left its own silence.
                        _ if free_s.is_some() => 0.0,
                        DriveEffect::SquelchTail => 0.0,
                        DriveEffect::CourtesyTone => COURTESY_AFTER_S,
                        _ => BETWEEN_S,
                    };
                    let from_s = round_ms(at_s + lead_s);
                    let to_s = round_ms(from_s + length_s(effect, &text));
                    let span = DriveSpan { from_s, to_s };
                    self.planned.push(PlannedEffect { effect, span, text });
                    free_s = Some(to_s + BETWEEN_S);
                }
            }
        }
        free_s
    }

    /// Ends what still goes on at the end of an episode: a conversation knows nothing of the
    /// noises of the one before.
    pub(super) fn end_episode(&mut self, at_s: f64) {
        self.end(at_s, |_| true);
    }

    /// Everything in order of time.
    pub(super) fn finish(mut self) -> Vec<PlannedEffect> {
        self.planned
            .sort_by(|a, b| a.span.from_s.total_cmp(&b.span.from_s));
        self.planned
    }

    fn begin(&mut self, effect: DriveEffect, at_s: f64) {
        let on = |planned: &PlannedEffect| planned.effect == effect && goes_on(planned);
        if !self.planned.iter().any(on) {
            self.planned.push(PlannedEffect {
                effect,
                span: DriveSpan {
                    from_s: round_ms(at_s),
                    to_s: f64::INFINITY,
                },
                text: String::new(),
            });
        }
    }

    fn end_noises(&mut self, at_s: f64) {
        self.end(at_s, |effect| matches!(effect, DriveEffect::Noise(_)));
    }

    fn end(&mut self, at_s: f64, which: fn(DriveEffect) -> bool) {
        for planned in &mut self.planned {
            if goes_on(planned) && which(planned.effect) {
                planned.span.to_s = round_ms(at_s);
            }
        }
    }

    /// The identifier of the repeater in this episode: an invented sign, whose suffix is a Q
    /// code, which is not issued to amateurs (from memory).
    fn identifier(&self, index: usize) -> String {
        let mut random = SeededRandom::stream(self.seed, &format!("identifier {index}"));
        let mut one_of = |symbols: &[&'static str]| random.pick(symbols).copied().unwrap_or("K");
        let prefix = one_of(&["K", "N", "W", "KB", "KD", "WA", "WR"]);
        let figure = one_of(&["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"]);
        let middle = one_of(&["R", "S", "T"]);
        let last = one_of(&["A", "B", "D", "F", "H", "L", "M", "P", "V", "X"]);
        format!("DE {prefix}{figure}Q{middle}{last}")
    }
}

fn goes_on(planned: &PlannedEffect) -> bool {
    planned.span.to_s.is_infinite()
}

/// How long an effect that takes time takes.
fn length_s(effect: DriveEffect, text: &str) -> f64 {
    match effect {
        DriveEffect::SquelchTail => 0.25,
        DriveEffect::Kerchunk => 0.8,
        DriveEffect::CourtesyTone => 0.12,
        DriveEffect::TimeOut => 0.6,
        DriveEffect::MorseIdentifier => morse::keying(text).last().map_or(0.0, |tone| tone.1),
        DriveEffect::Tuner(seconds) | DriveEffect::Splatter(seconds) => seconds,
        DriveEffect::Noise(_) | DriveEffect::Quiet | DriveEffect::Leak => 0.0,
    }
}

impl PlannedEffect {
    /// Whether the operator's key is down.
    pub fn keys(&self) -> bool {
        matches!(self.effect, DriveEffect::Tuner(_))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::DrivePlan;
    use crate::plan::tests::plan_of;
    use crate::scenario::CarNoise;

    fn with(effects: &[(usize, DriveEffect)]) -> DrivePlan {
        plan_of(|episode| episode.effects = effects.to_vec())
    }

    #[test]
    fn the_pause_grows_to_hold_what_happens_in_it() {
        let (tuner, splatter) = (DriveEffect::Tuner(4.0), DriveEffect::Splatter(2.0));
        let plan = with(&[(2, tuner), (2, splatter), (4, DriveEffect::Kerchunk)]);
        let end_s = |number: usize| plan.overs[number].span.to_s;
        let expected = [
            (tuner, end_s(1) + 0.3, 4.0),
            (splatter, end_s(1) + 4.6, 2.0),
            (DriveEffect::Kerchunk, end_s(3) + 0.3, 0.8),
        ];
        assert_eq!(plan.effects.len(), expected.len());
        for (planned, (effect, from_s, length_s)) in plan.effects.iter().zip(expected) {
            assert_eq!(planned.effect, effect);
            assert!((planned.span.from_s - from_s).abs() < 0.002, "{planned:?}");
            let length = planned.span.to_s - planned.span.from_s;
            assert!((length - length_s).abs() < 0.002, "{planned:?}");
        }
        let pause_s = plan.overs[2].span.from_s - end_s(1);
        assert!((pause_s - 6.9).abs() < 0.002, "{pause_s}");
        assert!(plan.key_down().contains(&plan.effects[0].span));
    }

    #[test]
    fn a_noise_goes_on_until_it_is_quiet_and_no_longer_than_the_episode() {
        let noise = DriveEffect::Noise(CarNoise::Fan);
        let plan = with(&[
            (1, noise),
            (1, noise),
            (2, DriveEffect::Quiet),
            (3, DriveEffect::Leak),
        ]);
        let end_s = |number: usize| plan.overs[number].span.to_s;
        let spans: Vec<_> = plan
            .effects
            .iter()
            .map(|planned| (planned.effect, planned.span.from_s, planned.span.to_s))
            .collect();
        let expected = [
            (noise, end_s(0), end_s(1)),
            (DriveEffect::Leak, end_s(2), end_s(3)),
        ];
        assert_eq!(spans, expected);
    }

    #[test]
    fn an_identifier_says_an_invented_sign_that_comes_from_the_seed() {
        let plan = with(&[(2, DriveEffect::MorseIdentifier)]);
        let text = &plan.effects[0].text;
        let (before, suffix) = text.split_at(text.len() - 3);
        assert!(before.starts_with("DE "), "{text}");
        assert!(("QRA"..="QUZ").contains(&suffix), "{text}");
        assert_eq!(
            with(&[(1, DriveEffect::MorseIdentifier)]).effects[0].text,
            *text
        );
    }
}
