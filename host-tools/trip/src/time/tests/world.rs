//! A drive whose true time is known at every instant.

use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};
use jumpseat_core::journal::{
    JournalEvent, JournalRecord, PositionSource, RecorderFault, TimeSource,
};

use super::super::TimeSettings;
use super::super::leap::{tai_of_utc, utc_of_tai};

/// Random numbers from a seed (SplitMix64, G. Steele and others, 2014).
pub(crate) struct ClockDice(u64);

impl ClockDice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub(crate) fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn chance(&mut self, part: f64) -> bool {
        self.between(0.0, 1.0) < part
    }

    /// Exponentially distributed.
    fn delay(&mut self, mean: f64) -> f64 {
        -mean * self.between(1e-12, 1.0).ln()
    }
}

/// Where time comes from, and how late.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum FixLatency {
    /// Sentences, each late by anything from 50 to 600 ms.
    Jitter,
    /// Sentences, late by something from 80 to 570 ms, the same to within ±30 ms.
    Constant,
    /// As `Constant`, and a pulse at every tenth second.
    Pulses,
    /// The system clock alone, within what the kernel says, 1 to 5 ms.
    System,
}

/// What can go wrong with the sources of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum ClockTrouble {
    /// Valid by its word, before any position, off by minutes to months.
    WrongDateFirst,
    /// The receiver does not yet know the leap seconds: 2 to 18 s off.
    LeapSecondsUnknownFirst,
    /// All dates are 1024 weeks back.
    Rollover,
    /// Dates are 1024 weeks back until the first fix.
    RolloverFirst,
    /// Twenty minutes at most without any fix.
    Tunnel,
    /// One sentence in 200 is late by up to 2 s more.
    Stragglers,
    /// A system clock that steps by an hour in mid-trip tells the time as well.
    SystemStepped,
    /// Sound is lost for some seconds, counted only roughly.
    SoundLost,
    /// One fix in ten seconds.
    Seldom,
    /// One pulse in five is an edge at any other time; of pulses only.
    LooseWire,
}

impl ClockTrouble {
    pub(crate) const ALL: [Self; 8] = [
        Self::WrongDateFirst,
        Self::LeapSecondsUnknownFirst,
        Self::Rollover,
        Self::RolloverFirst,
        Self::Tunnel,
        Self::Stragglers,
        Self::SystemStepped,
        Self::SoundLost,
    ];
}

/// A drive. True time runs in seconds from its first sample.
pub(crate) struct ClockWorld {
    pub(crate) length_s: f64,
    pub(crate) start_tai_ns: i128,
    pub(crate) first_fix_s: f64,
    pub(crate) troubles: Vec<ClockTrouble>,
    pub(crate) settings: TimeSettings,
    latency: FixLatency,
    usual_late_s: f64,
    pub(crate) start_mono_s: f64,
    /// The board's clock gains this part, and swings about it.
    board_rate: f64,
    board_swing: f64,
    /// The same for the sound card.
    pub(crate) sound_rate: f64,
    sound_swing: f64,
    swing_s: f64,
    /// Samples are lost here, and this many more than counted.
    loss_s: f64,
    loss_error_s: f64,
    seed: u64,
}

impl ClockWorld {
    pub(crate) fn new(dice: &mut ClockDice, latency: FixLatency) -> Self {
        let length_s = dice.between(120.0, 900.0) * dice.between(1.0, 8.0);
        let day: DateTime<Utc> = "2026-01-01T00:00:00Z".parse().unwrap();
        // On a full second, so that receivers tell full seconds.
        let start = day + TimeDelta::seconds(dice.between(0.0, 3e8) as i64);
        Self {
            length_s,
            start_tai_ns: tai_of_utc(start),
            first_fix_s: dice.between(0.0, (length_s / 2.0).min(700.0)),
            troubles: Vec::new(),
            settings: TimeSettings::default(),
            latency,
            usual_late_s: dice.between(0.08, 0.57),
            start_mono_s: dice.between(1.0, 1e6),
            board_rate: dice.between(-50e-6, 50e-6),
            board_swing: dice.between(0.0, 2e-6),
            sound_rate: dice.between(-100e-6, 100e-6),
            sound_swing: dice.between(0.0, 2e-6),
            swing_s: dice.between(1200.0, 6000.0),
            loss_s: dice.between(0.2, 0.8) * length_s,
            loss_error_s: dice.between(-0.3, 0.3),
            seed: dice.next(),
        }
    }

