use std::sync::Arc;

use crate::cue::knock::knock;
use crate::cue::layout::{CueTimes, CuedNote, lay_out};
use crate::cue::{Cue, Rendering};
use crate::sound::{Clip, Partials, Tone};
use crate::units::{Decibels, SampleRate, Seconds};

/// How long a tone of the cue rises.
const RISE: Seconds = Seconds(0.008);
/// How long a tone of the cue falls once it is let go.
const FALL: Seconds = Seconds(0.03);
/// The time in which a sounding tone of the cue sinks by 60 dB: so slowly that it only lives a little and a repeated note stands out.
const DYING: Seconds = Seconds(6.0);
/// Peak of a sign in a cue whose tones have a peak of 1.
const SIGN: f32 = 0.4;
/// Peak of a tap of a second task: 1.4 dB below the cue's, so that it is counted beside a player's own sound.
const TAP: f32 = 0.85;

/// A cue as sound, with the instants that matter, all in seconds from the first sample of the clip.
#[derive(Debug, Clone, PartialEq)]
pub struct CueSound {
    /// The count-in, the cue with its signs and, where they are asked for, the clicks and taps beside the answer.
    pub clip: Arc<Clip>,
    /// End of the cue: the last sample of the last note's nominal length, before its release; for a cue without notes the end of the tick;
    /// where the key is told late, beat 0 of the answer if that comes first. Of a round it is the end of the last answer, of signs the end
    /// of the sound. A whole number of samples.
    pub end: Seconds,
    /// When beat 0 of an answer in tempo is due, at the beginning of the next bar; of a round, that of its first answer. `None` for a free
    /// answer and for signs.
    pub beat_zero: Option<Seconds>,
    /// The clicks of the count-in.
    pub beats: Vec<Seconds>,
    /// All clicks, those through cue and answer too.
    pub clicks: Vec<Seconds>,
    /// The notes that are sounded.
    pub notes: Vec<CuedNote>,
}

/// Renders `cue`. The same arguments give the same samples.
#[must_use]
pub fn sound(cue: &Cue, rendering: &Rendering) -> CueSound {
    sound_in(Clip::silence(rendering.rate, Seconds(0.0)), cue, rendering)
}

/// Renders `cue` into the memory of a clip that is no longer needed.
#[must_use]
pub fn sound_in(room: Clip, cue: &Cue, rendering: &Rendering) -> CueSound {
    made(room, lay_out(cue, rendering), rendering)
}

/// Renders what was laid out.
pub(super) fn made(room: Clip, layout: CueTimes, rendering: &Rendering) -> CueSound {
    let rate = rendering.rate;
    let mut clip = Clip { rate, ..room };
    clip.samples.clear();
    clip.samples.resize(rate.samples(layout.end), 0.0);
    for note in &layout.notes {
        let from = rate.samples(note.at);
        let held = rate.samples(note.until).saturating_sub(from);
        let tone = Tone {
            pitch: note.pitch.hertz(rendering.a4),
            length: rate.seconds(held),
            rise: RISE,
            fall: FALL,
            dying: Some(DYING),
        };
        clip.mix(from, &tone.render(&Partials::mellow(tone.pitch, rate), rate));
    }
    clip.bring_to(Decibels(0.0));
    for at in &layout.ticks {
        clip.mix(rate.samples(*at), &click(rate, true));
    }
    for (at, strong) in &layout.clicks {
        clip.mix(rate.samples(*at), &click(rate, *strong).iter().map(|s| s * 0.7).collect::<Vec<_>>());
    }
    for (at, sign) in &layout.signs {
        sign.mix(&mut clip, *at, SIGN);
    }
    for (at, tap) in &layout.taps {
        tap.mix(&mut clip, *at, TAP);
    }
    clip.bring_to(rendering.level);
    CueSound {
        clip: Arc::new(clip),
        end: rate.seconds(rate.samples(layout.end)),
        beat_zero: layout.beat_zero,
        beats: layout.count_in,
        clicks: layout.clicks.iter().map(|(at, _)| *at).collect(),
        notes: layout.notes,
    }
}

/// One click, higher on the first of a bar.
fn click(rate: SampleRate, strong: bool) -> Vec<f32> {
    knock(rate, if strong { 1.26 } else { 1.0 })
}
