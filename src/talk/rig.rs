//! What hears a player in a drill and sounds its cues: microphone or MIDI instrument, and loudspeaker.

use crate::devices::MonotonicClock;
use crate::engine::{DeviceAudio, Listener, MidiEar, MidiPlayer, Rig};
use crate::files::{Calibration, Places, UserSettings};
use crate::room::Echo;
use crate::room::{DeviceError as NoSound, Side};
use crate::talk::chosen_devices::{self, MidiChoice};
use crate::talk::output::later;
use crate::talk::sitting::Sitting;
use crate::units::{Decibels, Hertz, SampleRate, Seconds};

/// What is said of devices that an earlier program measured.
pub const OLDER: &str =
    "This microphone and loudspeaker were calibrated by an earlier earfirst; earfirst calibrate gives surer times now.";

/// Microphone and loudspeaker, open, with what is known of the two together.
pub struct OpenPair {
    /// The devices.
    pub audio: DeviceAudio,
    /// The rate of the microphone.
    pub rate: SampleRate,
    /// The delay beyond what the clocks of the devices say; `None` where it was not measured.
    pub delay: Option<Seconds>,
    /// The identifier of the output, under which the settings keep the level of its cues.
    pub output: String,
}

/// Opens microphone and loudspeaker as typed or as kept.
pub fn pair(input: Option<&str>, output: Option<&str>, stored: &UserSettings) -> Result<OpenPair, NoSound> {
    let mut audio = DeviceAudio::open(&chosen_devices::devices(input, output, stored))?;
    let (Some(input), Some(output)) = (audio.about(Side::Input), audio.about(Side::Output)) else {
        return Err(NoSound::Silent(Side::Input));
    };
    let measured = stored.calibration(&input.id, &output.id, input.period.unwrap_or(0));
    let (delay, rate, output) = (measured.map(|kept| Seconds(kept.remainder_s)), input.rate, output.id.clone());
    if measured.is_some_and(Calibration::is_older) {
        later(OLDER);
    }
    audio.hold(measured.and_then(|kept| kept.ahead_s).map(Seconds));
    Ok(OpenPair { audio, rate, delay, output })
}

/// Opens the devices of a player at the microphone; gives the identifier of the output too.
pub fn microphone(
    input: Option<&str>,
    output: Option<&str>,
    stored: &UserSettings,
    sitting: &mut Sitting,
) -> Result<(Box<dyn Rig>, String), NoSound> {
    let OpenPair { audio, rate, delay, output } = pair(input, output, stored)?;
    sitting.hears(rate, delay, stored.cue_level(&output));
    let listener = Listener::new(sitting.ear(rate), Echo::new(rate), audio);
    let listener = if delay.is_some() { listener.timing_cues() } else { listener };
    Ok((Box::new(listener), output))
}

/// Opens the devices of a player at a MIDI instrument; gives the identifier of the output too.
pub fn keys(
    midi: &MidiChoice,
    output: Option<&str>,
    stored: &UserSettings,
    a4: Hertz,
) -> Result<(Box<dyn Rig>, String), NoSound> {
    let audio = DeviceAudio::open(&chosen_devices::loudspeaker_of(output, stored));
    let clock = audio.as_ref().map_or_else(|_| MonotonicClock::begin(), DeviceAudio::clock);
    let (ear, audio) = both(MidiEar::open(midi.name.as_deref(), clock, midi.line), audio)?;
    let output = audio.about(Side::Output).ok_or(beside_keys(NoSound::Silent(Side::Output)))?.id.clone();
    let player = MidiPlayer::new(ear, audio);
    let player = if midi.sounds { player.sounding(a4) } else { player };
    Ok((Box::new(player), output))
}

/// The instrument and the loudspeaker; where both are missing, one error says both, so that nobody mends one to hear of the other.
fn both<I, L>(instrument: Result<I, NoSound>, loudspeaker: Result<L, NoSound>) -> Result<(I, L), NoSound> {
    match (instrument, loudspeaker.map_err(beside_keys)) {
        (Ok(instrument), Ok(loudspeaker)) => Ok((instrument, loudspeaker)),
        (Err(no_keys), Err(no_cues)) => Err(NoSound::Both(Box::new(no_keys), Box::new(no_cues))),
        (Err(one), Ok(_)) | (Ok(_), Err(one)) => Err(one),
    }
}

/// Why no cue sounds, in words for a player whose own instrument sounds all the same.
fn beside_keys(why: NoSound) -> NoSound {
    NoSound::NoCues(Box::new(why))
}

/// Keeps, for the next sitting, how loud the cues were that the player answered on this output.
pub fn keep_level(places: &Places, output: &str) -> Box<dyn FnOnce(Decibels) + Send> {
    let (places, output) = (places.clone(), output.to_owned());
    Box::new(move |level| {
        // Where the level cannot be kept, the next sitting begins softly again, which harms nobody.
        let _ = UserSettings::change(&places, |stored| {
            if stored.cue_level(&output) != Some(level) {
                stored.answered_at(&output, level);
            }
        });
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::room::MidiError;

    #[test]
    fn where_instrument_and_loudspeaker_are_missing_both_are_said_at_once() {
        let no_keys = || NoSound::from(MidiError::NoPort);
        let no_cues = || NoSound::Unknown { side: Side::Output, name: "Box".to_owned() };
        let said = both::<(), ()>(Err(no_keys()), Err(no_cues())).unwrap_err().to_string();
        assert!(
            said.contains("no MIDI instrument is there") && said.contains("no loudspeaker called \"Box\""),
            "{said}"
        );
        let one = both::<(), ()>(Err(no_keys()), Ok(())).unwrap_err().to_string();
        assert!(one.contains("no MIDI instrument") && !one.contains("loudspeaker"), "{one}");
        let other = both::<(), ()>(Ok(()), Err(no_cues())).unwrap_err().to_string();
        assert!(other.contains("loudspeaker") && !other.contains("no MIDI instrument is there"), "{other}");
    }

    #[test]
    fn without_a_loudspeaker_a_player_at_keys_is_told_that_the_cues_need_one() {
        let gone = NoSound::Gone { side: Side::Output, name: "Box".to_owned() };
        for why in [NoSound::None(Side::Output), gone] {
            let (first, said) = (why.to_string(), beside_keys(why).to_string());
            assert!(said.starts_with(&first) && said.contains("never from the MIDI instrument"), "{said}");
            assert!(said.contains("headphones or a loudspeaker") && said.contains("--output"), "{said}");
        }
    }
}