    pub(crate) fn utc_at(&self, truth_s: f64) -> DateTime<Utc> {
        utc_of_tai(self.start_tai_ns + (truth_s * 1e9) as i128).unwrap()
    }

    /// What a clock shows that gains `rate` and swings about it by `swing`.
    fn shown(&self, truth_s: f64, rate: f64, swing: f64) -> f64 {
        let turn = std::f64::consts::TAU / self.swing_s;
        truth_s * (1.0 + rate) + swing / turn * (1.0 - (turn * truth_s).cos())
    }

    pub(crate) fn mono_at(&self, truth_s: f64) -> u64 {
        let shown = self.shown(truth_s, self.board_rate, self.board_swing);
        ((self.start_mono_s + shown) * 1e9) as u64
    }

    /// The count of the sample that is taken at a true time.
    pub(crate) fn sample_at(&self, truth_s: f64) -> u64 {
        let mut shown = self.shown(truth_s, self.sound_rate, self.sound_swing);
        if self.has(ClockTrouble::SoundLost) && truth_s >= self.loss_s {
            shown += self.loss_error_s;
        }
        (shown.max(0.0) * 16_000.0) as u64
    }

    fn has(&self, trouble: ClockTrouble) -> bool {
        self.troubles.contains(&trouble)
    }

    /// What the recorder would have written down.
    pub(crate) fn records(&self) -> Vec<JournalRecord> {
        let mut dice = ClockDice::new(self.seed);
        let mut records = Vec::new();
        self.clock_pairs(&mut dice, &mut records);
        self.sound_loss(&mut records);
        self.first_troubles(&mut dice, &mut records);
        self.fixes(&mut dice, &mut records);
        self.system_clock(&mut records);
        records.sort_by_key(|record| record.mono_ns);
        for (index, record) in records.iter_mut().enumerate() {
            record.seq = index as u64 + 1;
        }
        records
    }

    fn clock_pairs(&self, dice: &mut ClockDice, records: &mut Vec<JournalRecord>) {
        let mut at = 0.5;
        while at < self.length_s {
            let spike = if dice.chance(0.02) { 0.3 } else { 0.0 };
            let arrived = at + 0.0002 + dice.delay(0.003) + spike * dice.between(0.0, 1.0);
            let lost = self.has(ClockTrouble::SoundLost) && (at - self.loss_s).abs() < 3.0;
            if !lost {
                let sample = self.sample_at(at);
                records.push(record(
                    self.mono_at(arrived),
                    JournalEvent::Clock { sample },
                ));
            }
            at += 10.0;
        }
    }

    fn sound_loss(&self, records: &mut Vec<JournalRecord>) {
        if self.has(ClockTrouble::SoundLost) {
            let first = self.sample_at(self.loss_s - 2.0);
            let after = self.sample_at(self.loss_s);
            let event = JournalEvent::Gap {
                first_sample: first,
                count: after - first,
                fault: RecorderFault::Sound,
            };
            records.push(record(self.mono_at(self.loss_s), event));
        }
    }

    /// What a receiver tells before it has a fix.
    fn first_troubles(&self, dice: &mut ClockDice, records: &mut Vec<JournalRecord>) {
        let wrong_s = dice.between(60.0, 1e7);
        let unknown_s = dice.between(2.0, 18.0).round();
        let before = self.first_fix_s.floor() as u32;
        for second in 0..before {
            let at = f64::from(second) + dice.between(0.05, 0.6);
            let told = f64::from(second);
            if self.has(ClockTrouble::WrongDateFirst) && second < before / 2 {
                self.sentence(at, told + wrong_s, records);
            } else if self.has(ClockTrouble::RolloverFirst) && second < before / 2 {
                self.tell(at, told, TimeSource::Nmea, true, records);
            } else if self.has(ClockTrouble::LeapSecondsUnknownFirst) && second >= before / 2 {
                self.sentence(at, told + unknown_s, records);
            }
        }
    }

    fn fixes(&self, dice: &mut ClockDice, records: &mut Vec<JournalRecord>) {
        let tunnel_s = dice.between(0.3, 0.6) * self.length_s;
        let tunnel_end_s = tunnel_s + dice.between(60.0, 1200.0).min(self.length_s / 4.0);
        let mut told = self.first_fix_s.ceil();
        while told < self.length_s - 1.0 {
            let inside = self.has(ClockTrouble::Tunnel) && (tunnel_s..tunnel_end_s).contains(&told);
            let left_out = self.has(ClockTrouble::Seldom) && told % 10.0 != 0.0;
            if !inside && !left_out {
                self.fix(told, dice, records);
            }
            told += 1.0;
        }
    }

