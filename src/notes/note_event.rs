use crate::units::{Cents, Decibels, Hertz, Midi, SampleRate, Seconds};

/// What an ear is built for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EarSettings {
    /// Sampling rate of the stream, 8 to 192 kHz. The ear works at this rate, or at a whole fraction of this rate.
    pub rate: SampleRate,
    /// Lowest frequency to search, 26 Hz or more. A note below it is missed or heard an octave high.
    pub lowest: Hertz,
    /// Highest frequency to search. Above 5.5 kHz, and above .45 of the rate at which the ear works, nothing is searched.
    pub highest: Hertz,
    /// The frequency of A4 that pitches are reported against, 415 to 466 Hz.
    pub a4: Hertz,
}

/// What the ear knows of one moment of the sound; a new frame comes about every 3 ms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// The middle of the window that the pitch rests on (without a pitch, of the newest hop), on the clock of the input stream.
    pub at: Seconds,
    /// The pitch; `None` where the sound was not periodic enough, less than 3 dB louder than the room, or mains hum.
    pub pitch: Option<Hertz>,
    /// How well the sound repeats after one period, 0 to 1 (normalised square difference).
    pub clarity: f64,
    /// Level of the newest hop of about 3 ms.
    pub loudness: Decibels,
    /// The end of the last sample that this frame rests on, on the clock of the input stream.
    pub known: Seconds,
}

/// A note as it was sounded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeardNote {
    /// Counts from 0 in the order in which the notes begin; a number may be left out, where the sound that had it turned out to be no note.
    /// All events of one note carry the same number.
    pub number: u32,
    /// The first rise of the sound (or the moment a slur changes pitch), back-dated: no delay of the tracker is left in it.
    pub onset: Seconds,
    /// Where the sound fell away or gave way to the next note; while the note still sounds, the last instant heard.
    pub release: Seconds,
    /// The pitch centre: the middle of a vibrato, else the median over the steady middle; while the note still sounds, the pitch so far.
    pub pitch: Midi,
    /// Spread of the pitch about its centre (median absolute deviation); `None` while the note sounds, and for notes under 80 ms,
    /// whose pitch centre should not be used for intonation either.
    pub spread: Option<Cents>,
    /// Loudest level of the note.
    pub loudness: Decibels,
    /// How sure the ear is that this was a note and this pitch: of notes told with .8, eight in ten are right. 0 to 1.
    pub confidence: f64,
    /// The end of the last sample that was needed to announce the note: the first moment at which a listener could know of the
    /// note.
    pub announced: Seconds,
    /// The pitch with which the note was announced.
    pub announced_pitch: Midi,
}

/// What the ear reports of a note. Of each note come one `On`, any number of `Revised`, and one `Off`, in this order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoteEvent {
    /// A note has begun and sounds.
    On(HeardNote),
    /// A note that was announced and still sounds has another pitch or onset than was reported.
    Revised(HeardNote),
    /// A note is over. These are its final values.
    Off(HeardNote),
}

impl HeardNote {
    /// How long the note sounded; while it still sounds, how long it has sounded so far.
    #[must_use]
    pub fn length(&self) -> Seconds {
        self.release - self.onset
    }
}

impl NoteEvent {
    /// The note that this event reports.
    #[must_use]
    pub const fn note(&self) -> &HeardNote {
        match self {
            Self::On(note) | Self::Revised(note) | Self::Off(note) => note,
        }
    }
}
