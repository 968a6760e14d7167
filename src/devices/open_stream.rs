//! Opening one stream: which device, which format, and the callbacks that are shipped.

use std::sync::Arc;

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{BufferSize, SampleFormat, StreamConfig, SupportedStreamConfig};
use rtrb::Consumer;

use crate::room::{DeviceError, Side};
use crate::units::SampleRate;

use super::capture::{CaptureReader, capture, input_callback};
use super::device_error::{device_error, error_callback, errors};
use super::list::wireless;
use super::playback::{OrderSender, output_callback, playback};
use super::stream_counters::{MonotonicClock, StreamCounters};

/// The choice of a device on one side.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum DeviceChoice {
    /// The device that the system uses by default.
    #[default]
    Default,
    /// The device of this identifier or name, or whose name contains this.
    Named(String),
    /// No device: this side stays closed.
    Nothing,
}

/// The devices to open.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DeviceRequest {
    /// The device of the microphone.
    pub input: DeviceChoice,
    /// The device of the loudspeaker.
    pub output: DeviceChoice,
    /// Frames of a callback that are asked for; the device may give other numbers. `None` leaves them to the device.
    pub period: Option<u32>,
}

/// What is known of an open stream.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StreamInfo {
    /// Identifier, stable over program runs.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Frames a second.
    pub rate: SampleRate,
    /// Channels of the device.
    pub channels: usize,
    /// Sample format, in the backend's short name.
    pub format: String,
    /// Frames of a callback, as the backend reports; the device may give other numbers. `None` where it reports none.
    pub period: Option<u32>,
    /// Whether the device looks wireless: the delay of a wireless device wanders.
    pub wireless: bool,
}

/// An open stream with the program's end of its rings.
pub struct Opened<End> {
    /// The stream; it ends when this is dropped.
    pub stream: cpal::Stream,
    /// The program's end of the ring of sound.
    pub end: End,
    /// What is known of the stream.
    pub about: StreamInfo,
    /// What the callbacks publish.
    pub counters: Arc<StreamCounters>,
    /// Errors that the callback has counted, to be freed.
    pub spent_errors: Consumer<cpal::Error>,
}

/// What to ask of a device beyond its defaults.
#[derive(Debug, Clone, Copy, Default)]
pub struct StreamPreferences {
    /// Frames of a callback; `None` leaves them to the device.
    pub period: Option<u32>,
    /// The rate of the stream that was lost, so that the new one goes on at it; `None` leaves it to the device.
    pub rate: Option<u32>,
}

/// The device meant by `choice`, with its name.
///
/// # Errors
/// Where there is no such device.
pub fn find(host: &cpal::Host, side: Side, choice: &DeviceChoice) -> Result<(cpal::Device, String), DeviceError> {
    let device = match choice {
        DeviceChoice::Named(name) => {
            named(host, name).ok_or_else(|| DeviceError::Unknown { side, name: name.clone() })?
        }
        _ => match side {
            Side::Input => host.default_input_device(),
            Side::Output => host.default_output_device(),
        }
        .ok_or(DeviceError::None(side))?,
    };
    let name = device.description().map_or_else(|_| device.to_string(), |text| text.name().to_owned());
    Ok((device, name))
}

fn named(host: &cpal::Host, name: &str) -> Option<cpal::Device> {
    if let Ok(id) = name.parse()
        && let Some(device) = host.device_by_id(&id)
    {
        return Some(device);
    }
    let wanted = name.to_lowercase();
    let called =
        |device: &cpal::Device| device.description().map_or_else(|_| String::new(), |text| text.name().to_lowercase());
    let mut partly = None;
    for device in host.devices().ok()? {
        let id = device.id().map_or_else(|_| String::new(), |id| id.to_string());
        if id == name || id.rsplit(':').next() == Some(name) || called(&device) == wanted {
            return Some(device);
        }
        if partly.is_none() && called(&device).contains(&wanted) {
            partly = Some(device);
        }
    }
    partly
}

fn usable(format: SampleFormat) -> bool {
    use SampleFormat as F;
    matches!(
        format,
        F::F32 | F::F64 | F::I8 | F::I16 | F::I24 | F::I32 | F::I64 | F::U8 | F::U16 | F::U24 | F::U32 | F::U64
    )
}

/// The device's own choice, or the first of its offers whose samples can be converted.
fn config(device: &cpal::Device, side: Side, name: &str) -> Result<SupportedStreamConfig, DeviceError> {
    let reported = match side {
        Side::Input => device.default_input_config(),
        Side::Output => device.default_output_config(),
    };
    let own = reported.map_err(|error| device_error(&error, side, name))?;
    if usable(own.sample_format()) {
        return Ok(own);
    }
    let offers: Vec<_> = match side {
        Side::Input => device.supported_input_configs().map(Iterator::collect),
        Side::Output => device.supported_output_configs().map(Iterator::collect),
    }
    .map_err(|error| device_error(&error, side, name))?;
    offers
        .into_iter()
        .find(|offer| usable(offer.sample_format()))
        .map(|offer| offer.try_with_sample_rate(own.sample_rate()).unwrap_or_else(|| offer.with_max_sample_rate()))
        .ok_or_else(|| DeviceError::Unusable { side, name: name.to_owned() })
}

