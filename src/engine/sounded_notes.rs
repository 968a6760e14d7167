use crate::notes::HeardNote;
use crate::sound::{Clip, Partials, Tone};
use crate::units::{Decibels, Hertz, SampleRate, Seconds};

/// Length of a tone's rise and fall, and time in which it dies away by 60 dB.
const RISE: Seconds = Seconds(0.006);
const FALL: Seconds = Seconds(0.08);
const DYING: Seconds = Seconds(4.0);
/// Shortest length of a tone: a pad is let go at once when it is struck.
const SHORTEST: Seconds = Seconds(0.1);
/// Silence before the first note.
const BEFORE: Seconds = Seconds(0.25);
/// Level of the highest peak.
const PEAK: Decibels = Decibels(-12.0);

/// Notes made into sound, as they were played: for an answer that came as notes and has no sound of its own. `None` without notes.
#[must_use]
pub fn sounded_notes(heard: &[HeardNote], a4: Hertz) -> Option<Clip> {
    let rate = SampleRate::DEVICE;
    let first = heard.iter().map(|note| note.onset).reduce(Seconds::min)?;
    let mut clip = Clip::silence(rate, BEFORE);
    for note in heard {
        let tone = Tone {
            pitch: note.pitch.hertz(a4),
            length: note.length().max(SHORTEST),
            rise: RISE,
            fall: FALL,
            dying: Some(DYING),
        };
        let loud = note.loudness.min(Decibels(0.0)).amplitude() as f32;
        let samples: Vec<f32> =
            tone.render(&Partials::mellow(tone.pitch, rate), rate).iter().map(|sample| sample * loud).collect();
        clip.mix(rate.samples(note.onset - first + BEFORE), &samples);
    }
    clip.bring_to(PEAK);
    Some(clip)
}
