use crate::cue::layout::{CueTimes, CuedNote, lay_out};
use crate::cue::rendered::made;
use crate::cue::{Cue, CueSound, Rendering, Timing};
use crate::sound::Clip;
use crate::units::Seconds;

/// The sound of a round: several cues and the time for their answers, without a stop.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundSound {
    /// The whole sound, from the count-in to the end of the last answer.
    pub sound: CueSound,
    /// Where each cue lies in the sound, in order.
    pub places: Vec<RoundPlace>,
}

/// Where one cue of a round lies in the sound of the round, in seconds from the first sample of that sound. With the place of the
/// sound on the input's clock (`sound::Placement`) a place becomes a `drill::CueSpan`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoundPlace {
    /// When the cue begins; for the first cue, when its count-in begins.
    pub from: Seconds,
    /// End of the cue.
    pub end: Seconds,
    /// When beat 0 of the answer to the cue is due.
    pub beat_zero: Seconds,
    /// When the answer to the cue ends and the next cue begins.
    pub until: Seconds,
}

/// Lays cues out one after the other over one click: a count-in, then each cue in whole bars, followed by as many bars as its answer
/// needs. All cues have one tempo and one meter.
#[must_use]
pub fn round(cues: &[Cue], rendering: &Rendering) -> RoundSound {
    let (mut notes, mut clicks, mut count_in, mut places) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let (mut signs, mut ticks) = (Vec::new(), Vec::new());
    let mut from = Seconds(0.0);
    for (n, cue) in cues.iter().enumerate() {
        let cue = Cue { click: true, timing: Timing::InTempo, warning: None, ..cue.clone() };
        let one = lay_out(&cue, &Rendering { count_in: n == 0, ..*rendering });
        let zero = one.beat_zero.unwrap_or(one.end);
        let until = from + zero + cue.tempo.lasting(cue.meter.whole_bars(cue.line.length));
        let moved = |note: &CuedNote| CuedNote { at: from + note.at, until: from + note.until, ..*note };
        notes.extend(one.notes.iter().map(moved));
        ticks.extend(one.ticks.iter().map(|at| from + *at));
        signs.extend(one.signs.iter().map(|(at, sign)| (from + *at, *sign)));
        // The last click of one cue falls on the first click of the next, so it is left out.
        let own = if n + 1 == cues.len() { one.clicks.len() } else { one.clicks.len().saturating_sub(1) };
        clicks.extend(one.clicks.iter().take(own).map(|(at, first)| (from + *at, *first)));
        count_in.extend(one.count_in);
        places.push(RoundPlace { from, end: from + one.end, beat_zero: from + zero, until });
        from = until;
    }
    let beat_zero = places.first().map(|place| place.beat_zero);
    let times = CueTimes { notes, end: from, beat_zero, count_in, clicks, ticks, signs, taps: Vec::new() };
    let room = Clip::silence(rendering.rate, Seconds(0.0));
    RoundSound { sound: made(room, times, rendering), places }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cue::Form;
    use crate::music::Range;
    use crate::music::{Concert, ConcertKey};
    use crate::pattern::{Library, Register, realise};
    use crate::units::{SampleRate, Tempo};

    #[test]
    fn in_a_round_of_named_keys_the_bar_in_which_a_key_is_named_is_heard_from_those_of_the_answers() {
        let rate = SampleRate::DEVICE;
        let library = Library::builtin();
        let pattern = library.find("five-note-row-up-and-down").unwrap();
        let named = |key: &ConcertKey| {
            let range = Range::new(Concert(48), Concert(84));
            let line = realise(pattern, *key, None, range, Register::Middle).unwrap();
            Cue { form: Form::NameOnly, ..Cue::new(pattern, *key, Register::Middle, Tempo(120.0), line) }
        };
        let cues: Vec<Cue> = ConcertKey::FIFTHS[..3].iter().map(named).collect();
        let round = round(&cues, &Rendering::new(rate));
        let loudest = |at: Seconds| {
            let from = rate.samples(at);
            round.sound.clip.samples[from..from + rate.samples(Seconds(0.05))]
                .iter()
                .fold(0.0f32, |a, b| a.max(b.abs()))
        };
        let counted = cues[0].tempo.lasting(cues[0].meter.bar());
        for (n, place) in round.places.iter().enumerate() {
            let told = loudest(if n == 0 { place.from + counted } else { place.from });
            let answer = loudest(place.beat_zero);
            assert!(told > 1.5 * answer && answer > 0.0, "cue {n}: {told} beside {answer}");
        }
    }
}