    fn fix(&self, told: f64, dice: &mut ClockDice, records: &mut Vec<JournalRecord>) {
        if self.latency == FixLatency::System {
            // The recorder writes it down every 10 s.
            if told % 10.0 == 0.0 {
                let after = self.has(ClockTrouble::SystemStepped) && told < self.length_s * 0.7;
                let hour = if after { 3600.0 } else { 0.0 };
                self.system(told, hour, dice, records);
            }
            return;
        }
        let mut late = match self.latency {
            FixLatency::Jitter => dice.between(0.05, 0.6),
            _ => self.usual_late_s + dice.between(-0.03, 0.03),
        };
        if self.has(ClockTrouble::Stragglers) && dice.chance(0.005) {
            late += dice.between(0.0, 2.0);
        }
        if self.latency == FixLatency::Pulses && told % 10.0 == 0.0 {
            let mut pulse = told + dice.delay(0.0001).min(0.0009);
            if self.has(ClockTrouble::LooseWire) && dice.chance(0.2) {
                pulse += dice.between(0.0, 1.0);
            }
            records.push(record(self.mono_at(pulse), JournalEvent::Pulse {}));
        }
        let back = self.has(ClockTrouble::Rollover);
        self.tell(told + late, told, TimeSource::Nmea, back, records);
        let event = JournalEvent::PositionFix {
            lat: 47.0,
            lon: 8.0,
            alt_m: None,
            speed_mps: None,
            satellites: None,
            hdop: None,
            source: PositionSource::Nmea,
            valid: true,
        };
        records.push(record(self.mono_at(told + late), event));
    }

    /// A system clock that calls itself right and is then stepped by an hour.
    fn system_clock(&self, records: &mut Vec<JournalRecord>) {
        if !self.has(ClockTrouble::SystemStepped) || self.latency == FixLatency::System {
            return;
        }
        let mut at = 1.0;
        while at < self.length_s {
            let wrong = if at < self.length_s / 2.0 {
                3600.0
            } else {
                0.0
            };
            self.tell(at, at + wrong, TimeSource::System, false, records);
            at += 10.0;
        }
    }

    /// The system clock, as far off as the kernel admits, and an `hour` on top.
    fn system(&self, at_s: f64, hour: f64, dice: &mut ClockDice, records: &mut Vec<JournalRecord>) {
        let within_ms = dice.between(1.0, 5.0) as f32;
        let off_s = dice.between(-1.0, 1.0) * f64::from(within_ms) / 1e3;
        let utc = utc_of_tai(self.start_tai_ns + ((at_s + off_s + hour) * 1e9) as i128).unwrap();
        let utc = utc.to_rfc3339_opts(SecondsFormat::Nanos, true);
        let event = JournalEvent::TimeFix {
            utc: utc.as_str().try_into().unwrap(),
            source: TimeSource::System,
            valid: true,
            within_ms: Some(within_ms),
        };
        records.push(record(self.mono_at(at_s), event));
    }

    fn sentence(&self, at_s: f64, told_s: f64, records: &mut Vec<JournalRecord>) {
        self.tell(at_s, told_s, TimeSource::Nmea, false, records);
    }

    /// `back`: a receiver whose week number has wrapped still knows the leap
    /// seconds of today, so the date is back by whole days of UTC.
    fn tell(
        &self,
        at_s: f64,
        told_s: f64,
        source: TimeSource,
        back: bool,
        records: &mut Vec<JournalRecord>,
    ) {
        let mut utc = utc_of_tai(self.start_tai_ns + (told_s * 1e9) as i128).unwrap();
        if back {
            utc -= TimeDelta::weeks(1024);
        }
        let utc = utc.to_rfc3339_opts(SecondsFormat::Millis, true);
        let event = JournalEvent::TimeFix {
            utc: utc.as_str().try_into().unwrap(),
            source,
            valid: true,
            within_ms: None,
        };
        records.push(record(self.mono_at(at_s), event));
    }
}

fn record(mono_ns: u64, event: JournalEvent) -> JournalRecord {
    JournalRecord {
        seq: 0,
        boot: "9f2c41d0".try_into().unwrap(),
        mono_ns,
        event,
    }
}
