use crate::cue::knock::TICK;
use crate::cue::sound_sign::TAPS;
use crate::cue::{Cue, Form, Rendering, SoundSign, TapSound, Timing};
use crate::music::{Concert, HalfSteps};
use crate::units::{Beats, Midi, SampleRate, Seconds, Tempo};

/// The share of its length that a note of the cue sounds when another note follows.
const PARTED: f64 = 0.92;
/// How long a note is let go before the same pitch sounds again, so that the first dies away and two notes are heard, as a tongue or
/// a bow parts them.
const REPEATED: Seconds = Seconds(0.045);
/// The least share of its length that a note sounds before the same pitch, however short it is.
const LEAST: f64 = 0.6;
/// The time from one note of a rolled chord to the next.
const ROLL: Seconds = Seconds(0.045);
/// From the sign "listen" to the start of a cue by ear that is not counted in.
const ATTENTION: Seconds = Seconds(0.6);

/// One note of a cue as it is sounded, in seconds from the start of the cue's sound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CuedNote {
    /// When the note begins.
    pub at: Seconds,
    /// When the note is let go and begins to fall away.
    pub until: Seconds,
    /// Sounding pitch.
    pub pitch: Midi,
}

/// The times of everything in a cue, in seconds from the start of its sound.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CueTimes {
    /// The notes, in order of onset.
    pub notes: Vec<CuedNote>,
    /// Where the cue ends: the end of the last note's nominal length, or of the tick; the beat 0 of an answer whose key is told
    /// late, if that comes first.
    pub end: Seconds,
    /// When beat 0 of an answer in tempo is due; `None` for a free answer.
    pub beat_zero: Option<Seconds>,
    /// The clicks of the count-in; none where no bar is counted in.
    pub count_in: Vec<Seconds>,
    /// All clicks, those of the count-in too; the flag marks the first of a bar.
    pub clicks: Vec<(Seconds, bool)>,
    /// The short ticks of cues that only name their key.
    pub ticks: Vec<Seconds>,
    /// The signs that a cue by ear sounds besides; none in other cues.
    pub signs: Vec<(Seconds, SoundSign)>,
    /// Soft taps beside the answer, to be counted or let pass.
    pub taps: Vec<(Seconds, TapSound)>,
}

/// Lays a cue out: the count-in, what is sounded, and for an answer in tempo the next bar.
pub(super) fn lay_out(cue: &Cue, rendering: &Rendering) -> CueTimes {
    if let Some(warning) = cue.warning {
        return told_late(cue, rendering, warning);
    }
    let tempo = paced(cue);
    let counted = if rendering.count_in { cue.meter.count() } else { 0 };
    let at_beat = |beat: u32| tempo.lasting(cue.meter.beat() * f64::from(beat));
    let from = at_beat(counted) + attention(cue);
    let up = HalfSteps(if rendering.octave_up { 12 } else { 0 });
    let pitch = |concert: Concert| (concert + up).midi();
    let prompt = Seconds(tempo.beat().0.clamp(0.5, 1.2));
    let chord = Seconds(2.0 * prompt.0);
    let mut notes = Vec::new();
    let mut length = prompt;
    match cue.form {
        Form::Pattern => {
            length = cue.line.notes.last().map_or(prompt, |last| tempo.lasting(last.at + last.length));
            for (index, note) in cue.line.notes.iter().enumerate() {
                let (at, whole) = (from + tempo.lasting(note.at), tempo.lasting(note.length));
                let held = match cue.line.notes.get(index + 1) {
                    None => whole,
                    Some(next) if next.pitch != note.pitch => whole * PARTED,
                    Some(_) => (whole * PARTED).min(whole - REPEATED).max(whole * LEAST),
                };
                notes.push(CuedNote { at, until: at + held, pitch: pitch(note.pitch) });
            }
        }
        Form::Chord if !cue.chord.is_empty() => {
            length = chord;
            for (index, tone) in cue.chord.iter().enumerate() {
                let late = if rendering.rolled { ROLL * index as f64 } else { Seconds(0.0) };
                notes.push(CuedNote { at: from + late, until: from + length, pitch: pitch(*tone) });
            }
        }
        Form::NameOnly => length = TICK,
        Form::Chord | Form::FirstNote => {
            if let Some(first) = cue.line.notes.first() {
                notes.push(CuedNote { at: from, until: from + prompt, pitch: pitch(first.pitch) });
            }
        }
    }
    // The rests at the end of a line belong to its last bar, so they count in the length of the cue.
    let line = if cue.form == Form::Pattern { cue.line.length.0 } else { 0.0 };
    let asked = cue.meter.whole_bars(Beats(line.max(length.0 / tempo.beat().0)));
    let beat_zero = (cue.timing == Timing::InTempo).then(|| from + tempo.lasting(asked));
    let answer = cue.meter.whole_bars(cue.line.length);
    let clicked = match (cue.click, cue.timing) {
        (true, Timing::InTempo) => counted + ((asked + answer).0 / cue.meter.beat().0).round() as u32 + 1,
        _ => counted,
    };
    let clicks: Vec<(Seconds, bool)> =
        (0..clicked).map(|beat| (at_beat(beat), beat.is_multiple_of(cue.meter.count()))).collect();
    CueTimes {
        notes,
        end: from + length,
        beat_zero,
        count_in: clicks.iter().take(counted as usize).map(|(at, _)| *at).collect(),
        clicks,
        ticks: (cue.form == Form::NameOnly).then_some(from).into_iter().collect(),
        signs: told_by_sound(cue, from + length, beat_zero),
        taps: taps(cue, beat_zero),
    }
}

