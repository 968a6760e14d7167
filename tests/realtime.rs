//! The callbacks as they are shipped, the ear, and what takes a band out of the microphone, under an allocator that aborts when one of them allocates or frees.
//!
//! The tests are a binary of their own, because an allocator is there for a whole program. In builds without debug assertions the
//! allocator lets everything pass.

use std::sync::Arc;

use assert_no_alloc::{AllocDisabler, assert_no_alloc};
use cpal::{FromSample, I24, InputCallbackInfo, OutputCallbackInfo, SizedSample, StreamInstant, U24};
use cpal::{InputStreamTimestamp, OutputStreamTimestamp};
use earfirst::outside::cue::CueSound;
use earfirst::outside::devices::{KeyTone, MonotonicClock, Order, OrderSender, PlayId, StreamCounters, StreamLiveness};
use earfirst::outside::devices::{capture, error_callback, errors, input_callback, output_callback, playback};
use earfirst::outside::notes::{Ear, EarSettings, Frame, NoteEvent};
use earfirst::outside::room::{Echo, Presence};
use earfirst::outside::sound::{Clip, Placement};
use earfirst::outside::units::{A440, Decibels, Hertz, SampleRate, Seconds};

#[global_allocator]
static ABORTS: AllocDisabler = AllocDisabler;

/// Callback lengths in frames, as real devices vary them; more than the ring holds among them.
const LENGTHS: [usize; 7] = [0, 1, 441, 4097, 64, 200_000, 3];

fn heard_at() -> InputCallbackInfo {
    let zero = StreamInstant::ZERO;
    InputCallbackInfo::new(InputStreamTimestamp { callback: zero, capture: zero })
}

fn played_at() -> OutputCallbackInfo {
    let zero = StreamInstant::ZERO;
    OutputCallbackInfo::new(OutputStreamTimestamp { callback: zero, playback: zero })
}

/// One loudness, converted into a format and back through the shipped callback.
fn captures<T>(channels: usize)
where
    T: SizedSample + FromSample<f32> + Send + 'static,
    f32: FromSample<T>,
{
    let signs = Arc::new(StreamCounters::opened_at(1));
    let (take, mut captured) = capture(channels, SampleRate::CD, Arc::clone(&signs), MonotonicClock::begin());
    let mut callback = input_callback::<T>(take);
    let info = heard_at();
    let mut expected = 0u64;
    for frames in LENGTHS {
        // Part of a frame too many: it must do no harm.
        let data = vec![T::from_sample_(0.5f32); frames * channels + channels / 2];
        assert_no_alloc(|| callback(&data, &info));
        expected += frames as u64;
        while captured
            .take(|samples| assert!(samples.iter().all(|sample| (sample - 0.5).abs() < 0.01), "{:?}", T::FORMAT))
            .is_some()
        {}
    }
    assert_eq!((signs.frames(), signs.totals().dropped), (expected, 200_000), "{:?}", T::FORMAT);
}

fn plays<T>(channels: usize)
where
    T: SizedSample + FromSample<f32> + Send + PartialEq + 'static,
    f32: FromSample<T>,
{
    let signs = Arc::new(StreamCounters::opened_at(1));
    let (fill, mut orders) = playback(channels, SampleRate::CD, Arc::clone(&signs), MonotonicClock::begin());
    let mut callback = output_callback::<T>(fill);
    let info = played_at();
    let mut id = 0;
    for frames in LENGTHS {
        for clip in [vec![0.5f32; 1], vec![-0.25; 441], vec![1.5; 5000], Vec::new()] {
            id += 1;
            order(&mut orders, id, clip);
        }
        // Twelve keys, two more than sound, one let go; where the orders find no room they are refused.
        let levels = (Decibels(-40.0), Decibels(-34.0));
        for key in (60..72).filter(|_| frames < 10_000) {
            let tone = KeyTone::new(key, Hertz(200.0 + 20.0 * f64::from(key)), levels, SampleRate::CD);
            let _ = orders.order(Order::KeyDown(tone));
        }
        let _ = orders.order(Order::KeyUp(Some(60)));
        let mut data = vec![T::from_sample_(0.0f32); frames * channels];
        assert_no_alloc(|| callback(&mut data, &info));
        let _ = orders.order(Order::Hush);
        // The memory comes back to this side, to be freed here.
        orders.sweep();
        if frames > 0 {
            let first = f32::from_sample_(data[0]);
            assert!(first > 0.2, "{:?}: {first}", T::FORMAT);
        }
    }
    assert_eq!(signs.frames(), LENGTHS.iter().sum::<usize>() as u64);
}

