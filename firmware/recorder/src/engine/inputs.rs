//! The engine's inputs: line levels, samples, receiver records, dial settings.

use jumpseat_core::AudioFrame;
use jumpseat_core::debounce::SettledEdge;
use jumpseat_core::journal::{AudioDirection, JournalEvent, RecorderFault};
use jumpseat_core::sample_clock::ClockPair;
use jumpseat_core::signal::OperatorSignal;

use super::RecordingEngine;
use crate::input_line::InputLine;
use crate::rig_reading::RigReading;

/// Levels are recorded this often, in samples: 10 s.
const LEVEL_EVERY_SAMPLES: u64 = 160_000;

/// Most key edges kept from before the first sample; the oldest are dropped.
const MAX_EARLY_EDGES: usize = 64;

impl RecordingEngine {
    /// Takes the level that a line has from `at_ns` on.
    pub fn line(&mut self, line: InputLine, active: bool, at_ns: u64) {
        let pin = match line {
            InputLine::Ptt => &mut self.ptt,
            InputLine::Mark => &mut self.mark,
            InputLine::ButtonFault => return self.button_fault(active, at_ns),
            // These do not belong to one trip.
            InputLine::Ignition | InputLine::LowSupply => return,
        };
        // An edge that settled before this change comes first.
        let Ok(before) = pin.poll(at_ns);
        pin.pin_mut().active = active;
        let Ok(after) = pin.poll(at_ns);
        for edge in before.into_iter().chain(after) {
            self.settled(line, edge);
        }
    }

    /// Takes the next samples, which arrived at `now_ns`.
    pub fn audio(&mut self, frames: &[AudioFrame], now_ns: u64) {
        if frames.is_empty() {
            return;
        }
        self.last_audio_ns = now_ns;
        if self.alarms.no_samples {
            self.alarms.no_samples = false;
            self.recovery(RecorderFault::NoSamples, "samples arrive again", now_ns);
        }
        let silence = silence_magnitude(self.thresholds.silence_dbfs);
        let (mut quiet, before) = (self.quiet_samples, self.arrived());
        for frame in frames {
            let [rx, tx] = &mut self.meters;
            rx.push(frame.rx);
            tx.push(frame.tx);
            let loudest = frame.rx.unsigned_abs().max(frame.tx.unsigned_abs());
            quiet = if loudest > silence { 0 } else { quiet + 1 };
        }
        self.quiet_samples = quiet;
        self.judge_silence(now_ns);
        let (trip, clock) = (&mut self.trip, &self.clock);
        self.segmenter.audio(frames, |step| {
            trip.step(&step, |sample| clock.mono_at(sample).unwrap_or(now_ns));
        });
        if before / LEVEL_EVERY_SAMPLES != self.arrived() / LEVEL_EVERY_SAMPLES {
            self.write_levels(now_ns);
        }
    }

    /// Takes an observation: at `mono_ns`, `sample` samples had arrived, including those
    /// that the rate conversion holds back.
    pub fn clock(&mut self, mono_ns: u64, sample: u64) {
        if let Some(due) = self.clock.observe(ClockPair { mono_ns, sample }) {
            let sample = due.sample;
            self.trip
                .record(due.mono_ns, JournalEvent::Clock { sample });
        }
        for (down, heard_ns) in std::mem::take(&mut self.early_edges) {
            self.key(down, heard_ns);
        }
    }

    /// Applies a key edge: the samples from this moment on go into a file of the other
    /// direction.
    fn key(&mut self, down: bool, heard_ns: u64) {
        if let Some(sample) = self.clock.sample_at(heard_ns) {
            self.segmenter.edge(down, sample);
            return;
        }
        // Before the first sample nobody knows which one this is.
        if self.early_edges.len() == MAX_EARLY_EDGES {
            self.early_edges.remove(0);
        }
        self.early_edges.push((down, heard_ns));
    }

    /// `count` samples never arrived; they are counted all the same. `mono_ns` is when the
    /// samples after them began to arrive.
    pub fn gap(&mut self, count: u64, fault: RecorderFault, mono_ns: u64) {
        let first_sample = self.arrived();
        let at_ns = self.clock.mono_at(first_sample).unwrap_or(mono_ns);
        let (trip, clock) = (&mut self.trip, &self.clock);
        self.segmenter.gap(count, |step| {
            trip.step(&step, |sample| clock.mono_at(sample).unwrap_or(mono_ns));
        });
        let gap = JournalEvent::Gap {
            first_sample,
            count,
            fault,
        };
        self.trip.record(at_ns, gap);
        let sample = self.arrived();
        self.clock.restart(ClockPair { mono_ns, sample });
    }

