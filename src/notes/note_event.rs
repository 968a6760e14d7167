use crate::units::{Cents, Decibels, Hertz, Midi, SampleRate, Seconds};

/// What an ear is built for. A range is a bound on the search, never a promise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EarSettings {
    /// The stream's own rate, 8 to 192 kHz; nothing is resampled.
    pub rate: SampleRate,
    /// Lowest frequency to look for, 26 Hz or more.
    pub lowest: Hertz,
    /// Highest frequency to look for; at most .45 of the rate is used.
    pub highest: Hertz,
    /// The reference that pitches are reported against, 415 to 466 Hz.
    pub a4: Hertz,
}

/// One look at the sound, every few milliseconds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// The middle of the window that was looked at.
    pub at: Seconds,
    /// The pitch, where the sound was periodic enough.
    pub pitch: Option<Hertz>,
    /// Periodicity, 0 to 1.
    pub clarity: f64,
    /// Level of the newest few milliseconds.
    pub loudness: Decibels,
    /// The end of the last sample that was needed to know this.
    pub known: Seconds,
}

/// A note as it was sounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeardNote {
    /// Counts from 0 in the order of announcement, so that later words about a note can be joined to the first.
    pub number: u32,
    /// The first rise of the sound (or the moment a slur changes pitch), back-dated: no delay of the tracker is left in it.
    pub onset: Seconds,
    /// Where the sound fell away or gave way to the next note; while the note still sounds, the last instant heard.
    pub release: Seconds,
    /// The pitch centre: median over the steady middle, whole vibrato cycles.
    pub pitch: Midi,
    /// Spread of the pitch about its centre (median absolute deviation); `None` for notes under 80 ms, whose pitch centre
    /// should not be used for intonation either.
    pub spread: Option<Cents>,
    /// Loudest level of the note.
    pub loudness: Decibels,
    /// How sure the ear is that this was a note and this pitch, 0 to 1.
    pub confidence: f64,
    /// The end of the last sample needed when the note was first told.
    pub announced: Seconds,
    /// The pitch that was told then.
    pub announced_pitch: Midi,
}

/// What an ear tells, in the order it comes to know it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoteEvent {
    /// A note sounds. Told once a note, before anything else about it.
    On(HeardNote),
    /// A note that was announced, and still sounds, turned out to be of another pitch or onset.
    Revised(HeardNote),
    /// A note is over; these are its final values. Told exactly once a note.
    Off(HeardNote),
}

impl HeardNote {
    /// How long the note sounded (so far).
    #[must_use]
    pub fn length(&self) -> Seconds {
        self.release - self.onset
    }
}

impl NoteEvent {
    /// The note this is about.
    #[must_use]
    pub const fn note(&self) -> &HeardNote {
        match self {
            Self::On(note) | Self::Revised(note) | Self::Off(note) => note,
        }
    }
}
