//! What can be wrong with the sound, and how to mend it: worded here and nowhere else.

/// What can be wrong with the sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SoundFault {
    /// No callback for half a second (3 s after opening), or the device said so.
    Lost,
    /// Opening takes longer than 15 s.
    Opening,
    /// Exact zeros for the first two seconds.
    Zeros,
    /// Exact zeros after sound was heard: a gate or a mute.
    Gate,
    /// Samples at full scale.
    Clipping,
    /// Our own cue comes back at full level with no room in it: the loudspeaker's monitor, not a microphone.
    Monitor,
    /// The cable of the MIDI instrument is out, or the instrument is off.
    Unplugged,
    /// The MIDI instrument is there and does not open.
    MidiTaken,
    /// The system no longer lets this program use MIDI.
    MidiForbidden,
    /// The system's MIDI gave up: what was played meanwhile is lost.
    MidiFailed,
    /// Some of what the MIDI instrument says arrives late by up to so many milliseconds more than the rest.
    Uneven(u16),
    /// The sound had holes in cue after cue: the devices are being opened anew.
    Faltering,
}

impl SoundFault {
    /// The drill cannot go on until this is over.
    #[must_use]
    pub const fn stops(self) -> bool {
        !matches!(self, Self::Gate | Self::Clipping | Self::Uneven(_))
    }

    /// What is wrong, as a clause.
    #[must_use]
    pub const fn what(self) -> &'static str {
        match self {
            Self::Lost => "the microphone or loudspeaker has stopped",
            Self::Opening => "the sound system has not answered for 15 seconds",
            Self::Zeros => "the microphone gives nothing at all",
            Self::Gate => "the microphone goes dead between sounds",
            Self::Clipping => "too loud for this microphone",
            Self::Monitor => "this input is the loudspeaker itself, not a microphone",
            Self::Unplugged => "the MIDI instrument is not there any more",
            Self::MidiTaken => "the MIDI instrument does not open: another program holds it",
            Self::MidiForbidden => "the system does not let this program use MIDI any more",
            Self::MidiFailed => "the system's MIDI has failed",
            Self::Uneven(_) => "MIDI arrives unevenly",
            Self::Faltering => "the sound has holes: microphone and loudspeaker are opened anew",
        }
    }

    /// How to mend it, as a request.
    #[must_use]
    pub const fn mend(self) -> &'static str {
        match self {
            Self::Lost => "plug it in, or close what keeps the machine busy",
            Self::Opening => "close programs that hold it, or plug the device in again",
            Self::Zeros => "unmute it, or allow this terminal to use it in the system settings",
            Self::Gate => "turn noise suppression off",
            Self::Clipping => "move it away or turn its gain down",
            Self::Monitor => "choose another: earfirst devices lists them",
            Self::Unplugged => "plug it in and switch it on again; it is found by itself",
            Self::MidiTaken => "close that program",
            Self::MidiForbidden => "sign in here again, or join the group that owns it (often audio)",
            Self::MidiFailed => "it is being opened anew; restart the machine if it fails again",
            Self::Uneven(_) => "chords may come apart; close other programs",
            Self::Faltering => "close what keeps the machine busy",
        }
    }

    /// The whole sentence without its full stop: what is wrong, with a figure in brackets where one is known, and how to mend it.
    #[must_use]
    pub fn sentence(self, figure: Option<&str>) -> String {
        let own = if let Self::Uneven(ms) = self { Some(format!("{ms} ms")) } else { None };
        let figure = figure.or(own.as_deref()).map_or(String::new(), |figure| format!(" ({figure})"));
        format!("{}{figure}: {}", self.what(), self.mend())
    }
}
