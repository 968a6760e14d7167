use crate::music::{Concert, HalfSteps, Range};
use crate::simulated::chance::PlayerDraws;
use crate::simulated::intent::{Intent, PlayedNote};
use crate::simulated::truth::PlayingFault;
use crate::units::{Tempo, median};

/// What an answer went through: its notes, and what the faults made of the whole.
pub(super) struct Spoiled {
    /// The notes as they will sound.
    pub intent: Intent,
    /// How far the whole answer lies from what was asked.
    pub shift: HalfSteps,
    /// Number of attempts: 1, or 2 where the player broke off and began again.
    pub attempts: u32,
    /// The tempo that was asked.
    pub asked: Tempo,
    /// The notes of the line with which a new pattern begins, where several are joined: there a player stands still, if anywhere.
    pub seams: Vec<usize>,
    /// Whether the answer is free, so that only a pace far off the asked one is a fault.
    pub free: bool,
}

/// Applies one fault where the line and range allow it; `false` leaves the performance as it was.
pub(super) fn spoil(fault: PlayingFault, spoiled: &mut Spoiled, range: Range, chance: &mut PlayerDraws) -> bool {
    let beat = 60.0 / spoiled.intent.pace.0;
    match fault {
        PlayingFault::WrongNote => wrong_note(&mut spoiled.intent.notes, range, chance),
        PlayingFault::OctaveNote => octave_note(&mut spoiled.intent.notes, range, chance),
        PlayingFault::MissedNote => missed_note(&mut spoiled.intent.notes, chance),
        PlayingFault::ExtraNote => extra_note(&mut spoiled.intent.notes, range, chance),
        PlayingFault::WholeOctave => shift(spoiled, &[12, -12], range, chance),
        PlayingFault::WrongKey => shift(spoiled, &[1, -1, 2, -2, 5, -5, 7, -7, 3, -3], range, chance),
        PlayingFault::Restart => restart(spoiled, beat, chance),
        PlayingFault::Hesitation => hesitation(spoiled, beat, chance),
        PlayingFault::Rushed => {
            stretch(spoiled, if spoiled.free { chance.between(1.25, 1.4) } else { chance.between(1.13, 1.25) })
        }
        PlayingFault::Dragged => {
            stretch(spoiled, if spoiled.free { chance.between(0.62, 0.75) } else { chance.between(0.78, 0.87) })
        }
        PlayingFault::OutOfTune => out_of_tune(&mut spoiled.intent.notes, chance),
        PlayingFault::Jumped => jumped(&mut spoiled.intent, chance),
        PlayingFault::SomethingElse => something_else(&mut spoiled.intent, range, chance),
        PlayingFault::Nothing => {
            spoiled.intent.notes.clear();
            true
        }
    }
}

/// Indices of the notes that are meant for a note of the line and differ from both neighbours.
fn distinct(notes: &[PlayedNote]) -> Vec<usize> {
    let pitch = |index: Option<usize>| index.and_then(|at| notes.get(at)).map(|note| note.pitch);
    (0..notes.len())
        .filter(|&index| {
            let mine = Some(notes[index].pitch);
            notes[index].meant.is_some() && mine != pitch(index.checked_sub(1)) && mine != pitch(Some(index + 1))
        })
        .collect()
}

fn pick(places: &[usize], chance: &mut PlayerDraws) -> Option<usize> {
    (!places.is_empty()).then(|| places[chance.below(places.len())])
}

/// A pitch near that of the note at `index` which neither it nor its neighbours have.
fn stranger(notes: &[PlayedNote], index: usize, range: Range, chance: &mut PlayerDraws) -> Option<Concert> {
    let near = &notes[index.saturating_sub(1)..(index + 2).min(notes.len())];
    let mut steps = [1, -1, 2, -2, 3, -3, 4, -4];
    for place in 0..4 {
        steps.swap(place, place + chance.below(4));
    }
    let strangers = steps.iter().map(|step| notes[index].pitch + HalfSteps(*step));
    strangers.into_iter().find(|pitch| range.contains(*pitch) && near.iter().all(|note| note.pitch != *pitch))
}

