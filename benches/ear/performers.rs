//! Made performers for the onset detector to learn from: how they begin, join, bend and repeat notes, and what sounds around them.
use earfirst::outside::sound::edge;

use crate::around;
use crate::chance::Chance;
use crate::corpus::{Take, named};
use crate::hard::talk;
use crate::measure::RATE;
use crate::sing::{Bend, Closing, Joint, Note, Stroke, Swell, sing};
use crate::source::{KINDS, Source, Timbre};

/// About how long a performance lasts, seconds.
const LONG: f64 = 16.0;

/// How one performer plays: the share of the notes (0 to 1) that each of these befalls, and the length of a note.
#[derive(Debug, Clone, Copy)]
struct Habit {
    slurs: f64,
    crosses: f64,
    closes: f64,
    again: f64,
    scoops: f64,
    falls: f64,
    ghosts: f64,
    vibrato: f64,
    /// Range of half the width of a swing, half steps.
    wide: (f64, f64),
    trills: f64,
    rests: f64,
    /// Length of a usual note, seconds.
    pace: f64,
}

/// Makes one performance; eight in a hundred are sound without a note.
pub fn perform(seed: u64, number: u64, recorded: &[Source]) -> Take {
    let name = format!("performer-{number:05}");
    let chance = &mut Chance::new(seed ^ named(&name));
    if chance.happens(0.08) {
        return Take { name, part: "none".to_owned(), sound: nothing(chance), notes: Vec::new() };
    }
    let played = (0..20).find_map(|_| {
        let source = instrument(recorded, chance);
        let strokes = line(&source, chance);
        let swell = Swell {
            hz: chance.between(0.3, 6.5),
            db: if chance.happens(0.5) { chance.between(0.0, 3.5) } else { 0.0 },
        };
        sing(&source, &strokes, swell, chance)
    });
    let (mut sound, mut notes) = played.unwrap_or_else(|| (nothing(chance), Vec::new()));
    consonants(&mut sound, &notes, chance);
    // A line that a program renders has neither a room nor noise around it.
    if !chance.happens(0.12) {
        surround(&mut sound, recorded, chance);
    }
    if chance.happens(0.25) {
        begun_within(&mut sound, &mut notes, chance);
    }
    Take { name, part: "performer".to_owned(), sound, notes }
}

/// Cuts the sound so that it begins while a note sounds; the onset of that note is then the beginning.
fn begun_within(sound: &mut Vec<f32>, notes: &mut Vec<Note>, chance: &mut Chance) {
    let long: Vec<&Note> = notes.iter().filter(|note| note.release - note.onset > 0.15).take(8).collect();
    if long.is_empty() {
        return;
    }
    let note = long[chance.whole(0, long.len() as i32 - 1) as usize];
    let cut = note.onset + chance.between(0.03, note.release - note.onset - 0.1);
    sound.drain(..((cut * RATE) as usize).min(sound.len()));
    notes.retain(|note| note.release > cut + 0.05);
    for note in notes {
        (note.onset, note.release) = ((note.onset - cut).max(0.0), note.release - cut);
    }
}

/// Draws an instrument: made tones of any kind, or recorded notes.
fn instrument(recorded: &[Source], chance: &mut Chance) -> Source {
    if !recorded.is_empty() && chance.happens(0.55) {
        return recorded[chance.whole(0, recorded.len() as i32 - 1) as usize].clone();
    }
    let kind = if chance.happens(0.25) { "voice" } else { chance.pick(&KINDS) };
    let timbre = Timbre::draw(kind, chance);
    let half_db = (kind == "reed" && chance.happens(0.3)).then(|| -chance.between(8.0, 20.0));
    let second = if chance.happens(0.06) { chance.between(3.0, 15.0) } else { 1.0 };
    Source::Made(Timbre { half_db, second, ..timbre })
}

