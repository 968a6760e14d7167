use std::ops::RangeInclusive;

use crate::backing::tones::ChordTones;
use crate::music::PitchClass;

/// The range of the chords in MIDI numbers, D3 to C5: lower thirds sound thick, and above it the player plays (common practice).
pub(super) const REACH: RangeInclusive<i32> = 50..=72;
/// The MIDI numbers from which the two voices of the first chord are led.
const MIDDLE: [i32; 2] = [57, 63];

/// The voices of a chord: third and seventh, lower one first, led from the voices `before`, and an altered fifth, over them where
/// the range (`REACH`) has room.
pub(super) fn shell(tones: &ChordTones, before: Option<[i32; 2]>) -> ([i32; 2], Option<i32>) {
    let [low, high] = before.unwrap_or(MIDDLE);
    let [one, two] = tones.guides;
    let straight = [nearest(one, low), nearest(two, high)];
    let crossed = [nearest(two, low), nearest(one, high)];
    let moved = |voices: [i32; 2]| (voices[0] - low).abs() + (voices[1] - high).abs();
    let apart = |voices: [i32; 2]| voices[0] != voices[1];
    let led = match (moved(straight) <= moved(crossed), apart(straight), apart(crossed)) {
        (true, true, _) | (_, true, false) => straight,
        _ => crossed,
    };
    let mut voices = led.map(within);
    voices.sort_unstable();
    let over = |class: PitchClass| (voices[1] + 1..=voices[1] + 12).find(|midi| PitchClass::new(*midi) == class);
    (voices, tones.colour.and_then(over).map(within))
}

/// The pitch of this class that is nearest to `voice`.
fn nearest(class: PitchClass, voice: i32) -> i32 {
    let up = (class.get() - voice).rem_euclid(12);
    voice + if up > 6 { up - 12 } else { up }
}

/// A pitch outside [`REACH`] moved into it by an octave.
fn within(midi: i32) -> i32 {
    match midi {
        low if low < *REACH.start() => low + 12,
        high if high > *REACH.end() => high - 12,
        inside => inside,
    }
}
