use crate::devices::{DeviceChoice, DeviceRequest};
use crate::files::{KeyOrPedal, NoteOfChord, UserSettings};
use crate::midi::{KeySpan, LineChoice, Steering, SteeringKey, WhichOfChord};
use crate::music::{self, Concert, Instrument, Intonation, NoteNames, Reading};
use crate::talk::failure::Failure;
use crate::talk::output::warn;
use crate::talk::player::Who;
use crate::units::{Midi, Seconds};
use crate::words::Page;

/// The name of a MIDI instrument among the inputs. Alone it means the first instrument; a colon with a name, or a part of one, may
/// follow.
const MIDI: &str = "midi";

/// A MIDI instrument that answers.
#[derive(Debug, Clone, PartialEq)]
pub struct MidiChoice {
    /// The name of the instrument or a part of its name; `None` for the first instrument.
    pub name: Option<String>,
    /// Which messages of the instrument are listened to; outside a drill no key steers.
    pub line: LineChoice,
    /// Whether the program sounds what is played.
    pub sounds: bool,
    /// How much later its player hears the cues than the system knows.
    pub delay: Seconds,
}

impl MidiChoice {
    /// The choice for a drill: the keys and pedals that were taught steer. A taught key that now lies in the player's range is
    /// played instead, because it may be asked; a warning says so. Other warnings say that no sound is kept, where `keeps_sound`
    /// was typed, and that the bend counts for nothing, where nobody tunes the instrument.
    #[must_use]
    pub fn steered(mut self, stored: &UserSettings, who: &Who, keeps_sound: bool) -> Self {
        if keeps_sound {
            warn("--keep-sound keeps nothing: a MIDI instrument gives no sound, and its notes are kept");
        }
        unbent(self.line.bend, &who.page.instrument).into_iter().for_each(warn);
        too_few_keys(self.line, who).into_iter().for_each(warn);
        self.line = tuned(self.line, &who.page.instrument);
        let kept = &stored.midi;
        let [pause, again, misheard] =
            [(kept.pause, "pause"), (kept.again, "again"), (kept.misheard, "misheard")].map(|(taught, word)| match taught? {
                KeyOrPedal::Key(key) if who.range.contains(Concert(i32::from(key))) => {
                    let name = who.page.heard(Midi(f64::from(key)));
                    warn(format!(
                        "{name} lies in your range: it is played, and does not mean \"{word}\"; teach another (earfirst hear \
                         --input midi --teach {word})"
                    ));
                    None
                }
                KeyOrPedal::Key(key) => Some(SteeringKey::Key(key)),
                KeyOrPedal::Pedal(pedal) => Some(SteeringKey::Pedal(pedal)),
            });
        self.line.steering = Steering { pause, again, misheard };
        self
    }
}

/// The MIDI instrument that was typed or is kept as the input; `None` where that is a microphone.
pub fn midi(input: Option<&str>, stored: &UserSettings) -> Option<MidiChoice> {
    let name = midi_name(input.or(stored.input.as_deref())?)?;
    let name = Some(name.to_owned()).filter(|name| !name.is_empty());
    let delay = Seconds(stored.midi.delay_ms.unwrap_or(0) as f64 / 1000.0);
    Some(MidiChoice { name, line: line(stored), sounds: stored.midi.sound.unwrap_or(false), delay })
}

/// Which messages of a MIDI instrument are listened to, or of a file that was played on one.
pub fn line(stored: &UserSettings) -> LineChoice {
    let kept = &stored.midi;
    let of_chord = match kept.chord {
        Some(NoteOfChord::Lowest) => WhichOfChord::Lowest,
        Some(NoteOfChord::Highest) | None => WhichOfChord::Highest,
    };
    let (bend, breath) = (kept.bend.unwrap_or(false), kept.breath.unwrap_or(false));
    let channel = kept.channel.and_then(|channel| u8::try_from(channel).ok());
    LineChoice { channel, keys: keys(stored), of_chord, bend, breath, steering: Steering::default() }
}