fn habit(chance: &mut Chance) -> Habit {
    let mut some = |often: f64, most: f64| if chance.happens(often) { chance.between(0.0, most) } else { 0.0 };
    let (slurs, crosses, again) = (some(0.75, 0.9), some(0.4, 0.5), some(0.6, 0.5));
    let (scoops, falls, ghosts) = (some(0.5, 0.7), some(0.3, 0.4), some(0.35, 0.4));
    let (vibrato, trills, rests) = (some(0.55, 1.0), some(0.15, 0.3), some(0.6, 0.5));
    let closes = some(0.2, 0.8);
    // One in eight plays as fast as anything can be played.
    let quickest: f64 = if chance.happens(0.125) { 0.035 } else { 0.075 };
    let slowest: f64 = if quickest < 0.05 { 0.08 } else { 0.9 };
    let pace = (chance.between(quickest.ln(), slowest.ln())).exp();
    let usual = chance.between(0.05, 1.2);
    let habit = Habit {
        wide: (0.5 * usual, 1.1 * usual),
        slurs,
        crosses,
        closes,
        again,
        scoops,
        falls,
        ghosts,
        vibrato,
        trills,
        rests,
        pace,
    };
    // One in six swings widely on every long note, as singers do: the first swing from a steady pitch looks like a slur.
    if chance.happens(0.17) {
        let pace = chance.between(0.3f64.ln(), 0.9f64.ln()).exp();
        return Habit { vibrato: 0.9, wide: (0.4, 1.3), pace, ..habit };
    }
    habit
}

/// A line of steps and leaps as one performer plays it.
fn line(source: &Source, chance: &mut Chance) -> Vec<Stroke> {
    let (low, high) = source.span();
    let (habit, tuning) = (habit(chance), chance.between(-0.5, 0.5));
    let low_share = if chance.happens(0.3) { 0.35 } else { 1.0 };
    let high = low + (f64::from(high - low) * low_share) as i32;
    let mut pitch = chance.whole(low, high);
    let mut strokes: Vec<Stroke> = Vec::new();
    let mut at = chance.pick(&[0.0, 0.03, 0.3, 0.8]);
    let mut loud: f64 = 0.0;
    while at < LONG - 1.0 {
        let length = (habit.pace * chance.normal(0.35).exp()).clamp(0.036, 1.8);
        let again = !strokes.is_empty() && chance.happens(habit.again);
        let before = pitch;
        if !again {
            let leap = chance.normal(3.0).round() as i32;
            pitch = (pitch + if leap == 0 { chance.pick(&[-1, 1, 2, -2]) } else { leap }).clamp(low, high);
        }
        let rested = chance.happens(habit.rests);
        let joined =
            !strokes.is_empty() && !rested && pitch != before && !source.rings() && chance.happens(habit.slurs);
        let closed =
            length > 0.15 && strokes.last().is_some_and(|last| last.length > 0.2) && chance.happens(habit.closes);
        let joint = match (joined, chance.happens(habit.crosses)) {
            (true, _) if closed => Joint::Closed(Closing {
                lasts: chance.between(0.05, 0.12),
                softer: chance.between(4.0, 18.0),
                sags: chance.between(0.0, 1.3),
            }),
            (false, _) => Joint::Tongued,
            (true, true) => Joint::Cross,
            (true, false) => Joint::Glide(chance.between(0.006, 0.07).min(0.6 * length)),
        };
        loud = (loud + chance.normal(2.0)).clamp(-8.0, 4.0);
        let midi = f64::from(pitch) + tuning + chance.normal(0.08);
        if joint == Joint::Tongued {
            at += match (rested, strokes.is_empty()) {
                (true, _) => chance.between(0.03, 0.5),
                (false, false) => chance.pick(&[0.0, 0.0, 0.01, 0.03]),
                (false, true) => 0.0,
            };
            if chance.happens(habit.ghosts) {
                at = ghost(&mut strokes, at, midi, chance);
            }
        }
        let bend = bend(&habit, length, joint, chance);
        let damped = source.rings() || chance.happens(0.3);
        strokes.push(Stroke { joint, accent: loud, bend, damped, ..Stroke::plain(at, length, midi) });
        at += length;
        if habit.trills > 0.0 && !source.rings() && chance.happens(habit.trills) {
            at = trill(&mut strokes, at, midi, loud, chance);
        }
    }
    strokes
}