macro_rules! of_format {
    ($format:expr, $build:ident ( $($argument:expr),* )) => {
        match $format {
            SampleFormat::F32 => $build::<f32>($($argument),*),
            SampleFormat::F64 => $build::<f64>($($argument),*),
            SampleFormat::I8 => $build::<i8>($($argument),*),
            SampleFormat::I16 => $build::<i16>($($argument),*),
            SampleFormat::I24 => $build::<cpal::I24>($($argument),*),
            SampleFormat::I32 => $build::<i32>($($argument),*),
            SampleFormat::I64 => $build::<i64>($($argument),*),
            SampleFormat::U8 => $build::<u8>($($argument),*),
            SampleFormat::U16 => $build::<u16>($($argument),*),
            SampleFormat::U24 => $build::<cpal::U24>($($argument),*),
            SampleFormat::U32 => $build::<u32>($($argument),*),
            SampleFormat::U64 => $build::<u64>($($argument),*),
            _ => Err(cpal::Error::new(cpal::ErrorKind::UnsupportedConfig)),
        }
    };
}

fn build_input<T>(
    device: &cpal::Device,
    config: StreamConfig,
    clock: MonotonicClock,
) -> Result<(cpal::Stream, CaptureReader, Arc<StreamCounters>, Consumer<cpal::Error>), cpal::Error>
where
    T: cpal::SizedSample + Send + 'static,
    f32: cpal::FromSample<T>,
{
    let counters = Arc::new(StreamCounters::opened_at(clock.nanos()));
    let rate = SampleRate::new(config.sample_rate).ok_or(cpal::ErrorKind::UnsupportedConfig)?;
    let (take, captured) = capture(usize::from(config.channels), rate, Arc::clone(&counters), clock);
    let (note, spent_errors) = errors(Arc::clone(&counters), clock);
    let stream = device.build_input_stream(config, input_callback::<T>(take), error_callback(note), None)?;
    stream.play()?;
    Ok((stream, captured, counters, spent_errors))
}

fn build_output<T>(
    device: &cpal::Device,
    config: StreamConfig,
    clock: MonotonicClock,
) -> Result<(cpal::Stream, OrderSender, Arc<StreamCounters>, Consumer<cpal::Error>), cpal::Error>
where
    T: cpal::SizedSample + cpal::FromSample<f32> + Send + 'static,
{
    let counters = Arc::new(StreamCounters::opened_at(clock.nanos()));
    let rate = SampleRate::new(config.sample_rate).ok_or(cpal::ErrorKind::UnsupportedConfig)?;
    let (fill, orders) = playback(usize::from(config.channels), rate, Arc::clone(&counters), clock);
    let (note, spent_errors) = errors(Arc::clone(&counters), clock);
    let stream = device.build_output_stream(config, output_callback::<T>(fill), error_callback(note), None)?;
    stream.play()?;
    Ok((stream, orders, counters, spent_errors))
}

/// The configurations to try in turn: with the wished rate and buffer, with the wished buffer alone, and the device's own.
fn attempts(own: &SupportedStreamConfig, preferences: StreamPreferences) -> Vec<StreamConfig> {
    let plain = own.config();
    let period = preferences.period.map_or(BufferSize::Default, BufferSize::Fixed);
    let sized = StreamConfig { buffer_size: period, ..plain };
    let mut attempts =
        vec![StreamConfig { sample_rate: preferences.rate.unwrap_or(plain.sample_rate), ..sized }, sized, plain];
    attempts.dedup();
    attempts
}

/// Opens the microphone. May block for as long as the sound system likes.
///
/// # Errors
/// When the device is not there, not free, not allowed or offers nothing usable.
pub fn open_input(
    host: &cpal::Host,
    choice: &DeviceChoice,
    preferences: StreamPreferences,
    clock: MonotonicClock,
) -> Result<Opened<CaptureReader>, DeviceError> {
    let (device, name) = find(host, Side::Input, choice)?;
    let own = config(&device, Side::Input, &name)?;
    let mut failure = DeviceError::Silent(Side::Input);
    for config in attempts(&own, preferences) {
        match of_format!(own.sample_format(), build_input(&device, config, clock)) {
            Ok((stream, end, counters, spent_errors)) => {
                let about = about(&device, name, config, own.sample_format(), &stream, Side::Input);
                return Ok(Opened { stream, end, about, counters, spent_errors });
            }
            Err(error) => failure = device_error(&error, Side::Input, &name),
        }
    }
    Err(failure)
}

/// Opens the loudspeaker. May block for as long as the sound system likes.
///
/// # Errors
/// As for [`open_input`].
pub fn open_output(
    host: &cpal::Host,
    choice: &DeviceChoice,
    preferences: StreamPreferences,
    clock: MonotonicClock,
) -> Result<Opened<OrderSender>, DeviceError> {
    let (device, name) = find(host, Side::Output, choice)?;
    let own = config(&device, Side::Output, &name)?;
    let mut failure = DeviceError::Silent(Side::Output);
    for config in attempts(&own, preferences) {
        match of_format!(own.sample_format(), build_output(&device, config, clock)) {
            Ok((stream, end, counters, spent_errors)) => {
                let about = about(&device, name, config, own.sample_format(), &stream, Side::Output);
                return Ok(Opened { stream, end, about, counters, spent_errors });
            }
            Err(error) => failure = device_error(&error, Side::Output, &name),
        }
    }
    Err(failure)
}

fn about(
    device: &cpal::Device,
    name: String,
    config: StreamConfig,
    format: SampleFormat,
    stream: &cpal::Stream,
    side: Side,
) -> StreamInfo {
    let id = device.id().map_or_else(|_| name.clone(), |id| id.to_string());
    let rate = SampleRate::new(config.sample_rate).unwrap_or(SampleRate::DEVICE);
    let tied = device.description().is_ok_and(|text| text.interface_type() == cpal::InterfaceType::Bluetooth);
    StreamInfo {
        wireless: tied || wireless(&format!("{id} {name}"), (side == Side::Input).then_some(rate)),
        id,
        name,
        rate,
        channels: usize::from(config.channels),
        format: format.to_string(),
        period: stream.buffer_size().ok(),
    }
}