    /// Takes the time and position records of the receiver.
    pub fn gps(&mut self, events: Vec<JournalEvent>, at_ns: u64) {
        for event in events {
            if let JournalEvent::TimeFix { valid: true, .. } = event {
                self.thresholds.time_due_ns = None;
                self.alarms.no_time = false;
            }
            if self.limits.admits(&event, at_ns) {
                self.trip.record(at_ns, event);
            }
        }
    }

    /// Takes a reading of the dial.
    pub fn dial(&mut self, setting: RigReading, at_ns: u64) {
        if self.limits.admits_dial(&setting, at_ns) {
            let RigReading { hz, mode } = setting;
            self.trip.record(at_ns, JournalEvent::Dial { hz, mode });
        }
    }

    /// Rig control was reached, for the first time or again: the next reading is recorded
    /// even if it is the same.
    pub fn dial_connected(&mut self) {
        self.limits.forget_dial();
    }

    /// Applies the edges that have settled by `now_ns`. Call it before
    /// [`audio`](Self::audio), so that an edge comes before its samples are written.
    pub fn settle_lines(&mut self, now_ns: u64) {
        let Ok(ptt) = self.ptt.poll(now_ns);
        let Ok(mark) = self.mark.poll(now_ns);
        for (line, edge) in [(InputLine::Ptt, ptt), (InputLine::Mark, mark)] {
            if let Some(edge) = edge {
                self.settled(line, edge);
            }
        }
    }

    pub(super) fn write_levels(&mut self, now_ns: u64) {
        let [rx, tx] = &mut self.meters;
        for (direction, level) in [
            (AudioDirection::Rx, rx.take()),
            (AudioDirection::Tx, tx.take()),
        ] {
            let Some(level) = level else {
                continue;
            };
            let event = JournalEvent::Level {
                direction,
                rms_dbfs: tenths(level.rms_dbfs),
                peak_dbfs: tenths(level.peak_dbfs),
                clipped: level.clipped,
            };
            self.trip.record(now_ns, event);
        }
    }

    fn settled(&mut self, line: InputLine, edge: SettledEdge) {
        match line {
            InputLine::Ptt => {
                // The audio of the edge arrives this much later.
                let heard_ns = edge.at_ns.saturating_add(self.thresholds.latency_ns);
                self.key(edge.active, heard_ns);
                let event = JournalEvent::Ptt { down: edge.active };
                self.trip.record_synced(edge.at_ns, event);
                self.dial_wanted = true;
            }
            InputLine::Mark => {
                // A long press counts even if it was not polled while it lasted.
                self.withdraw_if_held(edge.at_ns);
                let Some(at_ns) = self.button.edge(edge) else {
                    return;
                };
                // Acknowledged only when it is synced.
                if self.trip.record_synced(at_ns, JournalEvent::Mark {}) {
                    self.requests.push(OperatorSignal::MarkAcknowledged);
                }
            }
            InputLine::ButtonFault | InputLine::Ignition | InputLine::LowSupply => {}
        }
    }

    pub(super) fn withdraw_if_held(&mut self, now_ns: u64) {
        let Some(withdrawal) = self.button.withdraw_if_held(now_ns) else {
            return;
        };
        let marks = withdrawal
            .previous_mark_ns
            .into_iter()
            .chain([withdrawal.this_mark_ns]);
        let mut safe = true;
        for mark_ns in marks {
            let event = JournalEvent::MarkWithdrawn { mark_ns };
            safe &= self.trip.record_synced(withdrawal.at_ns, event);
        }
        if safe {
            self.requests.push(OperatorSignal::MarkWithdrawn);
        }
    }

    fn button_fault(&mut self, broken: bool, at_ns: u64) {
        if broken == self.alarms.button {
            return;
        }
        self.alarms.button = broken;
        if broken {
            let detail = "the mark button's wire is broken or shorted; check its cable";
            self.fault(RecorderFault::Line, detail, at_ns);
        } else {
            self.recovery(
                RecorderFault::Line,
                "the mark button's wire is intact again",
                at_ns,
            );
        }
    }

    fn judge_silence(&mut self, now_ns: u64) {
        let limit = self.thresholds.silence_samples;
        let silent = limit > 0 && self.quiet_samples >= limit;
        if silent == self.alarms.silent {
            return;
        }
        self.alarms.silent = silent;
        if silent {
            let detail = "samples arrive, but both channels are silent";
            self.fault(RecorderFault::Sound, detail, now_ns);
        } else {
            self.recovery(RecorderFault::Sound, "there is sound again", now_ns);
        }
    }
}

/// The magnitude up to which a sample counts as silent.
fn silence_magnitude(dbfs: f32) -> u16 {
    // -120 to 0 dB: 0 to 32768.
    (32_768.0 * 10_f32.powf(dbfs / 20.0)) as u16
}

/// Rounds to a tenth of a decibel: no meter is better, and more digits would fill the
/// journal.
fn tenths(dbfs: f32) -> f32 {
    (dbfs * 10.0).round() / 10.0
}