/// Adds something short and soft that is no note, before a note; gives when the note begins.
fn ghost(strokes: &mut Vec<Stroke>, at: f64, midi: f64, chance: &mut Chance) -> f64 {
    let length = chance.between(0.015, 0.06);
    let accent = -chance.between(10.0, 25.0);
    let off = chance.pick(&[-12.0, -7.0, -3.0, -1.5, 0.0, 1.0, 5.0, 12.0]);
    strokes.push(Stroke { accent, ghost: true, ..Stroke::plain(at, length, midi + off) });
    at + length + chance.between(0.0, 0.03)
}

/// Adds a trill after a note, every note of which counts; gives when the trill ends.
fn trill(strokes: &mut Vec<Stroke>, mut at: f64, midi: f64, accent: f64, chance: &mut Chance) -> f64 {
    let (step, length) = (f64::from(chance.whole(1, 2)), 0.5 / chance.between(3.0, 8.0));
    for n in 0..chance.whole(2, 8) {
        let up = if n % 2 == 0 { step } else { 0.0 };
        let joint = Joint::Glide(chance.between(0.006, 0.02));
        strokes.push(Stroke { joint, accent, ..Stroke::plain(at, length, midi + up) });
        at += length;
    }
    at
}

fn bend(habit: &Habit, length: f64, joint: Joint, chance: &mut Chance) -> Bend {
    let scooped = joint == Joint::Tongued && chance.happens(habit.scoops);
    let swinging = length > 0.2 && chance.happens(habit.vibrato);
    let falls = length > 0.15 && chance.happens(habit.falls);
    Bend {
        scoop: if scooped { chance.pick(&[-1.0, -1.0, -1.0, 1.0]) * chance.between(0.2, 2.2) } else { 0.0 },
        scoop_s: if scooped { chance.between(0.012, 0.05).min(0.25 * length) } else { 0.0 },
        vibrato_hz: chance.between(3.6, 8.2),
        vibrato: if swinging { chance.between(habit.wide.0, habit.wide.1) } else { 0.0 },
        vibrato_after: chance.between(0.0, 0.3),
        fall: if falls { chance.between(0.5, 4.0) } else { 0.0 },
    }
}

/// Noise before or in the beginnings of some notes: consonants, tongues, keys.
fn consonants(sound: &mut [f32], notes: &[Note], chance: &mut Chance) {
    if !chance.happens(0.35) {
        return;
    }
    let share = chance.between(0.1, 0.9);
    let level = around::level(sound);
    for note in notes {
        if !chance.happens(share) {
            continue;
        }
        let length = chance.between(0.01, 0.12);
        let hz = chance.between(600.0, 7000.0);
        let noise = around::band((length * RATE) as usize, |_| hz, chance.between(0.2, 1.0) * hz, chance);
        let from = ((note.onset - length * chance.between(0.3, 1.2)).max(0.0) * RATE) as usize;
        let loud = level * 10f64.powf(-0.05 * chance.between(0.0, 24.0));
        let count = noise.len() as f64;
        for (n, (mine, s)) in sound.iter_mut().skip(from).zip(&noise).enumerate() {
            let place = n as f64 / count;
            *mine += (loud * s * edge(place / 0.2) * (1.0 - edge((place - 0.8) / 0.2))) as f32;
        }
    }
}