/// The page of an instrument, or else of the one in the settings, as its player reads, and whether there is one: without one it is a page
/// that has the sounding names.
///
/// # Errors
/// Where the table of instruments has no piano.
pub fn kept_page(stored: &UserSettings, on: Option<&Instrument>) -> Result<(Page, bool), Failure> {
    let kept = || stored.instrument.as_deref().and_then(|name| music::instrument(name).ok());
    let own = on.or_else(kept);
    let names = stored.note_names().unwrap_or_default();
    let g_flat = stored.g_flat.unwrap_or(false);
    let reading = Reading { concert: own.is_none(), g_flat, names, reflex: stored.reflex_unit() };
    let piano = || music::instrument("piano").map_err(|unknown| Failure::usage(unknown, ""));
    let instrument = own.map_or_else(piano, Ok)?;
    Ok((Page::new(instrument.clone(), reading), own.is_some()))
}

/// The keys that are listened to: their names are those of the page of the instrument in the settings, whichever is typed, so that they
/// are always the same keys; without an instrument there, they are sounding names.
fn keys(stored: &UserSettings) -> Option<KeySpan> {
    let ends = stored.midi.ends(stored.note_names().unwrap_or_default())?;
    let (page, _) = kept_page(stored, None).ok()?;
    let page = Page { reading: Reading { names: NoteNames::English, ..page.reading }, ..page };
    let [low, high] = ends.map(|end| page.read_note(&end).ok().map(|key| key.0.clamp(0, 127) as u8));
    Some(KeySpan::new(low?, high?))
}

/// What is said where notes of the player's range may be asked that lie beyond the keys that are listened to.
pub fn too_few_keys(line: LineChoice, who: &Who) -> Option<String> {
    let (keys, range) = (line.keys?, who.range);
    let heard = |pitch: Concert| u8::try_from(pitch.0).is_ok_and(|key| keys.holds(key));
    (!heard(range.low) || !heard(range.high)).then(|| {
        let [low, high] = [range.low, range.high].map(|end| who.page.pitch(end));
        format!(
            "midi.keys in your settings leaves out keys of your range, {low} to {high}, which may be asked; widen it there, or narrow \
             the range with --range"
        )
    })
}

/// What is listened to on this instrument: where nobody tunes it, its bend counts for nothing.
pub fn tuned(line: LineChoice, instrument: &Instrument) -> LineChoice {
    LineChoice { bend: line.bend && instrument.intonation != Intonation::Unscored, ..line }
}

/// What is said where intonation was to be judged by the bend (`bend`), and the instrument has none.
pub fn unbent(bend: bool, instrument: &Instrument) -> Option<String> {
    (bend && instrument.intonation == Intonation::Unscored).then(|| {
        format!(
            "midi.bend is true in your settings, but nobody tunes the {}: its intonation is not judged; name the instrument that you \
             play with --instrument, or leave bend out",
            instrument.name
        )
    })
}

/// How `--input` names the MIDI instrument of this name.
pub fn as_midi_input(name: &str) -> String {
    format!("{MIDI}:{name}")
}

fn midi_name(input: &str) -> Option<&str> {
    let (word, rest) = input.split_at_checked(MIDI.len())?;
    let rest = word.eq_ignore_ascii_case(MIDI).then_some(rest)?;
    if rest.is_empty() { Some(rest) } else { rest.strip_prefix(':').map(str::trim) }
}

/// Why no delay is measured of a MIDI instrument.
const NO_DELAY: &str = "its notes come with their times, and what its own sound takes is none of yours";

/// Checks the input of which a delay is to be measured, for a MIDI instrument has none, whether it was typed or is kept.
///
/// # Errors
/// Where the input is a MIDI instrument: why nothing is measured, and what takes a delay off.
pub fn has_delay(input: Option<&str>, stored: &UserSettings) -> Result<(), Failure> {
    let whose = if input.is_some() { "" } else { ", the input in your settings," };
    match input.or(stored.input.as_deref()) {
        Some(input) if midi_name(input).is_some() => Err(Failure::usage(
            format!(
                "\"{input}\"{whose} is a MIDI instrument, and needs no calibration: {NO_DELAY}; nothing was measured"
            ),
            "Are you late by as much each time, in headphones by radio? midi.delay_ms in your settings takes that off. To measure a \
             microphone, name it with --input.",
        )),
        _ => Ok(()),
    }
}

