//! Keys that are brushed over a neighbour, and notes that are not.

use crate::midi::keyed_line_tests::{beside, down, mirrored, played};
use crate::midi::{ChannelMessage, KeyMessage, KeyedLine, LineChoice};
use crate::notes::NoteEvent;
use crate::units::Seconds;

use KeyMessage::{Down, Up};

#[test]
fn a_neighbour_that_is_brushed_for_under_a_tenth_of_a_second_is_no_note_on_either_side_at_any_strength() {
    // Struck with the note, in the middle of it, and where another is down as well.
    for (at, lasts) in [(10, 60), (20, 42), (62, 42), (62, 20), (100, 99), (150, 80)] {
        for velocity in [25, 110] {
            for beside_it in [65, 66, 68, 69] {
                let said = [
                    (0, down(67)),
                    (at, Down { key: beside_it, velocity }),
                    (at + lasts, Up { key: beside_it }),
                    (270, Up { key: 67 }),
                    (300, down(72)),
                    (500, Up { key: 72 }),
                ];
                let line = [(67, 0, 270), (72, 300, 500)];
                assert_eq!(played(&said), line, "{beside_it} after {at} ms for {lasts}");
                assert_eq!(mirrored(&said), line, "{beside_it} after {at} ms for {lasts}");
                let said = said.map(|(ms, what)| (ms, 1, what));
                let beside = beside(LineChoice::default(), &said);
                assert_eq!((beside.hidden, beside.brushed.count()), (0, 1), "{beside_it} after {at} ms for {lasts}");
                let brushed: Vec<_> = beside.brushed.last().map(|key| (key.key, key.at.ms().round() as i64)).collect();
                assert_eq!(brushed, [(beside_it, at)]);
            }
        }
    }
}

#[test]
fn a_note_over_a_held_neighbour_is_a_note_once_it_lasts_or_the_neighbour_comes_up_and_begins_when_it_was_struck() {
    let mut announced = Vec::new();
    for (up_below, up_above) in [(330, 600), (900, 600), (345, 360)] {
        let (mut line, mut events) = (KeyedLine::new(LineChoice::default()), Vec::new());
        let said = [(0, down(60)), (300, down(62)), (up_below, Up { key: 60 }), (up_above, Up { key: 62 })];
        let mut said = said.to_vec();
        said.sort_by_key(|(ms, _)| *ms);
        for (ms, what) in said {
            line.take(ChannelMessage { channel: 1, what }, Seconds(ms as f64 / 1000.0), &mut |event| {
                events.push(event)
            });
        }
        line.until(Seconds(2.0), &mut |event| events.push(event));
        let begun = events.iter().filter_map(|event| match event {
            NoteEvent::On(note) => Some((note.pitch.0, note.onset.ms().round(), note.announced.ms().round())),
            _ => None,
        });
        let begun: Vec<_> = begun.collect();
        assert_eq!(begun.iter().map(|note| (note.0, note.1)).collect::<Vec<_>>(), [(60.0, 0.0), (62.0, 300.0)]);
        announced.push(begun[1].2);
    }
    assert_eq!(announced, [340.0, 400.0, 345.0]);
    // Rising by step, each key held over the next for long: every one is a note.
    let row = (0..5).flat_map(|n| [(80 * n, down(60 + n as u8)), (80 * n + 400, Up { key: 60 + n as u8 })]);
    let mut row: Vec<_> = row.collect();
    row.sort_by_key(|(ms, _)| *ms);
    assert_eq!(
        played(&row).iter().map(|note| (note.0, note.1)).collect::<Vec<_>>(),
        [(60, 0), (61, 80), (62, 160), (63, 240), (64, 320)]
    );
}

#[test]
fn a_key_that_is_bent_to_another_half_step_and_stays_there_is_two_notes_and_a_slide_or_a_vibrato_is_one() {
    // Two half steps each way, so a whole step up is the whole way.
    let bend = |half_steps: f64| KeyMessage::Bend { value: (8192.0 + half_steps / 2.0 * 8191.0) as u16 };
    let heard = |bends: &[(i64, f64)], up: i64| {
        let (mut line, mut over) = (KeyedLine::new(LineChoice { bend: true, ..LineChoice::default() }), Vec::new());
        let mut tell = |event: NoteEvent| {
            if let NoteEvent::Off(note) = event {
                over.push((
                    note.pitch.0.round() as i32,
                    note.onset.ms().round() as i64,
                    note.release.ms().round() as i64,
                ));
            }
        };
        let mut said: Vec<(i64, KeyMessage)> = bends.iter().map(|(ms, by)| (*ms, bend(*by))).collect();
        said.extend([(0, down(62)), (up, Up { key: 62 })]);
        said.sort_by_key(|(ms, _)| *ms);
        for (ms, what) in said {
            line.take(ChannelMessage { channel: 1, what }, Seconds(ms as f64 / 1000.0), &mut tell);
        }
        over
    };
    assert_eq!(heard(&[(250, 2.0)], 500), [(62, 0, 250), (64, 250, 500)]);
    assert_eq!(heard(&[(250, 1.0), (400, 0.0)], 600), [(62, 0, 250), (63, 250, 400), (62, 400, 600)]);
    // Slid into from a half step below; vibrato of a quarter tone; a fall at the end.
    assert_eq!(heard(&[(0, -1.0), (60, -0.5), (100, 0.0)], 500), [(62, 0, 500)]);
    let vibrato: Vec<(i64, f64)> = (0..20).map(|n| (200 + 40 * n, if n % 2 == 0 { 0.5 } else { -0.5 })).collect();
    assert_eq!(heard(&vibrato, 1100), [(62, 0, 1100)]);
    assert_eq!(heard(&[(430, -1.0), (460, -2.0)], 500), [(62, 0, 500)]);
}
