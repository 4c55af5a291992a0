//! Capture through ALSA.

use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex, PoisonError};

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{
    BufferSize, Data, Device, ErrorKind, I24, InputCallbackInfo, SampleFormat, StreamConfig,
    SupportedBufferSize, SupportedStreamConfigRange, U24,
};

use super::device::{OpenDevice, SoundDevice};
use super::inlet::{InletFactory, SoundInlet};
use super::resampler::nearest;
use crate::config::SoundConfig;
use crate::error::RecorderError;
use crate::monotonic;

/// Rates to use when the config asks for none, best first.
const PREFERRED_RATES: [u32; 4] = [48_000, 16_000, 44_100, 32_000];

/// Sample formats to use, best first.
const PREFERRED_FORMATS: [SampleFormat; 9] = [
    SampleFormat::I16,
    SampleFormat::I32,
    SampleFormat::I24,
    SampleFormat::F32,
    SampleFormat::F64,
    SampleFormat::U16,
    SampleFormat::U24,
    SampleFormat::I8,
    SampleFormat::U8,
];

/// A capture device as the config file names it.
#[derive(Debug, Clone)]
pub struct AlsaDevice {
    config: SoundConfig,
}

impl AlsaDevice {
    /// Does not open the device yet.
    pub const fn new(config: SoundConfig) -> Self {
        Self { config }
    }

    fn find(&self) -> Result<Device, RecorderError> {
        let host = cpal::default_host();
        let name = self.config.device.as_str();
        let id = cpal::DeviceId::new(host.id(), name);
        host.device_by_id(&id)
            // ALSA's own default works even where no list names it, if there is a card.
            .or_else(|| {
                let card = |name: &String| name.starts_with("hw:");
                let default = name == "default" && capture_devices().iter().any(card);
                host.default_input_device().filter(|_| default)
            })
            .ok_or_else(|| RecorderError::Device(unknown_device(name)))
    }

    /// Chooses rate, channels and sample format. Returns several configs that differ in
    /// their periods, best first.
    fn choose(&self, device: &Device) -> Result<(Vec<StreamConfig>, SampleFormat), RecorderError> {
        let SoundConfig { rx, tx, .. } = self.config;
        let ranges: Vec<SupportedStreamConfigRange> = device
            .supported_input_configs()
            .map_err(|error| self.device_error("does not list its formats", &error))?
            .collect();
        let needed = rx.max(tx) + 1;
        let best = ranges
            .iter()
            .filter_map(|range| {
                let channels = range.channels();
                let fits = match self.config.channels {
                    Some(wanted) => channels == wanted,
                    None => channels >= needed,
                };
                let format = PREFERRED_FORMATS
                    .iter()
                    .position(|&f| f == range.sample_format())?;
                let (rate, rank) = self.rate_in(range)?;
                fits.then_some((rank, channels, format, rate, range.buffer_size()))
            })
            .min_by_key(|&(rank, channels, format, ..)| (rank, channels, format));
        let Some((_, channels, format, rate, periods)) = best else {
            return Err(RecorderError::Device(self.unsupported(&ranges, needed)));
        };
        let config = |buffer_size| StreamConfig {
            channels,
            sample_rate: rate,
            buffer_size,
        };
        let sizes = match self.config.period_frames {
            Some(period) => vec![BufferSize::Fixed(period)],
            None => long_periods(rate, periods),
        };
        let configs = sizes.into_iter().map(config).collect();
        let format = PREFERRED_FORMATS
            .get(format)
            .copied()
            .unwrap_or(SampleFormat::I16);
        Ok((configs, format))
    }

    /// The rate to use of this range, and its rank in the list.
    fn rate_in(&self, range: &SupportedStreamConfigRange) -> Option<(u32, usize)> {
        let has = |rate: u32| (range.min_sample_rate()..=range.max_sample_rate()).contains(&rate);
        if let Some(wanted) = self.config.rate {
            return has(wanted).then_some((wanted, 0));
        }
        let listed = (0..).zip(PREFERRED_RATES).find(|&(_, rate)| has(rate));
        let (rank, rate) = listed.unwrap_or((PREFERRED_RATES.len(), range.max_sample_rate()));
        Some((rate, rank))
    }

