//! Microphone and loudspeaker, and the ports of MIDI instruments ([`MidiPort`]).
//!
//! Flow: [`Devices::open`] starts a thread that owns host, devices and streams, for opening and dropping can block. Callbacks
//! convert, write into a ring and publish their frame count with the time. The hearing thread reads ([`Devices::read`]), plays
//! ([`Devices::play`]) and asks where a clip lies on the microphone's clock ([`Devices::sounding`]); two `ClockLine`s answer
//! that. A device that was lost is opened again without being asked for; what is wrong is reported as
//! [`SoundFault`](crate::room::SoundFault)s.
//!
//! Invariant: no state of the drill lives in a stream. A device may vanish and come back; the input clock goes on, and the
//! missing time is reported with the first sound after it.
//!
//! # What the callbacks may do
//! Convert, push, sound the keys of a silent MIDI instrument (`key_voice.rs`), publish (frame count, monotonic time) and count what
//! they drop; they never allocate, free, lock, log or wait (`tests/realtime.rs` drives the shipped closures under an allocator that
//! aborts). Dropped samples are counted and shown. A stream that gives exact zeros is probed by a second (`microphone_probe.rs`): a
//! server may have moved the stream to a loudspeaker's monitor.
//!
//! # Delay
//! `calibrate` measures what the clock lines cannot know (drivers, air) as a median of repeats on which two openings of the devices
//! agree. That delay is kept per pair of devices and buffer size and taken off every onset; where it was not measured, every reflex
//! time says so. Kept with it is the delay from callback to sound on which it rests (`reported_delay.rs`): reports of a sound server
//! wander. Without a microphone the input clock is the monotonic one. A MIDI driver's stamps are put on it by the least late message of twenty seconds, the
//! opening of the port and what was known before a rest (`midi/port_clock.rs`). The delay that the backend reports of the
//! loudspeaker is part of a cue's place already; what is left is taken to be nothing, or the player's `midi.delay_ms`. The MIDI
//! library panics where ALSA has no queue, port or buffer left: `midi_guard.rs` makes that a fault.
//!
//! # MIDI in the tests
//! No machine that runs the tests has an ALSA sequencer. A stand-in behind `MidiSystem` plays the system, and one behind
//! `engine::KeySource` plays a port. What a system does to a real port the tests do not show.
//!
//! # To change it
//! What is wrong with a stream is found in `input_checks.rs`, `monitor.rs` or `handle.rs`; its kind is in `room/sound_fault.rs`,
//! its sentence in `words/sound_fault.rs`. Why a stream does not open: `room/device_error.rs`, `words/device_error.rs`; when it
//! counts as lost: `stream_health.rs`; how it is opened: `open_stream.rs`; what happens then: `stream_supervisor.rs`.
//! `cargo test devices`, `cargo test --test realtime`, `cargo test --test live`.

mod calibrate;
mod capture;
mod clock_line;
mod device_error;
mod handle;
mod input_checks;
mod input_reader;
mod key_voice;
mod list;
mod microphone_probe;
#[cfg(test)]
mod midi_failing_tests;
mod midi_guard;
mod midi_ports;
#[cfg(test)]
mod midi_ports_tests;
#[cfg(all(test, target_os = "linux"))]
mod midi_real_tests;
mod midi_system;
mod monitor;
mod open_stream;
mod output_feeder;
mod playback;
mod reported_delay;
mod stderr_redirect;
mod stream_counters;
mod stream_health;
mod stream_supervisor;
mod sweep_delay;
mod wait_monitor;

pub use calibrate::{MeasuredDelay, calibrate, hold};
pub use capture::{capture, input_callback};
pub use device_error::{error_callback, errors};
pub use handle::Devices;
pub use key_voice::KeyTone;
pub use list::{list, meant_device};
pub use midi_ports::{MidiPort, PortEvent, meant as meant_instrument, midi_instruments};
pub use open_stream::{DeviceChoice, DeviceRequest, StreamInfo};
pub use playback::{Order, OrderSender, PlayId, output_callback, playback};
pub use stderr_redirect::{StderrRedirect, put_back_on_panic};
pub use stream_counters::{MonotonicClock, StreamCounters};
pub use stream_health::StreamLiveness;