/// Adds what may lie around the notes: another instrument, a room, a channel, talk, noise, hum, clicks, knocks; then sets the level
/// and may clip it.
fn surround(sound: &mut Vec<f32>, recorded: &[Source], chance: &mut Chance) {
    let (count, level) = (sound.len(), around::level(sound).max(1e-4));
    let down = |chance: &mut Chance, low: f64, high: f64| level * 10f64.powf(-0.05 * chance.between(low, high));
    if chance.happens(0.12) {
        let source = instrument(recorded, chance);
        let strokes = line(&source, chance);
        if let Some((other, _)) = sing(&source, &strokes, Swell::default(), chance) {
            let gain = 10f64.powf(-0.05 * chance.between(22.0, 40.0)) as f32;
            sound.iter_mut().zip(&other).for_each(|(mine, theirs)| *mine += gain * theirs);
        }
    }
    if chance.happens(0.6) {
        let (reverberation, direct) = (chance.between(0.15f64.ln(), 2.5f64.ln()).exp(), chance.between(0.0, 18.0));
        *sound = around::in_room(sound, reverberation, direct, chance);
    }
    if chance.happens(0.5) {
        tilt(sound, chance);
    }
    if chance.happens(0.1) {
        let (gain, speech) = (10f64.powf(-0.05 * chance.between(18.0, 35.0)), talk(LONG, chance));
        sound.iter_mut().zip(&speech).for_each(|(mine, theirs)| *mine += gain as f32 * theirs);
    }
    let noise = if chance.happens(0.3) { down(chance, 8.0, 30.0) } else { down(chance, 30.0, 65.0) };
    around::add(sound, &around::pink(count, chance), noise);
    if chance.happens(0.15) {
        let hz = chance.pick(&[50.0, 60.0]);
        around::add(sound, &around::hum(count, hz), down(chance, 18.0, 45.0));
    }
    if chance.happens(0.15) {
        let clicks = around::clicks(count, chance.between(0.25, 1.0), chance.between(600.0, 3000.0));
        around::add(sound, &clicks, 4.0 * down(chance, 10.0, 35.0));
    }
    if chance.happens(0.15) {
        for _ in 0..chance.whole(3, 30) {
            let at = chance.whole(0, count as i32 - 1) as usize;
            let (loud, dies) = (3.0 * down(chance, 6.0, 35.0), chance.between(60.0, 900.0));
            let rest = sound[at..].iter_mut().take(6000).enumerate();
            rest.for_each(|(n, s)| *s += (loud * (-(n as f64) / dies).exp() * chance.between(-1.0, 1.0)) as f32);
        }
    }
    let peak = sound.iter().fold(1e-6f32, |most, s| most.max(s.abs()));
    let gain = 10f64.powf(-0.05 * chance.between(0.0, 36.0)) as f32 / peak;
    let limit = if chance.happens(0.06) { 0.4 * gain * peak } else { 1.0 };
    sound.iter_mut().for_each(|s| *s = (*s * gain).clamp(-limit, limit));
}

/// Makes the sound darker or brighter, as a channel does: by up to 12 dB above a corner.
fn tilt(sound: &mut [f32], chance: &mut Chance) {
    let corner = chance.between(150.0f64.ln(), 4000.0f64.ln()).exp();
    let share = (1.0 - (-std::f64::consts::TAU * corner / RATE).exp()) as f32;
    let by = (10f64.powf(0.05 * chance.between(-12.0, 12.0))) as f32;
    let mut low = 0.0;
    for sample in sound {
        low += share * (*sample - low);
        *sample = low + by * (*sample - low);
    }
}

/// Sound without a note.
fn nothing(chance: &mut Chance) -> Vec<f32> {
    let mut sound = if chance.happens(0.6) {
        talk(LONG, chance)
    } else {
        let all = around::silent(chance);
        let which = chance.whole(0, all.len() as i32 - 1) as usize;
        all.into_iter().nth(which).map(|(_, sound)| sound).unwrap_or_default()
    };
    if chance.happens(0.5) {
        sound = around::in_room(&sound, chance.between(0.2, 1.5), chance.between(0.0, 15.0), chance);
    }
    let gain = chance.between(0.05, 1.0) as f32;
    sound.iter_mut().for_each(|s| *s *= gain);
    let noise = around::pink(sound.len(), chance);
    around::add(&mut sound, &noise, 10f64.powf(-0.05 * chance.between(50.0, 80.0)));
    sound
}
