//! What can be wrong with the sound or with the instrument's cable, as data; `words/sound_fault.rs` has the sentences.

use crate::room::device_error::Side;

/// What can be wrong with the sound: the one list for devices, drill, screen and sound check.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SoundFault {
    /// No callback came for half a second (3 s after opening, .3 s after an error), or the device said that it is gone. It is being opened
    /// again.
    Lost(Side),
    /// Opening or closing a device takes longer than 15 s.
    Opening,
    /// The input gave nothing but exact zeros for two seconds since it was opened; one that was lost and opened again, since its
    /// first sample.
    Zeros,
    /// The input has given exact zeros for .3 s after sound was heard: a gate or a mute.
    Gate,
    /// At least three samples in a row lay at full scale within the last two seconds.
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
    /// Some messages of the MIDI instrument arrive late, by up to so many milliseconds more than the one that is least late.
    Uneven(u16),
    /// Keys come on two MIDI channels, and both are heard as one line.
    TwoChannels(u8, u8),
    /// Keys come on a MIDI channel that is not listened to: that channel, and the one that is.
    OtherChannel(u8, u8),
    /// A key is held while others are played one after the other that it hides.
    KeyHeld,
    /// The sound had holes in cue after cue; both sides are being opened anew, as the drill asked.
    Xruns,
    /// As `Xruns`, beside a MIDI instrument: the loudspeaker alone is opened anew.
    CueXruns,
}

impl SoundFault {
    /// Whether nothing of the player arrives while the loudspeaker is sound.
    #[must_use]
    pub const fn unheard(self) -> bool {
        matches!(
            self,
            Self::Zeros | Self::Monitor | Self::Unplugged | Self::MidiTaken | Self::MidiForbidden | Self::MidiFailed
        )
    }

    /// Whether the drill cannot go on until this is over.
    #[must_use]
    pub const fn stops(self) -> bool {
        let told = matches!(
            self,
            Self::Gate
                | Self::Clipping
                | Self::Uneven(_)
                | Self::TwoChannels(..)
                | Self::OtherChannel(..)
                | Self::KeyHeld
        );
        !told
    }
}
