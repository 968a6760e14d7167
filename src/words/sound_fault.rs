//! Each fault of the sound, and how to mend it: a [`SoundFault`] is worded here and nowhere else.

use crate::room::{Side, SoundFault};

impl SoundFault {
    /// The fault that is named where the drill pauses and no cause is known; beside a MIDI instrument only the loudspeaker is open.
    #[must_use]
    pub const fn lost(by_midi: bool) -> Self {
        Self::Lost(if by_midi { Side::Output } else { Side::Input })
    }

    /// What is wrong, as a clause.
    #[must_use]
    pub const fn what(self) -> &'static str {
        match self {
            Self::Lost(Side::Input) => "the microphone or loudspeaker has stopped",
            Self::Lost(Side::Output) => "the loudspeaker has stopped",
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
            Self::TwoChannels(..) => "two MIDI channels play as one",
            Self::OtherChannel(..) => "another MIDI channel plays, unheard",
            Self::KeyHeld => "a key that you hold hides what follows",
            Self::Xruns => "the sound has holes: microphone and loudspeaker are opened anew",
            Self::CueXruns => "the cues have holes: the loudspeaker is opened anew, the MIDI port stays open",
        }
    }

    /// How to mend it, as a request.
    #[must_use]
    pub const fn mend(self) -> &'static str {
        match self {
            Self::Lost(_) => "plug it in, or close what keeps the machine busy",
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
            Self::KeyHeld => "let it go sooner: one line is heard",
            Self::TwoChannels(..) => "set midi.channel to hear one",
            Self::OtherChannel(..) => "see midi.channel in settings",
            Self::Xruns | Self::CueXruns => "close what keeps the machine busy",
        }
    }

    /// The whole sentence without its full stop: what is wrong, with a figure in brackets where one is known, and how to mend it.
    #[must_use]
    pub fn sentence(self, figure: Option<&str>) -> String {
        let own = match self {
            Self::Uneven(ms) => Some(format!("{ms} ms")),
            Self::TwoChannels(one, other) => Some(format!("{one} and {other}")),
            Self::OtherChannel(plays, heard) => Some(format!("{plays}, not {heard}")),
            _ => None,
        };
        let figure = figure.or(own.as_deref()).map_or(String::new(), |figure| format!(" ({figure})"));
        format!("{}{figure}: {}", self.what(), self.mend())
    }
}
