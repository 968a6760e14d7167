use crate::devices::{DeviceChoice, DeviceRequest};
use crate::files::{ChordNote, KeyOrPedal, UserSettings};
use crate::midi::{LineChoice, Presser, Steering, WhichOfChord};
use crate::talk::failure::Failure;

/// How a MIDI instrument is named among the inputs: alone, the first one; with a colon and a name or a part of one, that.
const MIDI: &str = "midi";

/// A MIDI instrument that answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MidiChoice {
    /// Its name or a part of it; `None` for the first one.
    pub name: Option<String>,
    /// What of it is listened to.
    pub line: LineChoice,
    /// The program sounds what is played.
    pub sounds: bool,
}

/// The MIDI instrument that was typed or is kept as the input; `None` where that is a microphone.
pub fn midi(input: Option<&str>, stored: &UserSettings) -> Option<MidiChoice> {
    let name = midi_name(input.or(stored.input.as_deref())?)?;
    let of_chord = match stored.midi.chord {
        Some(ChordNote::Lowest) => WhichOfChord::Lowest,
        Some(ChordNote::Highest) | None => WhichOfChord::Highest,
    };
    let name = Some(name.to_owned()).filter(|name| !name.is_empty());
    let kept = stored.midi;
    let presser = |taught: Option<KeyOrPedal>| {
        taught.map(|taught| match taught {
            KeyOrPedal::Key(key) => Presser::Key(key),
            KeyOrPedal::Pedal(pedal) => Presser::Pedal(pedal),
        })
    };
    let steering =
        Steering { pause: presser(kept.pause), again: presser(kept.again), misheard: presser(kept.misheard) };
    let (bend, breath) = (kept.bend.unwrap_or(false), kept.breath.unwrap_or(false));
    let line = LineChoice { channel: kept.channel, of_chord, bend, breath, steering };
    Some(MidiChoice { name, line, sounds: kept.sound.unwrap_or(false) })
}

/// As what an input of that name is typed.
pub fn as_midi_input(name: &str) -> String {
    format!("{MIDI}:{name}")
}

fn midi_name(input: &str) -> Option<&str> {
    let (word, rest) = input.split_at_checked(MIDI.len())?;
    let rest = word.eq_ignore_ascii_case(MIDI).then_some(rest)?;
    if rest.is_empty() { Some(rest) } else { rest.strip_prefix(':').map(str::trim) }
}

/// A command that needs sound was given this input.
///
/// # Errors
/// Where it is a MIDI instrument.
pub fn needs_sound(input: Option<&str>) -> Result<(), Failure> {
    match input.filter(|input| midi_name(input).is_some()) {
        Some(input) => Err(Failure::usage(
            format!("\"{input}\" is a MIDI instrument, and this needs a microphone"),
            "Leave --input away, or name a microphone; earfirst devices lists what there is.",
        )),
        None => Ok(()),
    }
}

/// Microphone and loudspeaker as typed, as kept, or the system's own; a MIDI instrument that is kept leaves the system's own
/// microphone to whatever needs one.
pub fn devices(input: Option<&str>, output: Option<&str>, stored: &UserSettings) -> DeviceRequest {
    DeviceRequest {
        input: want(input, stored.input.as_deref().filter(|kept| midi_name(kept).is_none())),
        output: want(output, stored.output.as_deref()),
        period: None,
    }
}

/// The microphone alone.
pub fn microphone(input: Option<&str>, stored: &UserSettings) -> DeviceRequest {
    DeviceRequest { output: DeviceChoice::Nothing, ..devices(input, None, stored) }
}

/// The loudspeaker alone.
pub fn loudspeaker(stored: &UserSettings) -> DeviceRequest {
    loudspeaker_of(None, stored)
}

/// The loudspeaker alone, as typed or as kept.
pub fn loudspeaker_of(output: Option<&str>, stored: &UserSettings) -> DeviceRequest {
    DeviceRequest { input: DeviceChoice::Nothing, ..devices(None, output, stored) }
}

fn want(typed: Option<&str>, kept: Option<&str>) -> DeviceChoice {
    typed.or(kept).map_or(DeviceChoice::Default, |name| DeviceChoice::Named(name.to_owned()))
}
