//! What a sound check found, in words: the levels in a line, and what to change, a sentence each.

use crate::room::{InputIssue, SoundCheck};
use crate::units::{Decibels, Seconds};
use crate::words::SoundFault;

/// A level below this is no sound at all: the smallest step of 16 bits is at -90 dB.
const NOTHING: Decibels = Decibels(-120.0);

/// Sound that never falls below this is loud, though nobody plays: 10 dB more than a noisy room has.
const LOUD: Decibels = Decibels(-40.0);

/// Where the sound came from, which decides the advice: a fault of the microphone cannot be mended in its recording.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HeardThrough {
    /// A microphone.
    Microphone,
    /// A recording in a file.
    Recording {
        /// Length of the part that is missing, where the recording was cut off.
        missing: Option<Seconds>,
    },
}

/// Peak and noise in one line; `notes` is the number of notes that were heard.
#[must_use]
pub fn levels(check: &SoundCheck, notes: usize) -> String {
    let levels = check.levels();
    let noise = if levels.floor < NOTHING {
        "no noise at all".to_owned()
    } else if check.paused() || notes == 0 {
        format!("noise {:.0} dB", levels.floor.0)
    } else {
        "no pause to measure the noise in".to_owned()
    };
    let peak = if levels.peak < NOTHING {
        "no sound".to_owned()
    } else {
        format!("peak {:.0} dB", levels.peak.0.round() + 0.0)
    };
    format!("{peak}, {noise}")
}

/// What was found about the sound, a sentence each; `below` names the pitch of a second voice below the line.
#[must_use]
pub fn opinions(check: &SoundCheck, notes: usize, source: HeardThrough, below: Option<&str>) -> Vec<String> {
    let mut found = check.issues();
    let mut said: Vec<String> = below.map(second_voice).into_iter().collect();
    if let HeardThrough::Recording { missing } = source {
        if let Some(missing) = missing {
            said.push(format!("the recording is cut off: its last {:.1} s are missing", missing.0));
        }
        if found.iter().any(|opinion| matches!(opinion, InputIssue::Zeros { .. })) {
            said.push("nothing but silence is in this recording".to_owned());
            return said;
        }
        // A recording may be synthetic and without noise, and only noise tells where a headset's band ends.
        found.retain(|opinion| !matches!(opinion, InputIssue::Wireless { .. }));
    }
    if notes == 0 && !found.iter().any(|opinion| matches!(opinion, InputIssue::Zeros { .. })) {
        let soft = found.iter().any(|opinion| matches!(opinion, InputIssue::TooSoft { .. }));
        found.retain(|opinion| !matches!(opinion, InputIssue::TooSoft { .. }));
        let floor = check.levels().floor.0;
        said.push(if soft {
            format!("there is sound (to {:.0} dB), but no note in it: play nearer", check.levels().peak.0)
        } else if floor > LOUD.0 {
            found.retain(|opinion| !matches!(opinion, InputIssue::Noisy { .. }));
            format!(
                "too noisy: at {floor:.0} dB there is sound, but no pitch in it; find the source, or a quieter room"
            )
        } else if source == HeardThrough::Microphone {
            "no note was heard: play, and be silent by turns".to_owned()
        } else {
            "no note was heard in this recording".to_owned()
        });
    }
    said.extend(found.iter().map(|found| opinion(found, source)));
    if said.is_empty() {
        said.push(if source == HeardThrough::Microphone {
            "level and noise are good: nothing to change at the microphone".to_owned()
        } else {
            "level and noise of the recording are good".to_owned()
        });
    }
    said
}

/// What is wrong where a second voice sounds below the line; `name` is its pitch.
#[must_use]
pub fn second_voice(name: &str) -> String {
    format!("a second voice, {name}, holds below the line: one line is heard, so notes may be wrong; play one alone")
}

/// One issue in a sentence of one line, with what to change.
fn opinion(opinion: &InputIssue, source: HeardThrough) -> String {
    match opinion {
        InputIssue::TooSoft { peak } => {
            format!("too soft (peaks at {:.0} dB): go nearer, or turn the input up", peak.0)
        }
        InputIssue::Clipping { .. } => SoundFault::Clipping.sentence(Some("its loudest waves are cut off flat")),
        InputIssue::Noisy { floor } => {
            format!("noisy room ({:.0} dB): shut the window, or go nearer to the microphone", floor.0)
        }
        InputIssue::Hum { mains, level } => {
            format!("hum of {:.0} Hz at {:.0} dB: another cable or socket, or unplug the charger", mains.0, level.0)
        }
        InputIssue::GainControl { rise } => {
            format!("the input turns itself up by {:.0} dB in pauses: switch automatic gain off", rise.0)
        }
        InputIssue::Gate { .. } if source != HeardThrough::Microphone => {
            "true silence around the notes: made sound, or noise suppression was on".to_owned()
        }
        InputIssue::Gate { between } if *between < NOTHING => {
            "true silence between notes: if this is a microphone, switch noise suppression off".to_owned()
        }
        InputIssue::Gate { between } => SoundFault::Gate.sentence(Some(&format!("{:.0} dB", between.0))),
        InputIssue::Zeros { lasting } => SoundFault::Zeros.sentence(Some(&format!("for {:.0} s", lasting.0))),
        InputIssue::Wireless { above } => {
            format!("no sound above {:.0} Hz, as from a wireless headset: late and narrow; use a cable", above.0)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::SampleRate;

    const FILE: HeardThrough = HeardThrough::Recording { missing: None };

    #[test]
    fn loud_noise_without_a_note_is_too_noisy_and_no_silence() {
        // White noise at -21 dB, four seconds (Knuth's MMIX generator).
        let mut state = 751u64;
        let mut noise = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            ((state >> 11) as f64 / (1u64 << 53) as f64 - 0.5) as f32
        };
        let mut check = SoundCheck::new(SampleRate::DEVICE);
        let sound: Vec<f32> = (0..4 * SampleRate::DEVICE.hz()).map(|_| 0.31 * noise()).collect();
        check.hear(&sound);
        let said = opinions(&check, 0, FILE, None);
        assert!(
            said.len() == 1 && said[0].starts_with("too noisy: at -21 dB there is sound, but no pitch"),
            "{said:?}"
        );
        // The same noise at -71 dB is a quiet room in which nobody plays.
        let mut quiet = SoundCheck::new(SampleRate::DEVICE);
        quiet.hear(&sound.iter().map(|sample| sample * 0.003).collect::<Vec<_>>());
        assert_eq!(opinions(&quiet, 0, FILE, None), ["no note was heard in this recording"]);
        let told = "no note was heard: play, and be silent by turns";
        assert_eq!(opinions(&quiet, 0, HeardThrough::Microphone, None), [told]);
    }
}