fn wrong_note(notes: &mut [PlayedNote], range: Range, chance: &mut PlayerDraws) -> bool {
    let Some(index) = pick(&distinct(notes), chance) else { return false };
    let Some(pitch) = stranger(notes, index, range, chance) else { return false };
    notes[index].pitch = pitch;
    true
}

fn octave_note(notes: &mut [PlayedNote], range: Range, chance: &mut PlayerDraws) -> bool {
    let up = HalfSteps(12 * chance.sign());
    let Some(index) = pick(&distinct(notes), chance) else { return false };
    let moved = [up, HalfSteps(-up.0)].map(|by| notes[index].pitch + by);
    let neighbour = |pitch: Concert| {
        (index > 0 && notes[index - 1].pitch == pitch) || notes.get(index + 1).is_some_and(|note| note.pitch == pitch)
    };
    let Some(pitch) = moved.into_iter().find(|pitch| range.contains(*pitch) && !neighbour(*pitch)) else {
        return false;
    };
    notes[index].pitch = pitch;
    notes[index].slurred = false;
    true
}

fn missed_note(notes: &mut Vec<PlayedNote>, chance: &mut PlayerDraws) -> bool {
    if notes.len() < 3 {
        return false;
    }
    let Some(index) = pick(&distinct(notes), chance) else { return false };
    notes.remove(index);
    true
}

fn extra_note(notes: &mut Vec<PlayedNote>, range: Range, chance: &mut PlayerDraws) -> bool {
    if notes.len() < 2 {
        return false;
    }
    let index = chance.below(notes.len() - 1);
    let Some(pitch) = stranger(notes, index, range, chance) else { return false };
    if pitch == notes[index + 1].pitch {
        return false;
    }
    let room = notes[index + 1].at - notes[index].at;
    // Where the notes are too quick for one between them, the rest of the line waits for it.
    let late = (0.26 - room).max(0.0);
    notes[index + 1..].iter_mut().for_each(|note| note.at += late);
    let half = 0.5 * (room + late);
    notes[index].length = notes[index].length.min(half - 0.02);
    let extra = PlayedNote { at: notes[index].at + half, length: 0.85 * half, pitch, meant: None, ..notes[index] };
    notes.insert(index + 1, extra);
    true
}

fn shift(spoiled: &mut Spoiled, steps: &[i32], range: Range, chance: &mut PlayerDraws) -> bool {
    let first = chance.below(steps.len());
    let fits = |by: i32| spoiled.intent.notes.iter().all(|note| range.contains(note.pitch + HalfSteps(by)));
    let chosen = (0..steps.len()).map(|turn| steps[(first + turn) % steps.len()]).find(|by| fits(*by));
    // Fewer than four notes do not show a key.
    let Some(by) = chosen.filter(|_| spoiled.intent.notes.len() >= 4 && spoiled.shift.0 == 0) else { return false };
    spoiled.intent.notes.iter_mut().for_each(|note| note.pitch = note.pitch + HalfSteps(by));
    spoiled.shift = HalfSteps(by);
    true
}

fn restart(spoiled: &mut Spoiled, beat: f64, chance: &mut PlayerDraws) -> bool {
    let notes = &mut spoiled.intent.notes;
    if notes.len() < 4 || spoiled.attempts > 1 {
        return false;
    }
    let tried = 2 + chance.below((notes.len() - 2).min(3));
    let mut earlier: Vec<PlayedNote> = notes[..tried].to_vec();
    earlier.iter_mut().for_each(|note| note.meant = None);
    let stopped = earlier[tried - 1].at + earlier[tried - 1].length;
    let late = stopped + chance.between(0.35, 0.5) + 0.5 * beat - notes[0].at;
    notes.iter_mut().for_each(|note| note.at += late);
    notes[0].slurred = false;
    notes.splice(0..0, earlier);
    spoiled.intent.beat_zero += late;
    spoiled.attempts = 2;
    true
}