fn order(orders: &mut OrderSender, id: u64, clip: Vec<f32>) {
    // When nobody calls back (the length 0) the orders wait, and at last find no room: the caller is told.
    let clip = Arc::new(Clip { rate: SampleRate::DEVICE, samples: clip });
    let _ = orders.order(Order::Play { id: PlayId(id), clip, at: None });
}

macro_rules! in_every_format {
    ($drive:ident, $($format:ty),*) => { $( $drive::<$format>(1); $drive::<$format>(2); $drive::<$format>(12); )* };
}

#[test]
fn the_microphone_callback_takes_any_length_and_format_without_touching_the_heap() {
    in_every_format!(captures, f32, f64, i8, i16, I24, i32, i64, u8, u16, U24, u32, u64);
}

#[test]
fn the_loudspeaker_callback_plays_and_hushes_in_any_format_without_touching_the_heap() {
    in_every_format!(plays, f32, f64, i8, i16, I24, i32, i64, u8, u16, U24, u32, u64);
}

#[test]
fn nobody_reading_and_nobody_ordering_does_not_make_a_callback_allocate() {
    let signs = Arc::new(StreamCounters::opened_at(1));
    let (take, captured) = capture(2, SampleRate::CD, Arc::clone(&signs), MonotonicClock::begin());
    let (fill, orders) = playback(2, SampleRate::CD, Arc::clone(&signs), MonotonicClock::begin());
    drop((captured, orders));
    let (mut heard, mut played) = (input_callback::<i16>(take), output_callback::<i16>(fill));
    let mut data = [0i16; 882];
    for _ in 0..10_000 {
        assert_no_alloc(|| {
            heard(&data, &heard_at());
            played(&mut data, &played_at());
        });
    }
    assert!(signs.totals().dropped > 0);
}

/// An error with the sound system's own words.
fn worded(kind: cpal::ErrorKind) -> cpal::Error {
    cpal::Error::with_message(kind, "what the system said".to_owned())
}

#[test]
fn the_error_callback_neither_allocates_nor_frees_and_tells_an_underrun_from_the_end() {
    use cpal::{Error, ErrorKind as Kind};
    let signs = Arc::new(StreamCounters::opened_at(1));
    let (note, mut waste) = errors(Arc::clone(&signs), MonotonicClock::begin());
    let mut callback = error_callback(note);
    // Words come with each error; they are freed on this side.
    for kind in [Kind::Xrun, Kind::DeviceChanged, Kind::BackendError, Kind::Other] {
        // As many as an underrun may bring before anybody frees them.
        for _ in 0..16_000 {
            let error = worded(kind);
            assert_no_alloc(|| callback(error));
        }
        while waste.pop().is_ok() {}
    }
    for _ in 0..20_000 {
        assert_no_alloc(|| callback(Error::new(Kind::BackendError)));
    }
    let StreamLiveness { error, gone, .. } = signs.liveness();
    assert!(error.is_some() && !gone);
    let counted = signs.totals();
    assert_eq!((counted.xruns, counted.errors, counted.unfreed), (16_000, 84_000, 0));
    assert_no_alloc(|| callback(Error::new(Kind::DeviceNotAvailable)));
    assert!(signs.liveness().gone);
}

#[test]
fn a_storm_of_errors_that_nobody_frees_in_time_is_counted_and_not_freed_in_the_callback() {
    let signs = Arc::new(StreamCounters::opened_at(1));
    let (note, mut waste) = errors(Arc::clone(&signs), MonotonicClock::begin());
    let mut callback = error_callback(note);
    let mut storm = |count: u64| {
        for _ in 0..count {
            let error = worded(cpal::ErrorKind::BackendError);
            assert_no_alloc(|| callback(error));
        }
    };
    storm(65);
    assert_eq!(std::iter::from_fn(|| waste.pop().ok()).count(), 65);
    storm(16_384 + 65_536);
    assert_eq!((signs.totals().errors, signs.totals().unfreed), (65 + 16_384 + 65_536, 65_536));
    // The room is there again once somebody has freed what waits.
    assert_eq!(std::iter::from_fn(|| waste.pop().ok()).count(), 16_384);
    storm(16_384);
    assert_eq!(signs.totals().unfreed, 65_536, "bounded");
}