    fn unsupported(&self, ranges: &[SupportedStreamConfigRange], needed: u16) -> String {
        let SoundConfig {
            device,
            rate,
            channels,
            ..
        } = &self.config;
        let mut text = format!("sound device {device:?} does not support the config: ");
        match channels {
            Some(channels) => text.push_str(&format!("{channels} channels")),
            None => text.push_str(&format!("at least {needed} channels")),
        }
        if let Some(rate) = rate {
            text.push_str(&format!(" at {rate} Hz"));
        }
        text.push_str("; it supports:");
        for range in ranges {
            let (low, high) = (range.min_sample_rate(), range.max_sample_rate());
            let (channels, format) = (range.channels(), range.sample_format());
            text.push_str(&format!(
                "\n  {channels} channels, {low} to {high} Hz, {format}"
            ));
        }
        text.push_str("\nchange rate, channels, rx or tx under [sound]");
        text
    }

    fn device_error(&self, what: &str, error: &cpal::Error) -> RecorderError {
        let device = &self.config.device;
        let advice = match error.kind() {
            ErrorKind::DeviceBusy => "another program is using it: end that program",
            ErrorKind::PermissionDenied => "add this user to the group \"audio\"",
            _ => "check its cable, then listen with `jumpseat-recorder check`",
        };
        RecorderError::Device(format!("sound device {device:?} {what}: {error}; {advice}"))
    }

    fn build(
        &self,
        device: &Device,
        config: StreamConfig,
        format: SampleFormat,
        inlet: SoundInlet,
        lost: &LostCallback,
    ) -> Result<cpal::Stream, cpal::Error> {
        let pick = ChannelPick {
            channels: usize::from(config.channels),
            rx: usize::from(self.config.rx),
            tx: usize::from(self.config.tx),
        };
        let overruns = inlet.overruns();
        let mut inlet = inlet;
        let lost = Arc::clone(lost);
        let name = self.config.device.clone();
        device.build_input_stream_raw(
            config,
            format,
            move |data: &Data, _: &InputCallbackInfo| pick.push(data, &mut inlet),
            move |error| match error.kind() {
                ErrorKind::Xrun => {
                    overruns.fetch_add(1, Ordering::Relaxed);
                }
                ErrorKind::RealtimeDenied | ErrorKind::DeviceChanged => {}
                _ => {
                    let lost = lost.lock().unwrap_or_else(PoisonError::into_inner).take();
                    if let Some(lost) = lost {
                        lost(format!("sound device {name:?} is lost: {error}"));
                    }
                }
            },
            None,
        )
    }

    fn started(
        &self,
        stream: cpal::Stream,
        config: StreamConfig,
        format: SampleFormat,
    ) -> Result<OpenDevice, RecorderError> {
        stream
            .play()
            .map_err(|error| self.device_error("cannot be started", &error))?;
        let (name, rate) = (&self.config.device, config.sample_rate);
        let channels = config.channels;
        Ok(OpenDevice {
            description: format!("sound device {name:?}: {rate} Hz, {channels} channels, {format}"),
            channels,
            stream: Box::new(stream),
        })
    }
}

/// The callback for the loss of the device, called once.
type LostCallback = Arc<Mutex<Option<Box<dyn FnOnce(String) + Send>>>>;

/// A quarter of a second in frames, or as near to it as the device allows. The device's own
/// buffer is two periods long, so the system may be too busy to run the callback for half a
/// second without a loss. Few wake-ups also cost little. When the power fails, what is
/// still in the device is lost: at most half a second.
///
/// The device reports one range for all its rates; at the chosen rate it may accept less.
/// So a shorter period comes next, and the device's own default last.
fn long_periods(rate: u32, periods: &SupportedBufferSize) -> Vec<BufferSize> {
    let within = |wanted: u32| match *periods {
        SupportedBufferSize::Range { min, max } => wanted.min(max).max(min),
        SupportedBufferSize::Unknown => wanted,
    };
    let mut sizes = vec![
        BufferSize::Fixed(within(rate / 4)),
        BufferSize::Fixed(within(rate / 10)),
        BufferSize::Default,
    ];
    sizes.dedup();
    sizes
}