/// Microphone and loudspeaker as typed, as kept, or the system's own. A MIDI instrument that is kept is no microphone.
pub fn devices(input: Option<&str>, output: Option<&str>, stored: &UserSettings) -> DeviceRequest {
    DeviceRequest {
        input: want(input, stored.input.as_deref().filter(|kept| midi_name(kept).is_none())),
        output: want(output, stored.output.as_deref()),
        period: None,
    }
}

/// The devices that a drill needs by the settings alone: beside a MIDI instrument no microphone.
pub fn kept(stored: &UserSettings) -> DeviceRequest {
    if midi(None, stored).is_some() { loudspeaker(stored) } else { devices(None, None, stored) }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_midi_instrument_has_no_delay_to_be_measured_and_what_to_do_instead_is_said() {
        let said = has_delay(Some("midi:stage"), &stored("")).unwrap_err().to_string();
        assert!(said.contains("needs no calibration") && said.contains("midi.delay_ms"), "{said}");
        assert!(has_delay(Some("Microphone"), &stored("input = \"midi\"")).is_ok(), "that one is measured");
        let kept = has_delay(None, &stored("input = \"midi\"")).unwrap_err().to_string();
        assert!(kept.contains("\"midi\", the input in your settings, is a MIDI instrument"), "{kept}");
        assert!(kept.contains("nothing was measured") && kept.contains("name it with --input"), "{kept}");
        assert!(has_delay(None, &stored("")).is_ok());
    }

    fn stored(text: &str) -> UserSettings {
        toml::from_str(text).unwrap()
    }

    #[test]
    fn what_is_set_of_a_midi_instrument_holds_wherever_it_is_played() {
        let set = stored(
            "input = \"midi:stage\"\n[midi]\nchannel = 2\nchord = \"lowest\"\ndelay_ms = 180\npause = \"key 21\"",
        );
        let choice = midi(None, &set).unwrap();
        assert_eq!((choice.name.as_deref(), choice.delay), (Some("stage"), Seconds(0.18)));
        assert_eq!((choice.line.channel, choice.line.of_chord), (Some(2), WhichOfChord::Lowest));
        assert_eq!(choice.line.steering, Steering::default(), "outside a drill the lowest key is a note");
        assert_eq!(midi(Some("midi"), &stored("")).unwrap().delay, Seconds(0.0));
    }

    #[test]
    fn the_keys_that_are_listened_to_are_those_of_the_page_in_the_settings() {
        let keys = |settings: &str| line(&stored(settings)).keys;
        assert_eq!(keys("[midi]\nkeys = \"C3-C8\""), Some(KeySpan::new(48, 108)));
        assert_eq!(keys("instrument = \"piano\"\n[midi]\nkeys = \"A0-C8\""), Some(KeySpan::new(21, 108)));
        // A trumpet in Bb sounds a whole step below its page.
        assert_eq!(keys("instrument = \"trumpet\"\n[midi]\nkeys = \"C4-C5\""), Some(KeySpan::new(58, 70)));
        assert_eq!(keys("note_names = \"german\"\n[midi]\nkeys = \"H3-B4\""), Some(KeySpan::new(59, 70)));
        assert_eq!(keys("[midi]\nchannel = 2"), None);
    }

    #[test]
    fn a_bend_counts_for_nothing_on_an_instrument_that_nobody_tunes() {
        let bends = line(&stored("[midi]\nbend = true"));
        let bend = |name: &str| tuned(bends, crate::music::instrument(name).unwrap()).bend;
        assert_eq!(["piano", "vibraphone", "flute"].map(bend), [false, false, true]);
    }
}
