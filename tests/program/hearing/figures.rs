//! The figures of the ear over many lines at once: the F1 of notes, as Raffel and others define it ("mir_eval: a transparent
//! implementation of common MIR metrics", 2014). A note counts as found within 50 ms and 50 cents; strictly, within 20 ms and 25 cents.

use super::made::{heard, in_a_room, line, note, rate, tone};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::sound::Clip;

/// A line and where its notes were truly played: onset in seconds and pitch.
struct Take {
    sound: Clip,
    truth: Vec<(f64, f64)>,
}

/// A chromatic run, a dominant seventh chord, and a line with repeated tones, in half steps above the first note.
const SHAPES: [&[f64]; 3] = [
    &[0.0, 1.0, 2.0, 3.0, 4.0, 3.0, 2.0, 1.0, 0.0],
    &[0.0, 4.0, 7.0, 10.0, 12.0, 10.0, 7.0, 4.0, 0.0],
    &[0.0, 0.0, 2.0, 2.0, 4.0, 5.0, 5.0, 0.0, 0.0],
];

/// Lines of these shapes from a low F to a high E, at three paces, every note tongued.
fn tongued() -> Vec<Take> {
    takes(|at, shape, step| {
        let sounds: Vec<Vec<f32>> = shape.iter().map(|s| note(rate(22_050), at + s, 0.85 * step)).collect();
        line(rate(22_050), &sounds, 0.15 * step)
    })
}

/// The same lines slurred, with a glide of 20 ms between notes; the shape with repeated tones is left out.
fn slurred() -> Vec<Take> {
    let mut takes = takes(|at, shape, step| {
        let pitch = |t: f64| {
            let (last, place) = (shape.len() - 1, t / step);
            let next = (place.round() as usize).clamp(1, last);
            let share = 0.5 + ((t - next as f64 * step) / 0.02).clamp(-0.5, 0.5);
            at + shape[next - 1] + share * (shape[next] - shape[next - 1])
        };
        line(rate(22_050), &[tone(rate(22_050), step * shape.len() as f64, pitch, |_| 1.0)], 0.1)
    });
    takes.retain(|take| take.truth.windows(2).all(|pair| pair[0].1 != pair[1].1));
    takes
}

fn takes(sound: impl Fn(f64, &[f64], f64) -> Clip) -> Vec<Take> {
    let mut takes = Vec::new();
    for (i, at) in [41.0, 48.0, 55.0, 62.0, 69.0, 76.0].into_iter().enumerate() {
        for (k, step) in [0.3, 0.2, 0.12].into_iter().enumerate() {
            let shape = SHAPES[(i + k) % SHAPES.len()];
            let truth = shape.iter().enumerate().map(|(n, s)| (0.3 + n as f64 * step, at + s)).collect();
            takes.push(Take { sound: sound(at, shape, step), truth });
        }
    }
    takes
}

/// How many of the played notes (`truth`) were heard within `seconds` and `cents`. Each heard note counts for at most one played note.
fn matched(heard: &[HeardNote], truth: &[(f64, f64)], seconds: f64, cents: f64) -> usize {
    let mut free = vec![true; heard.len()];
    let mut find = |(onset, midi): &(f64, f64)| {
        let fits = |n: &HeardNote| (n.onset.0 - onset).abs() <= seconds && (n.pitch.0 - midi).abs() * 100.0 <= cents;
        let found = (0..heard.len()).find(|i| free[*i] && fits(&heard[*i]));
        found.map(|i| free[i] = false).is_some()
    };
    truth.iter().filter(|played| find(played)).count()
}

fn assert_figures(takes: &[Take], least_f1: f64, least_strict: f64) {
    let (mut notes, mut good, mut strict) = (0, 0, 0);
    let mut worst = Vec::new();
    for take in takes {
        let heard = heard(&take.sound);
        let found = matched(&heard, &take.truth, 0.05, 50.0);
        notes += heard.len() + take.truth.len();
        good += 2 * found;
        strict += 2 * matched(&heard, &take.truth, 0.02, 25.0);
        if found < take.truth.len() || heard.len() > found {
            worst.push(format!("{:?}: {} notes, {found} of them right", take.truth, heard.len()));
        }
    }
    let (f1, strict) = (f64::from(good as u32) / notes as f64, f64::from(strict as u32) / notes as f64);
    println!("F1 {f1:.3}, strict {strict:.3}");
    assert!(f1 >= least_f1 && strict >= least_strict, "F1 {f1:.3}, strict {strict:.3}; {worst:#?}");
}

#[test]
fn of_a_hundred_tongued_notes_hardly_one_is_misheard() {
    assert_figures(&tongued(), 0.985, 0.96);
}

#[test]
fn of_a_hundred_slurred_notes_hardly_one_is_misheard() {
    assert_figures(&slurred(), 0.985, 0.96);
}

#[test]
fn in_a_room_nineteen_notes_of_twenty_are_heard() {
    let mut takes = tongued();
    takes.extend(slurred());
    takes.iter_mut().for_each(|take| take.sound = in_a_room(&take.sound, 12.0));
    assert_figures(&takes, 0.95, 0.82);
}