/// Lets the player stand still within the line, for less than the silence that ends an answer: two beats, or .8 s where they are
/// shorter.
fn hesitation(spoiled: &mut Spoiled, beat: f64, chance: &mut PlayerDraws) -> bool {
    let given_up = (2.0 * 60.0 / spoiled.asked.0).max(0.8);
    let notes = &mut spoiled.intent.notes;
    if notes.len() < 4 {
        return false;
    }
    let drawn = 1 + chance.below(notes.len() - 2);
    let seam = (!spoiled.seams.is_empty()).then(|| spoiled.seams[drawn % spoiled.seams.len()]);
    let index = seam.and_then(|seam| (1..notes.len()).find(|at| notes[*at].meant == Some(seam))).unwrap_or(drawn);
    let silent = notes[index].at - (notes[index - 1].at + notes[index - 1].length);
    let late = (beat * chance.between(0.9, 1.4) + 0.15).min(given_up - 0.1 - silent);
    notes[index..].iter_mut().for_each(|note| note.at += late);
    notes[index].slurred = false;
    true
}

/// Plays at another pace, `times` times as fast as asked.
fn stretch(spoiled: &mut Spoiled, times: f64) -> bool {
    let (intent, asked) = (&mut spoiled.intent, spoiled.asked);
    if intent.notes.len() < 4 {
        return false;
    }
    let faster = times * asked.0 / intent.pace.0;
    for note in &mut intent.notes {
        note.at = intent.beat_zero + (note.at - intent.beat_zero) / faster;
        note.length /= faster;
    }
    intent.pace = Tempo(intent.pace.0 * faster);
    true
}

fn out_of_tune(notes: &mut [PlayedNote], chance: &mut PlayerDraws) -> bool {
    // Only a note that is long enough for its pitch to be heard exactly.
    let long: Vec<usize> = (0..notes.len()).filter(|&index| notes[index].length > 0.14).collect();
    let Some(index) = pick(&long, chance) else { return false };
    // This is clearly outside the 35 cents that pass without a word on wind instruments, against the median of the answer, and
    // still nearest to the note's own pitch.
    let all: Vec<f64> = notes.iter().map(|note| note.cents).collect();
    let middle = median(&all).unwrap_or(0.0);
    notes[index].cents = middle + f64::from(chance.sign()) * chance.between(40.0, 44.0);
    true
}

fn jumped(intent: &mut Intent, chance: &mut PlayerDraws) -> bool {
    let Some(first) = intent.notes.first().map(|note| note.at) else { return false };
    let earlier = first - chance.between(-0.2, 0.08);
    intent.notes.iter_mut().for_each(|note| note.at -= earlier);
    intent.beat_zero -= earlier;
    true
}

/// Plays wide leaps that have next to nothing in common with the line in any key.
fn something_else(intent: &mut Intent, range: Range, chance: &mut PlayerDraws) -> bool {
    let asked: Vec<i32> = intent.notes.iter().map(|note| note.pitch.0).collect();
    let first = intent.notes.first().map_or(0.5, |note| note.at);
    for _ in 0..40 {
        let mut pitch = range.low.0 + chance.below(range.span().0.max(1) as usize) as i32;
        let mut played = Vec::new();
        for _ in 0..4 + chance.below(3) {
            played.push(pitch);
            let leap = chance.sign() * (6 + chance.below(6) as i32);
            let inside = |next: i32| range.contains(Concert(next));
            pitch += if inside(pitch + leap) { leap } else { -leap };
            pitch = pitch.clamp(range.low.0, range.high.0);
        }
        let alike = (-24..=24).map(|up| common(&asked, &played, up)).max().unwrap_or(0);
        if alike * 3 > played.len().max(3) || played.windows(2).any(|pair| pair[0] == pair[1]) {
            continue;
        }
        let note = |(index, pitch): (usize, &i32)| PlayedNote {
            at: first + 0.38 * index as f64,
            length: 0.3,
            pitch: Concert(*pitch),
            cents: 0.0,
            slurred: false,
            accent_db: 0.0,
            meant: None,
        };
        intent.notes = played.iter().enumerate().map(note).collect();
        return true;
    }
    false
}

/// How many notes of two lines agree in order when the first is moved by `up` (longest common subsequence).
fn common(asked: &[i32], played: &[i32], up: i32) -> usize {
    let mut row = vec![0usize; played.len() + 1];
    for one in asked {
        let mut corner = 0;
        for (place, two) in played.iter().enumerate() {
            let above = row[place + 1];
            row[place + 1] = if one + up == *two { corner + 1 } else { above.max(row[place]) };
            corner = above;
        }
    }
    row[played.len()]
}
