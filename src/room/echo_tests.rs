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
        named: None,
    };
    let cue = Cue {
        number: 1,
        pattern: PatternId("five".to_owned()),
        title: "five notes".to_owned(),
        key: ConcertKey(Concert(root).class()),
        spelling: crate::music::Spelling::default(),
        register: Register::Middle,
        form: Form::Pattern,
        timing: Timing::Free,
        tempo: Tempo(120.0),
        meter: crate::pattern::Meter::FourFour,
        line: Line { notes: [0, 2, 4, 5, 7].into_iter().enumerate().map(note).collect(), length: Beats(2.5) },
        chord: Vec::new(),
        click: false,
        repeat: false,
        warning: None,
        second_task: None,
        joined: Vec::new(),
        round: None,
        by_ear: false,
    };
    sound(&cue, &Rendering::new(RATE))
}

/// What the microphone gives for three cues, `late` and through a living room.
fn through(late: Seconds, loud: f32) -> (Vec<f32>, Vec<(CueSound, Seconds)>) {
    through_room(late, loud, (Seconds(0.4), Decibels(3.0)))
}

/// As [`through`], through a room with this reverberation time and ratio of direct to reverberant energy.
fn through_room(late: Seconds, loud: f32, room: (Seconds, Decibels)) -> (Vec<f32>, Vec<(CueSound, Seconds)>) {
    let room = room_response(RATE, room.0, room.1, &mut draws());
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
    let late = RATE.samples(late);
    let mut draw = draws();
    let heard = (0..speaker.len())
        .map(|at| if at >= late { loud * wet[at - late] } else { 0.0 } + 0.001 * (draw() as f32 - 0.5))
        .collect();
    (heard, cues)
}

/// What the ear is given of `heard`, cut into parts of `block` samples; a cue is told before the first part that begins after it.
fn cleaned(heard: &[f32], cues: &[(CueSound, Seconds)], echo: &mut Echo, block: usize) -> Vec<f32> {
    let (mut out, mut next, mut done) = (Vec::new(), 0, 0);
    for part in heard.chunks(block) {
        while let Some((sounded, begins)) = cues.get(next).filter(|(_, begins)| RATE.samples(*begins) <= done) {
            echo.cue(sounded, Placement::at(*begins));
            next += 1;
        }
        let mut part = part.to_vec();
        let length = part.len();
        echo.clean(&mut part, RATE.seconds(done));
        done += length;
        out.extend(part);
        assert_eq!(out.len() + echo.delayed(), done);
    }
    out
}

fn level(samples: &[f32], from: Seconds, to: Seconds) -> f64 {
    10.0 * power(&samples[RATE.samples(from)..RATE.samples(to)]).log10()
}

#[test]
fn the_cue_is_taken_out_where_it_is_known_to_come_back() {
    let mut echo = Echo::new(RATE);
    let (heard, cues) = through(Seconds(0.02), 0.5);
    let clean = cleaned(&heard, &cues, &mut echo, 441);
    assert_eq!(echo.learned().presence, Presence::Heard);
    let (sounded, begins) = &cues[2];
    let part = |samples: &[f32]| level(samples, *begins + Seconds(0.3), *begins + sounded.end);
    assert!(part(&clean) < part(&heard) - 8.0, "{} to {}", part(&heard), part(&clean));
}

#[test]
fn the_same_samples_come_out_however_the_input_is_cut() {
    let (heard, cues) = through(Seconds(0.02), 0.5);
    // All cues begin on a multiple of 150 samples, so they are placed at the same sample in both.
    let one = cleaned(&heard, &cues, &mut Echo::new(RATE), 150);
    let other = cleaned(&heard, &cues, &mut Echo::new(RATE), 50);
    let both = one.len().min(other.len());
    assert!(one[..both] == other[..both]);
}

#[test]
fn headphones_leave_every_sample_as_it_was() {
    let mut echo = Echo::new(RATE);
    let (heard, cues) = through(Seconds(0.02), 0.0);
    let clean = cleaned(&heard, &cues, &mut echo, 441);
    assert_eq!(echo.learned().presence, Presence::Absent);
    assert_eq!((clean.len(), echo.delayed()), (heard.len(), 0));
    assert!(heard.iter().zip(&clean).all(|(heard, clean)| heard.to_bits() == clean.to_bits()));
}

/// What three cues say of the delay, which was thought to be 0 and is `late`, near the loudspeaker and far from it in a room that rings.
fn moved(late: Seconds) -> [Option<Seconds>; 2] {
    [(0.2, 6.0), (0.7, -5.0)].map(|(rings, direct)| {
        let (heard, cues) = through_room(late, 0.5, (Seconds(rings), Decibels(direct)));
        let mut echo = Echo::new(RATE);
        cleaned(&heard, &cues, &mut echo, 441);
        echo.moved()
    })
}

#[test]
fn three_cues_that_come_back_late_show_by_how_much_in_any_room() {
    for late in [0.015, 0.03, 0.11] {
        for (room, moved) in moved(Seconds(late)).into_iter().enumerate() {
            let moved = moved.unwrap_or_else(|| panic!("{late} s late in room {room}: nothing found"));
            assert!((moved.0 - late).abs() < 0.001, "{late} s late in room {room}: {moved:?}");
        }
    }
}

#[test]
fn cues_that_come_back_when_they_should_say_nothing_nor_do_those_that_do_not_come_back() {
    assert_eq!(moved(Seconds(0.005)), [None; 2], "as far off as calibrations lie from each other");
    let (heard, cues) = through(Seconds(0.02), 0.0);
    let mut echo = Echo::new(RATE);
    cleaned(&heard, &cues, &mut echo, 441);
    assert_eq!(echo.moved(), None);
}
