//! Commands that listen: the sound check, a recording or a MIDI file to notes, a verdict on a recording, free playing taken apart,
//! calibration, the list of devices.

pub(super) mod analyse;
pub(super) mod calibrate;
pub(super) mod devices;
pub(super) mod grade;
pub(super) mod hear;
pub(super) mod notes;
