use super::*;
use crate::cue::{Cue, Form, Rendering, Timing, sound};
use crate::music::{Concert, ConcertKey};
use crate::pattern::{ExpectedNote, Line, PatternId, Register};
use crate::sound::{convolve, room_response};
use crate::units::{Beats, Decibels, Tempo};

const RATE: SampleRate = SampleRate::CD;

fn draws() -> impl FnMut() -> f64 {
    let mut state = 3u64;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn five_notes(root: i32) -> CueSound {
    let note = |(index, up): (usize, i32)| ExpectedNote {
        pitch: Concert(root + up),
        at: Beats(0.5 * index as f64),
        length: Beats(0.5),
        letters: None,
    };
    let cue = Cue {
        number: 1,
        pattern: PatternId("five".to_owned()),
        title: "five notes".to_owned(),
        key: ConcertKey(Concert(root).class()),
        register: Register::Middle,
        form: Form::Pattern,
        timing: Timing::Free,
        tempo: Tempo(120.0),
        meter: crate::pattern::Meter::FourFour,
        line: Line { notes: [0, 2, 4, 5, 7].into_iter().enumerate().map(note).collect(), length: Beats(2.5) },
        chord: Vec::new(),
        click: false,
        repeat: false,
    };
    sound(&cue, &Rendering::new(RATE))
}

/// What the microphone gives for some cues, two seconds apart, `delay` late, and what is left of it after cleaning.
fn through(delay: Seconds, loud: f32, echo: &mut Echo, block: usize) -> (Vec<f32>, Vec<f32>, Vec<(CueSound, Seconds)>) {
    let room = room_response(RATE, Seconds(0.4), Decibels(0.0), &mut draws());
    let mut speaker = vec![0.0f32; RATE.samples(Seconds(9.0))];
    let mut cues = Vec::new();
    for (number, root) in [60, 63, 58].into_iter().enumerate() {
        let sounded = five_notes(root);
        let begins = RATE.seconds(RATE.samples(Seconds(1.0 + 2.5 * number as f64)));
        let at = RATE.samples(begins);
        speaker[at..at + sounded.clip.samples.len()].copy_from_slice(&sounded.clip.samples);
        cues.push((sounded, begins));
    }
    let wet = convolve(&speaker, &room);
    let late = RATE.samples(delay);
    let mut draw = draws();
    let raw: Vec<f32> = (0..speaker.len())
        .map(|at| if at >= late { loud * wet[at - late] } else { 0.0 } + 0.001 * (draw() as f32 - 0.5))
        .collect();
    let mut clean = raw.clone();
    let (mut next, mut done) = (0, 0);
    for part in clean.chunks_mut(block) {
        while let Some((sounded, begins)) = cues.get(next).filter(|(_, begins)| RATE.samples(*begins) <= done) {
            echo.cue(sounded, *begins);
            next += 1;
        }
        echo.clean(part, RATE.seconds(done));
        done += part.len();
    }
    (raw, clean, cues)
}

fn level(samples: &[f32], from: Seconds, to: Seconds) -> f64 {
    let part: Vec<f64> = samples[RATE.samples(from)..RATE.samples(to)].iter().map(|s| f64::from(*s)).collect();
    levels(&part, part.len())[0]
}

#[test]
fn the_tail_of_the_cue_is_taken_out_and_the_way_is_learned() {
    let mut echo = Echo::new(RATE);
    let delay = Seconds(0.02);
    let (raw, clean, cues) = through(delay, 0.5, &mut echo, 441);
    assert_eq!(echo.learned().presence, Presence::Heard);
    let learned = echo.learned().delay().expect("believed");
    assert!((learned - delay).abs().0 < 0.006, "{learned:?}");
    assert!((echo.learned().decay.0 - 0.4).abs() < 0.12, "{:?}", echo.learned().decay);
    for (sounded, begins) in &cues {
        let end = *begins + sounded.end + delay;
        let part = |samples: &[f32]| level(samples, end, end + Seconds(0.1));
        assert!(part(&clean) < part(&raw) - 5.0, "{} to {}", part(&raw), part(&clean));
    }
}

#[test]
fn a_long_delay_is_believed_when_cues_agree_on_it() {
    let mut echo = Echo::new(RATE);
    through(Seconds(0.25), 0.5, &mut echo, 512);
    assert!((echo.learned().delay().expect("three agree").0 - 0.25).abs() < 0.006);
}

#[test]
fn headphones_leave_every_sample_as_it_was() {
    let mut echo = Echo::new(RATE);
    let (raw, clean, _) = through(Seconds(0.02), 0.0, &mut echo, 441);
    assert_eq!(echo.learned().presence, Presence::Absent);
    assert_eq!(raw, clean);
    assert!(!echo.is_monitor());
}