impl SoundDevice for AlsaDevice {
    fn open(
        &mut self,
        factory: &mut InletFactory,
        lost: Box<dyn FnOnce(String) + Send>,
    ) -> Result<OpenDevice, RecorderError> {
        let device = self.find()?;
        let (configs, format) = self.choose(&device)?;
        let lost = Arc::new(Mutex::new(Some(lost)));
        let mut refused = RecorderError::Device(format!(
            "sound device {:?} offers no config",
            self.config.device
        ));
        for config in configs {
            let inlet = factory.inlet(config.sample_rate).ok_or_else(|| {
                let detail = "the sound device has not released its last stream";
                RecorderError::Device(detail.to_owned())
            })?;
            match self.build(&device, config, format, inlet, &lost) {
                Ok(stream) => return self.started(stream, config, format),
                Err(error) => {
                    refused = self.device_error("cannot be opened", &error);
                    if error.kind() != ErrorKind::UnsupportedConfig {
                        break;
                    }
                }
            }
        }
        Err(refused)
    }
}

/// Which channels of an interleaved buffer are used.
#[derive(Debug, Clone, Copy)]
struct ChannelPick {
    channels: usize,
    rx: usize,
    tx: usize,
}

impl ChannelPick {
    /// The callback: neither allocates nor locks nor waits.
    fn push(self, data: &Data, inlet: &mut SoundInlet) {
        let now_ns = monotonic::now_ns();
        match data.sample_format() {
            SampleFormat::I16 => self.typed(data, inlet, now_ns, |s: i16| s),
            SampleFormat::I32 => {
                self.typed(data, inlet, now_ns, |s: i32| nearest(s as f32 / 65_536.0));
            }
            SampleFormat::I24 => {
                self.typed(data, inlet, now_ns, |s: I24| {
                    nearest(s.inner() as f32 / 256.0)
                });
            }
            SampleFormat::F32 => self.typed(data, inlet, now_ns, |s: f32| nearest(s * 32_768.0)),
            SampleFormat::F64 => {
                self.typed(data, inlet, now_ns, |s: f64| nearest((s * 32_768.0) as f32));
            }
            SampleFormat::U16 => {
                self.typed(data, inlet, now_ns, |s: u16| {
                    nearest(f32::from(s) - 32_768.0)
                });
            }
            SampleFormat::U24 => self.typed(data, inlet, now_ns, |s: U24| {
                nearest((s.inner() - 8_388_608) as f32 / 256.0)
            }),
            SampleFormat::I8 => self.typed(data, inlet, now_ns, |s: i8| i16::from(s) * 256),
            SampleFormat::U8 => {
                self.typed(data, inlet, now_ns, |s: u8| (i16::from(s) - 128) * 256);
            }
            // No other format is ever requested.
            _ => {}
        }
    }

    fn typed<T: cpal::SizedSample>(
        self,
        data: &Data,
        inlet: &mut SoundInlet,
        now_ns: u64,
        value: impl Fn(T) -> i16,
    ) {
        let samples = data.as_slice::<T>().unwrap_or(&[]);
        let frames = samples.chunks_exact(self.channels.max(1)).map(|frame| {
            let of = |channel: usize| frame.get(channel).map_or(0, |&sample| value(sample));
            [of(self.rx), of(self.tx)]
        });
        inlet.push(frames, now_ns);
    }
}

/// The existing capture devices, under the names that the config accepts.
pub fn capture_devices() -> Vec<String> {
    let Ok(devices) = cpal::default_host().devices() else {
        return Vec::new();
    };
    devices
        .filter(DeviceTrait::supports_input)
        .filter_map(|device| Some(device.id().ok()?.id().to_owned()))
        .collect()
}

fn unknown_device(name: &str) -> String {
    let mut text = format!("there is no sound device {name:?}; ");
    let devices = capture_devices();
    if devices.is_empty() {
        text.push_str("there is none at all: plug the sound adapter in");
        return text;
    }
    text.push_str("set sound.device to one of those that exist:");
    for device in devices {
        text.push_str("\n  ");
        text.push_str(&device);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(rate: u32, periods: SupportedBufferSize, tried: &[u32]) {
        let mut sizes: Vec<BufferSize> = tried.iter().map(|&n| BufferSize::Fixed(n)).collect();
        sizes.push(BufferSize::Default);
        assert_eq!(long_periods(rate, &periods), sizes);
    }

    #[test]
    fn a_period_is_a_quarter_of_a_second_where_the_device_allows_it() {
        let range = |min, max| SupportedBufferSize::Range { min, max };
        check(48_000, SupportedBufferSize::Unknown, &[12_000, 4_800]);
        check(48_000, range(32, 65_536), &[12_000, 4_800]);
        check(48_000, range(32, 8_192), &[8_192, 4_800]);
        check(48_000, range(32, 1_024), &[1_024]);
        check(16_000, range(5_000, 10_000), &[5_000]);
    }
}
