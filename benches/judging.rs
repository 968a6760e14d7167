//! How long a judgement takes, by the length of the line: of one answer (well under a millisecond is wanted for sixteen notes),
//! and of an answer that is followed note by note, each note told when it begins and when it ends.

use divan::Bencher;
use earfirst::outside::music::{Concert, Intonation};
use earfirst::outside::notes::HeardNote;
use earfirst::outside::pattern::{ExpectedNote, Line};
use earfirst::outside::units::{Beats, Cents, Decibels, Midi, Seconds, Tempo};
use earfirst::outside::verdict::{Expectation, Judge, TimeOrigin, judge, ready};

fn main() {
    divan::main();
}

/// A line of thirds up and down, in eighths at quarter = 126, asked freely.
fn asked(count: usize) -> Expectation {
    let pitch = |i: usize| Concert(55 + [0, 4, 2, 5, 4, 7, 5, 9, 7, 11, 9, 12, 11, 7, 4, 2][i % 16]);
    let one = |i: usize| ExpectedNote { pitch: pitch(i), at: Beats(0.5 * i as f64), length: Beats(0.5), named: None };
    Expectation {
        line: Line { notes: (0..count).map(one).collect(), length: Beats(0.5 * count as f64) },
        tempo: Tempo(126.0),
        clock: TimeOrigin::Free { cue_end: Seconds(2.0) },
        delay: Some(Seconds(0.0)),
        intonation: Intonation::Scored { in_tune: Cents(10.0), acceptable: Cents(20.0), off: Cents(40.0) },
        usual: earfirst::outside::verdict::UsualTuning::Unknown,
    }
}

/// The line after a false start of three notes, with a wrong note, a note left out and a scoop.
fn heard(asked: &Expectation) -> Vec<HeardNote> {
    let eighth = asked.tempo.lasting(Beats(0.5)).0;
    let one = |pitch: f64, onset: f64, length: f64| HeardNote {
        number: 0,
        onset: Seconds(onset),
        release: Seconds(onset + length),
        pitch: Midi(pitch),
        spread: Some(Cents(3.0)),
        loudness: Decibels(-20.0),
        confidence: 0.9,
        announced: Seconds(onset + 0.05),
        announced_pitch: Midi(pitch),
    };
    let pitch = |i: usize| f64::from(asked.line.notes[i].pitch.0) + 0.07;
    let mut notes: Vec<HeardNote> = (0..3).map(|i| one(pitch(i), 2.5 + eighth * i as f64, 0.85 * eighth)).collect();
    for i in (0..asked.line.notes.len()).filter(|i| *i != 9) {
        let onset = 4.5 + eighth * i as f64;
        match i {
            4 => notes.push(one(pitch(i) - 1.0, onset, 0.9 * eighth)),
            6 => notes.extend([one(pitch(i) - 1.2, onset, 0.05), one(pitch(i), onset + 0.05, 0.9 * eighth - 0.05)]),
            _ => notes.push(one(pitch(i), onset, 0.9 * eighth)),
        }
    }
    notes
}

#[divan::bench(args = [4, 8, 16, 32, 64])]
fn one_answer(bencher: Bencher, notes: usize) {
    let asked = asked(notes);
    let heard = heard(&asked);
    bencher.bench(|| judge(divan::black_box(&asked), divan::black_box(&heard)));
}

/// What was heard at each moment at which the ear tells something: that a note has begun (it is 60 ms long then), or that it is
/// over.
fn told(heard: &[HeardNote]) -> Vec<Vec<HeardNote>> {
    let until = |count: usize, newest: HeardNote| [&heard[..count], &[newest]].concat();
    let both = |(count, note): (usize, &HeardNote)| {
        let begun = HeardNote { release: note.release.min(note.onset + Seconds(0.06)), ..*note };
        [until(count, begun), until(count, *note)]
    };
    heard.iter().enumerate().flat_map(both).collect()
}

/// As the drill does it: columns are kept, and a verdict is made where one may be shown.
#[divan::bench(args = [8, 16, 32])]
fn followed(bencher: Bencher, notes: usize) {
    let asked = asked(notes);
    let told = told(&heard(&asked));
    bencher.bench(|| {
        let mut judge = Judge::new(asked.clone());
        told.iter().filter(|heard| judge.at_once(divan::black_box(heard)).is_some()).count()
    });
}

/// Columns are kept, but a verdict is made each time.
#[divan::bench(args = [8, 16, 32])]
fn followed_with_a_verdict_each_time(bencher: Bencher, notes: usize) {
    let asked = asked(notes);
    let told = told(&heard(&asked));
    bencher.bench(|| {
        let mut judge = Judge::new(asked.clone());
        told.iter().filter(|heard| judge.verdict(divan::black_box(heard)).enough_in_format_1).count()
    });
}

/// Nothing is kept: the whole answer is judged anew each time.
#[divan::bench(args = [8, 16, 32])]
fn anew_each_time(bencher: Bencher, notes: usize) {
    let asked = asked(notes);
    let told = told(&heard(&asked));
    let shown = |heard: &Vec<HeardNote>| ready(&asked, heard, &judge(&asked, divan::black_box(heard)));
    bencher.bench(|| told.iter().filter(|heard| shown(heard)).count());
}