/// Low and high notes, repeated and not, one of them so long that the ear no longer keeps every look of it; then hiss; all over hum.
fn playing(rate: f64) -> Vec<f32> {
    let notes = [(41.2, 0.4), (440.0, 0.2), (440.0, 0.2), (466.2, 0.15), (2093.0, 0.2), (110.0, 7.0), (55.0, 0.3)];
    let mut sound = vec![0.0; (0.4 * rate) as usize];
    for (hz, length) in notes {
        let count = (length * rate) as usize;
        sound.extend((0..count).map(|n| {
            let t = n as f64 / rate;
            let edge = (t / 0.008).min((length - t) / 0.008).clamp(0.0, 1.0);
            let wave: f64 = (1..6).map(|k| (std::f64::consts::TAU * hz * f64::from(k) * t).sin() / f64::from(k)).sum();
            (0.2 * edge * wave) as f32
        }));
    }
    sound.extend((0..(rate as u32)).map(|n| (n.wrapping_mul(2_654_435_761) as f32 / 4.3e9 - 0.5) * 0.01));
    let hum = |n: usize| (0.02 * (std::f64::consts::TAU * 50.0 * n as f64 / rate).sin()) as f32;
    sound.iter().enumerate().map(|(n, s)| s + hum(n)).collect()
}

#[test]
fn the_ear_hears_notes_begin_change_repeat_and_end_without_touching_the_heap() {
    for hz in [8000, 44_100, 192_000] {
        let rate = SampleRate::new(hz).unwrap();
        let settings = EarSettings { rate, lowest: Hertz(27.0), highest: Hertz(4300.0), a4: A440 };
        let sound = playing(rate.per_second());
        let mut ear = Ear::new(&settings);
        let (mut frames, mut begun, mut ended) = (0, 0, 0);
        assert_no_alloc(|| {
            let mut on_frame = |_: &Frame| frames += 1;
            let mut on_note = |told: &NoteEvent| match told {
                NoteEvent::On(_) => begun += 1,
                NoteEvent::Revised(_) => (),
                NoteEvent::Off(_) => ended += 1,
            };
            for block in sound.chunks(441) {
                ear.hear(block, &mut on_frame, &mut on_note);
            }
            ear.finish(&mut on_frame, &mut on_note);
        });
        assert!(frames > 2000 && begun >= 6 && begun == ended, "{hz} Hz: {frames} frames, {begun} notes");
    }
}

/// A low tone every half second, another one each time, through a loudspeaker 20 ms away; from 6 s on the way is 3 ms longer.
fn band_and_microphone() -> (Vec<f32>, Vec<f32>) {
    let rate = SampleRate::CD.per_second();
    let tone = |n: i64| {
        let (t, beat) = (n.max(0) as f64 / rate, n.max(0) as f64 / rate * 2.0);
        let hz = 65.4 * 2f64.powf(f64::from([0, 7, 2, 9, 5, 11, 4, 10][beat as usize % 8]) / 12.0);
        let edge = (beat.fract() / 0.02).min((1.0 - beat.fract()) / 0.02).min(1.0);
        let wave: f64 = (1..9).map(|k| (std::f64::consts::TAU * hz * f64::from(k) * t).sin() / f64::from(k)).sum();
        if n < 0 { 0.0 } else { (0.1 * edge * wave) as f32 }
    };
    let count = (9.0 * rate) as i64;
    let late = |n: i64| n - ((if n as f64 > 6.0 * rate { 0.023 } else { 0.02 }) * rate) as i64;
    let hiss = |n: i64| ((n as u32).wrapping_mul(2_654_435_761) as f32 / 4.3e9 - 0.5) * 0.001;
    ((0..count).map(tone).collect(), (0..count).map(|n| 0.7 * tone(late(n)) + hiss(n)).collect())
}

#[test]
fn the_band_is_taken_out_without_touching_the_heap_once_it_has_begun() {
    let (band, microphone) = band_and_microphone();
    let clip = Arc::new(Clip { rate: SampleRate::CD, samples: band });
    let (beats, clicks, notes) = (Vec::new(), Vec::new(), Vec::new());
    let sound = CueSound { end: clip.length(), clip, beat_zero: None, beats, clicks, notes };
    let mut echo = Echo::new(SampleRate::CD);
    let mut block = Vec::with_capacity(8192);
    let mut left = [0.0f64; 2];
    for (n, part) in microphone.chunks(441).enumerate() {
        if n == 50 {
            echo.band(&sound, Placement::at(Seconds(0.0)), Seconds(2.0));
        }
        block.clear();
        block.extend_from_slice(part);
        let at = Seconds(0.01 * n as f64);
        // The first second finds out how much room the blocks on their way out need.
        if n < 150 {
            echo.clean(&mut block, at);
        } else {
            assert_no_alloc(|| echo.clean(&mut block, at));
        }
        let power = |samples: &[f32]| samples.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>();
        if n >= 400 {
            left = [left[0] + power(part), left[1] + power(&block)];
        }
    }
    assert_eq!(echo.learned().presence, Presence::Heard);
    assert!(left[1] < 0.1 * left[0], "it was taken out: {left:?}");
}