/// When the answer to a cue is due and when its time is over, from the first sample of the cue's sound: in whole bars after its beat 0, or
/// for a free answer after the end of the cue.
#[must_use]
pub fn answer_time(cue: &Cue) -> (Seconds, Seconds) {
    let times = lay_out(cue, &Rendering { count_in: cue.counts_in(), ..Rendering::new(SampleRate::DEVICE) });
    let due = times.beat_zero.unwrap_or(times.end);
    (due, due + paced(cue).lasting(cue.meter.whole_bars(cue.line.length)))
}

/// The taps of a second task lie beside the answer.
fn taps(cue: &Cue, beat_zero: Option<Seconds>) -> Vec<(Seconds, TapSound)> {
    let (Some(task), Some(zero)) = (&cue.second_task, beat_zero) else { return Vec::new() };
    let tempo = paced(cue);
    task.taps.iter().map(|tap| (zero + tempo.lasting(tap.at), tap.sound)).collect()
}

/// The time before a cue by ear in which the sign "listen" sounds, where no bar is counted in.
fn attention(cue: &Cue) -> Seconds {
    if cue.by_ear && !cue.counts_in() { ATTENTION } else { Seconds(0.0) }
}

/// The signs of a cue by ear: "listen" at its start, and two taps before the answer. Before an answer in tempo the taps fall on its
/// last counted beat and half a beat later; before a free answer the second tap falls on the end of the cue.
fn told_by_sound(cue: &Cue, end: Seconds, beat_zero: Option<Seconds>) -> Vec<(Seconds, SoundSign)> {
    if !cue.by_ear {
        return Vec::new();
    }
    let beat = paced(cue).lasting(cue.meter.beat());
    let taps = match beat_zero {
        Some(zero) => [zero - beat, zero - beat * 0.5],
        None => [end - TAPS, end],
    };
    let due = taps.map(|at| (at, SoundSign::YourTurn));
    [(Seconds(0.0), SoundSign::Listen)].into_iter().chain(due).collect()
}

fn paced(cue: &Cue) -> Tempo {
    Tempo(if cue.tempo.0.is_finite() { cue.tempo.0.clamp(20.0, 400.0) } else { 120.0 })
}

/// Lays out a cue whose key is told `warning` beats before the answer is due: clicks sound up to the answer, and through it where the click
/// goes on; the tones that tell the key sound among them.
fn told_late(cue: &Cue, rendering: &Rendering, warning: u32) -> CueTimes {
    let (tempo, lead) = (paced(cue), cue.lead_in());
    let at_beat = |beat: u32| tempo.lasting(cue.meter.beat() * f64::from(beat));
    let (announced, due) = (at_beat(lead - warning.min(lead)), at_beat(lead));
    let up = HalfSteps(if rendering.octave_up { 12 } else { 0 });
    let (name_only, chord) = (cue.form == Form::NameOnly, cue.form == Form::Chord && !cue.chord.is_empty());
    let tones: Vec<Concert> = match cue.line.notes.first() {
        _ if name_only => Vec::new(),
        _ if chord => cue.chord.clone(),
        first => first.map(|note| note.pitch).into_iter().collect(),
    };
    let length = if name_only { TICK } else { Seconds(tempo.beat().0.clamp(0.5, 1.2)) };
    let note = |(index, tone): (usize, &Concert)| {
        let late = if rendering.rolled && chord { ROLL * index as f64 } else { Seconds(0.0) };
        CuedNote { at: announced + late, until: announced + length, pitch: (*tone + up).midi() }
    };
    let answer = (cue.meter.whole_bars(cue.line.length).0 / cue.meter.beat().0).round() as u32;
    let clicked = lead + if cue.click { answer + 1 } else { 0 };
    CueTimes {
        notes: tones.iter().enumerate().map(note).collect(),
        end: (announced + length).min(due),
        beat_zero: Some(due),
        count_in: (0..lead).map(at_beat).collect(),
        clicks: (0..clicked).map(|beat| (at_beat(beat), beat.is_multiple_of(cue.meter.count()))).collect(),
        ticks: name_only.then_some(announced).into_iter().collect(),
        signs: told_by_sound(cue, due, Some(due)),
        taps: Vec::new(),
    }
}
