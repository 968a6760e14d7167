//! What lips and breath do to a note while its key is held.
//!
//! Bend, its range (registered parameter 0) and the range of two half steps that counts until it is set: MIDI 1.0 Detailed
//! Specification, from memory. That a vibrato swings about its pitch, and that attacks are scooped: common practice.

use std::f64::consts::TAU;

use crate::midi::{ChannelMessage, KeyMessage, KeyedLine, LineChoice};
use crate::notes::{HeardNote, NoteEvent};
use crate::units::Seconds;

use KeyMessage::{Bend, Control, Down, Pressure, Up};

const TUNED: LineChoice = LineChoice {
    channel: None,
    keys: None,
    of_chord: crate::midi::WhichOfChord::Highest,
    bend: true,
    breath: true,
    steering: crate::midi::Steering { pause: None, again: None, misheard: None },
};

fn played_by(choice: LineChoice, said: &[(f64, u8, KeyMessage)]) -> Vec<HeardNote> {
    let (mut line, mut over) = (KeyedLine::new(choice), Vec::new());
    let mut tell = |event: NoteEvent| {
        if let NoteEvent::Off(note) = event {
            over.push(note);
        }
    };
    for &(ms, channel, what) in said {
        line.take(ChannelMessage { channel, what }, Seconds(ms / 1000.0), &mut tell);
    }
    line.until(Seconds(60.0), &mut tell);
    over
}

/// A bend of so many cents, where the whole way is so many half steps.
fn bent(cents: f64, range: f64) -> KeyMessage {
    Bend { value: (8192.0 + cents / 100.0 / range * 8192.0).round() as u16 }
}

/// Cents off the key, to a hundredth of a half step; and the spread.
fn cents(note: &HeardNote, key: u8) -> (i64, Option<i64>) {
    (((note.pitch.0 - f64::from(key)) * 100.0).round() as i64, note.spread.map(|spread| spread.0.round() as i64))
}

const fn down(key: u8) -> KeyMessage {
    Down { key, velocity: 80 }
}

#[test]
fn a_note_that_is_bent_before_it_begins_is_out_of_tune_by_so_much() {
    let said = [(0.0, 1, bent(-14.0, 2.0)), (100.0, 1, down(60)), (500.0, 1, Up { key: 60 })];
    let heard = played_by(TUNED, &said);
    assert_eq!(cents(&heard[0], 60), (-14, Some(0)));
    assert!((heard[0].announced_pitch.0 - 59.86).abs() < 0.005, "{:?}", heard[0]);
}

#[test]
fn the_range_of_the_bend_is_what_the_instrument_says_of_it() {
    for (range, fine) in [(12, 0), (1, 0), (24, 0), (2, 50)] {
        let control = |number, value| (0.0, 3, Control { number, value });
        let whole = f64::from(range) + f64::from(fine) / 100.0;
        let said = [
            control(101, 0),
            control(100, 0),
            control(6, range),
            control(38, fine),
            control(101, 127),
            control(100, 127),
            // Meant for no parameter any more.
            control(6, 99),
            (1.0, 3, bent(30.0, whole)),
            (10.0, 3, down(60)),
            (500.0, 3, Up { key: 60 }),
        ];
        let heard = played_by(TUNED, &said);
        assert!((heard[0].pitch.0 - 60.3).abs() < 0.003, "{range}.{fine}: {heard:?}");
    }
}

#[test]
fn a_value_for_another_parameter_leaves_the_range_alone() {
    let control = |number, value| (0.0, 1, Control { number, value });
    let fine_tuning = [control(101, 0), control(100, 1), control(6, 12)];
    let unregistered = [control(101, 0), control(100, 0), control(99, 1), control(98, 8), control(6, 12)];
    for other in [&fine_tuning[..], &unregistered] {
        let mut said = other.to_vec();
        said.extend([(1.0, 1, bent(50.0, 2.0)), (10.0, 1, down(60)), (500.0, 1, Up { key: 60 })]);
        assert_eq!(cents(&played_by(TUNED, &said)[0], 60).0, 50);
    }
}

#[test]
fn a_vibrato_swings_about_its_pitch_and_a_scoop_into_it_is_no_part_of_it() {
    let mut said = vec![(0.0, 1, bent(-150.0, 2.0)), (0.0, 1, down(62))];
    said.extend((5..200).map(|n| {
        let ms = 5.0 * f64::from(n);
        (ms, 1, bent(8.0 + 30.0 * (TAU * 5.5 * ms / 1000.0).sin(), 2.0))
    }));
    said.push((1000.0, 1, Up { key: 62 }));
    let (middle, spread) = cents(&played_by(TUNED, &said)[0], 62);
    // A sine's middle deviation is 1 / sqrt 2 of its height.
    assert!((6..=10).contains(&middle) && (19..=23).contains(&spread.unwrap()), "{middle} {spread:?}");
}

#[test]
fn each_channel_bends_its_own_note_and_the_next_note_keeps_what_stands() {
    let said = [
        (0.0, 2, bent(20.0, 2.0)),
        (0.0, 5, bent(-20.0, 2.0)),
        (10.0, 2, down(60)),
        (400.0, 2, Up { key: 60 }),
        (500.0, 5, down(60)),
        (900.0, 5, Up { key: 60 }),
        (1000.0, 2, down(64)),
        (1400.0, 2, Up { key: 64 }),
    ];
    let heard = played_by(TUNED, &said);
    assert_eq!([cents(&heard[0], 60).0, cents(&heard[1], 60).0, cents(&heard[2], 64).0], [20, -20, 20]);
}

#[test]
fn short_notes_and_an_instrument_that_never_bends_have_no_intonation() {
    let short = [(0.0, 1, bent(20.0, 2.0)), (0.0, 1, down(60)), (70.0, 1, Up { key: 60 })];
    assert_eq!(cents(&played_by(TUNED, &short)[0], 60), (20, None));
    let never = [(0.0, 1, down(60)), (400.0, 1, Up { key: 60 })];
    assert_eq!(cents(&played_by(TUNED, &never)[0], 60), (0, None));
}

#[test]
fn where_the_player_does_not_say_so_the_bend_is_not_looked_at() {
    let said = [(0.0, 1, bent(70.0, 2.0)), (0.0, 1, Control { number: 2, value: 127 }), (0.0, 1, down(60))];
    let heard = played_by(LineChoice::default(), &said);
    assert_eq!(cents(&heard[0], 60), (0, None));
    assert!((heard[0].loudness.0 - 40.0 * (80.0f64 / 127.0).log10()).abs() < 1e-9, "{heard:?}");
}

#[test]
fn the_loudest_breath_or_pressure_is_the_level_of_a_note() {
    let breath = |value| Control { number: 2, value };
    let said = [
        (0.0, 1, breath(20)),
        (10.0, 1, down(60)),
        (100.0, 1, breath(100)),
        (300.0, 1, breath(40)),
        (500.0, 1, Up { key: 60 }),
        (600.0, 1, down(62)),
        (900.0, 1, Up { key: 62 }),
        (1000.0, 2, down(64)),
        (1100.0, 2, Pressure { value: 90 }),
        (1300.0, 2, Up { key: 64 }),
    ];
    let levels: Vec<f64> = played_by(TUNED, &said).iter().map(|note| note.loudness.0).collect();
    let expected = [100.0f64, 40.0, 90.0].map(|value| 40.0 * (value / 127.0).log10());
    assert!(levels.iter().zip(expected).all(|(level, expected)| (level - expected).abs() < 1e-9), "{levels:?}");
}
